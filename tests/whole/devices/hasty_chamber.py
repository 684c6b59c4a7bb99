"""The chamber's thermostat without the compressor's rest."""

import sys
from pathlib import Path

sys.path.insert(0, str(Path(__file__).resolve().parents[3] / "firmware_stubs" / "python"))

from chamber import INPUTS, OUTPUTS, Thermostat
from pipe import serve
from unlit_kit import Kit

if __name__ == "__main__":
    serve(lambda write: Kit("hasty 1.0", INPUTS, OUTPUTS, write, Thermostat(rest_ms=0)))
