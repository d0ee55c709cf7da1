"""Geometry of the run, to scale: water, hose, ground, pressure line, vacuum, and what could burst.

Everything that leaves this module is in pixels of the frame, x right and y up from its lower left corner. A hose of
known length between two known heights is drawn straight, so that its run along the ground follows; one scale serves
lengths and heights, unless the heights had to be drawn larger.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.constants import G
from curvelab.layout.scale import Extent, Scale, scale_of
from curvelab.layout.sizes import RunSize
from curvelab.studies.result import Result, State
from curvelab.studies.run import Run
from curvelab.units import Quantity, System, display_unit

_DIP = 6.0  # strainer below the surface as drawn [px]
_UNDER = 3.0  # ground below the middle of the hose [px]
_POND = 19.0  # depth of water as drawn [px]
_STEEP = 0.5  # a last piece that rises more steeply than this leaves the ground
_TALL = 0.05  # a waypoint is named when it stands out by this share of all heights

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Path:
    """A line of points, shape (n,) each. [px]"""

    x: Floats
    y: Floats


@dataclass(frozen=True, slots=True)
class Measure:
    """The two arms that tell the scale, equal unless the heights are drawn larger; then each has its own length."""

    across_px: float
    across: str
    up_px: float
    up: str
    """Empty where the two stand for the same length."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Drawing:
    """What the run shows."""

    state: State
    scale: Scale
    water_y: float
    mark_x: float
    """Where the sign of the water's level stands."""
    water: Path
    """Outline of the water, closed."""
    earth: Path
    """Outline of the earth, closed."""
    ground: Path
    suction: Path
    wet: Path
    """Hose with water in it."""
    dry: Path
    corners: Path
    """Corners of the discharge hose."""
    line: Floats
    """The pressure line over the points of ``wet``."""
    vacuum_line: Floats
    """Pressure line of the suction hose, at or below it."""
    empty: Path
    """Suction hose above the water that stands in it."""
    over: tuple[Path, ...]
    """Hose that could see more than its rating."""
    tank: tuple[float, float, float, float] | None
    """Left, bottom, right and top."""
    pumps: int
    """Pumps at the water."""
    boosters: tuple[tuple[float, float], ...]
    """Where the pumps in the line stand, by distance."""
    flag: tuple[float, float]
    """The point that governs."""
    named: tuple[tuple[int, float, float, bool], ...]
    """Waypoints that are named: which, where, and whether it is a height (else a dip)."""
    outlet: tuple[float, float]
    stand: tuple[float, float, float] | None
    """Where the water stands: left and right end of its level, height."""
    short: tuple[float, float, float] | None
    """What is missing: x, from, to."""
    measure: Measure


def drawing(
    result: Result, run: Run, *, size: RunSize, width_px: float, system: System, held: Scale | None = None
) -> Drawing:
    """Work out the run.

    Parameters
    ----------
    run : Run
        Of the same setup.
    width_px : float
        Width of the frame as the browser has it. [px]
    held : Scale, optional
        The scale now, while something is dragged (see ``scale_of``).
    """
    weight = _weight(result, run)
    right = _along(run.distance_m, run.height_m)
    left = _along(run.suction_distance_m, run.suction_height_m)
    left = left - left[-1]  # the pump stands at 0
    lines = run.height_m + run.gauge_pa / weight
    vacuum = np.minimum(np.nan_to_num(run.suction_gauge_pa), 0.0) / weight
    shown = (run.height_m, run.suction_height_m, run.suction_height_m + vacuum, lines[np.isfinite(lines)])
    heights = np.concatenate((*shown, [_stands(result)]))
    extent = Extent(
        left=float(left[0]),
        right=float(right[-1]),
        low=float(heights.min()),
        high=float(heights.max()),
        flag=result.governing_point.height_m,
    )
    scale = scale_of(extent, size, width_px, held)
    hose = Path(scale.x(right), scale.y(run.height_m))
    suction = Path(scale.x(left), scale.y(run.suction_height_m))
    suction.y[0] -= _DIP
    ground = _ground(suction, hose, scale, width_px, float(scale.y(run.suction_height_m[0])))
    wet, dry = _filled(result, hose, scale)
    on_hose = np.interp(result.governing_point.distance_m, run.distance_m, np.arange(right.size))
    return Drawing(
        state=result.state,
        scale=scale,
        water_y=float(scale.y(run.suction_height_m[0])),
        mark_x=max(12.0, 0.35 * float(suction.x[0])),
        water=_water(suction, ground, scale, float(scale.y(run.suction_height_m[0]))),
        earth=Path(np.append(ground.x, [width_px, 0.0]), np.append(ground.y, [0.0, 0.0])),
        ground=ground,
        suction=suction,
        wet=wet,
        dry=dry,
        corners=hose,
        line=scale.y(lines) if wet is hose else np.full(wet.x.shape, float(scale.y(_stands(result)))),
        empty=_empty(result, suction, scale),
        vacuum_line=suction.y + vacuum * scale.up,
        over=tuple(stretch(run.distance_m, hose, piece.from_m, piece.to_m) for piece in result.over_rated),
        tank=_tank(result, hose, ground),
        pumps=sum(share.count for share in result.pumps) or 1,
        boosters=tuple(_on(hose, run, booster.distance_m) for booster in result.boosters),
        flag=(
            float(np.interp(on_hose, np.arange(right.size), hose.x)),
            float(np.interp(on_hose, np.arange(right.size), hose.y)),
        ),
        named=_named(run, right, hose, scale),
        outlet=(float(hose.x[-1]), float(hose.y[-1])),
        stand=_stand(result, suction, wet, scale),
        short=_short(result, run, wet, scale),
        measure=_measure(scale, system),
    )


