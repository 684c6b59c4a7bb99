"""A small thermostat behind the kit, to start your own from: the same as c/example_thermostat.c.

    python example_thermostat.py

speaks the line protocol on standard input and output, under CPython and under MicroPython's Unix port.
"""

import sys

from unlit_kit import Kit

PROBE, SETPOINT, RUN = 0, 1, 2
HEAT, ALARM = 0, 1
INPUTS = (("probe", "mdegC"), ("setpoint", "mdegC"), ("run", "bool"))
OUTPUTS = (("heat", "bool"), ("alarm", "bool"))
HYSTERESIS_MDEGC = 500
SILENCE_MS = 2000


class Thermostat:
    """One probe, one heat output, hysteresis; heat off when the probe fails or the bench falls silent."""

    def on_step(self, kit):
        """One turn of the control loop. An alarm is told once, when it comes up."""
        probe, setpoint, heat = kit.input(PROBE), kit.input(SETPOINT), kit.output(HEAT)
        alarm = probe is None or kit.quiet_ms() > SILENCE_MS
        if alarm and not kit.output(ALARM):
            kit.say("probe without reading" if probe is None else "line silent")
        if alarm or setpoint is None or not kit.input_on(RUN) or probe >= setpoint:
            heat = 0
        elif probe <= setpoint - HYSTERESIS_MDEGC:
            heat = 1
        kit.set_output(HEAT, heat)
        kit.set_output(ALARM, alarm)


def main():
    """Speak the line protocol until the bench closes it."""
    line_in, line_out = sys.stdin.buffer, sys.stdout.buffer
    kit = Kit("thermostat 1.0", INPUTS, OUTPUTS, line_out.write, Thermostat())
    while True:
        heard = line_in.readline(256)
        if not heard:
            return
        kit.feed(heard)
        line_out.flush()


if __name__ == "__main__":
    main()
