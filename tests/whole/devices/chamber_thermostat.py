"""A fermentation thermostat behind the kit: cools and heats, and lets the compressor rest.

Cooling begins above the band, heating below it; the compressor stands for at least REST_MS. A chamber colder
than CHAMBER_MDEGC ends the cooling, so that the air does not undershoot far. Without a reading, or when the
bench falls silent, nothing runs. `--hasty` leaves the rest out.
"""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "firmware_stubs" / "python"))

from unlit_kit import Kit

BEER, CHAMBER, SETPOINT = 0, 1, 2
COOLER, HEATER, ALARM = 0, 1, 2
INPUTS = (("beer", "mdegC"), ("chamber", "mdegC"), ("setpoint", "mdegC"))
OUTPUTS = (("cooler", "bool"), ("heater", "bool"), ("alarm", "bool"))
BAND_MDEGC, CHAMBER_MDEGC, REST_MS, SILENCE_MS = 300, 2000, 300_000, 30_000


class Thermostat:
    """Two-point control with a dead band in between."""

    def __init__(self, rest_ms):
        self.rest_ms = rest_ms
        self.stopped_ms = -rest_ms

    def on_step(self, kit):
        """One turn of the control loop."""
        beer, chamber, setpoint = kit.input(BEER), kit.input(CHAMBER), kit.input(SETPOINT)
        cooler, heater = kit.output(COOLER), kit.output(HEATER)
        alarm = beer is None or chamber is None or kit.quiet_ms() > SILENCE_MS
        if alarm or setpoint is None:
            cool = heat = False
        else:
            cold_air = chamber < CHAMBER_MDEGC
            cool = not cold_air and beer > setpoint + (0 if cooler else BAND_MDEGC)
            heat = beer < setpoint - (0 if heater else BAND_MDEGC)
        if cool and not cooler and kit.millis() - self.stopped_ms < self.rest_ms:
            cool = False
        if cooler and not cool:
            self.stopped_ms = kit.millis()
        for place, value in ((COOLER, cool), (HEATER, heat), (ALARM, alarm)):
            kit.set_output(place, int(value))


def main():
    """Speak the line protocol until the bench closes it."""
    line_in, line_out = sys.stdin.buffer, sys.stdout.buffer
    rest_ms = 0 if "--hasty" in sys.argv else REST_MS
    kit = Kit("chamber-thermostat 1.0", INPUTS, OUTPUTS, line_out.write, Thermostat(rest_ms))
    while True:
        heard = line_in.readline(256)
        if not heard:
            return
        kit.feed(heard)
        line_out.flush()


if __name__ == "__main__":
    main()
