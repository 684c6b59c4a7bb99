"""A test as plain data for `--json`, for `unlit tune` and other programs. Seconds, kelvin, duty 0 to 1."""

from __future__ import annotations

from dataclasses import asdict
from math import isfinite
from typing import Any

from harness.calibration.identify.told import Told
from harness.calibration.process import Estimate, FirstOrder, Process
from harness.calibration.relay_test.on_plant import RelayResult
from harness.calibration.step_test.on_plant import StepTest
from harness.calibration.truth.of_plant import Truth
from harness.version import version

FORMAT = 1


def step_test_data(test: StepTest) -> dict[str, Any]:
    """A step test. An end of an interval that is infinite is null."""
    return {
        "format": FORMAT, "unlit": version(), "kind": "step test",
        "plant": test.plant, "device": test.device, "heat": test.rig.heat, "probe": test.rig.probe,
        "complete": test.complete, "ended": test.ended,
        "length_s": float(test.record.time_s[-1]), "run": test.run_id or None,
        **_told(test.told),
        "methods": [
            {"method": one.name, "source": one.source, "process": _process(one.process), "note": one.note}
            for one in test.methods
        ],
        "pulse_s": test.procedure.pulse_ms / 1000.0, "pulse_heat_s": _number(test.pulse_heat_s),
        "truth": _truth(test.truth), "notes": list(test.notes),
    }  # fmt: skip


def relay_test_data(test: RelayResult) -> dict[str, Any]:
    """A relay feedback test."""
    cycle = None
    if test.cycle is not None:
        cycle = {
            **asdict(test.cycle), "period_s": test.cycle.period_s, "ultimate_gain": _ultimate(test),
        }  # fmt: skip
    return {
        "format": FORMAT, "unlit": version(), "kind": "relay test",
        "plant": test.plant, "device": "", "heat": test.rig.heat, "probe": test.rig.probe,
        "complete": test.complete, "ended": test.ended, "length_s": float(test.record.time_s[-1]),
        "set_point_degc": _number(test.set_point), "cycle": cycle, "exact": _process(test.exact),
        **_told(test.told), "notes": list(test.notes),
    }  # fmt: skip


def _ultimate(test: RelayResult) -> float | None:
    try:
        return test.cycle.ultimate_gain if test.cycle else None
    except ValueError:
        return None


def _told(found: Told | None) -> dict[str, Any]:
    if found is None:
        return {"first_order": None, "integrating": None, "scatter_k": None}
    return {
        "first_order": _estimate(found.first_order) if found.first_order else None,
        "integrating": _estimate(found.integrating),
        "scatter_k": found.fit.rms,
    }


def _estimate(estimate: Estimate) -> dict[str, Any]:
    return {
        name: {
            "value": value,
            "low": _number(at.low) if at else None,
            "high": _number(at.high) if at else None,
        }
        for name, (value, at) in estimate.figures().items()
    }


def _process(process: Process | None) -> dict[str, Any] | None:
    if process is None:
        return None
    kind = "first order" if isinstance(process, FirstOrder) else "integrating"
    return {"kind": kind, **asdict(process)}


def _truth(truth: Truth | None) -> dict[str, Any] | None:
    if truth is None:
        return None
    return {
        "at_s": truth.at_s, "point_degc": dict(truth.point), "gain": truth.gain,
        "half_rule": _process(truth.half_rule), "least_squares": _process(truth.least_squares),
    }  # fmt: skip


def _number(value: float) -> float | None:
    return float(value) if isfinite(value) else None
