"""What can go wrong with temperature probes."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from itertools import combinations

from plants.kernel.builder import ActiveFault, Builder
from plants.kernel.describe import Fault, FaultSize
from plants.parts.probe import Thermometer

_FAULTS = (
    ("probe-open", (), "a broken wire or a plug that has come off: no reading, or the converter's end",
     "a controller that takes no reading for cold heats without end"),
    ("probe-short", (), "water in the plug or a crushed cable: the two wires touch",
     "a reading far below freezing, or at the room's, taken for cold water, heats without end"),
    ("probe-frozen", (), "hung electronics: the reading stays where it was",
     "the loop no longer sees what it heats"),
    ("probe-out-of-well", (), "the probe has slipped out of its well and hangs in the air",
     "the loop heats the tank to reach a temperature that it does not measure"),
    ("probe-offset", (FaultSize("offset", "K", -5.0, -200.0, 200.0, "added to the true value", nothing=0.0),),
     "lead resistance, poor calibration, a probe that touches the wall",
     "all limits on this probe are off by so much"),
    ("probe-drift", (FaultSize("rate", "K/h", -10.0, -1000.0, 1000.0, "growth of the error"),),
     "moisture creeping into the sensor", "an error that grows too slowly for a rate check"),
    ("probe-noise",
     (FaultSize("sigma", "K", 2.0, 0.0, 50.0, "standard deviation of one reading", nothing=0.0),),
     "a burst of noise from a motor, an igniter or a loose screen",
     "a limit or a rate check that trips, or never does, by one wild reading"),
    ("probe-spikes",
     (FaultSize("height", "K", 50.0, -500.0, 500.0, "added while a spike lasts", nothing=0.0),
      FaultSize("every", "s", 10.0, 0.1, 3600.0, "mean time from one spike to the next"),
      FaultSize("length", "s", 0.1, 0.001, 10.0, "how long one lasts")),
     "a loose contact or the igniter's spark picked up by the cable",
     "one false reading ends the heating, or resets a timer that should have tripped"),
    ("probe-power-on", (FaultSize("reading", "degC", 85.0, -55.0, 1000.0, "what it shows after its start"),),
     "the probe's supply dips: it shows its power-on value until the first conversion after the end",
     "a believable false temperature: 85 degC from a one-wire thermometer passes every check of its bytes"),
    ("probe-wrong-curve", (),
     "the electronics are set for another sensor: platinum of another make, another thermistor, cold "
     "junction in degrees; temperatures are wrong, raw readings are not",
     "an error that grows with the temperature and is small where it is checked"),
)  # fmt: skip
_SWAPPED = (
    "the sensors of two probes are plugged into each other's place",
    "each loop acts on the other's temperature: one never stops heating",
)


def offer_probe_faults(net: Builder, probes: Sequence[Thermometer]) -> None:
    """Add the faults of all temperature probes of a plant."""
    places = tuple(probe.name for probe in probes)
    for kind, sizes, about, hazard in _FAULTS:
        net.fault(Fault(kind, places, sizes, about, hazard, probes=True), _changer(kind, probes))
    pairs = tuple(f"{one}+{other}" for one, other in combinations(places, 2))
    if pairs:
        swapped = Fault("probes-swapped", pairs, (), *_SWAPPED, probes=True)
        net.fault(swapped, _changer("probes-swapped", probes))
    for probe in probes:
        probe.siblings = {each.name: each for each in probes}


def _changer(kind: str, probes: Sequence[Thermometer]) -> Callable[[Sequence[ActiveFault]], None]:
    def change(active: Sequence[ActiveFault]) -> None:
        for probe in probes:
            probe.change(kind, active)

    return change
