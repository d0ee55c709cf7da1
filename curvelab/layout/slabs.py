"""The columns of one result as slabs, and where its point lies. Display units, but for ``points_of``."""

from __future__ import annotations

from curvelab.layout.ledger import Slab, cut, hang, stack
from curvelab.layout.lines import Point, Units, pump_head_at, starved
from curvelab.studies.curves import Curves
from curvelab.studies.result import Part, Result, State


def ledger_slabs(result: Result, curves: Curves, units: Units) -> tuple[Slab, ...]:
    """The head ledger, with the head that a starved pump loses or what a pump can't lift."""
    return _in_units(_ledger(result, curves), units)


def budget_slabs(result: Result, units: Units) -> tuple[Slab, ...]:
    """The suction budget, hanging from the air's push."""
    return _in_units(_budget(result), units)


def points_of(result: Result) -> tuple[Point | None, Point | None]:
    """Operating point, and a crossing that is not reached. SI."""
    met = None
    if result.crossing_flow_m3_s is not None and result.crossing_head_m is not None:
        met = (result.crossing_flow_m3_s, result.crossing_head_m)
    if result.state is State.NO_LIFT:
        return (None if result.shutoff_head_m is None else (0.0, result.shutoff_head_m)), None
    if result.state is State.NO_PRIME:
        return None, met
    if result.flow_m3_s is None or result.head_m is None:
        return None, met
    return (result.flow_m3_s, result.head_m), (met if result.state is State.CAVITATING else None)


def in_units(point: Point | None, units: Units) -> Point | None:
    """A point from SI to the axes' units."""
    return None if point is None else (units.flow.from_si(point[0]), units.head.from_si(point[1]))


def _pairs(parts: tuple[Part, ...]) -> list[tuple[str, float]]:
    return [(part.item, part.head_m) for part in parts]


def _ledger(result: Result, curves: Curves) -> tuple[Slab, ...]:
    slabs = stack(_pairs(result.start_parts if result.state is State.NO_LIFT else result.ledger))
    top = max((slab.top for slab in slabs), default=0.0)
    if result.state is State.NO_LIFT and result.shutoff_head_m is not None:
        if result.start_head_m > top:
            slabs = (*slabs, Slab("rise", top, result.start_head_m))
        return cut(slabs, result.shutoff_head_m, "short")
    flow = starved(result)
    if flow is not None:
        over = pump_head_at(curves, flow)
        return (*slabs, Slab("lost", top, over)) if over > top else slabs
    return slabs


def _budget(result: Result) -> tuple[Slab, ...]:
    heights = dict(_pairs(result.suction_budget))
    needs, spare = heights.pop("needs", None), heights.pop("spare", 0.0)
    parts = list(heights.items())
    if needs is not None and result.state is State.NO_PRIME:
        parts.append(("left", needs + spare))
    elif needs is not None:
        parts += [("spare", max(0.0, spare)), ("needs", needs + min(0.0, spare))]  # drawn only as far as there is any
    if result.state is State.NO_PRIME and result.priming_lift_m is not None:
        parts = [piece for part in parts for piece in _undrawn_parts(part, result.priming_lift_m)]
    return hang(parts, result.air_head_m)


def _undrawn_parts(part: tuple[str, float], reach: float) -> list[tuple[str, float]]:
    item, height = part
    if item != "lift" or height <= reach:
        return [part]
    return [(item, reach), ("short", height - reach)]


def _in_units(slabs: tuple[Slab, ...], units: Units) -> tuple[Slab, ...]:
    head = units.head.from_si
    return tuple(Slab(slab.item, head(slab.bottom), head(slab.top), slab.helps) for slab in slabs)
