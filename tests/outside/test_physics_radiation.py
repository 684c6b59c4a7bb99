"""Radiation, walls and cooling against textbooks, closed forms and hand calculation."""

from math import exp, log

import pytest
from ht import Nu_horizontal_cylinder_Churchill_Chu

from plants import Plant, ready_plants
from plants.media.water import SPECIFIC_HEAT, density
from plants.parts.radiation import Radiation, enclosed_m2, radiated_w
from plants.parts.wall import Layer, Wall
from tests.plants.small_plants import parameter, signal, signals

CHAMBER, KILN = (ready_plants()[name] for name in ("fermentation-chamber", "pottery-kiln"))


class Radiator(Plant):
    """A body that radiates into a room, and gives heat to its air."""

    name, about, diagram = "radiator", "test", ""
    parameters = (
        parameter("start", "degC", 165.0, -200.0, 2000.0),
        parameter("room", "degC", 23.0, -273.15, 100.0),
        parameter("exchange", "m2", 1.0, 0.0, 10.0),
        parameter("air", "W/K", 0.0, 0.0, 10.0),
        parameter("capacity", "J/K", 1e9, 1.0, 1e12),
    )

    def build(self, net, setup):
        room = net.room(setup["room"])
        body = net.node("body", setup["capacity"], setup["start"])
        Radiation(net, "body", body, room, setup["exchange"])
        net.conduct(body, room, setup["air"])
        net.temperature("body", "test", body)


def test_steam_pipe_of_a_textbook():
    """0.1 m, 165 in 23 degC, emissivity 0.85: 322 W/m by air, 441 W/m by radiation (heat transfer texts)."""
    area = 0.1 * 3.14159265
    nusselt = Nu_horizontal_cylinder_Churchill_Chu(Pr=0.697, Gr=5.071e6 / 0.697)
    assert nusselt == pytest.approx(23.09, abs=0.02)
    film = nusselt * 0.0313 / 0.1
    assert film == pytest.approx(7.23, abs=0.01)
    assert film * area * 142.0 == pytest.approx(322.0, abs=0.7)
    for air, watts in ((0.0, 441.0), (film * area, 763.0)):
        pipe = Radiator({"exchange": 0.85 * area, "air": air})
        pipe.advance(10_000)
        assert pipe.balance().lost_j / 10.0 == pytest.approx(watts, rel=0.002)


def test_black_body():
    """Stefan-Boltzmann constant, CODATA 2018: 56.70 kW/m2 at 1000 K."""
    assert radiated_w(1.0, 1000.0 - 273.15, -273.15) == pytest.approx(56_703.74, abs=0.01)


# Parallel plates 1 / (1/e1 + 1/e2 - 1); a small body in large surroundings e1 (Incropera, table 13.3).
@pytest.mark.parametrize(
    ("one", "other", "around_m2", "exchange"),
    [(0.8, 0.8, 1.0, 0.66667), (0.5, 0.9, 1.0, 0.47368), (0.8, 0.5, 1e9, 0.8), (1.0, 1.0, 3.0, 1.0)],
)
def test_exchange_between_surfaces(one, other, around_m2, exchange):
    assert enclosed_m2(1.0, one, around_m2, other) == pytest.approx(exchange, abs=1e-5)


@pytest.mark.parametrize("start", [200.0, 900.0, 1500.0])
def test_cooling_by_radiation_alone(start):
    """Into nothing: T = (T0^-3 + 3 s A t / C)^(-1/3) (Incropera, equation 5.18)."""
    body = Radiator({"start": start, "room": -273.15, "capacity": 5e4})
    for second in (60, 600, 3600):
        body.advance(second * 1000)
        kelvin = ((start + 273.15) ** -3 + 3.0 * 5.670374419e-8 * second / 5e4) ** (-1.0 / 3.0)
        assert signal(body, "body") == pytest.approx(kelvin - 273.15, abs=1e-3)


