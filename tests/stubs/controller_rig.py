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

CORE_SOURCES = ("controller", "burner", "loops", "pid", "probes", "panel", "program", "controller_config")
NO_READING = -(2**31)
CLOCK = 2**32

PROBES = ("liquor", "coil_outlet", "pump_inlet", "limit")
SWITCHES = ("flame", "flow", "run", "reset", "estop")
PANEL = ("mode", "liquor_setpoint", "mash_setpoint", "manual", "manual_duty", "cycle_time", "mash_probe")
STEP_PANEL = [f"step{n}_{what}" for n in range(1, 9) for what in ("setpoint", "hold")]
INPUTS = (*PROBES, *SWITCHES, *PANEL, *STEP_PANEL)
PLACE = {name: place for place, name in enumerate(INPUTS)}
OUTPUTS = core.OUTPUT_NAMES

SHIM = """
#include "controller.h"
#include <string.h>
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
}
void shim_init(struct controller *c, int fahrenheit, uint32_t now_ms, int nv, int power_cut, int32_t *out)
{
    controller_init(c, &controller_defaults, fahrenheit != 0, now_ms, (uint8_t)nv, power_cut != 0);
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
    loaded.shim_init.argtypes = [pointer, ctypes.c_int, u32, ctypes.c_int, ctypes.c_int, pointer]
    loaded.shim_step.argtypes = [pointer, u32, u32, pointer, pointer]
    return loaded


class CController:
    """The C core. Results are eight outputs, the changes and the non-volatile byte."""

    def __init__(self) -> None:
        self._library = c_library()
        self._state = ctypes.create_string_buffer(self._library.shim_size())
        self._inputs = (ctypes.c_int32 * len(INPUTS))()
        self._out = (ctypes.c_int32 * 10)()

    def start(
        self, now_ms: int, nv: int = 0, *, power_cut: bool = False, fahrenheit: bool = False
    ) -> list[int]:
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
        return [*self._core.outputs, self._core.changed, self._core.nv]

    def step(self, now_ms: int, quiet_ms: int, inputs: list[int | None]) -> list[int]:
        self._core.step(now_ms, quiet_ms, inputs)
        return [*self._core.outputs, self._core.changed, self._core.nv]


CORES = {"python": PythonController, "c": CController}
