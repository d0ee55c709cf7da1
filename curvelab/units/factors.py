"""Units and what they are in SI.

Exact by definition, unless said: the international yard and pound agreement of 1959 (yard 0.9144 m, pound
0.453 592 37 kg), the US gallon of 231 cubic inches, the imperial gallon of 4.546 09 L (UK Weights and Measures Act
1985), the standard acceleration 9.806 65 m/s² and the conventional millimetre of mercury 133.322 387 415 Pa
(13 595.1 kg/m³). All as listed by NIST SP 811 (2008), appendix B. The imperial gallon never goes without ``imp``.
"""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Quantity(StrEnum):
    """What a number measures. SI unit of each in brackets: the one that ``parse`` returns."""

    FLOW = "flow"
    """[m³/s]"""
    VOLUME = "volume"
    """[m³]"""
    LENGTH = "length"
    """Lengths along the ground and heights. [m]"""
    BORE = "bore"
    """Small lengths: bores, solids, cover over a strainer. [m]"""
    ROUGHNESS = "roughness"
    """[m]"""
    HEAD = "head"
    """Height of the liquid pumped. [m]"""
    PRESSURE = "pressure"
    """[Pa]"""
    VACUUM = "vacuum"
    """Pressure below the air's, positive. [Pa]"""
    SPEED = "speed"
    """Speed of water. [m/s]"""
    TEMPERATURE = "temperature"
    """[K]"""
    MASS = "mass"
    """[kg]"""
    POWER = "power"
    """[W]"""
    FUEL = "fuel"
    """Volume of fuel. [m³]"""
    TIME = "time"
    """[s]"""
    ROTATION = "rotation"
    """Turns a second. [1/s]"""
    VISCOSITY = "viscosity"
    """Kinematic. [m²/s]"""
    DENSITY = "density"
    """[kg/m³]"""
    SHARE = "share"
    """[-]"""
    LEVEL_RATE = "level_rate"
    """How fast a water level falls. [m/s]"""
    AREA = "area"
    """[m²]"""
    SPECIFIC_FUEL = "specific_fuel"
    """Fuel for shaft work. [m³/J]"""
    LINE_MASS = "line_mass"
    """Mass of a length of hose. [kg/m]"""


@dataclass(frozen=True, slots=True)
class Unit:
    """SI value = (number + offset) × scale."""

    scale: float
    offset: float = 0.0


INCH = 0.0254
FOOT = 0.3048
POUND = 0.45359237
POUND_FORCE = POUND * 9.80665
PSI = POUND_FORCE / INCH**2
US_GALLON = 231 * INCH**3
IMP_GALLON = 4.54609e-3
LITRE = 1e-3
MM_MERCURY = 133.322387415
"""Conventional millimetre of mercury: 13 595.1 kg/m³ × 9.806 65 m/s² × 1 mm. [Pa]"""
HORSEPOWER = 550 * FOOT * POUND_FORCE
"""550 ft·lbf/s. [W]"""
METRIC_HORSEPOWER = 75 * 9.80665
"""75 kgf·m/s. [W]"""
MINUTE, HOUR, DAY = 60.0, 3600.0, 86400.0

_LENGTHS = {"m": 1.0, "mm": 1e-3, "cm": 1e-2, "km": 1e3, "ft": FOOT, "in": INCH, "yd": 3 * FOOT, "mi": 5280 * FOOT}
_TIMES = {"s": 1.0, "min": MINUTE, "h": HOUR, "day": DAY}
_VOLUMES = {
    "L": LITRE,
    "mL": 1e-6,
    "m3": 1.0,
    "ft3": FOOT**3,
    "in3": INCH**3,
    "acre-ft": 43560 * FOOT**3,
    "gal": US_GALLON,
    "US gal": US_GALLON,
    "imp gal": IMP_GALLON,
}
_FLOW_WORDS = {
    "gpm": US_GALLON / MINUTE,
    "US gpm": US_GALLON / MINUTE,
    "imp gpm": IMP_GALLON / MINUTE,
    "gph": US_GALLON / HOUR,
    "US gph": US_GALLON / HOUR,
    "imp gph": IMP_GALLON / HOUR,
    "cfs": FOOT**3,
    "lpm": LITRE / MINUTE,
}


