"""unlit step-test: its words, its files, its exit codes."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from harness.calibration.fitting.log import read_log
from harness.cli import main

NO_WIRING = Path(__file__).parents[2] / "scenarios" / "burner" / "flame-lost.toml"
BRIEF = [
    "step-test", "electric-kettle", "--setup", "kettle_volume=3 L", "--setup", "kettle_loss=60 W/K",
    "--setup", "element_power=2kW", "--setup", "element_bare=1 L", "--setup", "element_height=0.5 L",
    "--setup", "kettle_open=0 %", "--setup", "layer_below=0.5 L", "--full", "1 min", "--shortest", "10 min",
]  # fmt: skip


def test_a_test_that_tells_is_printed_written_and_0(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    data, table = tmp_path / "test.json", tmp_path / "record.csv"
    assert main([*BRIEF, "--truth", "--json", str(data), "--csv", str(table)]) == 0
    said = capsys.readouterr().out
    for word in ("95 % interval", "truth", "half rule", "tangent", "two-point", "area", "least squares"):
        assert word in said
    assert "no permission to light a burner" in " ".join(said.split())
    found = json.loads(data.read_text())
    assert found["complete"] is True
    assert list(read_log(str(table)).columns) == ["kettle"]


def test_a_test_cut_short_is_3_and_says_what_can_be_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["step-test", "herms-gas", "--longest", "18 min"]) == 3
    said = " ".join(capsys.readouterr().out.split())
    assert "the longest time, 18 min, is over" in said
    assert "integrating" in said
    assert "at least" in said


@pytest.mark.parametrize("kind", [[], ["--relay"]])
def test_a_limit_below_the_start_ends_the_test(kind: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["step-test", "electric-kettle", *kind, "--limit", "10 degC"]) == 3
    said = " ".join(capsys.readouterr().out.split())
    assert re.search(r"the probe read (19\.9|20)\S* degC; 10 are the limit of the test", said)
    assert "what the fit says" not in said


def test_a_small_duty_that_was_cut_off_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*BRIEF[:-1], "9 h", "--longest", "1 h", "--precision", "10 %"]) == 3
    said = " ".join(capsys.readouterr().out.split())
    assert "the small duty lasted 49 of the 540 min that are the least" in said


def test_no_file_is_written_over_another(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    one, log = tmp_path / "one", tmp_path / "rig.csv"
    assert main([*BRIEF, "--json", str(one), "--csv", str(one)]) == 2
    assert "is what --json writes. Name another file" in capsys.readouterr().err
    assert not one.exists()
    assert main([*BRIEF, "--csv", str(log), "--logbook", str(log)]) == 2
    log.write_text("time [s], heat [%], kettle [degC]\n")
    assert main(["fit", str(log), "--plant", "electric-kettle", "--out", str(log)]) == 2
    assert "is needed as it is" in capsys.readouterr().err
    assert log.read_text().startswith("time")


def test_a_relay_test_prints_its_cycle(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([*BRIEF, "--relay", "--rise", "8 K", "--hysteresis", "1 K"]) == 0
    said = capsys.readouterr().out
    assert "ultimate period" in said
    assert "exact limit cycle" in said


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["herms"], "there is no plant herms. Did you mean herms-gas?"),
        (["herms-gas", "--duty", "20"], "--duty: '20' has no unit"),
        (["herms-gas", "--duty", "0 %"], "--duty 0 % is out of range. Give 1 % or more"),
        (["herms-gas", "--cycle", "10 h"], "--cycle 10 h is out of range. Give 1 s or more"),
        (["herms-gas", "--every", "1 h"], "--every 1 h is out of range. Give 0.05 s or more and 10 s"),
        (["herms-gas", "--longest", "1000 h"], "--longest 1000 h is out of range"),
        (["herms-gas", "--precision", "500 %"], "--precision 500 % is out of range"),
        (["herms-gas", "--panel", "run=x"], "--panel does nothing without --device"),
        (["herms-gas", "--mode", "3"], "--mode does nothing without --device"),
        (["herms-gas", "--cycles", "4"], "--cycles does nothing without --relay"),
        (["herms-gas", "--relay", "--truth"], "--truth goes with the open-loop test"),
        (["herms-gas", "--device", "builtin", "--panel", "run=a b"], "--panel run=a b: no device has"),
        (["herms-gas", "--device", "builtin", "--wiring", str(NO_WIRING)], "is no table. Write ["),
        (["herms-gas", "--settle", "soon"], "--settle: 'soon' is not a quantity"),
        (["herms-gas", "--settle", "4 h"], "Shorten them or allow more"),
        (["herms-gas", "--heat", "gas_vlave"], "Did you mean gas_valve?"),
        (["herms-gas", "--probe", "flame"], "no probe in mdegC flame"),
        (["herms-gas", "--seen", "flam_seen"], "Did you mean flame_seen?"),
        (["herms-gas", "--setup", "liquor_volum=3 L"], "Did you mean liquor_volume?"),
        (["herms-gas", "--setup", "liquor_volume"], "write it as NAME=VALUE"),
        (["herms-gas", "--setup", "liquor_volume=3 m"], "liquor_volume=3 m"),
        (["herms-gas", "--limit", "95 K"], "--limit: '95 K'"),
        (["herms-gas", "--json", "none/such/file"], "cannot be written"),
        (["herms-gas", "--relay", "--device", "builtin"], "Leave --device out"),
        (["herms-gas", "--relay", "--hysteresis", "9 K"], "below --rise"),
        (["herms-gas", "--relay", "--cycles", "1"], "give 2 or more"),
        (["herms-gas", "--device", "builtin", "--panel", "duty=x"], "there is no --panel role duty"),
        (["herms-gas", "--device", "builtin", "--panel", "manual_duty="], "without a duty by hand"),
        (["none.py", "--heat", "a", "--probe", "b"], "none.py"),
    ],
)
def test_wrong_words_are_2_with_the_mend(
    words: list[str], said: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["step-test", *words]) == 2
    assert said in capsys.readouterr().err
