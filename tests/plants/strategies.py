"""Random set-ups, schedules and faults for the properties of the ready plants."""

from __future__ import annotations

from hypothesis import strategies as st

from plants import ready_plants

HERMS = ready_plants()["herms-gas"]


def setups(kind=HERMS, names=None):
    """Some parameters of a plant at values from their whole ranges, and without `names` its choices.

    A drill is left out: with the pressure it may give more heat than is allowed. So are the classes of
    probes, which do not all go with all kinds.
    """
    optional = {
        one.name: st.floats(one.low, one.high)
        for one in kind.parameters
        if (names is None or one.name in names) and one.name != "orifice_drill"
    }
    if names is None:
        words = [one for one in kind.choices if not one.name.endswith("_class")]
        optional |= {one.name: st.sampled_from(one.options) for one in words}
    return st.fixed_dictionaries({}, optional=optional)


def any_setups(kind):
    """Any parameters at the ends of their ranges and between them, and any choices, in any combination."""
    numbers = {
        one.name: st.sampled_from([one.low, one.high]) | st.floats(one.low, one.high)
        for one in kind.parameters
    }
    words = {one.name: st.sampled_from(one.options) for one in kind.choices}
    return st.fixed_dictionaries({}, optional=numbers | words)


def calm(kind, names):
    """Set-ups whose tun holds 12 L at least, and kettle 16 L.

    A tun that the pump turns over in 3 s depends on the cuts by 6e-4 K; so does an element that glows in the
    air of a kettle nearly empty.
    """
    least = {"mash_volume": 12.0, "kettle_volume": 16.0}
    return setups(kind, names).map(
        lambda setup: {name: max(value, least.get(name, value)) for name, value in setup.items()}
    )


def faults(kind=HERMS, leave_out=()):
    """One fault with its place and sizes."""
    return st.sampled_from([fault for fault in kind.faults if fault.kind not in leave_out]).flatmap(
        lambda fault: st.tuples(
            st.just(fault.kind),
            st.sampled_from(fault.places) if fault.places else st.none(),
            st.fixed_dictionaries(
                {}, optional={one.name: st.floats(one.low, one.high) for one in fault.sizes}
            ),
        )
    )


def schedules(most=8, longest_ms=120_000, kind=HERMS, leave_out=()):
    """Steps (wait [ms], command, fault to begin or None, whether the oldest fault ends)."""
    values = [st.integers(0, 1000 if one.unit == "permille" else 1) for one in kind.actuators]
    step = st.tuples(
        st.integers(1, longest_ms),
        st.tuples(*values),
        st.one_of(st.none(), st.none(), faults(kind, leave_out)),
        st.booleans(),
    )
    return st.lists(step, min_size=1, max_size=most)


def in_pieces(length_ms):
    """A way to advance in pieces as long as `length_ms()` says."""

    def advance(plant, until_ms):
        while plant.time_ms < until_ms:
            plant.advance(min(until_ms, plant.time_ms + length_ms()))

    return advance


def play(plant, schedule, advance=None):
    """Drive a plant through a schedule; `advance(plant, until_ms)` does the waiting."""
    go = advance or (lambda plant, until_ms: plant.advance(until_ms))
    tokens = []
    for wait_ms, command, fault, ends in schedule:
        plant.command(command)
        if ends and tokens:
            plant.end_fault(tokens.pop(0))
        if fault is not None:
            tokens.append(plant.begin_fault(*fault))
        go(plant, plant.time_ms + wait_ms)
    return plant
