"""Scenario files as pytest's items."""

from __future__ import annotations

import re
import tomllib
from importlib import import_module
from pathlib import Path
from xml.etree import ElementTree

import pytest

from harness.pytest_plugin.files import is_scenario
from harness.shipped import shipped
from tests.pytest_plugin.conftest import Inside

pytest_plugins = ["pytester"]

ROOT = Path(__file__).resolve().parents[2]
SCENARIO = """
title = "{title}"
plant = "herms-gas"
length = "{length}"
themes = ["cold"]
expected = "{expected}"
{more}
[[assertion]]
title = "no gas"
basis = "common practice"
{key} = "gas_valve"
"""


def scenario(
    pytester: pytest.Pytester,
    name: str,
    *,
    key: str = "never",
    more: str = "",
    expected: str = "pass",
    length: str = "10 s",
) -> None:
    text = SCENARIO.format(title=f"Idle {name}", key=key, more=more, expected=expected, length=length)
    path = pytester.path / "scenarios" / f"{name}.toml"
    path.parent.mkdir(exist_ok=True)
    path.write_text(text)


def test_a_pass_a_fail_and_an_inconclusive_run(pytester: pytest.Pytester, inside: Inside) -> None:
    scenario(pytester, "good")
    scenario(pytester, "bad", key="sometime")
    scenario(pytester, "unsure", more='[[disturbance]]\nkind = "flame-lost"\nwhen = "flame"\nfor = "5 s"')
    (pytester.path / "scenarios" / "rig.wiring.toml").write_text('unwired = ["igniter"]')
    done = inside("scenarios", "--device", "builtin", "--junitxml=r.xml")
    assert done.parseoutcomes() == {"passed": 1, "failed": 2}
    done.stdout.fnmatch_lines_random(
        [
            "run 1: fail. broken at 00:10.0: no gas",
            "fail  Idle bad *",
            "  broken   -       00:10.0  no gas",
            "inconclusive  Idle unsure *",
            "  why: scenarios/unsure.toml:*: disturbance flame-lost never started; *",
            "unlit: 3 runs kept in *",
            "No bench run is a permission to light a burner. *",
        ]
    )
    cases = list(ElementTree.parse(pytester.path / "r.xml").getroot().iter("testcase"))
    assert [(case.get("name"), len(case.findall("failure"))) for case in cases] == [
        ("builtin", 1), ("builtin", 0), ("builtin", 1),
    ]  # fmt: skip
    properties = {one.get("name"): one.get("value") for one in cases[1].iter("property")}
    assert properties == {"unlit run": "2", "unlit status": "pass"}
    done = inside("scenarios/bad.toml", "--unlit-device=builtin", "--expected")
    assert done.ret == 1
    done.stdout.fnmatch_lines(["  the scenario expects pass"])


def test_devices_and_seeds_by_two_workers(pytester: pytest.Pytester, inside: Inside) -> None:
    scenario(pytester, "good", expected="pass")
    scenario(pytester, "bad", key="sometime", expected="fail")
    devices = ("--device=builtin", f"--device=run:python -B {ROOT}/firmware_stubs/python/reference.py")
    words = ("-p", "xdist.plugin", "-n", "2", *devices, "--seed=1", "--seed=2", "--expected", "-v")
    done = inside("scenarios", *words, apart=True)
    assert done.parseoutcomes() == {"passed": 8}
    done.stdout.fnmatch_lines_random(["*PASSED*scenarios/bad.toml::builtin, seed 2*"])
    done.stdout.fnmatch_lines(["unlit: 8 runs kept in *"])


def test_one_for_another_controller_is_skipped_unless_it_is_named(
    pytester: pytest.Pytester, inside: Inside
) -> None:
    scenario(pytester, "kiln", more='device = "builtin:kiln"')
    done = inside("scenarios", "--device=builtin", "-rs")
    assert done.parseoutcomes() == {"skipped": 1}
    done.stdout.fnmatch_lines(["SKIPPED *it is for builtin:kiln; name the file to play it all the same"])
    assert inside("scenarios/kiln.toml", "--device=builtin").parseoutcomes() == {"passed": 1}


