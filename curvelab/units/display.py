"""SI to text: rounded for people (``show``), to the last digit for files and links (``write``)."""

from __future__ import annotations

import math
from dataclasses import dataclass
from enum import StrEnum
from typing import Final, overload

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import DomainError
from curvelab.units.factors import UNITS, Quantity

MINUS: Final = "−"
_MARKS: Final = ("", "⅛", "¼", "⅜", "½", "⅝", "¾", "⅞")


class System(StrEnum):
    """How numbers are shown. Nothing else depends on it."""

    US = "us"
    METRIC = "metric"
    IMPERIAL = "imperial"


@dataclass(frozen=True, slots=True)
class DisplayUnit:
    """A unit as it is shown: number = SI / ``scale`` − ``offset``.

    ``symbol`` is for the eye (the kind of gallon stands elsewhere, once), ``written`` for files: ``grammar`` reads it.
    ``decimals`` hold below ``whole_from``; from there on numbers are whole.
    """

    symbol: str
    scale: float
    offset: float
    written: str
    decimals: int
    whole_from: float

    @overload
    def from_si(self, si: float) -> float: ...
    @overload
    def from_si(self, si: NDArray[np.float64]) -> NDArray[np.float64]: ...
    def from_si(self, si: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
        """Number in this unit; float or array, any shape."""
        return si / self.scale - self.offset

    @overload
    def to_si(self, number: float) -> float: ...
    @overload
    def to_si(self, number: NDArray[np.float64]) -> NDArray[np.float64]: ...
    def to_si(self, number: float | NDArray[np.float64]) -> float | NDArray[np.float64]:
        """SI value of a number in this unit; float or array, any shape."""
        return (number + self.offset) * self.scale

    def round(self, number: float) -> float:
        """The number as it is shown, in this unit: at most three significant figures."""
        places = self.decimals if abs(number) < self.whole_from else 0
        if number:
            places = min(places, 2 - math.floor(math.log10(abs(number)) + 1e-12))
        return round(number, places)


_Choice = tuple[tuple[float, DisplayUnit], ...]
"""Units of a quantity in one system with the SI value from which each is used, the base unit first."""


def _unit(quantity: Quantity, written: str, decimals: int, whole_from: float, symbol: str = "") -> DisplayUnit:
    unit = UNITS[quantity][written]
    return DisplayUnit(symbol or written, unit.scale, unit.offset, written, decimals, whole_from)


def _table() -> dict[tuple[Quantity, System], _Choice]:
    q = Quantity
    table: dict[tuple[Quantity, System], _Choice] = {}

    def add(quantity: Quantity, us: _Choice, metric: _Choice, imperial: _Choice | None = None) -> None:
        table[quantity, System.US] = us
        table[quantity, System.METRIC] = metric
        table[quantity, System.IMPERIAL] = us if imperial is None else imperial

    def one(quantity: Quantity, written: str, decimals: int, whole_from: float, symbol: str = "") -> _Choice:
        return ((0.0, _unit(quantity, written, decimals, whole_from, symbol)),)

    cubic = (10.0, _unit(q.VOLUME, "m3", 1, 20, "m³"))
    add(
        q.FLOW,
        one(q.FLOW, "gpm", 1, 20, "gal/min"),
        (*one(q.FLOW, "L/min", 1, 20), (1 / 60, _unit(q.FLOW, "m3/h", 1, 100, "m³/h"))),
        one(q.FLOW, "imp gpm", 1, 20, "gal/min"),
    )
    imperial_gallon = one(q.VOLUME, "imp gal", 1, 20, "gal")
    add(q.VOLUME, one(q.VOLUME, "gal", 1, 20), (*one(q.VOLUME, "L", 1, 20), cubic), imperial_gallon)
    add(q.FUEL, one(q.FUEL, "gal", 1, 100), one(q.FUEL, "L", 1, 100), one(q.FUEL, "imp gal", 1, 100, "gal"))
    for quantity in (q.LENGTH, q.HEAD):
        add(quantity, one(quantity, "ft", 1, 100), one(quantity, "m", 1, 100))
    add(q.BORE, one(q.BORE, "in", 2, 100), (*one(q.BORE, "mm", 1, 10), (0.3, _unit(q.BORE, "cm", 0, 0))))
    add(q.ROUGHNESS, one(q.ROUGHNESS, "in", 5, 1), one(q.ROUGHNESS, "mm", 3, 10))
    add(
        q.PRESSURE,
        one(q.PRESSURE, "psi", 1, 10),
        ((1e5, _unit(q.PRESSURE, "bar", 2, 1000)), (0.0, _unit(q.PRESSURE, "kPa", 0, 0))),
    )
    add(q.VACUUM, one(q.VACUUM, "inHg", 1, 100), one(q.VACUUM, "kPa", 0, 0))
    add(q.SPEED, one(q.SPEED, "ft/s", 1, 100), one(q.SPEED, "m/s", 1, 100))
    celsius = one(q.TEMPERATURE, "degC", 0, 0, "°C")
    add(q.TEMPERATURE, one(q.TEMPERATURE, "degF", 0, 0, "°F"), celsius, celsius)
    add(q.MASS, one(q.MASS, "lb", 1, 10), one(q.MASS, "kg", 1, 10))
    add(q.POWER, one(q.POWER, "hp", 1, 100), one(q.POWER, "kW", 1, 100))
    add(q.LEVEL_RATE, one(q.LEVEL_RATE, "ft/day", 2, 100), one(q.LEVEL_RATE, "m/day", 2, 100))
    add(q.LINE_MASS, one(q.LINE_MASS, "lb/ft", 2, 100), one(q.LINE_MASS, "kg/m", 2, 100))
    add(q.DENSITY, one(q.DENSITY, "lb/ft3", 1, 100, "lb/ft³"), one(q.DENSITY, "kg/m3", 0, 0, "kg/m³"))
    acre, hectare = _unit(q.AREA, "acre", 1, 100), _unit(q.AREA, "ha", 1, 100)
    square_feet, square_metres = one(q.AREA, "ft2", 1, 20, "ft²"), one(q.AREA, "m2", 1, 20, "m²")
    add(q.AREA, (*square_feet, (acre.scale, acre)), (*square_metres, (hectare.scale, hectare)))
    for quantity, written, decimals, symbol in (
        (q.TIME, "h", 2, "h"),
        (q.ROTATION, "rpm", 0, "rpm"),
        (q.VISCOSITY, "mm2/s", 3, "mm²/s"),
        (q.SHARE, "%", 1, "%"),
        (q.SPECIFIC_FUEL, "L/kWh", 2, "L/kWh"),
    ):
        same = one(quantity, written, decimals, 10 if quantity is q.SHARE else 1000, symbol)
        add(quantity, same, same)
    return table


_TABLE: Final = _table()


def display_unit(quantity: Quantity, system: System, value_si: float | None = None) -> DisplayUnit:
    """The unit in which a quantity is shown.

    Without a value: the unit of sliders, axes and columns. With one: the unit that suits it (m³/h from 1 000 L/min, m³
    from 10 m³, kPa under 1 bar, cm from 300 mm, acres and hectares from one up).
    """
    choice = _TABLE[quantity, system]
    if value_si is None or len(choice) == 1:
        return choice[0][1]
    fitting = [entry for entry in choice if abs(value_si) >= entry[0] * (1 - 1e-9)]
    return max(fitting, key=lambda entry: entry[0])[1]


def to_display(si: float, quantity: Quantity, system: System) -> float:
    """Number in the unit of sliders, axes and columns, unrounded."""
    return display_unit(quantity, system).from_si(si)


def from_display(number: float, quantity: Quantity, system: System) -> float:
    """SI value of a number in the unit of sliders, axes and columns."""
    return display_unit(quantity, system).to_si(number)


def show(si: float, quantity: Quantity, system: System, *, unit: bool = True) -> str:
    """A value as people read it: at most three significant figures, ``−`` for minus, ``2½ in`` for a size.

    Parameters
    ----------
    si : float
        SI value, finite.
    unit : bool
        Whether the unit follows. A time always carries its own.

    Raises
    ------
    DomainError
        If ``si`` is not finite.
    """
    _finite(si)
    if quantity is Quantity.TIME:
        return _duration(si)
    chosen = display_unit(quantity, system, si)
    number = chosen.from_si(si)
    text = _size_in(number) if chosen.written == "in" and quantity is Quantity.BORE else plain(chosen.round(number))
    return f"{text} {chosen.symbol}" if unit else text


def write(si: float, quantity: Quantity, system: System) -> str:
    """Text for a file or a link that ``parse`` reads back as the same value, to a relative 1e-9.

    Raises
    ------
    DomainError
        If ``si`` is not finite.
    """
    _finite(si)
    unit = display_unit(quantity, system)
    number = unit.from_si(si)
    if unit.offset:
        number = round(number, 9)  # the offset leaves dust: 0 °C would read 5.7e-14
    return f"{number + 0.0:.12g} {unit.written}"


def gallon_word(system: System) -> str:
    """The word that stands beside gallons once on every screen, table and sheet; empty where there are none."""
    return {System.US: "US", System.METRIC: "", System.IMPERIAL: "imperial"}[system]


def plain(number: float) -> str:
    """A rounded number as it is printed: ``−`` for minus, commas between thousands, no trailing zeros."""
    text = f"{number:,.5f}".rstrip("0").rstrip(".")
    return (MINUS + text[1:] if text.startswith("-") else text) if text != "-0" else "0"


def _finite(si: float) -> None:
    if not math.isfinite(si):
        raise DomainError(f"only a finite number can be shown (got {si})", value=si)


def _size_in(number: float) -> str:
    eighths = round(number * 8)
    if abs(number * 8 - eighths) > 1e-3 or not 0 <= number < 10:
        return plain(round(_three_figures(number), 2))
    whole, mark = divmod(eighths, 8)
    return f"{whole or ''}{_MARKS[mark]}" or "0"


def _duration(seconds: float) -> str:
    sign, seconds = (MINUS, -seconds) if seconds < 0 else ("", seconds)
    if seconds < 120:
        return f"{sign}{plain(round(seconds))} s"
    if seconds < 90 * 60:
        minutes = seconds / 60
        return f"{sign}{plain(round(minutes, 1 if minutes < 10 else 0))} min"
    hours, minutes = divmod(round(seconds / 300) * 5, 60)
    if hours >= 100:
        return f"{sign}{plain(_three_figures(seconds / 3600))} h"
    return f"{sign}{hours} h {minutes} min" if minutes else f"{sign}{hours} h"


def _three_figures(number: float) -> float:
    return float(f"{number:.3g}")
