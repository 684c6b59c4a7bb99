"""A person and a device on the line protocol."""

from __future__ import annotations

import sys
import time
from collections.abc import Callable, Iterable
from typing import Protocol

from harness.line import (
    Decoder,
    Event,
    Got,
    LineError,
    Me,
    No,
    Now,
    Ok,
    Out,
    Ready,
    Side,
    encode,
    frame,
)
from harness.report.plain import plain

ANSWER_S = 1.0
QUIET_S = 0.05
ANSWERS = (Ok, Got, No, Ready)
LEAVE = "/quit"


class Way(Protocol):
    """As much of a link as a conversation needs."""

    def write(self, data: bytes) -> None: ...
    def read(self, timeout_s: float) -> bytes: ...


class Conversation:
    """Sends what a person types and shows what the device says; `show` takes whole lines of text."""

    def __init__(self, way: Way, show: Callable[[str], object], *, answer_s: float = ANSWER_S) -> None:
        self._way, self._show, self._answer_s = way, show, answer_s
        self._decoder = Decoder(Side.DEVICE)
        self._names: dict[int, str] = {}

    def hold(self, lines: Iterable[str], *, prompt: bool) -> None:
        """Take lines until they end or one says /quit. With `prompt` a person sees what they type."""
        self._listen(min(QUIET_S, self._answer_s), asked=False)
        self._prompt(prompt)
        for line in lines:
            body = line.rstrip("\r\n")
            if body.strip() == LEAVE:
                return
            if body:
                if not prompt:
                    self._show(f"> {plain(body)}\n")
                self._way.write(frame(body.encode("utf-8", "surrogateescape")))
            self._listen(self._answer_s, asked=True)
            self._prompt(prompt)

    def _prompt(self, wanted: bool) -> None:
        if wanted:
            self._show("> ")
            sys.stdout.flush()

    def _listen(self, patience_s: float, *, asked: bool) -> None:
        """Show what comes until an answer is whole or the time is up."""
        give_up = time.monotonic() + patience_s
        answered = False
        while not answered and (left := give_up - time.monotonic()) > 0:
            for event in self._decoder.feed(self._way.read(left)):
                self._show(f"< {plain(self._account(event))}\n")
                answered = answered or isinstance(event, ANSWERS)
        if asked and not answered:
            self._show("  (no answer)\n")

    def _account(self, event: Event) -> str:
        """An event as the device sent it, with the names of its outputs where they are known."""
        if isinstance(event, LineError):
            return f"damaged ({event.reason}): {event.excerpt.decode('latin-1')}"
        body = encode(event)[:-6].decode("ascii")
        if isinstance(event, Me):
            self._names.clear()
        if isinstance(event, Out):
            self._names[event.channel.number] = event.channel.name
        if isinstance(event, (Ok, Now)) and self._names:
            values = [f"{self._names.get(number, number)} {value}" for number, value in event.values]
            return f"{body}    {', '.join(values)}".rstrip()
        return body
