"""Heat of a fermentation: yeast that grows on sugar until there is none left.

With f the share of the sugar that is fermented and k the pace at the beer's temperature T,

    f' = k (f + f0) (1 - f)      k = k20 Q10^((T - 20) / 10)      heat = sugar x 587 kJ/kg x f'

a logistic curve: slow at first, fastest when half is done, at the stated time after pitching at 20 degC. f0
0.02 and Q10 2 are assumed. Yeast slows from 45 degC on and works no more at 55 degC; that it cannot bear
more, and the heat per mass of sugar, are common practice, no source. In the model it recovers.
"""

from __future__ import annotations

from math import exp, log

from plants.kernel.builder import Builder
from plants.kernel.describe import Parameter
from plants.kernel.network import Place, Slot, level_of

PITCHED = 0.02
Q10 = 2.0
WEAK_DEGC, DEAD_DEGC = 45.0, 55.0


def parameters() -> tuple[Parameter, ...]:
    """What can be set on a fermentation."""
    return (
        Parameter("sugar", "kg", 1.6, 0.0, 20.0, "assumed: 20 L of 12 %, two thirds of it", "that ferments"),
        Parameter(
            "sugar_heat", "kJ/kg", 587.0, 0.0, 1000.0, "common practice, no source", "heat as it ferments"
        ),
        Parameter(
            "ferment_peak", "h", 36.0, 2.0, 500.0, "assumed", "from pitching to the most heat, at 20 degC"
        ),
    )


class Fermentation:
    """Heats `beer`, a node; `share` is the state f, `watts` the rate of heat."""

    def __init__(self, net: Builder, beer: Place, setup: dict[str, float]) -> None:
        ((heat, self._per_j),) = beer.level.terms()
        self._joules = setup["sugar"] * setup["sugar_heat"] * 1000.0
        self._pace = log(1.0 / PITCHED) / (1.0 + PITCHED) / (setup["ferment_peak"] * 3600.0)
        self.share: Slot = net.state("fermented", 0.0, "follower")
        growth, self.watts = net.rate_set(self.rates, (heat, self.share), "fermenting", "ferment heat")
        net.transfer(level_of(growth), 1.0, None, self.share)
        net.transfer(level_of(self.watts), 1.0, net.supplied, beer.heat)

    def rates(self, heat: float, share: float) -> tuple[float, float]:
        """Growth of the share [1/s] and heat [W]."""
        celsius = min(heat * self._per_j, DEAD_DEGC)
        alive = min(1.0, (DEAD_DEGC - celsius) / (DEAD_DEGC - WEAK_DEGC))
        pace = alive * self._pace * exp(log(Q10) / 10.0 * (celsius - 20.0))
        growth = pace * (share + PITCHED) * (1.0 - share)
        return growth, growth * self._joules
