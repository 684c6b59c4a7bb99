"""What must hold, said exactly and judged exactly. README.md defines every pattern.

What judges is loaded at its first use: who only reads verdicts need not wait for the arrays.
"""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING

from .spec import DURATION_KEYS, KEYS, AssertionSpec, spec_of

if TYPE_CHECKING:
    from .anatomy import Anatomy, Course, dissect
    from .bounds import Bound, fixed_bounds
    from .check import check_spec, named_signals
    from .expression import Expression, compile_expression
    from .monitor import Judge, Monitor, compile_assertion
    from .refusal import ExpressionError
    from .verdict import Outcome, Status, Verdict

__all__ = [
    "DURATION_KEYS",
    "KEYS",
    "Anatomy",
    "AssertionSpec",
    "Bound",
    "Course",
    "Expression",
    "ExpressionError",
    "Judge",
    "Monitor",
    "Outcome",
    "Status",
    "Verdict",
    "check_spec",
    "compile_assertion",
    "compile_expression",
    "dissect",
    "fixed_bounds",
    "named_signals",
    "spec_of",
]

_HOMES = {
    "Anatomy": "anatomy",
    "Bound": "bounds",
    "Course": "anatomy",
    "Expression": "expression",
    "ExpressionError": "refusal",
    "Judge": "monitor",
    "Monitor": "monitor",
    "Outcome": "verdict",
    "Status": "verdict",
    "Verdict": "verdict",
    "check_spec": "check",
    "compile_assertion": "monitor",
    "compile_expression": "expression",
    "dissect": "anatomy",
    "fixed_bounds": "bounds",
    "named_signals": "check",
}


def __getattr__(name: str) -> object:
    home = _HOMES.get(name)
    if home is None:
        raise AttributeError(f"module {__name__!r} has no attribute {name!r}")
    return getattr(import_module(f".{home}", __name__), name)
