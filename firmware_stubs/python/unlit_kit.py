"""Device side of the Unlit line protocol, version 1 (harness/line/PROTOCOL.md), for CPython and MicroPython.

Received bytes go in through `Kit.feed`, answers come out through `write`; there is no I/O and no clock here.
The C kit (c/unlit_kit.c) gives the same lines the same answers, byte for byte.
"""

# ruff: noqa: UP031 (MicroPython builds without f-strings exist)

try:
    from binascii import crc_hqx
except ImportError:  # MicroPython has no such function

    def crc_hqx(data, crc):
        """CRC-16 with polynomial 0x1021, four bits at a time."""
        for byte in data:
            crc = ((crc << 4) & 0xFFFF) ^ 0x1021 * ((crc >> 12) ^ (byte >> 4))
            crc = ((crc << 4) & 0xFFFF) ^ 0x1021 * ((crc >> 12) ^ (byte & 15))
        return crc


LINE_MAX = 120
NAME_MAX = 24
TEXT_MAX = 100
CHANNELS_MAX = 32
_MS = 0xFFFFFFFF
_VALUE_MAX = 0x7FFFFFFF
_UPPER_HEX = b"0123456789ABCDEF"


def _number(word, most):
    """A number from 0 to `most` in its one spelling; ValueError for anything else."""
    number = int(word)
    if not 0 <= number <= most or str(number) != word:
        raise ValueError(word)
    return number


def _value(word):
    if word == "x":
        return None
    number = int(word)
    if not -_VALUE_MAX <= number <= _VALUE_MAX or str(number) != word:
        raise ValueError(word)
    return number


def _values(words):
    """The (channel, value) pairs of `I=V` words, rising in I; ValueError for anything else."""
    pairs = []
    last = 0
    for word in words:
        channel, _, value = word.partition("=")
        number = _number(channel, 99)
        if number <= last:
            raise ValueError(word)
        last = number
        pairs.append((number, _value(value)))
    return pairs


def _word(value):
    """A value as the line has it; `x` for None and for what a signed 32-bit number cannot hold."""
    if value is None or not -_VALUE_MAX <= value <= _VALUE_MAX:
        return "x"
    return str(int(value))


def _text(text):
    if not 1 <= len(text) <= TEXT_MAX or text[0] == " " or text[-1] == " ":
        raise ValueError(text)
    return text


def _clean(text, most):
    """A text cut to `most` characters; '?' for what is not printable ASCII and for a space at either end."""
    text = text[:most]
    inner = "".join([c if " " <= c <= "~" else "?" for c in text])
    for end in (0, len(inner) - 1):
        if inner and inner[end] == " ":
            inner = inner[:end] + "?" + inner[end + 1 :]
    return inner


