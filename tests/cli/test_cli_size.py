"""unlit size: each question answered, and what it refuses."""

from __future__ import annotations

import pytest

from harness.cli import main

QUESTIONS = {
    "heat": ["--water", "85 L", "--grain", "8 kg", "--loss", "15 W/K", "--ramp", "1 K/min"],
    "orifice": ["--power", "30000 Btu/h", "--pressure", "11 inH2O"],
    "coil": ["--mash", "30 L", "--ramp", "1 K/min", "--offset", "10 K", "--flow", "6 L/min"],
    "cycle": ["--slope", "0.75 K/min", "--cycle", "30 s"],
    "delay": ["--slope", "0.75 K/min", "--hose", "2 m"],
}


@pytest.mark.parametrize("question", QUESTIONS)
def test_each_question_is_answered_with_cautions(question: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["size", question, *QUESTIONS[question]]) == 0
    out = capsys.readouterr().out
    assert "mains work is for those licensed" in " ".join(out.split())
    assert "local codes decide" in " ".join(out.split())
    assert max(map(len, out.splitlines())) <= 80


@pytest.mark.parametrize(
    ("words", "code", "says"),
    [
        (["heat", "--water", "85 L"], 2, "give --ramp or --power, one of them"),
        (["heat", "--water", "85 kg", "--power", "9 kW"], 2, "a volume is wanted"),
        (["heat", "--water", "85 L", "--power", "9 kW", "--end", "10 degC"], 2, "is not above --start"),
        (["heat", "--water", "85 L", "--power", "1 kW", "--loss", "50 W/K"], 3, "come to 40 degC at most"),
        (["heat", "--water", "30 L", "--power", "5 kW", "--end", "120 degC"], 2, "--end 120 degC is out of"),
        (["orifice", "--power", "9 kW", "--pressure", "1 bar"], 3, "choked or nearly"),
        (["orifice", "--power", "9 kW", "--orifices", "0"], 2, "--orifices 0 is out of range"),
        (["coil", *QUESTIONS["coil"][:6], "--flow", "1 L/min"], 3, "Pump more"),
        (["coil", *QUESTIONS["coil"], "--wall", "5 mm", "--outside", "10 mm"], 2, "leaves no bore"),
        (["cycle", "--slope", "1 K/min"], 2, "give --cycle or --ripple, one of them"),
        (["delay", "--slope", "1 K"], 2, "a temperature rate is wanted"),
        (["hoses"], 2, "unlit size"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_what_cannot_be_answered_is_told(
    words: list[str], code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["size", *words]) == code
    out, err = capsys.readouterr()
    assert says in err
    assert not out
