"""The parser of the command line. A command's module is imported when it is the one that is used."""

from __future__ import annotations

from cyclopts import App

from harness.cli.commands import names, where
from harness.cli.help import help_section
from harness.cli.overview import ABOUT, EXIT_CODES, LINKS
from harness.version import version

app = App(
    name="unlit",
    help=ABOUT,
    help_epilogue=f"{LINKS}\n\n{EXIT_CODES}",
    version=version,
    help_format="plaintext",
    help_formatter=help_section,
)
for name in names():
    app.command(where(name), name=name)
