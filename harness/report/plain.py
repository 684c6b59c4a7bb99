"""Text from outside made safe to print."""

from __future__ import annotations


def plain(text: str) -> str:
    """`text` on one line, with everything that could steer a terminal written out.

    Control characters, escape sequences, line ends, direction marks, invisible and unassigned characters,
    and the surrogates that stand for bytes that are no text become `\\x1b`, `\\u202e` and so on. What is left
    is no mark-up either, on a console of `harness.report.console`, which knows none.
    """
    return "".join(char if char.isprintable() else _written_out(char) for char in text)


def _written_out(char: str) -> str:
    named = {"\n": r"\n", "\r": r"\r", "\t": r"\t"}
    code = ord(char)
    if char in named:
        return named[char]
    return f"\\x{code:02x}" if code < 0x100 else f"\\u{code:04x}" if code < 0x10000 else f"\\U{code:08x}"