class Slab(Plant):
    """A wall between two baths."""

    name, about, diagram = "slab", "test", ""
    parameters = (parameter("cells", "count", 6.0, 1.0, 50.0), parameter("outer", "m2", 3.2, 0.5, 10.0))

    def build(self, net, setup):
        cells = int(setup["cells"])
        layers = [Layer(0.115, 0.35, 600.0, 10.0, cells), Layer(0.05, 0.12, 300.0, 10.0, 2)]
        wall = Wall(net, "wall", layers, inner_m2=0.96, outer_m2=setup["outer"], start=1250.0,
                    beyond=(50.0, 1e9))  # fmt: skip
        net.conduct(net.node("fire", 1e15, 1250.0), wall.hot, 1e5)
        net.conduct(wall.cold, net.room(50.0), 1e5)


def by_hand(outer):
    """Resistance [K/W] of 115 mm with 0.35 W/m K and 50 mm with 0.12, areas growing evenly from 0.96 m2."""
    if outer == 0.96:
        return 0.115 / (0.35 * 0.96) + 0.05 / (0.12 * 0.96)
    middle = 0.96 + (outer - 0.96) * 115.0 / 165.0
    return 0.115 * log(middle / 0.96) / (0.35 * (middle - 0.96)) + 0.05 * log(outer / middle) / (
        0.12 * (outer - middle)
    )


@pytest.mark.parametrize("cells", [1, 6, 20])
@pytest.mark.parametrize("outer", [0.96, 3.2])
def test_steady_conduction_through_a_wall(cells, outer):
    slab = Slab({"cells": cells, "outer": outer})
    slab.advance(200_000)
    before = slab.balance().lost_j
    slab.advance(300_000)
    flow = (slab.balance().lost_j - before) / 100.0
    assert flow == pytest.approx(1200.0 / (by_hand(outer) + 2e-5), rel=1e-4)


def test_a_kiln_on_hold_draws_what_its_wall_lets_through():
    """1200 degC held for six hours: the mean power is the drop over the wall by its resistance."""
    kiln = KILN({"kiln_start": 1200.0})
    supplied = 0.0
    while kiln.time_ms < 6 * 3_600_000:
        kiln.command([int(signal(kiln, "hot_face") < 1200.0)])
        kiln.advance(kiln.time_ms + 10_000)
        if kiln.time_ms == 4 * 3_600_000:
            supplied = kiln.balance().supplied_j
    power = (kiln.balance().supplied_j - supplied) / 7200.0
    now = signals(kiln)
    assert power == pytest.approx((now["hot_face"] - now["shell"]) / by_hand(3.2), rel=0.01)
    shell = 3.2 * (5.0 * (now["shell"] - 20.0) + radiated_w(0.8, now["shell"], 20.0))
    assert power == pytest.approx(shell, rel=0.01)


def test_the_fermenter_cools_as_newton_says():
    """1 W/K to the air, 200 to the liner, 15 to the room, in series: T = Ta + (T0 - Ta) exp(-t U/C)."""
    chamber = CHAMBER({
        "beer_start": 35.0, "beer_exchange": 1.0, "liner_exchange": 200.0, "chamber_loss": 15.0,
        "belt_loss": 0.0, "belt_heat": 0.05, "liner_heat": 0.5, "evaporator_heat": 0.1, "sugar": 0.0,
    })  # fmt: skip
    chamber.advance(12 * 3_600_000)
    through = 1.0 / (1.0 + 1.0 / 200.0 + 1.0 / 15.0)
    held = 20.0e-3 * density(35.0) * SPECIFIC_HEAT
    assert signal(chamber, "beer") == pytest.approx(20.0 + 15.0 * exp(-43_200.0 * through / held), abs=0.02)


def test_a_fermentation_gives_off_its_heat():
    """1.6 kg at 587 kJ/kg: 939 kJ in the end; at 20 degC half is done at the stated time, within a tenth."""
    beer = CHAMBER({"beer_start": 20.0, "beer_volume": 300.0, "ferment_peak": 4.0})
    beer.advance(4 * 3_600_000)
    assert 45.0 < signal(beer, "fermented") < 55.0
    beer.advance(12 * 3_600_000)
    assert beer.balance().supplied_j == pytest.approx(939.2e3, rel=0.01)
