"""Handles on the run: where they stand, and which heights and lengths a place under the pointer means.

Places are pixels of the frame, x right and y up from its lower left corner; heights and lengths are SI.
"""

from __future__ import annotations

import math
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Protocol

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.laying import SLOPE
from curvelab.layout.run import Drawing
from curvelab.layout.scale import Scale
from curvelab.model.setup import Setup

WATER, PUMP, OUTLET, POINT, BOOSTER = "water", "pump", "outlet", "point.", "booster."
LIFT, RISE = "suction.lift", "discharge.rise"
_APART = 0.3  # least hose between two points, or to a pump in the line, moved by hand [m] our own choice
_BESIDE_MARK = 16.0  # handle of the water from the sign of its level [px]

Floats = NDArray[np.float64]


class Land(Protocol):
    """Where a value comes to stand that was moved by hand: the stop of its slider next to it."""

    def __call__(self, path: str, si: float, low: float = ..., high: float = ..., /) -> float:
        """The stop next to ``si`` among those from ``low`` to ``high``, SI."""
        ...


class Step(Protocol):
    """The value so many stops of its slider further on."""

    def __call__(self, path: str, si: float, count: int, /) -> float:
        """SI to SI."""
        ...


@dataclass(frozen=True, slots=True)
class Grip:
    """One handle. ``ways``: ``y`` up and down only, ``x`` across only, ``xy`` both."""

    key: str
    x: float
    y: float
    ways: str


@dataclass(frozen=True, slots=True)
class Route:
    """Pump, waypoints and outlet, shape (points + 2,) each. [m]"""

    along: Floats
    """Of hose, from the pump."""
    height: Floats
    """Above the pump."""
    ground: Floats
    """Along the ground, from the pump: a hose of known length between known heights lies straight."""

    @classmethod
    def of(cls, setup: Setup) -> Route:
        """The route of the discharge hose."""
        points, length = setup.discharge.waypoint, hose_m(setup)
        along = np.array([0.0, *(point.distance.si for point in points), length])
        height = np.array([0.0, *(point.height.si for point in points), setup.discharge.rise.si])
        steps = np.sqrt(np.maximum(np.diff(along) ** 2 - np.diff(height) ** 2, 0.0))
        return cls(along, height, np.concatenate(([0.0], np.cumsum(steps))))


def hose_m(setup: Setup) -> float:
    """Whole length of the discharge hose. [m]"""
    return sum(leg.length.si for leg in setup.discharge.leg)


def last_leg(setup: Setup) -> str:
    """Path of the length that moves the outlet to and fro."""
    return f"discharge.leg.{len(setup.discharge.leg) - 1}.length"


def run_grips(shown: Drawing, setup: Setup) -> tuple[Grip, ...]:
    """Every handle of the run, in the order the water meets them."""
    scale, route = shown.scale, Route.of(setup)
    x, y = scale.x(route.ground), scale.y(route.height)
    points = [Grip(f"{POINT}{at}", float(x[at + 1]), float(y[at + 1]), "xy") for at in range(route.along.size - 2)]
    stands = [booster.distance.si for booster in setup.booster]
    pumps = [
        Grip(f"{BOOSTER}{at}", float(np.interp(along, route.along, x)), float(np.interp(along, route.along, y)), "x")
        for at, along in enumerate(stands)
    ]
    order: list[int] = np.argsort([*route.along[1:-1].tolist(), *stands], kind="stable").tolist()
    between = [[*points, *pumps][at] for at in order]
    return (
        Grip(WATER, shown.mark_x + _BESIDE_MARK, shown.water_y, "y"),
        Grip(PUMP, scale.pump_x, scale.pump_y, "y"),
        *between,
        Grip(OUTLET, float(x[-1]), float(y[-1]), "xy"),
    )


def place_of(key: str, kind: str = POINT) -> int | None:
    """Which waypoint, or which pump in the line, a key names."""
    number = key.removeprefix(kind)
    return int(number) if number != key and number.isdecimal() else None


def stand_of(key: str, setup: Setup) -> str | None:
    """Path of the distance at which the pump in the line stands that a key names."""
    place = place_of(key, BOOSTER)
    return None if place is None or place >= len(setup.booster) else f"{BOOSTER}{place}.distance"


def dragged(
    scale: Scale, setup: Setup, key: str, x: float | None, y: float | None, land: Land
) -> Mapping[str, float] | None:
    """What a handle under the pointer makes of the setup, SI by path; ``None`` for a handle that isn't there.

    Parameters
    ----------
    scale : Scale
        Of the drawing in which it was grasped.
    x, y : float, optional
        Where the handle is held. [px] Left out: it doesn't move that way.
    """
    if key == WATER and y is not None:
        return {LIFT: land(LIFT, (scale.pump_y - y) / scale.up)}
    if key == PUMP and y is not None:
        return _pump_moved(setup, land(LIFT, setup.suction.lift.si + (y - scale.pump_y) / scale.up))
    stand = stand_of(key, setup)
    if stand is not None and x is not None:
        route = Route.of(setup)
        return _in_the_line(setup, stand, float(np.interp(x, scale.x(route.ground), route.along)), land)
    node = _node(setup, key)
    if node is None or (x is None and y is None):
        return None
    return _end_or_point(setup, node, scale, x, y, land)


