"""Loss coefficients of fittings and of steps in bore: K in h = K v²/2g, v in the bore named."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import ArrayLike

from curvelab.errors import DomainError
from curvelab.hydraulics.constants import Floats
from curvelab.hydraulics.ranges import require
from curvelab.units.factors import INCH

K_INWARD_PROJECTING: Final = 0.78
"""Bare hose end standing in the water. [-] Crane TP-410 (2009), appendix A; page from memory."""

K_FLUSH_SHARP: Final = 0.5
"""Sharp-edged entrance flush with a wall. [-] Crane TP-410 (2009), appendix A; page from memory."""

K_EXIT: Final = 1.0
"""Exit into still water: the whole velocity head. [-] Crane TP-410 (2009), appendix A; page from memory."""

CRANE_FRICTION_FACTORS: Final = {
    1.5: 0.020,
    2.0: 0.019,
    2.5: 0.018,
    3.0: 0.017,
    4.0: 0.016,
    5.0: 0.015,
    6.0: 0.015,
    8.0: 0.014,
}
"""f_T by nominal size in inches. [-] Crane TP-410 (2009), appendix A, as digitised in the library fluids. Older
editions print up to 0.001 more (from memory)."""


def contraction_k(beta: ArrayLike) -> Floats:
    """K of a sudden contraction, on the velocity in the smaller bore.

    Parameters
    ----------
    beta : float or array, shape (n,)
        Smaller bore over larger. [-]  Valid: 0 to 1.

    Returns
    -------
    array, shape (n,), or 0-d for a scalar
        0.5 (1 − β²). [-]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Crane Co., Flow of Fluids Through Valves, Fittings, and Pipe, TP-410, 2009, eq. 2-24 at 180 degrees. Equation
       number from memory.
    """
    return 0.5 * (1.0 - require("beta", beta, 0.0, 1.0) ** 2)


def enlargement_k(beta: ArrayLike) -> Floats:
    """K of a sudden enlargement (Borda and Carnot), on the velocity in the smaller bore.

    Parameters
    ----------
    beta : float or array, shape (n,)
        Smaller bore over larger. [-]  Valid: 0 to 1; at 0 it is an exit.

    Returns
    -------
    array, shape (n,), or 0-d for a scalar
        (1 − β²)². [-]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Crane Co., Flow of Fluids Through Valves, Fittings, and Pipe, TP-410, 2009, eq. 2-25 at 180 degrees. Equation
       number from memory.
    """
    return (1.0 - require("beta", beta, 0.0, 1.0) ** 2) ** 2


def step_k(area_from: ArrayLike, area_to: ArrayLike) -> Floats:
    """K of a step between two total flow areas, on the velocity in the smaller: contraction or enlargement.

    With hoses side by side an area is that of all of them, n π D²/4; β² is then smaller area over larger.

    Parameters
    ----------
    area_from, area_to : float or array, broadcast
        Total flow area before and after the step. [m²]  Valid: more than 0. Not checked: the solver calls this.

    Returns
    -------
    array, or 0-d for scalars
        Loss coefficient, 0 for equal areas. [-]

    References
    ----------
    .. [1] Crane Co., Flow of Fluids Through Valves, Fittings, and Pipe, TP-410, 2009, as in ``contraction_k`` and
       ``enlargement_k``.
    """
    before, after = np.asarray(area_from, dtype=np.float64), np.asarray(area_to, dtype=np.float64)
    missing = 1.0 - np.minimum(before, after) / np.maximum(before, after)
    return missing * np.where(after < before, 0.5, missing)


def crane_friction_factor(nominal_m: ArrayLike) -> Floats:
    """Friction factor f_T of the Crane method: new steel pipe of this nominal size, fully turbulent.

    Parameters
    ----------
    nominal_m : float or array, shape (n,)
        Nominal size. [m]  Valid: 1½, 2, 2½, 3, 4, 5, 6 and 8 in, each to 2 %.

    Returns
    -------
    array, shape (n,), or 0-d for a scalar
        f_T. [-]

    Raises
    ------
    DomainError
        If a value is none of these sizes.

    References
    ----------
    .. [1] Crane Co., Flow of Fluids Through Valves, Fittings, and Pipe, TP-410, 2009, appendix A, table of f_T.
    """
    sizes, factors = (np.array(list(part)) for part in (CRANE_FRICTION_FACTORS, CRANE_FRICTION_FACTORS.values()))
    inches = require("nominal_m", nominal_m, 0.0) / INCH
    at = np.abs(inches[..., None] - sizes).argmin(-1)
    far = np.abs(inches - sizes[at]) > 0.02 * sizes[at]
    if far.any():
        index = int(np.argmax(far))
        value = float(inches.ravel()[index])
        place = f" at index {index}" if inches.ndim else ""
        known = ", ".join(f"{size:g}" for size in sizes)
        raise DomainError(
            f"nominal_m must be one of {known} inches (got {value:g}{place}); give the size, not the bore",
            value=value * INCH,
            index=index if inches.ndim else None,
            limits=(float(sizes[0]) * INCH, float(sizes[-1]) * INCH),
            hint="give the size, not the bore",
        )
    return factors[at]


def crane_k(equivalent_diameters: ArrayLike, nominal_m: ArrayLike) -> Floats:
    """K of a fitting by the Crane method, n·f_T, on the velocity in the pipe of this nominal size.

    Parameters
    ----------
    equivalent_diameters : float or array, broadcast
        n of the fitting: 30 for a standard threaded elbow. [-]  Valid: 0 or more.
    nominal_m : float or array, broadcast
        Nominal size. [m]  Valid: as ``crane_friction_factor``.

    Returns
    -------
    array, or 0-d for scalars
        Loss coefficient. [-]

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Crane Co., Flow of Fluids Through Valves, Fittings, and Pipe, TP-410, 2009, appendix A.
    """
    return require("equivalent_diameters", equivalent_diameters, 0.0) * crane_friction_factor(nominal_m)
