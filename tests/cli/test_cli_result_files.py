"""--json, --junit, --summary: whatever happens to the session, they never say more than it showed."""

from __future__ import annotations

import contextlib
import io
import json
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from harness.cli import main, result_files
from harness.errors import LogbookError
from harness.logbook import Logbook
from harness.report.account import SessionAccount

ROOT = Path(__file__).resolve().parents[2]
HEAR = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
UNLIT = HEAR + "import sys; from harness.cli import main; sys.exit(main())"
SCENARIO = """
title = "{title}"
plant = "herms-gas"
length = "{length}"
expected = "fail"

[[assertion]]
title = "no gas"
basis = "common practice"
never = "{never}"
"""
ALL = ("--json", "r.json", "--junit", "r.xml", "--summary", "r.md")

Run = Callable[..., int]


@pytest.fixture
def run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Run:
    monkeypatch.chdir(tmp_path)
    monkeypatch.delenv("GITHUB_STEP_SUMMARY", raising=False)
    monkeypatch.setattr("sys.stdin", io.StringIO())
    write("good.toml", never="gas_valve")
    write("bad.toml", never="not gas_valve")
    return lambda *words: main(["run", *words])


def write(name: str, *, length: str = "10 s", never: str = "gas_valve") -> str:
    Path(name).write_text(SCENARIO.format(title=name, length=length, never=never))
    return name


def results(name: str = "r.json") -> dict[str, Any]:
    data: dict[str, Any] = json.loads(Path(name).read_text())
    return data


def statuses() -> list[tuple[str, str]]:
    return [(Path(run["scenario"]).stem, run["status"]) for run in results()["runs"]]


def test_three_files_of_one_session(run: Run) -> None:
    assert run("good.toml", "bad.toml", "--jobs", "1", *ALL) == 1
    assert statuses() == [("good", "pass"), ("bad", "fail")]
    assert (results()["passed"], results()["exit_code"]) == (False, 1)
    assert 'failures="1"' in Path("r.xml").read_text()
    assert "| **fail** | bad.toml |" in Path("r.md").read_text()
    assert sorted(path.name for path in Path().iterdir()) == [
        ".unlit", "bad.toml", "good.toml", "r.json", "r.md", "r.xml",
    ]  # fmt: skip


def test_jobs_change_nothing_but_the_time(run: Run) -> None:
    differs = ("run", "started_at", "wall_s", "told")
    seen = []
    for jobs in ("1", "2"):
        run("bad.toml", "good.toml", "--jobs", jobs, "--json", "r.json")
        seen.append([{key: of[key] for key in of if key not in differs} for of in results()["runs"]])
    assert seen[0] == seen[1]


def test_a_pass_is_said_only_with_exit_code_0(run: Run) -> None:
    assert run("good.toml", "--json", "r.json") == 0
    assert (results()["passed"], results()["exit_code"]) == (True, 0)
    assert run("bad.toml", "--expected", "--json", "r.json") == 0
    assert [(of["status"], of["as_expected"]) for of in results()["runs"]] == [("fail", True)]
    assert run("good.toml", "--expected", *ALL) == 1
    assert 'failures="1"' in Path("r.xml").read_text()


def test_scenarios_with_mistakes_leave_no_pass_of_an_earlier_session(run: Run) -> None:
    run("good.toml", *ALL)
    assert results()["passed"]
    write("slip.toml", length="10 parsecs")
    assert run("good.toml", "slip.toml", *ALL) == 2
    assert (results()["passed"], results()["exit_code"]) == (False, 2)
    assert "slip.toml:4: length" in results()["runs"][0]["reasons"][0]
    assert 'errors="1"' in Path("r.xml").read_text()
    assert "slip.toml:4: length" in Path("r.md").read_text()


@pytest.mark.parametrize("name", ["good.toml", "slip.toml"])
def test_a_scenario_is_not_written_over_where_another_has_a_mistake(run: Run, name: str) -> None:
    write("slip.toml", length="10 parsecs")
    before = Path(name).read_text()
    assert run(".", "--json", name) == 2
    assert Path(name).read_text() == before


def test_a_session_that_a_link_ends(run: Run) -> None:
    assert run("good.toml", "bad.toml", "--device", "run:/no/such/program", "--jobs", "1", *ALL) == 3
    assert statuses() == [("good", "inconclusive"), ("bad", "not played")]
    assert 'errors="2"' in Path("r.xml").read_text()


