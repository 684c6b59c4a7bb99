"""From text to link: what is refused, and the mend it names."""

from __future__ import annotations

import subprocess
import sys
from types import SimpleNamespace

import pytest

from harness.errors import LinkError, WrongUseError
from harness.links import open_link


@pytest.mark.parametrize(
    ("text", "meant"),
    [
        ("rum:./fw", "Did you mean run:./fw?"),
        ("RUN:./fw", "Did you mean run:./fw?"),
        ("tty:./fw", "Did you mean pty:./fw?"),
        ("libs:./fw.so", "Did you mean lib:./fw.so?"),
        ("buildin", "Did you mean builtin?"),
        ("built-in:degF", "Did you mean builtin:degF?"),
        ("run", "Did you mean run:…?"),
        ("ttyACM0", "Did you mean /dev/ttyACM0?"),
        ("com3", "Did you mean COM3?"),
        ("", "(nothing): no such kind of link. Links are builtin, run:COMMAND"),
        ("something else", "something else: no such kind of link. Links are builtin"),
    ],
)
def test_an_unknown_kind_names_the_one_meant(text, meant):
    with pytest.raises(WrongUseError) as error:
        open_link(text)
    assert meant in str(error.value)
    assert "no such kind of link" in str(error.value)


@pytest.mark.parametrize(("name", "meant"), [("fw", "run:"), ("fw.so", "lib:")])
def test_a_file_names_the_kind_it_wants(tmp_path, monkeypatch, name, meant):
    monkeypatch.chdir(tmp_path)
    (tmp_path / name).touch()
    with pytest.raises(WrongUseError, match=f"Did you mean {meant}{name}"):
        open_link(name)


@pytest.mark.parametrize(("machine", "meant"), [(83, "avr:"), (40, "arm:"), (62, "run:")])
def test_a_firmware_s_file_names_the_chip_it_is_for(tmp_path, monkeypatch, machine, meant):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "fw.elf").write_bytes(b"\x7fELF\x01\x01\x01" + bytes(9) + bytes([2, 0, machine]) + bytes(80))
    with pytest.raises(WrongUseError, match=f"Did you mean {meant}fw.elf"):
        open_link("fw.elf")


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("run:", "run:: no command. Write the program after the colon"),
        ("pty:  ", "no command"),
        ("run:'./fw", "run:'./fw: no closing quotation. Close each quote"),
        ("lib:", "lib:: no file. Write the library after the colon"),
        ("builtin:kelvin", r"'kelvin' is neither a panel \(degC, degF\) nor a controller \(ch"),
        ("/dev/ttyACM0?baud=fast", "the baud rate is a number like 115200, not 'fast'"),
        ("/dev/ttyACM0?parity=even", r"unknown option 'parity=even'\. The one option is \?baud="),
    ],
)
def test_a_malformed_text_is_wrong_use(text, what):
    with pytest.raises(WrongUseError, match=what):
        open_link(text)


@pytest.mark.parametrize(
    ("text", "what"),
    [
        ("run:./no-such-program", r"there is no program '\./no-such-program'\. Check the path"),
        ("pty:./no-such-program", r"there is no program '\./no-such-program'"),
        ("lib:./no-such.so", r"there is no file 'no-such\.so'\. Build the library"),
        ("/dev/no-such-port", r"no-such-port: there is no such port\. (There are|No serial port)"),
        ("/dev/null", "/dev/null: it is no serial port"),
        ("fine://x", r"fine://x: fine://x does not open: .*fine"),
    ],
)
def test_what_does_not_open_is_a_link_error(text, what):
    with pytest.raises(LinkError, match=what):
        open_link(text)


AVR_PROGRAM = b"\x7fELF\x01\x01\x01" + bytes(9) + b"\x02\x00\x53\x00" + bytes(80)


@pytest.mark.parametrize(
    ("content", "mode", "what"),
    [
        (b"#!/bin/sh\n", 0o644, "may not be run. Make it executable: chmod [+]x"),
        (AVR_PROGRAM, 0o755, "no program for this machine"),
        (b"#!/no/such/interpreter\n", 0o755, "names an interpreter that does not exist"),
    ],
    ids=["not executable", "built for AVR", "no interpreter"],
)
def test_a_program_that_does_not_start(tmp_path, content, mode, what):
    program = tmp_path / "fw"
    program.write_bytes(content)
    program.chmod(mode)
    with pytest.raises(LinkError, match=what):
        open_link(f"run:{program}")


@pytest.mark.parametrize("kind", ["run", "pty"])
def test_a_program_of_this_folder_wants_its_dot(tmp_path, monkeypatch, kind):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "fw").write_bytes(b"#!/bin/sh\n")
    (tmp_path / "fw").chmod(0o755)
    with pytest.raises(LinkError, match=rf"'fw' is a file of this folder\. Write {kind}:\./fw"):
        open_link(f"{kind}:fw")


@pytest.mark.parametrize("kind", ["run", "pty"])
def test_a_folder_is_no_program(tmp_path, monkeypatch, kind):
    monkeypatch.chdir(tmp_path)
    (tmp_path / "fw").mkdir()
    for name in ("./fw", "fw"):
        with pytest.raises(LinkError, match=f"'{name}' is a folder. Name the program in it"):
            open_link(f"{kind}:{name}")


@pytest.mark.parametrize("text", ["run:fw.exe", "pty:fw.exe", "builtin"])
def test_a_system_without_poll_is_told(monkeypatch, text):
    monkeypatch.setattr("harness.links.open.os", SimpleNamespace(name="nt"))
    with pytest.raises(LinkError, match="a child process as device needs Linux or macOS"):
        open_link(text)


def test_opening_imports_only_the_kind_wanted():
    """pyserial and ctypes cost time that a command without them need not spend."""
    code = "import sys, harness.links; print({'serial', 'ctypes', 'subprocess'} & set(sys.modules))"
    shown = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert shown.stdout == "set()\n"
