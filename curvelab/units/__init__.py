"""Text with a unit to SI floats and back: the only place where a number changes its unit.

``factors`` has the exact table, ``grammar`` reads text, ``display`` writes it for people and for files.
"""

from curvelab.units.display import (
    DisplayUnit,
    System,
    display_unit,
    from_display,
    gallon_word,
    plain,
    show,
    to_display,
    write,
)
from curvelab.units.factors import Quantity
from curvelab.units.grammar import from_unit, meant, parse

__all__ = [
    "DisplayUnit",
    "Quantity",
    "System",
    "display_unit",
    "from_display",
    "from_unit",
    "gallon_word",
    "meant",
    "parse",
    "plain",
    "show",
    "to_display",
    "write",
]
