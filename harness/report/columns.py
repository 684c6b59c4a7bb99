"""The one kind of table: columns under dim heads, no lines, the last column folds."""

from __future__ import annotations

from rich.table import Table


def table(*heads: str, last: str) -> Table:
    """A table without rows; `last` heads the column that takes what is left of the width."""
    made = Table(box=None, padding=(0, 2, 0, 0), pad_edge=False, header_style="dim")
    for head in heads:
        made.add_column(head, no_wrap=True)
    made.add_column(last, overflow="fold")
    return made
