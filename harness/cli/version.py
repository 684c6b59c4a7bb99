"""Which unlit this is."""

from __future__ import annotations


def version() -> str:
    """The version of the installed package, or of none."""
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    try:
        return installed("unlit")
    except PackageNotFoundError:
        return "not installed, run from a checkout"
