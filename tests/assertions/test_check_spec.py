"""All mistakes of an assertion at once, each under its key."""

import subprocess
import sys
from pathlib import Path

import pytest

import harness.assertions
from harness.assertions import KEYS, AssertionSpec, check_spec

UNITS = {"liquor": "degC", "flame": "bool", "gas_valve": "bool"}


@pytest.mark.parametrize(
    "keys",
    [
        {"always": "liquor < 80 degC"},
        {"never": "gas_valve", "while_": "between 8 min and 20 min", "grace_ms": 4000},
        {"sometime": "flame", "while_": "after 1 h 30 min"},
        {"after": "falls(flame)", "within_ms": 4000, "expect": "not gas_valve"},
        {"after": "at 8 min", "within_ms": 0, "expect": "not gas_valve", "held_ms": 20_000},
        {"always": "in.kettle < 80 degC", "while_": "before rises(tell.stage == 3)"},
        {"always": "flame", "while_": "between falls(flame) and (flame and liquor > 3 degC)"},
        {"never": "flame", "while_": "liquor > 50 degC", "grace_ms": 0},
        {"before": "gas_valve", "expect": "flame"},
        {"again": "flame", "within_ms": 4000},
        {"count": "rises(flame)", "at_most": "3", "while_": "before 8 min"},
        {"each": "in.kettle < 3 degC", "at_least": "1 min 30 s", "grace_ms": 10},
        {"figure": "overshoot(in.kettle, 66 degC)", "at_most": "1.5 K"},
    ],
)
def test_right_assertions_have_no_mistake(keys):
    assert check_spec(AssertionSpec("t", **keys), UNITS) == []


@pytest.mark.parametrize(
    ("keys", "found"),
    [
        ({}, [("", "states nothing")]),
        ({"within_ms": 4000}, [("within", "'within' needs 'after' and 'expect'")]),
        ({"expect": "flame"}, [("expect", "'expect' needs 'after' and 'within'")]),
        ({"after": "flame"}, [("after", "'within' and 'expect' is missing")]),
        ({"after": "flame", "within_ms": 1}, [("after", "'expect' is missing")]),
        ({"always": "flame", "never": "flame"}, [("never", "'always' is there already")]),
        ({"always": "flame", "held_ms": 5}, [("held", "'held' needs 'after'")]),
        ({"always": "flame", "grace_ms": -5}, [("grace", "is -5 ms")]),
        ({"before": "flame"}, [("before", "'before' needs 'expect' beside it")]),
        ({"again": "flame"}, [("again", "'again' needs 'within' beside it")]),
        ({"again": "flame", "within_ms": 1, "expect": "flame"}, [("expect", "'expect' needs 'after'")]),
        ({"count": "flame"}, [("count", "'count' needs 'at_least' or 'at_most' beside it")]),
        ({"always": "flame", "at_most": "3"}, [("at_most", "needs 'count', 'each' or 'figure'")]),
        ({"count": "flame", "at_most": "3", "at_least": "1"}, [("at_most", "has one bound")]),
        ({"count": "flame", "at_most": "3 s"}, [("at_most", "a count is wanted here")]),
        ({"each": "flame", "at_most": "3"}, [("at_most", "a time [s] is wanted here")]),
        ({"each": "liquor", "at_most": "3 s"}, [("each", "is no yes-or-no signal")]),
        ({"count": "flame", "each": "flame", "at_most": "3"}, [("each", "'count' is there already")]),
        ({"always": "flame", "while_": "between 20 min and 8 min"}, [("while", "ends before it begins")]),
        ({"always": "flame", "while_": "between flame and"}, [("while", "ends too early")]),
        ({"always": "flame", "while_": "between flame"}, [("while", "'and' is missing")]),
        ({"always": "flame", "while_": "between flame or gas_valve and 5 s"},
         [("while", "column 15: 'or' does not fit here; ( ) around what it joins is wanted")]),
        ({"always": "flame", "while_": "between 5 s and flame and gas_valve"},
         [("while", "column 23: 'and' does not fit here; ( ) around what it joins is wanted")]),
        ({"figure": "5 K", "at_most": "1 K"}, [("figure", "the name of a figure is wanted")]),
        ({"always": "flame", "while_": "before 5 K"}, [("while", "a time is wanted")]),
        ({"after": "at liquor", "within_ms": 1, "expect": "flame"}, [("after", "a time is wanted")]),
        ({"always": "at 8 min"}, [("always", "no signal is called 'at'|does not fit")]),
        (
            {"after": "falls(flam)", "within_ms": -1, "expect": "liquor > 3 L", "always": "x"},
            [("after", "one pattern"), ("within", "-1 ms"), ("always", "no signal"),
            ("after", "Did you mean"),
             ("expect", "cannot be compared")],
        ),
    ],
)  # fmt: skip
def test_each_mistake_is_found_under_its_key(keys, found):
    mistakes = check_spec(AssertionSpec("t", **keys), UNITS)
    assert [key for key, _ in mistakes] == [key for key, _ in found]
    for (_, message), (_, said) in zip(mistakes, found, strict=True):
        assert any(part in message for part in said.split("|")), message


def test_an_empty_title_is_a_mistake():
    assert [key for key, _ in check_spec(AssertionSpec("  ", always="flame"), UNITS)] == ["title"]


def test_every_key_fills_a_field():
    of_the_file = {"lines", "file", "required_at"}
    assert set(KEYS.values()) == set(AssertionSpec.__dataclass_fields__) - of_the_file


def test_verdicts_are_read_without_loading_what_judges():
    script = "import sys, harness.assertions.verdict; sys.exit('numpy' in sys.modules)"
    root = Path(harness.assertions.__file__).parents[2]
    assert subprocess.run([sys.executable, "-c", script], cwd=root, check=False).returncode == 0


def test_every_public_name_is_there():
    assert all(getattr(harness.assertions, name) is not None for name in harness.assertions.__all__)
    with pytest.raises(AttributeError, match="no attribute 'judge_all'"):
        _ = harness.assertions.judge_all
