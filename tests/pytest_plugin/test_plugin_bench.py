"""The fixture `bench`."""

from __future__ import annotations

import re
import textwrap
from collections.abc import Callable
from pathlib import Path

import pytest

from harness.logbook import Logbook
from harness.scenario import parse_scenario
from tests.pytest_plugin.conftest import Inside

pytest_plugins = ["pytester"]

Run = Callable[..., pytest.RunResult]

ROOT = Path(__file__).resolve().parents[2]
README = ROOT / "harness" / "pytest_plugin" / "README.md"
HEAD = """
import numpy as np
import pytest

COLD = {"title": "cold", "always": "liquor < 30 degC"}
BROKEN = {"title": "ice", "always": "liquor < 1 degC"}

def idle(bench, *assertions, **more):
    return bench.play(plant="herms-gas", length="10 s", assertions=assertions or [COLD], **more)

"""


@pytest.fixture
def run(pytester: pytest.Pytester, inside: Inside) -> Callable[..., pytest.RunResult]:
    """Run a test file with this text."""

    def play(text: str, *words: str) -> pytest.RunResult:
        pytester.makepyfile(test_rig=HEAD + textwrap.dedent(text))
        return inside("--device=builtin", *words)

    return play


def test_the_readme_s_example(pytester: pytest.Pytester, inside: Inside) -> None:
    (text,) = re.findall(r"```python\n(.+?)```", README.read_text(), re.DOTALL)
    pytester.makepyfile(test_readme=text)
    assert inside("--device=builtin").parseoutcomes() == {"passed": 3}


def test_what_comes_back(pytester: pytest.Pytester, run: Run) -> None:
    done = run(
        """
        def test_run(bench):
            run = idle(bench, BROKEN, COLD, seed=5, expect="fail")
            assert (run.status, bench.device, bench.seed) == ("fail", "builtin", None)
            assert [str(one.outcome) for one in run.verdicts] == ["broken", "met"]
            assert run.margin("ice") == run.verdict("ic").margin < 0
            assert run.times_s[[0, -1]].tolist() == [0, 10]
            assert run["liquor"].shape == run.times_s.shape
            assert run.unit("liquor") == "degC" and "out.gas_valve" in run.signals
            assert run.at("liquor", "10 s") == run["liquor"][-1]
            assert run.at("liquor", "1125 ms") == np.interp(1.125, run.times_s, run["liquor"])
            assert run.at("out.gas_valve", "5 s") == 0
            assert any(event.source == "device" for event in run.events) or run.events == ()
            with pytest.raises(ValueError, match="outside the run"):
                run.at("liquor", "11 s")
            with pytest.raises(KeyError, match="was not recorded"):
                run["likor"]
            with pytest.raises(KeyError, match="no title"):
                run.margin("fire")
            assert repr(run) == "<run 1: fail, 2 assertions>"
        """,
    )
    assert done.parseoutcomes() == {"passed": 1}
    record = Logbook(pytester.path / ".unlit" / "logbook.sqlite").read(1)
    again = parse_scenario(record.summary.meta.scenario_text, "again.toml")
    assert (again.title, again.seed, len(again.assertions)) == ("run", 5, 2)


def test_a_run_that_does_not_pass_fails_with_its_words(pytester: pytest.Pytester, run: Run) -> None:
    done = run(
        """
        def test_broken(bench):
            idle(bench, BROKEN)

        def test_unsure(bench):
            never = {"kind": "flame-lost", "when": "flame", "for": "5 s"}
            idle(bench, disturbances=[never])

        def test_unsure_is_not_a_fail_either(bench):
            idle(bench, {"title": "t", "after": "flame", "within": "4 s", "expect": "flame"}, expect="fail")

        def test_unsure_on_purpose(bench):
            idle(bench, {"title": "t", "after": "flame", "within": "4 s", "expect": "flame"},
                 expect="inconclusive")

        def test_passes_though_a_fail_was_expected(bench):
            idle(bench, expect="fail")
        """,
    )
    assert done.parseoutcomes() == {"failed": 4, "passed": 1}
    done.stdout.fnmatch_lines_random(
        [
            ">       idle(bench, BROKEN)",
            "FAILED test_rig.py::test_broken[[]builtin[]] - Failed: run 1: fail*",
            "E       Failed: run 1: fail. broken at 00:00.0, margin -* K: ice",
            "E       fail  broken *",
            "E         broken   -* K *00:00.0  ice",
            "E         why: test_rig.py:8: disturbance flame-lost never started; its condition never held",
            "E         the scenario expects fail",
        ]
    )
    assert "harness/pytest_plugin" not in done.stdout.str()


