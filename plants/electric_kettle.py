"""A kettle with an immersion element."""

from __future__ import annotations

from plants.kernel.builder import Builder
from plants.kernel.describe import Parameter
from plants.kernel.plant import Plant
from plants.parts import element, probe, probe_kinds, relay, vessel
from plants.parts import room as surroundings
from plants.parts.element import Element, LevelSwitch
from plants.parts.layer import DENSITY, Layer
from plants.parts.probe import Thermometer, immersion_parameter, lag_parameter, offer_switch
from plants.parts.probe_faults import offer_probe_faults
from plants.parts.relay import SOLID_STATE, Relay, offer_relay_faults
from plants.parts.room import Room
from plants.parts.vessel import Vessel
from plants.parts.vessel_changes import offer_vessel_changes

_PROBES = ("kettle", "limit")


class ElectricKettle(Plant):
    """See the module."""

    name = "electric-kettle"
    about = "Kettle with an immersion element behind a relay; heats water, or boils."
    parameters = (
        *vessel.parameters("kettle", volume=30.0, wall=4.0, surface=0.12, loss=5.0, what="water"),
        Parameter("layer_below", "L", 1.5, 0.1, 20.0, "assumed", "below the element; half of all at most"),
        Parameter("layer_mixing", "W/K", 15.0, 0.1, 5000.0, "assumed", "from there to the water above"),
        Parameter("layer_overturn", "W/K", 800.0, 0.0, 5000.0, "assumed", "in addition, once it is warmer"),
        Parameter("level_at", "L", 7.5, 0.5, 100.0, "assumed", "content that the level switch needs"),
        *element.parameters(),
        *relay.parameters(),
        *surroundings.parameters(),
        *probe.parameters(),
        lag_parameter("kettle", 8.0),
        lag_parameter("limit", 8.0),
        *(immersion_parameter(name) for name in _PROBES),
    )
    choices = (relay.choice("relay_kind", SOLID_STATE), *probe_kinds.choices(*_PROBES))
    diagram = r"""
       |  kettle_open     |
       | ~~~~~~~~~~~~~~~~ |--(level)
       |                  |--(kettle)
       |      water       |--(limit)
       |   .----------.   |        (element_current)
       |   | element  |---|--- relay ---(A)--- supply
       |   '----------'   |
       |   layer_below    |
       '------------------'
"""

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        """Put the plant together."""
        room = Room(net, setup["ambient"])
        below = min(setup["layer_below"], 0.5 * setup["kettle_volume"])
        kettle = vessel.furnished(net, setup, "kettle", room, less_l=below)
        offer_vessel_changes(net, room, [kettle])
        layer = Layer(
            net, "layer", kettle, volume_l=below, start=setup["kettle_start"],
            mixing=setup["layer_mixing"], overturn=setup["layer_overturn"], boiling=kettle.boiling,
        )  # fmt: skip
        contact = Relay(net, "element", setup, net.choices["relay_kind"], actuator="relay")
        offer_relay_faults(net, [contact])
        heater = Element(net, kettle, room, setup, contact)
        self._offer(net, kettle, layer, room, below)
        self._offer_electric(net, heater, contact)
        net.actuator("relay", "bool", "relay of the element", contact.command)
        water = (kettle.place.level, setup["kettle_start"])
        probes = (("kettle", "in the kettle"), ("limit", "the high limit's own, in the kettle"))
        offer_probe_faults(
            net, [Thermometer(net, name, what, water, room.place.level, setup) for name, what in probes]
        )
        LevelSwitch("level", kettle, setup["level_at"] - below).offer(net)
        offer_switch(net, "element_current", "current flows through the element", heater, "current")

    def _offer(self, net: Builder, kettle: Vessel, layer: Layer, room: Room, below_l: float) -> None:
        net.temperature("kettle", "water in the kettle", kettle.place)
        net.temperature("layer", "water below the element", layer.place)
        net.temperature("ambient", "air of the room", room.place)
        below = below_l * DENSITY / 1000.0
        net.signal("volume", "L", "content", lambda names: f"{kettle.volume_text(names)} + {below!r}")
        net.signal("evaporated", "kg", "water gone as vapour", lambda _: f"x[{net.evaporated.index}]")
        net.signal("heat_supplied", "J", "into the element so far", lambda _: f"-x[{net.supplied.index}]")
        net.signal("heat_lost", "J", "to the room so far", lambda _: f"x[{net.lost.index}]")

    def _offer_electric(self, net: Builder, heater: Element, contact: Relay) -> None:
        net.temperature("sheath", "sheath of the element", heater.sheath)
        net.signal(
            "element_heat", "W", "heat of the element", lambda _: f"x[{heater.heat.index}]", switched=True
        )
        net.signal("element_covered", "%", "share of the element in water", heater.covered_text)
        net.flag("element_current", "current flows through the element", heater, "current")
        net.flag("element_burnt", "the element has burnt out", heater, "burnt")
        net.flag("relay", "the relay is closed", contact, "closed")
        net.flag("relay_command", "the relay is told to close", contact, "commanded")
        net.attribute("relay_operations", "count", "how often the relay has closed", contact, "operations")
