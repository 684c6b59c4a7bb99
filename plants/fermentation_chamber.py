"""A fermenter in a refrigerator: a compressor cools, a belt round the fermenter heats."""

from __future__ import annotations

from collections.abc import Callable

from plants.kernel.builder import Builder
from plants.kernel.describe import Choice, Parameter
from plants.kernel.network import Place
from plants.kernel.plant import Plant
from plants.media.water import SPECIFIC_HEAT, density
from plants.parts import compressor, fermentation, probe, probe_kinds, relay
from plants.parts.compressor import Compressor
from plants.parts.door import Door
from plants.parts.fermentation import Fermentation
from plants.parts.heater import Heater, offer_heater_faults
from plants.parts.probe import Thermometer
from plants.parts.probe_faults import offer_probe_faults
from plants.parts.relay import Relay, offer_relay_faults
from plants.parts.room import Room

_PARAMETERS = (
    Parameter("ambient", "degC", 20.0, -20.0, 45.0, "assumed", "air of the room"),
    Parameter("beer_volume", "L", 20.0, 1.0, 300.0, "assumed", "beer in the fermenter, taken as water"),
    Parameter("beer_start", "degC", 22.0, 0.0, 40.0, "assumed", "beer at the start"),
    Parameter("chamber_start", "degC", 20.0, -5.0, 45.0, "assumed", "chamber at the start"),
    Parameter("air_heat", "kJ/K", 0.3, 0.05, 5.0, "assumed: 0.24 kg, 1.005 kJ/kg K", "air in the chamber"),
    Parameter("liner_heat", "kJ/K", 10.0, 0.5, 200.0, "assumed", "liner and shelves of the chamber"),
    Parameter("evaporator_heat", "kJ/K", 1.5, 0.1, 20.0, "assumed", "evaporator with what is in it"),
    Parameter("belt_heat", "kJ/K", 0.3, 0.05, 5.0, "assumed", "heater belt"),
    Parameter("belt_power", "W", 30.0, 1.0, 500.0, "assumed", "heater belt"),
    Parameter("belt_exchange", "W/K", 2.5, 0.1, 50.0, "assumed", "belt to beer"),
    Parameter("belt_loss", "W/K", 0.5, 0.0, 20.0, "assumed", "belt to the chamber's air"),
    Parameter("beer_exchange", "W/K", 5.0, 0.1, 100.0, "assumed: 0.45 m2 at 11 W/m2 K", "fermenter to air"),
    Parameter("liner_exchange", "W/K", 15.0, 0.5, 200.0, "assumed: 3 m2 at 5 W/m2 K", "liner to air"),
    Parameter("evaporator_exchange", "W/K", 6.0, 0.5, 200.0, "assumed", "evaporator to air, no fan"),
    Parameter("chamber_loss", "W/K", 1.5, 0.05, 15.0, "assumed: 3 m2 at 0.5 W/m2 K", "liner to the room"),
    Parameter("door_loss", "W/K", 20.0, 0.0, 200.0, "assumed", "air to the room while the door is open"),
    Parameter("fan_power", "W", 3.0, 0.0, 100.0, "assumed", "heat of the fan, if there is one"),
    Parameter("fan_gain", "1", 2.5, 1.0, 10.0, "assumed", "exchanges with the air while the fan turns"),
    Parameter("beer_lag", "s", 40.0, 0.5, 600.0, "common practice: 20 to 60 s", "probe in a dry thermowell"),
    Parameter("chamber_lag", "s", 60.0, 0.5, 600.0, "maker's table: 6 mm, t63 68 s", "probe in the air"),
)
_FILM = 17.0
"""Film of still air on the outside, part of `chamber_loss` [W/K]: 3 m2 at 5.7 W/m2 K."""
_RELAYS = tuple(relay.choice(f"{name}_relay_kind") for name in ("cooler", "heater"))
_FAN = Choice("fan", ("none", "with-compressor", "always"), "assumed", "when a fan moves the chamber's air")


