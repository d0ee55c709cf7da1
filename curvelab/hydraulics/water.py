"""Liquid water at the pressure of the air: density, viscosity, vapour pressure.

Density and viscosity hold for 0.1 MPa. At the 10 bar of a strong pump water is 0.05 % denser: left out.
"""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from curvelab.hydraulics.constants import ICE_POINT_K, Floats
from curvelab.hydraulics.ranges import require

LIQUID_K: Final = (253.15, 383.15)
"""Temperatures for which the closed forms at 0.1 MPa hold, supercooled and superheated water included. [K]"""

TRIPLE_POINT_K: Final = 273.16
"""Triple point of water. [K]"""

CRITICAL_POINT_K: Final = 647.096
"""Critical point of water. [K] IAPWS SR1-86(1992)."""

_CRITICAL_PRESSURE_PA = 22.064e6
_GAS_CONSTANT = 461.51805  # J/(kg K), the value fixed in the release
_PRESSURE_PA = 1e5
_SCALE_K = 10.0

# Specific volume, Table 1 of SR6-08: a5, (a6..a10 with powers n6..n10 of alpha), (b5..b10 with powers 1..6 of beta).
_A5 = 1.93763157e-2
_A = (6.74458446e3, -2.22521604e5, 1.00231247e8, -1.63552118e9, 8.32299658e9)
_B = (5.78545292e-3, -1.53195665e-2, 3.11337859e-2, -4.23546241e-2, 3.38713507e-2, -1.19946761e-2)
_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))  # µPa s and powers of T/300 K
_SATURATION = (
    (-7.85951783, 1.0),
    (1.84408259, 1.5),
    (-11.7866497, 3.0),
    (22.6807411, 3.5),
    (-15.9618719, 4.0),
    (1.80122502, 7.5),
)


def density(temperature_k: ArrayLike) -> Floats:
    r"""Density of liquid water at 0.1 MPa.

    Parameters
    ----------
    temperature_k : float or array, shape (n,)
        Temperature. [K]  Valid: 253.15 to 383.15; curvelab uses 273.15 to 373.15.

    Returns
    -------
    array, shape (n,), or 0-d for a scalar
        Density. [kg/m³]  Stated uncertainty 1e-6 at 298 K, 4e-6 up to 373 K (from memory).

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] IAPWS SR6-08(2011), "Revised Supplementary Release on Properties of Liquid Water at 0.1 MPa," specific
       volume, eq. 2 and Table 1. Equation number from memory.
    """
    kelvin = require("temperature_k", temperature_k, *LIQUID_K)
    alpha, beta = _SCALE_K / (593.0 - kelvin), _SCALE_K / (kelvin - 232.0)
    square = alpha * alpha
    a6, a7, a8, a9, a10 = _A
    warm = square * square * (a6 + alpha * (a7 + square * (a8 + alpha * (a9 + alpha * a10))))
    cold = beta * _horner(_B, beta)
    volume = (_GAS_CONSTANT * _SCALE_K / _PRESSURE_PA) * (_A5 + warm + cold)
    return 1.0 / volume


def viscosity(temperature_k: ArrayLike) -> Floats:
    r"""Dynamic viscosity of liquid water at 0.1 MPa.

    Parameters
    ----------
    temperature_k : float or array, shape (n,)
        Temperature. [K]  Valid: 253.15 to 383.15; curvelab uses 273.15 to 373.15.

    Returns
    -------
    array, shape (n,), or 0-d for a scalar
        Dynamic viscosity. [Pa s]  Stated uncertainty 1 % (from memory).

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] IAPWS SR6-08(2011), "Revised Supplementary Release on Properties of Liquid Water at 0.1 MPa," eq. 7. Equation
       number from memory.
    """
    ratio = require("temperature_k", temperature_k, *LIQUID_K) / 300.0
    return 1e-6 * np.asarray(sum(factor * ratio**power for factor, power in _VISCOSITY))


def kinematic_viscosity(temperature_k: ArrayLike) -> Floats:
    """Dynamic viscosity over density of water at 0.1 MPa. [m²/s]  Range and sources: ``viscosity``, ``density``."""
    return viscosity(temperature_k) / density(temperature_k)


def vapour_pressure(temperature_k: ArrayLike) -> Floats:
    r"""Pressure at which water boils.

    Parameters
    ----------
    temperature_k : float or array, shape (n,)
        Temperature. [K]  Valid: 273.15 to 647.096. From 273.15 to 273.16, where ice would be the stable form,
        the value at 273.16.

    Returns
    -------
    array, shape (n,), or 0-d for a scalar
        Absolute saturation pressure. [Pa]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] IAPWS SR1-86(1992), "Revised Supplementary Release on Saturation Properties of Ordinary Water Substance,"
       eq. 1; W. Wagner and A. Pruss, J. Phys. Chem. Ref. Data, vol. 22, no. 3, pp. 783-787, 1993, doi:10.1063/1.555926.
    """
    kelvin = np.maximum(require("temperature_k", temperature_k, ICE_POINT_K, CRITICAL_POINT_K), TRIPLE_POINT_K)
    tau = 1.0 - kelvin / CRITICAL_POINT_K
    exponent = np.asarray(sum(factor * tau**power for factor, power in _SATURATION))
    return _CRITICAL_PRESSURE_PA * np.exp(exponent * CRITICAL_POINT_K / kelvin)


def _horner(coefficients: tuple[float, ...], x: Floats) -> Floats:
    total = np.zeros_like(x)
    for coefficient in reversed(coefficients):
        total = total * x + coefficient
    return total
