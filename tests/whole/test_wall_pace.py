"""Wall pace for a second or so of true time, with the reference controllers on their own clocks.

Nothing here depends on how fast the machine is: no lateness is too late, and no time of an answer is judged.
"""

from __future__ import annotations

import pytest

from tests.whole.rehearsal import book, play, scenario_of, unlit

WALL = """
title = "Under a second of true time"
plant = "herms-gas"
length = "0.9 s"
pace = "wall"
late_limit = "10 s"
exchange_every = "50 ms"

[plant_setup]
liquor_start = "50 degC"
mash_start = "45 degC"

[panel]
mode = 1
mash_setpoint = "66 degC"
run = true

[[disturbance]]
kind = "line-silence"
at = "500 ms"
for = "200 ms"

[[assertion]]
title = "the pump runs"
sometime = "out.pump"

[[assertion]]
title = "every exchange is answered"
never = "answer_time < 0 ms or bench_late < 0 ms"
"""


@pytest.mark.parametrize("kind", ["run", "builtin"])
def test_a_controller_with_its_own_clock_runs(kind, reference, tmp_path):
    device = "builtin" if kind == "builtin" else f"{reference().links['run']} --wall"
    result = play(scenario_of(WALL), device, tmp_path)
    assert (result.status, result.reasons, result.repeats) == ("pass", (), 0)
    times, signals = book(tmp_path).read(result.run_id).signals()
    assert {"bench_late", "answer_time"} <= signals.keys()
    assert (times[0], times[-1]) == (0, 900)
    # Its turns are its own: the pump comes on by `now`, while a line waits 50 ms for the next.
    assert signals["answer_time"].max() > 0


def test_the_command_takes_the_pace(tmp_path):
    lockstep = WALL.replace('pace = "wall"\n', "").partition('[[assertion]]\ntitle = "every')[0]
    (tmp_path / "wall.toml").write_text(lockstep)
    done = unlit(tmp_path, "run", "--pace", "wall", "wall.toml")
    assert (done.code, done.err) == (0, "")
    assert "00:00.9 of bench time" in done.out


def test_a_library_has_no_pace_of_its_own(reference, tmp_path):
    (tmp_path / "wall.toml").write_text(WALL)
    done = unlit(tmp_path, "run", "--device", reference().links["lib"], "wall.toml")
    assert done.code == 2
    assert "speaks only when spoken to" in done.err
