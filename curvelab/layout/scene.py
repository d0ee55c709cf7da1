"""The bench before it is drawn: curves cut to what is shown, points, limits, columns. Display units throughout."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.axes import Axes, Wanted, axes
from curvelab.layout.ledger import Slab, cut, hang, stack
from curvelab.layout.sizes import BenchSize, Width
from curvelab.studies.curves import Curves
from curvelab.studies.result import Part, Result, State
from curvelab.units import DisplayUnit, Quantity, System, display_unit

POINTS = 40
"""Points of every line of the bench: at 16 px apart a chord misses the curve by less than a tenth of a pixel."""

Floats = NDArray[np.float64]
Point = tuple[float, float]
At = tuple[float, float, float]

FLOWING = (State.SOUND, State.THIN, State.CAVITATING, State.OFF_CURVE)
"""States in which water comes out."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Units:
    """Units of the bench's axes."""

    flow: DisplayUnit
    head: DisplayUnit


@dataclass(frozen=True, slots=True, kw_only=True)
class Lines:
    """Lines of the bench, each of ``POINTS`` points; the bands lie one on the other from ``foot`` up."""

    live_flow: Floats
    foot: Floats
    top_lift: Floats
    top_rise: Floats
    top_suction: Floats
    top_discharge: Floats
    top_leaving: Floats
    live_head: Floats
    beyond_flow: Floats
    beyond_head: Floats
    pump_flow: Floats
    pump_head: Floats
    past_flow: Floats
    """All of the tested curve."""
    past_head: Floats
    strip_flow: Floats
    left: Floats
    """What is left of the push, not below zero."""
    npsha_flow: Floats
    npsha: Floats
    """The same, as far as there is any."""
    npshr_flow: Floats
    npshr: Floats
    npshr_low: Floats
    npshr_high: Floats


@dataclass(frozen=True, slots=True, kw_only=True)
class Scene:
    """All that the bench shows of one setup."""

    state: State
    units: Units
    axes: Axes
    lines: Lines
    bands: bool
    estimate: bool
    """Whether NPSHR is a band."""
    point: Point | None
    crossing: Point | None
    """Where the curves meet, when the water never gets there."""
    once: bool
    """Whether that is what a primed pump would do."""
    limit: float | None
    margin: tuple[float, float] | None
    doubt: tuple[float, float] | None
    broken: At | None
    """Flow, operating head, head of the pump's curve there."""
    short: At | None
    """Flow at which the double arrow stands, its lower and its upper head."""
    leaders: tuple[Point, ...]
    """From these points a dotted line runs to the ledger."""
    air: float
    rest: float
    """What is left of the air's push with no flow."""
    spare: At | None
    """Flow, NPSHR and NPSHA there."""
    undrawn: tuple[float, float] | None
    """Heads between what the dry pump can draw and the water."""
    ledger: tuple[Slab, ...]
    budget: tuple[Slab, ...]

    @property
    def flow(self) -> float | None:
        """Flow that stands on the axis."""
        if self.point is not None and self.state in FLOWING:
            return self.point[0]
        return self.crossing[0] if self.crossing is not None and self.once else None


def scene(
    result: Result,
    curves: Curves,
    *,
    system: System,
    width: Width,
    size: BenchSize,
    plot_px: float,
    held: Scene | None = None,
) -> Scene:
    """Work out what the bench shows.

    Parameters
    ----------
    curves : Curves
        As from ``studies.curves``; flow rises from 0.
    plot_px : float
        Width of the chart as the browser has it. [px]
    held : Scene, optional
        What is shown now, while a slider is dragged: its axes then only grow (see ``axes.axes``).
    """
    units = _units(result, system)
    flow, head = units.flow.from_si, units.head.from_si
    limit = _limit(result)
    wanted = _wanted(result, curves, units)
    shown = axes(
        wanted,
        system=system,
        width=width,
        plot_px=(plot_px, size.chart),
        flow_tick_px=size.flow_tick,
        held=held.axes if held is not None and held.units == units else None,
    )
    delivered = result.flow_m3_s if result.state in FLOWING else None
    point, crossing = _points(result)
    ledger = _ledger(result, curves)
    return Scene(
        state=result.state,
        units=units,
        axes=shown,
        lines=_lines(result, curves, units, shown, limit),
        bands=delivered is not None,
        estimate=result.npshr_estimate_m is not None,
        point=_shown(point, units),
        crossing=_shown(crossing, units),
        once=result.state is State.NO_PRIME,
        limit=None if limit is None else flow(limit),
        margin=_margin(result, limit, units, shown),
        doubt=_doubt(result, units, shown),
        broken=_broken(result, curves, units),
        short=_short(result, units, shown),
        leaders=_leaders(result, curves, point, units),
        air=head(result.air_head_m),
        rest=head(float(curves.npsha_m[0])),
        spare=_spare(result, units),
        undrawn=_undrawn(result, units),
        ledger=_in_units(ledger, units),
        budget=_in_units(_budget(result), units),
    )


