"""A baseline's file: what is written is read back, and every mistake in it is told with its line."""

from __future__ import annotations

import tomllib
from dataclasses import replace
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harness.assertions.verdict import Outcome
from harness.errors import FileMistakesError
from harness.report.comparison.baseline import Firmware, as_text, baseline_of, named_from
from harness.report.comparison.read import read_baseline
from harness.report.comparison.side import Kept, Side, side_of
from harness.shipped import shipped
from tests.report.comparison.sides import met, side, sides
from tests.report.page import small_run

NAMES = st.lists(st.sampled_from(["a.toml", "b/c d.toml", 'e"f.toml', "g.toml"]), min_size=1, unique=True)
WHO = Firmware("rig", "1.2", (("build/rig.elf", "ab" * 32),))


@settings(max_examples=40)
@given(st.data(), NAMES)
def test_what_is_written_is_read_back(
    tmp_path_factory: pytest.TempPathFactory, data: st.DataObject, names: list[str]
) -> None:
    path = tmp_path_factory.getbasetemp() / "baseline.toml"
    kept = baseline_of([data.draw(sides(name)) for name in names], [WHO, WHO, Firmware("b", "", ())])
    path.write_text(as_text(kept), encoding="utf-8")
    assert read_baseline(path) == kept


def test_it_is_plain_and_a_line_an_assertion() -> None:
    shut, hot = met(2.2, demand="d1"), Kept("never hot", Outcome.BROKEN, -3.0, "degC", demand="d2")
    text = as_text(baseline_of([side(shut, hot)], [WHO]))
    assert '  { outcome = "met", margin = 2.2, unit = "s", title = "gas shut", demand = "d1" },' in text
    other = as_text(baseline_of([side(shut, replace(hot, margin=-3.5))], [WHO]))
    changed = [pair for pair in zip(text.splitlines(), other.splitlines(), strict=True) if pair[0] != pair[1]]
    assert len(changed) == 1
    assert tomllib.loads(text)["firmware"] == [{"name": "rig", "version": "1.2", "build": dict(WHO.build)}]


def test_the_order_of_a_session_is_not_seen() -> None:
    two = [side(met(1.0), scenario="b.toml"), side(met(2.0), scenario="a.toml")]
    assert as_text(baseline_of(two, [WHO])) == as_text(baseline_of(reversed(two), [WHO]))


