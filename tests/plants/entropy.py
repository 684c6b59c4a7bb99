"""The entropy of a plant and of its room: it never falls, or heat has gone uphill somewhere.

Work that comes in (electricity, a flame taken for work) brings none. What stands or flows in a pipe counts by
its profile: at a distance v of volume from the inlet it is theta + d exp(s - clock), see `plants.parts.pipe`.
"""

from __future__ import annotations

from itertools import pairwise
from math import exp, log

from plants.media.water import SPECIFIC_HEAT
from plants.parts.grain import Grain
from plants.parts.vessel import Vessel

KELVIN = 273.15


def entropy(plant):
    """Of all stores, and of the heat that the room has taken up [J/K]; the room's temperature is constant."""
    net, x = plant._net, plant._stepper.now
    books = {net.supplied, net.lost, net.vapour_heat, net.brought}
    capacities = _capacities(plant)
    pipes = {pipe.content.heat: pipe for pipe in net.delays}
    total = x[net.lost.index] / (_room(plant) + KELVIN)
    for slot, _, kind in net.states:
        if kind != "heat" or slot in books:
            continue
        if slot in pipes:
            total += sum(part * log(kelvin) for part, kelvin in profile(plant, pipes[slot]))
        else:
            total += capacities[slot] * log(x[slot.index] / capacities[slot] + KELVIN)
    return total


def profile(plant, pipe):
    """What is in a pipe: pieces of heat capacity [J/K] and their temperature [K] (Simpson's rule)."""
    theta = plant._net.x(pipe.theta) - (0.0 if pipe.rate else pipe._difference())
    per_l, first = pipe._capacity / pipe._volume, pipe._entered - pipe._volume
    for (v0, s0, d0), (v1, s1, d1) in pairwise((pipe._left, pipe._leaving, *pipe._entries)):
        start = max(v0, first)
        if v1 <= start:
            continue
        for place, weight in ((0.0, 1.0), (0.5, 4.0), (1.0, 1.0)):
            part = (start + place * (v1 - start) - v0) / (v1 - v0)
            kelvin = theta + (d0 + part * (d1 - d0)) * exp(s0 + part * (s1 - s0) - pipe._clock) + KELVIN
            yield (v1 - start) * per_l * weight / 6.0, kelvin


def _capacities(plant):
    """Heat capacity by the slot of the heat [J/K]."""
    net, x = plant._net, plant._stepper.now
    found = {}
    for transfer in net.transfers:
        terms = transfer.level.terms()
        if len(terms) == 1 and terms[0][0] in {slot for slot, _, kind in net.states if kind == "heat"}:
            found[terms[0][0]] = 1.0 / terms[0][1]
    for part in net.parts:
        if isinstance(part, Vessel):
            found[part.place.heat] = part.wall + x[part.water.index] * SPECIFIC_HEAT
        elif isinstance(part, Grain):
            found[part.place.heat] = part._capacity
    return found


def _room(plant):
    names = [one.name for one in plant.signals]
    return plant.sample()[names.index("ambient")]
