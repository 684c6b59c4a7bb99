"""A thermostat for a fermentation chamber: a compressor that cools and gets its rest, a belt that heats.

    python chamber.py          or, on the bench, --device builtin:chamber

Cooling begins above the band, heating below it; in between nothing runs, and never both. The compressor
stands for REST_MS after each stop, and after the power has come: nobody knows how long it had stood. Air
colder than CHAMBER_MDEGC ends the cooling, so that the air does not undershoot far.

Faults take everything off, raise the alarm and stay until a reset: 1 a probe without a plausible reading for
PROBE_MS, 2 half an hour of cooling and the air no colder, 3 the line silent. An open door stops the
compressor while it is open, and is told by the alarm if it stays so.
"""

from pipe import serve
from unlit_kit import Kit

BEER, CHAMBER, DOOR_OPEN, RUN, RESET, SETPOINT = range(6)
COOLER, HEATER, ALARM, FAULT = range(4)
INPUTS = (
    ("beer", "mdegC"), ("chamber", "mdegC"), ("door_open", "bool"), ("run", "bool"), ("reset", "bool"),
    ("setpoint", "mdegC"),
)  # fmt: skip
OUTPUTS = (("cooler", "bool"), ("heater", "bool"), ("alarm", "bool"), ("fault", "count"))

BAND_MDEGC = 300
CHAMBER_MDEGC = 2000
LOWEST_MDEGC, HIGHEST_MDEGC = -15000, 45000
REST_MS = 300000
PROBE_MS = 20000
EFFECT_MS, EFFECT_MDEGC = 1800000, 1500
DOOR_MS = 300000
SILENCE_MS = 30000
NO_PROBE, NO_EFFECT, SILENT = 1, 2, 3


def plausible(reading):
    """Whether a probe in a chamber can read so."""
    return reading is not None and LOWEST_MDEGC <= reading <= HIGHEST_MDEGC


class Thermostat:
    """Two-point control with a dead band in between. Times are counted up, so the clock may roll over."""

    def __init__(self, rest_ms=REST_MS):
        self.rest_ms = rest_ms
        self.on_go(None)

    def on_go(self, kit):
        """Start as new."""
        self.clock = None
        self.stood_ms = self.blind_ms = self.cooled_ms = self.open_ms = 0
        self.began_mdegc = self.fault = 0
        self.reset_was = True

    on_back = on_go

    def on_step(self, kit):
        """One turn of the control loop."""
        now = kit.millis()
        passed = 0 if self.clock is None else (now - self.clock) & 0xFFFFFFFF
        self.clock = now
        beer, air = kit.input(BEER), kit.input(CHAMBER)
        sound = plausible(beer) and plausible(air)
        cooler, heater = kit.output(COOLER), kit.output(HEATER)
        self._watch(kit, passed, sound, air, cooler)
        cool, heat = self._wanted(kit, beer, air, cooler, heater) if sound and not self.fault else (0, 0)
        self.stood_ms = 0 if cooler else min(self.stood_ms + passed, self.rest_ms)
        if cool and not cooler and self.stood_ms < self.rest_ms:
            cool = 0
        if cool and not cooler:
            self.began_mdegc, self.cooled_ms = air, 0
        alarm = self.fault or self.open_ms >= DOOR_MS
        for place, value in ((COOLER, cool), (HEATER, heat), (ALARM, alarm), (FAULT, self.fault)):
            kit.set_output(place, int(value) if place == FAULT else int(bool(value)))

    def _wanted(self, kit, beer, air, cooler, heater):
        setpoint = kit.input(SETPOINT)
        if setpoint is None or not kit.input_on(RUN):
            return 0, 0
        cool = beer > setpoint + (0 if cooler else BAND_MDEGC)
        cool = cool and air >= CHAMBER_MDEGC and not kit.input_on(DOOR_OPEN)
        return cool, beer < setpoint - (0 if heater else BAND_MDEGC)

    def _watch(self, kit, passed, sound, air, cooler):
        """Take up faults, and let a reset clear them."""
        self.blind_ms = 0 if sound else self.blind_ms + passed
        self.open_ms = self.open_ms + passed if kit.input_on(DOOR_OPEN) else 0
        if cooler and sound:
            self.cooled_ms = min(self.cooled_ms + passed, EFFECT_MS)
            if self.cooled_ms >= EFFECT_MS and air > self.began_mdegc - EFFECT_MDEGC:
                self._fail(kit, NO_EFFECT)
        if self.blind_ms >= PROBE_MS:
            self._fail(kit, NO_PROBE)
        if kit.quiet_ms() > SILENCE_MS:
            self._fail(kit, SILENT)
        reset = kit.input_on(RESET)
        if reset and not self.reset_was and sound:
            self.fault = 0
        self.reset_was = reset

    def _fail(self, kit, fault):
        if not self.fault:
            self.fault = fault
            kit.tell("fault", fault)


def make_kit(write):
    """A kit with the thermostat on it."""
    return Kit("chamber 1.0", INPUTS, OUTPUTS, write, Thermostat())


if __name__ == "__main__":
    serve(make_kit)
