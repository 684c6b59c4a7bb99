"""Several scenarios at once: the same runs in the same order, and what ends before its time is told."""

from __future__ import annotations

import os
import signal
import subprocess
import sys
import threading
import time
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import pytest

from harness.assertions.verdict import Outcome, Status, Verdict
from harness.bench.result import RunResult
from harness.cli import jobs, main
from harness.cli.play import Session
from harness.errors import FileMistakesError, LinkError, Mistake
from harness.links.open import opens_many
from harness.links.placement import current_core, settle, usable_cores
from harness.logbook import Logbook, RunSummary, WrongLogbookError

ROOT = Path(__file__).resolve().parents[2]
# A shell in the background has its children ignore Ctrl-C: here they must hear it.
UNLIT = """
import signal, sys
signal.signal(signal.SIGINT, signal.default_int_handler)
from harness.cli import main
sys.exit(main())
"""
SCENARIO = """
title = "{title}"
why = "Nothing is asked for, so nothing may happen."
plant = "herms-gas"
length = "{length}"

[[assertion]]
title = "no gas"
basis = "common practice"
never = "{never}"
"""
MET = Verdict("v", "", Outcome.MET, 1.0, "s", 5)
PASSED = RunResult(1, "a.toml", "A", "builtin", Status.PASS, (), (MET,), (), "", 9, 9, 0, 1.0)
BOOK = Path(".unlit") / "logbook.sqlite"
#: Longer than any test waits.
LONG = "100 h"

Play = Callable[[Any], RunResult]


@pytest.fixture(autouse=True)
def _in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def write(name: str, *, length: str = "1 min", never: str = "gas_valve") -> str:
    Path(f"{name}.toml").write_text(SCENARIO.format(title=name, length=length, never=never))
    return f"{name}.toml"


def session(play: Play, scenarios: int, at_once: int = 2) -> int:
    """Play `scenarios` stand-ins, s0.toml and so on, each of which `play` makes a result."""

    def run_scenario(scenario: Any, device: str, logbook: Logbook, *, progress: Any) -> RunResult:
        progress(1, 2)
        return replace(play(scenario), title=scenario.title, scenario_file=scenario.file)

    made: list[Any] = [
        SimpleNamespace(file=f"s{n}.toml", title=f"S{n}", number=n, length_ms=9) for n in range(scenarios)
    ]
    return Session(run_scenario, "builtin", Logbook("book"), jobs=at_once).play(made)


def heads(out: str) -> list[str]:
    """The first lines of the runs in `out`, without their numbers: those come as the runs begin."""
    return [line.split("  run ")[0].rstrip() for line in out.splitlines() if "  run " in line]


@pytest.mark.parametrize("how", ["fork", "spawn"])
def test_the_same_runs_as_one_by_one(how: str) -> None:
    names = [write("long", length="3 min"), write("broken", never="liquor < 90 degC"), write("c"), write("d")]
    seen = {}
    for at_once in ("1", "3"):
        words = ["run", *names, "--jobs", at_once, "--logbook", at_once]
        with start(*words, before=f"from harness.cli import jobs; jobs.START = {how!r}\n") as child:
            out, err = child.communicate()
        code = child.returncode
        runs = Logbook(at_once).runs()
        played = sorted((run.meta.scenario_file, run.shown_status, run.end.digest) for run in runs)
        seen[at_once] = code, err, heads(out), played
        assert f"4 runs: 3 pass, 1 fail; assertions: 3 met, 1 broken\nkept as runs 1 to 4 in {at_once}" in out
        assert sorted(run.run_id for run in runs) == [1, 2, 3, 4]
        for run in runs:
            assert Logbook(at_once).read(run.run_id).computed_digest() == run.end.digest
    assert seen["1"] == seen["3"]
    assert seen["1"][:2] == (1, "")
    assert seen["1"][2] == ["pass  long", "fail  broken", "pass  c", "pass  d"]


def test_results_come_in_the_order_of_the_scenarios(capsys: pytest.CaptureFixture[str]) -> None:
    def play(scenario: Any) -> RunResult:
        while scenario.number == 0 and not Path("2").exists():  # the first ends last
            time.sleep(0.01)
        Path(str(scenario.number)).touch()
        return PASSED

    assert session(play, 3) == 0
    assert heads(capsys.readouterr().out) == ["pass  S0", "pass  S1", "pass  S2"]


def _kill() -> None:
    os.kill(os.getpid(), signal.SIGKILL)


@pytest.mark.parametrize(
    ("die", "how"), [(_kill, "was ended by SIGKILL"), (lambda: os._exit(7), "ended with exit code 7")]
)
def test_a_job_that_dies_is_inconclusive_and_the_others_go_on(
    die: Callable[[], None], how: str, capsys: pytest.CaptureFixture[str]
) -> None:
    def play(scenario: Any) -> RunResult:
        if scenario.number == 1:
            die()
        return PASSED

    assert session(play, 5) == 3
    out, err = capsys.readouterr()
    assert heads(out) == ["pass  S0", "pass  S2", "pass  S3", "pass  S4"]
    assert "4 runs: 4 pass, 1 scenario cut off; assertions: 4 met" in out
    assert err.startswith(f"s1.toml: inconclusive: the process that played it {how} at about 00:00.0")


def test_a_link_that_fails_ends_the_session(capsys: pytest.CaptureFixture[str]) -> None:
    error = LinkError("x: gone. Plug it in.")

    def play(scenario: Any) -> RunResult:
        raise error

    assert session(play, 9) == 3
    out, err = capsys.readouterr()
    assert "0 runs: 9 scenarios not played" in out
    assert err == "".join(f"s{n}.toml: not played\n{error}\n" for n in range(2))


