"""An assertion written into the logbook and taken back is the same."""

from __future__ import annotations

import json
from pathlib import Path

import pytest

from harness.assertions import spec_of
from harness.scenario import load_scenario
from harness.shipped import shipped

FILES = sorted(shipped("scenarios").glob("[a-q]*/f*.toml"))


@pytest.mark.parametrize("path", FILES, ids=lambda path: path.stem)
def test_every_ready_assertion_survives_json(path: Path) -> None:
    for spec in load_scenario(path).assertions:
        back = spec_of(json.loads(json.dumps(spec.stated_values())))
        assert back.stated_values() == spec.stated_values()
        assert back.texts() == spec.texts()


def test_a_key_of_a_later_version_is_left_out() -> None:
    assert spec_of({"title": "a", "always": "flame", "some_day": 3}).always == "flame"
