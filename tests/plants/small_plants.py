"""Small plants built from parts, for tests that know the answer."""

from __future__ import annotations

from plants import Parameter, Plant
from plants.kernel.builder import Builder
from plants.media.air import pressure_kpa
from plants.media.water import boiling_point
from plants.parts.pipe import Pipe
from plants.parts.pump import Circuit, Pump
from plants.parts.pump import parameters as pump_parameters
from plants.parts.vessel import Vessel


def parameter(name, unit, default, low, high):
    """A parameter of a test plant."""
    return Parameter(name, unit, default, low, high, "test", "test")


class Kettle(Plant):
    """A vessel of water with a heater that is on or off; no lid, no evaporation but the boil."""

    name, about, diagram = "kettle", "test", ""
    parameters = (
        parameter("volume", "L", 30.0, 1.0, 100.0),
        parameter("start", "degC", 20.0, 0.0, 100.0),
        parameter("power", "W", 5500.0, 0.0, 20000.0),
        parameter("loss", "W/K", 0.0, 0.0, 100.0),
        parameter("altitude", "m", 0.0, 0.0, 4000.0),
    )

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        self.on = 0.0
        room = net.room(20.0)
        boiling = boiling_point(pressure_kpa(setup["altitude"]))
        water = Vessel(
            net, "water", volume_l=setup["volume"], start=setup["start"], wall=0.0, open_m2=0.0,
            boiling=boiling, moisture_kpa=1.0,
        )  # fmt: skip
        net.conduct(water.place, room, setup["loss"])
        net.heat_source("heater", water.place, lambda: self.on * setup["power"])
        net.temperature("water", "test", water.place)
        net.signal("evaporated", "kg", "test", lambda _: f"x[{net.evaporated.index}]")
        net.actuator("heater", "bool", "test", lambda value: setattr(self, "on", value))


class Block(Plant):
    """25 kg of a material with 4190 J/kg K that loses 5 W/K to a room of 20 degC."""

    name, about, diagram = "block", "test", ""
    parameters = (parameter("start", "degC", 100.0, 0.0, 200.0),)

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        block = net.node("block", 25.0 * 4190.0, setup["start"])
        net.conduct(block, net.room(20.0), 5.0)
        net.temperature("block", "test", block)


class Loop(Plant):
    """A pump sends water from a tank of constant temperature through one pipe into a second tank."""

    name, about, diagram = "loop", "test", ""
    parameters = (
        *pump_parameters(),
        parameter("volume", "L", 1.0, 0.05, 50.0),
        parameter("ua", "W/K", 0.0, 0.0, 20000.0),
        parameter("inlet", "degC", 60.0, 0.0, 100.0),
        parameter("around", "degC", 20.0, 0.0, 100.0),
    )

    def build(self, net: Builder, setup: dict[str, float]) -> None:
        source = net.node("source", 1e12, setup["inlet"])
        bath = net.node("bath", 1e12, setup["around"])
        sink = net.node("sink", 1e9, setup["around"])
        circuit = Circuit(net)
        pump = Pump(net, circuit, setup)
        pipe = Pipe(
            net,
            "pipe",
            circuit,
            source,
            bath,
            volume_l=setup["volume"],
            ua=setup["ua"],
            start=setup["around"],
        )
        net.transfer(pipe.outlet.level, circuit.heat_flow, pipe.outlet.heat, sink.heat)
        net.temperature("outlet", "test", pipe.outlet)
        net.actuator("pump", "bool", "test", pump.command)


def signal(plant, name):
    """One signal by name."""
    return plant.sample()[[one.name for one in plant.signals].index(name)]


def signals(plant):
    """All signals by name."""
    return dict(zip((one.name for one in plant.signals), plant.sample(), strict=True))
