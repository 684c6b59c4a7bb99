"""A device joined to a plant: by name, by the scenario's wiring, and what is refused."""

import pytest

from harness.bench.wiring import join, panel_wire
from harness.errors import FileMistakesError
from harness.line import Channel, Identity
from harness.quantity import QuantityError
from harness.scenario import Disturbance, PanelValue, Scenario, Wiring
from plants import Plant, ready_plants

INPUTS = (
    Channel(1, "liquor", "mdegC"),
    Channel(2, "flame", "bool"),
    Channel(3, "run", "bool"),
    Channel(4, "mash_setpoint", "mdegF"),
)
OUTPUTS = (Channel(1, "gas_valve", "bool"), Channel(2, "igniter", "bool"), Channel(3, "pump", "bool"))


def scenario(**given: object) -> Scenario:
    fixed: dict[str, object] = {
        "file": "s.toml", "text": "", "title": "t", "why": "", "plant": "herms-gas", "length_ms": 1000,
    }  # fmt: skip
    return Scenario(**(fixed | given))  # type: ignore[arg-type]


def plant() -> Plant:
    return ready_plants()["herms-gas"]()


def mistakes(chosen: Scenario, identity: Identity) -> list[str]:
    with pytest.raises(FileMistakesError) as caught:
        join(chosen, identity, plant())
    return [str(mistake) for mistake in caught.value.mistakes]


def test_equal_names_join_by_themselves() -> None:
    joined = join(scenario(), Identity("fw", "1", INPUTS, OUTPUTS), plant())
    assert [(p.channel.number, p.probe) for p in joined.probes] == [(1, "liquor"), (2, "flame")]
    assert [(d.output, d.actuator) for d in joined.drives] == [(0, 0), (1, 1), (2, 2)]
    assert set(joined.panel) == {"run", "mash_setpoint"}
    assert joined.warnings == ("no input of the device reads: coil_outlet, pump_inlet, limit, flow",)


def test_panel_inputs_that_differ_in_a_number_are_told_as_a_range() -> None:
    steps = tuple(Channel(10 + i, f"step{i}_hold", "s") for i in range(1, 9))
    pair = (Channel(20, "cycle1", "s"), Channel(21, "cycle2", "s"))
    joined = join(scenario(), Identity("fw", "1", INPUTS + steps + pair, OUTPUTS), plant())
    left = "run, mash_setpoint, step1_hold to step8_hold, cycle1, cycle2"
    assert joined.notes[-1] == f"panel inputs left as the device has them: {left}"


def test_a_wiring_joins_other_names() -> None:
    inputs = (Channel(1, "t_hlt", "mohm"), Channel(2, "run", "bool"))
    outputs = (Channel(1, "y1", "bool"), Channel(2, "y2", "bool"))
    wiring = Wiring({"t_hlt": "limit"}, {"y1": "pump", "y2": "gas_valve"}, ("igniter",))
    joined = join(scenario(wiring=wiring), Identity("fw", "1", inputs, outputs), plant())
    assert [(p.channel.name, p.probe, p.unit.unit) for p in joined.probes] == [("t_hlt", "limit", "ohm")]
    assert [(d.output, d.actuator) for d in joined.drives] == [(0, 2), (1, 0)]


def test_an_actuator_that_nothing_drives_is_refused() -> None:
    found = mistakes(scenario(), Identity("fw", "1", INPUTS, OUTPUTS[1:]))
    assert len(found) == 1
    assert 'nothing drives actuator "gas_valve" of herms-gas' in found[0]
    assert 'unwired = ["gas_valve"]' in found[0]


def test_all_mistakes_are_told_at_once_with_their_lines() -> None:
    wiring = Wiring(
        {"liqour": "liquor"},
        {"gas_vlave": "gas_valve"},
        ("igniter",),
        line=7,
        lines={"inputs.liqour": 8, "outputs.gas_vlave": 9},
    )
    panel = {"mash_setpiont": PanelValue(66.0, "degC", 4), "run": PanelValue(1.0, None, 5)}
    found = mistakes(
        scenario(wiring=wiring, panel=panel),
        Identity("fw", "1", INPUTS, (*OUTPUTS[1:], Channel(4, "gas_valve2", "bool"))),
    )
    assert 's.toml:8: the device has no input "liqour"; did you mean "liquor"?' in found
    assert 's.toml:9: the device has no output "gas_vlave"; did you mean "gas_valve2"?' in found
    assert any('s.toml:4: the device\'s panel has no input "mash_setpiont"; did' in line for line in found)
    assert any(line.startswith("s.toml:5: panel run:") for line in found)
    assert any('nothing drives actuator "gas_valve"' in line for line in found)


