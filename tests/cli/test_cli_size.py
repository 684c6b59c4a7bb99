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


COLD = ["heat", "--water", "85 L", "--loss", "500 W/K", "--room", "50 degC", "--end", "40 degC"]


def test_a_room_warmer_than_what_is_held_wants_no_duty(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["size", *COLD, "--power", "9 kW"]) == 0
    row = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("duty to hold"))
    assert row.split()[3:5] == ["0", "%"]
    assert "the room is warmer than 40 degC" in row


def test_a_share_just_under_the_whole_is_not_shown_as_it(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["size", "heat", "--water", "85 L", "--power", "9 kW", "--efficiency", "99.6 %"]) == 0
    assert "99.6 % of the source" in capsys.readouterr().out


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
        (["heat", "--water", "85", "--power", "9 kW"], 2, "Write one behind the number, such as '20 L'"),
        (["heat", "--water", "1e12 L", "--power", "9 kW"], 2, "--water 1e12 L is out of range"),
        (["heat", "--water", "85 L", "--power", "9 kW", "--room", "500 degC"], 2, "--room 500 degC is out"),
        ([*COLD, "--ramp", "0.01 K/min"], 3, "gives that ramp at 40 degC by itself, without any source"),
        (["coil", "--mash", "30 L", "--ramp", "0.001 K/min", *QUESTIONS["coil"][4:]], 3, "less than 0.1 m"),
        (["coil", *QUESTIONS["coil"], "--winding", "5 mm"], 2, "Give 19.05 mm or more"),
        (["cycle", *QUESTIONS["cycle"], "--duty", "0 %"], 2, "--duty 0 % is out of range"),
        (["cycle", *QUESTIONS["cycle"], "--duty", "100 %"], 2, "--duty 100 % is out of range"),
        (["cycle", *QUESTIONS["cycle"], "--life", "0"], 2, "--life 0 is out of range"),
        (["delay", "--slope", "1e9 K/min"], 2, "--slope 1e9 K/min is out of range"),
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
