"""`builtin`: the reference controller that comes with Unlit."""

from __future__ import annotations

from contextlib import closing

import pytest

from harness.bench.device import Device
from harness.links import open_link

CASES = [("builtin", "mdegC"), ("builtin:degC", "mdegC"), ("builtin:degF", "mdegF")]


@pytest.mark.parametrize(("text", "unit"), CASES)
def test_the_panel_chooses_the_unit_of_the_set_points(text, unit):
    with closing(Device(open_link(text))) as device:
        units = {channel.name: channel.unit for channel in device.hello().inputs}
    assert units["liquor"] == "mdegC"
    assert units["mash_setpoint"] == unit


def test_it_plays_a_run_and_comes_back_from_a_power_cut():
    with closing(Device(open_link("builtin"))) as device:
        identity = device.hello()
        off = (0,) * len(identity.outputs)
        assert device.go(0) == off
        device.prepare([channel.number for channel in identity.inputs])
        device.send_at(100, [20_000] * len(identity.inputs))
        assert len(device.receive()) == len(off)
        device.restart()
        assert device.back(200) == off
        device.end()
        assert device.repeats == device.damaged == device.stale == 0
