"""Bodies of water: surface and content against the level, for every shape that a setup may have. Geometry only."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Self

import numpy as np
from numpy.typing import ArrayLike

from curvelab.hydraulics.constants import Floats
from curvelab.hydraulics.crossing import find_roots
from curvelab.hydraulics.ranges import positive, require

_Shape = Callable[[Floats], Floats]


@dataclass(frozen=True, slots=True)
class Tank:
    """A body of water, made by ``box``, ``cylinder``, ``frustum``, ``pond`` or ``table``. Levels count from its bottom.

    ``area`` [m²] and ``volume`` [m³] take arrays of levels [m] from 0 to ``top_m`` and return arrays of that shape.
    """

    area: _Shape
    volume: _Shape
    top_m: float = inf
    """Greatest level; inf for upright walls. [m]"""

    def level_of(self, volume_m3: ArrayLike) -> Floats:
        """Level at which the body holds a volume, ``volume`` turned round.

        Parameters
        ----------
        volume_m3 : float or array, any shape
            Volume. [m³]  Valid: 0 to what it holds at its top.

        Returns
        -------
        array, or 0-d for scalars
            Level, to 1e-11 of the depth. [m]

        Raises
        ------
        DomainError
            If a value is not finite or lies outside its valid range.

        References
        ----------
        .. [1] Geometry.
        """
        wanted = require("volume_m3", volume_m3, 0.0)
        high = self.top_m if self.top_m < inf else _upright(self, wanted)
        most = float(self.volume(np.array(high)))
        wanted = require(
            "volume_m3", np.where(wanted <= most * (1.0 + 1e-9), np.minimum(wanted, most), wanted), 0.0, most
        )
        low, top = np.zeros(wanted.shape), np.full(wanted.shape, high)
        return find_roots(lambda level: self.volume(level) - wanted, low, top, -wanted, most - wanted)

    def room_below(self, full_m: float) -> Self:
        """The room left in it up to a level, as a body that empties while this one fills: its level is full − level."""

        def area(left: Floats) -> Floats:
            return self.area(full_m - left)

        def volume(left: Floats) -> Floats:
            return self.volume(np.full_like(left, full_m)) - self.volume(full_m - left)

        return type(self)(area, volume, full_m)


def _upright(tank: Tank, wanted: Floats) -> float:
    """A level over that of the greatest volume, for upright walls. [m]"""
    area = float(tank.area(np.array(0.0)))
    return 1.001 * float(np.max(wanted, initial=0.0)) / area + 1.0


def box(*, length_m: float, width_m: float) -> Tank:
    """Upright walls on a rectangle.

    Parameters
    ----------
    length_m, width_m : float
        Inside. [m]  Valid: more than 0.

    Returns
    -------
    Tank

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Geometry.
    """
    return _even(float(positive("length_m", length_m)) * float(positive("width_m", width_m)))


def cylinder(*, diameter_m: float) -> Tank:
    """Upright walls on a circle.

    Parameters
    ----------
    diameter_m : float
        Inside. [m]  Valid: more than 0.

    Returns
    -------
    Tank

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Geometry.
    """
    return _even(np.pi / 4.0 * float(positive("diameter_m", diameter_m)) ** 2)


def frustum(
    *, top_length_m: float, top_width_m: float, bottom_length_m: float, bottom_width_m: float, full_depth_m: float
) -> Tank:
    """Straight sloping walls from a rectangle at the bottom to one at the top: a pit, a dug pond.

    Parameters
    ----------
    top_length_m, top_width_m : float
        At ``full_depth_m``. [m]  Valid: more than 0.
    bottom_length_m, bottom_width_m : float
        At the bottom. [m]  Valid: 0 or more.
    full_depth_m : float
        Level of the top. [m]  Valid: more than 0.

    Returns
    -------
    Tank

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Geometry: the prismoid, whose sections are the product of two straight lines.
    """
    depth = float(positive("full_depth_m", full_depth_m))
    length, width = (
        float(require(n, v, 0.0)) for n, v in (("bottom_length_m", bottom_length_m), ("bottom_width_m", bottom_width_m))
    )
    longer = (float(positive("top_length_m", top_length_m)) - length) / depth
    wider = (float(positive("top_width_m", top_width_m)) - width) / depth

    def area(level: Floats) -> Floats:
        return (length + longer * level) * (width + wider * level)

    def volume(level: Floats) -> Floats:
        middle = (length * wider + longer * width) / 2.0
        return level * (length * width + level * (middle + level * longer * wider / 3.0))

    return Tank(area, volume, depth)


def pond(*, area_m2: float, full_depth_m: float, power: float) -> Tank:
    """A hollow whose surface grows as a power of its depth, A = A_full (h/h_full)^power.

    Parameters
    ----------
    area_m2 : float
        Surface at ``full_depth_m``. [m²]  Valid: more than 0.
    full_depth_m : float
        Depth of the deepest place when full. [m]  Valid: more than 0.
    power : float
        0 for upright walls, 1 for an even slope in one direction, 2 for a cone. [-]  Valid: 0 or more.

    Returns
    -------
    Tank
        It holds A_full h_full/(1 + power).

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Geometry.
    """
    full, depth = float(positive("area_m2", area_m2)), float(positive("full_depth_m", full_depth_m))
    grows = float(require("power", power, 0.0))

    def area(level: Floats) -> Floats:
        return full * (level / depth) ** grows

    def volume(level: Floats) -> Floats:
        return full * depth / (1.0 + grows) * (level / depth) ** (1.0 + grows)

    return Tank(area, volume, depth)


def table(*, level_m: ArrayLike, area_m2: ArrayLike) -> Tank:
    """Surfaces measured at some levels and joined by straight lines; the first holds below its level.

    Parameters
    ----------
    level_m : array, shape (n,)
        Rising. [m]  Valid: 0 or more, the last one more than 0.
    area_m2 : array, shape (n,)
        Surface at each. [m²]  Valid: 0 or more, some of them more than 0.

    Returns
    -------
    Tank
        Up to the last level.

    Raises
    ------
    DomainError
        If a value is not finite or lies outside its valid range.

    References
    ----------
    .. [1] Geometry: trapezoids between the levels.
    """
    levels, areas = require("level_m", level_m, 0.0), require("area_m2", area_m2, 0.0)
    require("steps of level_m", np.diff(levels), 0.0, hint="levels rise")
    top = float(positive("the last level_m", levels[-1]))
    if levels[0] > 0.0:
        levels, areas = np.insert(levels, 0, 0.0), np.insert(areas, 0, areas[0])
    below = np.concatenate([[0.0], np.cumsum(0.5 * (areas[1:] + areas[:-1]) * np.diff(levels))])
    positive("what area_m2 holds", below[-1])

    def area(level: Floats) -> Floats:
        return np.interp(level, levels, areas)

    def volume(level: Floats) -> Floats:
        at = np.clip(np.searchsorted(levels, level, side="right") - 1, 0, levels.size - 1)
        return below[at] + 0.5 * (areas[at] + area(level)) * (level - levels[at])

    return Tank(area, volume, top)


def _even(area_m2: float) -> Tank:
    def area(level: Floats) -> Floats:
        return np.full(np.shape(level), area_m2)

    def volume(level: Floats) -> Floats:
        return area_m2 * np.asarray(level, dtype=np.float64)

    return Tank(area, volume)
