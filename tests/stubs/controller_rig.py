"""Both implementations of the reference controller behind one face, and a bench small enough for tables."""

from __future__ import annotations

import ctypes
import subprocess
import sys
from functools import cache
from pathlib import Path
from tempfile import TemporaryDirectory

STUBS = Path(__file__).resolve().parents[2] / "firmware_stubs"
sys.path.insert(0, str(STUBS / "python"))

import controller as core  # noqa: E402
from controller_config import Config  # noqa: E402

CORE_SOURCES = (
    "controller",
    "burner",
    "calibration",
    "response",
    "loops",
    "pid",
    "probes",
    "panel",
    "program",
    "controller_config",
)
NO_READING = -(2**31)
CLOCK = 2**32

PROBES = ("liquor", "coil_outlet", "pump_inlet", "limit")
SWITCHES = ("flame", "flow", "run", "reset", "estop")
PANEL = ("mode", "liquor_setpoint", "mash_setpoint", "manual", "manual_duty", "cycle_time", "mash_probe")
STEP_PANEL = [f"step{n}_{what}" for n in range(1, 9) for what in ("setpoint", "hold")]
INPUTS = (*PROBES, *SWITCHES, *PANEL, *STEP_PANEL)
PLACE = {name: place for place, name in enumerate(INPUTS)}
OUTPUTS = core.OUTPUT_NAMES
FOUND = ("dead_time", "slope", "gain", "time_constant", "pid_gain", "pid_integral")
RESULTS = (*OUTPUTS, "changed", "nv", "calibration", "gave_up", *FOUND)

SHIM = """
#include "controller.h"
#include <string.h>
static struct controller_config constants;
unsigned shim_config_size(void) { return (unsigned)sizeof controller_defaults; }
void shim_config(void *to) { memcpy(to, &controller_defaults, sizeof controller_defaults); }
unsigned shim_size(void) { return (unsigned)sizeof(struct controller); }
static void give(const struct controller *c, int32_t *out)
{
    int n;
    for (n = 0; n < CONTROLLER_OUTPUTS; n++) {
        out[n] = c->outputs[n];
    }
    out[8] = c->changed;
    out[9] = c->nv;
    out[10] = c->calibration.phase;
    out[11] = c->calibration.reason;
    out[12] = c->calibration.model.dead_time_ms;
    out[13] = c->calibration.model.slope;
    out[14] = c->calibration.model.gain;
    out[15] = c->calibration.model.time_constant_ms;
    out[16] = calibration_gains(&c->calibration, c->config, c->calibration.place)->gain;
    out[17] = calibration_gains(&c->calibration, c->config, c->calibration.place)->integral_ms;
}
/* Every controller begun later goes by these, or by the defaults with 0. */
void shim_constants(const void *from)
{
    memcpy(&constants, from ? from : &controller_defaults, sizeof constants);
}
void shim_init(struct controller *c, int fahrenheit, uint32_t now_ms, int nv, int power_cut, int32_t *out)
{
    controller_init(c, &constants, fahrenheit != 0, now_ms, (uint8_t)nv, power_cut != 0);
    give(c, out);
}
void shim_step(struct controller *c, uint32_t now_ms, uint32_t quiet_ms, const int32_t *inputs, int32_t *out)
{
    controller_step(c, now_ms, quiet_ms, inputs);
    give(c, out);
}
"""


@cache
def c_library() -> ctypes.CDLL:
    """The C core as a shared library, built once; undefined behaviour traps."""
    with TemporaryDirectory() as folder:
        return _build(Path(folder))


def _build(folder: Path) -> ctypes.CDLL:
    shim = folder / "shim.c"
    shim.write_text(SHIM)
    library = folder / "controller_core.so"
    sources = [str(STUBS / "c" / f"{name}.c") for name in CORE_SOURCES]
    flags = ["-std=c99", "-O2", "-Wall", "-Wextra", "-Wpedantic", "-Werror", "-fPIC", "-shared"]
    flags += ["-fsanitize=undefined", "-fsanitize-undefined-trap-on-error"]
    subprocess.run(
        ["gcc", *flags, "-I", str(STUBS / "c"), str(shim), *sources, "-o", str(library)], check=True
    )
    loaded = ctypes.CDLL(str(library))
    u32, pointer = ctypes.c_uint32, ctypes.c_void_p
    loaded.shim_constants.argtypes = [pointer]
    loaded.shim_init.argtypes = [pointer, ctypes.c_int, u32, ctypes.c_int, ctypes.c_int, pointer]
    loaded.shim_step.argtypes = [pointer, u32, u32, pointer, pointer]
    return loaded


def constants(config: Config) -> list[int]:
    """A table of constants as it lies in the C core's memory."""
    table = dict(vars(config))
    return [value for each in table.pop("gains") for value in vars(each).values()] + list(table.values())


class CController:
    """The C core. Results are RESULTS: the outputs, the changes, the non-volatile byte, the calibration."""

    def __init__(self, config: Config | None = None) -> None:
        self._library = c_library()
        table = constants(config or Config())
        self._constants = (ctypes.c_int32 * len(table))(*table)
        self._state = ctypes.create_string_buffer(self._library.shim_size())
        self._inputs = (ctypes.c_int32 * len(INPUTS))()
        self._out = (ctypes.c_int32 * len(RESULTS))()

    def start(
        self, now_ms: int, nv: int = 0, *, power_cut: bool = False, fahrenheit: bool = False
    ) -> list[int]:
        self._library.shim_constants(self._constants)
        self._library.shim_init(self._state, fahrenheit, now_ms, nv, power_cut, self._out)
        return self._out[:]

    def step(self, now_ms: int, quiet_ms: int, inputs: list[int | None]) -> list[int]:
        self._inputs[:] = [NO_READING if value is None else value for value in inputs]
        self._library.shim_step(self._state, now_ms, quiet_ms, self._inputs, self._out)
        return self._out[:]


class PythonController:
    """The Python core, with the same results."""

    def __init__(self, config: Config | None = None) -> None:
        self._config = config or Config()

    def start(
        self, now_ms: int, nv: int = 0, *, power_cut: bool = False, fahrenheit: bool = False
    ) -> list[int]:
        self._core = core.Controller(self._config, fahrenheit, now_ms, nv, power_cut)
        return self._results()

    def step(self, now_ms: int, quiet_ms: int, inputs: list[int | None]) -> list[int]:
        self._core.step(now_ms, quiet_ms, inputs)
        return self._results()

    def _results(self) -> list[int]:
        core, found = self._core, self._core.calibration
        model, gains = found.model, found.gains(self._config, found.place)
        told = (model.dead_time_ms, model.slope, model.gain, model.time_constant_ms)
        of_loop = (gains.gain, gains.integral_ms)
        return [*core.outputs, core.changed, core.nv, found.phase, found.reason, *told, *of_loop]


CORES = {"python": PythonController, "c": CController}
