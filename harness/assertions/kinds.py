"""What an expression's number measures: units that multiply, divide and are compared.

Built on the table of harness.quantity. A temperature on a scale (degC) is kept apart from a difference of
temperatures (K): two temperatures subtract to a difference, and nothing multiplies a temperature.
"""

from __future__ import annotations

from dataclasses import dataclass, replace

from harness.quantity import UNITS, Unit

Powers = tuple[tuple[str, int], ...]

# Dimension of the table -> powers of base dimensions, and the table's base unit in mK, ms, J, mL.
_COMPOSED: dict[str, tuple[Powers, float]] = {
    "temperature": ((("temperature", 1),), 1.0),
    "temperature difference": ((("temperature", 1),), 1.0),
    "temperature rate": ((("temperature", 1), ("time", -1)), 1 / 3.6e6),
    "power": ((("energy", 1), ("time", -1)), 1e-3),
    "flow": ((("time", -1), ("volume", 1)), 1 / 60_000),
    "conductance": ((("energy", 1), ("temperature", -1), ("time", -1)), 1e-6),
    "heat capacity": ((("energy", 1), ("temperature", -1)), 1e-3),
}
_DIFFERENCE_LABEL = {"degC": "K", "mdegC": "mK", "degF": "delta_degF", "mdegF": "mdelta_degF"}


@dataclass(frozen=True)
class Kind:
    """What a number measures.

    `powers` are its base dimensions, `scale` its unit in theirs, `label` its unit in words. `offset` is not
    None for a temperature on a scale. `free` marks a number without a unit (a count, a bare literal),
    `unit_unknown` a device's figure whose unit is not known before the device is asked.
    """

    powers: Powers
    scale: float
    label: str
    offset: float | None = None
    ratio: bool = False
    unit_unknown: bool = False

    @property
    def free(self) -> bool:
        """Whether it has no unit at all (a percentage has one)."""
        return not self.powers and not self.ratio and not self.unit_unknown

    @property
    def measures(self) -> str:
        """In words, for a message."""
        if self.unit_unknown:
            return "a figure whose unit is not known yet"
        if self.offset is not None:
            return f"a temperature [{self.label}]"
        if self.ratio:
            return f"a ratio [{self.label}]"
        name = _NAMES.get(self.powers)
        if name is None:
            return f"a quantity in {self.label}"
        return name if not self.powers else f"{_article(name)} [{self.label}]"

    def difference(self) -> Kind:
        """The kind of a difference of two such numbers."""
        if self.offset is None:
            return self
        label = _DIFFERENCE_LABEL.get(self.label, f"delta_{self.label}")
        return replace(self, offset=None, label=label)

    def same_measure(self, other: Kind) -> bool:
        """Whether the two can be compared: the same dimensions, both on a scale or neither."""
        if self.unit_unknown or other.unit_unknown:
            return True
        scales = (self.offset is None) == (other.offset is None)
        return self.powers == other.powers and scales and self.ratio == other.ratio

    def conversion(self, to: Kind) -> tuple[float, float]:
        """Factor and offset that take a value of this kind into `to`."""
        if self.unit_unknown or to.unit_unknown:
            return 1.0, 0.0
        factor = self.scale / to.scale
        return factor, (self.offset or 0.0) * factor - (to.offset or 0.0)


NUMBER = Kind((), 1.0, "")
COUNT = Kind((), 1.0, "count")
UNIT_UNKNOWN = Kind((), 1.0, "", unit_unknown=True)


def kind_of(unit: str) -> Kind:
    """The kind of a recorded signal by its unit; QuantityError when the unit is not known."""
    if unit == "bool":
        return NUMBER
    if unit in ("count", ""):
        return COUNT
    known = UNITS.get(unit)
    # A unit only some device knows (raw converter counts, say): comparable with itself alone.
    return Kind(((unit, 1),), 1.0, unit) if known is None else _of_unit(known)


def _of_unit(unit: Unit) -> Kind:
    powers, base = _COMPOSED.get(unit.dimension, (((unit.dimension, 1),), 1.0))
    if unit.dimension == "ratio":
        # In the table "1" is 1000 permille.
        return Kind((), unit.factor / 1000.0, unit.symbol, ratio=True)
    offset = unit.offset if unit.dimension == "temperature" else None
    return Kind(powers, unit.factor * base, unit.symbol, offset=offset)


def product(left: Kind, right: Kind, sign: int) -> Kind:
    """Kind of `left * right` (sign 1) or `left / right` (sign -1); ratios count as plain numbers."""
    if left.unit_unknown or right.unit_unknown:
        return UNIT_UNKNOWN
    powers = dict(left.powers)
    for dimension, power in right.powers:
        powers[dimension] = powers.get(dimension, 0) + sign * power
    kept = tuple(sorted((dimension, power) for dimension, power in powers.items() if power))
    label = _product_label(left, right, sign)
    return Kind(kept, left.scale * right.scale**sign, label if kept else "")


def per_second(kind: Kind) -> Kind:
    """Kind of the rate of change of a number, in its unit per second."""
    return product(kind.difference(), _of_unit(UNITS["s"]), -1)


def _product_label(left: Kind, right: Kind, sign: int) -> str:
    if right.free or right.ratio:
        return left.label
    if left.free or left.ratio:
        return right.label if sign > 0 else f"1/{right.label}"
    return f"{left.label}{'*' if sign > 0 else '/'}{right.label}"


def _article(name: str) -> str:
    return f"an {name}" if name[0] in "aeiou" else f"a {name}"


_NAMES: dict[Powers, str] = {
    (): "a number without a unit",
    **{powers: name for name, (powers, _) in _COMPOSED.items() if name != "temperature"},
    **{((name, 1),): name for name in ("time", "volume", "mass", "energy", "length", "pressure")},
    (("voltage", 1),): "voltage",
    (("resistance", 1),): "resistance",
}
