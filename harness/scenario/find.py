"""Scenario files below the files and folders that a person names."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path

from harness.errors import FileMistakesError, Mistake
from harness.scenario.wiring import SUFFIX


def find_scenarios(paths: Sequence[Path | str]) -> list[Path]:
    """The scenario files meant by `paths`, each once: files as named, folders with all below them, sorted.

    Wiring files (`*.wiring.toml`) and whatever is hidden (`.git`, `.venv`) are passed over in folders.
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
    if path.name.endswith(SUFFIX):
        return [], "is a wiring file, not a scenario. Name the scenario that uses it."
    if path.suffix != ".toml":
        return [], "is no .toml file. Name a scenario or a folder of scenarios."
    return [path], ""


def _may_be_scenario(file: Path, folder: Path) -> bool:
    hidden = any(part.startswith(".") for part in file.relative_to(folder).parts)
    return file.is_file() and not hidden and not file.name.endswith(SUFFIX)
