"""What must hold, said exactly and judged exactly. README.md defines every pattern."""

from .check import check_spec
from .expression import Expression, compile_expression
from .grammar import ExpressionError
from .monitor import Judge, Monitor, compile_assertion
from .spec import DURATION_KEYS, KEYS, AssertionSpec
from .verdict import Outcome, Status, Verdict

__all__ = [
    "DURATION_KEYS",
    "KEYS",
    "AssertionSpec",
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
]
