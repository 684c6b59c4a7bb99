"""unlit talk"""

from __future__ import annotations


def talk(link: str, /) -> int:
    """Talk to a device by hand: type a body, its check is added, the answer is shown.

    An empty line listens for a second. /quit or the end of the input leaves.

    Parameters
    ----------
    link
        The way to the device.
    """
    import sys
    from contextlib import closing

    from harness.cli.conversation import Conversation
    from harness.links import open_link

    with closing(open_link(link)) as way:
        Conversation(way, sys.stdout.write).hold(sys.stdin, prompt=sys.stdin.isatty())
    return 0
