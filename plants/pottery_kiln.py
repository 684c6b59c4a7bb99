"""An electric pottery kiln: heating coils, ware, a wall of brick and backup insulation."""

from __future__ import annotations

from plants.kernel.builder import Builder
from plants.kernel.describe import Parameter
from plants.kernel.network import Level, Place
from plants.kernel.plant import Plant
from plants.parts import probe, probe_kinds, relay
from plants.parts.door import Door
from plants.parts.heater import Heater, offer_heater_faults
from plants.parts.probe import Thermometer
from plants.parts.probe_faults import offer_probe_faults
from plants.parts.radiation import Radiation, enclosed_m2
from plants.parts.relay import Relay, offer_relay_faults
from plants.parts.room import Room
from plants.parts.wall import Layer, Wall

_PARAMETERS = (
    Parameter("ambient", "degC", 20.0, -20.0, 45.0, "assumed", "air of the room"),
    Parameter("kiln_start", "degC", 20.0, -20.0, 1300.0, "assumed", "coils, ware and hot face at the start"),
    Parameter("element_power", "kW", 6.0, 0.5, 60.0, "assumed", "heating coils together"),
    Parameter("element_heat", "kJ/K", 2.0, 0.2, 20.0, "assumed: 3 kg of 0.7 kJ/kg K", "heating coils"),
    Parameter("element_surface", "m2", 0.35, 0.02, 3.0, "common practice: 1.5 to 2 W/cm2", "of the coils"),
    Parameter("element_view", "%", 30.0, 0.0, 100.0, "assumed", "share of that which faces the ware"),
    Parameter("ware", "kg", 25.0, 0.5, 500.0, "assumed", "ware, shelves and props"),
    Parameter("ware_specific", "kJ/kg K", 1.0, 0.6, 1.5, "assumed", "specific heat of fired clay"),
    Parameter("ware_surface", "m2", 0.6, 0.02, 10.0, "assumed", "of the ware, as the wall sees it"),
    Parameter("ware_exchange", "W/K", 40.0, 1.0, 1000.0, "assumed", "skin of the ware to its core"),
    Parameter("emissivity", "1", 0.8, 0.2, 1.0, "assumed", "of coils, ware, brick and shell"),
    Parameter("kiln_air", "W/K", 3.0, 0.0, 100.0, "assumed", "by air: coils and ware to the hot face, each"),
    Parameter("inner_surface", "m2", 0.96, 0.1, 10.0, "assumed: 0.4 m cube", "hot face of the wall"),
    Parameter("outer_surface", "m2", 3.2, 0.2, 30.0, "assumed: 0.73 m cube", "shell"),
    Parameter("brick", "mm", 115.0, 20.0, 400.0, "assumed: one brick on its side", "insulating brick"),
    Parameter("brick_conductivity", "W/m K", 0.35, 0.05, 3.0, "assumed: one value for all heats", "brick"),
    Parameter("brick_density", "kg/m3", 600.0, 100.0, 2500.0, "assumed", "brick"),
    Parameter("brick_specific", "kJ/kg K", 1.05, 0.6, 1.5, "assumed", "of brick and board"),
    Parameter("backup", "mm", 50.0, 5.0, 300.0, "assumed", "thickness of the backup insulation"),
    Parameter("backup_conductivity", "W/m K", 0.12, 0.02, 2.0, "assumed", "fibre board"),
    Parameter("backup_density", "kg/m3", 300.0, 50.0, 1500.0, "assumed", "fibre board"),
    Parameter("shell_exchange", "W/m2 K", 5.0, 0.0, 50.0, "assumed: still air", "shell to the room by air"),
    Parameter("door_opening", "m2", 0.16, 0.0, 2.0, "assumed: 0.4 m square", "opening of the door"),
    Parameter("kiln_lag", "s", 15.0, 0.5, 300.0, "assumed", "control thermocouple in its sheath"),
    Parameter("limit_lag", "s", 15.0, 0.5, 300.0, "assumed", "thermocouple of the limit in its sheath"),
)
_COUPLE = ("k",)
_BRICK_CELLS, _BACKUP_CELLS = 6, 2
_OPEN_DOOR_AIR = 15.0
"""Air through the open door [W/K per m2], beside radiation: natural convection, assumed."""

_SHELL_RADIATION = 6.0
"""Of the shell at the start [W/m2 K], beside `shell_exchange`: near 50 degC."""


