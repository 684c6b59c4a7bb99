"""A plant's own parameters come back from a log that it made; what a log cannot tell is said."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from harness.calibration.fitting.fit_log import FREE, LogFit, NotFittedError, fit_log
from harness.calibration.fitting.log import RigLog
from harness.calibration.fitting.play import Player
from harness.calibration.fitting.words import doubts, follows_badly
from harness.calibration.rig import RIGS
from harness.cli import main
from harness.report.fit import fit_block
from plants import ready_plants

KETTLE = ready_plants()["electric-kettle"]
RIG = RIGS["electric-kettle"]
TRUE = {"element_power": 3.1, "kettle_loss": 11.0, "kettle_lag": 20.0, "kettle_volume": 18.0}
FREE_KETTLE = ("element_power", "kettle_loss")


def logged(
    true: Mapping[str, float] = TRUE, *, minutes: float = 30.0, every_s: float = 15.0, seed: int = 1,
    noise: float = 0.1, step: float = 0.0625, duty: float = 1.0, seen: bool = False,
) -> RigLog:  # fmt: skip
    """Full heat or a duty for half of the time, then none; readings with scatter and steps."""
    time_s = np.arange(0.0, minutes * 60.0, every_s)
    heat = np.where((time_s > 120.0) & (time_s < minutes * 30.0), duty, 0.0)
    empty = RigLog("made", time_s, heat, seen, {"kettle": np.zeros(len(time_s))}, {"kettle": "degC"})
    clean = Player(KETTLE, RIG, empty, {"kettle": "kettle"}, {}).play({"kettle_start": 21.0, **true})
    scatter = np.random.default_rng(seed).normal(0.0, noise, clean.shape)
    readings = np.round((clean + scatter) / step) * step
    return replace(empty, columns={"kettle": readings[:, 0]})


def fitted(log: RigLog, free: tuple[str, ...] = FREE_KETTLE, **known: float) -> LogFit:
    known = known or {name: TRUE[name] for name in ("kettle_lag", "kettle_volume")}
    return fit_log(log, "electric-kettle", KETTLE, RIG, free=free, known=known)


@pytest.fixture(scope="module")
def half_hour() -> LogFit:
    return fitted(logged())


def test_what_is_fitted_of_a_kiln_can_be_told() -> None:
    """Power, ware and bricks by the same factor give the same temperatures: one has to be known."""
    kiln, time_s = ready_plants()["pottery-kiln"], np.arange(0.0, 5_400.0, 180.0)
    heat = np.where((time_s > 300.0) & (time_s < 3_600.0), 1.0, 0.0)
    empty = RigLog("made", time_s, heat, False, {"kiln": np.zeros(len(time_s))}, {"kiln": "degC"})
    true = {"brick_conductivity": 0.2, "ware": 20.0}
    made = Player(kiln, RIGS["pottery-kiln"], empty, {"kiln": "kiln"}, {}).play(true)
    log = replace(empty, columns={"kiln": np.round(made[:, 0], 1)})
    found = fit_log(log, "pottery-kiln", kiln, RIGS["pottery-kiln"]).fitted
    assert not found.together
    for name, value in true.items():
        assert found.values[name] == pytest.approx(value, rel=0.05)


def test_what_nobody_said_is_told_as_assumed(half_hour: LogFit) -> None:
    """An interval holds only if the volume is right: where it is the plant's own figure, that is printed."""
    silent = replace(half_hour, known={"kettle_lag": 20.0})
    assert "kettle_volume" in [one.name for one in silent.assumed]
    assert "kettle_volume" not in [one.name for one in half_hour.assumed]
    assert "kettle_start" not in [one.name for one in silent.assumed]
    said = " ".join(map(str, fit_block(silent, ascii_only=True)))
    assert "Taken as they stand: kettle_volume 30 L" in said
    assert "give yours with --setup" in said


def test_parameters_come_back_within_their_intervals(half_hour: LogFit) -> None:
    """0.1 K of noise and 0.0625 K steps; a quarter of an hour of heat, as long of cooling."""
    found = half_hour.fitted
    for name in FREE_KETTLE:
        assert found.values[name] == pytest.approx(TRUE[name], rel=0.05)
        assert TRUE[name] in found.intervals[name]
        assert found.intervals[name].high - found.intervals[name].low < 0.2 * TRUE[name]
    assert found.values["kettle_start"] == pytest.approx(21.0, abs=0.1)
    assert found.scatter[0] == pytest.approx(np.hypot(0.1, 0.0625 / 12**0.5), rel=0.15)
    assert not found.at_bound
    assert not found.together


def test_a_log_of_a_duty_tells_as_much() -> None:
    found = fitted(logged(duty=0.6)).fitted
    for name in FREE_KETTLE:
        assert TRUE[name] in found.intervals[name]
        assert found.intervals[name].high - found.intervals[name].low < 0.4 * TRUE[name]


def test_a_longer_log_tells_more(half_hour: LogFit) -> None:
    short, long = (fit.fitted.intervals["kettle_loss"] for fit in (half_hour, fitted(logged(minutes=60.0))))
    assert long.high - long.low < 0.6 * (short.high - short.low)


def test_what_trades_against_each_other_is_not_told() -> None:
    """More water and more power, and losses to match, heat and cool alike."""
    found = fitted(logged(), ("element_power", "kettle_volume", "kettle_loss"), kettle_lag=20.0).fitted
    assert {name for pair in found.together for name in pair} >= {"element_power", "kettle_volume"}
    assert found.intervals["element_power"].low == 0.2
    assert any("trade against each other" in doubt for doubt in doubts(logged(), found))