class FermentationChamber(Plant):
    """See the module."""

    name = "fermentation-chamber"
    about = "Fermenter in a refrigerator; a compressor cools the air, a belt heats the beer."
    parameters = (
        *_PARAMETERS,
        *fermentation.parameters(),
        *compressor.parameters(),
        *relay.parameters(),
        *probe.parameters(),
    )
    choices = (_FAN, *_RELAYS, *probe_kinds.choices("beer", "chamber"))
    diagram = r"""
  .--------------------- liner -----------------------.
  |  evaporator        air                            |   room, (ambient)
  |   [=====]                       .-----------.     |
  |   [=====]      (chamber)        |   beer    |     #  door, (door_open)
  |   [=====]                       |  (beer)   |     |
  |   [==|==]   fan, if there is    '[= belt =]-'     |
  '------|---------------------------------|----------'
     compressor <-- relay <-- cooler       '-- relay <-- heater
"""

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        """Put the plant together."""
        room = Room(net, setup["ambient"])
        around = room.place
        litres = setup["beer_volume"] * 0.001 * density(setup["beer_start"])
        beer = net.node("beer", litres * SPECIFIC_HEAT, setup["beer_start"])
        air, liner, evaporator = (
            net.node(name, setup[f"{name}_heat"] * 1000.0, setup["chamber_start"])
            for name in ("air", "liner", "evaporator")
        )
        belt = net.node("belt", setup["belt_heat"] * 1000.0, setup["beer_start"])
        unit = Compressor(net, evaporator, around, setup)
        cooler, warmer = (Relay(net, name, setup, net.choices[f"{name}_relay_kind"])
                          for name in ("cooler", "heater"))  # fmt: skip
        cooler.changed = lambda: unit.supply(cooler.closed)
        heater = Heater(net, "heater", belt, setup["belt_power"], warmer)
        door = Door(net, "somebody looks in, or the seal has let go: room air in the chamber",
                    "the compressor runs without end against the room, heater and cooler fight")  # fmt: skip
        self._exchange(net, setup, room, (beer, air, liner, evaporator, belt), unit, door)
        ferment = Fermentation(net, beer, setup)
        for name, what, place in (
            ("beer", "beer in the fermenter", beer), ("chamber", "air in the chamber", air),
            ("liner", "liner of the chamber", liner), ("evaporator", "evaporator", evaporator),
            ("belt", "heater belt", belt), ("ambient", "air of the room", around),
        ):  # fmt: skip
            net.temperature(name, what, place)
        unit.offer(net)
        net.flag("cooler_relay", "contact of the cooler's relay", cooler, "closed")
        net.flag("heater_relay", "contact of the heater's relay", warmer, "closed")
        for name, one in (("cooler", cooler), ("heater", warmer)):
            net.attribute(f"{name}_operations", "count", "how often its relay has closed", one, "operations")
        net.signal("heater_heat", "W", "of the belt", lambda _: f"x[{heater.heat.index}]", switched=True)
        net.signal("fermented", "%", "share of the sugar", lambda _: f"100.0*x[{ferment.share.index}]")
        net.signal("ferment_heat", "W", "of the fermentation", lambda _: f"x[{ferment.watts.index}]")
        net.signal("heat_supplied", "J", "by belt, yeast and fan", lambda _: f"-x[{net.supplied.index}]")
        net.signal("heat_lost", "J", "to the room so far, pumped or leaked", lambda _: f"x[{net.lost.index}]")
        net.actuator("cooler", "bool", "relay of the compressor", cooler.command)
        net.actuator("heater", "bool", "relay of the heater belt", warmer.command)
        offer_relay_faults(net, (cooler, warmer), motors=(cooler,))
        offer_heater_faults(net, (heater,))
        at_beer, at_air = (beer.level, setup["beer_start"]), (air.level, setup["chamber_start"])
        well = Thermometer(net, "beer", "in the fermenter's thermowell", at_beer, around.level, setup,
                           hangs_in=air.level)  # fmt: skip
        hung = Thermometer(net, "chamber", "in the chamber's air", at_air, around.level, setup)
        offer_probe_faults(net, (well, hung))
        door.offer_switch(net)

    def _exchange(
        self, net: Builder, setup: dict[str, float], room: Room, places: tuple[Place, ...],
        unit: Compressor, door: Door,
    ) -> None:  # fmt: skip
        beer, air, liner, evaporator, belt = places
        fan = net.choices["fan"]

        def turns() -> bool:
            return fan == "always" or (fan == "with-compressor" and unit.turning)

        def stirred(exchange: float) -> Callable[[], float]:
            return lambda: exchange * (setup["fan_gain"] if turns() else 1.0)

        for place, name in ((beer, "beer"), (liner, "liner"), (evaporator, "evaporator")):
            net.conduct(air, place, stirred(setup[f"{name}_exchange"]))
        net.conduct(belt, beer, setup["belt_exchange"])
        net.conduct(belt, air, setup["belt_loss"])
        film, behind = room.loss(_FILM), 1.0 / setup["chamber_loss"] - 1.0 / _FILM
        net.conduct(liner, room.place, lambda: 1.0 / (behind + 1.0 / film()))
        net.conduct(air, room.place, lambda: setup["door_loss"] * door.share())
        net.heat_source("fan heat", air, lambda: setup["fan_power"] if turns() else 0.0)
