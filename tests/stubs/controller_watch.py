"""The safety rules as a person would check them from outside: from inputs and outputs alone."""

from __future__ import annotations

from tests.stubs.controller_rig import PLACE

TRIAL_MS, LOSS_MS, PURGE_MS, TRIES = 8000, 1000, 5000, 3
LEAST_MS = 20000
SILENCE_MS = 2000
HIGH_LIMIT = 92000


def _plausible(value: int | None) -> bool:
    return value is not None and -10000 <= value <= 115000


class Watch:
    """Follows one run step by step; `see` asserts what must hold at that step."""

    def __init__(self, *, power_cut: bool) -> None:
        self.armed = False
        self.run_seen_off = not power_cut
        self.reset_was = 1
        self.valve = 0
        self.shut_dark_ms = 0
        self.was_dark = False
        self.trial_ms = 0
        self.missing_ms = -1
        self.unlit_openings = 0
        self.duty = 0
        self.duty_ms = LEAST_MS
        self.liquor_order: tuple[object, ...] | None = None
        self.faulty = False

    def see(self, passed_ms: int, quiet_ms: int, inputs: list[int | None], outputs: list[int]) -> None:
        values = {name: inputs[PLACE[name]] for name in ("flame", "run", "reset", "estop", "limit", "mode")}
        valve, igniter, pump, alarm, duty, stage, fault, _ = outputs[:8]
        self._arm(values, fault)
        assert alarm == (fault != 0)
        assert not igniter or (valve and stage == 2)
        assert (valve == 1) == (stage in (2, 3))
        assert 0 <= duty <= 1000
        if pump or valve:
            assert self.armed
            assert values["run"]
            assert not values["estop"]
            assert quiet_ms < SILENCE_MS
        if valve:
            assert fault == 0
            assert _plausible(values["limit"])
            assert values["limit"] < HIGH_LIMIT
            assert _plausible(inputs[PLACE["liquor"]])
            assert duty > 0 or stage == 2
        self._gas(passed_ms, values["flame"], valve, stage)
        self._liquor(passed_ms, inputs, outputs)
        self.valve = valve
        self.faulty = fault != 0
        self.reset_was = values["reset"] or 0

    def _arm(self, values: dict[str, int | None], fault: int) -> None:
        if values["reset"] and not self.reset_was and self.faulty:
            self.armed = False
            self.unlit_openings = 0
            self.run_seen_off = False
        if values["run"] and self.run_seen_off and fault == 0:
            self.armed = True
        if values["run"] or values["run"] == 0:
            self.run_seen_off = values["run"] == 0
        if not values["run"] or fault in (9, 10, 11):
            self.armed = False

    def _gas(self, passed_ms: int, flame: int | None, valve: int, stage: int) -> None:
        dark = flame == 0 and not self.valve
        self.shut_dark_ms = self.shut_dark_ms + passed_ms if dark and self.was_dark else 0
        self.was_dark = dark
        if valve and not self.valve:
            assert self.shut_dark_ms >= PURGE_MS
            self.trial_ms = 0
            self.unlit_openings += 1
            assert self.unlit_openings <= TRIES
        elif valve and stage == 2:
            self.trial_ms += passed_ms
            assert self.trial_ms < TRIAL_MS
        self.missing_ms = -1 if flame else 0 if self.missing_ms < 0 else self.missing_ms + passed_ms
        if stage == 3:
            assert self.missing_ms < LOSS_MS
        if self.valve and flame:
            self.unlit_openings = 0

    def _liquor(self, passed_ms: int, inputs: list[int | None], outputs: list[int]) -> None:
        """Minimum on and off times, where nothing but the loop itself can have changed the demand."""
        mode, manual = inputs[PLACE["mode"]] or 0, inputs[PLACE["manual"]]
        calm = mode == 0 and not manual and outputs[6] == 0 and self.armed
        calm = calm and _plausible(inputs[PLACE["liquor"]]) and _plausible(inputs[PLACE["limit"]])
        order = (inputs[PLACE["liquor_setpoint"]],) if calm else None
        self.duty_ms += passed_ms
        if outputs[4] != self.duty:
            if order is not None and order == self.liquor_order:
                assert outputs[4] in (0, 1000)
                assert self.duty_ms >= LEAST_MS
            self.duty = outputs[4]
            self.duty_ms = 0
        self.liquor_order = order
