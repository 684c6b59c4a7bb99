"""unlit hello"""

from __future__ import annotations


def hello(link: str, /) -> int:
    """Ask a device who it is and list its channels.

    Parameters
    ----------
    link
        The way to the device.
    """
    from contextlib import closing

    from harness.bench.device import Device
    from harness.line import Event, Say, Tell
    from harness.links import open_link
    from harness.report.channels import identity_sheet
    from harness.report.console import console

    heard: list[Event] = []
    with closing(open_link(link)) as way, closing(Device(way, on_message=heard.append)) as device:
        identity = device.hello()
    said = [message.text for message in heard if isinstance(message, Say)]
    said += [f"{message.name} = {message.value}" for message in heard if isinstance(message, Tell)]
    for line in identity_sheet(identity, said):
        console().print(line)
    return 0
