"""A gas-fired liquor tank with a coil that heats the recirculated mash."""

from __future__ import annotations

from plants.kernel.builder import Builder
from plants.kernel.describe import Parameter
from plants.kernel.network import Place
from plants.kernel.plant import Plant
from plants.media.air import moisture_kpa, pressure_kpa
from plants.media.water import boiling_point
from plants.parts import gas_burner, probe, probe_kinds, pump, vessel
from plants.parts.gas_burner import GasBurner
from plants.parts.pipe import Pipe
from plants.parts.probe import Thermometer, immersion_parameter, lag_parameter, offer_switch
from plants.parts.probe_faults import offer_probe_faults
from plants.parts.pump import Circuit, Pump
from plants.parts.vessel import Vessel

_PARAMETERS = (
    Parameter("ambient", "degC", 20.0, -20.0, 45.0, "assumed", "air of the room"),
    Parameter("humidity", "%", 50.0, 0.0, 100.0, "assumed", "relative humidity of the room"),
    Parameter(
        "altitude", "m", 0.0, 0.0, 4000.0, "US Standard Atmosphere 1976", "sets pressure and boiling point"
    ),
    Parameter("grain", "kg", 8.0, 0.5, 80.0, "assumed", "dry grain in the mash tun"),
    Parameter(
        "grain_heat", "kJ/kg K", 1.65, 1.0, 2.5, "trade handbook: malt 0.38 to 0.42 of water", "specific heat"
    ),
    Parameter(
        "grain_exchange", "W/K", 120.0, 1.0, 5000.0, "assumed", "between the grain and the liquid around it"
    ),
    Parameter(
        "base_heat", "kJ/K", 6.0, 0.1, 100.0, "assumed", "heat capacity of the kettle's base and the stand"
    ),
    Parameter("base_exchange", "W/K", 150.0, 5.0, 2000.0, "assumed", "from the base into the liquor"),
    Parameter("base_loss", "W/K", 3.0, 0.0, 50.0, "assumed", "from the base to the room"),
    Parameter(
        "coil_ua", "W/K", 400.0, 5.0, 5000.0, "15 m of 12.7 mm copper: 396 W/K (facts, ht)", "whole coil"
    ),
    Parameter("coil_volume", "L", 1.4, 0.05, 20.0, "15 m of 10.9 mm bore", "content of the coil"),
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
        *_PARAMETERS,
        *gas_burner.parameters(),
        *pump.parameters(),
        *probe.parameters(),
        lag_parameter("liquor", 12.0),
        lag_parameter("coil_outlet", 5.0),
        lag_parameter("pump_inlet", 5.0),
        lag_parameter("limit", 12.0),
        *(immersion_parameter(name) for name in _PROBES),
    )
    choices = probe_kinds.choices(*_PROBES)
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
        room = net.room(setup["ambient"])
        liquor, mash = self._vessel(net, setup, "liquor", room), self._vessel(net, setup, "mash", room)
        grain = net.node("grain", setup["grain"] * setup["grain_heat"] * 1000.0, setup["mash_start"])
        net.conduct(mash.place, grain, setup["grain_exchange"])
        base = net.node("base", setup["base_heat"] * 1000.0, setup["liquor_start"])
        net.conduct(base, liquor.place, setup["base_exchange"])
        net.conduct(base, room, setup["base_loss"])
        burner = GasBurner(net, base, setup)
        circuit = Circuit(net)
        pumped = Pump(net, circuit, setup)
        coil = self._pipes(net, setup, circuit, mash.place, liquor.place, room)
        self._offer(net, setup, liquor, mash, grain, base, coil, burner, pumped, room)

    def _vessel(self, net: Builder, setup: dict[str, float], name: str, room: Place) -> Vessel:
        made = Vessel(
            net, name, volume_l=setup[f"{name}_volume"], start=setup[f"{name}_start"],
            wall=setup[f"{name}_wall"] * 1000.0,
            open_m2=setup[f"{name}_surface"] * setup[f"{name}_open"] / 100.0,
            boiling=boiling_point(pressure_kpa(setup["altitude"])),
            moisture_kpa=moisture_kpa(setup["ambient"], setup["humidity"]),
        )  # fmt: skip
        net.conduct(made.place, room, setup[f"{name}_loss"])
        return made

    def _pipes(
        self, net: Builder, setup: dict[str, float], circuit: Circuit, mash: Place, liquor: Place, room: Place
    ) -> Pipe:
        loss, start = setup["pipe_loss"], setup["mash_start"]
        there = Pipe(
            net, "pipe to coil", circuit, mash, room, volume_l=setup["pipe_to_coil"], ua=loss, start=start
        )
        coil = Pipe(
            net, "coil", circuit, there.outlet, liquor,
            volume_l=setup["coil_volume"], ua=setup["coil_ua"], start=setup["liquor_start"],
        )  # fmt: skip
        back = Pipe(
            net,
            "pipe to tun",
            circuit,
            coil.outlet,
            room,
            volume_l=setup["pipe_to_tun"],
            ua=loss,
            start=start,
        )
        net.transfer(back.outlet.level, circuit.heat_flow, back.outlet.heat, mash.heat)
        return coil

    def _offer(
        self, net: Builder, setup: dict[str, float], liquor: Vessel, mash: Vessel, grain: Place, base: Place,
        coil: Pipe, burner: GasBurner, pumped: Pump, room: Place,
    ) -> None:  # fmt: skip
        net.temperature("liquor", "water in the liquor tank", liquor.place)
        net.temperature("mash", "liquid in the mash tun", mash.place)
        net.temperature("grain", "grain in the mash tun", grain)
        net.temperature("coil_outlet", "mash where it leaves the coil", coil.outlet)
        net.temperature("pump_inlet", "mash where it enters the pump", mash.place)
        net.temperature("base", "base of the liquor tank, over the burner", base)
        net.temperature("ambient", "air of the room", room)
        net.signal(
            "burner_heat", "W", "heat into the base", lambda _: f"x[{burner.heat.index}]", switched=True
        )
        net.flag("flame", "a flame stands", burner, "flame")
        net.flag("gas_valve", "gas passes the valve", burner, "gas_passes")
        net.flag("valve_command", "the gas valve is told to open", burner, "valve_command")
        net.flag("igniter", "the spark is on", burner, "igniter")
        net.flag("flame_seen", "the flame signal", burner, "flame_signal")
        net.signal("unburned_gas", "%", "of the lower flammability limit", lambda _: burner.unburned_text())
        net.flag("pump", "the pump turns", pumped, "turning")
        net.attribute("flow", "L/min", "recirculation", pumped, "flow")
        net.flag("flow_seen", "the flow switch sees flow", pumped, "flow_seen")
        for name, made in (("liquor_volume", liquor), ("mash_volume", mash)):
            net.signal(name, "L", "content", made.volume_text)
        net.signal("evaporated", "kg", "water gone as vapour", lambda _: f"x[{net.evaporated.index}]")
        net.signal("heat_supplied", "J", "into the base so far", lambda _: f"-x[{net.supplied.index}]")
        net.signal("heat_lost", "J", "to the room so far", lambda _: f"x[{net.lost.index}]")
        net.actuator("gas_valve", "bool", "gas valve of the burner", burner.command_valve)
        net.actuator("igniter", "bool", "spark at the burner", burner.command_igniter)
        net.actuator("pump", "bool", "recirculation pump", pumped.command)
        tank, tun = (liquor.place.level, setup["liquor_start"]), (mash.place.level, setup["mash_start"])
        behind_coil = (coil.outlet.level, setup["liquor_start"])

        def in_hose() -> float:
            return pumped.speed(setup["pipe_bore"])

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
