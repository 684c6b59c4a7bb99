"""A device with the channels of one of the built-in controllers that does one thing for ever.

    python stubborn.py chamber|kiln off|on|calm

sets all its switched outputs off, on, or on but for the alarm, whatever it is told.
"""

import importlib
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "firmware_stubs" / "python"))

from pipe import serve
from unlit_kit import Kit


class Stubborn:
    """Always the same on every switched output."""

    def __init__(self, outputs, habit):
        quiet = "alarm" if habit == "calm" else ""
        self._values = {
            place: int(habit != "off" and name != quiet)
            for place, (name, unit) in enumerate(outputs)
            if unit == "bool"
        }

    def on_step(self, kit):
        """The same again."""
        for place, value in self._values.items():
            kit.set_output(place, value)


if __name__ == "__main__":
    model = importlib.import_module(sys.argv[1])
    app = Stubborn(model.OUTPUTS, sys.argv[2])
    serve(lambda write: Kit("stubborn 1.0", model.INPUTS, model.OUTPUTS, write, app))