def test_mistakes_are_told_all_and_nothing_is_played(pytester: pytest.Pytester, inside: Inside) -> None:
    scenario(pytester, "good")
    scenario(pytester, "wrong", more='lenght = "5 s"\nseed = "x"')
    done = inside("--device", "builtin")
    assert done.ret == 2
    done.stdout.fnmatch_lines(['*scenarios/wrong.toml:*: unknown key "lenght", did you mean "length"?'])
    done.stdout.fnmatch_lines(["*scenarios/wrong.toml:*: seed: *"])


def test_a_device_that_is_not_there_fails(pytester: pytest.Pytester, inside: Inside) -> None:
    scenario(pytester, "good")
    done = inside("scenarios", "--device=run:/no/such/program")
    assert done.parseoutcomes() == {"failed": 1}
    done.stdout.fnmatch_lines(["scenarios/good.toml: not played", "*there is no program '/no/such/program'*"])


def test_who_names_no_device_is_left_alone(pytester: pytest.Pytester, inside: Inside) -> None:
    """Nothing collected, nothing heavy loaded, options of the same name untouched."""
    scenario(pytester, "wrong", more="seed = 'x'")
    pytester.makeconftest("def pytest_addoption(parser): parser.addoption('--device', default='gpu')")
    pytester.makepyfile(
        """
        import sys

        def test_own(request):
            assert request.config.getoption("--device") == "cuda"
            heavy = {"numpy", "pydantic", "rich", "harness.bench", "harness.scenario", "plants"}
            assert not heavy & set(sys.modules)
        """
    )
    done = inside("--device", "cuda", apart=True)
    assert done.parseoutcomes() == {"passed": 1}
    assert "unlit" not in done.stdout.str()


def test_the_name_that_always_works(pytester: pytest.Pytester, inside: Inside) -> None:
    scenario(pytester, "good")
    pytester.makeconftest("def pytest_addoption(parser): parser.addoption('--device', default='gpu')")
    assert inside("--unlit-device", "builtin").parseoutcomes() == {"passed": 1}


def test_without_a_device_a_person_is_told_what_is_missing(pytester: pytest.Pytester, inside: Inside) -> None:
    scenario(pytester, "good")
    done = inside("scenarios")
    assert done.ret == pytest.ExitCode.NO_TESTS_COLLECTED
    done.stdout.fnmatch_lines(["unlit: scenario files left alone: 1; no device is named. *"])
    done = inside("scenarios/good.toml")
    assert done.ret not in (0, 5)
    assert "no device is named" in done.stdout.str() + done.stderr.str()


def test_the_device_of_the_ini_file(pytester: pytest.Pytester, inside: Inside) -> None:
    scenario(pytester, "good")
    pytester.makeini("[pytest]\nunlit_device =\n    builtin\n")
    assert inside("scenarios").parseoutcomes() == {"passed": 1}


def test_themes_are_keywords(pytester: pytest.Pytester, inside: Inside) -> None:
    scenario(pytester, "good")
    assert inside("--device=builtin", "-k", "hot").parseoutcomes() == {"deselected": 1}
    assert inside("--device=builtin", "-k", "cold").parseoutcomes() == {"passed": 1}


def test_which_files_are_scenarios(tmp_path: Path) -> None:
    ready = [path for path in shipped("scenarios").rglob("*.toml") if not path.name.endswith(".set.toml")]
    files = [path for path in ready if not path.name.endswith(".wiring.toml")]
    assert len(files) > 60
    assert all(is_scenario(path, named=False) for path in files)
    assert not any(is_scenario(path, named=True) for path in shipped("scenarios").rglob("*.set.toml"))
    assert not is_scenario(ROOT / "pyproject.toml", named=False)
    wrong = tmp_path / "wrong.toml"
    wrong.write_text('plnt = "herms-gas"\n[[asertion]]\n[[disturbance]]\n')
    assert is_scenario(wrong, named=False)


def test_the_entry_point_leads_to_the_plugin() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    (name,) = project["entry-points"]["pytest11"].values()
    assert import_module(name).pytest_collect_file


def test_the_readme_names_every_option() -> None:
    from harness.pytest_plugin.options import OPTIONS

    page = (ROOT / "harness" / "pytest_plugin" / "README.md").read_text()
    assert [name for name in OPTIONS if f"`--{name}" not in page] == []
    assert not re.search(r"--(?!device|seed)\w+ LINK", page)
