"""A device with the channels of one of the built-in controllers that does one thing for ever.

    python stubborn.py chamber|kiln 0|1

sets all its switched outputs to 0 or to 1, whatever it is told.
"""

import importlib
import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "firmware_stubs" / "python"))

from pipe import serve
from unlit_kit import Kit


class Stubborn:
    """One value on every switched output."""

    def __init__(self, outputs, value):
        self._switched = [place for place, (_, unit) in enumerate(outputs) if unit == "bool"]
        self._value = value

    def on_step(self, kit):
        """The same again."""
        for place in self._switched:
            kit.set_output(place, self._value)


if __name__ == "__main__":
    model = importlib.import_module(sys.argv[1])
    app = Stubborn(model.OUTPUTS, int(sys.argv[2]))
    serve(lambda write: Kit("stubborn 1.0", model.INPUTS, model.OUTPUTS, write, app))
