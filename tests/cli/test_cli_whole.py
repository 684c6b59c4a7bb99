"""The commands from the words to the logbook, with the built-in device."""

from __future__ import annotations

import contextlib
import io
import os
import signal
import subprocess
import sys
import time
from collections.abc import Callable
from pathlib import Path

import pytest

from harness.cli import main
from harness.logbook import Logbook, RunSummary, WrongLogbookError

ROOT = Path(__file__).resolve().parents[2]
#: A shell in the background has its children ignore Ctrl-C: here they must hear it.
HEAR = "import signal; signal.signal(signal.SIGINT, signal.default_int_handler); "
UNLIT = HEAR + "import sys; from harness.cli import main; sys.exit(main())"

SCENARIO = """
title = "Idle in a cold room"
why = "Nothing is asked for, so nothing may happen."
plant = "herms-gas"
length = "{length}"
expected = "{expected}"

[[assertion]]
title = "no gas"
basis = "common practice"
never = "{never}"
"""

Unlit = Callable[..., subprocess.CompletedProcess[str]]


def process(folder: Path, *words: str) -> subprocess.Popen[str]:
    return subprocess.Popen(
        [sys.executable, "-c", UNLIT, *words],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(ROOT), "COLUMNS": "100"},
        stdin=subprocess.DEVNULL,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
    )


@pytest.fixture
def unlit(tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]) -> Unlit:
    """A command in this process, in a folder of its own: a start costs nothing."""
    monkeypatch.chdir(tmp_path)
    monkeypatch.setattr("sys.stdin", io.StringIO())

    def run(*words: str) -> subprocess.CompletedProcess[str]:
        code = main(words)
        out, err = capsys.readouterr()
        assert "Traceback" not in err
        return subprocess.CompletedProcess(words, code, out, err)

    return run


def write(path: Path, *, length: str = "1 min", expected: str = "pass", never: str = "gas_valve") -> str:
    path.write_text(SCENARIO.format(length=length, expected=expected, never=never))
    return path.name


def test_from_a_run_to_its_record(unlit: Unlit, tmp_path: Path) -> None:
    done = unlit("run", write(tmp_path / "idle.toml"))
    assert (done.returncode, done.stderr) == (0, "")
    assert "1 run: 1 pass; assertions: 1 met" in done.stdout
    assert "No bench run is a permission to light a burner" in done.stdout
    assert "Idle in a cold room" in unlit("runs").stdout
    shown = unlit("show", "1")
    assert shown.returncode == 0
    assert "altered" not in shown.stdout
    assert "herms-gas, seed 1" in shown.stdout
    values = unlit("show", "1", "--signal", "ambient", "--every", "20 s").stdout.splitlines()
    assert [line.split()[0] for line in values] == ["time", "00:00.0", "00:20.0", "00:40.0", "01:00.0"]


def test_a_process_of_its_own_leaves_with_the_code(tmp_path: Path) -> None:
    with process(tmp_path, "run", write(tmp_path / "a.toml", never="liquor < 90 degC")) as child:
        out, err = child.communicate()
    assert (child.returncode, err) == (1, "")
    assert "1 broken" in out


def test_the_same_seed_gives_the_same_run_and_another_does_not(unlit: Unlit, tmp_path: Path) -> None:
    name = write(tmp_path / "idle.toml")
    for seed in ("5", "5", "6"):
        assert unlit("run", name, "--seed", seed).returncode == 0
    runs = Logbook(tmp_path / ".unlit" / "logbook.sqlite").runs()
    digests = [run.end.digest for run in runs]
    assert digests[0] == digests[1] != digests[2]
    assert [run.meta.seed for run in runs] == [5, 5, 6]


@pytest.mark.parametrize(
    ("never", "expected", "options", "code"),
    [
        ("liquor < 90 degC", "pass", (), 1),
        ("liquor < 90 degC", "pass", ("--expected",), 1),
        ("liquor < 90 degC", "fail", ("--expected",), 0),
        ("gas_valve", "fail", ("--expected",), 1),
    ],
)
def test_the_exit_code_tells_the_outcome(
    unlit: Unlit, tmp_path: Path, never: str, expected: str, options: tuple[str, ...], code: int
) -> None:
    done = unlit("run", write(tmp_path / "a.toml", never=never, expected=expected), *options)
    assert done.returncode == code
    assert ("broken" in done.stdout) is ("liquor" in never)


def test_all_files_are_checked_before_any_is_played(unlit: Unlit, tmp_path: Path) -> None:
    names = [write(tmp_path / "good.toml"), write(tmp_path / "one.toml", never="gass_valve")]
    names.append(write(tmp_path / "two.toml", length="1 kg"))
    for command in ("check", "run"):
        done = unlit(command, *names)
        assert done.returncode == 2
        assert "one.toml:11: " in done.stderr
        assert "two.toml:5: " in done.stderr
    assert not (tmp_path / ".unlit").exists()


@pytest.mark.parametrize(
    ("link", "code"),
    [("run:false", 3), ("run:no-such-program-here", 3), ("/dev/no-such-port", 3), ("bultin", 2)],
)
def test_a_device_that_is_not_there_is_told(unlit: Unlit, tmp_path: Path, link: str, code: int) -> None:
    name = write(tmp_path / "idle.toml")
    for words in (("run", name, "--device", link), ("hello", link), ("talk", link)):
        done = unlit(*words)
        assert (done.returncode, link in done.stderr) == (code, True), words


def test_hello_lists_the_channels_of_the_built_in_device(unlit: Unlit) -> None:
    done = unlit("hello", "builtin")
    assert done.returncode == 0
    assert {"gas_valve", "liquor", "mdegC"} <= set(done.stdout.split())


def begun(book: Logbook) -> RunSummary:
    """Wait until rows of the first run are on the disk."""
    while True:
        with contextlib.suppress(WrongLogbookError):  # not there, or still empty
            if len(book.read(1).signals([])[0]):
                return book.runs()[0]
        time.sleep(0.02)


@pytest.mark.parametrize(
    ("number", "code", "status"),
    [(signal.SIGINT, 3, "inconclusive"), (signal.SIGKILL, -signal.SIGKILL, "interrupted")],
    ids=["ctrl-c", "killed"],
)
def test_a_run_that_is_cut_short_is_kept_and_never_passes(
    tmp_path: Path, number: signal.Signals, code: int, status: str
) -> None:
    book = Logbook(tmp_path / ".unlit" / "logbook.sqlite")
    names = [write(tmp_path / "long.toml", length="100 h"), write(tmp_path / "next.toml")]
    with process(tmp_path, "run", *names, "--jobs", "1") as child:
        status_before = begun(book).shown_status
        os.killpg(child.pid, number)  # as the terminal does: the whole group, the device's process too
        out, err = child.communicate()
    assert status_before == "running"
    assert child.returncode == code
    assert "Traceback" not in err
    runs = book.runs()
    assert [run.shown_status for run in runs] == [status]
    assert len(book.read(1).signals([])[0])
    if number == signal.SIGINT:
        assert runs[0].end.reasons[0].startswith("stopped by a person")
        assert "1 scenario not played" in out
