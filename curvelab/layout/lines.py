"""The lines of the bench: a setup's curves, cut to what is shown of them, in display units."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.axes import Axes
from curvelab.studies.curves import Curves
from curvelab.studies.result import Result, State
from curvelab.units import DisplayUnit

Floats = NDArray[np.float64]
Point = tuple[float, float]

POINTS = 40
"""Points of every line of the bench: at 16 px apart a chord misses the curve by less than a tenth of a pixel."""


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
    pump_low: Floats
    """Edges of the band of an estimated pump curve, over ``past_flow``; null where it is none."""
    pump_high: Floats
    strip_flow: Floats
    left: Floats
    """What is left of the push, not below zero."""
    npsha_flow: Floats
    npsha: Floats
    """The same, as far as there is any."""
    npshr_flow: Floats
    npshr: Floats
    """What the pump needs; where nobody states it a guess, from ``npshr_low`` to ``npshr_high``."""
    npshr_low: Floats
    npshr_high: Floats


def starved(result: Result) -> float | None:
    """The flow to which a starved pump's curve is cut; None where nothing flows at all. [m³/s]"""
    return result.flow_m3_s if result.state is State.CAVITATING and result.flow_m3_s else None


def pump_head_at(curves: Curves, flow_m3_s: float) -> float:
    """Head of the pump's curve at a tested flow. [m]"""
    return float(_up_to(np.array([flow_m3_s]), curves.flow_m3_s, curves.pump_head_m)[0])


def known_of(flow: Floats, values: Floats) -> tuple[Floats, Floats]:
    """The rows in which a value exists; one row of nothing where there are none."""
    known = np.isfinite(values)
    return (flow[known], values[known]) if known.any() else (np.zeros(1), np.full(1, np.nan))


def _up_to(x: Floats, flow: Floats, values: Floats) -> Floats:
    """Values at x; past the last row that has one, which is less than a step away, straight on."""
    at, known = known_of(flow, values)
    found = np.interp(x, at, known)
    if at.size > 1:
        slope = (known[-1] - known[-2]) / (at[-1] - at[-2])
        found = np.where(x > at[-1], known[-1] + slope * (x - at[-1]), found)
    return found


def lines_of(result: Result, curves: Curves, units: Units, shown: Axes, limit: float | None) -> Lines:
    """Cut a setup's curves to what the axes show; ``limit`` is where the suction gives out [m³/s], if anywhere."""
    flow, head = units.flow.from_si, units.head.from_si
    grid, end = curves.flow_m3_s, float(curves.flow_m3_s[-1])
    leaves = float(np.interp(units.head.to_si(shown.head.end) * 1.02, curves.system_head_m, grid))
    live_end = {State.NO_LIFT: leaves, State.NO_PRIME: result.crossing_flow_m3_s}.get(result.state, result.flow_m3_s)
    live_end = min(end, end if live_end is None else live_end)
    tested = min(end, result.end_flow_m3_s)
    stops = (limit, starved(result))
    sound = min(tested, *(stop for stop in stops if stop is not None), tested)
    first = min(float(known_of(grid, curves.pump_head_m)[0][0]), sound)
    live, beyond = np.linspace(0.0, live_end, POINTS), np.linspace(live_end, max(live_end, min(end, leaves)), POINTS)
    pump, past = np.linspace(first, sound, POINTS), np.linspace(first, tested, POINTS)
    whole = np.linspace(0.0, max(end, units.flow.to_si(shown.flow.end)), POINTS)  # tints run to the edge of the frame
    some: Floats = np.linspace(0.0, _runs_out(grid, curves.npsha_m), POINTS)
    guessed = result.npshr_estimate_m is not None
    tried = known_of(grid, curves.npshr_low_m if guessed else curves.npshr_m)[0]
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
        pump_low=head(_up_to(past, grid, curves.pump_low_m)),
        pump_high=head(_up_to(past, grid, curves.pump_high_m)),
        strip_flow=flow(whole),
        left=head(np.maximum(np.interp(whole, grid, curves.npsha_m), 0.0)),
        npsha_flow=flow(some),
        npsha=head(np.interp(some, grid, curves.npsha_m)),
        npshr_flow=flow(needs),
        npshr=head(_up_to(needs, grid, curves.npshr_m)),
        npshr_low=head(_up_to(needs, grid, curves.npshr_low_m)),
        npshr_high=head(_up_to(needs, grid, curves.npshr_high_m)),
    )


def lowest_foot(curves: Curves, to_flow_m3_s: float) -> float:
    """The lowest foot of the bands up to a flow: what helps may do so most at a smaller one. [m]"""
    return float(_tops(np.linspace(0.0, to_flow_m3_s, POINTS), curves)["foot"].min())


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
