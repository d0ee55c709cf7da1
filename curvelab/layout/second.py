"""The picture "more than one pump": one alone, two side by side and two in line, against what this site asks."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

import numpy as np

from curvelab.layout.axes import half_stepped, nice_step
from curvelab.layout.lines import FLOWING
from curvelab.layout.plain import ACROSS_TICK_PX, PLAIN, TICK_PX, Bar, Curve, PlainScene, Spot
from curvelab.layout.sizes import Width
from curvelab.layout.words import Forms
from curvelab.studies.result import State
from curvelab.studies.second import Kind, Second, Way
from curvelab.units import Quantity, display_unit

_STYLE: Final[Mapping[Kind, tuple[str, float, str]]] = {
    Kind.ALONE: ("pump", 3.0, "solid"),
    Kind.BESIDE: ("pump", 2.0, "dashed"),
    Kind.LINE: ("pump", 2.0, "dotted"),
    Kind.NOW: ("pump", 3.0, "solid"),
}
"""Tone, width and dash of a way's curve; two on one suction hose have the curve of two side by side."""
_APART: Final = 0.02
"""Share of the head axis by which another site's line must differ to be drawn. [-]"""
_ROOM: Final = 1.06
"""Head axis over the greatest head drawn. [-]"""
_PAST: Final = 1.4
"""Flow axis over the greatest flow delivered. [-]"""
_LOST: Final = 0.02
"""Share of the head axis that pumps must give in vain to be drawn. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondWords:
    """Words of the picture, in the units of the page."""

    title: Forms
    label: str
    site: Forms
    names: Mapping[Kind, Forms]
    """Of the curves."""
    spots: Mapping[Kind, Forms]
    """At the points."""


def second_scene(found: Second, words: SecondWords, width: Width) -> PlainScene:
    """The picture of a study for a layout of the page."""
    system, size = found.setup.units, PLAIN[width]
    most = max(way.result.flow_m3_s or 0.0 for way in found.ways)
    flow, head = display_unit(Quantity.FLOW, system, most), display_unit(Quantity.HEAD, system)
    drawn = [way for way in found.ways if way.kind in _STYLE and not _same(way, found)]
    end = flow.from_si(_end(found, most))
    top = head.from_si(max(float(np.nanmax(way.head_m)) for way in drawn)) * _ROOM
    curves = [Curve(flow.from_si(found.flow_m3_s), head.from_si(found.site_m), "site", 3.0, name=words.site)]
    spots: list[Spot] = []
    bars: list[Bar] = []
    for way in drawn:
        tone, px, dash = _STYLE[way.kind]
        name = words.names.get(way.kind, ())
        curves.append(Curve(flow.from_si(way.flow_m3_s), head.from_si(way.head_m), tone, px, dash, name))
    for way in found.ways:
        if way.kind is Kind.SHARED and not way.now:
            continue
        at = _at(way, head.to_si(top) * _LOST)
        if at is None:
            continue
        x, low, high = flow.from_si(at[0]), head.from_si(at[1]), head.from_si(at[2])
        if abs(at[1] - float(np.interp(at[0], found.flow_m3_s, found.site_m))) > _APART * head.to_si(top):
            own = way.flow_m3_s <= at[0] * 1.15
            curves.append(Curve(flow.from_si(way.flow_m3_s[own]), head.from_si(way.site_m[own]), "site", 1.2))
        spots.append(Spot(x, low, way.now, words.spots.get(way.kind, ())))
        if high > low:
            bars.append(Bar(x, low, high, "suction" if way.result.state is State.CAVITATING else "pump"))
    return PlainScene(
        across=half_stepped(end, nice_step(end * ACROSS_TICK_PX[width] / size.width)),
        up=half_stepped(top, nice_step(top * TICK_PX / size.height)),
        units=(flow.symbol, head.symbol),
        curves=tuple(curves),
        spots=tuple(spots),
        bars=tuple(bars),
        label=words.label,
    )


def _end(found: Second, most_m3_s: float) -> float:
    """Flow at which the picture ends: past every point, and past the end of one pump's curve. [m³/s]"""
    whole = float(found.flow_m3_s[-1])
    return min(whole, max(float(found.ways[0].flow_m3_s[-1]), _PAST * most_m3_s))


def _same(way: Way, found: Second) -> bool:
    """Whether another way that is drawn has this one's curve."""
    beside = found.way(Kind.BESIDE)
    shared = found.way(Kind.SHARED)
    return way.kind is Kind.NOW and any(
        other is not None and np.array_equal(other.head_m, way.head_m, equal_nan=True) for other in (beside, shared)
    )


def _at(way: Way, least_m: float) -> tuple[float, float, float] | None:
    """Delivered flow, what the site asks there, and what the pumps give there in vain; ``None`` where nothing flows."""
    flow = way.result.flow_m3_s
    if not flow or way.result.state not in FLOWING or way.total_head_m is None:
        return None
    known = np.isfinite(way.head_m)
    asked = float(np.interp(flow, way.flow_m3_s, way.site_m))
    given = float(np.interp(flow, way.flow_m3_s[known], way.head_m[known]))
    if way.result.state is State.OFF_CURVE:
        return flow, given, given
    return flow, asked, given if given > asked + least_m else asked
