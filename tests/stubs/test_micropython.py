"""Kit, example and reference controller in Python under a real MicroPython: the same bytes as CPython.

MicroPython's WebAssembly build runs under node. Where it is:

    npm install --prefix FOLDER @micropython/micropython-webassembly-pyscript
    export UNLIT_MICROPYTHON=FOLDER

Without it these tests are left out, with that as the reason. .ci/run installs it and allows nothing to be
left out.
"""

from __future__ import annotations

import os
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

from harness.scenario import load_scenario
from harness.shipped import shipped
from tests.stubs.kit_builds import STUBS, TESTS, PythonKit, frame
from tests.stubs.test_kit_any_bytes import stream
from tests.stubs.test_kit_corpus import ROWS
from tests.stubs.test_kit_dialogues import DIALOGUES
from tests.whole.rehearsal import BUSY, play, scenario_of

BUILD = "node_modules/@micropython/micropython-webassembly-pyscript/micropython.mjs"
HERE = TESTS / "micropython"
FILES = [*sorted((STUBS / "python").glob("*.py")), HERE / "devices.py", TESTS / "dialogue_app.py"]
REFERENCE = "import reference, devices; devices.serve(reference.make_kit)"
EXAMPLE = "import example_thermostat; example_thermostat.main()"
DIALOGUE = "import devices; devices.serve(devices.dialogue{})"


@pytest.fixture(scope="module")
def micropython() -> list[str]:
    """The command up to the code."""
    build = Path(os.environ.get("UNLIT_MICROPYTHON", "no folder")) / BUILD
    if not (shutil.which("node") and build.is_file()):
        pytest.skip("no node or no MicroPython: see the head of this file")
    return ["node", str(HERE / "program.mjs"), str(build)]


def output(command: list[str], sent: bytes, **options: object) -> bytes:
    done = subprocess.run(command, input=sent, capture_output=True, check=False, **options)  # type: ignore[call-overload]
    assert (done.returncode, done.stderr[:2000]) == (0, b"")
    return done.stdout


def under_micropython(micropython: list[str], code: str, sent: bytes) -> bytes:
    return output([*micropython, code, *map(str, FILES)], sent)


def under_cpython(code: str, sent: bytes) -> bytes:
    folders = os.pathsep.join(map(str, (STUBS / "python", HERE, TESTS)))
    return output([sys.executable, "-B", "-c", code], sent, env={**os.environ, "PYTHONPATH": folders})


def test_it_is_micropython(micropython):
    code = "import sys; print(sys.implementation.name)"
    assert under_micropython(micropython, code, b"") == b"micropython\n"
    assert under_cpython(code, b"") == b"cpython\n"


@pytest.mark.parametrize("pace", ["lockstep", "wall"])
def test_the_kit_holds_the_dialogues(micropython, pace):
    chosen = [name for name in DIALOGUES if name.endswith(" wall") == (pace == "wall")]
    sent = b"".join(line for name in chosen for line, _ in DIALOGUES[name])
    maker = DIALOGUE.format("_at_wall_pace" if pace == "wall" else "")
    heard = under_micropython(micropython, maker, sent)
    assert heard.count(b"\n") > 20
    assert heard == PythonKit(wall=pace == "wall").talk(sent) == under_cpython(maker, sent)


@pytest.mark.parametrize("seed", range(3))
def test_the_kit_answers_any_bytes_alike(micropython, seed):
    sent = stream(seed) + b"\n"
    assert under_micropython(micropython, DIALOGUE.format(""), sent) == PythonKit().talk(sent)


def test_the_kit_judges_the_corpus_alike(micropython):
    sent = frame(b"go 0") + b"".join(line + b"\n" for _, _, line in ROWS)
    assert under_micropython(micropython, DIALOGUE.format(""), sent) == PythonKit().talk(sent)


def test_the_example_runs_as_it_is(micropython):
    bodies = [b"hi 1", b"go 0", b"at 250 1=20000 2=66000 3=1", b"at 500 1=66000", b"at 1250 1=x"]
    sent = b"".join(map(frame, [*bodies, b"tick 3501", b"end"]))
    heard = under_micropython(micropython, EXAMPLE, sent)
    assert heard == under_cpython(EXAMPLE, sent)
    assert frame(b"ok 250 1=1 2=0") in heard


@pytest.mark.parametrize("scenario", ["busy", "probes/coil-outlet-open"])
def test_the_reference_controller_makes_the_same_run(micropython, scenario, tmp_path):
    """Through the whole bench: the same digest, the same verdicts."""
    if scenario == "busy":
        played = scenario_of(BUSY)
    else:
        played = load_scenario(shipped("scenarios") / f"{scenario}.toml")
    link = "run:" + shlex.join([*micropython, REFERENCE, *map(str, FILES)])
    result, builtin = play(played, link, tmp_path), play(played, "builtin", tmp_path)
    assert (result.status, result.digest) == (builtin.status, builtin.digest)
    assert result.verdicts == builtin.verdicts


def test_the_starter_of_unlit_new_makes_the_same_run(micropython, tmp_path):
    home = STUBS / "new" / "python"
    files = [home / "controller.py", home / "bench.py", STUBS / "python" / "unlit_kit.py"]
    words = [*micropython, "import bench; bench.main()", *map(str, files)]
    played = load_scenario(STUBS / "new" / "shared" / "scenarios" / "flame-lost.toml")
    folders = os.pathsep.join(map(str, (home, STUBS / "python")))
    cpython = ["env", f"PYTHONPATH={folders}", sys.executable, "-B", "-m", "bench"]
    results = [play(played, "run:" + shlex.join(command), tmp_path) for command in (words, cpython)]
    assert [each.status for each in results] == ["pass", "pass"]
    assert results[0].digest == results[1].digest