@pytest.mark.parametrize("option", ["--json", "--junit", "--summary"])
@pytest.mark.parametrize("path", [".", "good.toml/r"])
def test_a_path_that_cannot_be_written_is_told_before_anything_is_played(
    run: Run, option: str, path: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run("good.toml", option, path) == 2
    assert "cannot be written" in capsys.readouterr().err
    assert not Path(".unlit").exists()


def test_two_files_in_one_are_refused(run: Run, capsys: pytest.CaptureFixture[str]) -> None:
    assert run("good.toml", "--json", "r", "--junit", "./r") == 2
    assert "--junit r: --json names it too" in capsys.readouterr().err.replace("./r", "r")


@pytest.mark.parametrize("path", ["./good.toml", ".unlit/logbook.sqlite"])
def test_what_is_played_and_kept_is_not_written_over(run: Run, path: str) -> None:
    assert run("good.toml") == 0
    before = Path(path).read_bytes()
    assert run("good.toml", "--json", path) == 2
    assert Path(path).read_bytes() == before


@pytest.mark.parametrize(("scenario", "code"), [("good.toml", 3), ("bad.toml", 1)])
def test_a_full_disk_at_the_end_is_no_pass(
    run: Run, scenario: str, code: int, capsys: pytest.CaptureFixture[str]
) -> None:
    assert run(scenario, "--json", "/dev/full") == code
    said = "--json /dev/full: cannot be written: No space left on device. Make room on the disk."
    assert said in capsys.readouterr().err


def test_a_disk_that_fills_up_leaves_the_unfinished_file(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    write_it, room = result_files._write, 1

    def full(path: Path, content: bytes, *, finished: bool) -> None:
        nonlocal room
        if not room:
            raise OSError(28, "No space left on device")
        room -= 1
        write_it(path, content, finished=finished)

    monkeypatch.setattr(result_files, "_write", full)
    assert run("good.toml", "--json", "r.json") == 3
    assert (results()["passed"], statuses()) == (False, [("good", "not played")])


def test_a_fault_of_unlit_leaves_no_pass_of_before(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    assert run("good.toml", *ALL) == 0

    def broken(*words: object, **more: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr("harness.bench.run.run_scenario", broken)
    assert run("good.toml", *ALL) == 3
    assert (results()["passed"], results()["exit_code"]) == (False, None)
    assert 'errors="1"' in Path("r.xml").read_text()


def test_the_job_summary_is_added_to_and_no_other_file(run: Run, monkeypatch: pytest.MonkeyPatch) -> None:
    Path("job.md").write_text("# said before\n")
    Path("other.md").write_text("# said before\n")
    monkeypatch.setenv("GITHUB_STEP_SUMMARY", "job.md")
    for name in ("job.md", "other.md"):
        assert run("good.toml", "--summary", name) == 0
        assert Path(name).read_text().count("### Unlit") == 1
    assert Path("job.md").read_text().startswith("# said before\n")
    assert Path("other.md").read_text().startswith("### Unlit")


def process(folder: Path, *words: str) -> subprocess.Popen[bytes]:
    return subprocess.Popen(
        [sys.executable, "-c", UNLIT, "run", *words, *ALL],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.DEVNULL,
        stderr=subprocess.DEVNULL,
    )


@pytest.mark.parametrize(
    ("number", "said"),
    [(signal.SIGINT, [("good", "pass"), ("long", "inconclusive")]),
     (signal.SIGKILL, [("good", "pass"), ("long", "not played")])],
)  # fmt: skip
def test_a_session_cut_off_leaves_what_it_had_shown(
    run: Run, tmp_path: Path, number: signal.Signals, said: list[tuple[str, str]]
) -> None:
    write("long.toml", length="100 h")
    started = process(tmp_path, "good.toml", "long.toml", "--jobs", "1")
    for _ in range(3000):
        with contextlib.suppress(LogbookError):
            if len(Logbook().runs()) == 2:
                break
        time.sleep(0.01)
    started.send_signal(number)
    assert started.wait(30) != 0
    assert results()["passed"] is False
    assert statuses() == said
    assert 'errors="0"' not in Path("r.xml").read_text().splitlines()[1]


def test_what_is_written_is_whole_or_not_there(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = tmp_path / "r.json"
    files = result_files.ResultFiles({"json": path, "junit": None})
    files.begin(SessionAccount())
    before = path.read_bytes()

    def cut(self: Path, target: Path) -> None:
        raise OSError(5, "Input/output error")

    monkeypatch.setattr(Path, "replace", cut)
    with pytest.raises(result_files.ResultFileError, match="cannot be written: Input/output error"):
        files.end(SessionAccount(passed=True, exit_code=0))
    assert path.read_bytes() == before
    assert list(tmp_path.iterdir()) == [path]
