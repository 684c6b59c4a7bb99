"""Logs as people write them: read alike, and each mistake told with its line."""

from __future__ import annotations

import tracemalloc
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.calibration.fitting.log import RigLog, read_log
from harness.errors import FileMistakesError

COMMAS = """# a first heat
time [s], heat [%], tank [degC], pump [bool]
0, 100, 19.8, 1
10, 50, 20.0, 1
20, 0, , 0
30, 0, 20.4, 0
"""


def written(folder: Path, text: str) -> str:
    path = folder / "rig.csv"
    path.write_text(text, encoding="utf-8")
    return str(path)


def same(one: RigLog, other: RigLog) -> bool:
    pairs = [(one.time_s, other.time_s), (one.heat, other.heat)]
    pairs += [(values, other.columns[name]) for name, values in one.columns.items()]
    return all(np.allclose(here, there, equal_nan=True) for here, there in pairs)


@pytest.mark.parametrize(
    "text",
    [
        COMMAS.replace(", ", ","),
        COMMAS.replace(", ", "\t"),
        COMMAS.replace(", ", "; ").replace("19.8", "19,8").replace("20.4", "20,4"),
        COMMAS.replace("[s]", "(min)").replace("\n10,", "\n0.16666666667,")
        .replace("\n20,", "\n0.33333333333,").replace("\n30,", "\n0.5,"),
        COMMAS.replace("[%]", "[1]").replace(" 100,", " 1,").replace(" 50,", " 0.5,"),
        COMMAS.replace("[degC]", "[degF]").replace("19.8", "67.64").replace(" 20.0", " 68")
        .replace("20.4", "68.72"),
        COMMAS.replace("time [s]", "time").replace("\n0,", "\n2026-03-01 09:00:00,")
        .replace("\n10,", "\n2026-03-01 09:00:10,").replace("\n20,", "\n2026-03-01 09:00:20,")
        .replace("\n30,", "\n2026-03-01 09:00:30,"),
    ],
    ids=["commas", "tabs", "decimal commas", "minutes", "shares", "degF", "dates"],
)  # fmt: skip
def test_all_spellings_read_alike(text: str, tmp_path: Path) -> None:
    plain = read_log(written(tmp_path, COMMAS))
    assert plain.time_s.tolist() == [0.0, 10.0, 20.0, 30.0]
    assert plain.heat.tolist() == [1.0, 0.5, 0.0, 0.0]
    assert plain.units == {"tank": "degC", "pump": "bool"}
    assert not plain.seen
    assert same(plain, read_log(written(tmp_path, text)))


def test_heat_that_was_seen(tmp_path: Path) -> None:
    assert read_log(written(tmp_path, COMMAS.replace("heat [", "heat_seen ["))).seen


def test_a_unit_may_be_given_beside(tmp_path: Path) -> None:
    file = written(tmp_path, COMMAS.replace("tank [degC]", "tank"))
    assert same(read_log(file, {"tank": "degC"}), read_log(written(tmp_path, COMMAS)))


def test_a_unit_that_says_otherwise_than_the_head_is_refused(tmp_path: Path) -> None:
    with pytest.raises(FileMistakesError, match="'tank' is in 'degC' here\\. Leave --unit tank=degF"):
        read_log(written(tmp_path, COMMAS), {"tank": "degF"})


