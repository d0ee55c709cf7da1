"""What somebody types into a box that has its unit beside it: a bare number takes that unit, another unit stands."""

from __future__ import annotations

import re
from typing import Final

from curvelab.errors import InputError
from curvelab.model.sheet import with_points
from curvelab.units import Quantity, System, display_unit, gallon_word, parse

_LETTER: Final = re.compile(r"[^\W\d_]|[%°µ]")
_DIGITS: Final = 6
_UNITS: Final = {Quantity.TIME: "s"}
"""Units of boxes where it is not the one of sliders: a watch shows seconds."""


def unit_beside(quantity: Quantity, system: System) -> str:
    """The unit that stands beside a box, as files spell it."""
    return _UNITS.get(quantity) or display_unit(quantity, system).written


def symbol_beside(quantity: Quantity, system: System) -> str:
    """The same unit as it is printed, the kind of gallon with a flow."""
    if quantity in _UNITS:
        return _UNITS[quantity]
    symbol = display_unit(quantity, system).symbol
    return f"{gallon_word(system)} {symbol}".strip() if quantity is Quantity.FLOW else symbol


def with_unit(text: str, quantity: Quantity, system: System) -> str:
    """Text of a box as a file would have it; empty where nothing was typed.

    A comma within a number is a decimal one where it can be nothing else.

    Raises
    ------
    InputError
        One fault, without place, where a comma may mean two things.
    """
    plain = with_points(" ".join(text.split()), commas=False)
    return f"{plain} {unit_beside(quantity, system)}" if plain and _is_bare(plain) else plain


def moved(text: str, quantity: Quantity, before: System, after: System) -> str:
    """Text of a box whose unit changes: the same amount in the new unit. What is no bare number stays as it is."""
    try:
        plain = with_points(" ".join(text.split()), commas=False)
        if not plain or not _is_bare(plain) or unit_beside(quantity, before) == unit_beside(quantity, after):
            return text
        si = parse(with_unit(plain, quantity, before), quantity)
    except InputError:
        return text
    return f"{display_unit(quantity, after).from_si(si):.{_DIGITS}g}"


def _is_bare(plain: str) -> bool:
    return _LETTER.search(plain) is None
