"""Options of the command line and of the ini-file."""

from __future__ import annotations

import argparse
from collections.abc import Mapping
from typing import Any

import pytest

#: Name on the command line -> what argparse is told of it.
OPTIONS: Mapping[str, Mapping[str, Any]] = {
    "device": {
        "action": "append",
        "default": [],
        "metavar": "LINK",
        "help": "the controller under test; given several times, everything is played with each",
    },
    "seed": {
        "action": "append",
        "default": [],
        "type": int,
        "metavar": "N",
        "help": "of the noise, in place of each scenario's own; several: everything is played with each",
    },
    "logbook": {"metavar": "FILE", "help": "the file that keeps the runs (.unlit/logbook.sqlite)"},
    "pace": {"choices": ["lockstep", "wall"], "help": "in place of each scenario's own"},
    "answer-timeout": {
        "metavar": "TIME",
        "default": "2 s",
        "help": 'how long the device may take for an answer ("2 s")',
    },
    "expected": {
        "action": "store_true",
        "help": "a scenario file passes when its run ends as the file expects, whatever that is",
    },
}


def add_ini(parser: pytest.Parser) -> None:
    """Settings of the ini-file."""
    parser.addini("unlit_device", "devices, a link a line, where --device names none", "linelist", [])


def add_options(parser: pytest.Parser) -> None:
    """All options, each as `--NAME` and `--unlit-NAME`; the short one only where nobody else has it."""
    group = parser.getgroup("unlit", "heat controllers on the bench (Unlit)")
    for name, words in OPTIONS.items():
        more = {**words, "dest": f"unlit_{name.replace('-', '_')}"}
        try:
            group.addoption(*_free(parser, f"--{name}"), f"--unlit-{name}", **more)
        except (ValueError, argparse.ArgumentError):
            group.addoption(f"--unlit-{name}", **more)


def _free(parser: pytest.Parser, name: str) -> list[str]:
    groups = [*getattr(parser, "_groups", ()), getattr(parser, "_anonymous", None)]
    options = [option for group in groups if group is not None for option in group.options]
    return [] if any(name in option.names() for option in options) else [name]
