"""What a plant says of itself, its errors, and what importing it costs."""

import doctest
import importlib
import pkgutil
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import plants
from plants import ready_plants
from tests.plants.strategies import HERMS, any_setups

KINDS = list(ready_plants().values())
UNITS = {"degC", "K", "W", "J", "kg", "L", "L/min", "%", "bool", "count", "permille", "s", "Pa", "kPa", "kW"}


@pytest.mark.parametrize("kind", KINDS)
def test_everything_is_described(kind):
    assert kind.about.endswith(".")
    assert max(len(line) for line in kind.diagram.splitlines()) < 80
    for group in (kind.parameters, kind.signals, kind.probes, kind.actuators):
        names = [one.name for one in group]
        assert len(set(names)) == len(names) > 0
        assert all(one.about for one in group)
    assert all(one.source and one.low <= one.default <= one.high for one in kind.parameters)
    assert {one.unit for one in kind.signals} <= UNITS
    assert all(one.switched for one in kind.signals if one.unit == "bool")
    for fault in kind.faults:
        assert fault.about
        assert fault.hazard
        assert all(size.low <= size.default <= size.high for size in fault.sizes)


SOURCES = (
    "assumed", "common practice", "IEC ", "NFPA ", "limits of NFPA 497", "UMC ", "ASME ",
    "US Standard Atmosphere", "maker's table", "a maker's table", "relay makers:", "trade handbook:",
    "data sheet",
)  # fmt: skip


@pytest.mark.parametrize("kind", KINDS)
def test_every_default_has_a_source_or_is_assumed(kind):
    for one in (*kind.parameters, *kind.choices):
        assert one.source.startswith(SOURCES), f"{one.name}: {one.source}"
        assert "facts" not in one.source


def test_signals_that_scenarios_rely_on():
    wanted = (
        "liquor mash grain coil_outlet pump_inlet base burner_heat flame gas_valve valve_command igniter "
        "pump flow flow_seen unburned_gas liquor_volume evaporated heat_supplied heat_lost ambient"
    )
    assert set(wanted.split()) <= {one.name for one in HERMS.signals}
    assert [one.name for one in HERMS.probes] == [
        "liquor",
        "coil_outlet",
        "pump_inlet",
        "limit",
        "flame",
        "flow",
    ]
    assert [one.name for one in HERMS.actuators] == ["gas_valve", "igniter", "pump"]


@pytest.mark.parametrize(
    ("setup", "message"),
    [
        (
            {"liqour_volume": 5},
            'herms-gas: there is no parameter "liqour_volume". Did you mean "liquor_volume"?',
        ),
        ({"liquor_volume": 0.0}, "herms-gas: liquor_volume = 0 L is out of range. Use 1 to 300 L."),
        ({"ambient": float("nan")}, "herms-gas: ambient = nan degC is out of range. Use -20 to 45 degC."),
    ],
)
def test_a_wrong_setup_is_told(setup, message):
    with pytest.raises(ValueError) as caught:  # noqa: PT011 (the whole text is compared)
        HERMS(setup)
    assert str(caught.value) == message


@pytest.mark.parametrize(
    ("fault", "message"),
    [
        (("flame-los", None, {}), 'herms-gas: there is no fault "flame-los". Did you mean "flame-lost"?'),
        (("probe-open", None, {}),
         'herms-gas: probe-open: there is no place "". Known: coil_outlet, limit, liquor, pump_inlet.'),
        (("flame-lost", "liquor", {}),
         'herms-gas: flame-lost has no place, but "liquor" is given. Leave the place out.'),
        (("slow-to-light", None, {"extra": -1.0}),
         "herms-gas: slow-to-light: extra = -1 s is out of range. Use 0 to 120 s."),
    ],
)  # fmt: skip
def test_a_wrong_fault_is_told(fault, message):
    with pytest.raises(ValueError) as caught:  # noqa: PT011 (the whole text is compared)
        HERMS().begin_fault(*fault)
    assert str(caught.value) == message


def test_describing_all_plants_needs_no_arrays():
    """numpy takes longer to load than all the rest: only a plant that moves pays for it, none for scipy."""
    code = (
        "import sys, plants\n"
        "heavy = lambda *names: [name for name in sys.modules if name.split('.')[0] in names]\n"
        "for kind in plants.ready_plants().values(): kind.signals, kind.faults, kind.assembled().setup\n"
        "assert not heavy('numpy', 'scipy', 'harness')\n"
        "for kind in plants.ready_plants().values(): kind().sample()\n"
        "assert not heavy('scipy', 'harness')"
    )
    root = Path(plants.__file__).parents[1]
    subprocess.run([sys.executable, "-c", code], check=True, cwd=root)


def outcome(make, setup):
    """What it refused with, or what it made."""
    try:
        return "", make(setup)
    except ValueError as error:
        return str(error), None


@pytest.mark.parametrize("kind", ready_plants().values(), ids=lambda kind: kind.name)
@settings(max_examples=60)
@given(data=st.data())
def test_what_can_be_put_together_can_be_started(kind, data):
    """So a set-up may be judged without starting the plant."""
    setup = data.draw(any_setups(kind))
    refused, put_together = outcome(kind.assembled, setup)
    if refused:
        assert outcome(kind, setup) == (refused, None)
        return
    started = kind(setup)
    started.advance(1)
    assert started.setup == put_together.setup
    for offered in ("signals", "probes", "actuators", "faults"):
        assert getattr(started, offered) == getattr(put_together, offered)


MODULES = [one.name for one in pkgutil.walk_packages(plants.__path__, "plants.") if "sensors" not in one.name]


@pytest.mark.parametrize("name", MODULES)
def test_doctests(name):
    assert doctest.testmod(importlib.import_module(name)).failed == 0
