"""Pressure of the air against height above sea level, and back."""

from __future__ import annotations

from typing import Final

from numpy.typing import ArrayLike

from curvelab.hydraulics.constants import AIR_SEA_LEVEL_PA, Floats, G
from curvelab.hydraulics.ranges import require

ALTITUDE_M: Final = (-500.0, 5000.0)
"""Heights of the ground for which curvelab answers; the standard's lowest layer reaches 11 km. [m]"""

BAROMETER_PA: Final = (30_000.0, 120_000.0)
"""Readings taken from a barometer: station pressure, not reduced to sea level. [Pa]"""

_EARTH_RADIUS_M = 6_356_766.0
_TEMPERATURE_K = 288.15
_LAPSE_K_M = 6.5e-3
_EXPONENT = G * 28.9644 / (8314.32 * _LAPSE_K_M)  # 5.2559


def pressure_at(altitude_m: ArrayLike) -> Floats:
    r"""Pressure of the standard atmosphere.

    Parameters
    ----------
    altitude_m : float or array, shape (n,)
        Geometric height above sea level. [m]  Valid: -500 to 5000.

    Returns
    -------
    array, shape (n,), or 0-d for a scalar
        Absolute pressure. [Pa]  The weather moves it by 2 to 3 % either way (common practice, no source).

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] NOAA, NASA and USAF, "U.S. Standard Atmosphere, 1976," NOAA-S/T 76-1562, eqs. 18, 23 and 33a. Equation
       numbers from memory. The same atmosphere as ISO 2533:1975.
    """
    height = require("altitude_m", altitude_m, *ALTITUDE_M, hint="give a barometer reading instead")
    geopotential = _EARTH_RADIUS_M * height / (_EARTH_RADIUS_M + height)
    return AIR_SEA_LEVEL_PA * (1.0 - _LAPSE_K_M / _TEMPERATURE_K * geopotential) ** _EXPONENT


def altitude_of(pressure_pa: ArrayLike) -> Floats:
    r"""Height at which the standard atmosphere has this pressure: the inverse of ``pressure_at``.

    Parameters
    ----------
    pressure_pa : float or array, shape (n,)
        Absolute station pressure. [Pa]  Valid: 30 000 to 120 000.

    Returns
    -------
    array, shape (n,), or 0-d for a scalar
        Geometric height; about -1440 to 9180, more than ``pressure_at`` takes. [m]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] NOAA, NASA and USAF, "U.S. Standard Atmosphere, 1976," NOAA-S/T 76-1562, eqs. 19, 23 and 33a. Equation
       numbers from memory.
    """
    pressure = require("pressure_pa", pressure_pa, *BAROMETER_PA, hint="station pressure, not reduced to sea level")
    ratio = (pressure / AIR_SEA_LEVEL_PA) ** (1.0 / _EXPONENT)
    geopotential = (1.0 - ratio) * _TEMPERATURE_K / _LAPSE_K_M
    return _EARTH_RADIUS_M * geopotential / (_EARTH_RADIUS_M - geopotential)
