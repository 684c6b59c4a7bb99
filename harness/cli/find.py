"""From what a person names to scenarios: files, folders, or the shipped ones by name."""

from __future__ import annotations

import difflib
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from harness.errors import FileMistakesError, Mistake, WrongUseError
from harness.shipped import shipped

if TYPE_CHECKING:
    from harness.scenario import Scenario

SUFFIX = ".toml"


def find(names: Sequence[str], command: str) -> list[Path]:
    """The scenario files meant by `names`, each once; all that cannot be found are told at once.

    Raises
    ------
    WrongUseError
        Without a name; the message lists the shipped themes.
    FileMistakesError
        When something named is not there or holds no scenario.
    """
    if not names:
        themes = ", ".join(sorted(path.name for path in shipped("scenarios").iterdir() if path.is_dir()))
        raise WrongUseError(
            f"unlit {command}: name a scenario file, a folder, or a shipped one. Shipped themes: {themes}. "
            f"`unlit {command} scenarios` takes all of them."
        )
    paths: list[Path] = []
    mistakes: list[Mistake] = []
    for name in names:
        try:
            paths.append(locate(name))
        except WrongUseError as error:
            mistakes.append(Mistake(name, 0, str(error)))
    if mistakes:
        raise FileMistakesError(mistakes)

    from harness.scenario import find_scenarios

    return find_scenarios(paths)


def locate(name: str) -> Path:
    """The file or folder that `name` means: as it stands, else below the shipped scenarios."""
    given = Path(name)
    if given.exists():
        return given
    home = _short(shipped("scenarios"))
    inside = Path(*given.parts[1:]) if given.parts[:1] == ("scenarios",) else given
    if given.is_absolute() or ".." in given.parts:
        raise WrongUseError("does not exist. Check the name.")
    for path in (home / inside, (home / inside).with_suffix(SUFFIX)):
        if path.exists():
            return path
    known = {path.stem: path for path in sorted(home.rglob(f"*{SUFFIX}"))}
    if inside.stem in known and len(inside.parts) == 1:
        return known[inside.stem]
    folders = [path.name for path in home.iterdir() if path.is_dir()]
    near = difflib.get_close_matches(inside.stem, [*known, *folders], n=1)
    hint = f"Did you mean {near[0]}?" if near else "Check the name."
    raise WrongUseError(f"does not exist, here or among the shipped scenarios. {hint}")


def _short(path: Path) -> Path:
    """Below the current folder as a person would write it, elsewhere whole."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


def load_all(paths: Sequence[Path]) -> list[Scenario]:
    """All scenarios; FileMistakesError with the mistakes of all files if any has one."""
    from harness.scenario import load_scenario

    scenarios: list[Scenario] = []
    mistakes: list[Mistake] = []
    for path in paths:
        try:
            scenarios.append(load_scenario(path))
        except FileMistakesError as error:
            mistakes += error.mistakes
    if mistakes:
        raise FileMistakesError(mistakes)
    return scenarios
