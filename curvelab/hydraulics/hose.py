"""What a length of hose holds and weighs."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from curvelab.hydraulics.constants import Floats
from curvelab.hydraulics.ranges import positive, require


def hose_volume(length_m: ArrayLike, *, bore_m: ArrayLike) -> Floats:
    """Water that a full hose holds.

    Parameters
    ----------
    length_m : float or array, broadcast
        Length. [m]  Valid: 0 or more.
    bore_m : float or array, broadcast
        True inside diameter. [m]  Valid: more than 0.

    Returns
    -------
    array, or 0-d for scalars
        Volume. [m³]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Geometry.
    """
    return (np.pi / 4.0) * positive("bore_m", bore_m) ** 2 * require("length_m", length_m, 0.0)


def hose_mass(
    length_m: ArrayLike, *, line_mass_kg_m: ArrayLike, bore_m: ArrayLike, density_kg_m3: ArrayLike = 0.0
) -> Floats:
    """Mass of a hose, empty or full.

    Parameters
    ----------
    length_m, bore_m : float or array, broadcast
        As ``hose_volume``.
    line_mass_kg_m : float or array, broadcast
        Mass of a metre of empty hose. [kg/m]  Valid: 0 or more.
    density_kg_m3 : float or array, broadcast
        Density of what fills it; 0, the default, for an empty hose. [kg/m³]  Valid: 0 or more.

    Returns
    -------
    array, or 0-d for scalars
        Mass. [kg]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Geometry.
    """
    content = require("density_kg_m3", density_kg_m3, 0.0) * hose_volume(length_m, bore_m=bore_m)
    return content + require("line_mass_kg_m", line_mass_kg_m, 0.0) * require("length_m", length_m, 0.0)
