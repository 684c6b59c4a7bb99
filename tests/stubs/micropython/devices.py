"""Devices for MicroPython and for CPython: each speaks the line protocol on standard input and output."""

import sys

from dialogue_app import INPUTS, OUTPUTS, DialogueApp
from unlit_kit import Kit


def serve(make_kit):
    """Feed standard input to the kit that `make_kit` gives for a function which sends bytes."""
    line_in, line_out = sys.stdin.buffer, sys.stdout.buffer
    kit = make_kit(line_out.write)
    while True:
        heard = line_in.readline(256)
        if not heard:
            return
        kit.feed(heard)
        line_out.flush()


def dialogue(write):
    """The application of the dialogue tests."""
    return Kit("dialogue 1.0", INPUTS, OUTPUTS, write, DialogueApp())


def dialogue_at_wall_pace(write):
    """The same with its own clock."""
    return Kit("dialogue 1.0", INPUTS, OUTPUTS, write, DialogueApp(), True)
