"""The two sides of the conversation, each rule of PROTOCOL.md by its number."""

from __future__ import annotations

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.line.codec import encode
from harness.line.conversation import (
    BENCH_HEARS,
    BENCH_SAYS,
    DEVICE_HEARS,
    Bench,
    BenchSide,
    ConversationError,
    DeviceSide,
    Dut,
    Means,
)
from harness.line.messages import (
    At,
    Back,
    BenchMessage,
    Channel,
    DeviceMessage,
    End,
    Go,
    Got,
    Hi,
    Identity,
    In,
    LineError,
    Me,
    No,
    Now,
    Ok,
    Out,
    Put,
    Ready,
    Say,
    Tell,
    Tick,
    Type,
)
from tests.line.lines import bench_messages, device_messages, value_lists

INPUTS = (Channel(1, "a", "count"), Channel(3, "b", "count"))
WHO = Identity("toy", "1", INPUTS, (Channel(1, "sum", "count"),))
errors = st.sampled_from([LineError("crc"), LineError("long"), LineError("form")])


class Adder:
    """Adds its inputs to the total; x counts as 0. Keeps what was done to it."""

    def __init__(self) -> None:
        self.identity, self.remarks, self.total, self.calls = WHO, [], 0, []

    def start(self, t_ms, new):
        self.calls.append(("start", t_ms, new))
        self.total = 0

    def step(self, t_ms, inputs, heard):
        self.calls.append(("step", t_ms, dict(inputs), heard))
        self.total += sum(value or 0 for value in inputs.values()) if heard else 0
        return [self.total]

    def console(self, text):
        self.remarks.append(Say(f"heard {text}"))
        return text == "known"


def answers(*messages, adder=None):
    """The last line of each answer."""
    side = DeviceSide(adder or Adder())
    return [side.hear(message)[-1] for message in messages]


def ok(t_ms, total):
    return Ok(t_ms, ((1, total),))


def test_hi_is_answered_with_all_channels():
    lines = DeviceSide(Adder()).hear(Hi(1))
    assert lines == [Me(1, "toy", "1"), *map(In, WHO.inputs), *map(Out, WHO.outputs), Ready()]


def test_rule_1_hi_ends_a_run():
    assert answers(Go(5), At(6, ((1, 7),)), Hi(1), End()) == [ok(5, 0), ok(6, 7), Ready(), ok(6, 0)]


def test_rule_2_nothing_runs_before_go_or_back():
    refused = No("not running")
    assert answers(At(0, ()), Tick(0), Put(((1, 1),)), Back(0)) == [refused, refused, refused, ok(0, 0)]


@pytest.mark.parametrize("message", [At(6, ((1, 7),)), Tick(6), Go(6), Back(6)])
def test_rule_3_a_repeat_changes_nothing(message):
    adder = Adder()
    first, second = answers(Go(5), message, message, adder=adder)[1:]
    assert first == second
    assert len(adder.calls) == 2


def test_rule_3_a_repeat_is_known_by_verb_and_time():
    adder = Adder()
    heard = answers(Go(5), At(6, ((1, 7),)), At(6, ((1, 9),)), Tick(6), At(6, ((1, 9),)), adder=adder)
    assert heard == [ok(5, 0), ok(6, 7), ok(6, 7), ok(6, 7), ok(6, 16)]


def test_rule_3_put_hi_and_end_can_be_repeated():
    put = Put(((1, 3), (3, 4)))
    assert answers(Go(0), put, put, At(1, ()), End(), End(), Hi(1), Hi(1)) == [
        ok(0, 0), Got(2), Got(2), ok(1, 7), ok(1, 0), ok(1, 0), Ready(), Ready(),
    ]  # fmt: skip


@pytest.mark.parametrize("reason", ["crc", "long", "form"])
def test_rule_4_damage_is_answered_and_changes_nothing(reason):
    adder = Adder()
    assert answers(Go(0), LineError(reason), Go(0), adder=adder) == [ok(0, 0), No(reason), ok(0, 0)]
    assert adder.calls == [("start", 0, True)]


def test_a_device_says_nothing_to_a_no():
    assert DeviceSide(Adder()).hear(No("form")) == []


