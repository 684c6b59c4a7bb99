"""The commands: one module each, and `main`, which every one of them is started through."""

from harness.cli.entry import main

__all__ = ["main"]
