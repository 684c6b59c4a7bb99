"""unlit schema"""

from __future__ import annotations

from pathlib import Path


def schema(folder: Path, /) -> int:
    """Write the JSON Schemas of scenario, wiring and requirement-set files, for editors.

    Parameters
    ----------
    folder
        Where to; files of the same names are replaced.
    """
    from harness.cli.whole_file import cannot_write, whole_file
    from harness.errors import WrongUseError
    from harness.scenario.schema import as_text, schemas
    from plants import ready_plants

    for name, made in schemas(ready_plants()).items():
        path = folder / name
        try:
            with whole_file(path) as part:
                part.write_text(as_text(made), encoding="utf-8", newline="\n")
        except OSError as error:
            raise WrongUseError(f"unlit schema: {cannot_write(path, error)}") from None
        print(path)
    return 0
