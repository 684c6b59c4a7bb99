"""A process from a file: what a step test wrote, or a record of heat and one temperature."""

from __future__ import annotations

import json
from collections.abc import Mapping
from dataclasses import fields, replace
from math import inf
from pathlib import Path
from typing import Any

from harness.calibration.fitting.log import read_log
from harness.calibration.process import Estimate, FirstOrder, Integrating, Interval
from harness.calibration.record import HeatRecord
from harness.errors import WrongUseError


def process_of(path: Path, column: str = "") -> Estimate:
    """The process in a file with its intervals: `.json` of a step test, or a CSV record, by least squares.

    Parameters
    ----------
    path : the file.
    column : the temperature in the record; needed where there are several.

    Raises
    ------
    WrongUseError, FileMistakesError
        If the file is neither, or tells no process.
    """
    return _of_result(path) if path.suffix == ".json" else _of_record(path, column)


def _of_result(path: Path) -> Estimate:
    try:
        data = json.loads(path.read_text(encoding="utf-8"))
        return _of_figures(data)
    except OSError as error:
        raise WrongUseError(f"{path}: cannot be read: {error.strerror}.") from None
    except (ValueError, KeyError, TypeError, AttributeError, OverflowError, RecursionError):
        what = "is no result of `unlit step-test --json` that tells a process"
        raise WrongUseError(f"{path}: {what}.") from None


def _of_figures(data: Mapping[str, Any]) -> Estimate:
    """First order where the test could tell it, else integrating."""
    first = data["first_order"]
    kind = FirstOrder if first is not None else Integrating
    figures = first if first is not None else data["integrating"]
    told = {field.name: figures[field.name] for field in fields(kind)}
    values = {name: _number(one["value"]) for name, one in told.items()}
    intervals = {name: _interval(one) for name, one in told.items() if "low" in one and "high" in one}
    if not all(values[name] in interval for name, interval in intervals.items()):
        raise ValueError("a figure lies outside its own interval")
    notes = tuple(one for one in data.get("notes", ()) if isinstance(one, str))
    return Estimate(kind(**values), "step test", intervals, notes)


def _interval(figure: Mapping[str, Any]) -> Interval:
    """An end that nothing bounds is null in the file."""
    low, high = figure["low"], figure["high"]
    return Interval(-inf if low is None else _number(low), inf if high is None else _number(high))


def _number(value: object) -> float:
    """What a file states as a number; not a word or a yes that reads like one."""
    if isinstance(value, bool) or not isinstance(value, int | float):
        raise TypeError(value)
    return float(value)


def _of_record(path: Path, column: str) -> Estimate:
    from harness.calibration.identify.doubts import drift, misfit
    from harness.calibration.identify.least_squares import UntellableError
    from harness.calibration.identify.told import FALLS, told

    log = read_log(str(path))
    temperatures = [name for name, unit in log.units.items() if unit == "degC"]
    if not temperatures:
        mend = "Name one in the head, such as 'mash [degC]'"
        raise WrongUseError(f"{path}: has no temperature. {mend}.")
    if column and column not in temperatures:
        raise WrongUseError(f"{path}: has no temperature {column}. There are: {', '.join(temperatures)}.")
    if not column and len(temperatures) != 1:
        raise WrongUseError(f"{path}: has {', '.join(temperatures)}. Say which with --column.")
    name = column or temperatures[0]
    record = HeatRecord(log.time_s, log.heat, log.columns[name], name)
    try:
        found = told(record)
    except UntellableError as error:
        raise WrongUseError(f"{path}: {error}") from None
    said = [FALLS] if found.fit.slope < 0.0 else []
    notes = (*said, *drift(record), *misfit(found, record))
    return replace(found.first_order or found.integrating, notes=notes)
