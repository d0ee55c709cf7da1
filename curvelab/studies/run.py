"""The run: the route from the water to the outlet with its heights, pressures and ratings."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.constants import G
from curvelab.hydraulics.line import PointKind, heights_at, route_nodes
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.shut import shut_head
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.model.setup import Setup
from curvelab.studies.result import OverRated

Floats = NDArray[np.float64]

FORMAT = "curvelab-run/1"


@dataclass(frozen=True, slots=True, kw_only=True)
class Mark:
    """A waypoint on the run."""

    name: str
    distance_m: float
    height_m: float


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Run:
    """Corners of the discharge route by distance, shape (n,); everything is straight between them. NaN is null.

    A joint between legs stands twice, with the pressure and the rating on either side; a pump in the line likewise,
    with the pressure at its inlet and at its outlet.
    """

    distance_m: Floats
    height_m: Floats
    gauge_pa: Floats
    """Pressure while running; with no-lift that of the standing water, null above it; with no-prime null."""
    dead_head_pa: Floats
    """What it could see at most with the end shut, at full speed and without wear."""
    rating_pa: Floats
    """Working pressure of the leg; null where nobody stated one."""
    leg: NDArray[np.int64]
    waypoints: tuple[Mark, ...]
    suction_distance_m: Floats
    """Along the suction hose from its end in the water. [m]"""
    suction_height_m: Floats
    suction_gauge_pa: Floats

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, null for NaN, ``format`` first."""
        out: dict[str, Any] = {"format": FORMAT}
        for f in fields(self):
            value = getattr(self, f.name)
            if isinstance(value, np.ndarray):
                out[f.name] = [v if math.isfinite(v) else None for v in value.tolist()]
            else:
                out[f.name] = [{k.name: getattr(mark, k.name) for k in fields(mark)} for mark in value]
        return out


def run_of(setup: Setup, plan: Plan, s: Solution) -> Run:
    """The run of row 0; ``setup`` gives the waypoints' names."""
    route = s.route
    pumps = route.kind[0] == PointKind.BOOSTER
    order = np.lexsort((route.leg[0], pumps, route.distance_m[0]))  # a pump after whatever else stands at its place
    order = order[route.present[0][order]]
    distance, height, leg = route.distance_m[0][order], route.height_m[0][order], route.leg[0][order]
    gauge = _running(plan, s, order, height)
    weight = float(plan.density_kg_m3[0]) * G
    at, past = _twice(pumps[order], distance)
    distance, height = distance[at], height[at]
    leg: NDArray[np.int64] = np.where(past, leg[np.minimum(at + 1, leg.size - 1)], leg[at])
    gauge = gauge[at] + np.where(past, weight * _given(s, distance), 0.0)
    stands = distance * np.where(past, 1.0 + 1e-12, 1.0)
    bound = weight * (shut_head(plan, stands[None, :])[0] - height)
    rating = plan.discharge.rating_pa[0][leg]
    up = np.array([0.0, 1.0])
    inlet = float(s.inlet_gauge_pa[0])
    return Run(
        distance_m=distance,
        height_m=height,
        gauge_pa=gauge,
        dead_head_pa=bound,
        rating_pa=np.where(np.isfinite(rating), rating, np.nan),
        leg=leg,
        waypoints=tuple(
            Mark(name=point.name or "", distance_m=point.distance.si, height_m=point.height.si)
            for point in setup.discharge.waypoint
        ),
        suction_distance_m=up * float(plan.suction.length_m[0].sum()),
        suction_height_m=(up - 1.0) * float(plan.lift_m[0]),
        suction_gauge_pa=up * inlet,
    )


