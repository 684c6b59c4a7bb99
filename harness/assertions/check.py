"""Finds every mistake of an assertion at once, each with the TOML key it belongs to."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from contextlib import suppress

from .build import Builder
from .build_figures import BoundError, build_figure
from .names import Names
from .refusal import ExpressionError
from .spec import DURATION_KEYS, PATTERNS, TEXT_KEYS, AssertionSpec

_DEVICE_PREFIXES = ("in.", "out.", "tell.")

# Key -> what must stand beside it; of several ways the first that the assertion has begun.
_NEEDS: Mapping[str, tuple[tuple[str, ...], ...]] = {
    "after": (("within", "expect"),),
    "before": (("expect",),),
    "again": (("within",),),
    "within": (("again",), ("after", "expect")),
    "expect": (("before",), ("after", "within")),
    "held": (("after",),),
}
_BOUNDED = ("count", "each", "figure")
_BOUNDS = ("at_least", "at_most")


def check_spec(
    spec: AssertionSpec, units: Mapping[str, str], open_prefixes: tuple[str, ...] = _DEVICE_PREFIXES
) -> list[tuple[str, str]]:
    """All mistakes of an assertion, as pairs of TOML key and message; "" stands for the whole assertion.

    `units` are the signals known so far; names that begin with one of `open_prefixes` pass, since what a
    device offers is only known once it has been asked.
    """
    return [*_keys(spec), *_texts(spec, units, open_prefixes)]


def named_signals(spec: AssertionSpec) -> set[str]:
    """All signals that the texts of an assertion speak of, known or not."""
    names = Names({}, ("",))
    for key in TEXT_KEYS:
        text = spec.value(key)
        if isinstance(text, str):
            with suppress(ExpressionError):
                _build(spec, key, text, names)
    return names.used


def _keys(spec: AssertionSpec) -> list[tuple[str, str]]:
    """Wrong combinations of keys, and values no key can have."""
    found: list[tuple[str, str]] = []
    if not spec.title.strip():
        found.append(("title", "is empty. Say in a few words what must hold"))
    stated = [key for key in PATTERNS if spec.value(key) is not None]
    for extra in stated[1:]:
        said = f"an assertion states one pattern, and '{stated[0]}' is there already. Make it two"
        found.append((extra, said))
    if not stated and spec.within_ms is None and spec.expect is None:
        patterns = ", ".join(f"'{key}'" for key in PATTERNS)
        found.append(("", f"states nothing that must hold. Add one of {patterns}"))
    found += _missing(spec)
    found += _bounds(spec, stated)
    for key in sorted(DURATION_KEYS):
        value = spec.value(key)
        if isinstance(value, int) and value < 0:
            found.append((key, f"is {value} ms. A duration is 0 or more"))
    return found


def _missing(spec: AssertionSpec) -> list[tuple[str, str]]:
    """Keys that stand without those they need; each lack is said once."""
    found: list[tuple[str, str]] = []
    said: set[str] = set()
    for key, ways in _NEEDS.items():
        needs = next((way for way in ways if spec.value(way[0]) is not None), ways[-1])
        lacking = [need for need in needs if spec.value(need) is None]
        if spec.value(key) is None or not lacking or said & set(lacking):
            continue
        said.update(lacking)
        wanted = " and ".join(f"'{need}'" for need in needs)
        missing = " and ".join(f"'{need}'" for need in lacking)
        found.append((key, f"'{key}' needs {wanted} beside it; {missing} is missing"))
    return found


def _bounds(spec: AssertionSpec, stated: list[str]) -> list[tuple[str, str]]:
    """What is wrong with `at_least` and `at_most`."""
    bounds = [key for key in _BOUNDS if spec.value(key) is not None]
    bounded = [key for key in stated if key in _BOUNDED]
    if bounded and not bounds:
        return [(bounded[0], f"'{bounded[0]}' needs 'at_least' or 'at_most' beside it")]
    if bounds and not bounded:
        return [(bounds[0], f"'{bounds[0]}' needs 'count', 'each' or 'figure' beside it")]
    if len(bounds) > 1:
        return [("at_most", "an assertion has one bound, and 'at_least' is there already. Make it two")]
    return []


def _texts(
    spec: AssertionSpec, units: Mapping[str, str], open_prefixes: tuple[str, ...]
) -> list[tuple[str, str]]:
    found = []
    for key in TEXT_KEYS:
        text = spec.value(key)
        if not isinstance(text, str):
            continue
        try:
            _build(spec, key, text, Names(units, open_prefixes))
        except BoundError as slip:
            found.append((slip.key, str(slip)))
        except ExpressionError as slip:
            found.append((key, str(slip)))
    return found


def _build(spec: AssertionSpec, key: str, text: str, names: Names) -> None:
    if key in _BOUNDED:
        if key == spec.stated and (spec.at_least is None) != (spec.at_most is None):
            build_figure(spec, names)
        return
    builder = Builder(text, names)
    build: Callable[[], object] = {"after": builder.trigger, "while": builder.scope}.get(
        key, builder.condition
    )
    build()
