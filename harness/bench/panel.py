"""What a person has set on the device's panel, and what still has to reach the device."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import replace

from harness.bench.recorder import NAN
from harness.bench.wiring import panel_wire
from harness.line import Channel
from harness.scenario import PanelValue, Scenario

Settings = Mapping[str, PanelValue]


class Panel:
    """The panel inputs that a scenario sets, at the start or by a disturbance.

    Parameters
    ----------
    scenario : its `panel` is set from the start; a button that only a disturbance presses is not pressed.
    channels : the device's panel inputs by name.
    """

    def __init__(self, scenario: Scenario, channels: Mapping[str, Channel]) -> None:
        self._channels = channels
        self._set: dict[str, PanelValue] = {}
        self._pressed: dict[int, Settings] = {}
        self._unheard: set[int] = set()
        self._sent = dict.fromkeys(panel_names(scenario, channels), NAN)
        self._waiting: set[str] = set()
        buttons = _buttons(disturbance.panel for disturbance in scenario.disturbances)
        self._start: Settings = buttons | dict(scenario.panel)
        self._apply(self._start)

    @property
    def sent(self) -> Iterable[float]:
        """Wire values as last taken, in column order; NaN for one that never was."""
        return self._sent.values()

    def take(self) -> dict[int, int | None]:
        """What has been set since the last call, by channel number: the bench puts it to the device."""
        wire = {name: panel_wire(self._set[name], self._channels[name]) for name in self._waiting}
        self._waiting.clear()
        self._unheard.clear()
        self._sent.update((name, float(value)) for name, value in wire.items())
        return {self._channels[name].number: value for name, value in wire.items()}

    def forgotten(self) -> None:
        """The device has forgotten everything: what is set waits for it again."""
        self._waiting.update(self._set)

    def press(self, index: int, settings: Settings) -> None:
        """Disturbance `index` sets something."""
        self._pressed[index] = settings
        self._unheard.add(index)
        self._apply(settings)

    def release(self, index: int) -> bool:
        """Disturbance `index` ends: what was set before comes back, a button is let go.

        What another disturbance has set since, or still holds, stays. False if the device never heard what
        had been set.
        """
        settings = self._pressed.pop(index)
        layers = (self._start, *self._pressed.values())
        self._apply({name: layer[name] for layer in layers for name in settings if name in layer})
        heard = index not in self._unheard
        self._unheard.discard(index)
        return heard

    def _apply(self, settings: Settings) -> None:
        self._set.update(settings)
        self._waiting.update(settings)


def panel_names(scenario: Scenario, channels: Mapping[str, Channel]) -> list[str]:
    """The panel inputs that the scenario sets at any time, in the device's order."""
    named = set(scenario.panel).union(*(disturbance.panel for disturbance in scenario.disturbances))
    return [name for name in channels if name in named]


def _buttons(settings: Iterable[Settings]) -> dict[str, PanelValue]:
    """The yes-or-no inputs among the settings, all let go."""

    def each() -> Iterator[tuple[str, PanelValue]]:
        for setting in settings:
            for name, value in setting.items():
                if isinstance(value.value, bool):
                    yield name, replace(value, value=False)

    return dict(each())