def nudged(setup: Setup, key: str, across: int, up: int, step: Step) -> Mapping[str, float] | None:
    """What arrow keys make of the setup: so many stops to the right and upwards, SI by path."""
    if key == WATER:
        return {LIFT: step(LIFT, setup.suction.lift.si, -up)}
    if key == PUMP:
        return _pump_moved(setup, step(LIFT, setup.suction.lift.si, up))
    stand = stand_of(key, setup)
    if stand is not None:
        to = step(stand, setup.booster[place_of(key, BOOSTER) or 0].distance.si, across)
        return {stand: min(max(to, _APART), hose_m(setup) - _APART)} if across else {}
    node = _node(setup, key)
    if node is None:
        return None
    route = Route.of(setup)
    height_path, along_path = _paths(setup, key)
    changed: dict[str, float] = {}
    if up:
        changed[height_path] = step(height_path, float(route.height[node]), up)
    if across and key == OUTLET:
        changed[along_path] = step(along_path, setup.discharge.leg[-1].length.si, across)
    elif across:
        low, high = _room(route, node, float(route.height[node]))
        to = step(along_path, float(route.along[node]), across)
        if low <= to <= high:
            changed[along_path] = to
    return changed


def point_on_hose(scale: Scale, setup: Setup, x: float, y: float, land: Land) -> tuple[int, float, float] | None:
    """A new waypoint where the hose is nearest to a pixel: its place among them, along the hose, above the pump [m].

    ``None`` where there is no room between two points.
    """
    route = Route.of(setup)
    px, py = scale.x(route.ground), scale.y(route.height)
    dx, dy = np.diff(px), np.diff(py)
    share = np.clip(((x - px[:-1]) * dx + (y - py[:-1]) * dy) / np.maximum(dx**2 + dy**2, 1e-9), 0.0, 1.0)
    away = np.hypot(px[:-1] + share * dx - x, py[:-1] + share * dy - y)
    at = int(np.argmin(away))
    low, high = float(route.along[at]) + _APART, float(route.along[at + 1]) - _APART
    if low > high:
        return None
    along = float(route.along[at] + share[at] * (route.along[at + 1] - route.along[at]))
    along = land(f"discharge.waypoint.{at}.distance", along, low, high)
    return at, along, float(np.interp(along, route.along, route.height))


def _node(setup: Setup, key: str) -> int | None:
    """Row of the route that a handle holds."""
    count = len(setup.discharge.waypoint)
    place = count if key == OUTLET else place_of(key)
    return None if place is None or place > count or (place == count and key != OUTLET) else place + 1


def _paths(setup: Setup, key: str) -> tuple[str, str]:
    """Paths of height and of length of the outlet or a waypoint."""
    if key == OUTLET:
        return RISE, last_leg(setup)
    at = f"discharge.waypoint.{place_of(key)}"
    return f"{at}.height", f"{at}.distance"


def _in_the_line(setup: Setup, path: str, along: float, land: Land) -> dict[str, float]:
    """A pump in the line to and fro on the hose as it lies."""
    return {path: land(path, along, _APART, hose_m(setup) - _APART)}


def _pump_moved(setup: Setup, lift: float) -> dict[str, float]:
    """The pump up or down its bank: water, outlet and points stay where they are on the ground."""
    up = lift - setup.suction.lift.si
    heights = {f"discharge.waypoint.{at}.height": p.height.si - up for at, p in enumerate(setup.discharge.waypoint)}
    return {LIFT: lift, RISE: setup.discharge.rise.si - up, **heights}


def _end_or_point(
    setup: Setup, node: int, scale: Scale, x: float | None, y: float | None, land: Land
) -> dict[str, float]:
    route = Route.of(setup)
    outlet = node == route.along.size - 1
    height_path, along_path = _paths(setup, OUTLET if outlet else f"{POINT}{node - 1}")
    changed: dict[str, float] = {}
    height = float(route.height[node])
    if y is not None:
        height = changed[height_path] = land(height_path, (y - scale.pump_y) / scale.up)
    if x is None:
        return changed
    over = max(0.0, (x - float(scale.x(route.ground[node - 1]))) / scale.across)
    along = float(route.along[node - 1]) + math.hypot(over, height - float(route.height[node - 1]))
    if outlet:
        before = hose_m(setup) - setup.discharge.leg[-1].length.si
        changed[along_path] = land(along_path, max(along - before, 0.0))
        return changed
    low, high = _room(route, node, height)
    if low <= high:
        changed[along_path] = land(along_path, along, low, high)
    return changed


def _room(route: Route, node: int, height: float) -> tuple[float, float]:
    """How near to its neighbours a waypoint may lie, the hose on either side not quite straight up. [m]"""
    before, after = (max(_APART, abs(height - float(route.height[at])) / SLOPE) for at in (node - 1, node + 1))
    return float(route.along[node - 1]) + before, float(route.along[node + 1]) - after
