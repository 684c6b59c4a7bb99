"""Scenario files below the files and folders that a person names."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from harness.errors import FileMistakesError, Mistake
from harness.scenario.requirement_set import SUFFIX as SET_SUFFIX
from harness.scenario.wiring import SUFFIX


def find_scenarios(paths: Sequence[Path | str]) -> list[Path]:
    """The scenario files meant by `paths`, each once: files as named, folders with all below them, sorted.

    Wiring files (`*.wiring.toml`), requirement sets (`*.set.toml`) and whatever is hidden (`.git`, `.venv`)
    are passed over in folders.
    Raises FileMistakesError for each path that is missing, is no `.toml` file, or is a folder without a
    scenario.
    """
    found: dict[Path, None] = {}
    mistakes: list[Mistake] = []
    for path in map(Path, paths):
        try:
            files, what = _below(path)
        except OSError as error:
            files, what = [], f"cannot be read: {error.strerror}. Check the name and its permissions."
        if what:
            mistakes.append(Mistake(str(path), 0, what))
        found.update(dict.fromkeys(files))
    if mistakes:
        raise FileMistakesError(mistakes)
    return list(found)


def _below(path: Path) -> tuple[list[Path], str]:
    """The scenarios at `path`, and what is wrong with it if anything is."""
    if path.is_dir():
        files = sorted(one for one in path.rglob("*.toml") if _may_be_scenario(one, path))
        return files, "" if files else "is a folder without a scenario (*.toml). Name another."
    if not path.exists():
        return [], "does not exist. Check the name."
    if path.name.endswith(SET_SUFFIX):
        return [], "is a requirement set, not a scenario. Name a scenario that includes it."
    if path.name.endswith(SUFFIX):
        return [], "is a wiring file, not a scenario. Name the scenario that uses it."
    if path.suffix != ".toml":
        return [], "is no .toml file. Name a scenario or a folder of scenarios."
    return [path], ""


def find_sets(paths: Sequence[Path]) -> list[Path]:
    """The requirement sets meant by `paths`: files as named, folders with all below them, sorted."""
    found: dict[Path, None] = {}
    for path in paths:
        below = sorted(path.rglob(f"*{SET_SUFFIX}")) if path.is_dir() else [path]
        found.update(
            dict.fromkeys(one for one in below if one.name.endswith(SET_SUFFIX) and not _hidden(one, path))
        )
    return list(found)


def _may_be_scenario(file: Path, folder: Path) -> bool:
    other = file.name.endswith((SUFFIX, SET_SUFFIX))
    return file.is_file() and not other and not _hidden(file, folder)


def _hidden(file: Path, folder: Path) -> bool:
    return file != folder and any(part.startswith(".") for part in file.relative_to(folder).parts)
