"""A mash tun over a burner; a pump draws the wort from under a false bottom and returns it to the top."""

from __future__ import annotations

from plants.kernel.builder import Builder
from plants.kernel.describe import Parameter
from plants.kernel.plant import Plant
from plants.parts import burner_setup, grain, probe, probe_kinds, pump, vessel
from plants.parts import room as surroundings
from plants.parts.gas_burner import GasBurner
from plants.parts.grain import Grain
from plants.parts.layer import Layer
from plants.parts.pipe import Pipe
from plants.parts.probe import Thermometer, immersion_parameter, lag_parameter, offer_switch
from plants.parts.probe_faults import offer_probe_faults
from plants.parts.pump import Circuit, Pump
from plants.parts.room import Room
from plants.parts.vessel import Vessel
from plants.parts.vessel_changes import offer_vessel_changes

_PARAMETERS = (
    Parameter("below_volume", "L", 5.0, 0.5, 50.0, "assumed", "wort under the false bottom; half at most"),
    Parameter("bed_exchange", "W/K", 25.0, 0.1, 2000.0, "assumed", "through the bed when the wort stands"),
    Parameter("base_heat", "kJ/K", 4.0, 0.1, 100.0, "assumed", "heat capacity of the tun's base"),
    Parameter(
        "base_exchange", "W/K", 250.0, 20.0, 5000.0, "assumed", "from the base into the wort at full flow"
    ),
    Parameter("base_still", "%", 45.0, 5.0, 100.0, "assumed", "of that when the wort stands"),
    Parameter("base_loss", "W/K", 3.0, 0.0, 50.0, "assumed", "from the base to the room"),
    Parameter("hose_volume", "L", 0.6, 0.05, 10.0, "assumed", "pump and hose, back to the top"),
    Parameter("hose_bore", "mm", 12.0, 5.0, 50.0, "assumed", "where its probes sit"),
    Parameter("hose_loss", "W/K", 1.5, 0.0, 50.0, "assumed", "of the hose to the room"),
)
_PROBES = ("mash", "pump_inlet", "tun_inlet", "limit")


class DirectFiredMash(Plant):
    """See the module."""

    name = "direct-fired-mash"
    about = "Mash tun over a burner; a pump keeps the wort moving through the grain."
    parameters = (
        *vessel.parameters("mash", volume=30.0, wall=4.0, surface=0.13, loss=6.0, what="liquid"),
        *_PARAMETERS,
        *grain.parameters(7.0),
        *burner_setup.parameters(),
        *pump.parameters(),
        *surroundings.parameters(),
        *probe.parameters(),
        *(lag_parameter(name, seconds) for name, seconds in zip(_PROBES, (12.0, 5.0, 5.0, 8.0), strict=True)),
        *(immersion_parameter(name) for name in _PROBES),
    )
    choices = (*burner_setup.choices(), *probe_kinds.choices(*_PROBES))
    diagram = r"""
       .-----(tun_inlet)------<-----.
       v                            |
  | ~~~~~~~~~~~~~~~~ |              |
  |  mash: liquid    |--(mash)      | hose
  |  and grain       |              |
  |- - false bottom -|--(limit)     |
  |  below           |--(pump_inlet)--> pump, (flow)
  '==================' base
     ^^^^^^^^^^^^^^      burner, gas valve, igniter, (flame)
"""

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        """Put the plant together."""
        air = Room(net, setup["ambient"])
        below_l = min(setup["below_volume"], 0.5 * setup["mash_volume"])
        mash = vessel.furnished(net, setup, "mash", air, less_l=below_l)
        offer_vessel_changes(net, air, [mash])
        malt = Grain(net, mash.place, setup, setup["mash_start"])
        below = Layer(
            net, "below", mash, volume_l=below_l, start=setup["mash_start"],
            mixing=setup["bed_exchange"], overturn=0.0, boiling=mash.boiling,
        )  # fmt: skip
        circuit = Circuit(net)
        base = net.node("base", setup["base_heat"] * 1000.0, setup["mash_start"])
        pumped = Pump(net, circuit, setup)
        net.conduct(base, below.place, lambda: setup["base_exchange"] * self._film(setup, pumped))
        net.conduct(base, air.place, setup["base_loss"])
        burner = GasBurner(net, base, setup)
        hose = Pipe(
            net, "hose", circuit, below.place, air.place,
            volume_l=setup["hose_volume"], ua=setup["hose_loss"], start=setup["mash_start"],
        )  # fmt: skip
        net.transfer(hose.outlet.level, circuit.heat_flow, hose.outlet.heat, mash.place.heat)
        net.transfer(mash.place.level, circuit.heat_flow, mash.place.heat, below.place.heat)
        for name, about, place in (
            ("mash", "liquid above the false bottom", mash.place), ("grain", "grain in the tun", malt.place),
            ("below", "wort under the false bottom", below.place), ("ambient", "air of the room", air.place),
            ("base", "base of the tun, where wort scorches", base),
            ("tun_inlet", "wort where it comes back", hose.outlet),
        ):  # fmt: skip
            net.temperature(name, about, place)
        self._offer_books(net, mash, below_l)
        burner.offer(net)
        pumped.offer(net)
        self._offer_probes(net, setup, mash, below, hose, pumped, air)
        offer_switch(net, "flame", "flame signal", burner, "flame_signal")
        offer_switch(net, "flow", "flow switch", pumped, "flow_seen")

    @staticmethod
    def _film(setup: dict[str, float], pumped: Pump) -> float:
        """Share of the base's full exchange at the present flow (turbulent films: power 0.8)."""
        still = setup["base_still"] / 100.0
        return still + (1.0 - still) * float((pumped.flow / setup["flow"]) ** 0.8)

    def _offer_books(self, net: Builder, mash: Vessel, below_l: float) -> None:
        net.signal("volume", "L", "liquid", lambda names: f"{mash.volume_text(names)} + {below_l!r}")
        net.signal("evaporated", "kg", "water gone as vapour", lambda _: f"x[{net.evaporated.index}]")
        net.signal("heat_supplied", "J", "into the base so far", lambda _: f"-x[{net.supplied.index}]")
        net.signal("heat_lost", "J", "to the room so far", lambda _: f"x[{net.lost.index}]")

    def _offer_probes(
        self, net: Builder, setup: dict[str, float], mash: Vessel, below: Layer, hose: Pipe, pumped: Pump,
        air: Room,
    ) -> None:  # fmt: skip
        start = setup["mash_start"]
        sites = (
            ("mash", "in the bed", mash.place.level, None),
            ("pump_inlet", "where the wort enters the pump", below.place.level, setup["hose_bore"]),
            ("tun_inlet", "where the wort comes back to the top", hose.outlet.level, setup["hose_bore"]),
            ("limit", "the high limit's own, under the false bottom", below.place.level, None),
        )
        made = [
            Thermometer(net, name, what, (level, start), air.place.level, setup, pumped.speed_in(bore))
            for name, what, level, bore in sites
        ]
        offer_probe_faults(net, made)
