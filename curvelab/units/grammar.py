"""Text to SI: one number, one unit, nothing else. Nothing is ever evaluated.

::

    text     = [sign] number [space] unit
    sign     = "+" | "-" | "−"
    number   = decimal | whole fraction | whole " " n "/" d | fraction | n "/" d
    decimal  = digits with at most one point, and an exponent if need be: 1.5, .5, 1.5e-6
    fraction = ½ ¼ ¾ ⅓ ⅔ ⅛ ⅜ ⅝ ⅞

Digits are 0 to 9. A comma is refused, since "1,200" is 1200 to some and 1.2 to others. Units are spelled one way
(capitals count); ``³``, ``²`` and ``°`` may be written or typed as ``3``, ``2`` and ``deg``.
"""

from __future__ import annotations

import re
from typing import Final, overload

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelab.errors import Fault, UnitError, echo, near
from curvelab.units.factors import UNITS, Quantity, Unit

LONGEST = 60
"""Most characters that a number with its unit may have. [-]"""
GREATEST = 1e12
"""Greatest number that is read, whatever its unit. [-]"""

_FRACTIONS: Final = {
    "½": 1 / 2, "¼": 1 / 4, "¾": 3 / 4, "⅓": 1 / 3, "⅔": 2 / 3, "⅛": 1 / 8, "⅜": 3 / 8, "⅝": 5 / 8, "⅞": 7 / 8,
}  # fmt: skip
_NUMBER: Final = re.compile(
    r"(?P<sign>[+\-−]?)"
    r"(?:(?:(?P<whole>[0-9]+)[ ])?(?P<top>[0-9]+)/(?P<bottom>[0-9]+)"
    r"|(?P<units>[0-9]*)[ ]?(?P<mark>[½¼¾⅓⅔⅛⅜⅝⅞])"
    r"|(?P<decimal>(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+\-−]?[0-9]+)?))"
    r"[ ]*(?P<unit>[^\s0-9+\-−.,_*^()][^\n]*)?"
)
_SPELLING: Final = str.maketrans({"³": "3", "²": "2", "°": "deg"})

_MEANT: Final[dict[Quantity, tuple[str, str]]] = {
    Quantity.FLOW: ("a flow", '"150 gpm" or "570 L/min"'),
    Quantity.VOLUME: ("a volume", '"500 gal" or "1900 L"'),
    Quantity.LENGTH: ("a length", '"12 ft" or "3.7 m"'),
    Quantity.BORE: ("a size", '"3 in" or "76 mm"'),
    Quantity.ROUGHNESS: ("a roughness", '"0.03 mm"'),
    Quantity.HEAD: ("a head", '"90 ft" or "27 m"'),
    Quantity.PRESSURE: ("a pressure", '"75 psi" or "5.2 bar"'),
    Quantity.VACUUM: ("a vacuum", '"28 inHg" or "95 kPa"'),
    Quantity.SPEED: ("a speed", '"6 ft/s" or "1.8 m/s"'),
    Quantity.TEMPERATURE: ("a temperature", '"55 degF" or "13 degC"'),
    Quantity.MASS: ("a mass", '"61 kg" or "135 lb"'),
    Quantity.POWER: ("a power", '"9 hp" or "6.7 kW"'),
    Quantity.FUEL: ("a volume of fuel", '"1.4 gal" or "5.3 L"'),
    Quantity.TIME: ("a time", '"2 h" or "45 min"'),
    Quantity.ROTATION: ("a speed of rotation", '"3600 rpm"'),
    Quantity.VISCOSITY: ("a kinematic viscosity", '"1 mm²/s"'),
    Quantity.DENSITY: ("a density", '"1000 kg/m³" or "62.4 lb/ft³"'),
    Quantity.SHARE: ("a share", '"5 %"'),
    Quantity.LEVEL_RATE: ("a rate of level", '"1 ft/day" or "0.3 m/day"'),
    Quantity.AREA: ("an area", '"1000 ft²" or "93 m²"'),
    Quantity.SPECIFIC_FUEL: ("a fuel consumption", '"0.55 L/kWh"'),
    Quantity.LINE_MASS: ("a mass per length", '"0.45 lb/ft" or "0.67 kg/m"'),
}