def _units(result: Result, system: System) -> Units:
    shown = result.flow_m3_s or result.crossing_flow_m3_s
    return Units(flow=display_unit(Quantity.FLOW, system, shown), head=display_unit(Quantity.HEAD, system))


def _limit(result: Result) -> float | None:
    return result.cavitation_flow_m3_s if result.state in FLOWING else None


def _points(result: Result) -> tuple[Point | None, Point | None]:
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


def _shown(point: Point | None, units: Units) -> Point | None:
    return None if point is None else (units.flow.from_si(point[0]), units.head.from_si(point[1]))


def _wanted(result: Result, curves: Curves, units: Units) -> Wanted:
    heads = [
        float(np.nanmax(curves.pump_head_m)),
        result.static_head_m,
        result.start_head_m,
        result.shutoff_head_m or 0.0,
    ]
    point, crossing = _points(result)
    heads += [place[1] for place in (point, crossing) if place is not None]
    flows = [result.crossing_flow_m3_s or 0.0, result.flow_m3_s or 0.0]
    foot = min(0.0, *np.cumsum([min(0.0, part.head_m) for part in result.ledger]), 0.0)
    limit = _limit(result)
    return Wanted(
        head=units.head.from_si(max(heads)),
        lowest=units.head.from_si(float(foot)),
        flow=units.flow.from_si(result.end_flow_m3_s),
        limit=None if limit is None else units.flow.from_si(limit),
        crossing=units.flow.from_si(max(flows)),
        suction=units.head.from_si(max(result.air_head_m, float(curves.npsha_m[0]))),
    )


def _known(flow: Floats, values: Floats) -> tuple[Floats, Floats]:
    """The rows in which a value exists; one row of nothing where there are none."""
    known = np.isfinite(values)
    return (flow[known], values[known]) if known.any() else (np.zeros(1), np.full(1, np.nan))


def _up_to(x: Floats, flow: Floats, values: Floats) -> Floats:
    """Values at x; past the last row that has one, which is less than a step away, straight on."""
    at, known = _known(flow, values)
    found = np.interp(x, at, known)
    if at.size > 1:
        slope = (known[-1] - known[-2]) / (at[-1] - at[-2])
        found = np.where(x > at[-1], known[-1] + slope * (x - at[-1]), found)
    return found


def _lines(result: Result, curves: Curves, units: Units, shown: Axes, limit: float | None) -> Lines:
    flow, head = units.flow.from_si, units.head.from_si
    grid, end = curves.flow_m3_s, float(curves.flow_m3_s[-1])
    leaves = float(np.interp(units.head.to_si(shown.head.end) * 1.02, curves.system_head_m, grid))
    live_end = {State.NO_LIFT: leaves, State.NO_PRIME: result.crossing_flow_m3_s}.get(result.state, result.flow_m3_s)
    live_end = min(end, end if live_end is None else live_end)
    tested = min(end, result.end_flow_m3_s)
    stops = (limit, result.flow_m3_s if result.state is State.CAVITATING else None)
    sound = min(tested, *(stop for stop in stops if stop is not None), tested)
    first = min(float(_known(grid, curves.pump_head_m)[0][0]), sound)
    live, beyond = np.linspace(0.0, live_end, POINTS), np.linspace(live_end, max(live_end, min(end, leaves)), POINTS)
    pump, past = np.linspace(first, sound, POINTS), np.linspace(first, tested, POINTS)
    whole = np.linspace(0.0, end, POINTS)
    some: Floats = np.linspace(0.0, _runs_out(grid, curves.npsha_m), POINTS)
    tried = _known(grid, curves.npshr_m)[0]
    needs = np.linspace(float(tried[0]), float(tried[-1]), POINTS)
    return Lines(
        live_flow=flow(live),
        **{name: head(top) for name, top in _tops(live, curves).items()},
        live_head=head(np.interp(live, grid, curves.system_head_m)),
        beyond_flow=flow(beyond),
        beyond_head=head(np.interp(beyond, grid, curves.system_head_m)),
        pump_flow=flow(pump),
        pump_head=head(_up_to(pump, grid, curves.pump_head_m)),
        past_flow=flow(past),
        past_head=head(_up_to(past, grid, curves.pump_head_m)),
        strip_flow=flow(whole),
        left=head(np.maximum(np.interp(whole, grid, curves.npsha_m), 0.0)),
        npsha_flow=flow(some),
        npsha=head(np.interp(some, grid, curves.npsha_m)),
        npshr_flow=flow(needs),
        npshr=head(_up_to(needs, grid, curves.npshr_m)),
        npshr_low=head(_up_to(whole, grid, curves.npshr_low_m)),
        npshr_high=head(_up_to(whole, grid, curves.npshr_high_m)),
    )