class Kit:
    """One device on the line.

    identity: "NAME VERSION". inputs, outputs: tables of (name, unit); the number on the line is the place in
    the table counted from 1, functions take the place counted from 0. write: called with the bytes of each
    line to send. app: an object whose methods on_go, on_back, on_step, on_end (kit) and on_type (kit, text)
    are called where it has them. wall_pace: False, the line is the clock (lockstep); True, the device's own
    clock is, see `poll`. ValueError if a table has more than 32 rows.

    `None` stands for no reading: an open circuit, a failed read, or an input not heard yet.
    """

    def __init__(self, identity, inputs, outputs, write, app=None, wall_pace=False):
        if len(inputs) > CHANNELS_MAX or len(outputs) > CHANNELS_MAX:
            raise ValueError("kit: a table has more than 32 channels. Declare fewer.")
        self.identity = identity
        self.running = False
        self._tables = (("in", inputs), ("out", outputs))
        self._write = write
        self._wall_pace = wall_pace
        for hook in ("on_go", "on_back", "on_step", "on_end", "on_type"):
            setattr(self, "_" + hook, getattr(app, hook, None))
        self._rest = b""
        self._now_ms = self._offset_ms = self._heard_ms = 0
        self._last_ms = 0
        self._last = ""
        self._forget()

    # ---- what firmware calls ----

    def feed(self, data):
        """Received bytes, any number and any values; calls the hooks and sends the answers."""
        lines = (self._rest + data.replace(b"\r", b"")).split(b"\n")
        # One byte over the limit is kept: enough to know at the LF that the line was too long.
        self._rest = lines.pop()[: LINE_MAX + 1]
        for line in lines:
            if line:
                reason = self._take_line(line)
                if reason:
                    self._send("no " + reason)

    def input(self, place):
        """Input in force, in its channel's unit; None without reading."""
        return self._inputs[place]

    def input_on(self, place):
        """Whether the input has a reading other than 0: what a bool input means."""
        return bool(self._inputs[place])

    def output(self, place):
        """The output as set."""
        return self._outputs[place]

    def set_output(self, place, value):
        """Set an output, told with the next answer; without a run it does nothing.

        A bool is 0 or 1, a permille 0 to 1000; what is beyond 32 bits goes as `x`. One line carries all
        outputs in 120 bytes: 22 bool, or 7 numbers of any size, are sure to fit.
        """
        if self.running and self._outputs[place] != value:
            self._outputs[place] = None if value is None else int(value)
            self._changed = True

    def millis(self):
        """The device's clock: bench time in ms, rolls over at 2^32."""
        return self._now_ms

    def quiet_ms(self):
        """Time since the last at, go or back; 0 without a run.

        Within on_step it is the silence up to this very step, so that an `at` after a long gap shows the gap.
        """
        return (self._now_ms - self._heard_ms) & _MS if self.running else 0

    def tell(self, name, value):
        """Put a figure on the bench's record; one beyond 32 bits goes as `x`."""
        self._send("tell " + _clean(name, NAME_MAX) + " " + _word(value))

    def say(self, text):
        """Put a text on the bench's record: cut at 100 characters, '?' for what the line does not carry."""
        if text:
            self._send("say " + _clean(text, TEXT_MAX))

    def poll(self, board_ms):
        """Wall pace: call each turn of the main loop with the board's own millisecond clock.

        Sends `now` with all outputs when one has changed. In lockstep pace it does nothing.
        """
        if self._wall_pace:
            self._now_ms = (board_ms + self._offset_ms) & _MS
            if self._changed and self.running:
                self._send("now" + self._outputs_text())

    # ---- lines out ----

    def _send(self, body):
        data = body.encode()
        self._write(data + ("*%04X\n" % crc_hqx(data, 0xFFFF)).encode())

    def _outputs_text(self):
        """` I=V` of each output, kept until one changes."""
        if self._changed or self._told is None:
            words = [""]
            for place, value in enumerate(self._outputs):
                words.append("%d=%s" % (place + 1, _word(value)))
            self._told = " ".join(words)
            self._changed = False
        return self._told

    def _answer_hello(self):
        self._send("me 1 " + self.identity)
        for kind, table in self._tables:
            for place, row in enumerate(table):
                self._send("%s %d %s %s" % (kind, place + 1, row[0], row[1]))
        self._send("ready")

    # ---- lines in ----

    def _take_line(self, line):
        """Obey and answer a line without its LF; or give the reason of a `no`."""
        if len(line) > LINE_MAX:
            return "long"
        check = line[-4:]
        if len(line) < 5 or line[-5] != 42:
            return "form"
        body = line[:-5]
        if check != ("%04X" % crc_hqx(body, 0xFFFF)).encode():
            return "crc" if all([c in _UPPER_HEX for c in check]) else "form"
        if not body or min(body) < 32 or max(body) > 126:
            return "form"
        words = body.decode().split(" ")
        try:
            argument, pairs = self._read(words)
        except ValueError:
            return "form"
        return self._judge(words[0], argument, pairs) or self._obey(words[0], argument, pairs)

    def _read(self, words):
        """(T or text, values) of a body; ValueError if it is none of the bench's."""
        verb = words[0]
        if verb == "at" and len(words) > 1:
            return _number(words[1], _MS), _values(words[2:])
        if verb == "put" and len(words) > 1:
            return None, _values(words[1:])
        if verb in ("type", "no"):
            return _text(" ".join(words[1:])), None
        if verb in ("go", "back", "tick") and len(words) == 2:
            return _number(words[1], _MS), None
        if words == ["end"] or (verb == "hi" and len(words) == 2 and _number(words[1], 99) > 0):
            return None, None
        raise ValueError(verb)

    def _judge(self, verb, t_ms, pairs):
        """The reason for which a line does not fit the state, or None."""
        if verb in ("at", "tick", "put"):
            if not self.running:
                return "not running"
            if verb != "put" and (t_ms - self._last_ms) & _MS > _VALUE_MAX:
                return "time"
            if pairs and pairs[-1][0] > len(self._inputs):
                return "channel"
        return None

    # ---- the conversation ----

    def _obey(self, verb, argument, pairs):
        """Do what a faultless line says and answer it; the same T once more changes nothing."""
        if verb == "no":
            return
        repeated = verb == self._last and argument == self._last_ms
        if verb == "put" or (verb == "at" and not repeated):
            for number, value in pairs:
                self._waiting[number - 1] = value
        if verb in ("hi", "end"):
            self._stop()
        elif verb in ("go", "back", "at", "tick") and not repeated:
            self._last_ms = argument
            if verb in ("go", "back"):
                self._start(self._on_go if verb == "go" else self._on_back)
            else:
                self._step(verb == "at")
        if verb == "hi":
            self._answer_hello()
        elif verb == "put":
            self._send("got %d" % len(pairs))
        elif verb == "type":
            self._send("got 1" if self._on_type and self._on_type(self, argument) else "got 0")
        else:
            self._send("ok %d%s" % (self._last_ms, self._outputs_text()))
        self._last = verb

    def _forget(self):
        self._inputs = [None] * len(self._tables[0][1])
        self._waiting = list(self._inputs)
        self._all_off()

    def _all_off(self):
        self._outputs = [0] * len(self._tables[1][1])
        self._changed = False
        self._told = None

    def _stop(self):
        was_running = self.running
        self.running = False
        self._all_off()
        if was_running and self._on_end:
            self._on_end(self)

    def _start(self, hook):
        self._forget()
        self._offset_ms = (self._offset_ms + self._last_ms - self._now_ms) & _MS
        self._now_ms = self._heard_ms = self._last_ms
        self.running = True
        if hook:
            hook(self)

    def _step(self, is_at):
        if is_at:
            self._inputs = list(self._waiting)
        if not self._wall_pace:
            self._now_ms = self._last_ms
            if self._on_step:
                self._on_step(self)
        if is_at:
            self._heard_ms = self._now_ms