def test_units_that_do_not_fit_are_refused() -> None:
    identity = Identity(
        "fw", "1", (Channel(1, "liquor", "uV"),), (Channel(1, "gas_valve", "permille"), *OUTPUTS[1:])
    )
    found = mistakes(scenario(), identity)
    assert any('wants input "liquor" in uV' in line and "mdegC" in line for line in found)
    assert any('"gas_valve" is in permille' in line and "takes bool" in line for line in found)


@pytest.mark.parametrize(
    ("value", "unit", "wire"),
    [
        (PanelValue(152.0, "degF", 1), "mdegF", 152000),
        (PanelValue(152.0, "degF", 1), "mdegC", 66667),
        (PanelValue(66.0, "degC", 1), "mdegF", 150800),
        (PanelValue(True, None, 1), "bool", 1),
        (PanelValue(25.0, "%", 1), "permille", 250),
        (PanelValue(10.0, "min", 1), "ms", 600000),
        (PanelValue(2.0, None, 1), "count", 2),
    ],
)
def test_a_panel_setting_in_the_channels_unit(value: PanelValue, unit: str, wire: int) -> None:
    assert panel_wire(value, Channel(1, "c", unit)) == wire


@pytest.mark.parametrize(
    ("value", "unit", "words"),
    [
        (PanelValue(True, None, 1), "mdegC", "takes a value in degC"),
        (PanelValue(1.0, None, 1), "bool", "true or false"),
        (PanelValue(66.0, None, 1), "mdegC", 'write for example "66 degC"'),
        (PanelValue(3.0, "L", 1), "mdegC", "temperature"),
        (PanelValue(120.0, "%", 1), "permille", "out of the channel's range"),
        (PanelValue(9e9, None, 1), "count", "out of the channel's range"),
    ],
)
def test_a_panel_setting_that_does_not_fit(value: PanelValue, unit: str, words: str) -> None:
    with pytest.raises(QuantityError, match=words.replace("(", r"\(")):
        panel_wire(value, Channel(1, "c", unit))


@pytest.mark.parametrize(
    ("kind", "place", "reaches"),
    [
        ("probe-open", "liquor", True),
        ("probe-open", "limit", False),
        ("probes-swapped", "liquor+limit", True),
        ("probes-swapped", "coil_outlet+limit", False),
        ("line-lost", "to-bench", True),
        ("pump-stops", None, True),
    ],
)
def test_a_fault_of_a_probe_that_no_input_reads_is_refused(
    kind: str, place: str | None, reaches: bool
) -> None:
    chosen = scenario(disturbances=(Disturbance(kind, place=place, at_ms=0, line=9),))
    identity = Identity("fw", "1", INPUTS, OUTPUTS)
    if reaches:
        join(chosen, identity, plant())
        return
    (found,) = mistakes(chosen, identity)
    assert found.startswith(f"s.toml:9: {kind} {place} reaches nothing: no input of the device reads ")
    assert '"limit"' in found


def test_a_fault_of_an_actuator_that_nothing_drives_is_refused() -> None:
    faults = (Disturbance("pump-stops", at_ms=0, line=9), Disturbance("flame-lost", at_ms=0, line=12))
    wiring = Wiring({}, {}, ("pump",))
    outputs = tuple(channel for channel in OUTPUTS if channel.name != "pump")
    (found,) = mistakes(scenario(disturbances=faults, wiring=wiring), Identity("fw", "1", INPUTS, outputs))
    assert found == (
        's.toml:9: pump-stops reaches nothing: no output of the device drives "pump". '
        "Wire one to it under [wiring.outputs], or leave this scenario out."
    )


def test_a_vessel_with_a_probes_name_is_no_probe() -> None:
    chosen = scenario(disturbances=(Disturbance("lid-off", place="liquor", at_ms=0, line=9),))
    inputs = tuple(channel for channel in INPUTS if channel.name != "liquor")
    join(chosen, Identity("fw", "1", inputs, OUTPUTS), plant())


@pytest.mark.parametrize("unit", ["count", "permille", "ms"])
def test_a_part_of_a_count_is_refused(unit: str) -> None:
    channel = Channel(1, "mode", unit)
    assert panel_wire(PanelValue(2.0, None, 1), channel) == 2
    with pytest.raises(QuantityError, match=r"1\.5 is not a whole number of"):
        panel_wire(PanelValue(1.5, None, 1), channel)