def test_names_are_from_the_folder_of_the_file(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (tmp_path / "scenarios").mkdir()
    monkeypatch.chdir(tmp_path)
    below = named_from(Path("rig.baseline.toml"), "scenarios/a.toml")
    monkeypatch.chdir(tmp_path / "scenarios")
    assert below == named_from(Path("../rig.baseline.toml"), "./a.toml") == "scenarios/a.toml"
    ready = shipped("scenarios") / "burner" / "flame-lost.toml"
    assert named_from(Path("rig.baseline.toml"), str(ready)) == "scenarios/burner/flame-lost.toml"


def base(*changes: tuple[str, str]) -> str:
    """A small right one, with words replaced."""
    text = as_text(baseline_of([side(met(2.2, demand="d1")), side(met(1.0), scenario="b.toml")], [WHO]))
    for old, new in changes:
        assert text.count(old) >= 1
        text = text.replace(old, new, 1)
    return text


@pytest.mark.parametrize(
    ("old", "new", "line", "said"),
    [
        ('format = "unlit-baseline"', 'format = "other"', 4, "is no baseline"),
        ("version = 1", "version = 2", 5, "version 2 cannot be read; this unlit reads 1"),
        ('unlit = "', 'unlit = "0.0"\nunlid = "', 7, 'unknown key "unlid", did you mean "unlit"?'),
        ('status = "pass"', 'status = "passed"', 16, 'status: "passed" is no status'),
        ('status = "pass"', 'status = "fail"', 16, '"fail" does not follow from the assertions'),
        ('outcome = "met"', 'outcome = "good"', 24, 'outcome: "good" is no outcome'),
        ("margin = 2.2", 'margin = "2.2 s"', 24, 'margin: "2.2 s" is not a number'),
        ("margin = 2.2", "margin = nan", 24, "margin: nan is not a number"),
        ('title = "gas shut", ', "", 24, 'missing key "title"'),
        ('file = "b.toml"', 'file = "a.toml"', 28, '"a.toml" stands twice'),
        ("seed = 1", "seed = -1", 19, "seed: -1 is not a whole number"),
        ("setup = {}", 'setup = "cold"', 18, 'setup: "cold" is no table'),
        ("assertions = [\n", "assertions = [ 3,\n", 23, "assertions: 3 is no table"),
        ('[[scenario]]\nfile = "a', '<<<<<<< ours\n[[scenario]]\nfile = "a', 13, "not TOML"),
        ("build = {", "build = 7 # {", 11, "build: 7 is no table of texts"),
    ],
)  # fmt: skip
def test_each_mistake_with_its_line(tmp_path: Path, old: str, new: str, line: int, said: str) -> None:
    path = tmp_path / "b.toml"
    path.write_text(base((old, new)))
    with pytest.raises(FileMistakesError) as caught:
        read_baseline(path)
    told = str(caught.value).splitlines()
    assert told[0].startswith(f"{path}:{line}: "), told
    assert said in told[0]


@pytest.mark.parametrize(
    ("content", "said"),
    [
        (b"", "is empty. Keep one with `unlit run SCENARIOS --keep-baseline FILE`."),
        (b'format = "unlit-baseline"\nversion = 1\nunlit = "1"\n', "holds no [[scenario]]"),
        (b"\xff\xfe", "is not UTF-8"),
        (b'title = "A scenario"\n', "is no baseline"),
        (b"scenario = 3\nformat = 'unlit-baseline'\nversion = 1\nunlit = ''\n", "scenario: 3 is no list"),
    ],
)
def test_what_is_no_baseline_at_all(tmp_path: Path, content: bytes, said: str) -> None:
    path = tmp_path / "b.toml"
    path.write_bytes(content)
    with pytest.raises(FileMistakesError, match=r"b\.toml") as caught:
        read_baseline(path)
    assert said in str(caught.value)


def test_all_mistakes_are_told_at_once(tmp_path: Path) -> None:
    path = tmp_path / "b.toml"
    path.write_text(base(("margin = 2.2", "margin = true"), ("seed = 1", "seed = 1.5")))
    with pytest.raises(FileMistakesError) as caught:
        read_baseline(path)
    assert [mistake.line for mistake in caught.value.mistakes] == [19, 24]


TEXT = 'title = "small"\nlength = "60 s"\nseed = 3\n'


def scripted(tmp_path: Path, text: str) -> Side:
    return side_of(small_run.record(tmp_path, scenario_text=text))


@pytest.mark.parametrize(
    ("text", "same"),
    [
        (f"# a comment\n{TEXT}", True),
        (TEXT.replace('"small"', '"big"\nwhy = "prose"\nnotes = "more"'), True),
        (TEXT.replace("60 s", "61 s"), False),
        (f'{TEXT}exchange_every = "1 s"\n', False),
        (f'{TEXT}[[disturbance]]\nkind = "flame-lost"\nat = "8 s"\n', False),
        ("no toml at all", False),
    ],
)
def test_a_script_is_what_is_played_and_no_prose(tmp_path: Path, text: str, same: bool) -> None:
    assert (scripted(tmp_path, text).script == scripted(tmp_path, TEXT).script) is same


def test_a_side_holds_what_the_run_showed(tmp_path: Path) -> None:
    record = small_run.record(tmp_path, scenario_text=f'{TEXT}exchange_every = "1 s"\n')
    one = side_of(record)
    assert (one.seed, one.plant, one.setup, one.exchange_ms) == (3, "herms-gas", {"burner_power": 9.0}, 1000)
    assert one.signals == record.summary.end.digest
    assert [each.title for each in one.assertions] == [spec.title for spec in small_run.SPECS]
    assert one.assertions[-1].figure == "overshoot(liquor, 61 degC)"
    assert len({each.demand for each in one.assertions}) == len(small_run.SPECS)
