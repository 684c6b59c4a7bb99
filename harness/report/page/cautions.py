"""What a reader of a page must not conclude from it. README.md of the project says the same."""

CAUTIONS = (
    "A bench run replaces no certified flame safeguard, no independent high-limit with its own probe and "
    "manual reset, no gas fitter. It shows what firmware did against a model; it cannot show a leaking "
    "valve, a blocked flue, a bad joint, a cracked probe or a wire on the wrong terminal.",
    "Local codes decide what may burn, where, and who may build and light it. Have gas work done and checked "
    "by those licensed for it.",
    "Never connect a board to the bench while a real valve, igniter or heater hangs on its outputs.",
    "Where an assertion's basis says common practice, no standard was seen. It is no substitute for the "
    "standard that applies to your rig.",
    "The first fire after any change is lit by a person who stands beside it with the gas cock in reach.",
)
