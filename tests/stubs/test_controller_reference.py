"""The reference controller on the line: C and Python alike, byte for byte, and over a power cut."""

from __future__ import annotations

import subprocess
import sys

import pytest

from tests.stubs.calibration_rig import Rig, calibrate
from tests.stubs.controller_chance import Chance
from tests.stubs.controller_rig import FOUND, OUTPUTS, PLACE, STUBS, PythonController
from tests.stubs.kit_builds import frame

PYTHON = [sys.executable, str(STUBS / "python" / "reference.py")]
PANELS = ("degC", "degF")
STEPS = 400


@pytest.fixture(scope="module")
def references(tmp_path_factory):
    """{panel: (C program, Python program)}"""
    found = {}
    for panel in PANELS:
        folder = tmp_path_factory.mktemp(panel)
        make = ["make", "-s", "-C", str(STUBS / "c"), f"BUILD={folder}", f"PANEL={panel}", "host"]
        subprocess.run(make, check=True, capture_output=True)
        found[panel] = ([str(folder / "reference")], [*PYTHON, "--panel", panel])
    return found


def talk(command: list[str], lines: list[str]) -> list[str]:
    """The bodies of a program's answers to some lines."""
    data = b"".join(frame(line.encode()) for line in lines)
    done = subprocess.run(command, input=data, capture_output=True, check=True)
    assert done.stderr == b""
    return [line.rpartition("*")[0] for line in done.stdout.decode().splitlines()]


def stimulus(now_ms: int, inputs: list[int | None]) -> list[str]:
    """`put` and `at` lines that carry all inputs."""
    words = [f"{place + 1}={'x' if value is None else value}" for place, value in enumerate(inputs)]
    puts = [" ".join(["put", *words[n : n + 6]]) for n in range(0, len(words), 6)]
    return [*puts, f"at {now_ms}"]


