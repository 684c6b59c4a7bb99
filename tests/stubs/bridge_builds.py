"""The bridge built for its chip and in parts for this machine, and an ATmega328P whose pins a test holds."""

from __future__ import annotations

import ctypes
import subprocess
from collections.abc import Callable
from pathlib import Path
from typing import ClassVar

from tests.stubs.kit_builds import STRICT, STUBS, TESTS, frame

BRIDGE = STUBS / "bridge"


class Resistor(ctypes.Structure):
    """`struct resistor` of signals.h."""

    _fields_: ClassVar = [
        (name, ctypes.c_int32) for name in ("end_to_end_mohm", "wiper_mohm", "series_mohm", "parallel_mohm")
    ]


class Pin(ctypes.Structure):
    """`struct pin` of signals.h."""

    _fields_: ClassVar = [("is_on", ctypes.c_uint8), ("since_ms", ctypes.c_uint32)]


def build_signals(folder: Path) -> dict[str, Callable[..., int]]:
    """The functions of signals.c by name; an overflow or anything undefined in them ends the test run."""
    out = folder / "signals.so"
    flags = ["-O1", "-shared", "-fPIC", "-fsanitize=undefined", "-fno-sanitize-recover=all"]
    subprocess.run(["gcc", *STRICT, *flags, str(BRIDGE / "signals.c"), "-o", str(out)], check=True)
    library = ctypes.CDLL(str(out))
    library.pwm_ticks_of_counts.restype = library.pwm_ticks_of_uv.restype = ctypes.c_uint16
    library.wiper_code.restype = library.settled.restype = ctypes.c_uint8
    names = ("pwm_ticks_of_counts", "pwm_ticks_of_uv", "wiper_code", "settled")
    return {name: getattr(library, name) for name in names}


def build_bridge(folder: Path, *words: str) -> Path:
    """The bridge as its Makefile builds it; `words` go to make."""
    subprocess.run(["make", "-s", "-C", str(BRIDGE), f"BUILD={folder}", *words], check=True)
    return folder / "bridge-avr.elf"


def build_board(folder: Path) -> Path:
    """The simulated chip, which takes a flash image."""
    out = folder / "simulated_board"
    words = ["gcc", "-std=gnu11", "-O2", "-Wall", "-Wextra", "-Werror"]
    source = str(TESTS / "c" / "simulated_board.c")
    subprocess.run([*words, source, "-lsimavr", "-o", str(out)], check=True)
    return out


class Board:
    """A simulated ATmega328P with power on; see c/simulated_board.c. A context manager."""

    def __init__(self, program: Path, elf: Path) -> None:
        image = elf.with_suffix(".bin")
        subprocess.run(["avr-objcopy", "-O", "binary", str(elf), str(image)], check=True)
        pipe = subprocess.PIPE
        self._chip = subprocess.Popen([str(program), str(image)], stdin=pipe, stdout=pipe, text=True)
        self.run_ms(1)

    def __enter__(self) -> Board:
        return self

    def __exit__(self, *error: object) -> None:
        self._chip.communicate()
        assert self._chip.returncode == 0

    def do(self, command: str) -> list[list[str]]:
        """What happened meanwhile, by words."""
        assert self._chip.stdin is not None
        assert self._chip.stdout is not None
        self._chip.stdin.write(command + "\n")
        self._chip.stdin.flush()
        rows = []
        while (row := self._chip.stdout.readline()) != ".\n":
            assert row, "the simulated chip has ended"
            rows.append(row.split())
        return rows

    def say(self, body: str, then_ms: int = 2) -> list[list[str]]:
        """Send a line, wait for its answer and then `then_ms` more; what happened."""
        return self.do("send " + frame(body.encode()).decode().strip()) + self.run_ms(then_ms)

    def run_ms(self, time_ms: int) -> list[list[str]]:
        return self.do(f"run {1000 * time_ms}")

    def pin(self, name: str, level: int) -> None:
        """Drive a pin from outside, as `pin("D2", 0)`."""
        self.do(f"pin {name[0]} {name[1]} {level}")

    def is_high(self, name: str) -> bool:
        return bool(self._port(name)[2] >> int(name[1]) & 1)

    def drives(self, name: str) -> bool:
        """Whether the pin is an output."""
        return bool(self._port(name)[1] >> int(name[1]) & 1)

    def _port(self, name: str) -> list[int]:
        return [int(word) for word in self.do(f"port {name[0]}")[0][1:]]

    def register(self, address: int) -> int:
        return int(self.do(f"reg {address:x}")[0][1])

    def clock_ms(self) -> float:
        return int(self.do("clock")[0][1]) / 1000.0


def lines(rows: list[list[str]]) -> list[str]:
    """The bodies of the lines among what happened."""
    return [" ".join(row[1:]).rpartition("*")[0] for row in rows if row[0] == "uart"]


def words_sent(rows: list[list[str]]) -> list[tuple[int, str, str]]:
    """The bytes that went over SPI: (byte, level of the first select pin, of the second)."""
    return [(int(row[1], 16), row[2], row[3]) for row in rows if row[0] == "spi"]
