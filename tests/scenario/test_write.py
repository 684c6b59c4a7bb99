"""Data to TOML and back, read by the standard library."""

from __future__ import annotations

import math
import tomllib
from pathlib import Path
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from harness.errors import FileMistakesError
from harness.scenario import build_scenario, load_scenario
from harness.scenario.write import NoTomlError, to_toml
from harness.shipped import shipped

TEXT = st.text(st.characters(exclude_categories=["Cs"]))
VALUES = st.recursive(
    st.booleans() | st.integers(-(2**63), 2**63 - 1) | st.floats(allow_nan=False) | TEXT,
    lambda inner: st.lists(inner, max_size=3) | st.dictionaries(TEXT, inner, max_size=3),
    max_leaves=8,
)
READY = sorted(path for path in shipped("scenarios").rglob("*.toml") if path.suffixes == [".toml"])


@given(st.dictionaries(TEXT, VALUES, max_size=4))
def test_what_is_written_is_read_back(data: dict[str, Any]) -> None:
    assert tomllib.loads(to_toml(data)) == data


def test_tuples_and_paths_are_lists_and_text() -> None:
    data = {"plant": Path("my") / "rig.py", "themes": ("a", "b"), "x": ({"y": 1},), "none": []}
    read = tomllib.loads(to_toml(data))
    assert read == {"plant": str(Path("my/rig.py")), "themes": ["a", "b"], "x": [{"y": 1}], "none": []}
    assert math.isnan(tomllib.loads(to_toml({"n": math.nan}))["n"])


@pytest.mark.parametrize(
    ("data", "path"),
    [
        ({"a": None}, ("a",)),
        ({"a": [{"b": [1, object()]}]}, ("a", 0, "b", 1)),
        ({"a": {"b": b"c"}}, ("a", "b")),
        ({"a": "\udc80"}, ("a",)),
        ({"a": {"b": {3: 4}}}, ("a", "b")),
    ],
)
def test_what_a_file_cannot_hold_is_refused(data: dict[str, Any], path: tuple[str | int, ...]) -> None:
    with pytest.raises(NoTomlError, match="is no value of a scenario") as caught:
        to_toml(data)
    assert caught.value.path == path


def same(one: Any) -> dict[str, Any]:
    """What matters of a scenario: all but the lines and the text."""
    return {
        name: [{k: v for k, v in vars(each).items() if k not in ("line", "lines", "file")} for each in value]
        if name in ("disturbances", "assertions")
        else value
        for name, value in vars(one).items()
        if name not in ("text", "wiring", "panel", "disturbances")
    } | {"kinds": [(d.kind, d.at_ms, d.when, d.for_ms, d.sizes) for d in one.disturbances]}


@pytest.mark.parametrize("path", READY[::6], ids=lambda path: path.stem)
def test_a_call_says_what_the_file_says(path: Path) -> None:
    from_file = load_scenario(path)
    built = build_scenario(tomllib.loads(path.read_text()), str(path), 7)
    for spec in (*from_file.assertions, *built.assertions):
        object.__setattr__(spec, "required_at", 0)
    assert same(built) == same(from_file)
    assert {one.line for one in built.disturbances} <= {7}
    assert tomllib.loads(built.text) == tomllib.loads(path.read_text())


def test_mistakes_stand_at_the_line_of_the_call() -> None:
    data = {
        "title": "x",
        "plant": "herms-gas",
        "length": "3 s",
        "assertion": [{"title": "t", "alwais": "flame"}],
    }
    with pytest.raises(FileMistakesError) as caught:
        build_scenario(data, "rig.py", 12)
    said = [str(one) for one in caught.value.mistakes]
    assert said == ['rig.py:12: assertion[0]: unknown key "alwais", did you mean "always"?']
