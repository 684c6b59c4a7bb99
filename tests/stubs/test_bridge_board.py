"""The bridge's firmware on a simulated ATmega328P: pins in and out, SPI words, registers, times.

Addresses are those of the ATmega328P data sheet, chapter Register Summary.
"""

from __future__ import annotations

import pytest

from tests.stubs.bridge_builds import Board, build_board, build_bridge, lines, words_sent

TCCR1A, TCCR1B, ICR1, OCR1A = 0x80, 0x81, 0x86, 0x88
JOINED = 1 << 7  # COM1A1: the timer drives the pin
FLAME, FLOW, CONNECT_1, CONNECT_2, RESET, ANALOG = "D5", "D6", "C0", "C1", "B0", "B1"
CONTROLLER = ("D2", "D3", "D4")
WRITE = 0x11


@pytest.fixture(scope="module")
def built(tmp_path_factory):
    """(simulator, {unit: firmware})."""
    folder = tmp_path_factory.mktemp("bridge")
    firmware = {unit: build_bridge(folder / unit, f"ANALOG={unit}") for unit in ("adc10", "uV")}
    return build_board(folder), firmware


@pytest.fixture
def power(built):
    """Power up a bridge around a controller that has all off: `power(unit)`."""
    boards = []

    def on(unit: str = "adc10") -> Board:
        boards.append(Board(built[0], built[1][unit]))
        for pin in CONTROLLER:
            boards[-1].pin(pin, 1)
        return boards[-1]

    yield on
    for board in boards:
        board.__exit__()


def sixteen(board: Board, address: int) -> int:
    return board.register(address) + 256 * board.register(address + 1)


def is_open(board: Board) -> bool:
    """Whether no signal of any kind reaches the controller."""
    high = [pin for pin in (FLAME, FLOW, CONNECT_1, CONNECT_2, RESET) if board.is_high(pin)]
    return not high and not board.drives(ANALOG)


@pytest.mark.parametrize("unit", ["adc10", "uV"])
def test_it_says_who_it_is(power, unit):
    assert lines(power(unit).say("hi 1")) == [
        "me 1 bridge 1.0",
        f"in 1 analog {unit}",
        *("in 2 thermistor mohm", "in 3 pt1000 mohm", "in 4 flame bool", "in 5 flow bool"),
        *("out 1 gas_valve bool", "out 2 igniter bool", "out 3 pump bool"),
        "ready",
    ]


def test_at_power_up_nothing_reaches_the_controller(power):
    board = power()
    assert is_open(board)
    assert board.drives(RESET)
    assert not any(board.drives(pin) for pin in CONTROLLER)
    assert (board.register(TCCR1B), sixteen(board, ICR1)) == (0b00011001, 4095)  # fast PWM to ICR1, undivided


def test_go_resets_the_controller_and_waits_for_it(power):
    board = power()
    began = board.clock_ms()
    assert lines(board.say("go 0")) == ["ok 0 1=0 2=0 3=0"]
    assert board.clock_ms() - began == pytest.approx(1100, abs=10)
    assert is_open(board)


def test_reset_is_high_for_a_tenth_of_a_second(power):
    board = power()
    seen = board.do("post go 0*0BD0")
    held = []
    for _ in range(4):
        seen += board.run_ms(45)
        held.append(board.is_high(RESET))
    assert held == [True, True, False, False]
    assert lines(seen) == []


@pytest.mark.parametrize(("counts", "compare"), [(0, 1), (1, 5), (512, 2049), (1023, 4093), (5000, 4093)])
def test_counts_become_the_timers_compare(power, counts, compare):
    board = power()
    board.say("go 0")
    board.say(f"at 10 1={counts}")
    assert sixteen(board, OCR1A) == compare
    assert board.register(TCCR1A) & JOINED
    assert board.drives(ANALOG)


@pytest.mark.parametrize(
    ("uv", "compare", "joined"),
    [(0, 0, False), (1221, 0, True), (2_500_000, 2047, True), (9_000_000, 4095, True)],
)
def test_microvolts_become_the_timers_compare(power, uv, compare, joined):
    board = power("uV")
    board.say("go 0")
    board.say(f"at 10 1={uv}")
    assert sixteen(board, OCR1A) == compare
    assert bool(board.register(TCCR1A) & JOINED) is joined
    assert board.drives(ANALOG)
    assert joined or not board.is_high(ANALOG)


