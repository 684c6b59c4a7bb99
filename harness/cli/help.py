"""The look of `--help`: columns without boxes."""

from __future__ import annotations

from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from cyclopts.help import HelpPanel
    from rich.console import Console, ConsoleOptions

#: A box whose eight rows are drawn with blanks.
BLANK = "    \n" * 8


def help_section(console: Console, options: ConsoleOptions, panel: HelpPanel) -> None:
    """Print one section of a help page."""
    from cyclopts.help import DefaultFormatter, PanelSpec
    from rich.box import Box

    spec = PanelSpec(box=Box(BLANK), padding=(0, 0))
    DefaultFormatter(panel_spec=spec)(console, options, panel)
