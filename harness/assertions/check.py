"""Finds every mistake of an assertion at once, each with the TOML key it belongs to."""

from __future__ import annotations

from collections.abc import Callable, Mapping

from .build import Builder
from .grammar import ExpressionError
from .names import Names
from .spec import DURATION_KEYS, AssertionSpec

_PATTERNS = ("always", "never", "sometime", "after")
_DEVICE_PREFIXES = ("in.", "out.", "tell.")

# Key -> what must stand beside it.
_NEEDS = {
    "after": ("within", "expect"),
    "within": ("after", "expect"),
    "expect": ("after", "within"),
    "held": ("after",),
}


def check_spec(
    spec: AssertionSpec, units: Mapping[str, str], open_prefixes: tuple[str, ...] = _DEVICE_PREFIXES
) -> list[tuple[str, str]]:
    """All mistakes of an assertion, as pairs of TOML key and message; "" stands for the whole assertion.

    `units` are the signals known so far; names that begin with one of `open_prefixes` pass, since what a
    device offers is only known once it has been asked.
    """
    return [*_keys(spec), *_texts(spec, units, open_prefixes)]


def _keys(spec: AssertionSpec) -> list[tuple[str, str]]:
    """Wrong combinations of keys, and values no key can have."""
    found: list[tuple[str, str]] = []
    if not spec.title.strip():
        found.append(("title", "is empty. Say in a few words what must hold"))
    stated = [key for key in _PATTERNS if spec.value(key) is not None]
    for extra in stated[1:]:
        said = f"an assertion states one pattern, and '{stated[0]}' is there already. Make it two"
        found.append((extra, said))
    if not stated and spec.within_ms is None and spec.expect is None:
        found.append(("", "states nothing that must hold. Add 'always', 'never', 'sometime' or 'after'"))
    found += _missing(spec)
    for key in sorted(DURATION_KEYS):
        value = spec.value(key)
        if isinstance(value, int) and value < 0:
            found.append((key, f"is {value} ms. A duration is 0 or more"))
    return found


def _missing(spec: AssertionSpec) -> list[tuple[str, str]]:
    """Keys that stand without those they need; each lack is said once."""
    found: list[tuple[str, str]] = []
    said: set[str] = set()
    for key, needs in _NEEDS.items():
        lacking = [need for need in needs if spec.value(need) is None]
        if spec.value(key) is None or not lacking or said & set(lacking):
            continue
        said.update(lacking)
        wanted = " and ".join(f"'{need}'" for need in needs)
        missing = " and ".join(f"'{need}'" for need in lacking)
        found.append((key, f"'{key}' needs {wanted} beside it; {missing} is missing"))
    return found


def _texts(
    spec: AssertionSpec, units: Mapping[str, str], open_prefixes: tuple[str, ...]
) -> list[tuple[str, str]]:
    found = []
    for key in ("always", "never", "sometime", "after", "expect", "while"):
        text = spec.value(key)
        if not isinstance(text, str):
            continue
        builder = Builder(text, Names(units, open_prefixes))
        build: Callable[[], object] = {"after": builder.trigger, "while": builder.scope}.get(
            key, builder.condition
        )
        try:
            build()
        except ExpressionError as slip:
            found.append((key, str(slip)))
    return found
