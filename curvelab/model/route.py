"""The route of the discharge hose: what has to move along when one of its ends, points or lengths is moved by hand."""

from __future__ import annotations

from typing import Final

from curvelab.model.fields import BY_PATH
from curvelab.model.setup import Setup

SLOPE: Final = 0.98
"""Steepest stretch that a point is moved to, height over length: no hose lies quite straight. [-] Our own choice."""

_DISTANCE: Final = BY_PATH["discharge.waypoint.*.distance"]
_HEIGHT: Final = BY_PATH["discharge.waypoint.*.height"]


def taken_along(before: Setup, after: Setup, moved: int | None = None) -> Setup:
    """``after``, with the waypoints moved as far as the hose needs to reach; the same object where it reaches already.

    A hose made shorter than the way to its last point takes all points along, each at its share of the length. A point
    that the hose no longer reaches follows in height. What cannot be helped so is left for the solve to refuse.

    Parameters
    ----------
    before, after : Setup
        Before and after the hose's length, the outlet's height or a point's height was changed.
    moved : int, optional
        The waypoint that was moved itself, and stays where it was put.
    """
    if not after.discharge.waypoint:
        return after
    return _in_reach(_along(before, after), moved)


def _along(before: Setup, after: Setup) -> Setup:
    points = after.discharge.waypoint
    was, now = _length(before), _length(after)
    if was <= 0.0 or now >= max(point.distance.si for point in points):
        return after
    for place, point in enumerate(points):
        after = _DISTANCE.set(after, point.distance.si * now / was, place)
    return after


def _in_reach(setup: Setup, moved: int | None) -> Setup:
    """Each point as near to its height as the hose from the point before it, and to every corner that stays, allows."""
    points = setup.discharge.waypoint
    fixed = [(0.0, 0.0), (_length(setup), setup.discharge.rise.si)]
    if moved is not None and moved < len(points):
        fixed.append((points[moved].distance.si, points[moved].height.si))
    before = fixed[0]
    for place, point in enumerate(points):
        here, height = point.distance.si, point.height.si
        reach = [(h, SLOPE * abs(here - distance)) for distance, h in (*fixed, before)]
        low, high = max(h - r for h, r in reach), min(h + r for h, r in reach)
        if low <= high and not low - 1e-9 <= height <= high + 1e-9:
            height = min(max(height, low), high)
            setup = _HEIGHT.set(setup, height, place)
        before = (here, height)
    return setup


def _length(setup: Setup) -> float:
    return sum(leg.length.si for leg in setup.discharge.leg)
