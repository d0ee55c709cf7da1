"""Figures as the studies' sentences have them: differences of printed figures, limits rounded to the safe side."""

from __future__ import annotations

import math
from typing import Final

from curvelab.units import Quantity, System, display_unit, plain, show

LONGEST: Final = 200
"""Most characters of a study's sentence. [-]"""

_SLACK: Final = 1e-5
"""Relative rounding of a limit's search that may be printed away: 49.9999 ft is 50 ft. [-]"""


def flow_text(flow_m3_s: float, system: System) -> str:
    """A flow with its unit."""
    return show(flow_m3_s, Quantity.FLOW, system)


def push_text(newton: float, system: System) -> str:
    """A force as people know it."""
    return f"{newton:.0f} N" if system is System.METRIC else f"{newton / 4.4482216152605:.0f} lb"


def more_or_less(now: float, before: float, quantity: Quantity, system: System) -> str:
    """The difference of two values, taken between their printed figures: ``105 gal/min more``, ``no more``."""
    units = [display_unit(quantity, system, value) for value in (now, before)]
    if units[0] == units[1]:
        unit = units[0]
        gain = unit.round(unit.from_si(now)) - unit.round(unit.from_si(before))
    else:
        unit = display_unit(quantity, system, now - before)
        gain = unit.round(unit.from_si(now - before))
    size = plain(round(abs(gain), 6))
    if size == "0":
        return "no more"
    return f"{size} {unit.symbol} {'more' if gain > 0.0 else 'less'}"


def at_most(value: float, quantity: Quantity, system: System) -> str:
    """A value as it is printed, rounded down where rounding would print more."""
    return _towards(value, quantity, system, -1.0)


def at_least(value: float, quantity: Quantity, system: System) -> str:
    """A value as it is printed, rounded up where rounding would print less."""
    return _towards(value, quantity, system, 1.0)


def three_figures(value: float, way: float = 0.0) -> str:
    """A bare number to three significant figures; rounded down where ``way`` is below 0, up where it is above."""
    if value == 0.0:
        return "0"
    digits = 2 - math.floor(math.log10(abs(value)))
    scaled = value * 10.0**digits
    whole = math.floor(scaled + _SLACK) if way < 0.0 else math.ceil(scaled - _SLACK) if way > 0.0 else round(scaled)
    return plain(round(whole / 10.0**digits, max(digits, 0)))


def _towards(value: float, quantity: Quantity, system: System, way: float) -> str:
    unit = display_unit(quantity, system, value)
    number = unit.from_si(value)
    step = max(abs(number), 0.1) * 2e-3  # finer than any last place printed
    at = number
    while way * (unit.round(at) - number) < -_SLACK * max(abs(number), 1.0):
        at += way * step
    return show(unit.to_si(unit.round(at)), quantity, system)


def capital(text: str) -> str:
    """The text with its first letter large."""
    return text[:1].upper() + text[1:]