def parse(text: object, quantity: Quantity) -> float:
    """SI value of a number with its unit, such as ``"12 ft"``, ``"2½ in"``, ``"150 imp gal/min"`` or ``"55 °F"``.

    Parameters
    ----------
    text : str
        Number and unit, at most 60 characters. Anything else that a file can hold is refused.
    quantity : Quantity
        What is meant; ``Quantity`` names the SI unit of each.

    Raises
    ------
    UnitError
        One fault, without place, that says what was found and what to write.
    """
    if not isinstance(text, str):
        numeric = isinstance(text, (int, float)) and not isinstance(text, bool)
        raise _fault(f"{echo(text)} has no unit" if numeric else f"{_kind(text)} is no number with a unit", quantity)
    if len(text) > LONGEST:
        raise _fault(f'"{echo(text, 30)}" is too long for a number with a unit', quantity)
    found = _NUMBER.fullmatch(text.strip(" "))
    if found is None:
        raise _fault(_why_not(text), quantity)
    number = _number(found, text, quantity)
    if found["unit"] is None:
        raise _fault(f"{echo(text.strip())} has no unit", quantity)
    unit = _unit(found["unit"], text, quantity)
    return (number + unit.offset) * unit.scale


@overload
def from_unit(values: float, unit: str, quantity: Quantity) -> float: ...
@overload
def from_unit(values: ArrayLike, unit: str, quantity: Quantity) -> NDArray[np.float64] | float: ...
def from_unit(values: ArrayLike, unit: str, quantity: Quantity) -> NDArray[np.float64] | float:
    """SI values of numbers whose unit stands apart, as over a table of points.

    Parameters
    ----------
    values : float or array, any shape
        Numbers in ``unit``.
    unit : str
        A unit of ``quantity``: ``"gpm"``, ``"ft"``, ``"fraction"``.

    Raises
    ------
    UnitError
        If ``unit`` is none of ``quantity``.
    """
    found = _unit(unit, unit, quantity)
    si = (np.asarray(values, dtype=np.float64) + found.offset) * found.scale
    return si if si.ndim else float(si)


def meant(quantity: Quantity) -> str:
    """What to write for this quantity: ``write a length such as "12 ft" or "3.7 m"``."""
    name, examples = _MEANT[quantity]
    return f"write {name} such as {examples}"


def _number(found: re.Match[str], text: str, quantity: Quantity) -> float:
    if found["decimal"] is not None:
        number = float(found["decimal"].replace("−", "-"))
    elif found["mark"] is not None:
        number = float(found["units"] or 0) + _FRACTIONS[found["mark"]]
    elif int(found["bottom"]) == 0:
        raise _fault(f'"{echo(text)}" divides by nothing', quantity)
    else:
        number = float(found["whole"] or 0) + float(found["top"]) / float(found["bottom"])
    if number > GREATEST:
        raise _fault(f'"{echo(text)}" is far too large', quantity)
    return -number if found["sign"] in ("-", "−") else number


def _unit(name: object, text: str, quantity: Quantity) -> Unit:
    if not isinstance(name, str):
        raise _fault(f"{_kind(name)} is no unit", quantity)
    spelled = " ".join(name[:LONGEST].translate(_SPELLING).split())
    unit = UNITS[quantity].get(spelled)
    if unit is not None:
        return unit
    wanted, examples = _MEANT[quantity]
    if re.search("[ ][0-9]", spelled):
        raise _fault(f'"{echo(text)}" holds more than one number', quantity)
    other = next((q for q in Quantity if spelled in UNITS[q]), None)
    if other is not None:
        raise UnitError(Fault("", "", f"{echo(name)} is {_MEANT[other][0]}", f"{wanted} is meant, such as {examples}"))
    close = near(spelled, UNITS[quantity])
    hint = f'did you mean "{close}"? ' if close else ""
    raise UnitError(Fault("", "", f'"{echo(name)}" is no unit known here', f"{hint}{meant(quantity)}"))


def _why_not(text: str) -> str:
    shown = f'"{echo(text)}"'
    if not text.strip():
        return f"{shown} is empty"
    if "," in text:
        return f"{shown} has a comma, which may mean two things; use a point, and no mark between thousands"
    if re.fullmatch(r"[+\-−]?(nan|inf|infinity)\b.*", text.strip(), re.IGNORECASE):
        return f"{shown} is not a finite number"
    if re.search(r"[*^()]|[0-9] *[+\-−/]", text):
        return f"{shown} is a sum to work out; only a plain number is read"
    if re.match(r"[+\-−]?[0-9.]+ +[0-9]", text.strip()):
        return f"{shown} has a gap within its number"
    return f"{shown} is no number with a unit"


def _kind(value: object) -> str:
    names = {bool: "true or false", list: "a list", dict: "a table", type(None): "nothing"}
    return names.get(type(value), f"a {type(value).__name__}")


def _fault(got: str, quantity: Quantity) -> UnitError:
    return UnitError(Fault("", "", got, meant(quantity)))
