"""The kits to test, each behind one face: `talk(bytes) -> bytes` and `power()`."""

from __future__ import annotations

import ctypes
import subprocess
import sys
from pathlib import Path

from tests.stubs.dialogue_app import INPUTS, OUTPUTS, DialogueApp

TESTS = Path(__file__).resolve().parent
STUBS = TESTS.parents[1] / "firmware_stubs"
sys.path.insert(0, str(STUBS / "python"))

from unlit_kit import Kit, crc_hqx  # noqa: E402

STRICT = ("-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror")
SANITIZE = ("-g", "-O1", "-fsanitize=address,undefined", "-fno-sanitize-recover=all")
ROOM = 1 << 20


def frame(body: bytes) -> bytes:
    """A body with its check and LF."""
    return body + b"*%04X\n" % crc_hqx(body, 0xFFFF)


def compile_app(out: Path, app: str, port: str, *flags: str) -> Path:
    """An application of tests/stubs/c behind the C kit and one port."""
    sources = [STUBS / "c" / port, STUBS / "c" / "unlit_kit.c", TESTS / "c" / app]
    command = ["gcc", *STRICT, *flags, f"-I{STUBS / 'c'}", *map(str, sources), "-o", str(out)]
    subprocess.run(command, check=True)
    return out


class PythonKit:
    """The Python kit in this process."""

    def __init__(self, *, wall: bool = False) -> None:
        self._wall = wall
        self.power()

    def power(self) -> None:
        self._answer = bytearray()
        self._kit = Kit("dialogue 1.0", INPUTS, OUTPUTS, self._answer.extend, DialogueApp(), self._wall)

    def talk(self, data: bytes) -> bytes:
        self._answer.clear()
        self._kit.feed(data)
        return bytes(self._answer)


class CLibrary:
    """The C kit in this process, through the shared-library port."""

    def __init__(self, path: Path) -> None:
        self._library = ctypes.CDLL(str(path))
        self._out = ctypes.create_string_buffer(ROOM)
        assert self._library.unlit_lib_version() == 1
        self.power()

    def power(self) -> None:
        self._library.unlit_lib_power(1)

    def talk(self, data: bytes) -> bytes:
        count = self._library.unlit_lib_talk(data, len(data), self._out, ROOM)
        assert count >= 0
        return self._out.raw[:count]


class CChild:
    """The C kit built with address and undefined-behaviour sanitizers: a child for each `talk`."""

    def __init__(self, path: Path) -> None:
        self._path = path

    def power(self) -> None:
        """Each talk is a new child."""

    def talk(self, data: bytes) -> bytes:
        done = subprocess.run([str(self._path)], input=data, capture_output=True, check=False)
        assert (done.returncode, done.stderr) == (0, b"")
        return done.stdout
