"""unlit new"""

from __future__ import annotations

import shlex
from pathlib import Path
from typing import Literal

NAMED = 3


def new(folder: Path, /, *, language: Literal["c", "python", "arduino"] = "c") -> int:
    """Make a folder for your own controller: kit, a program that runs as made, wiring, scenarios, CI.

    Parameters
    ----------
    folder
        A new folder, or an empty one.
    language
        Of the program.
    """
    from harness.cli.starter import STARTERS, contents, origin, write
    from harness.errors import WrongUseError

    _refuse_used(folder)
    made = contents(language)
    try:
        write(folder, made)
    except OSError as error:
        raise WrongUseError(
            f"{folder}: cannot be written: {error.strerror}. Name a folder that you may make."
        ) from error
    starter = STARTERS[language]
    print(f"{folder}: a thermostat with a burner guard in {starter.name}")
    for name, (_, about) in starter.files.items():
        if about:
            print(f"  {name:<27}{about}")
    print(f"  {'scenarios/':<27}three of them, and the wiring")
    print("next:")
    print(f"  cd {shlex.quote(str(folder))}")
    print("  make test")
    if not origin():
        print("  in .github/workflows/bench.yml, write where pip finds Unlit")
    return 0


def _refuse_used(folder: Path) -> None:
    """Raise WrongUseError if there is anything at `folder` but an empty folder."""
    from harness.errors import WrongUseError

    try:
        found = sorted(path.name for path in folder.iterdir())
    except FileNotFoundError:
        return
    except NotADirectoryError:
        raise WrongUseError(f"{folder}: is no folder. Name a new one.") from None
    except OSError as error:
        raise WrongUseError(f"{folder}: cannot be read: {error.strerror}. Name a new folder.") from error
    if found:
        names = ", ".join(found[:NAMED]) + (f" and {len(found) - NAMED} more" if len(found) > NAMED else "")
        raise WrongUseError(f"{folder}: holds {names}, and nothing is overwritten. Name a new folder.")
