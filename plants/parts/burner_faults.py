"""What can go wrong with a gas burner; `gas_burner` says what each does."""

from __future__ import annotations

from plants.kernel.describe import Fault, FaultSize

_ALL = (
    ("flame-lost",
     (FaultSize("stood", "s", 3.0, 0.1, 600.0, "a flame that lights later is lost after this time"),),
     "a gust or a boil-over puts the flame out, once; with no flame standing, the next one",
     "gas flows unburned until the controller notices and shuts the valve"),
    ("slow-to-light", (FaultSize("extra", "s", 4.0, 0.0, 120.0, "added to the light-up delay", nothing=0.0),),
     "cold mixture, a badly placed or weak spark", "unburned gas gathers and lights with a thump"),
    ("does-not-light", (), "no spark at the burner, or air in the gas line",
     "unburned gas in every trial; endless tries would fill the space"),
    ("weak-flame",
     (FaultSize("heat", "%", 50.0, 5.0, 100.0, "share of the heat that is left", nothing=100.0),
      FaultSize("seen", "s", 3.0, 0.1, 600.0, "the flame signal stays on for so long"),
      FaultSize("unseen", "s", 0.6, 0.0, 60.0, "and then off for so long; 0 for a steady one")),
     "a dirty burner, a blocked air inlet, a sooty flame rod: less heat, and a signal that comes and goes",
     "a controller that is too patient sees no lost flame; one that is too strict locks out for nothing"),
    ("low-gas-pressure",
     (FaultSize("pressure", "%", 25.0, 0.0, 100.0, "share of the gas pressure that is left", nothing=100.0),),
     "an iced or empty bottle, a regulator at fault: flow goes with the root of the pressure",
     "heating takes far longer; below the least flow the flame goes out and gas still comes"),
    ("valve-stuck-open", (), "dirt on the seat or a welded relay: once open, the valve does not shut",
     "heat or unburned gas that the controller cannot stop with this valve"),
    ("valve-stuck-closed", (), "a burnt-out coil or a broken wire: the valve does not open",
     "a trial without gas: the controller must give up and say so"),
    ("valve-leaks",
     (FaultSize("leak", "%", 3.0, 0.1, 20.0, "share of the full flow that passes the shut valve",
               nothing=0.0),),
     "dirt or wear on the seat: gas passes while the valve is shut",
     "gas gathers where the space is not aired, and the next spark finds it; a purge is there for this"),
    ("valve-slow-to-close",
     (FaultSize("later", "s", 3.0, 0.0, 60.0, "added to the time the valve takes to shut", nothing=0.0),),
     "a sticking valve, or one that is driven by a motor",
     "heat and flame outlast the command; a flame with the valve told to shut looks like a stuck valve"),
)  # fmt: skip

_LURKING = (
    "flame-lost", "slow-to-light", "does-not-light", "valve-stuck-open", "valve-stuck-closed",
    "weak-flame", "valve-slow-to-close", "low-gas-pressure",
)  # fmt: skip

BURNER_FAULTS = {
    kind: Fault(
        kind,
        (),
        sizes,
        about,
        hazard,
        lurks=kind in _LURKING,
        actuators=() if kind == "valve-leaks" else ("gas_valve",),
    )
    for kind, sizes, about, hazard in _ALL
}
