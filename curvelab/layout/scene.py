"""The bench before it is drawn: curves cut to what is shown, points, limits, columns. Display units throughout."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from curvelab.layout.axes import Axes, Wanted, axes
from curvelab.layout.ghosts import Chalked, Ghost, ghosts_of, held_too
from curvelab.layout.ledger import Slab
from curvelab.layout.lines import FLOWING, Lines, Point, Units, lines_of, lowest_foot, pump_head_at, starved
from curvelab.layout.pump_lines import Thin, thin_lines
from curvelab.layout.sizes import BenchSize, Width
from curvelab.layout.slabs import budget_slabs, in_units, ledger_slabs, points_of
from curvelab.studies.curves import Curves
from curvelab.studies.result import Result, State
from curvelab.units import Quantity, System, display_unit

At = tuple[float, float, float]


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
    thin: tuple[Thin, ...] = ()
    """Several pumps, each by itself."""
    ghosts: tuple[Ghost, ...] = ()
    """Chalked setups, in the order of their letters."""

    @property
    def gain(self) -> tuple[float, float] | None:
        """From the flow of the first chalked setup that gives any to that of the live one."""
        first = next((ghost.point[0] for ghost in self.ghosts if ghost.point is not None), None)
        if first is None or self.point is None or self.state not in FLOWING or first == self.point[0]:
            return None
        return first, self.point[0]

    @property
    def gives_out(self) -> float | None:
        """Flow at which the suction gives out, or may at the worst guess."""
        return self.limit if self.limit is not None or self.doubt is None else self.doubt[0]

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
    chalked: Sequence[Chalked] = (),
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
    chalked : sequence of Chalked
        Setups shown beside it.
    """
    units = _units(result, system)
    flow, head = units.flow.from_si, units.head.from_si
    limit = _limit(result)
    wanted = held_too(_wanted(result, curves, units), chalked, units)
    shown = axes(
        wanted,
        system=system,
        width=width,
        plot_px=(plot_px, size.chart),
        flow_tick_px=size.flow_tick,
        held=held.axes if held is not None and held.units == units else None,
    )
    delivered = result.flow_m3_s if result.state in FLOWING else None
    point, crossing = points_of(result)
    return Scene(
        state=result.state,
        units=units,
        axes=shown,
        lines=lines_of(result, curves, units, shown, limit),
        bands=delivered is not None,
        estimate=result.npshr_estimate_m is not None,
        point=in_units(point, units),
        crossing=in_units(crossing, units),
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
        ledger=ledger_slabs(result, curves, units),
        budget=budget_slabs(result, units),
        thin=thin_lines(curves, units, shown),
        ghosts=ghosts_of(chalked, curves, units, shown),
    )


def _units(result: Result, system: System) -> Units:
    shown = result.flow_m3_s or result.crossing_flow_m3_s
    return Units(flow=display_unit(Quantity.FLOW, system, shown), head=display_unit(Quantity.HEAD, system))


def _limit(result: Result) -> float | None:
    return result.cavitation_flow_m3_s if result.state in FLOWING else None


def _wanted(result: Result, curves: Curves, units: Units) -> Wanted:
    heads = [
        float(np.nanmax(np.fmax(curves.pump_head_m, curves.pump_high_m))),
        result.static_head_m,
        result.start_head_m,
        result.shutoff_head_m or 0.0,
    ]
    point, crossing = points_of(result)
    heads += [place[1] for place in (point, crossing) if place is not None]
    flows = [result.crossing_flow_m3_s or 0.0, result.flow_m3_s or 0.0]
    foot = min(0.0, *np.cumsum([min(0.0, part.head_m) for part in result.ledger]), 0.0)
    if result.state in FLOWING and result.flow_m3_s is not None:
        foot = min(foot, lowest_foot(curves, result.flow_m3_s))
    limit = _limit(result)
    return Wanted(
        head=units.head.from_si(max(heads)),
        lowest=units.head.from_si(float(foot)),
        flow=units.flow.from_si(result.end_flow_m3_s),
        limit=None if limit is None else units.flow.from_si(limit),
        crossing=units.flow.from_si(max(flows)),
        suction=units.head.from_si(max(result.air_head_m, float(curves.npsha_m[0]))),
    )


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


def _broken(result: Result, curves: Curves, units: Units) -> At | None:
    flow = starved(result)
    if flow is None or result.head_m is None:
        return None
    over = pump_head_at(curves, flow)
    if not over > result.head_m:
        return None
    return units.flow.from_si(flow), units.head.from_si(result.head_m), units.head.from_si(over)


def _short(result: Result, units: Units, shown: Axes) -> At | None:
    if result.state is not State.NO_LIFT or result.shutoff_head_m is None:
        return None
    asked = max(result.static_head_m, result.start_head_m)
    return 0.02 * shown.flow.end, units.head.from_si(result.shutoff_head_m), units.head.from_si(asked)


def _leaders(result: Result, curves: Curves, point: Point | None, units: Units) -> tuple[Point, ...]:
    places = [] if point is None else [point]
    flow = starved(result)
    if flow is not None:
        places.append((flow, pump_head_at(curves, flow)))
    return tuple((units.flow.from_si(q), units.head.from_si(h)) for q, h in places if math.isfinite(h))


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
