"""A power cut: what reaches the device, what is recorded, what becomes of one that does not come back."""

from __future__ import annotations

import numpy as np
import pytest

from harness.errors import LinkError
from harness.links import Link, open_link
from harness.scenario import parse_scenario
from tests.whole.outcomes import SHORT, cut_at, play
from tests.whole.rehearsal import book, run_scenario, scenario_of

CUT = """
title = "A cut in the heat"
plant = "herms-gas"
length = "12 s"
start_at = "4294959296 ms"

[plant_setup]
liquor_start = "50 degC"
mash_start = "45 degC"

[panel]
mode = 1
mash_setpoint = "66 degC"
run = true

[[disturbance]]
kind = "power-cut"
at = "7.1 s"
until = "9.6 s"

[[disturbance]]
kind = "set-panel"
at = "8 s"
panel = { mash_setpoint = "64 degC" }

[[assertion]]
title = "a fire burns before the cut"
sometime = "flame"
"""


class Tapped(Link):
    """Passes all on and keeps what was sent, with `restart` where the power was cut."""

    def __init__(self, text: str) -> None:
        super().__init__(text)
        self.inner, self.sent = open_link(text), []

    def write(self, data: bytes) -> None:
        self.sent.append(data.strip().decode()[:-5])
        self.inner.write(data)

    def read(self, timeout_s: float) -> bytes:
        return self.inner.read(timeout_s)

    def restart(self) -> None:
        self.sent.append("restart")
        self.inner.restart()

    def close(self) -> None:
        self.inner.close()


def tapped(scenario, device, folder, kind=Tapped):
    """Play with the line tapped; the result and what was sent."""
    links = []

    def opening(text):
        links.append(kind(text))
        return links[0]

    return run_scenario(scenario, device, book(folder), opening=opening), links[0].sent


@pytest.fixture
def lib(reference):
    """Link to the reference controller in this process."""
    return reference().links["lib"]


def test_nothing_is_sent_while_the_power_is_off(lib, tmp_path):
    """The clock starts 8 s before its roll-over: the cut is on from 900 ms before that to 1600 ms after."""
    _, sent = tapped(scenario_of(CUT), lib, tmp_path)
    place = sent.index("restart")
    assert sent[place - 1].startswith("at 4294966296 ")
    assert sent[place + 1 : place + 3] == ["hi 1", "back 1600"]
    assert sent[place + 3].startswith("put ")
    assert {"7=1", "10=1", "12=64000"} <= set(sent[place + 3].split())
    assert sent[place + 4].startswith("at 1750 ")
    assert sent.count("restart") == 1


def recorded(result, folder):
    """Times and signals by name as the logbook keeps them."""
    return book(folder).read(result.run_id).signals()


def test_the_record_shows_it_off(lib, tmp_path):
    result, _ = tapped(scenario_of(CUT), lib, tmp_path)
    times, signals = recorded(result, tmp_path)
    dark = (times > 7100) & (times < 9600)
    assert set(np.arange(7250, 9600, 250)) <= set(times[dark])
    for name in ("gas_valve", "igniter", "pump", "alarm", "duty"):
        assert not signals[f"out.{name}"][dark].any(), name
    for name in ("stage", "fault", "step"):
        assert np.isnan(signals[f"out.{name}"][dark]).all(), name
    assert not signals["gas_valve"][(times > 8000)].any()
    before, after = signals["out.stage"][times < 7100], signals["out.stage"][times >= 9750]
    assert (before[-1], after[0], np.isfinite(after).all()) == (2.0, 0.0, True)


def test_it_is_told_as_events(lib, tmp_path):
    result, _ = tapped(scenario_of(CUT), lib, tmp_path)
    told = [(e.t_ms, e.text) for e in result.events if "power" in e.text]
    assert told == [
        (7100, "power-cut starts"),
        (9600, "power-cut ends"),
        (9600, "the device has its power back and has started again"),
    ]


@pytest.mark.parametrize("kind", ["builtin", "run", "pty"])
def test_it_is_the_same_on_every_link(kind, reference, lib, tmp_path):
    device = kind if kind == "builtin" else reference().links[kind]
    results = [tapped(scenario_of(CUT), link, tmp_path)[0] for link in (device, lib)]
    assert results[0].digest == results[1].digest
    assert results[0].verdicts == results[1].verdicts


def test_a_cut_for_a_moment_and_a_repeated_one(lib, tmp_path):
    scenario = scenario_of(CUT.replace('until = "9.6 s"', 'repeat_every = "2 s"\ntimes = 2'))
    result, sent = tapped(scenario, lib, tmp_path)
    assert [line for line in sent if line.startswith(("back", "restart"))] == [
        "restart", "back 4294966396", "restart", "back 1100",
    ]  # fmt: skip
    times, signals = recorded(result, tmp_path)
    assert (7100 in times, 9100 in times) == (True, True)
    assert not signals["flame"][times > 8000].any()


def test_cuts_that_overlap_are_one(lib, tmp_path):
    text = '\n[[disturbance]]\nkind = "power-cut"\nat = "9 s"\nuntil = "10 s"\n'
    _, sent = tapped(scenario_of(CUT + text), lib, tmp_path)
    assert [line for line in sent if line.startswith(("back", "restart"))] == ["restart", "back 2000"]