def over_rated_of(plan: Plan, s: Solution) -> tuple[OverRated, ...]:
    """Stretches of row 0's discharge that could see more than their rating with the end shut, by distance."""
    if not s.over_rated[0]:
        return ()
    weight = float(plan.density_kg_m3[0]) * G
    ends = np.cumsum(plan.discharge.length_m[0])
    boosters = plan.pumps.distance_m[0, 1:][plan.pumps.used[0, 1:]]
    corners = np.unique(np.concatenate([[0.0], ends, route_nodes(plan)[0][0], boosters]))
    tops = shut_head(plan, 0.5 * (corners[1:] + corners[:-1])[None, :])[0].tolist()
    heights = heights_at(plan, corners[None, :])[0].tolist()
    found: list[OverRated] = []
    for left in range(corners.size - 1):
        a, b = float(corners[left]), float(corners[left + 1])
        leg = int(np.searchsorted(ends, b - 1e-9))
        rating = float(plan.discharge.rating_pa[0, min(leg, ends.size - 1)])
        first, last = weight * (tops[left] - heights[left]), weight * (tops[left] - heights[left + 1])
        worst = max(first, last)
        if worst <= rating:
            continue
        crosses = a + (b - a) * (rating - first) / (last - first) if last != first else a
        start, end = (a if first > rating else crosses), (b if last > rating else crosses)
        stretch = OverRated(leg=leg, from_m=start, to_m=end, pressure_pa=worst, rating_pa=rating)
        _join(found, stretch)
    return tuple(found)


def _join(found: list[OverRated], new: OverRated) -> None:
    """Add a stretch, lengthening the one before where they touch in one leg."""
    if found and found[-1].leg == new.leg and abs(found[-1].to_m - new.from_m) < 1e-6:
        last = found.pop()
        worst = max(last.pressure_pa, new.pressure_pa)
        new = OverRated(leg=new.leg, from_m=last.from_m, to_m=new.to_m, pressure_pa=worst, rating_pa=new.rating_pa)
    found.append(new)


def _running(plan: Plan, s: Solution, order: NDArray[np.int64], height: Floats) -> Floats:
    weight = float(plan.density_kg_m3[0]) * G
    outcome = Outcome(int(s.outcome[0]))
    if outcome == Outcome.NO_LIFT:
        standing = weight * (float(s.shutoff_head_m[0]) - float(plan.lift_m[0]) - height)
        return np.where(standing >= 0.0, standing, np.nan)
    head, flow = float(s.head_m[0]), float(s.flow_m3_s[0])
    if math.isnan(head):
        return np.full(height.shape, np.nan)
    line = s.line
    square = flow * abs(flow)
    along = (line.discharge_legs(np.array([[flow]]))[0, 0] @ line.share[0])[order]
    at_end = s.route.kind[0][order] == PointKind.OUTLET
    own = _velocity_head(plan, s, order) * square
    asked = plan.lift_m[0] + height + s.suction_part_m[0] + along + line.steps[0][order] * square + own
    if line.boosters:
        held = line.held_back(np.array([[flow]]))[0, 0]
        asked = asked - (line.boosters(np.array([[flow]]))[0, 0] - line.boosters.helps[0].T @ held)[order]
    # the loss of a valve at the outlet lies after the last point of the hose
    return weight * (head - asked + np.where(at_end, plan.valve_k[0] * own, 0.0))


def _twice(pumps: NDArray[np.bool_], distance: Floats) -> tuple[NDArray[np.int64], NDArray[np.bool_]]:
    """Corners with the last pump of each place twice: which corner, and whether it is the one past the pump."""
    last = pumps & np.append(np.diff(distance) > 0.0, False)
    at = np.repeat(np.arange(distance.size, dtype=np.int64), np.where(last, 2, 1))
    return at, np.append(False, np.diff(at) == 0)


def _given(s: Solution, distance_m: Floats) -> Floats:
    """Head that the pumps which stand at each of these places give together at the delivered flow. [m]"""
    if s.line.boosters is None:
        return np.zeros_like(distance_m)
    places = s.route.distance_m[0][s.route.kind[0] == PointKind.BOOSTER]
    runs = not math.isnan(s.head_m[0])
    flow = s.flow_m3_s[:1, None]
    heads = np.full(places.size, np.nan)
    if runs:
        heads = (s.line.boosters.heads(flow) - s.line.held_back(flow))[0, 0]
    return np.where(places[:, None] == distance_m, heads[:, None], 0.0).sum(0)


def _velocity_head(plan: Plan, s: Solution, order: NDArray[np.int64]) -> Floats:
    """Velocity head over flow squared at the points of the route. [s²/m⁵]"""
    area = plan.discharge.abreast[0] * np.pi / 4.0 * plan.discharge.bore_m[0] ** 2
    return 1.0 / (2.0 * G * area[s.route.leg[0][order]] ** 2)