def test_rule_5_time_does_not_run_backwards():
    late = 2**32 - 1
    assert answers(Go(10), Tick(9)) == [ok(10, 0), No("time")]
    assert answers(Go(10), Tick(10 + 2**31)) == [ok(10, 0), No("time")]
    assert answers(Go(10), Tick(9 + 2**31)) == [ok(10, 0), ok(9 + 2**31, 0)]
    assert answers(Go(late), At(4, ((1, 1),))) == [ok(late, 0), ok(4, 1)]


def test_rule_6_an_unknown_channel_takes_nothing():
    adder = Adder()
    heard = answers(Go(0), At(1, ((1, 5), (2, 5))), Put(((1, 5), (4, 5))), At(1, ()), adder=adder)
    assert heard == [ok(0, 0), No("channel"), No("channel"), ok(1, 0)]
    assert adder.calls[-1] == ("step", 1, {1: None, 3: None}, True)


def test_rule_6_counts_for_a_repeat_too():
    assert answers(Go(0), At(1, ()), At(1, ((2, 5),)), At(1, ()))[2:] == [No("channel"), ok(1, 0)]


def test_rule_6_several_mistakes_count_in_order():
    assert answers(At(1, ((2, 5),)), Go(5), At(4, ((2, 5),))) == [No("not running"), ok(5, 0), No("time")]


def test_rule_8_go_and_back_forget_the_inputs():
    adder = Adder()
    answers(Go(0), At(1, ((1, 5),)), Put(((3, 5),)), Back(2), At(3, ()), adder=adder)
    assert adder.calls[-2:] == [("start", 2, False), ("step", 3, {1: None, 3: None}, True)]


def test_an_input_not_listed_keeps_its_value_and_put_waits_for_at():
    adder = Adder()
    answers(Go(0), At(1, ((1, 5),)), Put(((3, 2),)), Tick(2), At(3, ()), adder=adder)
    assert adder.calls[-2:] == [("step", 2, {1: 5, 3: None}, False), ("step", 3, {1: 5, 3: 2}, True)]


def test_type_is_answered_by_whether_it_meant_something_after_what_it_says():
    side = DeviceSide(Adder())
    assert side.hear(Type("known")) == [Say("heard known"), Got(1)]
    assert side.hear(Type("other")) == [Say("heard other"), Got(0)]


def test_the_tables_are_complete():
    for kind in BenchMessage.__args__:
        assert any(said is kind for _, said in BENCH_SAYS)
        assert all((state, kind) in DEVICE_HEARS for state in Dut)
    for kind in DeviceMessage.__args__:
        assert any(heard is kind for _, heard in BENCH_HEARS)


@given(st.lists(bench_messages | errors, max_size=12))
def test_each_line_of_the_bench_has_exactly_one_answer(events):
    side = DeviceSide(Adder())
    for event in events:
        lines = side.hear(event)
        last = [line for line in lines if not isinstance(line, Say | Tell | Now | Me | In | Out)]
        assert len(last) == 1
        assert lines[-1] is last[0]
        assert all(encode(line) for line in lines)


small = st.integers(0, 20)
run_messages = st.one_of(
    st.builds(At, small, value_lists(most=2)), st.builds(Tick, small), st.builds(Put, value_lists(1, 2))
)


@given(st.lists(run_messages, max_size=10))
def test_saying_each_line_twice_changes_no_answer(messages):
    once = answers(Go(0), *messages)
    twice = answers(Go(0), *(message for message in messages for _ in range(2)))
    assert twice[1::2] == twice[2::2] == once[1:]


# The bench's side


def known() -> BenchSide:
    """A bench that knows its device."""
    side = BenchSide()
    side.say(Hi(1))
    for message in DeviceSide(Adder()).hear(Hi(1)):
        means = side.hear(message)
    assert means is Means.ANSWER
    return side


def running() -> BenchSide:
    side = known()
    side.say(Go(0))
    assert side.hear(ok(0, 0)) is Means.ANSWER
    return side


def test_the_bench_learns_who_the_device_is():
    side = known()
    assert side.identity == WHO
    assert side.state is Bench.IDLE


@pytest.mark.parametrize("message", [At(0, ()), Tick(0), Put(((1, 1),))])
def test_the_bench_does_not_ask_before_go(message):
    with pytest.raises(ConversationError, match="may not be said now: device known, no run"):
        known().say(message)


