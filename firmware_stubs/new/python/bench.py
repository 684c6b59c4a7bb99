"""The controller on the bench: what it reads comes from the kit, what it drives goes there.

    python3 bench.py

speaks the line protocol on standard input and output. On a board, under MicroPython, read from and write to
its UART.
"""

import sys

from controller import Controller
from unlit_kit import Kit

TANK, SETPOINT, FLAME, RUN, RESET = range(5)
GAS, SPARK, ALARM = range(3)
INPUTS = (("tank", "mdegC"), ("setpoint", "mdegC"), ("flame", "bool"), ("run", "bool"), ("reset", "bool"))
OUTPUTS = (("gas", "bool"), ("spark", "bool"), ("alarm", "bool"))
SILENCE_MS = 2000


class Bench:
    """The kit's hooks."""

    def on_go(self, kit):
        self.controller = Controller(kit.millis())

    on_back = on_go

    def on_step(self, kit):
        readings = kit.input(TANK), kit.input(SETPOINT)
        switches = kit.input_on(FLAME), kit.input_on(RUN), kit.input_on(RESET)
        self.controller.step(kit.millis(), *readings, *switches, kit.quiet_ms() > SILENCE_MS)
        kit.set_output(GAS, self.controller.gas)
        kit.set_output(SPARK, self.controller.spark)
        kit.set_output(ALARM, self.controller.alarm)


def main():
    """Speak the line protocol until the bench closes it."""
    line_in, line_out = sys.stdin.buffer, sys.stdout.buffer
    kit = Kit("my-controller 0.1", INPUTS, OUTPUTS, line_out.write, Bench())
    while True:
        heard = line_in.readline(256)
        if not heard:
            return
        kit.feed(heard)
        line_out.flush()


if __name__ == "__main__":
    main()
