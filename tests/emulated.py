"""Firmware built for the emulated boards, and for the host to compare it with."""

from __future__ import annotations

import subprocess
from pathlib import Path

C_SOURCES = Path(__file__).resolve().parents[1] / "firmware_stubs" / "c"
BARE = Path(__file__).resolve().parent / "links" / "devices"
KINDS = ("avr", "arm")


def build_emulated(folder: Path, panel: str = "degC") -> dict[str, str]:
    """The reference controller built for both boards: the links to it, by kind."""
    make = ["make", "-s", "-C", str(C_SOURCES), *KINDS, f"BUILD={folder}", f"PANEL={panel}"]
    subprocess.run(make, check=True)
    return {kind: f"{kind}:{folder}/reference-{kind}.elf" for kind in KINDS}


def build_host(folder: Path, panel: str = "degC", *more: str) -> str:
    """The link to the host build; `more` goes to make, such as SAN=1."""
    make = ["make", "-s", "-C", str(C_SOURCES), "host", f"BUILD={folder}", f"PANEL={panel}", *more]
    subprocess.run(make, check=True)
    return f"run:{folder}/reference"


def build_bare(folder: Path, kind: str, source: str, chip: str = "atmega328p") -> str:
    """A few lines of C without the kit (tests/links/devices); the link to it."""
    out = folder / f"{Path(source).stem}-{kind}.elf"
    if kind in ("avr", "atmega"):
        words = ["avr-gcc", f"-mmcu={chip}"]
    else:
        words = ["arm-none-eabi-gcc", "-mcpu=cortex-m3", "-mthumb", "-nostdlib", "-nostartfiles"]
        words += ["-T", str(C_SOURCES / "port_arm.ld")]
    subprocess.run([*words, "-Os", "-Wall", "-Werror", str(BARE / source), "-o", str(out)], check=True)
    return f"{kind}:{out}"
