"""The build that a run is of: which files of a link are taken into account."""

from __future__ import annotations

import hashlib
from pathlib import Path

import pytest

from harness.links.firmware import firmware_files


def sha256(content: bytes) -> str:
    return hashlib.sha256(content).hexdigest()


@pytest.fixture
def here(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "board.py").write_bytes(b"print()")
    (tmp_path / "a b.so").write_bytes(b"\x7fELF")
    return tmp_path


@pytest.mark.parametrize(
    ("link", "found"),
    [
        ("run:python3 board.py --fast", {"board.py": sha256(b"print()")}),
        ("pty:./board.py", {"./board.py": sha256(b"print()")}),
        ("lib:a b.so", {"a b.so": sha256(b"\x7fELF")}),
        ("run:'a b.so' board.py", {"a b.so": sha256(b"\x7fELF"), "board.py": sha256(b"print()")}),
        ("avr:nowhere.elf", {}),
        *[(f"{kind}:a b.so", {"a b.so": sha256(b"\x7fELF")}) for kind in ("avr", "arm", "atmega")],
        ("atmega:a b.so,wall", {"a b.so": sha256(b"\x7fELF")}),
        ("lib:", {}),
        ("run:'open quote", {}),
        ("/dev/ttyACM0", {}),
        ("COM3", {}),
    ],
)
def test_files_of_a_link_are_taken_as_it_names_them(here: Path, link: str, found: dict[str, str]) -> None:
    assert firmware_files(link) == found


def test_the_built_in_device_is_its_program_and_all_it_is_made_of() -> None:
    assert "firmware_stubs/python/reference.py" in firmware_files("builtin:degF,wall")


def test_a_changed_file_is_another_build(here: Path) -> None:
    before = firmware_files("run:./board.py")
    (here / "board.py").write_bytes(b"print(1)")
    assert firmware_files("run:./board.py") != before
