"""Which unlit this is."""

from __future__ import annotations


def version() -> str:
    """The installed package's version, or `checkout` where none is installed."""
    from importlib.metadata import PackageNotFoundError
    from importlib.metadata import version as installed

    try:
        return installed("unlit")
    except PackageNotFoundError:
        return "checkout"