def test_resistances_become_words_under_their_own_select(power):
    board = power()
    board.say("go 0")
    assert words_sent(board.say("at 10 2=2087000")) == [(WRITE, "0", "1"), (52, "0", "1")]
    assert (board.is_high(CONNECT_1), board.is_high(CONNECT_2)) == (True, False)
    assert words_sent(board.say("at 20 3=1250000")) == [(WRITE, "1", "0"), (45, "1", "0")]
    assert (board.is_high(CONNECT_1), board.is_high(CONNECT_2)) == (True, True)
    assert words_sent(board.say("at 30 2=2087000 3=1250000")) == []
    assert words_sent(board.say("at 40 2=x")) == []
    assert (board.is_high(CONNECT_1), board.is_high(CONNECT_2)) == (False, True)


@pytest.mark.parametrize(("flame", "flow"), [(0, 1), (1, 0), (1, 1)])
def test_switches_become_pins(power, flame, flow):
    board = power()
    board.say("go 0")
    board.say(f"at 10 4={flame} 5={flow}")
    assert (board.is_high(FLAME), board.is_high(FLOW)) == (bool(flame), bool(flow))
    board.say("at 20 4=x 5=0")
    assert is_open(board)


@pytest.mark.parametrize(("place", "pin"), list(enumerate(CONTROLLER, 1)))
def test_a_pin_of_the_controller_is_told_when_it_changes(power, place, pin):
    board = power()
    board.say("go 0")
    board.pin(pin, 0)
    on = " ".join(f"{number}={int(number == place)}" for number in (1, 2, 3))
    assert lines(board.run_ms(3)) == []
    assert lines(board.run_ms(9)) == [f"now {on}"]
    assert lines(board.say("at 100")) == [f"ok 100 {on}"]
    board.pin(pin, 1)
    assert lines(board.run_ms(12)) == ["now 1=0 2=0 3=0"]


def test_a_bounce_is_not_told(power):
    board = power()
    board.say("go 0")
    for level in (0, 1) * 5:
        board.pin("D2", level)
        assert lines(board.run_ms(2)) == []


def test_a_wire_that_is_off_reads_as_off(built):
    """Pull-ups: nothing drives the pins here."""
    with Board(built[0], built[1]["adc10"]) as board:
        assert lines(board.say("go 0")) == ["ok 0 1=0 2=0 3=0"]
        assert all(board.is_high(pin) for pin in CONTROLLER)


def test_what_the_controller_has_on_at_the_start_is_seen(power):
    board = power()
    board.pin("D4", 0)
    assert lines(board.say("go 0")) == ["ok 0 1=0 2=0 3=1"]


DRIVEN = "1=512 2=2087000 3=1250000 4=1 5=1"


@pytest.mark.parametrize("last", ["end", "hi 1", "go 20", "back 20"])
def test_all_opens_when_the_run_is_over(power, last):
    board = power()
    board.say("go 0")
    board.say(f"at 10 {DRIVEN}")
    assert not is_open(board)
    board.say(last)
    assert is_open(board)


def test_all_opens_when_the_bench_falls_silent_and_comes_back_with_it(power):
    board = power()
    board.say("go 0")
    board.say(f"at 10 {DRIVEN}")
    board.run_ms(4900)
    assert not is_open(board)
    board.run_ms(200)
    assert is_open(board)
    assert len(words_sent(board.say(f"at 6000 {DRIVEN}"))) == 4
    assert board.is_high(FLAME)
    assert board.drives(ANALOG)


def test_a_line_with_a_mistake_changes_no_signal(power):
    board = power()
    board.say("go 0")
    board.say(f"at 10 {DRIVEN}")
    assert lines(board.do("send at 20 1=x 2=x 4=0*0000")) == ["no crc"]
    board.run_ms(2)
    assert (sixteen(board, OCR1A), board.is_high(FLAME), board.is_high(CONNECT_1)) == (2049, True, True)
