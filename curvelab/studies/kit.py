"""What a setup costs to hire and weighs empty, and hose counted in the lengths that a yard has."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Final, NamedTuple

from curvelab.model.catalogue import Catalogue
from curvelab.model.hose import HoseSize
from curvelab.model.hoseline import Leg
from curvelab.model.planning import pump_of
from curvelab.model.price import Price
from curvelab.model.setup import Setup
from curvelab.units import Quantity, System, show

_SLACK: Final = 1e-6
_FOOT: Final = 0.3048


class Kit(NamedTuple):
    """Hire for a day, in the price list's currency, and mass without water; ``None`` where a part has none."""

    cost_day: float | None
    mass_kg: float | None

    def __sub__(self, other: Kit) -> Kit:
        return Kit(_less(self.cost_day, other.cost_day), _less(self.mass_kg, other.mass_kg))

    def plus(self, other: Kit) -> Kit:
        """Both together."""
        return Kit(_both(self.cost_day, other.cost_day), _both(self.mass_kg, other.mass_kg))


def kit_of(setup: Setup, catalogue: Catalogue) -> Kit:
    """Pump, hose and fittings of a setup."""
    total = pump_kit(setup, catalogue)
    for leg in (*setup.suction.leg, *setup.discharge.leg):
        total = total.plus(leg_kit(leg, catalogue))
    return total


def pump_kit(setup: Setup, catalogue: Catalogue) -> Kit:
    """All pumps, at the water and in the line. A pump written out in the setup has no price."""
    total = Kit(0.0, 0.0)
    for choice in (*[setup.pump] * setup.pump.abreast, *setup.pump.beside, *setup.booster):
        record = pump_of(choice, catalogue)
        price = catalogue.price(choice.id) if choice.id is not None else None
        total = total.plus(Kit(price.day if price else None, record.mass.si if record.mass else None))
    return total


def leg_kit(leg: Leg, catalogue: Catalogue) -> Kit:
    """A leg's hoses and those of its fittings that have a price. A fitting without one comes with the hose."""
    if leg.hose is None or leg.size is None:
        return Kit(None, None)
    size = catalogue.hoses[leg.hose].sized(leg.size.si)
    price = catalogue.price(leg.hose, leg.size.si)
    cost = None if price is None or price.day is None else price.day * _pieces(price, size, leg.length.si) * leg.abreast
    mass = size.mass.si * leg.length.si * leg.abreast if size and size.mass else None
    for fitting, count in leg.fittings.items():
        extra = catalogue.price(fitting, leg.size.si)
        if extra and extra.day is not None and cost is not None:
            cost += extra.day * count
    return Kit(cost, mass)


def stock_lengths(leg: Leg, catalogue: Catalogue) -> tuple[float, ...]:
    """Lengths that the yard has of a leg's hose, rising; empty for a hose written out. [m]"""
    if leg.hose is None or leg.size is None:
        return ()
    size = catalogue.hoses[leg.hose].sized(leg.size.si)
    return tuple(sorted(length.si for length in size.lengths)) if size else ()


def in_lengths(length_m: float, stock: Sequence[float], system: System) -> tuple[float, str]:
    """The most hose of whole lengths within a length [m], and in words: "8 lengths of 100 ft"; 0 where none fits."""
    pieces: list[tuple[float, int]] = []
    left = length_m * (1.0 + _SLACK)
    for piece in sorted(stock, reverse=True):
        count = int(left / piece)
        left -= count * piece
        if count:
            pieces.append((piece, count))
    return sum(piece * count for piece, count in pieces), pieces_text(pieces, system)


def covering(length_m: float, stock: Sequence[float]) -> list[tuple[float, int]]:
    """Whole lengths that reach a length [m], each with how many, longest first: few, none longer than it must be."""
    if not stock or length_m <= 0.0:
        return []
    sizes = sorted(stock)
    pieces = [sizes[-1]] * max(1, math.ceil(length_m / sizes[-1] - _SLACK))
    over = sum(pieces) - length_m * (1.0 - _SLACK)
    for at in range(len(pieces) - 1, -1, -1):
        shorter = next(size for size in sizes if pieces[at] - size <= over)
        over -= pieces[at] - shorter
        pieces[at] = shorter
        if shorter == sizes[-1]:
            break
    return [(size, pieces.count(size)) for size in reversed(sizes) if size in pieces]


def pieces_text(pieces: Sequence[tuple[float, int]], system: System) -> str:
    """Lengths with how many of each, in words: "3 lengths of 100 ft and one of 50 ft"."""
    parts: list[str] = []
    for piece, count in pieces:
        one = show(piece, Quantity.LENGTH, system)
        what = "one" if parts else "one length"
        parts.append(f"{what} of {one}" if count == 1 else f"{count} lengths of {one}")
    return " and ".join(parts)


def _pieces(price: Price, size: HoseSize | None, length_m: float) -> float:
    if price.per == "ft":
        return length_m / _FOOT
    if price.per == "m":
        return length_m
    longest = max((length.si for length in size.lengths), default=length_m) if size else length_m
    return max(1, math.ceil(length_m / longest - _SLACK))


def _less(a: float | None, b: float | None) -> float | None:
    return None if a is None or b is None else a - b


def _both(a: float | None, b: float | None) -> float | None:
    return None if a is None or b is None else a + b
