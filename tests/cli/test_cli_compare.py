"""`unlit compare` and the baselines of `unlit run`, on real firmware: healthy, a shade slower, broken."""

from __future__ import annotations

import io
import json
import re
import shutil
from collections.abc import Callable
from pathlib import Path

import pytest
from junitparser import JUnitXml

from harness.cli import main
from tests.defects import seeded
from tests.firmware import Firmware, build_altered

ROOT = Path(__file__).resolve().parents[2]
LOST = "scenarios/flame-lost.toml"
IDLE = """
title = "Idle"
plant = "herms-gas"
length = "10 s"

[[assertion]]
title = "no gas"
never = "gas_valve"
"""
Unlit = Callable[..., tuple[int, str]]


@pytest.fixture
def unlit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Unlit:
    """The command in a folder of its own with two scenarios; gives the exit code and all it printed."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("GITHUB_STEP_SUMMARY", raising=False)
    monkeypatch.setattr("sys.stdin", io.StringIO())
    Path("scenarios").mkdir()
    Path("scenarios/idle.toml").write_text(IDLE)
    ready = (ROOT / "scenarios" / "burner" / "flame-lost.toml").read_text()
    Path(LOST).write_text(ready)

    def call(*words: str) -> tuple[int, str]:
        code = main(list(words))
        said = capsys.readouterr()
        return code, said.out + said.err

    return call


@pytest.fixture(scope="module")
def links(tmp_path_factory: pytest.TempPathFactory) -> dict[str, str]:
    """Seeded defects, and a flame that is noticed later but in time, by name."""
    made = {}
    for defect in seeded.all_defects():
        name = defect.name[3:]
        if name in ("gas-before-spark", "flame-loss-slow"):
            made[name] = seeded.build(tmp_path_factory.mktemp(name), defect)
    made["later"] = f"lib:{build_altered('loss_ms = 2500', tmp_path_factory.mktemp('later'))}"
    return made


@pytest.fixture
def healthy(reference: Callable[..., Firmware]) -> str:
    return reference().links["lib"]


@pytest.fixture(scope="module")
def played(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with a scenario, its baseline, and two runs of it."""
    folder = tmp_path_factory.mktemp("played")
    scenario, book = folder / "scenarios" / "idle.toml", ("--logbook", str(folder / ".unlit/logbook.sqlite"))
    scenario.parent.mkdir()
    scenario.write_text(IDLE)
    keep = ("--keep-baseline", str(folder / "base.toml"))
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("sys.stdin", io.StringIO())
        patch.chdir(folder)
        assert main(["run", "scenarios/idle.toml", *book, *keep]) == 0
        assert main(["run", "scenarios/idle.toml", *book]) == 0
    return folder


def kept(unlit: Unlit, healthy: str) -> None:
    code, said = unlit("run", "scenarios", "--device", healthy, "--keep-baseline", "base.toml")
    assert (code, "kept as baseline in base.toml: 2 scenarios" in said) == (0, True)


def test_the_same_firmware_is_the_same_to_the_bit(unlit: Unlit, healthy: str) -> None:
    kept(unlit, healthy)
    first = Path("base.toml").read_bytes()
    code, said = unlit("run", "scenarios", "--device", healthy, "--baseline", "base.toml", "--jobs", "1")
    assert code == 0
    assert "2 scenarios: 2 the same (2 to the bit)" in said
    assert "next:" not in said
    kept(unlit, healthy)
    assert Path("base.toml").read_bytes() == first


@pytest.mark.parametrize("name", ["gas-before-spark", "later"])
def test_a_margin_that_only_shrank_fails_though_every_run_passes(
    unlit: Unlit, healthy: str, links: dict[str, str], name: str
) -> None:
    kept(unlit, healthy)
    results = ("--json", "r.json", "--junit", "r.xml", "--summary", "r.md")
    code, said = unlit("run", "scenarios", "--device", links[name], "--baseline", "base.toml", *results)
    assert code == 1
    assert "2 runs: 2 pass" in said
    assert re.search(r"worse +\+13\.2 s +\+\d+\.\d s +gas never flows unlit for more than 15 s", said)
    assert "2 scenarios: 1 worse, 1 the same" in said
    account = json.loads(Path("r.json").read_text())
    assert (account["passed"], account["exit_code"]) == (False, 1)
    assert account["comparison"]["standing"] == "worse"
    assert any("gas never flows unlit" in line for line in account["comparison"]["told"])
    *_, suite = JUnitXml.fromfile("r.xml")
    assert (suite.name, suite.failures) == ("compared with base.toml", 1)
    assert "**Beside base.toml: worse**" in Path("r.md").read_text()
    assert unlit("compare", "3-4", "--baseline", "base.toml")[0] == 1
    wide = ("--tolerance", "90 %", "--tolerance", "9 s")
    assert unlit("compare", "3-4", "--baseline", "base.toml", *wide)[0] == 0


