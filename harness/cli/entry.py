"""The entry of every command: what is wrong becomes one message and an exit code, never a traceback.

Exit codes: 0 pass, 1 fail, 2 wrong use or a wrong file, 3 inconclusive or not finished. A person's Ctrl-C and
output that nobody reads any more are of the last kind: the run said nothing.
"""

from __future__ import annotations

import contextlib
import os
import re
import sys
from collections.abc import Callable, Iterator, Sequence
from importlib import import_module

from harness.cli.commands import NAMES_ALONE, where
from harness.errors import UnlitError

_BELOW_0 = re.compile(r"-\.?[0-9]")

WRONG_USE = 2
NOT_FINISHED = 3


def main(words: Sequence[str] | None = None) -> int:
    """Run the command in `words` (default: of this process) and return its exit code."""
    given = list(sys.argv[1:] if words is None else words)
    debug = "--debug" in given
    _print_anything()
    return guarded(lambda: _command([word for word in given if word != "--debug"]), debug=debug)


def guarded(command: Callable[[], int], *, debug: bool = False) -> int:
    """What `command` returns, or the exit code of what it raised, which has been told to the person then."""
    try:
        code = command()
        sys.stdout.flush()
        return code
    except (BrokenPipeError, SystemExit):  # the terminal library leaves with SystemExit(1) on a closed pipe
        _drop_output()
        return NOT_FINISHED
    except KeyboardInterrupt:
        _tell("stopped by a person")
        return NOT_FINISHED
    except UnlitError as error:
        _tell(str(error))
        return error.exit_code
    except Exception as error:
        if debug:
            raise
        what = f"a fault of unlit: {type(error).__name__}: {error}"
        _tell(f"{what}. Play it again with --debug and report what that shows, with the scenario.")
        return NOT_FINISHED


def _command(words: list[str]) -> int:
    if not words or words[0] in ("--help", "-h"):
        from harness.cli.overview import overview

        print(overview())
        return 0 if words else WRONG_USE
    if words[0] in NAMES_ALONE and not any(word.startswith("-") for word in words):
        module, _, function = where(words[0]).partition(":")
        return int(getattr(import_module(module), function)(*words[1:]))
    from cyclopts import CycloptsError, UnusedCliTokensError

    from harness.cli.app import app

    words = list(_joined(words))
    try:
        code = app(words, exit_on_error=False, print_error=False, result_action="return_value")
    except CycloptsError as error:
        asked = " ".join(("unlit", *(error.command_chain or ())))
        what: object = error
        if isinstance(error, UnusedCliTokensError):
            what = f"one word too many: {' '.join(error.unused_tokens or ())}"
        _tell(f"{asked}: {what}\n`{asked} --help` shows the use.")
        return WRONG_USE
    return code if isinstance(code, int) else 0


def _joined(words: Sequence[str]) -> Iterator[str]:
    """The words, a number below 0 as one with its option: alone, `-5 s` would be taken for an option."""
    kept = ""
    for word in words:
        if kept and _BELOW_0.match(word):
            yield f"{kept}={word}"
            kept = ""
            continue
        if kept:
            yield kept
        kept = word if word.startswith("--") and len(word) > 2 and "=" not in word else ""
        if not kept:
            yield word
    if kept:
        yield kept


def _tell(text: str) -> None:
    from harness.report.plain import plain

    for line in text.split("\n"):
        print(plain(line), file=sys.stderr)


def _print_anything() -> None:
    """A terminal that lacks a character shows it written out instead of ending the command."""
    for stream in (sys.stdout, sys.stderr):
        if hasattr(stream, "reconfigure"):
            stream.reconfigure(errors="backslashreplace")


def _drop_output() -> None:
    """Point standard output at nothing: the interpreter flushes it once more when it leaves."""
    with contextlib.suppress(OSError, ValueError):  # a stand-in without a file number has nothing left
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
