"""What a person has set, and what the device has been told of it."""

from math import isnan

from harness.bench.panel import Panel
from harness.line import Channel
from harness.scenario import Disturbance, PanelValue, Scenario

CHANNELS = {
    "run": Channel(7, "run", "bool"),
    "reset": Channel(8, "reset", "bool"),
    "mode": Channel(10, "mode", "count"),
    "mash_setpoint": Channel(12, "mash_setpoint", "mdegC"),
}
YES, WARM, WARMER = PanelValue(True, None, 1), PanelValue(64.0, "degC", 1), PanelValue(72.0, "degC", 1)


def panel() -> Panel:
    press = Disturbance("set-panel", at_ms=0, panel={"reset": YES, "mash_setpoint": WARMER})
    scenario = Scenario(
        file="s.toml",
        text="",
        title="t",
        why="",
        plant="herms-gas",
        length_ms=1000,
        panel={"run": YES, "mash_setpoint": WARM},
        disturbances=(press,),
    )
    return Panel(scenario, CHANNELS)


def test_the_start_tells_all_that_the_scenario_names_with_buttons_let_go() -> None:
    assert panel().take() == {7: 1, 8: 0, 12: 64000}


def test_only_what_was_set_since_is_told() -> None:
    board = panel()
    board.take()
    assert board.take() == {}
    board.press(0, {"reset": YES})
    assert board.take() == {8: 1}


def test_an_end_brings_back_what_was_set_before_and_lets_a_button_go() -> None:
    board = panel()
    board.take()
    board.press(0, {"reset": YES, "mash_setpoint": WARMER})
    assert board.take() == {8: 1, 12: 72000}
    board.release(0)
    assert board.take() == {8: 0, 12: 64000}


def test_two_that_overlap_leave_nothing_behind() -> None:
    """The second begins before the first ends, and ends after it: the button is held, then let go."""
    board = panel()
    board.take()
    board.press(0, {"reset": YES})
    board.press(1, {"reset": YES, "mash_setpoint": WARMER})
    board.take()
    board.release(0)
    assert board.take() == {8: 1}
    board.release(1)
    assert board.take() == {8: 0, 12: 64000}


def test_what_was_set_since_for_good_outlives_the_end_of_another() -> None:
    board = panel()
    board.press(0, {"mash_setpoint": PanelValue(50.0, "degC", 1)})
    board.press(1, {"mash_setpoint": WARMER})
    board.take()
    board.release(0)
    assert board.take() == {12: 72000}


def test_an_end_tells_whether_the_device_ever_heard() -> None:
    board = panel()
    board.press(0, {"reset": YES})
    assert not board.release(0)
    board.press(0, {"reset": YES})
    board.take()
    assert board.release(0)


def test_a_setting_counts_as_sent_only_when_it_is_taken() -> None:
    board = panel()
    assert all(isnan(value) for value in board.sent)
    board.take()
    board.press(0, {"reset": YES})
    assert list(board.sent) == [1.0, 0.0, 64000.0]
    board.take()
    assert list(board.sent) == [1.0, 1.0, 64000.0]


def test_a_device_that_forgot_is_told_everything_again() -> None:
    board = panel()
    board.take()
    board.forgotten()
    assert board.take() == {7: 1, 8: 0, 12: 64000}
