"""The curves against flow, as columns for a picture."""

from __future__ import annotations

import math
from dataclasses import dataclass, fields
from typing import Any

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.pump import pump_head, tested_flows
from curvelab.hydraulics.solution import Solution
from curvelab.hydraulics.suction import HIGH_GUESS, LOW_GUESS
from curvelab.model.pump import Pump
from curvelab.studies.pump_lines import PumpLine

Floats = NDArray[np.float64]

FORMAT = "curvelab-curves/1"


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Curves:
    """Columns of shape (count,), SI, against evenly spaced flows. NaN is null.

    The bands add up to ``system_head_m``: what the point that governs at that flow asks, from the water to that point.
    """

    flow_m3_s: Floats
    system_head_m: Floats
    band_lift_m: Floats
    band_rise_m: Floats
    band_suction_m: Floats
    band_discharge_m: Floats
    band_leaving_m: Floats
    band_pressure_m: Floats
    """Pressure that the outlet asks; negative where a siphon in rigid hose helps. [m]"""
    band_boosters_m: Floats
    """What pumps in the line give, at or below 0: they help. [m]"""
    pump_head_m: Floats
    """Null outside the tested flows. [m]"""
    pump_low_m: Floats
    """Lower edge of the band of a pump's curve that is an estimate; null where it is none. [m] Estimate."""
    pump_high_m: Floats
    npsha_m: Floats
    npshr_m: Floats
    """Null past the last tested flow, or everywhere where the sheet has none. [m]"""
    npshr_low_m: Floats
    """Lower edge of the band of guesses, only where the sheet has no NPSHR. [m] Estimate."""
    npshr_high_m: Floats
    pumps: tuple[PumpLine, ...] = ()
    """Each of several pumps by itself, against its own flow; empty for a pump alone."""

    def to_dict(self) -> dict[str, Any]:
        """Plain lists for JSON, null for NaN, ``format`` first."""
        names = [f.name for f in fields(self) if f.name != "pumps"]
        columns = {name: [None if math.isnan(v) else v for v in getattr(self, name).tolist()] for name in names}
        return {"format": FORMAT, **columns, "pumps": [line.to_dict() for line in self.pumps]}


def head_band(plan: Plan, pump: Pump, flow_m3_s: Floats) -> tuple[Floats, Floats] | None:
    """Edges between which the head of an estimated curve may lie in row 0; ``None`` where no band is stated. [m]"""
    points, pumps = pump.head, plan.pumps
    if not points.low:
        return None
    ratio, wear = float(pumps.speed_ratio[0, 0]), float(pumps.wear[0, 0])
    tested = flow_m3_s / (ratio * float(pumps.abreast[0, 0]))
    low, high = (np.interp(tested, points.flow_m3_s, edge) for edge in (points.low_m, points.high_m))
    return wear * ratio**2 * low, wear * ratio**2 * high


def curves_of(
    plan: Plan, solution: Solution, *, count: int = 200, to_flow_m3_s: float | None = None, pump: Pump | None = None
) -> Curves:
    """Curves of row 0 at ``count`` flows from 0 to ``to_flow_m3_s`` (the end of the tested curve where left out).

    ``pump`` is the record of the one pump at the water, whose band is wanted.
    """
    end = float(solution.end_flow_m3_s[0])
    flow = np.linspace(0.0, to_flow_m3_s or end, count)[None, :]
    parts = solution.line.losses(flow)
    rows = np.zeros(1, dtype=np.int64)
    needs = solution.needs
    first, _ = tested_flows(plan)
    tested = (flow >= first[:, None]) & (flow <= end * (1.0 + 1e-9))
    nothing = np.full(count, np.nan)
    known = bool(needs.known[0])
    band = head_band(plan, pump, flow[0]) if pump is not None else None
    low, high = (np.where(tested[0], edge, np.nan) for edge in band) if band is not None else (nothing, nothing)
    push = solution.air_head_m - solution.vapour_head_m - plan.lift_m
    return Curves(
        flow_m3_s=flow[0],
        system_head_m=parts.head_m[0],
        band_lift_m=np.full(count, plan.lift_m[0]),
        band_rise_m=solution.route.height_m[rows[:, None], parts.point][0],
        band_suction_m=parts.suction_m[0],
        band_discharge_m=parts.discharge_m[0],
        band_leaving_m=parts.leaving_m[0],
        band_pressure_m=parts.pressure_m[0],
        band_boosters_m=0.0 - parts.boosted_m[0],
        pump_head_m=np.where(tested, pump_head(plan, flow), np.nan)[0],
        pump_low_m=low,
        pump_high_m=high,
        npsha_m=push[0] - parts.suction_m[0],
        npshr_m=np.where(flow <= needs.end[:, None] * (1.0 + 1e-9), needs.npshr(flow), np.nan)[0] if known else nothing,
        npshr_low_m=nothing if known else needs.guess(flow, LOW_GUESS)[0],
        npshr_high_m=nothing if known else needs.guess(flow, HIGH_GUESS)[0],
    )
