"""`lib:`: a shared library as a device, with a small echo in C."""

from __future__ import annotations

import subprocess
from pathlib import Path

import pytest

from harness.errors import LinkError
from harness.links import open_link

SOURCE = Path(__file__).parent / "echo.c"


def build(folder: Path, name: str, *options: str) -> Path:
    library = folder / name
    command = ["gcc", "-shared", "-fPIC", "-Wall", "-Wextra", *options, SOURCE, "-o", library]
    subprocess.run(command, check=True, capture_output=True)
    return library


@pytest.fixture(scope="module")
def echo(tmp_path_factory):
    return build(tmp_path_factory.mktemp("lib"), "echo.so")


@pytest.fixture
def link(echo):
    link = open_link(f"lib:{echo}")
    yield link
    link.close()


def test_what_is_written_is_answered_at_once(link):
    link.write(b"one\n")
    link.write(b"\x00two\n")
    assert link.read(60.0) == b"one\n\x00two\n"
    assert link.read(60.0) == b""


@pytest.mark.parametrize("count", [0, 1, 4095, 4096, 4097, 8192, 20_000])
def test_an_answer_longer_than_the_room_comes_whole(link, count):
    link.write(b"many %d" % count)
    assert link.read(0.0) == b"." * count


def test_a_flood_is_stopped(link):
    with pytest.raises(LinkError, match=r"floods the line: \d+ bytes came at one call"):
        link.write(b"many 1000000")


def test_a_failure_is_told_with_its_number(link):
    with pytest.raises(LinkError, match="unlit_lib_talk gave -2, not 0 to 4096"):
        link.write(b"fail")


def test_power_clears_at_the_start_and_not_at_a_restart(link):
    for powered in (1, 2, 3):
        link.write(b"count")
        assert link.read(0.0) == b"%d 1\n" % powered
        link.restart()


def test_each_link_starts_afresh_beside_others(echo):
    links = [open_link(f"lib:{echo}") for _ in range(3)]
    links[0].restart()
    for link in links:
        link.write(b"count")
    assert [link.read(0.0) for link in links] == [b"2 1\n", b"1 1\n", b"1 1\n"]
    for link in links:
        link.close()


def test_a_closed_link_says_so(echo):
    link = open_link(f"lib:{echo}")
    link.close()
    link.close()
    for use in (lambda: link.write(b"a"), link.restart):
        with pytest.raises(LinkError, match="the link is closed"):
            use()


def test_close_unloads_the_copy(echo):
    before = Path("/proc/self/maps").read_text().count("echo.so")
    link = open_link(f"lib:{echo}")
    assert Path("/proc/self/maps").read_text().count("echo.so") > before
    link.close()
    assert Path("/proc/self/maps").read_text().count("echo.so") == before


@pytest.mark.parametrize("symbol", ["version", "power", "talk"])
def test_a_missing_function_is_named(tmp_path, symbol):
    library = build(tmp_path, "poor.so", f"-Dunlit_lib_{symbol}=other")
    message = rf"the library has no function unlit_lib_{symbol}\. Link it with the kit's port_lib\.c"
    with pytest.raises(LinkError, match=message):
        open_link(f"lib:{library}")


def test_another_version_is_refused(tmp_path):
    library = build(tmp_path, "new.so", "-DVERSION=2")
    with pytest.raises(LinkError, match="has version 2 of the library interface, this bench 1"):
        open_link(f"lib:{library}")


def test_a_program_is_told(tmp_path):
    program = tmp_path / "firmware"
    subprocess.run(["cc", "-o", program, "-x", "c", "-"], input=b"int main(void) { return 0; }", check=True)
    with pytest.raises(LinkError, match=r"firmware is a program\. Write run:"):
        open_link(f"lib:{program}")


def test_a_folder_is_told(tmp_path):
    with pytest.raises(LinkError, match=r"is a folder\. Name the library in it\."):
        open_link(f"lib:{tmp_path}")


@pytest.mark.parametrize(
    "content",
    [b"\x7fELF\x01\x01\x01" + bytes(9) + b"\x03\x00\x28\x00" + bytes(80), b"not a library, but a text", b""],
    ids=["built for ARM", "a text", "empty"],
)
def test_a_file_for_another_machine_is_told(tmp_path, content):
    file = tmp_path / "fw.so"
    file.write_bytes(content)
    with pytest.raises(LinkError, match=r"fw\.so is no library for this machine\. Build it for this"):
        open_link(f"lib:{file}")


def test_a_library_that_lacks_another_is_told(tmp_path):
    library = build(tmp_path, "needy.so", "-Dmemcmp=not_there", "-Wno-implicit", "-Wl,-z,now")
    with pytest.raises(LinkError, match=r"the library does not load: .*not_there"):
        open_link(f"lib:{library}")
