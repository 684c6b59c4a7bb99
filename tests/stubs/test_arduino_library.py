"""The Arduino library: assembled, built with the real core, its examples run on an emulated Uno."""

from __future__ import annotations

import json
import re
import subprocess
import zipfile
from contextlib import closing
from dataclasses import replace
from pathlib import Path

import pytest

from harness.bench.device import Device
from harness.line import Now, Say, Tell
from harness.links import open_link
from harness.scenario import load_scenario
from tests.stubs.arduino_core import ROOT, build_core, build_sketch, emulated, for_the_rig
from tests.whole.rehearsal import play

STUBS = ROOT / "firmware_stubs"
HOME = STUBS / "arduino"
EXAMPLES = {"Thermostat": "thermostat", "BurnerGuard": "burner-guard"}
VERSION = re.search(r'version = "(.*)"', (ROOT / "pyproject.toml").read_text())[1]
KIT = ("unlit_kit.c", "unlit_kit.h")
ASKED = ("name", "version", "author", "maintainer", "sentence", "paragraph", "category", "url")
CATEGORIES = ("Display", "Communication", "Signal Input/Output", "Sensors", "Device Control", "Timing")
CATEGORIES += ("Data Storage", "Data Processing", "Other")


@pytest.fixture(scope="session")
def build(tmp_path_factory) -> Path:
    """Where `make zip` puts the library."""
    folder = tmp_path_factory.mktemp("library")
    subprocess.run(["make", "-s", "-C", str(HOME), f"BUILD={folder}", "zip"], check=True)
    return folder


def example(name: str) -> str:
    return (HOME / "examples" / name / f"{name}.ino").read_text()


def library_sources(build: Path) -> list[Path]:
    return sorted((build / "Unlit" / "src").iterdir())


def properties() -> dict[str, str]:
    rows = (HOME / "library.properties").read_text().splitlines()
    return dict(row.split("=", 1) for row in rows)


def test_the_library_is_the_kit_and_what_is_here(build):
    found = {path.relative_to(build / "Unlit") for path in (build / "Unlit").rglob("*") if path.is_file()}
    own = {path.relative_to(HOME) for path in HOME.rglob("*") if path.is_file() and "build" not in path.parts}
    assert found == own - {Path("Makefile")} | {Path("src") / name for name in KIT} | {Path("LICENSE")}
    for path in found:
        source = {"LICENSE": ROOT / "LICENSE"}.get(path.name, HOME / path)
        source = STUBS / "c" / path.name if path.name in KIT else source
        assert (build / "Unlit" / path).read_bytes() == source.read_bytes()


def test_there_is_no_second_copy_of_the_kit():
    assert sorted(path.name for path in (HOME / "src").iterdir()) == ["Unlit.h"]


def test_the_archive_holds_the_folder(build):
    with zipfile.ZipFile(build / "Unlit.zip") as archive:
        packed = {name: archive.read(name) for name in archive.namelist() if not name.endswith("/")}
    files = (path for path in (build / "Unlit").rglob("*") if path.is_file())
    assert packed == {path.relative_to(build).as_posix(): path.read_bytes() for path in files}


def test_its_description_is_the_specification_s():
    """Arduino library specification 1.5: the fields the IDE asks for, the categories it knows."""
    fields = properties()
    assert {*ASKED, "architectures"} <= set(fields)
    assert fields["category"] in CATEGORIES
    assert fields["includes"] == "Unlit.h"
    manifest = json.loads((HOME / "library.json").read_text())
    for described in (fields, manifest):
        assert (described["name"], described["version"]) == ("Unlit", VERSION)


def test_every_public_word_is_a_keyword():
    header = (HOME / "src" / "Unlit.h").read_text()
    public = header[header.index("public:") : header.index("private:")]
    methods = set(re.findall(r"^    (?:\w+ )*(?:template.*> \w+ )?(\w+)\(.*\{", public, re.M)) - {"Unlit"}
    methods |= {"begin"}
    rows = [row.split("\t") for row in (HOME / "keywords.txt").read_text().splitlines()[1:]]
    assert {word for word, kind in rows if kind == "KEYWORD2"} == methods


@pytest.mark.parametrize("name", EXAMPLES)
def test_examples_build_for_the_rig_without_the_kit(name, core, build, tmp_path):
    elf = build_sketch(for_the_rig(example(name)), core, [], tmp_path)
    symbols = subprocess.run(["avr-nm", str(elf)], capture_output=True, text=True, check=True).stdout
    assert "unlit" not in symbols.lower()


@pytest.mark.parametrize(("name", "scenario"), EXAMPLES.items())
def test_examples_pass_their_scenario_on_an_emulated_board(name, scenario, core, build, tmp_path):
    elf = build_sketch(example(name), core, library_sources(build), tmp_path)
    result = play(load_scenario(HOME / "extras" / f"{scenario}.toml"), emulated(elf), tmp_path)
    assert result.status == "pass", result
    assert result.repeats == 0


BROKEN = {
    "Thermostat": ("alarm || !run()", "!run()", "heat off"),
    "BurnerGuard": ("else if (stage == BURNING && !flame())\n        enter(LOCKOUT);", "", "gas shut"),
}


