"""Firmware built from the C sources, and the ways to put it on the bench."""

from __future__ import annotations

import re
import subprocess
from dataclasses import dataclass
from pathlib import Path

C_SOURCES = Path(__file__).resolve().parents[1] / "firmware_stubs" / "c"
CONTROL_SOURCES = (
    "controller", "burner", "calibration", "loops", "pid", "probes", "panel", "program", "response",
    "controller_config",
)  # fmt: skip
LINE_SOURCES = ("port_lib", "unlit_kit", "reference")
STRICT = ("-std=c99", "-O1", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror")


@dataclass(frozen=True)
class Firmware:
    """The reference controller in C as `make` builds it: a program and a shared library."""

    host: Path
    library: Path

    @property
    def links(self) -> dict[str, str]:
        """Every way to it, by kind."""
        return {"run": f"run:{self.host}", "pty": f"pty:{self.host}", "lib": f"lib:{self.library}"}


def build_reference(folder: Path, panel: str = "degC") -> Firmware:
    """Build the reference controller with `make`; `panel` is the unit of its set points."""
    words = ["make", "-s", "-C", str(C_SOURCES), "host", "lib", f"BUILD={folder}", f"PANEL={panel}"]
    subprocess.run(words, check=True)
    return Firmware(folder / "reference", folder / "reference.so")


def build_stand_in(core: Path, out: Path) -> Path:
    """A shared library with the reference controller's channels, but `core` in place of controller.c."""
    return _build([core, *_sources(*LINE_SOURCES, *CONTROL_SOURCES[1:])], out)


def build_altered(figure: str, folder: Path) -> Path:
    """The reference controller as a library, but with `figure`, such as `loss_ms = 6000`, in its table."""
    table = (C_SOURCES / f"{CONTROL_SOURCES[-1]}.c").read_text()
    altered, found = re.subn(rf"\.{figure.split()[0]} = -?\d+", f".{figure}", table)
    assert found == 1
    (folder / "altered.c").write_text(altered)
    sources = [folder / "altered.c", *_sources(*LINE_SOURCES, *CONTROL_SOURCES[:-1])]
    return _build(sources, folder / "altered.so")


def _sources(*names: str) -> list[Path]:
    return [C_SOURCES / f"{name}.c" for name in names]


def _build(sources: list[Path], out: Path) -> Path:
    words = ["gcc", *STRICT, "-shared", "-fPIC", f"-I{C_SOURCES}", "-o", str(out), *map(str, sources)]
    subprocess.run(words, check=True)
    return out
