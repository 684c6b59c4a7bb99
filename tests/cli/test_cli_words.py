"""What a person types: right, nearly right and wrong; nothing ends in a traceback."""

from __future__ import annotations

import importlib
import inspect
import os
import subprocess
import sys
from pathlib import Path

import pytest
from cyclopts import App

from harness.cli import main
from harness.cli.commands import COMMANDS, names, where
from harness.cli.entry import guarded
from harness.errors import FileMistakesError, LinkError, Mistake, WrongUseError

ROOT = Path(__file__).resolve().parents[2]


@pytest.mark.parametrize(
    ("words", "says"),
    [
        (["rnu"], 'Did you mean "run"'),
        (["run", "--devcie", "x"], "Did you mean --device"),
        (["runs", "--last", "many"], '"many" is no whole number'),
        (["runs", "--last", "0"], "Give 1 or more"),
        (["show"], "requires an argument"),
        (["show", "one"], '"one" is no whole number'),
        (["show", "1.5"], '"1.5" is no whole number'),
        (["page", "1.5"], '"1.5" is no whole number'),
        (["export", "1.9", "x.csv"], '"1.9" is no whole number'),
        (["size", "orifice", "--power", "9 kW", "--orifices", "2.5"], '--orifices: "2.5" is no whole number'),
        (["size", "heat", "--water", "-85 L", "--power", "9 kW"], "--water -85 L is out of range"),
        (["tune", "--dead-time", "-.5 s", "--slope", "1 K/min"], "--dead-time -.5 s is out of range"),
        (["size", "heat"], "`unlit size heat --help`"),
        (["hello"], "requires an argument"),
        (["talk", "a", "b"], "one word too many: b"),
        (["run"], "Shipped themes: "),
        (["check"], "name a scenario file"),
        (["check", "firts-heat"], "Did you mean first-heat?"),
        (["run", "nowhere/at/all.toml"], "nowhere/at/all.toml: does not exist"),
        (["runs", "--logbook", "/nowhere/book"], "there is no logbook here"),
        (["hello", "bultin"], "builtin"),
    ],
    ids=lambda value: " ".join(value) if isinstance(value, list) else "",
)
def test_wrong_use_is_told_with_the_mend(
    words: list[str], says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert main(words) == 2
    out, err = capsys.readouterr()
    assert says in err
    assert out == ""
    assert "Traceback" not in err


def test_no_command_shows_the_commands(capsys: pytest.CaptureFixture[str]) -> None:
    assert main([]) == 2
    out = capsys.readouterr().out
    assert all(f" {command} " in out for command in names())


@pytest.mark.parametrize("words", [["--help"], *([command, "--help"] for command in names())], ids=" ".join)
def test_help_fits_any_reader(words: list[str], capsys: pytest.CaptureFixture[str]) -> None:
    assert main(words) == 0
    out = capsys.readouterr().out
    assert out.isascii()
    assert max(map(len, out.splitlines())) <= 80
    assert "Exit codes: 0 pass, 1 fail, 2 wrong use or file, 3 inconclusive" in " ".join(out.split())


@pytest.mark.parametrize("name", names())
def test_the_overview_says_of_a_command_what_it_says_itself(name: str) -> None:
    module, _, function = where(name).partition(":")
    about = next(group[name] for group in COMMANDS.values() if name in group)
    command = getattr(importlib.import_module(module), function)
    said = command.help if isinstance(command, App) else inspect.getdoc(command) or ""
    assert " ".join(said.split("\n\n")[0].split()) == about


def test_each_command_module_is_in_the_overview() -> None:
    """A module that defines a function of its own name with a page of help is a command."""
    files = (ROOT / "harness" / "cli").glob("*.py")
    own = [f.stem for f in files if f'"""unlit {f.stem.replace("_", "-")}"""' in f.read_text("utf-8")]
    assert sorted(own) == sorted(name.replace("-", "_") for name in names())


def test_the_version_is_told(capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["--version"]) == 0
    assert capsys.readouterr().out.strip()


@pytest.mark.parametrize(
    ("name", "mend"),
    [("herms", "Did you mean herms-gas?"), ("xyz", "There are: herms-gas, direct-fired-mash,"),
     ("xyz.py", "xyz.py: there is no such file.")],
)  # fmt: skip
def test_a_plant_that_is_none_is_told(name: str, mend: str, capsys: pytest.CaptureFixture[str]) -> None:
    assert main(["plants", name]) == 2
    assert mend in capsys.readouterr().err


def raises(error: BaseException) -> int:
    raise error


@pytest.mark.parametrize(
    ("error", "code", "says"),
    [
        (LinkError("/dev/ttyX: does not open. Plug it in."), 3, "/dev/ttyX: does not open. Plug it in.\n"),
        (WrongUseError("a: wrong. Right it."), 2, "a: wrong. Right it.\n"),
        (FileMistakesError([Mistake("a", 1, "x"), Mistake("a", 2, "y")]), 2, "a:1: x\na:2: y\n"),
        (LinkError("said \x1b[31m"), 3, "said \\x1b[31m\n"),
        (KeyboardInterrupt(), 3, "stopped by a person\n"),
        (BrokenPipeError(), 3, ""),
        (SystemExit(1), 3, ""),
    ],
    ids=lambda value: type(value).__name__,
)
def test_what_is_raised_becomes_a_message_and_a_code(
    error: BaseException, code: int, says: str, capsys: pytest.CaptureFixture[str]
) -> None:
    assert guarded(lambda: raises(error)) == code
    assert capsys.readouterr().err == says


def test_a_fault_of_ours_is_one_line_and_a_traceback_on_demand(capsys: pytest.CaptureFixture[str]) -> None:
    fault = ZeroDivisionError("by zero")
    assert guarded(lambda: raises(fault)) == 3
    err = capsys.readouterr().err
    assert "a fault of unlit: ZeroDivisionError: by zero" in err
    assert "--debug" in err
    assert err.count("\n") == 1
    with pytest.raises(ZeroDivisionError):
        guarded(lambda: raises(fault), debug=True)


UNLIT = "import sys; from harness.cli import main; sys.exit(main())"


def test_a_reader_that_goes_away_is_no_fault() -> None:
    reader, writer = os.pipe()
    os.close(reader)
    done = subprocess.run(
        [sys.executable, "-c", UNLIT, "--help"], cwd=ROOT, stdout=writer, stderr=subprocess.PIPE, text=True
    )
    os.close(writer)
    assert (done.returncode, done.stderr) == (3, "")


def test_help_and_lists_load_nothing_heavy() -> None:
    """What answers at once must not wait for the libraries that runs need."""
    heavy = "{'numpy', 'scipy', 'serial'}"
    code = (
        "import sys; from harness.cli import main; "
        "main(['--help']); main(['check', 'heating/first-heat']); "
        "light = {'cyclopts', 'rich', 'sqlite3', 'numpy', 'lark'}; "
        "assert not light & set(sys.modules), 'neither a list nor a check needs a library of theirs'; "
        "main(['run', '--help']); main(['runs']); "
        f"print(sorted({{name.split('.')[0] for name in sys.modules}} & {heavy}))"
    )
    done = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert done.stdout.splitlines()[-1] == "[]"