@pytest.mark.parametrize("message", [Go(0), End(), Type("x"), At(0, ())])
def test_the_bench_says_hi_first(message):
    with pytest.raises(ConversationError, match="nothing known of the device"):
        BenchSide().say(message)


def test_one_question_at_a_time():
    side = running()
    side.say(At(1, ()))
    with pytest.raises(ConversationError, match="waiting for ok"):
        side.say(At(2, ()))


@pytest.mark.parametrize(
    ("asked", "heard", "means"),
    [
        (At(7, ()), ok(7, 0), Means.ANSWER),
        (At(7, ()), ok(6, 0), Means.STALE),
        (At(7, ()), Got(1), Means.STALE),
        (At(7, ()), Ready(), Means.STALE),
        (At(7, ()), No("crc"), Means.AGAIN),
        (At(7, ()), No("long"), Means.AGAIN),
        (At(7, ()), No("form"), Means.AGAIN),
        (At(7, ()), No("time"), Means.REFUSED),
        (At(7, ()), LineError("crc"), Means.DAMAGED),
        (At(7, ()), Tell("a", 1), Means.REMARK),
        (At(7, ()), Say("a"), Means.REMARK),
        (At(7, ()), Now(((1, 1),)), Means.REMARK),
        (Tick(7), ok(7, 0), Means.ANSWER),
        (Go(7), ok(7, 0), Means.ANSWER),
        (Back(7), ok(8, 0), Means.STALE),
        (Put(((1, 1),)), Got(1), Means.ANSWER),
        (Put(((1, 1),)), ok(0, 0), Means.STALE),
        (Type("a"), Got(0), Means.ANSWER),
        (End(), ok(3, 0), Means.ANSWER),
        (Hi(1), ok(0, 0), Means.STALE),
        (Hi(1), No("form"), Means.STALE),
        (Hi(1), Me(1, "a", "1"), Means.PART),
    ],
)
def test_what_a_line_means_to_the_bench(asked, heard, means):
    side = running()
    side.say(asked)
    waiting = side.state
    assert side.hear(heard) is means
    assert (side.state is waiting) == (means not in (Means.ANSWER, Means.PART))


def test_a_damaged_list_is_asked_for_again():
    side = BenchSide()
    side.say(Hi(1))
    side.hear(Me(1, "a", "1"))
    assert side.hear(LineError("crc")) is Means.AGAIN
    assert side.hear(Ready()) is Means.STALE


def test_a_list_that_begins_again_counts_once():
    side = BenchSide()
    side.say(Hi(1))
    for message in [*DeviceSide(Adder()).hear(Hi(1))[:2], *DeviceSide(Adder()).hear(Hi(1))]:
        side.hear(message)
    assert side.identity == WHO


@pytest.mark.parametrize(
    ("lines", "what"),
    [
        ([Me(2, "a", "1")], "speaks protocol version 2, this bench version 1"),
        ([Me(1, "a", "1"), *(In(Channel(n, f"i{n}", "ms")) for n in range(1, 34))], "`in 33 i33` is one too"),
        ([Me(1, "a", "1"), *(Out(Channel(n, f"o{n}", "ms")) for n in range(1, 34))], "`out 33 o33` is one"),
        ([Me(1, "a", "1"), In(Channel(2, "a", "ms")), In(Channel(1, "b", "ms"))], "numbers must rise"),
        ([Me(1, "a", "1"), In(Channel(1, "a", "ms")), In(Channel(2, "a", "ms"))], "name of another `in`"),
    ],
)
def test_a_list_that_breaks_the_protocol(lines, what):
    side = BenchSide()
    side.say(Hi(1))
    for line in lines[:-1]:
        side.hear(line)
    with pytest.raises(ConversationError, match=what):
        side.hear(lines[-1])


@given(st.lists(st.one_of(bench_messages, device_messages, errors), max_size=20))
def test_the_bench_takes_any_talk_in_any_order(events):
    side = BenchSide()
    for event in events:
        try:
            if isinstance(event, BenchMessage):
                side.say(event)
            else:
                assert isinstance(side.hear(event), Means)
        except ConversationError:
            pass
        assert isinstance(side.state, Bench)
