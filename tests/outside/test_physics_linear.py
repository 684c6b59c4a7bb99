"""The linear model of a plant against python-control, and python-control's response against the plant."""

import control
import numpy as np
import pytest

from plants import ready_plants
from plants.kernel.linear import linearise
from tests.plants.small_plants import Block, Kettle, signal

KETTLE, CHAMBER, KILN = (
    ready_plants()[name] for name in ("electric-kettle", "fermentation-chamber", "pottery-kiln")
)


def system(linear):
    """The linear model as python-control has it."""
    return control.ss(linear.a, linear.b, linear.c, 0.0)


def response(linear, watts, seconds):
    """Outputs after `seconds` of a constant input."""
    times = np.linspace(0.0, seconds, 5)
    return control.forced_response(system(linear), times, np.full(5, watts)).outputs[..., -1].ravel()


def decaying(linear):
    """Time constants of the poles that decay, longest first [s]."""
    poles = control.poles(system(linear)).real
    return sorted((-1.0 / pole for pole in poles if pole < -1e-9), reverse=True)


def test_one_mass_has_the_pole_of_newton_cooling():
    """25 kg of 4190 J/kg K and 5 W/K: 5.819 h."""
    assert decaying(linearise(Block(), ["room"], ["block"]))[0] / 3600.0 == pytest.approx(5.819, abs=0.001)


def test_step_response_of_a_kettle():
    """30 L with 5 W/K: 2 W more warms it as (1 - exp(-t/T)) 2 W / 5 W/K."""
    kettle = Kettle({"loss": 5.0})
    linear = linearise(kettle, ["heater"], ["water"])
    (slow,) = decaying(linear)
    assert response(linear, 2.0, 7200.0)[0] == pytest.approx(0.4 * -np.expm1(-7200.0 / slow), rel=1e-6)


def test_poles_and_step_response_of_the_electric_kettle():
    """Sheath 350 J/K over 350 W/K: 1 s; layer 1.5 L over 15 W/K: 410 s. 20 W more, as two runs differ."""
    setup = {"kettle_start": 60.0, "probe_noise": 0.0, "kettle_lag": 30.0, "limit_lag": 30.0}
    ends = []
    for watts in (2000.0, 2020.0):
        kettle = KETTLE({**setup, "element_power": watts / 1000.0})
        kettle.command([1])
        kettle.advance(120_000)  # until the layer is the colder one
        if not ends:
            linear = linearise(kettle, ["element heat"], ["kettle", "layer", "sheath"])
        kettle.advance(600_010)
        ends.append(np.array([signal(kettle, name) for name in linear.outputs]))
    assert ends[1] - ends[0] == pytest.approx(response(linear, 20.0, 600.0), rel=0.01)
    poles = decaying(linear)
    assert min(poles) == pytest.approx(350.0 / 350.0, rel=0.01)
    layer = 1.5e-3 * 985.0 * 4186.0 / 15.0
    assert min(abs(pole / layer - 1.0) for pole in poles) < 0.1


def test_step_response_of_the_chamber_is_that_of_python_control():
    """No yeast, all at room temperature: the heater belt's 30 W for two hours."""
    chamber = CHAMBER({"sugar": 0.0, "beer_start": 20.0})
    outputs = ["beer", "chamber", "liner", "belt"]
    expected = response(linearise(chamber, ["heater heat"], outputs), 30.0, 7200.0)
    chamber.command([0, 1])
    chamber.advance(7_200_010)
    found = [signal(chamber, name) - 20.0 for name in outputs]
    assert found == pytest.approx(list(expected), abs=1e-6)


def test_step_response_of_a_glowing_kiln():
    """10 W more at 1000 degC: two runs that differ by as much, fourth powers and all, for ten minutes."""
    ends = []
    for extra in (0.0, 10.0):
        kiln = KILN({"kiln_start": 1000.0, "element_power": (2800.0 + extra) / 1000.0})
        kiln.command([1])
        kiln.advance(10)
        if not extra:
            kiln.advance(120_010)  # until the coils have found their place
            linear = linearise(kiln, ["element heat"], ["element", "hot_face", "ware"])
        kiln.advance(600_010)
        ends.append(np.array([signal(kiln, name) for name in linear.outputs]))
    expected = response(linear, 10.0, 600.0)
    assert ends[1] - ends[0] == pytest.approx(expected, rel=0.01)


def test_a_compressor_adds_a_pole_of_its_own():
    """While it turns, the evaporator loses 120 W x 0.035 /K more: its pole is faster."""
    chamber = CHAMBER({"sugar": 0.0})
    standing = decaying(linearise(chamber, ["heater heat"], ["evaporator"]))
    chamber.command([1, 0])
    chamber.advance(1000)
    turning = decaying(linearise(chamber, ["heater heat"], ["evaporator"]))
    assert sum(1.0 / one for one in turning) - sum(1.0 / one for one in standing) == pytest.approx(
        120.0 * 0.035 / 1500.0, rel=1e-6
    )


def test_looking_changes_nothing():
    kiln = KILN({"kiln_start": 800.0})
    before = repr(kiln.save())
    linearise(kiln, ["element heat"], ["ware"])
    assert repr(kiln.save()) == before


@pytest.mark.parametrize(
    ("plant", "inputs", "outputs", "message"),
    [
        ("pottery-kiln", ["element hot"], [], 'no input "element hot". Did you mean "element heat"?'),
        ("pottery-kiln", [], ["wear"], 'no signal "wear". Did you mean "ware"?'),
        ("herms-gas", [], [], "Linearise a plant without pipes, or give cells."),
    ],
)
def test_what_cannot_be_is_told(plant, inputs, outputs, message):
    with pytest.raises(ValueError) as caught:  # noqa: PT011 (the text is compared)
        linearise(ready_plants()[plant](), inputs, outputs)
    assert message in str(caught.value)
