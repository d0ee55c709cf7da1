"""What one unit of an axis of values is in SI; where a sheet prints pressures, the head of water that makes them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import ceil, log10
from typing import Final

from curvelab.errors import UnitError
from curvelab.hydraulics.gauges import head_of
from curvelab.hydraulics.water import density
from curvelab.model.amount import Amount
from curvelab.model.points import UnitOf
from curvelab.units import Quantity, from_unit
from curvelab.units.factors import UNITS

USUAL_WATER: Final = Amount("20 degC", 293.15, Quantity.TEMPERATURE)
"""The water of a sheet that doesn't say: clean and cold, 20 °C. Common practice of tests, no source."""
_FEET: Final = ("psi", "inHg")
"""Pressures of those who measure in feet."""


class HeadUnit(UnitOf):
    """The unit of an axis of head: of height, or of the pressure that a gauge at the pump shows."""

    def __init__(self) -> None:
        super().__init__(Quantity.HEAD)

    def read(self, value: object) -> str:
        """The name itself."""
        try:
            return super().read(value)
        except UnitError:
            if isinstance(value, str) and is_pressure(value):
                return value
            raise


def is_pressure(unit: str) -> bool:
    """An axis in that unit shows pressures."""
    return unit in UNITS[Quantity.PRESSURE]


@dataclass(frozen=True, slots=True)
class Measure:
    """The unit of an axis of values."""

    unit: str
    """As it is printed at the axis."""
    one_si: float
    """SI value of one of it; of a pressure, the head of water that makes it. [m for heads]"""
    written: str
    """The unit in which a pump's file has the numbers."""
    written_si: float
    """SI value of one of that."""
    water: Amount | None = None
    """Temperature of the water whose pressure is printed; ``None`` where the axis shows no pressure."""

    @classmethod
    def of(cls, unit: str, quantity: Quantity) -> Measure:
        """A unit of the quantity itself."""
        one = float(from_unit(1.0, unit, quantity))
        return cls(unit, one, unit, one)

    @classmethod
    def of_pressure(cls, unit: str, water: Amount) -> Measure:
        """Pressures as heads of water of that temperature."""
        pascal = float(from_unit(1.0, unit, Quantity.PRESSURE))
        one = float(head_of(pascal, density_kg_m3=density(water.si)))
        written = "ft" if unit in _FEET else "m"
        return cls(unit, one, written, float(from_unit(1.0, written, Quantity.HEAD)), water)

    def in_file(self, pairs: Sequence[tuple[float, float]]) -> tuple[tuple[float, float], ...]:
        """Flows with values in the axis' unit, as a pump's file has them, rounded no coarser than they came."""
        if self.water is None:
            return tuple(pairs)
        decimals = max(len(f"{value:.9f}".rstrip("0").partition(".")[2]) for _, value in pairs)
        places = max(0, ceil(decimals - log10(self.factor)))
        return tuple((flow, round(value * self.factor, places)) for flow, value in pairs)

    @property
    def told(self) -> str:
        """``heads of water at 20 °C, 2.31 ft a psi``; empty where the axis shows no pressure."""
        if self.water is None:
            return ""
        one = f"{self.factor:.3g} {self.written} a {self.unit}"
        return f"heads of water at {self.water.text.replace('deg', '°')}, {one}"

    @property
    def factor(self) -> float:
        """How many of the file's units one of the axis' is. [-]"""
        return self.one_si / self.written_si
