"""Where the folders that travel with the package are."""

from __future__ import annotations

from pathlib import Path

from harness.errors import UnlitError


def shipped(name: str) -> Path:
    """Folder `scenarios` or `firmware_stubs`: inside the installed package, else beside it in a checkout."""
    package = Path(__file__).resolve().parent
    for folder in (package / "_shipped" / name, package.parent / name):
        if folder.is_dir():
            return folder
    raise UnlitError(f"{name}/ is missing from this installation. Install unlit again.")