def test_every_mistake_of_a_call_is_told_at_its_line(pytester: pytest.Pytester, run: Run) -> None:
    done = run(
        """
        def test_slips(bench):
            bench.play(plant="herms-gaz", length="10", panel={"Mode": 1}, assertions=[COLD], lenth=2)

        def test_more(bench):
            idle(bench, COLD, {"title": "x", "never": "likor > 3 degC"}, plant_setup={"liqor_volume": "3 L"},
                 disturbances=[{"kind": "pump-stop", "at": "1 s"}, {"kind": "pump-stops", "at": "1 h"}])

        def test_no_value(bench):
            idle(bench, seed=None, panel={"run": object})
        """,
    )
    assert done.parseoutcomes() == {"failed": 3}
    done.stdout.no_fnmatch_line("*FileMistakesError*")
    done.stdout.no_fnmatch_line("*another exception*")
    done.stdout.fnmatch_lines_random(
        [
            'E*test_rig.py:12: unknown plant "herms-gaz", did you mean "herms-gas"?',
            "E*test_rig.py:12: length: '10' has no unit.*",
            'E*test_rig.py:12: unknown key "lenth", did you mean "length"?',
            'E*test_rig.py:12: panel: "Mode" cannot be a channel of a device.*',
            'E*test_rig.py:8: plant_setup: unknown parameter "liqor_volume", did you mean *',
            'E*test_rig.py:8: disturbance[[]0[]]: unknown kind "pump-stop", did you mean *',
            "E*test_rig.py:8: disturbance[[]1[]]: at: never comes, the run is only 10 s long.*",
            "E*test_rig.py:8: assertion[[]1[]]: never: *likor*",
            "E*test_rig.py:8: NoneType None is no value of a scenario.*",
        ]
    )


def test_each_device_with_each_seed_and_files_beside_the_test(pytester: pytest.Pytester, run: Run) -> None:
    (pytester.path / "idle.toml").write_text(
        'title = "Idle"\nplant = "herms-gas"\nlength = "5 s"\n'
        '[[assertion]]\ntitle = "a"\nnever = "gas_valve"\n'
    )
    done = run(
        """
        def test_file(bench):
            assert bench.play_file("idle.toml").record.summary.meta.seed == bench.seed

        @pytest.mark.parametrize("volume", ["20 L", "30 L"])
        def test_both(bench, volume):
            idle(bench, plant_setup={"liquor_volume": volume}, seed=9)
        """,
        "--seed=3",
        "--seed=4",
        "test_rig.py",
    )
    assert done.parseoutcomes() == {"passed": 6}


def test_no_device_is_an_error_and_another_bench_is_left_alone(
    pytester: pytest.Pytester, inside: Inside
) -> None:
    pytester.makepyfile(
        test_rig=HEAD + "def test_a(bench): idle(bench)",
        test_own="import pytest\n@pytest.fixture\ndef bench(): return 3\ndef test_b(bench): assert bench",
    )
    done = inside()
    assert done.parseoutcomes() == {"errors": 1, "passed": 1}
    done.stdout.fnmatch_lines(["*no device is named. Say which controller to test: *"])
    done = inside("--device=builtin", "test_own.py", "--seed=1", "--seed=2")
    assert done.parseoutcomes() == {"passed": 1}