def test_a_long_log_takes_little_more_room_than_its_text(tmp_path: Path) -> None:
    """The cells of all rows at once would take ten times as much."""
    rows = "".join(f"{10 * n},50,20.{n % 10},1\n" for n in range(20_000))
    file = written(tmp_path, COMMAS.splitlines()[1] + "\n" + rows)
    tracemalloc.start()
    log = read_log(file)
    _, most = tracemalloc.get_traced_memory()
    tracemalloc.stop()
    assert len(log.time_s) == 20_000
    assert most < 400 * len(log.time_s)


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("tank [degC]", "tank", ":2: column 'tank' has no unit. Write it behind, such as 'tank [degC]'"),
        ("[degC]", "[C]", ":2: column 'tank': 'C' is not a known unit, did you mean 'degC'?"),
        ("[degC]", "[kW]", ":2: column 'tank': 'kW' measures power; temperature is wanted"),
        ("heat [%]", "gas [%]", ":2: column 'gas'"),
        ("heat [%]", "gas [bool]", ":2: wants a column 'heat', as commanded, or 'heat_seen', as it flowed"),
        ("time [s]", "t [degC]", ":2: has no column 'time'. There are: t, heat, tank, pump"),
        ("pump [bool]", "tank [degC]", ":2: has two columns 'tank'"),
        ("\n10, 50", "\n10, lots", ":4: column 'heat': 'lots' is not a number in %"),
        ("\n10, 50", "\n10, 500", ":4: heat is outside 0 to full"),
        ("\n20,", "\n10,", ":5: time does not go on from the row before"),
        ("heat [%]", "heat", "Write it behind, such as 'heat [%]', or give --unit NAME=%."),
        ("time [s]", "zeit [s]", "temperature is wanted, or call the column 'time'."),
        ("\n10, 50", "\n10, \"50", ":4: has 2 cells; the head has 4."),
        ("\n30,", "\n3e9,", ":6: lasts 3.47e+04 days; 31 are the most. See whether time is in its unit."),
        ("\n20,", "\nnoon,", ":5: column 'time': 'noon' is not a time"),
        (", 20.4, 0", ", 20.4", ":6: has 3 cells; the head has 4"),
        (", 20.4,", ", 2O.4,", ":6: column 'tank': '2O.4' is not a number in degC"),
        ("\n10, 50", "\n10, nan", ":4: column 'heat': 'nan'"),
        ("20.4", "-127", ":6: column 'tank': -127 degC is what no probe reads, but one that is not found"),
        ("20.4", "1e300", ":6: column 'tank': 1e+300 degC is what no probe reads"),
        (", 20.0, 1", ", 20.0, 3", ":4: column 'pump': 3 is neither 0 nor 1. Write 1 where it is on"),
    ],
)  # fmt: skip
def test_each_mistake_is_told_with_its_line(old: str, new: str, says: str, tmp_path: Path) -> None:
    assert COMMAS.count(old) == 1
    with pytest.raises(FileMistakesError) as told:
        read_log(written(tmp_path, COMMAS.replace(old, new)))
    assert says in str(told.value)
    assert str(told.value).startswith(str(tmp_path / "rig.csv"))


def test_what_is_no_log_is_told(tmp_path: Path) -> None:
    for text, says in (("", "holds no log"), ("time [s], heat [%]\n", "holds no log")):
        with pytest.raises(FileMistakesError, match=says):
            read_log(written(tmp_path, text))
    (tmp_path / "raw.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(FileMistakesError, match="no text in UTF-8"):
        read_log(str(tmp_path / "raw.csv"))
    with pytest.raises(FileMistakesError, match=r"rig\.csv:3: is no row of a table"):
        read_log(written(tmp_path, COMMAS.replace("\n0,", "\n" + "0" * 200_000 + ",")))
    with pytest.raises(FileMistakesError, match="cannot be read"):
        read_log(str(tmp_path / "none.csv"))
    with pytest.raises(FileMistakesError, match="--unit pot: there is no such column"):
        read_log(written(tmp_path, COMMAS), {"pot": "degC"})


@given(st.text(alphabet=st.characters(codec="utf-8"), max_size=300))
def test_any_text_is_a_log_or_a_mistake(tmp_path_factory: pytest.TempPathFactory, text: str) -> None:
    path = tmp_path_factory.mktemp("any") / "rig.csv"
    path.write_text(text, encoding="utf-8", newline="")
    try:
        log = read_log(str(path))
    except FileMistakesError:
        return
    assert (np.diff(log.time_s) > 0.0).all()