@pytest.mark.parametrize("name", BROKEN)
def test_a_broken_example_fails(name, core, build, tmp_path):
    """Without the line that stops the heat for a broken probe or a lost flame."""
    good, bad, title = BROKEN[name]
    assert example(name).count(good) == 1
    elf = build_sketch(example(name).replace(good, bad), core, library_sources(build), tmp_path)
    scenario = replace(load_scenario(HOME / "extras" / f"{EXAMPLES[name]}.toml"), length_ms=4 * 60_000)
    result = play(scenario, emulated(elf), tmp_path)
    assert result.status == "fail"
    broken = [verdict.title for verdict in result.verdicts if verdict.outcome == "broken"]
    assert any(each.startswith(title) for each in broken), broken


WALL_PACE = """
#include <Unlit.h>
enum { GO, N_INPUTS };
enum { LAMP, N_OUTPUTS };
const unlit_channel inputs[] PROGMEM = {{"go", UNLIT_BOOL}};
const unlit_channel outputs[] PROGMEM = {{"lamp", UNLIT_BOOL}};
const char identity[] PROGMEM = "wall 1.0";
Unlit<N_INPUTS, N_OUTPUTS> bench(identity, inputs, outputs, nullptr);
int typed(const char *text) {
    bench.say(text);
    bench.tell("lamp", bench.output(LAMP));
    return bench.running();
}
void setup() { bench.wallPace(); bench.onType(typed); bench.begin(Serial, 57600); }
void loop() { bench.poll(); bench.setOutput(LAMP, bench.inputOn(GO)); }
"""


def test_wall_pace_and_the_console_reach_the_kit(core, build, tmp_path):
    heard = []
    link = open_link(emulated(build_sketch(WALL_PACE, core, library_sources(build), tmp_path)))
    with closing(link), closing(Device(link, on_message=heard.append)) as device:
        assert device.hello().name == "wall"
        device.go(0)
        device.prepare([1])
        device.send_at(100, [1])
        device.receive()
        assert device.type("lamp please")
        assert device.type("once more")  # what the loop changed meanwhile has been told by now
    assert Say("lamp please") in heard
    assert Tell("lamp", 1) in heard
    assert any(isinstance(message, Now) for message in heard)


OWN_CLOCK = """
#include <Unlit.h>
enum { GO, N_INPUTS };
enum { LAMP, N_OUTPUTS };
const unlit_channel inputs[] PROGMEM = {{"go", UNLIT_BOOL}};
const unlit_channel outputs[] PROGMEM = {{"lamp", UNLIT_BOOL}};
const char identity[] PROGMEM = "blinker 1.0";
Unlit<N_INPUTS, N_OUTPUTS> bench(identity, inputs, outputs, nullptr);
void setup() { bench.wallPace(); bench.begin(Serial); }
void loop() { bench.poll(); bench.setOutput(LAMP, millis() / 20 % 2); }
"""


def test_its_own_clock_runs_on_the_chip_that_has_timers(core, build, tmp_path):
    """`millis()` counts by timer 0, which stands still under `avr:`."""
    elf = build_sketch(OWN_CLOCK, core, library_sources(build), tmp_path)
    heard = []
    link = open_link(f"atmega:{elf},wall")
    with closing(link), closing(Device(link, on_message=heard.append)) as device:
        device.hello()
        device.go(0)
        for _ in range(100):
            device.listen(5.0)
            if sum(isinstance(message, Now) for message in heard) >= 4:
                break
    lamp = [message.values for message in heard if isinstance(message, Now)][:4]
    assert lamp in ([((1, 1),), ((1, 0),)] * 2, [((1, 0),), ((1, 1),)] * 2)


WIDE = """
#include <Unlit.h>
enum { N_INPUTS = 12, N_OUTPUTS = 1 };
const unlit_channel inputs[] PROGMEM = {ROWS};
const unlit_channel outputs[] PROGMEM = {{"sum", UNLIT_COUNT}};
const char identity[] PROGMEM = "wide 1.0";
void turn();
Unlit<N_INPUTS, N_OUTPUTS> bench(identity, inputs, outputs, turn);
void setup() { bench.begin(Serial); }
void loop() { bench.poll(); }
void turn() {
    int32_t sum = 0;
    for (uint8_t place = 0; place < N_INPUTS; place++)
        sum += bench.input(place);
    bench.setOutput(0, sum);
}
"""


def test_long_lines_pass_with_the_longer_buffer(build, tmp_path):
    """The setting that README.md names; a line of `at` is 110 bytes here."""
    longer = "-DSERIAL_RX_BUFFER_SIZE=128"
    rows = ", ".join(f'{{"input_{number}", UNLIT_COUNT}}' for number in range(12))
    core = build_core(tmp_path, longer)
    elf = build_sketch(WIDE.replace("ROWS", rows), core, library_sources(build), tmp_path, longer)
    link = open_link(emulated(elf))
    with closing(link), closing(Device(link)) as device:
        device.hello()
        device.go(0)
        device.prepare(range(1, 13))
        for turn in range(1, 50):
            values = [10_000 + turn * place for place in range(12)]
            device.send_at(250 * turn, values)
            assert device.receive() == (sum(values),)
        assert device.repeats == 0
    assert longer in (STUBS / "new" / "arduino" / "Makefile").read_text()
    assert longer in (HOME / "README.md").read_text()
