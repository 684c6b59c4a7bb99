"""A random rig: mostly calm, with every kind of mishap, and a clock that often rolls over."""

from __future__ import annotations

from random import Random

from tests.stubs.controller_rig import CLOCK, INPUTS, PLACE, PROBES

PACES = ((50, 50), (250, 250), (50, 1000), (1000, 1000), (200, 300), (999, 1001))
SETPOINTS = (0, 49, 50, 30000, 55550, 66000, 66049, 66050, 90000, 152000, 194000, -5000, 2**31 - 1)
CHOICES = {
    "mode": (0, 0, 1, 1, 2, 2, 3, -1, None),
    "liquor_setpoint": SETPOINTS,
    "mash_setpoint": SETPOINTS,
    "manual": (0, 0, 0, 1, None),
    "manual_duty": (0, 1, 250, 500, 999, 1000, 1500, -1, None),
    "cycle_time": (0, 4000, 7000, 30000, 120000, 2**31 - 1, None),
    "mash_probe": (0, 1, 2, None),
}
HOLDS = (0, 0, 500, 4000, 20000, 2**31 - 1, -1, None)


class Chance:
    """Steps of one random run; `next_step` takes the outputs in force and gives (now, quiet, inputs)."""

    def __init__(self, seed: int, *, calibrate: bool = False) -> None:
        self.random = random = Random(seed)
        self.now_ms = random.choice((0, CLOCK - 5000, CLOCK - 60000, CLOCK - 300000, random.randrange(CLOCK)))
        self.quiet_ms = 0
        self.silent_steps = 0
        self.pace = random.choice(PACES)
        self.trouble = random.choice((0.0, 0.0005, 0.003, 0.02))
        self.fahrenheit = random.random() < 0.3
        self.flame_works = random.random() < 0.8
        self.flame_stays = random.random() < 0.1  # a valve that leaks
        self.flow_works = True
        self.held = {name: 0 for name in PROBES}  # steps for which a probe stays wrong
        self.true = {name: float(random.randrange(15000, 89000)) for name in PROBES}
        self.inputs: list[int | None] = [None] * len(INPUTS)
        for name, values in CHOICES.items():
            self.put(name, random.choice(values))
        for n in range(1, 9):
            self.put(f"step{n}_setpoint", int(self.true["coil_outlet"]) + random.choice((0, 200, 400, 3000)))
            self.put(f"step{n}_hold", random.choice(HOLDS))
        self.put("flame", 0)
        self.put("flow", 0)
        self.put("run", random.choice((0, 1, 1, None)))
        if random.random() < 0.1:
            self._freeze()
        if calibrate:
            self._calibrate()

    def _freeze(self) -> None:
        """Make this a quiet run but for a liquor probe that stands still."""
        self.trouble, self.pace, self.flame_works, self.flame_stays = 0.0, (1000, 1000), True, False
        self.true["limit"] = self.true["liquor"] = 30000.0
        self.held["liquor"] = 10**9
        for name, value in (("liquor", 30000), ("mode", 0), ("liquor_setpoint", 90000), ("manual", 0)):
            self.put(name, value)

    def _calibrate(self) -> None:
        """Make this a calmer run that begins with a calibration."""
        self.trouble, self.flame_works, self.flame_stays = self.random.choice((0.0, 0.0005)), True, False
        self.pace = self.random.choice(((250, 250), (1000, 1000), (999, 1001), (700, 1000)))
        self.true = {name: 30000.0 for name in PROBES}
        for name, value in (("mode", 3), ("run", 1), ("manual", 0), ("mash_probe", 0)):
            self.put(name, value)

    def put(self, name: str, value: int | None) -> None:
        self.inputs[PLACE[name]] = value

    def value(self, name: str) -> int | None:
        return self.inputs[PLACE[name]]

    def next_step(self, outputs: list[int]) -> tuple[int, int, list[int | None]]:
        passed_ms = self._pass()
        self._warm(outputs, passed_ms)
        self._read()
        self._light(outputs)
        self._touch(outputs)
        return self.now_ms, self.quiet_ms, list(self.inputs)

    def _pass(self) -> int:
        random = self.random
        if random.random() < self.trouble / 4:
            self.pace = random.choice(PACES)
        passed_ms = random.randint(*self.pace)
        if random.random() < self.trouble / 60:
            passed_ms = random.choice((1999, 2000, 2001, 10**6, 2**31 - 1))
        self.now_ms = (self.now_ms + passed_ms) % CLOCK
        if random.random() < self.trouble / 8:
            self.silent_steps = random.choice((1, 3, 50))
        self.quiet_ms = passed_ms + (self.quiet_ms if self.silent_steps > 0 else 0)
        self.silent_steps -= 1
        return passed_ms

    def _warm(self, outputs: list[int], passed_ms: int) -> None:
        heating = outputs[0] and self.value("flame")
        for name in PROBES:
            rate = self.random.uniform(0, 400) if heating else self.random.uniform(-200, 10)
            self.true[name] = min(max(self.true[name] + rate * min(passed_ms, 1000) / 1000, 5000), 96000)

    def _read(self) -> None:
        for name in PROBES:
            if self.held[name] > 0:
                self.held[name] -= 1
                continue
            self.put(name, int(self.true[name]))
            if self.random.random() < self.trouble:
                self.held[name] = self.random.choice((1, 3, 30, 2000))
                away = int(self.true[name]) + self.random.choice((10000, 10001, -10001))
                self.put(name, self.random.choice((None, -300000, 850000, 92000, 115001, away)))
            elif self.random.random() < self.trouble:
                self.held[name] = 4000  # frozen

    def _light(self, outputs: list[int]) -> None:
        if self.random.random() < self.trouble / 2:
            self.flame_works = not self.flame_works
        flame = self.value("flame")
        if outputs[0]:
            flame = 1 if self.flame_works and (flame or self.random.random() < 0.3) else 0
        elif not self.flame_stays:
            flame = 0
        if self.random.random() < self.trouble / 2:
            flame = self.random.choice((0, 1, None))
        self.put("flame", flame)
        if self.random.random() < self.trouble / 2:
            self.flow_works = not self.flow_works
        self.put("flow", outputs[2] if self.flow_works else 0)

    def _touch(self, outputs: list[int]) -> None:
        random = self.random
        often = max(self.trouble * 3, 0.002)
        if random.random() < often:
            name = random.choice(list(CHOICES))
            self.put(name, random.choice(CHOICES[name]))
        if random.random() < often / 2:
            place = PLACE["step1_setpoint"] + 2 * random.randrange(8)
            self.inputs[place] = random.choice((0, int(self.true["coil_outlet"]), random.choice(SETPOINTS)))
        if 1 <= outputs[7] <= 8 and random.random() < 0.05:
            self.put(f"step{outputs[7]}_setpoint", int(self.true["coil_outlet"]) + 300)
        # A person who finds it standing resets and starts it again.
        urge = 0.05 if outputs[3] or not (outputs[0] or outputs[2]) else self.trouble / 2
        for name in ("run", "reset"):
            if random.random() < urge:
                self.put(name, random.choice((0, 1, 1, 0, None)) if self.value(name) else 1)
        self.put("estop", 1 if random.random() < self.trouble / 4 else self.random.choice((0, None)))
