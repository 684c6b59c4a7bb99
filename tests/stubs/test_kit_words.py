"""What the kits say is spelt as in the corpus: both kits say each of its rows of device's words."""

from __future__ import annotations

import ctypes
import subprocess

import pytest

from tests.stubs.kit_builds import STRICT, STUBS, Kit, frame
from tests.stubs.test_kit_corpus import ROWS

NO_READING = -(2**31)
PUT_BYTE = ctypes.CFUNCTYPE(None, ctypes.c_void_p, ctypes.c_uint8)


class Channel(ctypes.Structure):
    _fields_ = [("name", ctypes.c_char * 25), ("unit", ctypes.c_char * 9)]


class Config(ctypes.Structure):
    """struct unlit_config."""

    _fields_ = [
        ("identity", ctypes.c_char_p),
        ("inputs", ctypes.POINTER(Channel)),
        ("outputs", ctypes.POINTER(Channel)),
        ("n_inputs", ctypes.c_uint8),
        ("n_outputs", ctypes.c_uint8),
        ("values", ctypes.POINTER(ctypes.c_int32)),
        ("put_byte", PUT_BYTE),
        ("hooks", ctypes.c_void_p * 5),
        ("app", ctypes.c_void_p),
        ("wall_pace", ctypes.c_uint8),
    ]


class DirectC:
    """The C kit's own functions, with the Python kit's face."""

    def __init__(self, library, identity, inputs, outputs, write, wall_pace=False):
        self._library = library
        rows = [[(name.encode(), unit.encode()) for name, unit in table] for table in (inputs, outputs)]
        tables = [(Channel * max(len(table), 1))(*table) for table in rows]
        self._keep = PUT_BYTE(lambda _kit, byte: write(bytes([byte]))), tables
        values = (ctypes.c_int32 * 200)()
        self._config = Config(identity.encode(), *tables, len(inputs), len(outputs), values, self._keep[0])
        self._config.wall_pace = wall_pace
        self._kit = ctypes.create_string_buffer(1024)
        if library.unlit_begin(self._kit, ctypes.byref(self._config)) != 0:
            raise ValueError("too many channels")

    def feed(self, data):
        for byte in data:
            self._library.unlit_byte(self._kit, byte)

    def tell(self, name, value):
        self._library.unlit_tell(self._kit, name.encode(), NO_READING if value is None else value)

    def say(self, text):
        self._library.unlit_say(self._kit, text.encode())

    def set_output(self, place, value):
        self._library.unlit_set_output(self._kit, place, NO_READING if value is None else value)

    def poll(self, board_ms):
        self._library.unlit_poll(self._kit, board_ms)


@pytest.fixture(scope="module")
def kit_library(tmp_path_factory):
    out = tmp_path_factory.mktemp("direct") / "kit.so"
    source = STUBS / "c" / "unlit_kit.c"
    subprocess.run(["gcc", *STRICT, "-O2", "-shared", "-fPIC", str(source), "-o", str(out)], check=True)
    return ctypes.CDLL(str(out))


@pytest.fixture(params=["python", "c"])
def make_kit(request, kit_library):
    if request.param == "python":
        return lambda *args, **options: Kit(*args, **options)
    return lambda *args, **options: DirectC(kit_library, *args, **options)


OUTPUTS = [("o", "count")] * 32


def pairs(words):
    """(place, value) of `I=V` words."""
    split = [word.split("=") for word in words]
    return [(int(number) - 1, None if value == "x" else int(value)) for number, value in split]


def said(make_kit, body: str) -> bytes | None:
    """What the kit says when it is to say `body`; None if a kit has no way to say such a line."""
    heard = bytearray()
    verb, *words = body.split(" ")
    kit = make_kit("a 1", [], OUTPUTS, heard.extend, wall_pace=True)
    if verb == "tell":
        kit.tell(words[0], None if words[1] == "x" else int(words[1]))
    elif verb == "say":
        kit.say(body[4:])
    elif verb in ("in", "out") and int(words[0]) <= 32:
        table = [("filler", "bool")] * (int(words[0]) - 1) + [(words[1], words[2])]
        both = (table, []) if verb == "in" else ([], table)
        make_kit("a 1", *both, heard.extend).feed(frame(b"hi 1"))
        return bytes(heard).splitlines(keepends=True)[-2]
    elif verb == "me" and words[0] == "1":
        make_kit(body[5:], [], [], heard.extend).feed(frame(b"hi 1"))
        return bytes(heard).splitlines(keepends=True)[0]
    elif verb == "now" or (verb == "ok" and len(words) > 1):
        values = pairs(words[verb == "ok" :])
        if [place for place, _ in values] != list(range(len(values))):
            return None  # a kit numbers its outputs without gaps
        kit = make_kit("a 1", [], OUTPUTS[: len(values)], heard.extend, wall_pace=True)
        start = int(words[0]) if verb == "ok" else 0
        kit.feed(frame(b"go %d" % ((start - 1) % 2**32)))
        for place, value in values:
            kit.set_output(place, value if value != 0 else 1)
            kit.set_output(place, value)
        heard.clear()
        kit.feed(frame(b"tick %d" % start)) if verb == "ok" else kit.poll(0)
    else:
        return None
    return bytes(heard)


def test_device_words_are_those_of_the_corpus(make_kit):
    seen = set()
    for verdict, side, line in ROWS:
        if verdict != "ok" or side != "device" or b"\r" in line:
            continue
        body = line[:-5].decode()
        words = said(make_kit, body)
        if words is not None:
            assert words == line + b"\n"
            seen.add(body.split(" ")[0])
    assert seen == {"me", "in", "out", "ok", "now", "tell", "say"}


@pytest.mark.parametrize(
    ("text", "line"),
    [
        ("k" * 101, b"say " + b"k" * 100),
        (" a", b"say ?a"),
        ("a ", b"say a?"),
        (" ", b"say ?"),
        ("a  b", b"say a  b"),
        ("a\nb\x7f\x00"[:3], b"say a?b"),
        ("k" * 99 + "  k", b"say " + b"k" * 99 + b"?"),
    ],
)
def test_a_text_is_made_fit_for_the_line(make_kit, text, line):
    heard = bytearray()
    make_kit("a 1", [], [], heard.extend).say(text)
    assert bytes(heard) == frame(line)


def test_an_empty_text_says_nothing(make_kit):
    heard = bytearray()
    make_kit("a 1", [], [], heard.extend).say("")
    assert heard == b""


@pytest.mark.parametrize("sizes", [(33, 0), (0, 33)])
def test_more_than_32_channels_are_refused(make_kit, sizes):
    tables = [[("a", "bool")] * size for size in sizes]
    with pytest.raises(ValueError, match="channels"):
        make_kit("a 1", *tables, print)


def test_32_inputs_and_outputs_are_served(make_kit):
    heard = bytearray()
    kit = make_kit("a 1", [("i", "bool")] * 32, OUTPUTS[:20], heard.extend)
    kit.feed(frame(b"go 0") + frame(b"put 32=1") + frame(b"put 33=1"))
    assert heard.endswith(frame(b"got 1") + frame(b"no channel"))
