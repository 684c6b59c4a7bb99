"""Scripts for the controller: rows of (time, what is done, what is then put out), one step every 250 ms.

What is done, in words: `NAME=VALUE` sets an input (`x`: no reading), `probes=VALUE` all four probes;
`lights=MS` is how long the burner takes from the valve's opening to a flame (`lights=x`: never); `flame` and
`flow` follow valve and pump until they are set, and again after `flame=auto`, `flow=auto`; `silent` and
`heard` stop and restart the stimuli; `cut` is a power cut; `go` a new run. What is put out: `NAME=VALUE`,
with `nv` for the non-volatile byte.
"""

from __future__ import annotations

from tests.stubs.controller_rig import INPUTS, PLACE, PROBES, RESULTS

STEP_MS = 250


class Script:
    """One run of a controller along a script."""

    def __init__(
        self, controller, *, fahrenheit: bool = False, start_ms: int = 1000, step_ms: int = STEP_MS
    ) -> None:
        self.controller = controller
        self.fahrenheit = fahrenheit
        self.start_ms = start_ms
        self.step_ms = step_ms
        self.at_ms = 0
        self.quiet_ms = 0
        self.silent = False
        self.auto = {"flame", "flow"}
        self.lights_ms: int | None = 1000
        self.open_ms = 0
        self.tells: list[tuple[float, str, int]] = []
        self.inputs: list[int | None] = [None] * len(INPUTS)
        self._keep(controller.start(start_ms, fahrenheit=fahrenheit))

    def _keep(self, results: list[int]) -> None:
        self.outputs = dict(zip(RESULTS, results, strict=True))
        for bit, name in ((1, "fault"), (2, "stage"), (4, "step"), (8, "calibration")):
            if self.outputs["changed"] & bit:
                self.tells.append((self.at_ms / 1000, name, self.outputs[name]))

    def do(self, words: str) -> None:
        """Obey the words of one row."""
        for word in words.split():
            name, _, value = word.partition("=")
            number = None if value in ("", "x", "auto") else int(value)
            if name in ("silent", "heard"):
                self.silent = name == "silent"
            elif name in ("cut", "go"):
                self._restart(power_cut=name == "cut")
            elif name == "lights":
                self.lights_ms = number
            elif value == "auto":
                self.auto.add(name)
            else:
                for each in PROBES if name == "probes" else (name,):
                    self.auto.discard(each)
                    self.inputs[PLACE[each]] = number

    def _restart(self, *, power_cut: bool) -> None:
        stored = self.outputs["nv"] if power_cut else 0
        now_ms = (self.start_ms + self.at_ms) % 2**32
        self._keep(self.controller.start(now_ms, stored, power_cut=power_cut, fahrenheit=self.fahrenheit))
        self.quiet_ms = 0
        self.open_ms = 0

    def step(self, passed_ms: int) -> None:
        """Let time pass, then one exchange."""
        self.at_ms += passed_ms
        self.quiet_ms += passed_ms
        self.open_ms = self.open_ms + passed_ms if self.outputs["gas_valve"] else 0
        if "flame" in self.auto:
            lit = self.lights_ms is not None and self.outputs["gas_valve"] and self.open_ms >= self.lights_ms
            self.inputs[PLACE["flame"]] = int(bool(lit))
        if "flow" in self.auto:
            self.inputs[PLACE["flow"]] = self.outputs["pump"]
        now_ms = (self.start_ms + self.at_ms) % 2**32
        self._keep(self.controller.step(now_ms, self.quiet_ms, list(self.inputs)))
        if not self.silent:
            self.quiet_ms = 0

    def play(self, rows: list[tuple[float, str, str]]) -> None:
        """Play the rows and assert what each expects; the first is at 0 s."""
        for at_s, done, expected in rows:
            at_ms = round(at_s * 1000)
            while self.at_ms + self.step_ms < at_ms:
                self.step(self.step_ms)
            self.do(done)
            self.step(at_ms - self.at_ms)
            wanted = {name: int(value) for name, value in (word.split("=") for word in expected.split())}
            shown = {name: self.outputs[name] for name in wanted}
            assert shown == wanted, f"at {at_s} s: {self.outputs}"
