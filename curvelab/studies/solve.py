"""The first question: what will this setup do?"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import kernel
from curvelab.hydraulics.line import PointKind
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.solution import Solution
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of, pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import PumpChoice, Setup
from curvelab.studies.columns import STATES, Columns
from curvelab.studies.curves import Curves, curves_of
from curvelab.studies.pump_lines import PumpLine, pump_lines
from curvelab.studies.result import Band, Crossing, GoverningPoint, Part, Result, State
from curvelab.studies.run import Run, over_rated_of, run_of
from curvelab.studies.several import boosters_of, shares_of
from curvelab.studies.warn import warnings_of

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Solved:
    """One setup solved, with what else can be read off the same solution. The page keeps one of these."""

    setup: Setup
    catalogue: Catalogue
    plan: Plan
    solution: Solution

    @cached_property
    def result(self) -> Result:
        """The numbers."""
        return _result(self.setup, self.catalogue, self.plan, self.solution)

    def curves(self, count: int = 200, *, to_flow_m3_s: float | None = None) -> Curves:
        """Columns for the curves against flow."""
        choice = self.setup.pump
        pump = None if choice.beside else pump_of(choice, self.catalogue)
        found = curves_of(self.plan, self.solution, count=count, to_flow_m3_s=to_flow_m3_s, pump=pump)
        return replace(found, pumps=self._lines) if self._lines else found

    @cached_property
    def _lines(self) -> tuple[PumpLine, ...]:
        """Each of several pumps by itself."""
        if not (self.result.pumps or self.result.boosters):
            return ()
        return pump_lines(self.setup, lambda choice: pump_of(choice, self.catalogue), self.result)

    @cached_property
    def run(self) -> Run:
        """The route with its pressures."""
        return run_of(self.setup, self.plan, self.solution)


def solved(setup: Setup, catalogue: Catalogue | None = None) -> Solved:
    """Solve one setup and keep the solution at hand for curves and run."""
    known = catalogue or default_catalogue()
    plan = plan_of([setup], known)
    return Solved(setup, known, plan, kernel.solve(plan))


def solve(setup: Setup, catalogue: Catalogue | None = None) -> Result:
    """Operating point, state, limits, gauges and ledgers of one setup.

    Parameters
    ----------
    setup : Setup
        What is to be solved.
    catalogue : Catalogue, optional
        Where pumps, hoses, fittings and liquids are looked up; the demo's where left out.

    Returns
    -------
    Result
        Frozen; ``to_dict()`` is what ``curvelab solve --json`` prints.

    Raises
    ------
    InputError
        If the setup names what the catalogue lacks, or its hose cannot lie as described.
    """
    return solved(setup, catalogue).result


def solve_many(setups: Sequence[Setup], catalogue: Catalogue | None = None) -> Columns:
    """Columns of every number a solve returns, one row a setup, in one call of the kernel."""
    return Columns.of(kernel.solve(plan_of(setups, catalogue or default_catalogue())))


def curves(
    setup: Setup, count: int = 200, *, to_flow_m3_s: float | None = None, catalogue: Catalogue | None = None
) -> Curves:
    """Pump curve, system curve, its bands, NPSHA and NPSHR against flow: ``count`` evenly spaced flows from 0."""
    return solved(setup, catalogue).curves(count, to_flow_m3_s=to_flow_m3_s)


def run(setup: Setup, catalogue: Catalogue | None = None) -> Run:
    """Height, running pressure, dead-head bound and rating along the route."""
    return solved(setup, catalogue).run


def null(value: float) -> float | None:
    """NaN as None, and never a negative zero."""
    return None if math.isnan(value) else float(value) + 0.0


def _result(setup: Setup, catalogue: Catalogue, plan: Plan, s: Solution) -> Result:
    state = STATES[s.outcome[0]]

    def one(name: str) -> float | None:
        return null(getattr(s, name)[0])

    def known(name: str) -> float:
        return float(getattr(s, name)[0]) + 0.0

    def look_up(choice: PumpChoice) -> Pump:
        return pump_of(choice, catalogue)

    shares, boosters = shares_of(setup, look_up, s), boosters_of(setup, look_up, plan, s)
    has_npshr = bool(s.needs.known[0])
    unknown = one("npsha_m") is None
    return Result(
        state=state,
        flow_m3_s=one("flow_m3_s"),
        head_m=one("head_m"),
        crossing_flow_m3_s=one("crossing_flow_m3_s"),
        crossing_head_m=one("crossing_head_m"),
        static_head_m=known("static_head_m"),
        shutoff_head_m=one("shutoff_head_m"),
        start_head_m=known("start_head_m"),
        npsha_m=one("npsha_m"),
        npshr_m=one("npshr_m"),
        npshr_estimate_m=None if has_npshr or unknown else Band(low=one("npshr_low_m"), high=one("npshr_high_m")),
        cavitation_flow_m3_s=one("cavitation_flow_m3_s"),
        cavitation_flow_estimate_m3_s=(
            None if has_npshr else Band(low=one("cavitation_low_m3_s"), high=one("cavitation_high_m3_s"))
        ),
        margin_flow_m3_s=one("margin_flow_m3_s"),
        margin_m=known("margin_m"),
        air_head_m=known("air_head_m"),
        vapour_head_m=known("vapour_head_m"),
        inlet_gauge_pa=one("inlet_gauge_pa"),
        pump_outlet_gauge_pa=one("pump_outlet_gauge_pa"),
        dead_head_gauge_pa=one("dead_head_gauge_pa"),
        shut_end_gauge_pa=one("shut_end_gauge_pa"),
        shaft_power_w=one("shaft_power_w"),
        efficiency=one("efficiency"),
        engine_share=one("engine_share"),
        engine_available_w=one("engine_available_w"),
        priming_lift_m=one("priming_lift_m"),
        prime_time_s=one("prime_time_s"),
        end_flow_m3_s=known("end_flow_m3_s"),
        other_crossings=tuple(
            Crossing(flow_m3_s=float(q), head_m=float(h))
            for q, h in zip(s.other_flow_m3_s, s.other_head_m, strict=True)
        ),
        governing_point=_governing(s),
        ledger=_ledger(s, state),
        suction_budget=_budget(s),
        velocities_m_s=_velocities(s),
        hose_volume_m3=known("hose_volume_m3"),
        over_rated=over_rated_of(plan, s),
        pumps=shares,
        boosters=boosters,
        warnings=warnings_of(setup, catalogue, plan, s, shares=shares, boosters=boosters),
        inputs=setup.to_si(),
    )


def _velocities(s: Solution) -> tuple[float, ...]:
    legs = (*s.suction_velocity_m_s[0].tolist(), *s.discharge_velocity_m_s[0].tolist())
    return tuple(v for v in legs if not math.isnan(v))


def _governing(s: Solution) -> GoverningPoint:
    at = s.point[0]
    kind = PointKind(s.route.kind[0, at]).name.lower()
    return GoverningPoint(
        kind=kind, distance_m=float(s.route.distance_m[0, at]), height_m=float(s.route.height_m[0, at]) + 0.0
    )


def _ledger(s: Solution, state: State) -> tuple[Part, ...]:
    parts = [
        Part(item=item, head_m=float(getattr(s, f"{item}_part_m")[0]) + 0.0)
        for item in ("lift", "rise", "suction", "discharge", "leaving")
    ]
    if s.boosted_part_m[0] > 0.0:
        parts.append(Part(item="boosters", head_m=-float(s.boosted_part_m[0])))
    if s.pressure_part_m[0] != 0.0:
        parts.append(Part(item="pressure", head_m=float(s.pressure_part_m[0])))
    if state is State.OFF_CURVE and s.surplus_part_m[0] > 0.0:
        parts.append(Part(item="surplus", head_m=float(s.surplus_part_m[0])))
    return tuple(parts)


def _budget(s: Solution) -> tuple[Part, ...]:
    left = s.air_head_m[0] - s.vapour_head_m[0] - s.lift_part_m[0] - s.suction_part_m[0]
    parts = {"vapour": s.vapour_head_m[0], "lift": s.lift_part_m[0], "suction": s.suction_part_m[0]}
    needs = s.npshr_m[0]
    parts |= {"left": left} if math.isnan(needs) else {"needs": needs, "spare": left - needs}
    return tuple(Part(item=item, head_m=float(head) + 0.0) for item, head in parts.items())
