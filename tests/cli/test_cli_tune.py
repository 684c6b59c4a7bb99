"""unlit tune: from figures to settings, and what it refuses."""

from __future__ import annotations

import json
import re
from pathlib import Path

import pytest

from harness.cli import main

CHAMBER = ["--plant", "fermentation-chamber"]
FIGURES = ["--gain", "40 K", "--dead-time", "5 min", "--time-constant", "10 min"]


def test_figures_become_settings(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["tune", *FIGURES, "--cycle", "0 s", "--rule", "simc-pi"]) == 0
    out = capsys.readouterr().out
    assert "process: gain 40 K, dead time 5 min, time constant 10 min" in out
    # By hand: Kc = T / (K 2 L) = 600 / (40 * 600), in % per K; Ti = T.
    said = " ".join(out.split())
    assert "ideal gain 2.5 %/degC, integral time 600 s" in said
    assert "band proportional band 40 degC" in said
    assert "Source: Skogestad 2003 (formula seen)" in said
    assert "no high limit and no flame safeguard" in " ".join(out.split())


def test_half_a_cycle_is_dead_time(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["tune", "--slope", "0.6 K/min", "--dead-time", "45 s", "--cycle", "30 s", "--rule", "simc-pi"]
    assert main(words) == 0
    # Kc = 1 / (0.01 * 120), Ti = 480.
    out = " ".join(capsys.readouterr().out.split())
    assert "gain 83.33 %/degC, integral time 480 s" in out
    assert "dead time 45 s (and 15 s, half a cycle)" in out


def test_what_cools_falls(capsys: pytest.CaptureFixture[str]) -> None:
    """A negative slope is of a process that is cooled; its derivative of nothing has no sign."""
    assert main(["tune", "--slope", "-0.6 K/min", "--dead-time", "45 s", "--rule", "simc-pi"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "falls by 0.6 K/min under full cooling" in out
    assert "derivative 0 %/degC times s" in out


@pytest.mark.parametrize("form", ["ideal", "series", "parallel", "band"])
@pytest.mark.parametrize("units", [("degC", "permille", "ms"), ("degF", "0-1023", "min")])
def test_nothing_is_cut_off_at_eighty_columns(
    form: str,
    units: tuple[str, str, str],
    capsys: pytest.CaptureFixture[str],
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    monkeypatch.setenv("COLUMNS", "80")
    degrees, duty, time = units
    slow = ["--gain", "1200 K", "--dead-time", "75 s", "--time-constant", "20 h", "--form", form]
    assert main(["tune", *slow, "--degrees", degrees, "--duty", duty, "--time", time]) == 0
    lines = capsys.readouterr().out.splitlines()
    assert not [line for line in lines if "…" in line or len(line) > 80]
    assert any(line.startswith("simc-improved-pid  ") for line in lines)
    assert any(line.rstrip().endswith("margin") for line in lines)


def test_a_firmware_counts_as_it_likes(capsys: pytest.CaptureFixture[str]) -> None:
    units = ["--degrees", "degF", "--duty", "0-255", "--time", "min", "--form", "parallel"]
    assert main(["tune", *FIGURES, "--cycle", "0 s", "--rule", "simc-pi", *units]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "gain 3.542 of 255 per degF, integral time 10 min" in out
    assert "integral 0.3542 of 255 per degF per min" in out


def test_a_trial_on_a_plant(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["tune", "--slope", "0.75 K/min", "--dead-time", "60 s", "--rule", "simc-pi", "--late", "6 s"]
    assert main([*words, "--plant", "herms-gas", "--length", "2 h"]) == 0
    out = capsys.readouterr().out
    assert "thermostat" in out
    assert "On this plant take simc-pi: it settles as soon as any" in out


def test_a_process_that_cools_has_a_gain_below_zero(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["tune", "--gain", "-20 K", "--dead-time", "60 s", "--time-constant", "1 h", "--rule", "simc-pi"]
    assert main([*words, "--resolution", "0 K", "--cycle", "0 s"]) == 0
    out = capsys.readouterr().out
    # By hand: Kc = T / (K 2 L) = 3600 / (-20 * 120), in % per K.
    assert "ideal     gain -150 %/degC, integral time 480 s" in out
    assert "a proportional band is of a controller that heats" in " ".join(out.split())


def test_a_trial_on_the_rig_that_a_fit_found(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    rig = tmp_path / "my-rig.toml"
    rig.write_text('[plant_setup]\nkettle_volume = "12 L"  # 95 %: 11 to 13\nelement_power = "6 kW"\n')
    trial = ["--plant", "electric-kettle", "--setpoint", "40 degC", "--length", "1 h"]
    words = ["tune", "--slope", "4 K/min", "--dead-time", "20 s", "--rule", "amigo-pi", *trial]
    reached = []
    for more in ([], ["--setup", str(rig)], ["--setup", str(rig), "--setup", "element_power=3 kW"]):
        assert main([*words, *more]) == 0
        row = next(line for line in capsys.readouterr().out.splitlines() if line.startswith("thermostat"))
        reached.append(float(row.split()[1]))
    # 6 kW on 12 L, 3 kW on 12 L, 5.5 kW on 30 L: 500, 250 and 183 W for each litre.
    assert reached[1] < reached[2] < reached[0]


def test_a_step_test_says_how_well_it_tells(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "st.json"
    first = {
        "gain": {"value": 40.0, "low": 39.0, "high": 41.0},
        "dead_time_s": {"value": 60.0, "low": 20.0, "high": 110.0},
        "time_constant_s": {"value": 3600.0, "low": 3500.0, "high": None},
    }
    file.write_text(json.dumps({"first_order": first, "integrating": None}))
    assert main(["tune", str(file), "--rule", "simc-pi"]) == 0
    out = " ".join(capsys.readouterr().out.split())
    assert "95 %: gain 39 to 41 K, dead time 20 to 110 s, time constant 58.33 to ? min" in out
    assert "Mind: hardly told: the dead time (20 to 110 s) and the time constant (58.33 to ? min)." in out


def test_a_log_whose_reading_falls_with_the_heat_is_not_believed_unasked(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    rows = [(10 * n, 100 * (n > 10), 20.0 - 0.1 * max(0, n - 12)) for n in range(100)]
    file = tmp_path / "log.csv"
    file.write_text("time [s], heat [%], beer [degC]\n" + "".join(f"{t},{h},{y:.1f}\n" for t, h, y in rows))
    main(["tune", str(file)])
    assert "Mind: the reading falls with the heat. Unless" in " ".join(capsys.readouterr().out.split())


def test_what_speaks_against_a_file_is_told(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """A log that drifts before the heat comes, and the notes of a step test, made safe to print."""
    file = tmp_path / "log.csv"
    rows = [(10 * n, 100 * (n > 60), 20.0 + 0.01 * n + 0.1 * max(0, n - 63)) for n in range(400)]
    file.write_text("time [s], heat [%], beer [degC]\n" + "".join(f"{t},{h},{y:.3f}\n" for t, h, y in rows))
    main(["tune", str(file)])
    assert "Mind: the reading drifted by +3.6 K/h before the heat came" in capsys.readouterr().out
    figures = {"slope": {"value": 0.01}, "dead_time_s": {"value": 60}}
    data = {"first_order": None, "integrating": figures, "notes": ["the start\x1b[2J drifted.", 3]}
    file.with_suffix(".json").write_text(json.dumps(data))
    main(["tune", str(file.with_suffix(".json"))])
    assert "Mind: the start\\x1b[2J drifted." in capsys.readouterr().out


def test_a_set_point_out_of_reach_is_no_pass(capsys: pytest.CaptureFixture[str]) -> None:
    words = [*FIGURES, *CHAMBER, "--rule", "simc-pi", "--setpoint", "60 degC", "--length", "1 h"]
    assert main(["tune", *words]) == 3
    out = " ".join(capsys.readouterr().out.split())
    assert re.search(r"None came to 60 degC; the furthest was 2\d\.\d+ degC\. Give a set point within", out)


@pytest.mark.parametrize(
    "text",
    [
        "{}",
        "[" * 100_000,
        '{"first_order": {"gain": {}}}',
        "null",
        '{"first_order": null, "integrating": {"slope": {"value": "1"}, "dead_time_s": {"value": 9}}}',
        '{"first_order": null, "integrating": {"slope": {"value": 1}, "dead_time_s": {"value": true}}}',
        '{"first_order": null, "integrating": {"slope": {"value": 1, "low": 3, "high": 2}, '
        '"dead_time_s": {"value": 9}}}',
    ],
    ids=lambda text: text[:8],
)
def test_what_is_no_step_test_is_told(text: str, tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    file = tmp_path / "st.json"
    file.write_text(text)
    assert main(["tune", str(file)]) == 2
    assert "is no result of `unlit step-test --json` that tells a process" in capsys.readouterr().err


def test_a_process_that_no_rule_serves_is_no_pass(capsys: pytest.CaptureFixture[str]) -> None:
    words = ["tune", "--gain", "40 K", "--dead-time", "0 s", "--time-constant", "1 h", "--cycle", "0 s"]
    assert main(words) == 3
    assert "No advice: every rule is refused" in capsys.readouterr().out


@pytest.mark.parametrize(
    ("words", "says"),
    [
        ([], "--dead-time is missing"),
        (FIGURES[:4], "--time-constant is missing"),
        ([*FIGURES, "--slope", "1 K/min"], "--gain does not go with --slope"),
        (["--slope", "1 K", "--dead-time", "60 s"], "a temperature rate is wanted"),
        (["--slope", "0 K/min", "--dead-time", "60 s"], "--slope 0 K/min is out of range"),
        (["--gain", "1e12 K", *FIGURES[2:]], "--gain 1e12 K is out of range. Give 0.01 to 1000000 K"),
        ([*FIGURES[:2], "--dead-time", "9 h", "--time-constant", "1e6 h"], "--time-constant 1e6 h is out"),
        ([*FIGURES, "--setup", "x=1"], "--setup does nothing without --plant"),
        ([*FIGURES, "--setpoint", "banana"], "--setpoint does nothing without --plant"),
        ([*FIGURES, "--late", "7 s"], "--late does nothing without --plant"),
        ([*FIGURES, "--column", "mash"], "--column does nothing without a record as CSV"),
        ([*FIGURES[:2], "--dead-time=-1 s", *FIGURES[4:]], "--dead-time -1 s is out of range. Give 0 s"),
        ([*FIGURES, "--rule", "simc"], "there is no rule simc. Did you mean simc-pi?"),
        ([*FIGURES, "--plant", "herms"], "there is no plant herms. Did you mean herms-gas?"),
        ([*FIGURES, "--plant", "electric-kettle", "--late", "3 s"], "has no burner that could light late"),
        ([*FIGURES, "--cycle", "1 h"], "--cycle 1 h is out of range"),
        ([*FIGURES, *CHAMBER, "--setpoint", "20 degC"], "fermentation-chamber starts at 22 degC"),
        (["--gain", "-40 K", *FIGURES[2:], *CHAMBER, "--setpoint", "30 degC"], "this process cools"),
        ([*FIGURES, *CHAMBER, "--setup", "none.toml"], "none.toml: does not exist"),
        ([*FIGURES, *CHAMBER, "--setup", "beer_volum=3 L"], "Did you mean beer_volume?"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_wrong_use_is_told_with_the_mend(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(["tune", *words]) == 2
    assert says in capsys.readouterr().err
