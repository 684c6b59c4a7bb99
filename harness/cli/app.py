"""The list of commands. Each module imports what is heavy only when its command runs."""

from __future__ import annotations

from cyclopts import App

from harness.cli.check import check
from harness.cli.hello import hello
from harness.cli.help import help_section
from harness.cli.new import new
from harness.cli.plants import plants
from harness.cli.run import run
from harness.cli.runs import runs
from harness.cli.show import show
from harness.cli.talk import talk
from harness.version import version

EXIT_CODES = (
    "Exit codes: 0 pass, 1 fail, 2 wrong use or file, 3 inconclusive. --debug shows a fault's traceback."
)
LINKS = (
    "A LINK is `builtin`, a serial port or pyserial URL, `run:COMMAND`, `pty:COMMAND` or `lib:FILE.so`. "
    "A SCENARIO is a file, a folder, or the name of a shipped one."
)

app = App(
    name="unlit",
    help="Rehearse a heat controller against a simulated plant, before anyone lights the burner.",
    help_epilogue=f"{LINKS}\n\n{EXIT_CODES}",
    version=version,
    help_format="plaintext",
    help_formatter=help_section,
)
for command in (run, check, plants, hello, talk, runs, show, new):
    app.command(command)
