"""Rows to chunks."""

import os
import signal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.bench.recorder import CHUNK_ROWS, Column, Recorder


class Sink:
    def __init__(self) -> None:
        self.times: list[np.ndarray] = []
        self.values: list[np.ndarray] = []

    def chunk(self, times_ms: np.ndarray, values: np.ndarray) -> None:
        self.times.append(times_ms)
        self.values.append(values)


COLUMNS = [
    Column("liquor", "degC", truth=True),
    Column("in.liquor", "degC", 1e-3),
    Column("out.heat", "bool"),
]


@given(st.lists(st.tuples(st.floats(-10, 120), st.none() | st.integers(-9999, 99999)), max_size=30))
def test_every_row_comes_out_once_in_order(rows: list[tuple[float, int | None]]) -> None:
    sink = Sink()
    recorder = Recorder(COLUMNS, [sink])
    for t, (truth, reading) in enumerate(rows):
        recorder.row(t, [truth], [reading], [1.0])
        if t % 7 == 3:
            recorder.flush()
    recorder.flush()
    recorder.flush()
    got = np.concatenate(sink.values) if sink.values else np.empty((0, 3))
    wanted = [[truth, np.nan if reading is None else reading * 1e-3, 1.0] for truth, reading in rows]
    np.testing.assert_array_equal(got, np.array(wanted).reshape(-1, 3))
    assert [int(t) for part in sink.times for t in part] == list(range(len(rows)))
    assert recorder.unsound is None


def test_a_chunk_is_full_after_so_many_rows() -> None:
    recorder = Recorder(COLUMNS, [])
    for t in range(CHUNK_ROWS):
        assert not recorder.full
        recorder.row(t, [20.0], [20000], [0.0])
    assert recorder.full


def test_a_plant_that_is_no_number_is_told_with_name_and_time() -> None:
    recorder = Recorder(COLUMNS, [])
    recorder.row(1500, [20.0], [None], [0.0])
    recorder.row(1750, [float("nan")], [20000], [0.0])
    recorder.flush()
    assert recorder.unsound is not None
    assert "liquor is not a number at 1.750 s" in recorder.unsound


def test_a_row_cut_short_by_ctrl_c_is_left_out() -> None:
    sink = Sink()
    recorder = Recorder(COLUMNS, [sink])
    recorder.row(0, [20.0], [20000], [0.0])
    recorder._times.append(250)
    recorder._values.append(21.0)
    recorder.flush()
    assert [times.tolist() for times in sink.times] == [[0]]


def test_a_first_row_cut_short_makes_no_chunk() -> None:
    sink = Sink()
    recorder = Recorder(COLUMNS, [sink])
    recorder._times.append(0)
    recorder._values.append(21.0)
    recorder.flush()
    assert sink.times == []


@pytest.fixture
def hears_ctrl_c():
    """A process begun in the background ignores Ctrl-C, and so would these tests."""
    before = signal.signal(signal.SIGINT, signal.default_int_handler)
    yield
    signal.signal(signal.SIGINT, before)


@pytest.mark.usefixtures("hears_ctrl_c")
def test_ctrl_c_between_two_sinks_reaches_both_or_none() -> None:
    """Else the digest would tell of rows that the record lacks."""

    class Interrupted(Sink):
        def chunk(self, times_ms, values) -> None:
            os.kill(os.getpid(), signal.SIGINT)
            super().chunk(times_ms, values)

    first, second = Interrupted(), Sink()
    recorder = Recorder(COLUMNS, [first, second])
    recorder.row(0, [20.0], [20000], [0.0])
    with pytest.raises(KeyboardInterrupt):
        recorder.flush()
    assert len(first.times) == len(second.times) == 1
    recorder.flush()
    assert len(first.times) == len(second.times) == 1


@pytest.mark.usefixtures("hears_ctrl_c")
def test_a_second_ctrl_c_does_not_wait() -> None:
    """A disk that hangs for ever holds nobody."""

    class Hangs(Sink):
        def chunk(self, times_ms, values) -> None:
            for _ in range(2):
                os.kill(os.getpid(), signal.SIGINT)
            raise AssertionError("the second one has been held back")

    recorder = Recorder(COLUMNS, [Hangs()])
    recorder.row(0, [20.0], [20000], [0.0])
    with pytest.raises(KeyboardInterrupt):
        recorder.flush()
    assert signal.getsignal(signal.SIGINT) is signal.default_int_handler