def _tops(flow: Floats, curves: Curves) -> dict[str, Floats]:
    """Foot of the bands and the top of each; bands below zero lower the foot and have no height."""
    bands = (
        curves.band_lift_m,
        curves.band_rise_m,
        curves.band_suction_m,
        curves.band_discharge_m,
        curves.band_leaving_m,
    )
    heights = np.stack([np.interp(flow, curves.flow_m3_s, band) for band in (*bands, curves.band_pressure_m)])
    foot = np.minimum(heights, 0.0).sum(axis=0)
    tops = foot + np.cumsum(np.maximum(heights[:-1], 0.0), axis=0)
    names = ("top_lift", "top_rise", "top_suction", "top_discharge", "top_leaving")
    return {"foot": foot, **dict(zip(names, tops, strict=True))}


def _runs_out(flow: Floats, npsha: Floats) -> float:
    """Flow at which nothing of the push is left; the end where some always is."""
    return float(np.interp(0.0, -npsha, flow)) if npsha[-1] < 0.0 < npsha[0] else float(flow[-1])


def _margin(result: Result, limit: float | None, units: Units, shown: Axes) -> tuple[float, float] | None:
    start = result.margin_flow_m3_s
    if start is None or result.state not in FLOWING:
        return None
    end = shown.flow.end if limit is None else units.flow.from_si(limit)
    low = units.flow.from_si(start)
    return (low, end) if low < end else None


def _doubt(result: Result, units: Units, shown: Axes) -> tuple[float, float] | None:
    band = result.cavitation_flow_estimate_m3_s
    if band is None or band.low is None or result.state not in FLOWING:
        return None
    return units.flow.from_si(band.low), (shown.flow.end if band.high is None else units.flow.from_si(band.high))


def _pump_head(curves: Curves, flow_m3_s: float) -> float:
    return float(_up_to(np.array([flow_m3_s]), curves.flow_m3_s, curves.pump_head_m)[0])


def _broken(result: Result, curves: Curves, units: Units) -> At | None:
    if result.state is not State.CAVITATING or result.flow_m3_s is None or result.head_m is None:
        return None
    over = _pump_head(curves, result.flow_m3_s)
    if not over > result.head_m:
        return None
    return units.flow.from_si(result.flow_m3_s), units.head.from_si(result.head_m), units.head.from_si(over)


def _short(result: Result, units: Units, shown: Axes) -> At | None:
    if result.state is not State.NO_LIFT or result.shutoff_head_m is None:
        return None
    asked = max(result.static_head_m, result.start_head_m)
    return 0.02 * shown.flow.end, units.head.from_si(result.shutoff_head_m), units.head.from_si(asked)


def _leaders(result: Result, curves: Curves, point: Point | None, units: Units) -> tuple[Point, ...]:
    places = [] if point is None else [point]
    if result.state is State.CAVITATING and result.flow_m3_s is not None:
        places.append((result.flow_m3_s, _pump_head(curves, result.flow_m3_s)))
    return tuple((units.flow.from_si(q), units.head.from_si(h)) for q, h in places if h == h)  # noqa: PLR0124


def _spare(result: Result, units: Units) -> At | None:
    if result.state not in FLOWING or result.flow_m3_s is None:
        return None
    if result.npsha_m is None or result.npshr_m is None:
        return None
    head = units.head.from_si
    return units.flow.from_si(result.flow_m3_s), head(result.npshr_m), head(result.npsha_m)


def _undrawn(result: Result, units: Units) -> tuple[float, float] | None:
    if result.state is not State.NO_PRIME or result.priming_lift_m is None:
        return None
    lift = next((part.head_m for part in result.suction_budget if part.item == "lift"), 0.0)
    top = result.air_head_m - result.vapour_head_m
    if lift <= result.priming_lift_m:
        return None
    return units.head.from_si(top - lift), units.head.from_si(top - result.priming_lift_m)


def _pairs(parts: tuple[Part, ...]) -> list[tuple[str, float]]:
    return [(part.item, part.head_m) for part in parts]


def _ledger(result: Result, curves: Curves) -> tuple[Slab, ...]:
    slabs = stack(_pairs(result.ledger))
    top = max((slab.top for slab in slabs), default=0.0)
    if result.state is State.NO_LIFT and result.shutoff_head_m is not None:
        if result.start_head_m > top:
            slabs = (*slabs, Slab("rise", top, result.start_head_m))
        return cut(slabs, result.shutoff_head_m, "short")
    if result.state is State.CAVITATING and result.flow_m3_s is not None:
        over = _pump_head(curves, result.flow_m3_s)
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