def test_a_cut_by_a_condition(lib, tmp_path):
    """The power fails in the trial for ignition, at the first exchange that sees the valve open."""
    text = CUT.replace('at = "7.1 s"\nuntil = "9.6 s"', 'when = "gas_valve"\nfor = "1 s"')
    result, sent = tapped(scenario_of(text), lib, tmp_path)
    opened = next(event.t_ms for event in result.events if event.text == "power-cut starts")
    times, signals = recorded(result, tmp_path)
    assert signals["gas_valve"][times == opened][0] == 1
    assert not signals["gas_valve"][times > opened + 1000].any()
    assert f"back {(2**32 - 8000 + opened + 1000) % 2**32}" in sent


def test_a_cut_in_a_silent_line(lib, tmp_path):
    """The power comes back while nothing is heard: the panel waits for the first word."""
    text = '\n[[disturbance]]\nkind = "line-silence"\nat = "9 s"\nfor = "2 s"\n'
    _, sent = tapped(scenario_of(CUT + text), lib, tmp_path)
    after = [line.split()[0] for line in sent[sent.index("restart") :]]
    assert after == ["restart", "hi", "back", *["tick"] * 5, "put", *["at"] * 4, "end"]


@pytest.mark.parametrize("for_ms", [None, 1000])
def test_a_cut_before_the_first_exchange(lib, for_ms):
    """A switch that stands on when the power comes is no start."""
    result, _ = play(lib, scenario=cut_at(0, for_ms))
    assert result.exchanges == 40 - (for_ms or 0) // 250
    assert result.status == "fail"


def test_power_that_does_not_come_back_in_the_run(lib, tmp_path):
    scenario = scenario_of(CUT.replace('until = "9.6 s"', 'for = "1 min"'))
    result, sent = tapped(scenario, lib, tmp_path)
    assert (result.status, result.reasons, "restart" in sent) == ("pass", (), False)


def test_nobody_hears_what_is_typed_without_power(lib, tmp_path):
    text = '\n[[disturbance]]\nkind = "type"\nat = "8 s"\ntext = "status"\n'
    result, sent = tapped(scenario_of(CUT + text), lib, tmp_path)
    assert "typed while the device has no power: nobody heard it" in [event.text for event in result.events]
    assert not [line for line in sent if line.startswith("type")]
    assert result.reasons == ()


def test_what_the_device_told_is_unknown_after_the_cut(lib, tmp_path):
    judged = '\n[[assertion]]\ntitle = "told"\nwhile = "between 7.2 s and 9 s"\nnever = "tell.stage == 4"\n'
    result, _ = tapped(scenario_of(CUT + judged), lib, tmp_path)
    assert result.verdicts[1].outcome == "could not be judged"
    assert result.status == "inconclusive"


class NeverBack(Tapped):
    """A board that does not start again."""

    def restart(self) -> None:
        raise LinkError(f"{self.text}: the port has no DTR line to reset the board by.")


class BackDead(Tapped):
    """A board that has its power back and says nothing."""

    dead = False

    def restart(self) -> None:
        self.dead = True

    def read(self, timeout_s: float) -> bytes:
        return b"" if self.dead else self.inner.read(timeout_s)


class BackAsAnother(Tapped):
    """A board that comes back without its reset button."""

    def read(self, timeout_s: float) -> bytes:
        lines = self.inner.read(timeout_s).splitlines(keepends=True)
        gone = b"in 8 " if "restart" in self.sent else b"nothing"
        return b"".join(line for line in lines if not line.startswith(gone))


@pytest.mark.parametrize(
    ("kind", "reason"),
    [
        (NeverBack, "the port has no DTR line to reset the board by"),
        (BackDead, "nothing came in 5 s. Is it the right port"),
        (BackAsAnother, "came back from the power cut with other channels"),
    ],
)
def test_a_device_that_does_not_come_back_is_inconclusive(kind, reason, lib, tmp_path):
    result, _ = tapped(scenario_of(CUT), lib, tmp_path, kind)
    assert result.status == "inconclusive"
    assert result.reasons[0].startswith("at 9.600 s: ")
    assert reason in result.reasons[0]


def test_a_figure_lost_on_the_line_is_not_judged(lib):
    """The device says a figure once; what the line takes of it cannot be asked for again."""
    text = SHORT.text + '\n[[assertion]]\ntitle = "told"\nsometime = "tell.stage == 3"\n'
    upset = '\n[[disturbance]]\nkind = "{}"\nat = "0 s"\nevery = {}\nplace = "to-bench"\n'
    clean, _ = play(lib, scenario=parse_scenario(text, "x.toml"))
    assert clean.status == "pass"
    for kind in ("line-lost", "line-corrupted"):
        for every in range(2, 12):
            result, _ = play(lib, scenario=parse_scenario(text + upset.format(kind, every), "x.toml"))
            if result.reasons:
                assert "spoilt a figure that the device told; tell.stage may be wrong" in result.reasons[0]
                assert result.status != "pass"
            else:
                assert result.digest == clean.digest