class PotteryKiln(Plant):
    """See the module."""

    name = "pottery-kiln"
    about = "Electric kiln to 1300 degC: coils behind a relay radiate on ware and brick."
    parameters = (*_PARAMETERS, *relay.parameters(), *probe.parameters(_COUPLE))
    choices = (relay.choice("relay_kind"), *probe_kinds.choices("kiln", "limit", kinds=_COUPLE))
    diagram = r"""
   room, (ambient)
  .------------------------------------------.
  | backup, (shell)                          |
  |  .------------------------------------.  |
  |  | brick           (kiln)   (limit)   |  |
  |  |  .----------------|--------|----.  |  |
  |  |  | (hot_face)       .---------. |  |  #  door, (door_open)
  |  |  | coils  {}        |  ware   | |  |  |
  |  |  |        {}        '---------' |  |  |
  |  |  '---------|--------------------'  |  |
  '--'------------|-----------------------'--'
                  '-- relay <-- element
"""

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        """Put the plant together."""
        room, start = Room(net, setup["ambient"]), setup["kiln_start"]
        around = room.place
        coils = net.node("element", setup["element_heat"] * 1000.0, start)
        ware = setup["ware"] * setup["ware_specific"] * 1000.0
        skin, core = net.node("ware skin", 0.3 * ware, start), net.node("ware core", 0.7 * ware, start)
        net.conduct(skin, core, setup["ware_exchange"])
        wall = self._wall(net, setup)
        contact = Relay(net, "element", setup, net.choices["relay_kind"])
        heater = Heater(net, "element", coils, setup["element_power"] * 1000.0, contact)
        door = Door(net, "somebody looks in, or the lock has let go",
                    "radiation on a person, ware that cracks, coils that never rest")  # fmt: skip
        self._radiate(net, setup, around, (coils, skin, wall), door)
        net.conduct(wall.cold, around, room.loss(setup["outer_surface"] * setup["shell_exchange"]))
        for name, what, place in (
            ("ware", "skin of the ware", skin), ("core", "core of the ware", core),
            ("element", "heating coils", coils), ("hot_face", "inner face of the wall", wall.hot),
            ("shell", "outer face of the wall", wall.cold), ("ambient", "air of the room", around),
        ):  # fmt: skip
            net.temperature(name, what, place)
        net.flag("element_relay", "contact of the relay", contact, "closed")
        net.attribute("relay_operations", "count", "how often it has closed", contact, "operations")
        net.signal("element_heat", "W", "of the coils", lambda _: f"x[{heater.heat.index}]", switched=True)
        net.signal("heat_supplied", "J", "by the coils so far", lambda _: f"-x[{net.supplied.index}]")
        net.signal("heat_lost", "J", "to the room so far", lambda _: f"x[{net.lost.index}]")
        net.actuator("element", "bool", "relay of the coils", contact.command)
        offer_relay_faults(net, (contact,))
        offer_heater_faults(net, (heater,))
        seen = (_between(wall.hot, skin), start)
        offer_probe_faults(net, [
            Thermometer(net, name, what, seen, around.level, setup)
            for name, what in (("kiln", "between ware and wall"), ("limit", "high limit's own, beside it"))
        ])  # fmt: skip
        door.offer_switch(net)

    def _wall(self, net: Builder, setup: dict[str, float]) -> Wall:
        heat = setup["brick_specific"] * 1000.0
        layers = [
            Layer(setup[name] / 1000.0, setup[f"{name}_conductivity"], setup[f"{name}_density"], heat, cells)
            for name, cells in (("brick", _BRICK_CELLS), ("backup", _BACKUP_CELLS))
        ]
        outer = setup["outer_surface"]
        film = outer * (setup["shell_exchange"] + _SHELL_RADIATION)
        return Wall(
            net, "wall", layers, inner_m2=setup["inner_surface"], outer_m2=outer,
            start=setup["kiln_start"], beyond=(setup["ambient"], film),
        )  # fmt: skip

    def _radiate(
        self, net: Builder, setup: dict[str, float], around: Place, inside: tuple[Place, Place, Wall],
        door: Door,
    ) -> None:  # fmt: skip
        (coils, skin, wall), grey = inside, setup["emissivity"]
        face, shell, opening = setup["inner_surface"], setup["outer_surface"], setup["door_opening"]
        to_ware = setup["element_surface"] * setup["element_view"] / 100.0
        between = enclosed_m2(setup["ware_surface"], grey, face, grey)
        Radiation(net, "coils to ware", coils, skin, to_ware * grey)
        Radiation(net, "coils to wall", coils, wall.hot, (setup["element_surface"] - to_ware) * grey)
        Radiation(net, "ware to wall", skin, wall.hot, between)
        Radiation(net, "shell", wall.cold, around, shell * grey)
        for place, name in ((skin, "ware"), (wall.hot, "wall")):
            Radiation(net, f"{name} through the door", place, around, opening / 2.0, door)
            net.conduct(place, around, lambda: opening / 2.0 * _OPEN_DOOR_AIR * door.share())
        net.conduct(coils, wall.hot, setup["kiln_air"])
        net.conduct(skin, wall.hot, setup["kiln_air"])


def _between(one: Place, other: Place) -> Level:
    """Half of what each place is at: what a thermocouple in the gap sees."""
    a, b = one.level, other.level
    return Level(
        lambda: [(slot, 0.5 * factor) for slot, factor in (*a.terms(), *b.terms())],
        lambda: f"0.5*({a.text()} + {b.text()})",
    )
