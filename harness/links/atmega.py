"""`atmega:FILE.elf`: the firmware as built for an ATmega328P, played cycle by cycle (libsimavr).

What `avr:` lacks is here: EEPROM, which outlives a power cut, the 8-bit timers and with them Arduino's
`millis()`, the converter (its pins read 0 V), SLEEP, and instructions that take their time at 16 MHz. The
helper program atmega_chip.c is compiled when the link opens, in a third of a second. One exchange of the
reference controller takes 17 ms on the chip, most of it at 115200 baud, and was played in 2.3 ms where `avr:`
took 5.5 (2 busy cores, one series of 400 exchanges).

Behind the file's name `,wall` keeps the chip's clock at the wall's, for a run in wall pace.
"""

from __future__ import annotations

import shutil
import subprocess
import tempfile
from pathlib import Path

from harness.errors import LinkError, WrongUseError
from harness.links.emulator_file import AVR, check_elf
from harness.links.run import PipeLink

PACKAGES = "apt install gcc libc6-dev libsimavr-dev"
WALL = ",wall"
_SOURCE = Path(__file__).with_name("atmega_chip.c")


def open_atmega(text: str, rest: str) -> AtmegaLink:
    """Start the firmware of a file on the chip. Raises WrongUseError, LinkError."""
    by_the_wall = rest.endswith(WALL)
    name = rest.removesuffix(WALL)
    if not name:
        raise WrongUseError(f"{text}: no file. Write it after the colon, as in atmega:firmware.elf.")
    path = Path(name)
    check_elf(text, path, AVR, "ATmega328P")
    return AtmegaLink(text, path, by_the_wall)


class AtmegaLink(PipeLink):
    """An ATmega328P in a helper program; its EEPROM is the link's non-volatile file."""

    program = "the simulated chip"

    def __init__(self, text: str, firmware: Path, by_the_wall: bool) -> None:
        self._built = tempfile.TemporaryDirectory(prefix="unlit-", ignore_cleanup_errors=True)
        try:
            helper = _build(text, Path(self._built.name))
            pace = ["wall"] if by_the_wall else []
            super().__init__(text, [str(helper), str(firmware.resolve()), "{nv}", *pace])
        except BaseException:
            self._built.cleanup()
            raise

    def close(self) -> None:
        """As `Link.close`."""
        super().close()
        self._built.cleanup()


def _build(text: str, folder: Path) -> Path:
    """Compile the helper program. Raises LinkError."""
    compiler = shutil.which("cc") or shutil.which("gcc")
    if compiler is None:
        raise LinkError(
            f"{text}: the chip's simulator is compiled here, and there is no C compiler. "
            f"Install it; on Debian: {PACKAGES}"
        )
    helper = folder / "atmega_chip"
    words = [compiler, "-std=gnu11", "-O2", str(_SOURCE), "-lsimavr", "-o", str(helper)]
    made = subprocess.run(words, capture_output=True, text=True, errors="replace", check=False)
    if made.returncode != 0:
        first = next((line for line in made.stderr.splitlines() if "rror" in line or "cannot" in line), "")
        raise LinkError(
            f"{text}: the chip's simulator could not be compiled: {first.strip()[-200:]!a}. "
            f"Is libsimavr installed? On Debian: {PACKAGES}"
        )
    return helper