def test_a_break_is_a_change_of_verdict(unlit: Unlit, healthy: str, links: dict[str, str]) -> None:
    kept(unlit, healthy)
    code, said = unlit("run", "scenarios", "--device", links["flame-loss-slow"], "--baseline", "base.toml")
    assert code == 1
    assert "worse  met +2.2 s  broken -6.8 s  gas shut within 4 s" in re.sub(r"  +", "  ", said)


def test_what_was_mended_is_better_and_no_break(unlit: Unlit, healthy: str, links: dict[str, str]) -> None:
    slow = links["flame-loss-slow"]
    assert unlit("run", LOST, "--device", slow, "--keep-baseline", "base.toml")[0] == 1
    code, said = unlit("run", LOST, "--device", healthy, "--baseline", "base.toml")
    assert code == 0
    assert "1 scenario: 1 better" in said
    code, said = unlit("run", LOST, "--device", slow, "--baseline", "base.toml")
    assert (code, "1 the same (1 to the bit)" in said) == (1, True)  # no worse, but still no pass


def test_two_runs_beside_each_other(unlit: Unlit, healthy: str, links: dict[str, str]) -> None:
    for link in (healthy, links["later"]):
        unlit("run", LOST, "--device", link)
    code, said = unlit("compare", "1", "2", "--signal", "gas_valve")
    assert code == 1
    assert "signals: the runs part at" in said
    assert "gas_valve: * run 1, o run 2" in said
    assert "`unlit page 1 2` puts both on one page." in said
    assert unlit("compare", "2", "1")[0] == 0
    code, said = unlit("compare", "1", "1-2")
    assert (code, "name two runs" in said) == (2, True)
    code, said = unlit("compare", "1", "2", "--signal", "gas_valv")
    assert (code, "Did you mean gas_valve?" in said) == (2, True)


def test_a_refactor_that_changes_nothing_is_seen_to(unlit: Unlit, healthy: str) -> None:
    """The controller in Python does as the one in C, bit for bit."""
    unlit("run", LOST, "--device", healthy)
    unlit("run", LOST)
    code, said = unlit("compare", "1", "2")
    assert (code, "signals: the same to the bit" in said) == (0, True)
    assert "reference-c" in said
    assert "reference-python" in said


def test_another_seed_is_no_measure(unlit: Unlit, healthy: str) -> None:
    kept(unlit, healthy)
    code, said = unlit("run", "scenarios", "--device", healthy, "--seed", "5", "--baseline", "base.toml")
    assert (code, said.count("why: another seed: 1, now 5")) == (3, 2)


def test_a_scenario_that_is_gone_or_new_cannot_be_told(unlit: Unlit, healthy: str) -> None:
    kept(unlit, healthy)
    Path("scenarios/idle.toml").rename("scenarios/new.toml")
    code, said = unlit("run", "scenarios", "--device", healthy, "--baseline", "base.toml")
    assert code == 3
    assert "why: it was not played this time" in said
    assert "why: nothing is known of it from before" in said
    code, said = unlit("run", LOST, "--device", healthy, "--baseline", "base.toml")
    assert (code, "1 scenario: 1 the same" in said) == (0, True)  # the other was not to be played


def test_a_changed_scenario_is_no_measure_and_a_comment_is_no_change(unlit: Unlit, healthy: str) -> None:
    kept(unlit, healthy)
    Path("scenarios/idle.toml").write_text(f"# quiet\n{IDLE}")
    words = ("run", "scenarios", "--device", healthy, "--baseline", "base.toml")
    assert unlit(*words)[0] == 0
    Path("scenarios/idle.toml").write_text(IDLE.replace("10 s", "11 s"))
    code, said = unlit(*words)
    assert (code, "why: the scenario plays something else" in said) == (3, True)
    Path("scenarios/idle.toml").write_text(IDLE.replace('"gas_valve"', '"gas_valve or igniter"'))
    code, said = unlit(*words)
    assert (code, "it is demanded otherwise than before" in said) == (3, True)


