"""The reference controller on the line: the core (controller.py) with the kit (unlit_kit.py).

    python reference.py [--panel degC|degF] [--nv FILE] [--wall]

speaks the line protocol on standard input and output. FILE, or the environment's UNLIT_NV, stands for the
board's non-volatile memory; without it a lockout is forgotten when the process ends. With --wall it keeps its
own clock, as a board does: a turn of its loop each 100 ms, and `now` when an output changes.
"""

import os
import sys

import calibration
import controller
import panel
from controller_config import Config
from unlit_kit import Kit

NAME = "reference-python 0.1.0"
NO_SUCH_FILE = 2


def input_table(fahrenheit):
    """The input channels, (name, unit) each."""
    degree = "mdegF" if fahrenheit else "mdegC"
    table = [(name, "mdegC") for name in ("liquor", "coil_outlet", "pump_inlet", "limit")]
    table += [(name, "bool") for name in ("flame", "flow", "run", "reset", "estop")]
    table += [("mode", "count"), ("liquor_setpoint", degree), ("mash_setpoint", degree), ("manual", "bool")]
    table += [("manual_duty", "permille"), ("cycle_time", "ms"), ("mash_probe", "count")]
    for step in range(1, 9):
        table += [("step" + str(step) + "_setpoint", degree), ("step" + str(step) + "_hold", "ms")]
    return table


OUTPUT_UNITS = ("bool", "bool", "bool", "bool", "permille", "count", "count", "count")
OUTPUT_TABLE = [(name, OUTPUT_UNITS[place]) for place, name in enumerate(controller.OUTPUT_NAMES)]


class NoMemory:
    """Non-volatile memory of a process that was given no file: it lasts as long as the process."""

    def __init__(self):
        self._byte = 0

    def read(self):
        """The byte stored, 0 if none."""
        return self._byte

    def write(self, byte):
        """Store the byte; True if that worked."""
        self._byte = byte
        return True


class FileMemory:
    """Non-volatile memory in a file, as the C port keeps it: the byte and its complement."""

    def __init__(self, path):
        self._path = path

    def read(self):
        """The byte stored, 0 if none was ever stored; controller.NV_WRONG if it cannot be made out."""
        try:
            with open(self._path, "rb") as file:
                stored = file.read(3)
        except OSError as error:
            return 0 if error.args[0] == NO_SUCH_FILE else controller.NV_WRONG
        fits = len(stored) == 2 and stored[0] ^ stored[1] == 0xFF
        return stored[0] if fits else controller.NV_WRONG

    def write(self, byte):
        """Store the byte, or nothing at all; True if that worked."""
        try:
            with open(self._path + ".new", "wb") as file:
                file.write(bytes([byte, byte ^ 0xFF]))
            os.replace(self._path + ".new", self._path)
        except OSError:
            return False
        return True


class Reference:
    """The kit's hooks: carry inputs to the core, outputs and figures back."""

    def __init__(self, fahrenheit, memory):
        self._fahrenheit = fahrenheit
        self._memory = memory
        self._config = Config()
        self._core = None
        self._stored = 0

    def on_go(self, kit):
        """Start as new."""
        self._stored = self._memory.read()
        self._begin(kit, 0, False)

    def on_back(self, kit):
        """Start as from power-up."""
        self._stored = self._memory.read()
        self._begin(kit, self._stored, True)

    def _begin(self, kit, nv, power_cut):
        self._core = controller.Controller(self._config, self._fahrenheit, kit.millis(), nv, power_cut)
        self._publish(kit)

    def on_step(self, kit):
        """One turn at the line's clock."""
        read = kit.input
        self._core.step(kit.millis(), kit.quiet_ms(), [read(place) for place in range(panel.INPUTS)])
        self._publish(kit)

    def _publish(self, kit):
        core = self._core
        if core.nv != self._stored and self._memory.write(core.nv):
            self._stored = core.nv
        for place, value in enumerate(core.outputs):
            kit.set_output(place, value)
        changed = core.changed
        if changed & controller.FAULT_CHANGED:
            kit.tell("fault", core.outputs[6])
        if changed & controller.STAGE_CHANGED:
            kit.tell("stage", core.outputs[5])
        if changed & controller.STEP_CHANGED:
            kit.tell("step", core.outputs[7])
        if changed & controller.CALIBRATION_CHANGED:
            self._tell_calibration(kit)

    def _tell_calibration(self, kit):
        found = self._core.calibration
        kit.tell("calibration", found.phase)
        if found.phase == calibration.GAVE_UP:
            kit.tell("gave_up", found.reason)
        elif found.phase == calibration.FOUND:
            model, gains = found.model, found.found[found.place]
            kit.tell("dead_time", model.dead_time_ms)
            kit.tell("slope", model.slope)
            kit.tell("gain", model.gain)
            kit.tell("time_constant", model.time_constant_ms)
            kit.tell("pid_gain", gains.gain)
            kit.tell("pid_integral", gains.integral_ms)


def make_kit(write, fahrenheit=False, memory=None):
    """A kit with the controller on it; `write` takes the bytes of its answers."""
    app = Reference(fahrenheit, memory or NoMemory())
    return Kit(NAME, input_table(fahrenheit), OUTPUT_TABLE, write, app)


def options(words):
    """(fahrenheit, memory, wall_pace) from the command line; ends the process on a mistake."""
    fahrenheit, nv_file = False, os.environ.get("UNLIT_NV")
    wall = "--wall" in words
    words = [word for word in words if word != "--wall"]
    while words:
        option, value = words.pop(0), words.pop(0) if words else None
        if option == "--panel" and value in ("degC", "degF"):
            fahrenheit = value == "degF"
        elif option == "--nv" and value:
            nv_file = value
        else:
            wrong = option if value is None else option + " " + value
            mend = " is not understood. Use --panel degC|degF, --nv FILE, --wall."
            sys.stderr.write("reference.py: " + wrong + mend + "\n")
            sys.exit(2)
    return fahrenheit, FileMemory(nv_file) if nv_file else NoMemory(), wall


def main():
    """Speak the line protocol on standard input and output until the bench closes it."""
    fahrenheit, memory, wall = options(sys.argv[1:])
    answer = bytearray()
    if wall:
        import own_clock

        app = Reference(fahrenheit, memory)
        kit = Kit(NAME, input_table(fahrenheit), OUTPUT_TABLE, answer.extend, app, wall_pace=True)
        own_clock.serve(kit, app, answer)
        return
    kit = make_kit(answer.extend, fahrenheit, memory)
    while True:
        heard = os.read(0, 4096)
        if not heard:
            return
        kit.feed(heard)
        if answer:
            os.write(1, answer)
            answer[:] = b""


if __name__ == "__main__":
    main()
