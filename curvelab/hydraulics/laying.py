"""How the points of a route lie under another length of hose: kept where the hose reaches, else taken along."""

from __future__ import annotations

from typing import Final

import numpy as np
from numpy.typing import NDArray

Floats = NDArray[np.float64]

SLOPE: Final = 0.98
"""Steepest stretch that a point is moved to, height over length: no hose lies quite straight. [-] Our own choice."""
_SLACK: Final = 1e-9


def laid_out(
    distance_m: Floats, height_m: Floats, *, rise_m: float, was_m: float, now_m: float, moved: int | None = None
) -> tuple[Floats, Floats]:
    """Distance and height of a route's points when the hose's length, an end or a point has changed.

    Points stay where they are if the hose still reaches past them; else each keeps its share of the length; where the
    hose is too short even for that, heights give way as little as they must, humps before dips.

    Parameters
    ----------
    distance_m, height_m : array, shape (points,)
        Along the hose, rising, and above the pump. [m]
    rise_m : float
        Height of the outlet. [m]  Valid: at most ``SLOPE`` times ``now_m`` up or down, for a route that can lie.
    was_m, now_m : float
        Whole length of the hose before and now. [m]  Valid: more than 0.
    moved : int, optional
        A point that was put where it is by hand and stays at its height.

    Returns
    -------
    tuple of arrays, shape (points,)
        Distance and height. [m]

    References
    ----------
    .. [1] Geometry: the greatest heights under the given ones between which no stretch is steeper than ``SLOPE``.
    """
    if distance_m.size == 0 or _reaches(distance_m, height_m, rise_m, now_m):
        return distance_m, height_m
    distance = distance_m * (now_m / was_m)
    if _reaches(distance, height_m, rise_m, now_m):
        return distance, height_m
    fixed = [] if moved is None else [(distance[moved], height_m[moved])]
    corners = np.array([(0.0, 0.0), (now_m, rise_m), *fixed])
    reach = SLOPE * np.abs(distance[:, None] - corners[:, 0])
    between = np.maximum(height_m, (corners[:, 1] - reach).max(axis=1))
    between = np.minimum(between, (corners[:, 1] + reach).min(axis=1))
    apart = SLOPE * np.abs(distance[:, None] - distance)
    return distance, (between + apart).min(axis=1)


def _reaches(distance: Floats, height: Floats, rise: float, length: float) -> bool:
    """Every stretch has hose, and none climbs more than its hose is long."""
    run = np.diff(distance, prepend=0.0, append=length)
    climb = np.abs(np.diff(height, prepend=0.0, append=rise))
    return bool((run > 0.0).all() and (climb <= run + _SLACK * length).all())
