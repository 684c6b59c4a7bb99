"""The folder that `unlit new` makes: which files, from where, and what is filled in.

The templates are in firmware_stubs/new/: `shared/` goes into every folder, beside it is one folder a
language; the kit comes from where everybody's comes. In the texts `@WORD@` stands for what differs.
"""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import dataclass
from importlib import metadata
from pathlib import Path

from harness.shipped import shipped
from harness.version import version

SHARED = {
    "README.md": "new/shared/README.md",
    ".gitignore": "new/shared/gitignore",
    ".github/workflows/bench.yml": "new/shared/workflow.yml",
    "scenarios/rig.wiring.toml": "new/shared/scenarios/rig.wiring.toml",
    "scenarios/first-heat.toml": "new/shared/scenarios/first-heat.toml",
    "scenarios/probe-open.toml": "new/shared/scenarios/probe-open.toml",
    "scenarios/flame-lost.toml": "new/shared/scenarios/flame-lost.toml",
}
FILLED_IN = ("README.md", ".github/workflows/bench.yml")


@dataclass(frozen=True)
class Starter:
    """What a language has of its own.

    Attributes
    ----------
    name : the language as a person reads it.
    device : the link of `make test`.
    bench : the file with the tables of channels.
    files : name in the made folder to (name below firmware_stubs/, what it is; empty: not worth a word).
    tools : shell line that installs what the build needs on a fresh Debian or Ubuntu machine.
    board : how it gets on a real board, one sentence.
    """

    name: str
    device: str
    bench: str
    files: Mapping[str, tuple[str, str]]
    tools: str
    board: str


STARTERS = {
    "c": Starter(
        name="C",
        device="run:build/controller",
        bench="bench.c",
        files={
            "controller.c": ("new/c/controller.c", "what it does, without pins or line"),
            "controller.h": ("new/c/controller.h", ""),
            "bench.c": ("new/c/bench.c", "the controller on the line: its channels"),
            "Makefile": ("new/c/Makefile", "build and test, on this computer and on an emulated board"),
            "kit/unlit_kit.c": ("c/unlit_kit.c", "the line protocol; leave as it is"),
            "kit/unlit_kit.h": ("c/unlit_kit.h", ""),
            "kit/app.h": ("c/app.h", ""),
            "kit/port_host.c": ("c/port_host.c", "this computer"),
            "kit/port_avr.c": ("c/port_avr.c", "an ATmega328P"),
        },
        tools="sudo apt-get update && sudo apt-get install -y gcc make",
        board="On a board: `make avr` builds the same for an ATmega328P, `make test-avr` plays the scenarios "
        "in an emulated one, and `unlit run scenarios --device /dev/ttyACM0` on a real one. The build for "
        "the rig has a main loop with pins in place of `bench.c`.",
    ),
    "python": Starter(
        name="Python",
        device="run:python3 bench.py",
        bench="bench.py",
        files={
            "controller.py": ("new/python/controller.py", "what it does, without pins or line"),
            "bench.py": ("new/python/bench.py", "the controller on the line: its channels"),
            "unlit_kit.py": ("python/unlit_kit.py", "the line protocol; leave as it is"),
            "Makefile": ("new/python/Makefile", "the test"),
        },
        tools="sudo apt-get update && sudo apt-get install -y make",
        board="On a board with MicroPython: copy the three files, and let `main()` read from and write to "
        "its UART; then `unlit run scenarios --device /dev/ttyACM0`.",
    ),
    "arduino": Starter(
        name="C and C++ for Arduino",
        device="avr:build/controller.elf",
        bench="controller/controller.ino",
        files={
            "controller/controller.ino": ("new/arduino/controller.ino", "the sketch: pins, or the bench"),
            "controller/controller.c": ("new/c/controller.c", "what it does, without pins or line"),
            "controller/controller.h": ("new/c/controller.h", ""),
            "controller/Unlit.h": ("arduino/src/Unlit.h", "the kit for a sketch; leave as it is"),
            "controller/unlit_kit.c": ("c/unlit_kit.c", "the line protocol; leave as it is"),
            "controller/unlit_kit.h": ("c/unlit_kit.h", ""),
            "Makefile": ("new/arduino/Makefile", "build for an Uno and test in an emulated one"),
        },
        tools="sudo apt-get update && sudo apt-get install -y make gcc-avr avr-libc arduino-core-avr "
        "qemu-system-misc",
        board="On a board: open `controller/` in the IDE, upload, then `unlit run scenarios --device "
        "/dev/ttyACM0`. For the rig take the line `#define ON_THE_BENCH` away.",
    ),
}


def contents(language: str) -> dict[str, bytes]:
    """The made folder: name of each file to its bytes."""
    starter, home = STARTERS[language], shipped("firmware_stubs")
    sources = {name: source for name, (source, _) in starter.files.items()} | SHARED
    made = {name: (home / source).read_bytes() for name, source in sorted(sources.items())}
    schemas = (shipped("scenarios") / "schema").glob("*.schema.json")
    made |= {f"scenarios/schema/{path.name}": path.read_bytes() for path in sorted(schemas)}
    for name in FILLED_IN:
        text = made[name].decode()
        for word, value in _words(starter).items():
            text = text.replace(f"@{word}@", value)
        made[name] = text.encode()
    return made


def _words(starter: Starter) -> dict[str, str]:
    device = starter.device
    rows = [f"| `{name}` | {about} |" for name, (_, about) in starter.files.items() if about]
    return {
        "LANGUAGE": starter.name,
        "DEVICE": device,
        "DEVICE_WORD": f"'{device}'" if " " in device else device,
        "FILES": "\n".join(rows),
        "BENCH": starter.bench,
        "BOARD": starter.board,
        "TOOLS": starter.tools,
        "ORIGIN": origin(),
        "VERSION": version(),
    }


def origin() -> str:
    """Where pip found this Unlit, as pip takes it; empty if only this machine knows.

    An address that pip was given is on record in direct_url.json (PEP 610); without that record it came from
    an index, by its name.
    """
    try:
        record = metadata.distribution("unlit").read_text("direct_url.json")
    except metadata.PackageNotFoundError:
        return ""
    if record is None:
        return f"unlit=={version()}"
    return _address(json.loads(record))


def _address(record: Mapping[str, object]) -> str:
    url, source = str(record.get("url", "")), record.get("vcs_info")
    if url.startswith("file:") or "@" in url.partition("://")[2].partition("/")[0]:
        return ""  # a folder of this machine, or an address with somebody's password in it
    if not isinstance(source, dict):
        return url
    return f"{source.get('vcs')}+{url}@{source.get('commit_id')}"


def write(folder: Path, made: Mapping[str, bytes]) -> None:
    """Write the files below `folder`, none over another. Raises OSError."""
    for name, content in made.items():
        path = folder / name
        path.parent.mkdir(parents=True, exist_ok=True)
        with path.open("xb") as file:
            file.write(content)
