"""numpy, loaded at the first array: who only checks a text for its sense need not wait for it."""

from __future__ import annotations

from importlib import import_module
from typing import TYPE_CHECKING, Any

if TYPE_CHECKING:
    import numpy as np
    from numpy.typing import NDArray

    Floats = NDArray[np.float64]
    Truths = NDArray[np.int8]
    Flags = NDArray[np.bool_]
    Times = NDArray[np.int64]
    Rows = NDArray[np.intp]
else:
    Floats = Truths = Flags = Times = Rows = Any

    class _Later:
        def __getattr__(self, name: str) -> Any:
            found = getattr(import_module("numpy"), name)
            setattr(self, name, found)  # the next use is as quick as the module's own
            return found

    np = _Later()

__all__ = ["Flags", "Floats", "Rows", "Times", "Truths", "np"]
