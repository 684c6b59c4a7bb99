"""A gas-fired liquor tank with a coil that heats the recirculated mash."""

from __future__ import annotations

from plants.kernel.builder import Builder
from plants.kernel.describe import Parameter
from plants.kernel.network import Place
from plants.kernel.plant import Plant
from plants.parts import burner_setup, coil, grain, probe, probe_kinds, pump, vessel
from plants.parts import room as surroundings
from plants.parts.gas_burner import GasBurner
from plants.parts.grain import Grain
from plants.parts.pipe import Pipe
from plants.parts.probe import Thermometer, immersion_parameter, lag_parameter, offer_switch
from plants.parts.probe_faults import offer_probe_faults
from plants.parts.pump import Circuit, Pump
from plants.parts.room import Room
from plants.parts.vessel import Vessel
from plants.parts.vessel_changes import offer_vessel_changes

_PARAMETERS = (
    Parameter(
        "base_heat", "kJ/K", 6.0, 0.1, 100.0, "assumed", "heat capacity of the kettle's base and the stand"
    ),
    Parameter("base_exchange", "W/K", 150.0, 5.0, 2000.0, "assumed", "from the base into the liquor"),
    Parameter("base_loss", "W/K", 3.0, 0.0, 50.0, "assumed", "from the base to the room"),
    Parameter("pipe_to_coil", "L", 0.4, 0.05, 10.0, "assumed", "pump and hose, tun to coil"),
    Parameter("pipe_to_tun", "L", 0.3, 0.05, 10.0, "assumed", "hose, coil to tun"),
    Parameter("pipe_bore", "mm", 12.0, 5.0, 50.0, "assumed", "of the hoses, where their probes sit"),
    Parameter("pipe_loss", "W/K", 1.0, 0.0, 50.0, "assumed", "loss of each of the two hoses to the room"),
)
_PROBES = ("liquor", "coil_outlet", "pump_inlet", "limit")


class HermsGas(Plant):
    """See the module."""

    name = "herms-gas"
    about = "Gas-fired liquor tank; a coil in it heats the mash that a pump keeps moving."
    parameters = (
        *vessel.parameters(
            "liquor", volume=55.0, wall=3.0, surface=0.16, loss=8.0, what="water in the liquor tank"
        ),
        *vessel.parameters(
            "mash", volume=30.0, wall=3.0, surface=0.13, loss=4.0, what="liquid in the mash tun"
        ),
        *surroundings.parameters(),
        *_PARAMETERS,
        *grain.parameters(8.0),
        *coil.parameters(),
        *burner_setup.parameters(),
        *pump.parameters(),
        *probe.parameters(),
        lag_parameter("liquor", 12.0),
        lag_parameter("coil_outlet", 5.0),
        lag_parameter("pump_inlet", 5.0),
        lag_parameter("limit", 12.0),
        *(immersion_parameter(name) for name in _PROBES),
    )
    choices = (*coil.choices(), *burner_setup.choices(), *probe_kinds.choices(*_PROBES))
    diagram = r"""
        .------ hose, pipe_to_tun ------<------.
        v                                      |
  .-----------.                        (coil_outlet)
  | mash      |                        .-------|-----.
  |  liquid   |                        | liquor|     |
  |  + grain  |                        |  (~~~~'     |--(liquor)
  |           |                        |   ~~~) coil |--(limit)
  '-----+-----'                        |  (~~~       |
        v                              '---|---------'
  (pump_inlet)                             |  base
        '--> pump --> (flow) --- hose ->---'   ^^^^  burner, (flame)
                            pipe_to_coil       gas valve, igniter
"""

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        """Put the plant together."""
        air = Room(net, setup["ambient"])
        room = air.place
        liquor, mash = (vessel.furnished(net, setup, name, air) for name in ("liquor", "mash"))
        offer_vessel_changes(net, air, [liquor, mash])
        malt = Grain(net, mash.place, setup, setup["mash_start"])
        base = net.node("base", setup["base_heat"] * 1000.0, setup["liquor_start"])
        net.conduct(base, liquor.place, setup["base_exchange"])
        net.conduct(base, room, setup["base_loss"])
        burner = GasBurner(net, base, setup)
        circuit = Circuit(net)
        pumped = Pump(net, circuit, setup)
        coiled = self._pipes(net, setup, circuit, mash.place, liquor.place, room)
        self._offer(net, setup, liquor, mash, malt.place, base, coiled, burner, pumped, room)

    def _pipes(
        self, net: Builder, setup: dict[str, float], circuit: Circuit, mash: Place, liquor: Place, room: Place
    ) -> Pipe:
        loss, start = setup["pipe_loss"], setup["mash_start"]
        there = Pipe(
            net, "pipe to coil", circuit, mash, room, volume_l=setup["pipe_to_coil"], ua=loss, start=start
        )
        volume, ua = coil.of(setup, net.choices, circuit)
        coiled = Pipe(
            net, "coil", circuit, there.outlet, liquor, volume_l=volume, ua=ua, start=setup["liquor_start"]
        )
        back = Pipe(
            net, "pipe to tun", circuit, coiled.outlet, room,
            volume_l=setup["pipe_to_tun"], ua=loss, start=start,
        )  # fmt: skip
        net.transfer(back.outlet.level, circuit.heat_flow, back.outlet.heat, mash.heat)
        return coiled

    def _offer(
        self, net: Builder, setup: dict[str, float], liquor: Vessel, mash: Vessel, malt: Place, base: Place,
        coiled: Pipe, burner: GasBurner, pumped: Pump, room: Place,
    ) -> None:  # fmt: skip
        net.temperature("liquor", "water in the liquor tank", liquor.place)
        net.temperature("mash", "liquid in the mash tun", mash.place)
        net.temperature("grain", "grain in the mash tun", malt)
        net.temperature("coil_outlet", "mash where it leaves the coil", coiled.outlet)
        net.temperature("pump_inlet", "mash where it enters the pump", mash.place)
        net.temperature("base", "base of the liquor tank, over the burner", base)
        net.temperature("ambient", "air of the room", room)
        burner.offer(net)
        pumped.offer(net)
        for name, made in (("liquor_volume", liquor), ("mash_volume", mash)):
            net.signal(name, "L", "content", made.volume_text)
        net.signal("evaporated", "kg", "water gone as vapour", lambda _: f"x[{net.evaporated.index}]")
        net.signal("heat_supplied", "J", "into the base so far", lambda _: f"-x[{net.supplied.index}]")
        net.signal("heat_lost", "J", "to the room so far", lambda _: f"x[{net.lost.index}]")
        tank, tun = (liquor.place.level, setup["liquor_start"]), (mash.place.level, setup["mash_start"])
        behind_coil = (coiled.outlet.level, setup["liquor_start"])

        in_hose = pumped.speed_in(setup["pipe_bore"])
        probes = (
            ("liquor", "in the liquor tank", tank, None),
            ("coil_outlet", "where the mash leaves the coil", behind_coil, in_hose),
            ("pump_inlet", "where the mash enters the pump", tun, in_hose),
            ("limit", "the high limit's own, in the liquor tank", tank, None),
        )
        offer_probe_faults(
            net,
            [Thermometer(net, name, what, at, room.level, setup, speed) for name, what, at, speed in probes],
        )
        offer_switch(net, "flame", "flame signal", burner, "flame_signal")
        offer_switch(net, "flow", "flow switch", pumped, "flow_seen")
