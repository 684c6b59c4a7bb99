"""The Python kit answers as the device's side of the conversation's table does, line for line."""

from __future__ import annotations

import random
from contextlib import closing

import pytest

from harness.bench.device import Device
from harness.line import (
    At,
    Back,
    Decoder,
    End,
    Event,
    Go,
    Got,
    Hi,
    Identity,
    Message,
    No,
    Ok,
    Put,
    Ready,
    Side,
    Tick,
    Type,
    encode,
)
from harness.line.conversation import DeviceSide
from harness.links import Link, open_link

STEPS_MS = (0, 0, 1, 5, -1, 100, 2**31, 2**31 - 1)
CHANNELS = (1, 2, 32, 33, 99)


class Idle:
    """A firmware with the other's channels that does nothing."""

    def __init__(self, identity: Identity) -> None:
        self.identity, self.remarks = identity, []

    def start(self, t_ms, new):
        pass

    def step(self, t_ms, inputs, heard):
        return [0] * len(self.identity.outputs)

    def console(self, text):
        return False


def any_message(chance: random.Random, t_ms: int) -> Message:
    """A line of the bench near `t_ms`, in or out of place."""
    pair = ((chance.choice(CHANNELS), 5),)
    timed = [At(t_ms, ()), At(t_ms, pair), Tick(t_ms), Go(t_ms), Back(t_ms)]
    return chance.choice([*timed, Put(pair), End(), Type("x"), Hi(1), No("x")])


def gist(event: Event) -> object:
    """An answer without its outputs, which are the firmware's own."""
    return ("ok", event.t_ms) if isinstance(event, Ok) else event


def answer_of(link: Link, message: Message) -> object:
    link.write(encode(message))
    decoder = Decoder(Side.DEVICE)
    while data := link.read(10.0):
        for event in decoder.feed(data):
            if isinstance(event, Ok | Got | No | Ready):
                return gist(event)
    return "nothing"


@pytest.mark.parametrize("seed", range(4))
def test_the_kit_and_the_table_answer_alike(seed):
    chance = random.Random(seed)
    with closing(Device(open_link("builtin"))) as device:
        side = DeviceSide(Idle(device.hello()))
        t_ms, message = 0, Hi(1)
        for _ in range(200):
            if chance.random() < 0.7:
                message = any_message(chance, (t_ms + chance.choice(STEPS_MS)) % 2**32)
            lines = side.hear(message)
            if not lines:
                device.link.write(encode(message))
                continue
            assert answer_of(device.link, message) == gist(lines[-1]), message
            if isinstance(lines[-1], Ok):
                t_ms = lines[-1].t_ms
