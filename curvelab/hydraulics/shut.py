"""With the end shut: what hose and gauges could see while the pumps turn and nothing flows.

The bound for ratings is taken at full speed and without wear, since someone will open the throttle. Lift is not
credited: whoever fills the hose may hold it. Pumps in the line add their own to everything beyond them.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.constants import G
from curvelab.hydraulics.line import heights_at, route_nodes
from curvelab.hydraulics.plan import Plan

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


def shut_head(plan: Plan, distance_m: Floats) -> Floats:
    """Height over the pump to which water could stand, at distances along the discharge. [m], shape (rows, n) as those.

    A pump in the line counts beyond its own place, not at it.
    """
    top = plan.pumps.bound_head_m[:, :1] - np.minimum(plan.lift_m, 0.0)[:, None]
    if plan.pumps.curve.shape[1] == 1:
        return np.broadcast_to(top, distance_m.shape)
    beyond = (distance_m[..., None] > plan.pumps.distance_m[:, None, 1:]) & plan.pumps.used[:, None, 1:]
    return top + np.where(beyond, plan.pumps.bound_head_m[:, None, 1:], 0.0).sum(-1)


def leg_bounds(plan: Plan) -> Floats:
    """Greatest pressure (gauge) that each discharge leg could see, shape (rows, legs). [Pa]"""
    ends = np.cumsum(plan.discharge.length_m, axis=1)
    starts = ends - plan.discharge.length_m
    x, z = route_nodes(plan)
    stands = plan.pumps.distance_m[:, 1:]
    x = np.concatenate([x, ends, starts, stands], axis=1)
    z = np.concatenate([z, *(heights_at(plan, part) for part in (ends, starts, stands))], axis=1)
    before = shut_head(plan, x) - z
    after = shut_head(plan, np.nextafter(x, np.inf)) - z
    x, before, after = x[:, None, :], before[:, None, :], after[:, None, :]
    start, end = starts[..., None], ends[..., None]
    inside = np.where((x > start) & (x <= end), before, -np.inf)
    inside = np.maximum(inside, np.where((x >= start) & (x < end), after, -np.inf))
    level = np.where(starts == ends, -np.inf, inside.max(-1))
    return (plan.density_kg_m3 * G)[:, None] * np.where(np.isfinite(level), level, 0.0)


def dead_head(plan: Plan) -> Floats:
    """Greatest pressure (gauge) anywhere on the discharge, shape (rows,). [Pa]"""
    x, z = route_nodes(plan)
    stands = plan.pumps.distance_m[:, 1:]
    x = np.concatenate([x, stands], axis=1)
    z = np.concatenate([z, heights_at(plan, stands)], axis=1)
    after = np.minimum(np.nextafter(x, np.inf), x[:, -1 - stands.shape[1]][:, None])
    level = np.maximum(shut_head(plan, x), shut_head(plan, after)) - z
    return plan.density_kg_m3 * G * level.max(1)


def casing_bounds(plan: Plan) -> Floats:
    """Greatest pressure (gauge) that each pump's casing could see, shape (rows, pumps); 0 in padding. [Pa]

    Its own head and that of the pumps before it, at its place.
    """
    place = plan.pumps.distance_m
    level = shut_head(plan, np.nextafter(place, np.inf)) - heights_at(plan, place)
    return np.where(plan.pumps.used, plan.density_kg_m3[:, None] * G * level, 0.0)


def over_rated(plan: Plan, bounds_pa: Floats) -> Bools:
    """Whether any discharge leg could see more than its rating, shape (rows,); ``bounds_pa`` from ``leg_bounds``."""
    return np.any((bounds_pa > plan.discharge.rating_pa) & plan.discharge.used, axis=1)
