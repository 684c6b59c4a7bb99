"""From what a person names to scenarios: files, folders, or the shipped ones by name."""

from __future__ import annotations

import difflib
import sys
from collections.abc import Sequence
from pathlib import Path
from typing import TYPE_CHECKING

from harness.errors import FileMistakesError, Mistake, WrongUseError
from harness.shipped import shipped

if TYPE_CHECKING:
    from harness.scenario import Scenario

SUFFIX = ".toml"
SET_SUFFIX = ".set.toml"


def find(names: Sequence[str], command: str) -> list[Path]:
    """The scenario files meant by `names`, each once; all that cannot be found are told at once.

    Raises
    ------
    WrongUseError
        Without a name; the message lists the shipped themes.
    FileMistakesError
        When something named is not there or holds no scenario.
    """
    from harness.scenario import find_scenarios

    return find_scenarios(_locate_all(names, command))


def find_with_sets(names: Sequence[str], command: str) -> tuple[list[Path], list[Path]]:
    """As `find`, and the requirement sets meant by `names`; a folder may hold only those."""
    from harness.scenario import find_scenarios, find_sets

    paths = _locate_all(names, command)
    sets = find_sets(paths)
    others = [path for path in paths if path not in sets and not _only_sets(path, sets)]
    return find_scenarios(others), sets


def _only_sets(path: Path, sets: Sequence[Path]) -> bool:
    inside = set(path.rglob(f"*{SUFFIX}")) if path.is_dir() else set()
    return bool(inside) and inside <= set(sets)


def _locate_all(names: Sequence[str], command: str) -> list[Path]:
    """The file or folder of each name."""
    if not names:
        themes = ", ".join(sorted(path.name for path in shipped("scenarios").iterdir() if _is_theme(path)))
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
    return paths


def _is_theme(path: Path) -> bool:
    return path.is_dir() and any(not file.name.endswith(SET_SUFFIX) for file in path.glob(f"*{SUFFIX}"))


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
    files = [path for path in sorted(home.rglob(f"*{SUFFIX}")) if not path.name.endswith(SET_SUFFIX)]
    known = {path.stem: path for path in files}
    if len(inside.parts) == 1 and inside.stem in known:
        return _only([path for path in files if path.stem == inside.stem])
    folders = [path.name for path in home.iterdir() if path.is_dir()]
    near = difflib.get_close_matches(inside.stem, [*known, *folders], n=1)
    hint = f"Did you mean {near[0]}?" if near else "Check the name."
    raise WrongUseError(f"does not exist, here or among the shipped scenarios. {hint}")


def _only(paths: list[Path]) -> Path:
    """The one of that name; themes have names in common."""
    if len(paths) > 1:
        full = [f"{path.parent.name}/{path.stem}" for path in paths]
        raise WrongUseError(f"is the name of {len(full)} scenarios. Name one: {' or '.join(full)}.")
    return paths[0]


def _short(path: Path) -> Path:
    """Below the current folder as a person would write it, elsewhere whole."""
    here = Path.cwd()
    return path.relative_to(here) if path.is_relative_to(here) else path


def meant_for(device: str, scenarios: Sequence[Scenario], names: Sequence[str]) -> list[Scenario]:
    """The scenarios that are meant for a device, and those that a person named one by one.

    Raises WrongUseError if none is left; how many are left out is told.
    """
    named = {str(path) for path in map(locate, names) if path.is_file()}
    kept = [one for one in scenarios if one.is_for(device) or one.file in named]
    others = sorted({one.device for one in scenarios if one not in kept})
    if others and not kept:
        what = f"all of these scenarios are for {', '.join(others)}"
        raise WrongUseError(f"{what}. Name a file to play it all the same.")
    if others:
        left = f"{len(scenarios) - len(kept)} for {', '.join(others)}"
        print(f"left out: {left}; name a file to play it all the same", file=sys.stderr)
    return kept


def load_all(paths: Sequence[Path], sets: Sequence[Path] = ()) -> list[Scenario]:
    """All scenarios; FileMistakesError with the mistakes of all files, and of `sets`, if any has one."""
    from harness.scenario import check_set, load_scenario

    scenarios: list[Scenario] = []
    mistakes: list[Mistake] = []
    for path in paths:
        try:
            scenarios.append(load_scenario(path))
        except FileMistakesError as error:
            mistakes += error.mistakes
    for path in sets:
        from plants import ready_plants

        try:
            check_set(path, ready_plants())
        except FileMistakesError as error:
            mistakes += error.mistakes
    if mistakes:
        raise FileMistakesError(mistakes)
    return scenarios