def test_what_was_cut_short_leaves_no_baseline(unlit: Unlit) -> None:
    Path("base.toml").write_text("as it was")
    code, said = unlit("run", "scenarios", "--device", "run:/no/such/program", "--keep-baseline", "base.toml")
    assert (code, "no baseline is kept" in said) == (3, True)
    assert Path("base.toml").read_text() == "as it was"
    assert sorted(path.name for path in Path().iterdir() if path.name != ".unlit") == [
        "base.toml",
        "scenarios",
    ]


def test_a_disk_that_is_full_at_the_end_leaves_what_was(
    unlit: Unlit, monkeypatch: pytest.MonkeyPatch
) -> None:
    Path("base.toml").write_text("as it was")

    def full(self: Path, *words: object, **more: object) -> int:
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(Path, "write_text", full)
    code, said = unlit("run", "scenarios/idle.toml", "--keep-baseline", "base.toml")
    assert (code, "cannot be written: No space left on device. Make room" in said) == (3, True)
    assert Path("base.toml").read_text() == "as it was"


@pytest.mark.parametrize(
    ("words", "said"),
    [
        (["compare"], "name two runs, as in `unlit compare 3 7`, or runs and a --baseline"),
        (["compare", "1"], "name two runs"),
        (["compare", "one", "2"], "one is no run"),
        (["compare", "7-3"], "7-3 is no run"),
        (["compare", "1", "9"], "there is no run 9; its last run is 2"),
        (["compare", "--baseline", "base.toml"], "name the runs to compare with it"),
        (["compare", "1", "2", "--baseline", "base.toml"], "runs 1 and 2 are both of scenarios/idle.toml"),
        (["compare", "1", "--baseline", "none.toml"], "none.toml: does not exist"),
        (["compare", "1", "--baseline", "base.toml", "--signal", "flame"], "--signal draws a signal of two"),
        (["compare", "1", "2", "--tolerance", "some"], "--tolerance: 'some' is not a quantity"),
        (["compare", "1", "2", "--tolerance=-1 %"], "-1 %: is negative"),
        (["compare", "1", "2", "--tolerance", "-1 %"], "-1 %: is negative"),
        (["compare", "1", "2", "--tolerance", "200 %"], "200 %: would call nothing worse"),
        (["compare", "1-99999999999"], "name two runs"),
        (["compare", "3-99999999999", "--baseline", "base.toml"], "there is no run 3; its last run is 2"),
        (["compare", f"{'9' * 30}", "2"], "is no run"),
        (
            ["compare", "1", "2", "--tolerance", "2 degC"],
            "is a temperature. Write a difference, such as '2 K'",
        ),
        (["compare", "1", "2", "--tolerance", "1 s", "--tolerance", "1 min"], "Give each kind once"),
        (["run", "scenarios", "--tolerance", "5 %"], "Name a --baseline"),
        (["run", "scenarios", "--baseline", "scenarios/idle.toml"], "scenarios/idle.toml:1: is no baseline"),
        (["run", "scenarios", "--keep-baseline", "scenarios"], "cannot be written: it is a folder"),
        (["run", "scenarios", "--keep-baseline", "scenarios/idle.toml"], "Name another file"),
        (["run", "scenarios", "--keep-baseline", "scenarios/base.toml"], "it would be taken for one"),
        (["run", "scenarios", "--baseline", "base.toml", "--keep-baseline", "./base.toml"], "is needed"),
        (["run", "scenarios", "--baseline", "base.toml", "--json", "base.toml"], "is needed"),
    ],
)
def test_wrong_use_is_told_before_anything_is_played(
    unlit: Unlit, played: Path, words: list[str], said: str
) -> None:
    shutil.copytree(played, ".", dirs_exist_ok=True)
    before = Path("base.toml").read_bytes()
    code, told = unlit(*words)
    assert (code, said in " ".join(told.split())) == (2, True), told
    assert unlit("compare", "2", "3")[0] == 2  # nothing more was recorded
    assert Path("base.toml").read_bytes() == before
