"""A kit on standard input and output: how a controller that is a program speaks to the bench."""

import os


def serve(make_kit):
    """Serve until the bench closes the line. `make_kit` gets the function that takes the answer's bytes."""
    answer = bytearray()
    kit = make_kit(answer.extend)
    while True:
        heard = os.read(0, 4096)
        if not heard:
            return
        kit.feed(heard)
        if answer:
            os.write(1, answer)
            answer[:] = b""