def test_a_wrong_file_does_not_end_the_session(capsys: pytest.CaptureFixture[str]) -> None:
    def play(scenario: Any) -> RunResult:
        if scenario.number == 1:
            raise FileMistakesError([Mistake("s1.toml", 3, "no such input")])
        return PASSED

    assert session(play, 4) == 2
    out, err = capsys.readouterr()
    assert heads(out) == ["pass  S0", "pass  S2", "pass  S3"]
    assert err == "s1.toml: not played\ns1.toml:3: no such input\n"


class _UnsendableError(Exception):
    def __init__(self) -> None:
        super().__init__("odd")
        self.lock = threading.Lock()


@pytest.mark.parametrize(
    ("error", "kind"), [(KeyError("odd"), KeyError), (_UnsendableError(), RuntimeError)]
)
def test_a_fault_of_unlit_is_raised_with_its_trace(error: Exception, kind: type[Exception]) -> None:
    def play(scenario: Any) -> RunResult:
        raise error

    with pytest.raises(kind, match="odd") as raised:
        session(play, 3)
    assert "in play\n    raise error" in raised.value.__notes__[0]


def test_jobs_at_once_are_placed_on_cores_of_their_own(capsys: pytest.CaptureFixture[str]) -> None:
    cores = usable_cores() or [None]

    def play(scenario: Any) -> RunResult:
        return replace(PASSED, device=f"core-{current_core()}")

    session(play, len(cores) + 1, at_once=len(cores) + 1)
    out = capsys.readouterr().out
    assert all(f"core-{core}:" in out for core in cores)


def test_a_core_is_kept_until_it_is_taken_back() -> None:
    settle(10_000)
    assert current_core() == 10_000
    settle(None)
    assert current_core() in [*usable_cores(), None]


def _no_pool(*words: Any) -> None:
    raise AssertionError("started several at once")


@pytest.mark.parametrize(
    ("words", "code"),
    [
        (["one.toml", "two.toml", "--device", "socket://localhost:1", "--jobs", "2"], 3),
        (["one.toml", "two.toml", "--device", "/dev/no-such-port", "--jobs", "2"], 3),
        (["one.toml", "two.toml", "--device", "/dev/no-such-port"], 3),
        (["one.toml", "two.toml", "--jobs", "1"], 0),
        (["one.toml", "--jobs", "2"], 0),
        (["one.toml"], 0),
    ],
)
def test_one_device_or_one_scenario_starts_no_processes(
    words: list[str], code: int, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(jobs, "Jobs", _no_pool)
    write("one")
    write("two")
    assert main(["run", *words]) == code


@pytest.mark.parametrize(
    ("link", "many"),
    [
        *((link, True) for link in ("builtin", "builtin:degF", "run:./a b", "pty:a", "lib:a.so", "arm:a")),
        *((link, False) for link in ("/dev/ttyACM0", "COM3", "loop://", "socket://host:1", "run://x", "")),
    ],
)
def test_which_links_open_several_times(link: str, many: bool) -> None:
    assert opens_many(link) is many


def test_how_many_is_a_number_from_1_and_mistakes_in_files_come_first(
    capsys: pytest.CaptureFixture[str],
) -> None:
    names = [write("good"), write("bad", never="gass_valve")]
    assert main(["run", *names, "--jobs", "0"]) == 2
    assert "--jobs 0 plays nothing. Give 1 or more." in capsys.readouterr().err
    assert main(["run", *names, "--jobs", "2"]) == 2
    assert "bad.toml:10: " in capsys.readouterr().err
    assert not BOOK.exists()


def begun(book: Logbook, runs: int) -> list[RunSummary]:
    """Wait until rows of each of the first `runs` runs are on the disk."""
    while True:
        try:
            if all(len(book.read(number).signals([])[0]) for number in range(1, runs + 1)):
                return book.runs()
        except WrongLogbookError:  # not there yet
            pass
        time.sleep(0.02)


def start(*words: str, before: str = "") -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", before + UNLIT, *words],
        env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


@pytest.mark.parametrize("whom", [os.killpg, os.kill], ids=["as a terminal does", "the session alone"])
def test_ctrl_c_stops_every_run(whom: Callable[[int, int], None]) -> None:
    names = [write(name, length=LONG) for name in "abc"]
    with start("run", *names, "--jobs", "2") as child:
        assert [run.shown_status for run in begun(Logbook(BOOK), 2)] == ["running", "running"]
        whom(child.pid, signal.SIGINT)
        out, err = child.communicate()  # ends when no process holds the other end any more
    assert (child.returncode, err) == (3, "")
    assert heads(out) == ["inconclusive  a", "inconclusive  b"]
    assert "2 runs: 2 inconclusive, 1 scenario not played" in out
    runs = Logbook(BOOK).runs()
    assert [run.shown_status for run in runs] == ["inconclusive", "inconclusive"]
    assert all(run.end.reasons[0].startswith("stopped by a person") for run in runs)
    with pytest.raises(ProcessLookupError):
        os.killpg(child.pid, 0)


def test_jobs_end_with_a_session_that_is_killed() -> None:
    names = [write(name, length=LONG) for name in "ab"]
    with start("run", *names, "--jobs", "2") as child:
        begun(Logbook(BOOK), 2)
        child.kill()
        assert "Traceback" not in child.communicate()[1]
    assert [run.shown_status for run in Logbook(BOOK).runs()] == ["interrupted", "interrupted"]


def test_output_that_nobody_reads_ends_the_jobs() -> None:
    names = [write("short", length="5 s"), *(write(name, length=LONG) for name in "ab")]
    with start("run", *names, "--jobs", "2") as child:
        assert child.stdout is not None
        child.stdout.close()
        assert child.wait() == 3
    assert all(run.shown_status != "running" for run in Logbook(BOOK).runs())
