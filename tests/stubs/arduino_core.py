"""Sketches built with the real Arduino core (Debian: arduino-core-avr), by the IDE's own steps and flags.

The flags are those of the core's platform.txt for an Uno. DECIMAL_DIG is a macro that Debian's avr-gcc 5.4
keeps from C++ and the core's WString.cpp asks for.
"""

from __future__ import annotations

import os
import subprocess
from collections.abc import Sequence
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
CORE = Path(os.environ.get("UNLIT_ARDUINO_CORE", "/usr/share/arduino/hardware/arduino/avr"))
SECTIONS = ("-Os", "-ffunction-sections", "-fdata-sections", "-flto", "-mmcu=atmega328p")
BOARD = ("-DF_CPU=16000000L", "-DARDUINO=10819", "-DARDUINO_AVR_UNO", "-DARDUINO_ARCH_AVR")
FOLDERS = (f"-I{CORE}/cores/arduino", f"-I{CORE}/variants/standard")
COMMON = (*SECTIONS, *BOARD, "-DDECIMAL_DIG=__DECIMAL_DIG__", *FOLDERS)
CPP = ("avr-g++", *COMMON, "-std=gnu++11", "-fpermissive", "-fno-exceptions", "-fno-threadsafe-statics")
C = ("avr-gcc", *COMMON, "-std=gnu11", "-fno-fat-lto-objects")
LINK = ("avr-gcc", *SECTIONS, "-fuse-linker-plugin", "-Wl,--gc-sections")
STRICT = ("-Wall", "-Wextra", "-Werror")
SWITCH = "#define ON_THE_BENCH"


def run(*words: object, folder: Path | None = None) -> None:
    """A command that must succeed and say nothing."""
    done = subprocess.run([*map(str, words)], cwd=folder, capture_output=True, text=True, check=False)
    assert (done.returncode, done.stderr) == (0, ""), done.stderr


def build_core(folder: Path, *flags: str) -> Path:
    """core.a, as every sketch links it. The core's own warnings are the core's."""
    sources = sorted((CORE / "cores" / "arduino").glob("*.c*"))
    assert sources, f"{CORE}: there is no Arduino core. Install the package arduino-core-avr."
    objects = [_object(source, folder / f"{source.name}.o", "-w", *flags) for source in sources]
    archive = folder / "core.a"
    run("avr-gcc-ar", "rcs", archive, *objects)
    return archive


def build_sketch(sketch: str, core: Path, library: Sequence[Path], folder: Path, *flags: str) -> Path:
    """The ELF of a sketch's text with all sources among the files of `library`; warnings are errors.

    What the IDE does to a sketch: Arduino.h before its first line. Without debug information and with
    relative names, two builds differ by what the text makes of itself and by nothing else.
    """
    (folder / "sketch.cpp").write_text("#include <Arduino.h>\n" + sketch)
    places = {f"-I{path.parent}" for path in library}
    run(*CPP, *STRICT, *flags, *places, "-c", "sketch.cpp", "-o", "sketch.o", folder=folder)
    sources = [path for path in library if path.suffix in (".c", ".cpp")]
    objects = [_object(path, folder / f"{path.name}.o", *STRICT) for path in sources]
    run(*LINK, *STRICT, *flags, "sketch.o", *objects, core, "-lm", "-o", "sketch.elf", folder=folder)
    return folder / "sketch.elf"


def for_the_rig(sketch: str) -> str:
    """The sketch with its switch taken away."""
    lines = [line for line in sketch.splitlines(keepends=True) if not line.startswith(SWITCH)]
    assert len(lines) == len(sketch.splitlines()) - 1
    return "".join(lines)


def emulated(elf: Path) -> str:
    """The link to an Uno in the emulator that runs `elf`."""
    return f"avr:{elf}"


def _object(source: Path, out: Path, *flags: str) -> Path:
    run(*(C if source.suffix == ".c" else CPP), *flags, "-c", source, "-o", out)
    return out
