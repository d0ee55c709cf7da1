"""The route of the discharge hose: what has to move along when one of its ends, points or lengths is moved by hand."""

from __future__ import annotations

from typing import Final

import numpy as np

from curvelab.hydraulics.laying import laid_out
from curvelab.model.fields import BY_PATH
from curvelab.model.setup import Setup

_DISTANCE: Final = BY_PATH["discharge.waypoint.*.distance"]
_STANDS: Final = BY_PATH["booster.*.distance"]
_HEIGHT: Final = BY_PATH["discharge.waypoint.*.height"]


def taken_along(before: Setup, after: Setup, moved: int | None = None) -> Setup:
    """``after``, with the waypoints moved as far as the hose needs to reach; the same object where it reaches already.

    As ``hydraulics.laying.laid_out``, which the studies of the hose's length use too; a pump in the line that would lie
    past the hose's end moves along with it. What cannot be helped so is left for the solve to refuse.

    Parameters
    ----------
    before, after : Setup
        Before and after the hose's length, the outlet's height or a point's height was changed.
    moved : int, optional
        The waypoint that was moved itself, and stays where it was put.
    """
    was, now = _length(before), _length(after)
    if was <= 0.0 or now <= 0.0:
        return after
    after = _pumps_along(after, was, now)
    points = after.discharge.waypoint
    if not points:
        return after
    old = np.array([(point.distance.si, point.height.si) for point in points])
    anchor = moved if moved is not None and moved < len(points) else None
    rise = after.discharge.rise.si
    new = np.transpose(laid_out(old[:, 0], old[:, 1], rise_m=rise, was_m=was, now_m=now, moved=anchor))
    for place, changed in enumerate(new != old):
        for field, value, differs in zip((_DISTANCE, _HEIGHT), new[place].tolist(), changed, strict=True):
            if differs:
                after = field.set(after, value, place)
    return after


def _pumps_along(after: Setup, was_m: float, now_m: float) -> Setup:
    """With the pumps in the line that would lie past the hose's end moved along with it."""
    for place, booster in enumerate(after.booster):
        if booster.distance.si >= now_m and was_m > now_m:
            after = _STANDS.set(after, booster.distance.si * now_m / was_m, place)
    return after


def _length(setup: Setup) -> float:
    return sum(leg.length.si for leg in setup.discharge.leg)