def _on(hose: Path, run: Run, distance_m: float) -> tuple[float, float]:
    """Place of a distance along the hose."""
    return float(np.interp(distance_m, run.distance_m, hose.x)), float(np.interp(distance_m, run.distance_m, hose.y))


def _weight(result: Result, run: Run) -> float:
    """Pressure of a metre of the liquid. [Pa/m] From two gauges of the run, since neither carries it."""
    spread = np.ptp(run.height_m)
    if spread > 0.0:
        return float(np.ptp(run.dead_head_pa) / spread)
    lift = -float(run.suction_height_m[0])
    if result.shut_end_gauge_pa and result.shutoff_head_m is not None and result.shutoff_head_m != lift:
        return result.shut_end_gauge_pa / (result.shutoff_head_m - lift)
    return 1000.0 * G


def _along(distance: Floats, height: Floats) -> Floats:
    """Distance along the ground of hose whose length and heights are known; the first point is 0. [m]"""
    steps = np.sqrt(np.maximum(np.diff(distance) ** 2 - np.diff(height) ** 2, 0.0))
    return np.concatenate(([0.0], np.cumsum(steps)))


def _stands(result: Result) -> float:
    """Height over the pump that must be on the picture beside the hose: where a dead column of water ends. [m]"""
    if result.state is State.NO_LIFT and result.shutoff_head_m is not None:
        lift = next((part.head_m for part in result.ledger if part.item == "lift"), 0.0)
        return result.shutoff_head_m - lift
    return 0.0


def _ground(suction: Path, hose: Path, scale: Scale, width_px: float, water_y: float) -> Path:
    """The surface of the earth, from the left edge to the right one."""
    floor, bank = water_y - _POND, float(suction.x[0])
    x, y = [0.0, bank - 4.0], [floor, floor]
    if water_y > scale.pump_y:  # a dam, where the water lies above the pump
        x += [bank + 4.0, bank + 10.0]
        y += [water_y + 5.0, water_y + 5.0]
    x += [scale.pump_x - 10.0, scale.pump_x + 8.0]
    y += [scale.pump_y - _UNDER - 4.0] * 2
    on_ground = slice(1, None) if not _hangs(hose) else slice(1, -1)
    beside = scale.pump_x + 14.0
    if beside < float(hose.x[1]):
        x.append(beside)
        y.append(float(np.interp(beside, hose.x, hose.y)) - _UNDER)
    x += hose.x[on_ground].tolist()
    y += (hose.y[on_ground] - _UNDER).tolist()
    if not _hangs(hose):
        x.append(x[-1] + 6.0)
        y.append(y[-1])
    return Path(np.array([*x, width_px]), np.array([*y, y[-1]]))


def _hangs(hose: Path) -> bool:
    """Whether the last piece of hose rises off the ground, as up the side of a tank."""
    across, up = float(hose.x[-1] - hose.x[-2]), float(hose.y[-1] - hose.y[-2])
    return hose.x.size > 2 and up > _STEEP * across


def _water(suction: Path, ground: Path, scale: Scale, water_y: float) -> Path:
    end = float(suction.x[0])
    dammed = water_y > scale.pump_y
    edge = end + 4.0 if dammed else float(np.interp(water_y, [ground.y[1], ground.y[2]], [ground.x[1], ground.x[2]]))
    return Path(np.array([0.0, edge, end - 4.0, 0.0]), np.array([water_y, water_y, water_y - _POND, water_y - _POND]))