def random_lines(seed: int) -> list[str]:
    """A random run; the rig answers a controller that is never heard, so the plant only drifts."""
    chance = Chance(seed)
    chance.put("run", 1)
    lines = ["hi 1", f"go {chance.now_ms}"]
    for step in range(STEPS):
        now_ms, quiet_ms, inputs = chance.next_step([step // 40 % 2, 0, 1, 0, 0, 0, 0, 1])
        silent = quiet_ms > 2000
        lines += [f"tick {now_ms}"] if silent else stimulus(now_ms, inputs)
        if chance.random.random() < 0.01:
            lines.append(f"back {now_ms}")
    return [*lines, "end"]


@pytest.mark.parametrize("panel", PANELS)
@pytest.mark.parametrize("seed", range(4))
def test_both_give_the_same_bytes(references, panel, seed):
    lines = random_lines(seed)
    in_c, in_python = (talk(command, lines) for command in references[panel])
    assert in_c[0].startswith("me 1 reference-c ")
    assert in_python[0].startswith("me 1 reference-python ")
    assert in_c[1:] == in_python[1:]
    assert in_c[-1].endswith(" 1=0 2=0 3=0 4=0 5=0 6=0 7=0 8=0")


def changes(second: int, before: list[int | None], now: list[int | None]) -> str:
    """An `at` line with the inputs that have changed."""
    pairs = enumerate(zip(before, now, strict=True))
    return " ".join(
        [f"at {second * 1000}", *(f"{place + 1}={new}" for place, (old, new) in pairs if old != new)]
    )


def test_both_tell_the_same_calibration(references):
    found, sent = calibrate(PythonController(), Rig(90.0, 1500.0, 20.0))
    lines = ["hi 1", "go 0", *stimulus(0, sent[0])]
    lines += [changes(second, *sent[second - 1 : second + 1]) for second in range(1, len(sent))]
    said = [talk(command, lines)[1:] for command in references["degC"]]
    assert said[0] == said[1]
    told = [line.split()[1:] for line in said[0] if line.startswith("tell ")]
    phases = [["calibration", str(phase)] for phase in range(1, 6)]
    assert [words for words in told if words[0] == "calibration"] == phases
    assert told[-len(FOUND) - 1 :] == [phases[-1], *([name, str(found[name])] for name in FOUND)]


@pytest.mark.parametrize("panel", PANELS)
def test_channels_are_those_of_the_specification(references, panel):
    spec = (STUBS / "CONTROLLER.md").read_text(encoding="utf-8")
    for command in references[panel]:
        said = [line.split() for line in talk(command, ["hi 1"])]
        inputs = {words[2]: (int(words[1]), words[3]) for words in said if words[0] == "in"}
        assert [name for name, _ in sorted(inputs.items(), key=lambda item: item[1])] == list(PLACE)
        assert [words[2] for words in said if words[0] == "out"] == list(OUTPUTS)
        for name, (number, unit) in inputs.items():
            if number <= 16:
                declared = "mdegC or mdegF" if unit == "mdegF" or name.endswith("setpoint") else unit
                assert f"| {number} | {name} | {declared} |" in spec
        assert inputs["mash_setpoint"][1] == f"m{panel}"
        assert inputs["coil_outlet"][1] == "mdegC"


LOST_FLAME = [
    "go 0",
    "put 1=40000 2=40000 3=40000 4=40000 5=0",
    "put 7=1 10=0 11=60000",
    *(f"at {t}" for t in range(0, 6000, 500)),
    *(f"at {t} 5=1" for t in range(6000, 8000, 500)),
    *(f"at {t} 5=0" for t in range(8000, 10000, 500)),
]


def test_a_lockout_is_told_and_outlives_the_process(references, tmp_path):
    for number, command in enumerate(references["degC"]):
        kept = [*command, "--nv", str(tmp_path / f"nv{number}")]
        said = talk(kept, LOST_FLAME)
        assert [line for line in said if line.startswith("tell")] == [
            "tell stage 1", "tell stage 2", "tell stage 3", "tell fault 6", "tell stage 4",
        ]  # fmt: skip
        assert talk(kept, ["back 9"]) == [
            "tell fault 6", "tell stage 4", "ok 9 1=0 2=0 3=0 4=1 5=0 6=4 7=6 8=0",
        ]  # fmt: skip
        assert talk(kept, ["go 9", "back 10"])[-1] == "ok 10 1=0 2=0 3=0 4=0 5=0 6=0 7=0 8=0"


@pytest.mark.parametrize("content", [b"", b"\xf0", b"\xff\xff", b"\xf0\x0f\n", b"\x01\xfe"])
def test_a_damaged_memory_file_is_a_fault(references, tmp_path, content):
    file = tmp_path / "nv"
    for command in references["degC"]:
        file.write_bytes(content)
        assert talk([*command, "--nv", str(file)], ["back 1"])[-1].endswith(" 7=12 8=0")


def test_a_memory_file_is_the_same_for_both(references, tmp_path):
    in_c, in_python = ([*command, "--nv", str(tmp_path / "nv")] for command in references["degC"])
    assert talk(in_c, ["back 1"])[-1].endswith(" 7=0 8=0")
    talk(in_c, LOST_FLAME)
    assert talk(in_python, ["back 1"])[-1].endswith(" 7=6 8=0")
    talk(in_python, ["go 1"])
    assert talk(in_c, ["back 1"])[-1].endswith(" 7=0 8=0")


@pytest.mark.parametrize("words", [["--panel", "K"], ["--nv"], ["-x"]])
def test_a_wrong_option_is_one_clear_message(words):
    done = subprocess.run([*PYTHON, *words], input="", capture_output=True, text=True, check=False)
    assert done.returncode == 2
    wrong = " ".join(words)
    options = "--panel degC|degF, --nv FILE, --wall"
    assert done.stderr == f"reference.py: {wrong} is not understood. Use {options}.\n"
