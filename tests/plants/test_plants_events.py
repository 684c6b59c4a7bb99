"""The queue of events: order, cancelling, saving."""

import pytest

from plants.kernel.events import NEVER, EventQueue


def logged():
    """A queue whose events `a` and `b` write themselves down."""
    queue, log = EventQueue(), []
    for name in "ab":
        queue.handle(name, lambda argument, name=name: log.append((queue.now_ms, name, argument)))
    return queue, log


def run(queue, until_ms):
    """Let everything happen up to a time."""
    while queue.next_ms() <= until_ms:
        queue.now_ms = queue.next_ms()
        queue.run_due()


def test_ties_go_by_priority_then_by_order_of_planning():
    queue, log = logged()
    queue.after(5, "a", 1.0)
    queue.after(5, "b", 2.0)
    queue.after(5, "a", 3.0, priority=-1)
    queue.after(2, "b", 4.0)
    run(queue, 10)
    assert log == [(2, "b", 4.0), (5, "a", 3.0), (5, "a", 1.0), (5, "b", 2.0)]
    assert queue.next_ms() == NEVER


def test_a_cancelled_event_does_not_happen():
    queue, log = logged()
    number = queue.after(5, "a")
    queue.after(6, "b")
    queue.cancel(number)
    queue.cancel(number)
    run(queue, 10)
    assert log == [(6, "b", 0.0)]


def test_a_saved_queue_goes_on_in_the_same_order():
    queue, log = logged()
    for delay, name in ((4, "a"), (4, "b"), (9, "a")):
        queue.after(delay, name)
    saved = queue.save()
    run(queue, 20)
    first = list(log)
    log.clear()
    queue.restore(saved)
    run(queue, 20)
    assert log == first


def test_two_handlers_of_one_name_are_refused():
    queue, _ = logged()
    with pytest.raises(ValueError, match="a: two parts"):
        queue.handle("a", print)