def test_losses_are_hardly_told_without_cooling() -> None:
    found = fitted(logged(minutes=9.0))
    said = list(doubts(logged(minutes=9.0), found.fitted))
    assert any("kettle_loss is hardly told" in one and "An hour without heat" in one for one in said)
    assert any("the log lasts 8.75 min" in one for one in said)


def test_a_wrong_figure_shows_in_the_residuals(half_hour: LogFit) -> None:
    """A log of 18 L taken for 40 L, with only losses free."""
    found = fitted(logged(), ("kettle_loss",), kettle_volume=40.0)
    said = [*follows_badly(["kettle"], found.fitted), *doubts(logged(), found.fitted)]
    assert any("the model is off by" in one for one in said)
    assert not list(follows_badly(["kettle"], half_hour.fitted))


def test_a_parameter_that_reaches_its_end_is_told() -> None:
    found = fitted(logged(), ("kettle_loss",), element_power=1.5, kettle_volume=18.0).fitted
    assert found.at_bound == ("kettle_loss",)
    assert found.values["kettle_loss"] == 0.0
    assert any("ended at an end of its range" in one for one in doubts(logged(), found))


def test_each_ready_plant_has_parameters_to_fit() -> None:
    assert set(FREE) == set(ready_plants()) == set(RIGS)
    for name, free in FREE.items():
        assert set(free) <= {parameter.name for parameter in ready_plants()[name].parameters}


@pytest.mark.parametrize(
    ("change", "says"),
    [
        ({"columns": {"pot": "kettle"}}, "--column pot: the log has kettle"),
        ({"columns": {"kettle": "tank"}}, "--column kettle=tank: electric-kettle has no probe tank"),
        ({"columns": {"kettle": "limti"}}, "electric-kettle has no probe limti, did you mean limit?"),
        ({"known": {"kettle_loss": 5.0}}, "--free kettle_loss: --setup says what it is"),
        ({"free": ("kettle_los",)}, "--free kettle_los: electric-kettle has no such parameter"),
        ({"free": ("relay_life",)}, "it is a count, which cannot be fitted"),
    ],
)
def test_what_does_not_fit_together_is_refused(change: dict[str, object], says: str) -> None:
    words: dict[str, object] = {"free": FREE_KETTLE, **change}
    with pytest.raises(NotFittedError) as told:
        fit_log(logged(), "electric-kettle", KETTLE, RIG, **words)  # type: ignore[arg-type]
    assert says in str(told.value)


def columned(**more: float) -> RigLog:
    """The log with columns that hold one reading over and over."""
    log = logged()
    made = {name: np.full(len(log.time_s), value) for name, value in more.items()}
    return replace(log, columns={**log.columns, **made}, units=dict.fromkeys([*log.columns, *more], "degC"))


@pytest.mark.parametrize(
    ("log", "columns", "says"),
    [
        (columned(pot=20.0), {"pot": "kettle"}, "columns kettle and pot are both kettle"),
        (columned(limit=np.nan), {}, "column limit has 0 of the 8 readings that are the least"),
        (columned(tank=20.0, kettle=np.nan), {}, "column kettle has 0 of the 8 readings"),
    ],
)
def test_a_column_that_tells_nothing_of_its_own_is_refused(
    log: RigLog, columns: dict[str, str], says: str
) -> None:
    with pytest.raises(NotFittedError, match=says):
        fit_log(log, "electric-kettle", KETTLE, RIG, columns=columns)


def test_on_the_command_line_a_fit_becomes_a_set_up(
    tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    log = logged(minutes=31.0)
    table = zip(log.time_s, log.heat, log.columns["kettle"], strict=True)
    rows = [f"{t:g},{100 * h:g},{k:.4f}" for t, h, k in table]
    file, out = tmp_path / "rig.csv", tmp_path / "rig.toml"
    file.write_text("\n".join(["time [s],heat [%],pot [degC]", *rows]) + "\n")
    words = ["fit", str(file), "--plant", "electric-kettle", "--column", "pot=kettle", "--out", str(out)]
    words += ["--setup", "kettle_volume=18 L", "--setup", "kettle_lag=20 s"]
    assert main([*words, "--free", "element_power", "--free", "kettle_loss"]) == 0
    assert "95 % interval" in capsys.readouterr().out
    head = 'title = "x"\nplant = "electric-kettle"\nlength = "1 min"\n'
    asserted = '[[assertion]]\ntitle = "x"\nalways = "kettle > 0 degC"\n'
    (tmp_path / "x.toml").write_text(f"{head}{asserted}{out.read_text()}")
    assert main(["check", str(tmp_path / "x.toml")]) == 0


def test_a_step_test_is_a_log_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]) -> None:
    """Losses that the step test's plant was given come back from its record."""
    file, result = tmp_path / "test.csv", tmp_path / "test.json"
    words = ["step-test", "electric-kettle", "--setup", "kettle_loss=25 W/K", "--every", "10 s"]
    words += ["--shortest", "20 min", "--longest", "40 min"]
    main([*words, "--csv", str(file), "--json", str(result)])
    capsys.readouterr()
    assert main(["fit", str(file), "--plant", "electric-kettle", "--free", "kettle_loss"]) == 0
    out = capsys.readouterr().out
    value = float(out.split('kettle_loss = "')[1].split()[0])
    assert value == pytest.approx(25.0, rel=0.02)
    for source in (file, result):
        assert main(["tune", str(source)]) in (0, 3)
        assert "process: " in capsys.readouterr().out
