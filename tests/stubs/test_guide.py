"""GUIDE.md, step by step, as a person would take them: its blocks are built with the real core and run."""

from __future__ import annotations

import re
import subprocess
from pathlib import Path

from tests.stubs.arduino_core import CPP, ROOT, SWITCH, build_sketch, emulated, run
from tests.whole.rehearsal import play, scenario_of

STUBS = ROOT / "firmware_stubs"
GUIDE = (STUBS / "GUIDE.md").read_text(encoding="utf-8")
LIBRARY = [STUBS / "arduino" / "src" / "Unlit.h", STUBS / "c" / "unlit_kit.c", STUBS / "c" / "unlit_kit.h"]


def block(name: str) -> str:
    (found,) = re.findall(rf"^<!-- {re.escape(name)} -->\n```\w*\n(.*?)^```$", GUIDE, re.M | re.S)
    return found


BEFORE = block("sketch.ino")
AFTER = block("switch") + BEFORE
MENDED = AFTER.replace("void loop() {\n", block("mended"))


def on(sketch: str) -> str:
    """The switch turned on."""
    assert sketch.count(f"//{SWITCH}\n") == 1
    return sketch.replace(f"//{SWITCH}\n", f"{SWITCH}\n")


def build(sketch: str, core: Path, folder: Path, *flags: str, library: bool = True) -> Path:
    folder.mkdir()
    (folder / "bench.h").write_text(block("bench.h"))
    return build_sketch(sketch, core, LIBRARY if library else [], folder, *flags)


def flashed(elf: Path) -> str:
    """The file that is written to the board."""
    out = elf.with_suffix(".hex")
    subprocess.run(["avr-objcopy", "-O", "ihex", "-R", ".eeprom", str(elf), str(out)], check=True)
    return out.read_text()


def test_with_the_switch_off_the_build_is_the_same_to_the_last_byte(core, tmp_path):
    """With the IDE's flags the whole ELF; even with the library at hand the linker takes nothing of it."""
    before = build(BEFORE, core, tmp_path / "before", library=False)
    after = build(AFTER, core, tmp_path / "after", library=False)
    with_library = build(AFTER, core, tmp_path / "library")
    with_lines = build(AFTER, core, tmp_path / "debug", "-g")
    assert before.read_bytes() == after.read_bytes()
    assert flashed(before) == flashed(after) == flashed(with_library) == flashed(with_lines)
    assert len(flashed(before)) > 1000
    plain = [word for word in CPP if word != "-flto"]  # its objects carry a random name and line numbers
    for elf in (before, after):
        run(*plain, "-c", "sketch.cpp", "-o", "plain.o", folder=elf.parent)
    assert (before.parent / "plain.o").read_bytes() == (after.parent / "plain.o").read_bytes()


def test_with_the_switch_on_it_is_another(core, tmp_path):
    before, bench = build(BEFORE, core, tmp_path / "before"), build(on(AFTER), core, tmp_path / "bench")
    assert flashed(before) != flashed(bench)


def test_the_bench_finds_the_broken_wire(core, tmp_path):
    elf = build(on(AFTER), core, tmp_path / "a")
    result = play(scenario_of(block("my-sketch.toml")), emulated(elf), tmp_path)
    outcomes = [verdict.outcome for verdict in result.verdicts]
    assert (result.status, outcomes) == ("fail", ["met", "broken", "broken"])
    shown = [row.split(maxsplit=4) for row in block("run").splitlines()[3:]]
    assert [(row[0], row[4]) for row in shown] == [(each.outcome, each.title) for each in result.verdicts]


def test_the_mended_sketch_passes(core, tmp_path):
    assert MENDED.count("counts > 1003") == 1
    elf = build(on(MENDED), core, tmp_path / "a")
    result = play(scenario_of(block("my-sketch.toml")), emulated(elf), tmp_path)
    assert result.status == "pass", result


def test_the_switch_is_four_lines_and_the_rest_is_one_file():
    assert len(block("switch").splitlines()) == 4
    assert len(block("bench.h").splitlines()) <= 45
