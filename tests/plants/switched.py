"""All ready plants with everything switched all the time: what their accuracy and cost are measured on."""

from plants import ready_plants

READY = ready_plants()
HERMS = {"liquor_start": 60.0, "mash_start": 50.0}
HIGH = {"altitude": 1600.0}
MASH_BOILS = {"mash_start": 92.0, **HIGH}
# plant, what happens, set-up, fault in force; length of a cycle and of its heating [ms]
CASES = (
    ("herms-gas", "heating", HERMS, None, 90_000, 60_000),
    ("herms-gas", "boiling", {"liquor_start": 94.0, "mash_start": 90.0, "burner_power": 15.0, **HIGH}, None,
     90_000, 60_000),
    ("herms-gas", "a third of the flow", HERMS, "flow-restricted", 90_000, 60_000),
    ("direct-fired-mash", "heating", {"mash_start": 50.0}, None, 90_000, 45_000),
    ("direct-fired-mash", "boiling", MASH_BOILS, None, 90_000, 60_000),
    ("direct-fired-mash", "boiling at 20 kW", {**MASH_BOILS, "burner_power": 20.0}, None, 90_000, 60_000),
    ("direct-fired-mash", "a third of the flow", {"mash_start": 50.0}, "flow-restricted", 90_000, 45_000),
    ("electric-kettle", "heating", {"kettle_start": 40.0}, None, 60_000, 30_000),
    ("electric-kettle", "boiling", {"kettle_start": 94.0, "kettle_open": 80.0, **HIGH}, None, 60_000, 50_000),
    ("fermentation-chamber", "switched", {"fan": "with-compressor"}, None, 600_000, 300_000),
    ("pottery-kiln", "switched", {"kiln_start": 900.0}, None, 20_000, 10_000),
)  # fmt: skip


def made(case):
    """A fresh plant of a case."""
    name, _, setup, fault, *_ = case
    plant = READY[name](setup)
    if fault:
        plant.begin_fault(fault, None, {})
    return plant


def schedule(case, length_ms):
    """Everything on and off again and again; an igniter only for four seconds, the pump mostly on."""
    *_, period_ms, on_ms = case
    count, steps = len(READY[case[0]].actuators), []
    for number, start in enumerate(range(1000, length_ms - period_ms, period_ms)):
        if count == 3:
            pump = int(number % 7 != 3)
            steps += [(start, [1, 1, 1]), (start + 4000, [1, 0, 1]), (start + on_ms, [0, 0, pump])]
        else:
            rest = [0] * (count - 1)
            steps += [(start, [1, *rest]), (start + on_ms, [0, *rest])]
    return steps
