"""A device's own account of itself."""

from __future__ import annotations

from collections.abc import Iterator, Sequence

from rich.console import RenderableType
from rich.text import Text

from harness.line import Channel, Identity
from harness.report.columns import table
from harness.report.plain import plain


def identity_sheet(identity: Identity, said: Sequence[str] = ()) -> Iterator[RenderableType]:
    """Name, version, both lists of channels, and what the device said by the way."""
    yield Text(f"{plain(identity.name)} {plain(identity.version)}", "bold")
    yield from _channels("input", identity.inputs)
    yield from _channels("output", identity.outputs)
    for text in said:
        yield Text(f"said: {plain(text)}")


def _channels(what: str, channels: Sequence[Channel]) -> Iterator[RenderableType]:
    if not channels:
        yield Text(f"no {what}s")
        return
    lines = table(what, "name", last="unit")
    for channel in channels:
        lines.add_row(*(Text(plain(word)) for word in (str(channel.number), channel.name, channel.unit)))
    yield lines
