"""The core and its glue build without a warning wherever they are meant to run, and fit."""

from __future__ import annotations

import subprocess

import pytest

from tests.stubs.controller_rig import CORE_SOURCES, STUBS

STRICT = ["-std=c99", "-Wall", "-Wextra", "-Wpedantic", "-Wconversion", "-Werror"]
MACHINES = {
    "host": ["gcc", "-O2"],
    "avr": ["avr-gcc", "-mmcu=atmega328p", "-Os"],
    "arm": ["arm-none-eabi-gcc", "-mcpu=cortex-m3", "-mthumb", "-Os"],
}
PANELS = {"degC": [], "degF": ["-DRC_PANEL_DEGF"]}
FLASH, RAM, STACK = 32 * 1024, 2 * 1024, 512


@pytest.mark.parametrize("machine", MACHINES)
@pytest.mark.parametrize("panel", PANELS)
def test_builds_without_a_warning(machine, panel, tmp_path):
    sources = [str(STUBS / "c" / f"{name}.c") for name in (*CORE_SOURCES, "reference")]
    subprocess.run([*MACHINES[machine], *STRICT, *PANELS[panel], "-c", *sources], check=True, cwd=tmp_path)


def test_whole_firmware_fits_an_atmega328p(tmp_path):
    subprocess.run(
        ["make", "-s", "-C", str(STUBS / "c"), f"BUILD={tmp_path}", "avr"], check=True, capture_output=True
    )
    sizes = subprocess.run(
        ["avr-size", str(tmp_path / "reference-avr.elf")], check=True, capture_output=True, text=True
    )
    text, data, bss = (int(word) for word in sizes.stdout.splitlines()[1].split()[:3])
    assert text + data <= FLASH
    assert data + bss + STACK <= RAM
