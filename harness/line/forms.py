"""The form of each message's body: one table from verb to its fields, read and written by the same entries.

A field reads words of a body and refuses all but the one spelling it would write, so that what is accepted is
written back byte for byte. `BodyError` is the only thing a reader raises.
"""

from __future__ import annotations

import re
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any

from harness.line.messages import (
    At,
    Back,
    Channel,
    End,
    Go,
    Got,
    Hi,
    In,
    Me,
    Message,
    No,
    Now,
    Ok,
    Out,
    Put,
    Ready,
    Say,
    Side,
    Tell,
    Tick,
    Type,
    Value,
    Values,
)

TIME_END = 2**32
VALUE_LOW, VALUE_HIGH = -(2**31) + 1, 2**31 - 1
CHANNEL_HIGH = 99
TEXT_CHARS = 100

_NUMBER = re.compile(r"0|-?[1-9][0-9]{0,9}")
_NAME = re.compile(r"[a-z][a-z0-9_]{0,23}")
_TITLE = re.compile(r"[A-Za-z0-9_.][A-Za-z0-9_.-]{0,23}")
_UNIT = re.compile(r"mdegC|mdegF|mohm|uV|adc([89]|1[0-9]|2[0-4])|bool|permille|count|ms")
_TEXT = re.compile(r"[!-~]([ -~]{0,98}[!-~])?")


class BodyError(ValueError):
    """The body is no message of the protocol."""


def _matched(pattern: re.Pattern[str], word: str) -> str:
    if pattern.fullmatch(word) is None:
        raise BodyError(word)
    return word


def _number(word: str, low: int, high: int) -> int:
    number = int(_matched(_NUMBER, word))
    if not low <= number <= high:
        raise BodyError(word)
    return number


def _time(word: str) -> int:
    return _number(word, 0, TIME_END - 1)


def _version(word: str) -> int:
    return _number(word, 1, 99)


def _count(word: str) -> int:
    return _number(word, 0, 99)


def _name(word: str) -> str:
    return _matched(_NAME, word)


def _title(word: str) -> str:
    return _matched(_TITLE, word)


def _text(word: str) -> str:
    return _matched(_TEXT, word)


def read_value(word: str) -> Value:
    """A value V: a signed 32-bit number, or None for `x`."""
    return None if word == "x" else _number(word, VALUE_LOW, VALUE_HIGH)


def read_values(words: list[str]) -> Values:
    """A list of `I=V`, rising in I."""
    values: list[tuple[int, Value]] = []
    last = 0
    for word in words:
        number, _, value = word.partition("=")
        last = _number(number, last + 1, CHANNEL_HIGH)
        values.append((last, read_value(value)))
    return tuple(values)


def _channel(words: list[str]) -> Channel:
    number, name, unit = words
    return Channel(_number(number, 1, CHANNEL_HIGH), _name(name), _matched(_UNIT, unit))


def _value_text(value: Value) -> str:
    return "x" if value is None else str(value)


def _values_text(values: Values) -> str:
    return "".join(f" {number}={_value_text(value)}" for number, value in values)


def _channel_text(channel: Channel) -> str:
    return f" {channel.number} {channel.name} {channel.unit}"


@dataclass(frozen=True)
class Form:
    """One verb: `read` takes the words after it, `write` gives them back as text.

    `words` is the number of words after the verb (least, most); `free` marks a body whose rest is one TEXT.
    """

    kind: type[Any]
    said_by: tuple[Side, ...]
    words: tuple[int, int]
    read: Callable[[list[str]], Message]
    write: Callable[[Any], str]
    free: bool = False


_BENCH, _DEVICE, _BOTH = (Side.BENCH,), (Side.DEVICE,), (Side.BENCH, Side.DEVICE)
_MANY = 99

FORMS: dict[str, Form] = {
    "hi": Form(Hi, _BENCH, (1, 1), lambda w: Hi(_version(w[0])), lambda m: f" {m.version}"),
    "go": Form(Go, _BENCH, (1, 1), lambda w: Go(_time(w[0])), lambda m: f" {m.t_ms}"),
    "back": Form(Back, _BENCH, (1, 1), lambda w: Back(_time(w[0])), lambda m: f" {m.t_ms}"),
    "put": Form(Put, _BENCH, (1, _MANY), lambda w: Put(read_values(w)), lambda m: _values_text(m.values)),
    "at": Form(
        At, _BENCH, (1, _MANY), lambda w: At(_time(w[0]), read_values(w[1:])),
        lambda m: f" {m.t_ms}{_values_text(m.values)}",
    ),
    "tick": Form(Tick, _BENCH, (1, 1), lambda w: Tick(_time(w[0])), lambda m: f" {m.t_ms}"),
    "type": Form(Type, _BENCH, (1, 1), lambda w: Type(_text(w[0])), lambda m: f" {m.text}", free=True),
    "end": Form(End, _BENCH, (0, 0), lambda w: End(), lambda m: ""),
    "me": Form(
        Me, _DEVICE, (3, 3), lambda w: Me(_version(w[0]), _title(w[1]), _title(w[2])),
        lambda m: f" {m.protocol} {m.name} {m.version}",
    ),
    "in": Form(In, _DEVICE, (3, 3), lambda w: In(_channel(w)), lambda m: _channel_text(m.channel)),
    "out": Form(Out, _DEVICE, (3, 3), lambda w: Out(_channel(w)), lambda m: _channel_text(m.channel)),
    "ready": Form(Ready, _DEVICE, (0, 0), lambda w: Ready(), lambda m: ""),
    "ok": Form(
        Ok, _DEVICE, (1, _MANY), lambda w: Ok(_time(w[0]), read_values(w[1:])),
        lambda m: f" {m.t_ms}{_values_text(m.values)}",
    ),
    "got": Form(Got, _DEVICE, (1, 1), lambda w: Got(_count(w[0])), lambda m: f" {m.count}"),
    "now": Form(Now, _DEVICE, (1, _MANY), lambda w: Now(read_values(w)), lambda m: _values_text(m.values)),
    "tell": Form(
        Tell, _DEVICE, (2, 2), lambda w: Tell(_name(w[0]), read_value(w[1])),
        lambda m: f" {m.name} {_value_text(m.value)}",
    ),
    "say": Form(Say, _DEVICE, (1, 1), lambda w: Say(_text(w[0])), lambda m: f" {m.text}", free=True),
    # Both sides know `no`, so that a device whose own answer is echoed back to it does not answer that.
    "no": Form(No, _BOTH, (1, 1), lambda w: No(_text(w[0])), lambda m: f" {m.reason}", free=True),
}  # fmt: skip

VERB_OF: dict[type[Any], str] = {form.kind: verb for verb, form in FORMS.items()}


def read_body(body: str, said_by: Side) -> Message:
    """The message in a body of ASCII text. Raises BodyError."""
    verb, space, rest = body.partition(" ")
    form = FORMS.get(verb)
    if form is None or said_by not in form.said_by:
        raise BodyError(verb)
    words = [rest] if form.free else rest.split(" ") if space else []
    least, most = form.words
    if not least <= len(words) <= most:
        raise BodyError(body)
    return form.read(words)


def write_body(message: Message) -> str:
    """The body of a message, unchecked: the codec reads it back before it is sent."""
    verb = VERB_OF[type(message)]
    return verb + FORMS[verb].write(message)
