"""The list of commands, by what a person is about; the modules are imported when one is used."""

from __future__ import annotations

COMMANDS: dict[str, dict[str, str]] = {
    "On the bench": {
        "run": "Play scenarios against a device and judge them.",
        "check": "Check scenario files and requirement sets without playing them; every mistake at once.",
        "plants": "List the ready plants, or everything one of them offers.",
        "hello": "Ask a device who it is and list its channels.",
        "talk": "Talk to a device by hand: type a body, its check is added, the answer is shown.",
    },
    "What was recorded": {
        "runs": "List the runs in the logbook.",
        "show": "Show one run: what was played, verdicts, events, signals.",
        "compare": "Compare two runs, or runs with a stored baseline: what is worse, better, cannot be told.",
        "page": "Write a run as one HTML page that opens offline; several runs beside each other.",
        "export": "Write a run's signals to files that other programs read: CSV, Parquet, VCD.",
    },
    "Calibration": {
        "step-test": (
            "Find dead time, gain and time constant of a plant by an open-loop test, with 95 % intervals."
        ),
        "fit": (
            "Fit a plant's parameters to the log of a real rig, with 95 % intervals, as [plant_setup]."
        ),
        "tune": (
            "Find controller settings for a process by published rules, judge them, and try them on a plant."
        ),
        "size": "Check that heat source, orifice, coil, cycle and probe places are of the right size.",
    },
    "Your own": {
        "schema": "Write the JSON Schemas of scenario, wiring and requirement-set files, for editors.",
        "new": (
            "Make a folder for your own controller: kit, a program that runs as made, wiring, scenarios, CI."
        ),
    },
}
"""Group -> command -> the first paragraph of its docstring (a test holds both alike)."""

NAMES_ALONE = ("check",)
"""Commands without an option: given names alone they are called as they are, and the parser of options, which
takes as long to load as the command itself, is left out."""


def names() -> list[str]:
    """All commands, in the order of the list."""
    return [name for group in COMMANDS.values() for name in group]


def where(name: str) -> str:
    """The function of a command, as `module:function`: both are named after it."""
    word = name.replace("-", "_")
    return f"harness.cli.{word}:{word}"
