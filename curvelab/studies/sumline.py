"""Lines of a calculation written out, and how their figures are printed."""

from __future__ import annotations

import math
from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

from curvelab.hydraulics.constants import G
from curvelab.units import Quantity, System, display_unit

OWN: Final = "definition"
COLEBROOK: Final = "Colebrook 1939"
WEISBACH: Final = "Darcy and Weisbach"
ATMOSPHERE: Final = "US Standard Atmosphere 1976, ISO 2533"
CRANE: Final = "Crane TP-410"
SHEET: Final = "the pump's sheet; PCHIP"
SETUP: Final = "the setup"

_FIGURES: Final = 6
_NOTHING: Final = 1e-12


@dataclass(frozen=True, slots=True, kw_only=True)
class Line:
    """One line of the calculation. ``numbers`` comes to ``value`` in ``unit``."""

    title: str
    formula: str
    numbers: str
    value: float
    unit: str
    source: str


def line(title: str, formula: str, numbers: str, value: object, unit: str, source: str) -> Line:
    """A line whose value may be a NumPy scalar."""
    number = float(value)  # type: ignore[arg-type]
    return Line(title=title, formula=formula, numbers=numbers, value=number + 0.0, unit=unit, source=source)


def figure(value: float) -> str:
    """A number as a line prints it: six figures, no exponent that a pocket calculator lacks."""
    if abs(value) < _NOTHING:
        return "0"
    digits = max(0, _FIGURES - 1 - math.floor(math.log10(abs(value))))
    text = f"{value:.{digits}f}"
    return text.rstrip("0").rstrip(".").replace("-", "−") if "." in text else text.replace("-", "−")


def n(value: object) -> str:
    """A number within ``numbers``: a negative one in parentheses."""
    text = figure(float(value))  # type: ignore[arg-type]
    return f"({text})" if text.startswith("−") else text


def added(parts: Iterable[float]) -> str:
    """A sum, what is nothing left out."""
    return " + ".join(n(part) for part in parts if abs(part) >= _NOTHING) or "0"


def weight(density: float) -> str:
    """ρ g."""
    return f"{n(density)} × {n(G)}"


def given(title: str, symbol: str, si: float, unit: str, quantity: Quantity, system: System) -> Line:
    """An input turned into SI with the factor of its display unit."""
    shown = display_unit(quantity, system, si)
    number = si / shown.scale - shown.offset
    numbers = n(number) if shown.scale == 1.0 else f"{n(number)} × {n(shown.scale)}"
    return line(title, f"{symbol}, in {unit}", numbers, si, unit, f"{SETUP} ({shown.symbol})")


def told(title: str, quantity: Quantity, si: float, system: System) -> Line:
    """An answer turned back into the setup's units."""
    shown = display_unit(quantity, system, si)
    numbers = n(si) if shown.scale == 1.0 else f"{n(si)} / {n(shown.scale)}"
    return line(title, f"in {shown.symbol}", numbers, si / shown.scale - shown.offset, shown.symbol, "exact factor")