def _filled(result: Result, hose: Path, scale: Scale) -> tuple[Path, Path]:
    """Hose with water in it and hose without."""
    nothing = Path(np.empty(0), np.empty(0))
    if result.state is State.NO_PRIME:
        return nothing, hose
    if result.state is not State.NO_LIFT:
        return hose, nothing
    level = float(scale.y(_stands(result)))
    above = np.flatnonzero(hose.y > level)
    if above.size == 0:
        return hose, nothing
    first = int(above[0])
    if first == 0:
        return nothing, hose
    share = (level - hose.y[first - 1]) / (hose.y[first] - hose.y[first - 1])
    x = float(hose.x[first - 1] + share * (hose.x[first] - hose.x[first - 1]))
    wet = Path(np.append(hose.x[:first], x), np.append(hose.y[:first], level))
    return wet, Path(np.append(x, hose.x[first:]), np.append(level, hose.y[first:]))


def stretch(distance: Floats, hose: Path, start: float, end: float) -> Path:
    """The piece of a hose between two distances along it, corners and all."""
    between = (distance > start) & (distance < end)
    at = np.concatenate(([start], distance[between], [end]))
    return Path(np.interp(at, distance, hose.x), np.interp(at, distance, hose.y))


def _tank(result: Result, hose: Path, ground: Path) -> tuple[float, float, float, float] | None:
    if not result.inputs.get("receiver"):
        return None
    x, y = float(hose.x[-1]) + 3.0, float(hose.y[-1])
    if _hangs(hose):
        bottom = float(ground.y[-1])
        return x, bottom, x + 22.0, max(bottom + 8.0, min(y - 3.0, bottom + 12.0))
    return x, y - 11.0, x + 22.0, y + 1.0


def _named(run: Run, right: Floats, hose: Path, scale: Scale) -> tuple[tuple[int, float, float, bool], ...]:
    """Waypoints that stand out: heights and dips among their neighbours."""
    heights = [0.0, *(mark.height_m for mark in run.waypoints), float(run.height_m[-1])]
    least = _TALL * max(max(heights) - min(heights), 1e-9)
    named: list[tuple[int, float, float, bool]] = []
    last = len(run.waypoints) - (1 if _hangs(hose) else 0)  # the foot of a tank needs no name of its own
    for index, mark in enumerate(run.waypoints[:last]):
        before, here, after = heights[index : index + 3]
        peak, dip = min(here - before, here - after), min(before - here, after - here)
        if max(peak, dip) < least and not (peak >= 0.0 and here >= max(heights)):
            continue
        x = float(scale.x(float(np.interp(mark.distance_m, run.distance_m, right))))
        named.append((index, x, float(scale.y(here)), peak > dip))
    return tuple(named)


def _stand(result: Result, suction: Path, wet: Path, scale: Scale) -> tuple[float, float, float] | None:
    if result.state is State.NO_LIFT and wet.x.size:
        return scale.pump_x, float(wet.x[-1]), float(wet.y[-1])
    empty = _empty(result, suction, scale)
    return (float(empty.x[0]), scale.pump_x + 40.0, float(empty.y[0])) if empty.x.size else None


def _empty(result: Result, suction: Path, scale: Scale) -> Path:
    if result.state is not State.NO_PRIME or result.priming_lift_m is None:
        return Path(np.empty(0), np.empty(0))
    level = float(suction.y[0]) + _DIP + result.priming_lift_m * scale.up
    level = min(level, float(suction.y[-1]))
    x = float(np.interp(level, suction.y, suction.x))
    return Path(np.array([x, suction.x[-1]]), np.array([level, suction.y[-1]]))


def _short(result: Result, run: Run, wet: Path, scale: Scale) -> tuple[float, float, float] | None:
    if result.state is State.NO_LIFT and wet.x.size:
        top = float(scale.y(result.governing_point.height_m))
        return float(wet.x[-1]) - 12.0, float(wet.y[-1]), top
    if result.state is State.NO_PRIME and result.priming_lift_m is not None:
        surface = float(run.suction_height_m[0])
        return scale.pump_x + 40.0, float(scale.y(surface + result.priming_lift_m)), float(scale.y(0.0))
    return None


def _measure(scale: Scale, system: System) -> Measure:
    unit = display_unit(Quantity.LENGTH, system)
    px = scale.across * unit.scale  # of one display unit
    across = _arm(px)
    if scale.factor == 1:
        return Measure(across * px, f"{across:,g} {unit.symbol}", across * px, "")
    up = _arm(px * scale.factor)
    return Measure(across * px, f"{across:,g} {unit.symbol}", up * px * scale.factor, f"{up:,g} {unit.symbol} up")


def _arm(px: float) -> float:
    """The shortest round length of at least 20 px."""
    lengths = [step * 10.0**power for power in range(5) for step in (1.0, 2.0, 5.0)]
    return next((length for length in lengths if length * px >= 20.0), lengths[-1])
