"""Chalked setups on the bench: each a curve, a point, two columns, worked out once and shown beside the live ones."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from curvelab.layout.axes import Axes, Wanted
from curvelab.layout.ledger import Slab
from curvelab.layout.lines import FLOWING, POINTS, Floats, Point, Units, known_of
from curvelab.layout.slabs import budget_slabs, in_units, ledger_slabs, points_of
from curvelab.studies.curves import Curves
from curvelab.studies.result import Result

_NONE = np.zeros(0)
_SAME_M = 0.05
"""Two pump curves that lie nearer than this everywhere are one. [m]"""
_AT_REST = 0.035
"""Where on the flow axis the letter of a setup stands that gives nothing, so that it clears the numbers. [-]"""


@dataclass(frozen=True, slots=True, eq=False)
class Chalked:
    """A chalked setup, solved. Its curves are those of ``studies.curves``."""

    letter: str
    result: Result
    curves: Curves


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Ghost:
    """What the bench shows of it. Display units of the live axes."""

    letter: str
    flow: Floats
    head: Floats
    """What its site asks, as far as it is within the frame."""
    pump_flow: Floats
    pump_head: Floats
    """What its pump gives; empty where that is the live pump's curve."""
    point: Point | None
    """Its operating point, where water comes."""
    ring: Point
    """Where its letter stands: at the point, else at the start of its curve."""
    ledger: tuple[Slab, ...]
    budget: tuple[Slab, ...]


def held_too(wanted: Wanted, chalked: Sequence[Chalked], units: Units) -> Wanted:
    """What the axes must hold so that the chalked setups are on them as well."""
    flow, head = units.flow.from_si, units.head.from_si
    for one in chalked:
        result = one.result
        met = [point for point in points_of(result) if point is not None]
        heads = [result.static_head_m, result.start_head_m, float(np.nanmax(one.curves.pump_head_m))]
        lost = [slab.top for slab in ledger_slabs(result, one.curves, units)]
        foot = [slab.bottom for slab in ledger_slabs(result, one.curves, units)]
        wanted = Wanted(
            head=max(wanted.head, *lost, head(max([*heads, *(place[1] for place in met)]))),
            lowest=min(wanted.lowest, *foot),
            flow=max(wanted.flow, flow(result.end_flow_m3_s)),
            limit=wanted.limit,
            crossing=max([wanted.crossing, *(flow(place[0]) for place in met)]),
            suction=max(wanted.suction, head(result.air_head_m), *(slab.top for slab in budget_slabs(result, units))),
        )
    return wanted


def ghosts_of(chalked: Sequence[Chalked], live: Curves, units: Units, shown: Axes) -> tuple[Ghost, ...]:
    """Cut each to what the axes show."""
    return tuple(_ghost(one, live, units, shown) for one in chalked)


def _ghost(one: Chalked, live: Curves, units: Units, shown: Axes) -> Ghost:
    curves, result = one.curves, one.result
    grid, end = curves.flow_m3_s, float(curves.flow_m3_s[-1])
    leaves = float(np.interp(units.head.to_si(shown.head.end) * 1.02, curves.system_head_m, grid))
    asked = np.linspace(0.0, min(end, leaves), POINTS)
    point = in_units(points_of(result)[0], units) if result.state in FLOWING and result.flow_m3_s else None
    rest = units.flow.to_si(_AT_REST * shown.flow.end)
    at = units.flow.from_si(rest), units.head.from_si(float(np.interp(rest, grid, curves.system_head_m)))
    flows, heads = (_NONE, _NONE) if _same_pump(curves, live) else known_of(grid, curves.pump_head_m)
    given = np.linspace(float(flows[0]), float(flows[-1]), POINTS) if flows.size else _NONE
    return Ghost(
        letter=one.letter,
        flow=units.flow.from_si(asked),
        head=units.head.from_si(np.interp(asked, grid, curves.system_head_m)),
        pump_flow=units.flow.from_si(given),
        pump_head=units.head.from_si(np.interp(given, flows, heads)) if flows.size else _NONE,
        point=point,
        ring=point or at,
        ledger=ledger_slabs(result, curves, units),
        budget=budget_slabs(result, units),
    )


def _same_pump(one: Curves, other: Curves) -> bool:
    """Both setups have the same curve of the pump."""
    (flow, head), (other_flow, other_head) = (known_of(each.flow_m3_s, each.pump_head_m) for each in (one, other))
    starts, ends = (float(flow[0]), float(other_flow[0])), (float(flow[-1]), float(other_flow[-1]))
    step = max(float(each[1] - each[0]) if each.size > 1 else 0.0 for each in (flow, other_flow))
    if abs(starts[0] - starts[1]) > step or abs(ends[0] - ends[1]) > step:
        return False
    at = np.linspace(max(starts), min(ends), 12)
    return bool((np.abs(np.interp(at, flow, head) - np.interp(at, other_flow, other_head)) < _SAME_M).all())
