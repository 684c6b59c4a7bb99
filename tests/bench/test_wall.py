"""Wall pace on a clock and a device that follow a script: deadlines, arrivals, silence, power cuts."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from harness.bench.recorder import Recorder
from harness.bench.run import run_scenario
from harness.errors import FileMistakesError
from harness.line import Now, Say, Tell
from harness.logbook import Logbook
from harness.scenario import parse_scenario
from tests.bench.scripted_device import MS, FakeClock, ScriptedLink

HEAD = """
title = "A second in wall pace"
plant = "electric-kettle"
length = "1 s"
pace = "wall"
exchange_every = "100 ms"
"""
NEVER_HOT = '\n[[assertion]]\ntitle = "never hot"\nalways = "kettle < 90 degC"\n'


def kind(name: str, *lines: str) -> str:
    return "\n".join(["", "[[disturbance]]", f'kind = "{name}"', *lines, ""])


@pytest.fixture
def play(tmp_path):
    """Play a scenario by a script; the result, the link, and times and signals as recorded."""
    book = Logbook(tmp_path / "logbook.sqlite")

    def played(more: str = "", *, head: str = HEAD, late=lambda t_ms: 0.0, kind=ScriptedLink, **script):
        clock = FakeClock(late)
        link = kind(clock, **script)
        scenario = parse_scenario(head + more + NEVER_HOT, "own.toml")
        result = run_scenario(scenario, "scripted", book, opening=lambda text: link, clock=clock)
        return result, link, *book.read(result.run_id).signals()

    return played


def steps(times, values) -> list[tuple[int, float]]:
    """The changes of a held signal: when, to what; of rows at one time the last counts."""
    last = np.append(times[1:] != times[:-1], True)
    kept = list(zip(times[last].tolist(), values[last].tolist(), strict=True))
    return [one for before, one in zip([(0, None), *kept], kept, strict=False) if one[1] != before[1]]


def test_exchanges_keep_their_deadlines(play):
    result, link, _, signals = play(answer_ms=lambda t_ms: 7.25)
    assert link.ats == [(100 * n, 100 * n) for n in range(10)]
    assert (result.status, result.exchanges, result.length_ms) == ("pass", 10, 1000)
    assert set(signals["answer_time"]) == {0, 7.25}  # 0: `go`, answered at once.
    assert set(signals["bench_late"]) == {0}


def test_a_late_exchange_makes_no_other_late(play):
    result, link, times, signals = play(late=lambda t_ms: 12.5 if t_ms == 300 else 0.25)
    assert link.ats[2:5] == [(200.25, 200), (312.5, 312), (400.25, 400)]
    assert signals["bench_late"][times == 312][-1] == 12.5
    assert (result.status, signals["bench_late"].max()) == ("pass", 12.5)


def test_a_bench_too_late_shows_nothing(play):
    result, *_ = play(late=lambda t_ms: {300: 51.0, 700: 80.5}.get(t_ms, 0.0))
    assert result.status == "inconclusive"
    assert result.reasons == (
        "the bench was late by more than late_limit, 50 ms, in 2 of 10 exchanges, at worst by 80.5 ms at "
        "0.780 s. Let nothing else run beside it, or give a longer late_limit.",
    )
    patient = HEAD + 'late_limit = "90 ms"\n'
    assert play(head=patient, late=lambda t_ms: 80.5 * (t_ms == 700))[0].status == "pass"


def test_a_bench_late_by_more_than_an_exchange_goes_on_at_the_next(play):
    result, link, *_ = play(late=lambda t_ms: 250.0 if t_ms == 300 else 0.0)
    assert [t for t, _ in link.ats] == [0, 100, 200, 550, 600, 700, 800, 900]
    assert "at worst by 250.0 ms" in result.reasons[0]
    assert not [note for note in result.notes if "left out" in note]


def test_outputs_act_as_they_arrive(play):
    script = [(130, Now(((1, 1),))), (417.9, Now(((1, 0), (2, 1))))]
    _, _, times, signals = play(unasked=script, answer_ms=lambda t_ms: 5.0)
    assert steps(times, signals["out.relay"]) == [(0, 0), (130, 1), (417, 0)]
    assert steps(times, signals["out.lamp"]) == [(0, 0), (417, 1)]
    assert steps(times, signals["relay"])[1][0] == 140  # Its contacts travel for 10 ms.


@pytest.mark.parametrize("said_at", [498.2, 498.9, 499.3, 499.99])
def test_what_comes_in_the_last_bit_before_a_deadline_acts_at_the_deadline(said_at, play):
    """The bench is ready by then, and is not late for it; the line that is due goes out as it would have."""
    _, link, times, signals = play(unasked=[(130, Now(((1, 1),))), (said_at, Now(((1, 0),)))])
    on, off = steps(times, signals["out.relay"])[1:]
    assert (on, off) in (((130, 1), (498, 0)), ((130, 1), (500, 0)))
    assert [t for t, _ in link.ats] == [100 * n for n in range(10)]
    assert signals["bench_late"].max() == 0


def test_an_answer_acts_from_its_arrival(play):
    """A `now` in one piece with an answer was said after it; the next answer takes it back."""
    _, _, times, signals = play(behind={200: Now(((1, 1),))}, answer_ms=lambda t_ms: 30.0)
    assert steps(times, signals["out.relay"]) == [(0, 0), (230, 1), (330, 0)]


def test_a_device_that_answers_after_the_next_deadline_loses_it(play):
    result, link, times, signals = play(answer_ms=lambda t_ms: 150.0 if t_ms == 200 else 1.0)
    assert [t for t, _ in link.ats] == [0, 100, 200, 400, 500, 600, 700, 800, 900]
    assert result.warnings[-1] == (
        "1 exchanges were left out: the device answered after the next was due, at worst in 150.0 ms"
    )
    assert (result.status, signals["bench_late"].max()) == ("pass", 0)
    assert steps(times, signals["answer_time"])[2:4] == [(350, 150.0), (401, 1.0)]


def test_the_answer_time_can_be_judged(play):
    soon = '\n[[assertion]]\ntitle = "answers soon"\nalways = "answer_time < 20 ms"\n'
    slow = play(soon, answer_ms=lambda t_ms: 20.0 if t_ms == 500 else 3.0)[0]
    assert (slow.status, slow.verdicts[0].outcome) == ("fail", "broken")
    assert play(soon, answer_ms=lambda t_ms: 3.0)[0].status == "pass"


def test_lockstep_has_no_such_signal():
    head = HEAD.replace('pace = "wall"\n', "")
    with pytest.raises(FileMistakesError, match="no signal is called 'answer_time'"):
        parse_scenario(head + '[[assertion]]\ntitle = "soon"\nalways = "answer_time < 20 ms"\n', "own.toml")


def test_a_silent_line_is_silent(play):
    more = kind("line-silence", 'at = "250 ms"', 'until = "650 ms"')
    script = [(130, Now(((1, 1),))), (451, Now(((1, 0),)))]
    result, link, times, signals = play(more, unasked=script)
    assert [t for t, _ in link.ats] == [0, 100, 200, 700, 800, 900]
    assert not [line for t, line in link.sent if 200 < t < 700]
    assert steps(times, signals["out.relay"]) == [(0, 0), (130, 1), (451, 0)]
    assert (result.status, result.exchanges) == ("pass", 10)


def test_a_power_cut_and_a_device_that_takes_its_time_to_start(play):
    more = kind("power-cut", 'at = "250 ms"', 'until = "400 ms"')
    script = [(130, Now(((1, 1),))), (300, Now(((2, 1),))), (520, Say("booting"))]
    _, link, times, signals = play(more, unasked=script, restart_ms=160.5)
    said = [(t, line.split()[0]) for t, line in link.sent if 200 < t < 700]
    assert said == [(400, "restart"), (560.5, "hi"), (560.5, "back"), (600, "at")]
    assert "back 560" in [line for _, line in link.sent]
    assert steps(times, signals["out.relay"])[:3] == [(0, 0), (130, 1), (250, 0)]
    assert not signals["out.lamp"][times < 560].any()
    assert signals["bench_late"].max() == 0


def test_a_cut_while_the_device_starts_starts_it_again(play):
    more = kind("power-cut", 'at = "200 ms"', 'for = "50 ms"', 'repeat_every = "100 ms"', "times = 2")
    _, link, *_ = play(more, restart_ms=80.0)
    said = [(t, line.split()[0]) for t, line in link.sent if 250 <= t <= 500]
    assert [one for one in said if one[1] != "hi"] == [
        (250, "restart"), (350, "restart"), (430, "back"), (500, "at"),
    ]  # fmt: skip


def test_a_button_waits_for_its_answer_and_is_not_the_bench_late(play):
    more = kind("set-panel", 'at = "450 ms"', "panel = { run = true }")
    _, link, times, signals = play(more, answer_ms=lambda t_ms: 8.0)
    puts = [(t, line) for t, line in link.sent if line.startswith("put")]
    assert puts == [(0, "put 2=0"), (500, "put 2=1")]
    assert (508, 508) in link.ats
    assert signals["bench_late"].max() == 0
    assert steps(times, signals["in.run"])[-1] == (516, 1)


def test_what_the_device_says_is_told_at_its_time(play):
    told = '\n[[assertion]]\ntitle = "told"\nsometime = "tell.gain == 3"\n'
    script = [(333.3, Say("here")), (444, Tell("gain", 3))]
    result, _, times, signals = play(told, unasked=script)
    assert [(e.t_ms, e.text) for e in result.events if e.source == "device"] == [
        (333, "say here"),
        (444, "tell gain 3"),
    ]
    assert times[signals["tell.gain"] == 3][0] == 444
    assert result.status == "pass"


@pytest.mark.parametrize(
    ("script", "reason"),
    [
        ([(150, Now(((7, 1),)))], "sent `now` for output 7, which it does not have"),
        ([(150, Now(((1, 2),)))], "set output relay to 2; a bool is 0 to 1"),
        ([(150, Now(((1, None),)))], "gave no value (x) for output relay"),
        ([(110 + n / 10, Say("chatter")) for n in range(80)], "64 lines"),
    ],
)
def test_a_device_that_breaks_the_rules_ends_the_run(play, script, reason):
    result, *_ = play(unasked=script)
    assert result.status == "inconclusive"
    assert reason in result.reasons[0]
    assert result.cut_short


def test_faults_of_the_line_and_libraries_are_for_lockstep_pace(play, tmp_path):
    with pytest.raises(FileMistakesError, match=r"own.toml:\d+: line-lost is counted .* lockstep pace"):
        play(kind("line-lost", 'at = "100 ms"', 'for = "500 ms"'))
    scenario = parse_scenario(HEAD + NEVER_HOT, "own.toml")
    with pytest.raises(FileMistakesError, match="speaks only when spoken to"):
        run_scenario(scenario, "lib:x.so", Logbook(tmp_path / "book.sqlite"))


@settings(max_examples=25)
@given(
    script=st.dictionaries(
        st.integers(1, 999).filter(lambda t_ms: t_ms % 100 < 99), st.booleans(), max_size=12
    ),
    answer=st.sampled_from([0.0, 3.5, 60.0, 140.0]),
)
def test_the_record_holds_what_came_last(tmp_path_factory, script, answer):
    """The oracle has no plant and no loop: the lines in the order they arrive, the last one holds."""
    book = Logbook(tmp_path_factory.mktemp("wall") / "logbook.sqlite")
    clock = FakeClock()
    changes = sorted(script.items())
    said = [(t_ms, Now(((1, int(on)),))) for t_ms, on in changes]
    link = ScriptedLink(clock, said, lambda t_ms: answer)
    scenario = parse_scenario(HEAD + NEVER_HOT, "own.toml")
    result = run_scenario(scenario, "scripted", book, opening=lambda text: link, clock=clock)
    times, signals = book.read(result.run_id).signals()

    def stands(at_ms):
        return next((on for t_ms, on in reversed(changes) if t_ms <= at_ms), False)

    arrivals = [(t_ms, 0, on) for t_ms, on in changes]
    arrivals += [(t_ms + answer, 1, stands(t_ms)) for t_ms, _ in link.ats]
    held = {0: False} | {min(int(t_ms), 1000): on for t_ms, _, on in sorted(arrivals)}
    got = dict(zip(times.tolist(), signals["out.relay"].tolist(), strict=True))
    assert {t_ms: got[t_ms] for t_ms in held} == held
    assert steps(times, signals["out.relay"])[-1][0] in held
    assert (np.diff(times) >= 0).all()


class HeldUp(ScriptedLink):
    """The bench is held up for 80 ms in one wait: of those after the line at `t_ms` that of `number`."""

    def __init__(self, clock, t_ms: int, number: int = 0, **script) -> None:
        super().__init__(clock, **script)
        self._line, self._number, self._left = b"at %d " % t_ms, number, -1

    def write(self, data: bytes) -> None:
        super().write(data)
        if data.startswith(self._line):
            self._left = self._number

    def read(self, timeout_s: float) -> bytes:
        data = super().read(timeout_s)
        if self._left == 0:
            self._clock.pass_to(self._clock.now_ns() + 80 * MS)
        self._left -= 1
        return data


HELD_UP = {"for an answer": (300, 0), "between": (300, 1), "for the last answer": (900, 0)}


@pytest.mark.parametrize(("t_ms", "number"), HELD_UP.values(), ids=HELD_UP)
def test_a_bench_held_up_while_it_listens_is_late_and_not_the_device(t_ms, number, play):
    """No deadline is missed by more than late_limit: what it heard is only older than it can know."""
    script = {"kind": HeldUp, "t_ms": t_ms, "number": number, "answer_ms": lambda at_ms: 1.0}
    result, *_ = play(**script)
    assert result.status == "inconclusive"
    assert result.reasons[0].startswith("the bench was late by more than late_limit, 50 ms, in 1 of 10 exch")
    assert play(head=HEAD + 'late_limit = "81 ms"\n', **script)[0].status == "pass"


def test_a_link_that_gathers_a_line_holds_nobody_up(play):
    class Gathers(HeldUp):
        gathers_s = 0.08

    result, *_ = play(kind=Gathers, t_ms=300, answer_ms=lambda t_ms: 1.0)
    assert (result.status, result.reasons) == ("pass", ())


def test_a_device_that_takes_long_is_not_a_bench_held_up(play):
    late = play(answer_ms=lambda t_ms: 95.0)[3]["bench_late"]
    assert late.max() == 0


@pytest.mark.parametrize(("every", "rows"), [("1 s", 1), ("100 ms", 10), ("10 ms", 64)])
def test_what_is_recorded_is_handed_on_each_second(play, monkeypatch, every, rows):
    """What is not handed on is lost with a killed bench."""
    chunks = []
    hand_on = Recorder.flush

    def counted(self: Recorder) -> None:
        chunks.append(len(self._times))
        hand_on(self)

    monkeypatch.setattr(Recorder, "flush", counted)
    play(head=HEAD.replace('"100 ms"', f'"{every}"').replace('"1 s"\npace', '"3 s"\npace'))
    assert max(chunks) <= rows + 2
    assert len(chunks) >= 3
