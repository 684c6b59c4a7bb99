"""The host ports: non-volatile memory, power, options, room."""

from __future__ import annotations

import ctypes
import os
import subprocess

import pytest

from tests.stubs.kit_builds import SANITIZE, CLibrary, compile_app, frame

KEPT = frame(b"type kept")
NOTHING = frame(b"tell stored 0") + frame(b"tell byte 0") + frame(b"got 1")
DAMAGED = frame(b"tell stored -1") + frame(b"tell byte 0") + frame(b"got 1")
SEVEN = frame(b"tell stored 1") + frame(b"tell byte 7") + frame(b"got 1")
KEEP_SEVEN = frame(b"type keep 7")


@pytest.fixture(scope="module")
def child(tmp_path_factory):
    return compile_app(tmp_path_factory.mktemp("ports") / "memory", "memory_app.c", "port_host.c", *SANITIZE)


@pytest.fixture(scope="module")
def library(tmp_path_factory):
    out = tmp_path_factory.mktemp("ports") / "memory.so"
    return compile_app(out, "memory_app.c", "port_lib.c", "-O2", "-shared", "-fPIC")


def talk(child, data: bytes, *arguments: str, **environment: str) -> bytes:
    clean = {name: value for name, value in os.environ.items() if name != "UNLIT_NV"}
    command, env = [str(child), *arguments], clean | environment
    return subprocess.run(command, input=data, capture_output=True, check=True, env=env).stdout


def test_without_a_file_memory_lasts_as_long_as_the_process(child):
    assert talk(child, KEPT + KEEP_SEVEN + KEPT) == NOTHING + frame(b"got 1") + SEVEN
    assert talk(child, KEPT) == NOTHING


def test_memory_in_a_file_outlives_the_process(child, tmp_path):
    file = str(tmp_path / "nv")
    assert talk(child, KEPT + KEEP_SEVEN, "--nv", file) == NOTHING + frame(b"got 1")
    assert talk(child, KEPT, "--nv", file) == SEVEN
    assert talk(child, KEPT, UNLIT_NV=file) == SEVEN
    assert [path.name for path in tmp_path.iterdir()] == ["nv"]


@pytest.mark.parametrize("content", [b"", b"\x07", b"\x07\x07", b"\x07\xf8\x00"])
def test_a_damaged_file_is_not_taken_for_an_empty_memory(child, tmp_path, content):
    (tmp_path / "nv").write_bytes(content)
    assert talk(child, KEPT, UNLIT_NV=str(tmp_path / "nv")) == DAMAGED


def test_memory_that_cannot_be_written_is_noticed(child, tmp_path):
    assert talk(child, KEEP_SEVEN, UNLIT_NV=str(tmp_path / "missing" / "nv")) == frame(b"got 0")


def test_library_keeps_memory_over_a_power_cut_and_clears_it_when_fresh(library):
    kit = CLibrary(library)
    assert kit.talk(KEEP_SEVEN + KEPT) == frame(b"got 1") + SEVEN
    ctypes.CDLL(str(library)).unlit_lib_power(0)
    assert kit.talk(KEPT) == SEVEN
    ctypes.CDLL(str(library)).unlit_lib_power(1)
    assert kit.talk(KEPT) == NOTHING


def test_a_power_cut_forgets_half_a_line_and_the_run(library):
    kit = CLibrary(library)
    assert kit.talk(frame(b"go 5") + b"at 1") == frame(b"ok 5")
    ctypes.CDLL(str(library)).unlit_lib_power(0)
    assert kit.talk(frame(b"at 10")) == frame(b"no not running")


def test_library_says_when_its_answer_does_not_fit(library):
    CLibrary(library)
    bare, out = ctypes.CDLL(str(library)), ctypes.create_string_buffer(b"#" * 40)
    sent = frame(b"end")
    answer = frame(b"ok 0")
    assert bare.unlit_lib_talk(sent, len(sent), out, len(answer) - 1) == -1
    assert out.raw[len(answer) - 1 :].strip(b"\0") == b"#" * (41 - len(answer))
    assert bare.unlit_lib_talk(sent, len(sent), out, len(answer)) == len(answer)
    assert out.raw.startswith(answer)


@pytest.mark.parametrize("arguments", [["--nv"], ["--fast"], ["--nv", "a", "b"]])
def test_host_port_refuses_what_it_does_not_know(child, arguments):
    done = subprocess.run([str(child), *arguments], capture_output=True, text=True, check=False)
    assert done.returncode == 2
    assert "Use no option, --nv FILE, or --wall." in done.stderr
