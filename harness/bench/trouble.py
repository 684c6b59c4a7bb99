"""What to tell a person when a device does not answer as the protocol says: what was seen, and the mend."""

from __future__ import annotations

from dataclasses import dataclass, field

from harness.line.codec import EXCERPT_BYTES, frame

# By the reason of `no REASON`: what it points to.
_REFUSALS = {
    "not running": "It restarted during the run: look for a watchdog reset, a crash or a dip of its supply.",
    "time": "Its clock and the bench's disagree: does the firmware keep the kit's clock?",
    "channel": "It does not know a channel that it listed itself: do its tables change while it runs?",
}


def shown(data: bytes) -> str:
    """Bytes of the device for a person to read: printable ASCII only, in quotes."""
    return repr(data)[1:]


def _body(line: bytes) -> str:
    return line[:-6].decode("ascii")


@dataclass
class Heard:
    """What came while an answer was waited for."""

    total: int = 0  # bytes
    lines: int = 0
    answers: int = 0  # lines that answer something, damaged ones too
    parts: int = 0
    stale: int = 0
    damaged: int = 0
    not_understood: int = 0
    excerpts: list[bytes] = field(default_factory=list)

    def damage(self, excerpt: bytes) -> None:
        """Count a damaged line and keep the first few."""
        self.damaged += 1
        if len(self.excerpts) < 4:
            self.excerpts.append(excerpt)


def no_hello(heard: Heard, sent: bytes, waited_s: float) -> str:
    """Why a device did not say who it is; `sent` is the line it was asked with, without LF."""
    if not heard.total:
        return (
            f"nothing came in {waited_s:g} s. Is it the right port, is the board powered, and does its "
            "firmware call the kit in every turn of its loop?"
        )
    if not heard.lines:
        return (
            f"{heard.total} bytes came in {waited_s:g} s, but no whole line. Is the baud rate the firmware's "
            "(set it after the port, as in ?baud=57600), and does it end its lines with LF?"
        )
    first = heard.excerpts[0] if heard.excerpts else b""
    if any(sent in excerpt for excerpt in heard.excerpts):
        return (
            "it sends back what it is sent. A console echoes, or TX is joined to RX: switch the echo off, "
            "check the wires, and check that the kit is in this firmware."
        )
    if misspelt := next(filter(_is_whole, heard.excerpts), b""):
        return (
            f"its line {shown(misspelt)} came undamaged, but is none of the protocol's. A channel's name is "
            "lower-case letters, digits and _, 1 to 24 of them, a letter first; its unit is one of "
            "PROTOCOL.md; the identity is two words, name and version. Mend the firmware's tables."
        )
    if heard.damaged and _is_text(heard.excerpts):
        return (
            f"it sends text, but not the line protocol; first: {shown(first)}. Is this the right port, and "
            "is the kit in this firmware?"
        )
    if heard.damaged:
        return (
            f"what comes is unreadable; first: {shown(first)}. Most often the baud rate is wrong: set the "
            "firmware's after the port, as in ?baud=57600."
        )
    if not heard.parts:
        return (
            f"it speaks, but did not answer {shown(sent)} in {waited_s:g} s. Does its firmware feed what it "
            "receives to the kit?"
        )
    return (
        f"its list of channels broke off and did not go on for {waited_s:g} s. Does the firmware restart by "
        "itself, or end its list without `ready`?"
    )


def _is_whole(excerpt: bytes) -> bool:
    """Whether a line that is no message has the right check: what is wrong is what it says."""
    return len(excerpt) < EXCERPT_BYTES and frame(excerpt[:-5]) == excerpt + b"\n"


def _is_text(excerpts: list[bytes]) -> bool:
    return all(0x20 <= byte <= 0x7E or byte == 0x09 for excerpt in excerpts for byte in excerpt)


def no_answer(heard: Heard, line: bytes, times: int, timeout_s: float) -> str:
    """Why a line stayed without a good answer though it was sent so many times."""
    asked = f"`{_body(line)}` was sent {times} time{'s' if times > 1 else ''}"
    if heard.damaged:
        return (
            f"{asked} and every answer came damaged; first: {shown(heard.excerpts[0])}. Check the cable, the "
            "ground and the baud rate; the firmware must not print on the kit's port."
        )
    if heard.not_understood:
        return f"{asked} and the device could not read it. Check the cable, the ground and the baud rate."
    if heard.stale:
        return (
            f"{asked} and {heard.stale} answers came that do not belong to it. Does the firmware answer with "
            "the time it was asked for, and each line once?"
        )
    if heard.total and not heard.lines:
        return (
            f"{asked}; {heard.total} bytes came, but no whole line. Does the firmware end its lines with LF?"
        )
    return (
        f"{asked} and not answered within {timeout_s:g} s. Has the firmware stopped, or does something in "
        "its loop wait that long?"
    )


def refused(reason: str, line: bytes) -> str:
    """Why a device will not take a line that it read well."""
    mend = _REFUSALS.get(reason, "See the rules of the conversation in PROTOCOL.md.")
    return f"the device answered `{_body(line)}` with `no {reason}`. {mend}"


def floods(lines: int, most_bytes: int) -> str:
    """A device that sends more than any answer needs; with as many lines as bytes only these are bounded."""
    most = f"{most_bytes} bytes" if lines >= most_bytes else f"{lines} lines or {most_bytes} bytes"
    return f"the device floods the line: over {most} came for one answer. Print less, or less often."