def _per(tops: dict[str, float], bottoms: dict[str, float]) -> dict[str, float]:
    return {f"{top}/{bottom}": a / b for top, a in tops.items() for bottom, b in bottoms.items()}


def _units(scales: dict[str, float]) -> dict[str, Unit]:
    return {name: Unit(scale) for name, scale in scales.items()}


_LENGTH = _units(_LENGTHS)
_VOLUME = _units(_VOLUMES)
_PRESSURE = _units(
    {
        "Pa": 1.0,
        "hPa": 1e2,
        "kPa": 1e3,
        "MPa": 1e6,
        "mbar": 1e2,
        "bar": 1e5,
        "psi": PSI,
        "inHg": 25.4 * MM_MERCURY,
        "mmHg": MM_MERCURY,
    }
)
_SPEED = _units(_per(_LENGTHS, _TIMES))
_FAHRENHEIT, _CELSIUS = Unit(5 / 9, 459.67), Unit(1.0, 273.15)

UNITS: dict[Quantity, dict[str, Unit]] = {
    Quantity.FLOW: _units(_per(_VOLUMES, _TIMES) | _FLOW_WORDS),
    Quantity.VOLUME: _VOLUME,
    Quantity.LENGTH: _LENGTH,
    Quantity.BORE: _LENGTH,
    Quantity.ROUGHNESS: _LENGTH,
    Quantity.HEAD: _LENGTH,
    Quantity.PRESSURE: _PRESSURE,
    Quantity.VACUUM: _PRESSURE,
    Quantity.SPEED: _SPEED,
    Quantity.TEMPERATURE: {
        "K": Unit(1.0),
        "degF": _FAHRENHEIT,
        "F": _FAHRENHEIT,
        "degC": _CELSIUS,
        "C": _CELSIUS,
    },
    Quantity.MASS: _units({"kg": 1.0, "g": 1e-3, "t": 1e3, "lb": POUND}),
    Quantity.POWER: _units({"W": 1.0, "kW": 1e3, "hp": HORSEPOWER, "PS": METRIC_HORSEPOWER}),
    Quantity.FUEL: _VOLUME,
    Quantity.TIME: _units(_TIMES),
    Quantity.ROTATION: _units({"rpm": 1 / MINUTE, "Hz": 1.0}),
    Quantity.VISCOSITY: _units({"m2/s": 1.0, "mm2/s": 1e-6, "cSt": 1e-6}),
    Quantity.DENSITY: _units(
        {"kg/m3": 1.0, "kg/L": 1e3, "g/cm3": 1e3, "lb/ft3": POUND / FOOT**3, "lb/gal": POUND / US_GALLON}
    ),
    Quantity.SHARE: _units({"%": 1e-2, "percent": 1e-2, "fraction": 1.0}),
    Quantity.LEVEL_RATE: _SPEED,
    Quantity.AREA: _units({"m2": 1.0, "mm2": 1e-6, "cm2": 1e-4, "ha": 1e4, "ft2": FOOT**2, "in2": INCH**2})
    | {"acre": Unit(43560 * FOOT**2)},
    Quantity.SPECIFIC_FUEL: _units({"m3/J": 1.0, "L/kWh": LITRE / 3.6e6, "gal/hp-h": US_GALLON / (HORSEPOWER * HOUR)}),
    Quantity.LINE_MASS: _units(_per({"kg": 1.0, "g": 1e-3, "lb": POUND}, {"m": 1.0, "ft": FOOT})),
}
"""Units that a number of each quantity may carry, names as ``grammar`` spells them (plain digits, ``deg``)."""
