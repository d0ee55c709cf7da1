"""From the crossings found to the delivered flow, the state and all that belongs to it."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.constants import G
from curvelab.hydraulics.crossing import Crossings
from curvelab.hydraulics.line import Line, Route
from curvelab.hydraulics.plan import Legs, Plan
from curvelab.hydraulics.pump import engine_power, greatest_head, pump_head, shaft_power, tested_flows
from curvelab.hydraulics.shut import dead_head, leg_bounds, over_rated
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.hydraulics.suction import HIGH_GUESS, LOW_GUESS, Needs, air_head, priming_lift, priming_time

Floats = NDArray[np.float64]
Bools = NDArray[np.bool_]


class _Facts(NamedTuple):
    """What deciding the state needs, shapes (rows,)."""

    from_rest: Bools
    """The curve in use has a point at zero flow."""
    greatest_m: Floats
    """Greatest head of the curve in use. [m]"""
    start_m: Floats
    static_m: Floats
    reach_m: Floats
    end: Floats


def deliver(plan: Plan, *, route: Route, line: Line, needs: Needs, found: Crossings) -> Solution:
    """State and delivered flow of every row, and everything at that flow."""
    facts = _facts(plan, route, line)
    outcome, flow = _decide(plan, needs, found, facts)
    at = np.where(np.isnan(flow), 0.0, flow)
    parts = line.losses(at[:, None])
    asked, suction = parts.head_m[:, 0], parts.suction_m[:, 0]
    none = (outcome == Outcome.NO_LIFT) | (outcome == Outcome.NO_PRIME)
    unknown = np.isnan(flow)
    off = outcome == Outcome.OFF_CURVE
    given = pump_head(plan, at[:, None])[:, 0]
    head = np.where(none | unknown, np.nan, np.where(off, given, asked))
    met = np.nan_to_num(found.flow)[:, None]
    crossing_head = np.where(np.isnan(found.flow), np.nan, pump_head(plan, met)[:, 0])
    air, vapour = air_head(plan)
    npsha = air - vapour - plan.lift_m - suction
    npshr, past = _npshr(needs, at)
    shaft, efficiency = (np.where(np.isnan(head), np.nan, a) for a in shaft_power(plan, at))
    available = engine_power(plan)
    rows = np.arange(plan.rows)
    height = route.height_m[rows, parts.point[:, 0]]
    shutoff = np.where(facts.from_rest, facts.greatest_m, np.nan)
    bound = leg_bounds(plan)
    inlet, outlet = _gauges(plan, outcome, at, head, suction, facts, shutoff)
    known = needs.known
    return Solution(
        outcome=outcome,
        flow_m3_s=flow,
        head_m=head,
        crossing_flow_m3_s=found.flow,
        crossing_head_m=crossing_head,
        static_head_m=facts.static_m,
        shutoff_head_m=shutoff,
        start_head_m=facts.start_m,
        npsha_m=np.where(unknown, np.nan, npsha),
        npshr_m=np.where(unknown, np.nan, npshr),
        npshr_low_m=np.where(known | unknown, np.nan, needs.guess(at[:, None], LOW_GUESS)[:, 0]),
        npshr_high_m=np.where(known | unknown, np.nan, needs.guess(at[:, None], HIGH_GUESS)[:, 0]),
        cavitation_flow_m3_s=np.where(known, found.limit, np.nan),
        cavitation_low_m3_s=np.where(known, np.nan, found.limit),
        cavitation_high_m3_s=np.where(known, np.nan, found.second),
        margin_flow_m3_s=np.where(known, found.second, np.nan),
        margin_m=plan.margin_m,
        air_head_m=air,
        vapour_head_m=vapour,
        inlet_gauge_pa=np.where(unknown, np.nan, inlet),
        pump_outlet_gauge_pa=np.where(unknown, np.nan, outlet),
        dead_head_gauge_pa=np.where(facts.from_rest, dead_head(plan), np.nan),
        shut_end_gauge_pa=plan.density_kg_m3 * G * (shutoff - plan.lift_m),
        shaft_power_w=shaft,
        efficiency=efficiency,
        engine_share=shaft / available,
        engine_available_w=available,
        priming_lift_m=np.where(np.isfinite(facts.reach_m), facts.reach_m, np.nan),
        prime_time_s=_prime_time(plan, facts.reach_m),
        end_flow_m3_s=facts.end,
        other_row=found.other_row,
        other_flow_m3_s=found.other_flow,
        other_head_m=_heads(plan, found),
        line=line,
        needs=needs,
        route=route,
        point=parts.point[:, 0],
        lift_part_m=plan.lift_m,
        rise_part_m=height,
        suction_part_m=suction,
        discharge_part_m=parts.discharge_m[:, 0],
        leaving_part_m=parts.leaving_m[:, 0],
        pressure_part_m=parts.pressure_m[:, 0],
        boosted_part_m=parts.boosted_m[:, 0],
        surplus_part_m=np.where(off & ~unknown, given - asked, 0.0),
        suction_velocity_m_s=_velocity(plan.suction, at),
        discharge_velocity_m_s=_velocity(plan.discharge, at),
        hose_volume_m3=_volume(plan.suction) + _volume(plan.discharge),
        leg_bound_pa=bound,
        over_rated=over_rated(plan, bound),
        vacuum_over_rated=_vacuum_over(plan, facts.reach_m, inlet),
        npshr_past_curve=known & past & ~unknown,
    )


def _facts(plan: Plan, route: Route, line: Line) -> _Facts:
    rest = np.zeros((plan.rows, 1))
    needed = np.where(line.pressure > 0.0, line.pressure, 0.0)
    helped = line.boosters.greatest if line.boosters else 0.0
    highest = np.where(route.present, route.height_m + needed - helped, -np.inf).max(1)
    first, end = tested_flows(plan)
    return _Facts(
        from_rest=first <= 0.0,
        greatest_m=greatest_head(plan),
        start_m=plan.lift_m + highest,
        static_m=line.head(rest, rest)[:, 0],
        reach_m=priming_lift(plan),
        end=end,
    )


def _decide(plan: Plan, needs: Needs, found: Crossings, facts: _Facts) -> tuple[NDArray[np.int64], Floats]:
    """State of each row in order of precedence, and its delivered flow (NaN where nobody can tell)."""
    met = ~np.isnan(found.flow)
    limit = np.where(needs.known, found.limit, np.nan)
    runs_to = np.where(met, found.flow, facts.end)
    beyond = ~met & found.gives_more
    no_lift = facts.from_rest & ((facts.greatest_m <= facts.start_m) | ~(met | beyond))
    no_prime = (plan.lift_m > facts.reach_m) & ~plan.holds_prime
    starved = (limit < runs_to) & (met | beyond)
    thin = needs.known & met & (runs_to > np.where(np.isnan(found.second), np.inf, found.second))
    thin &= runs_to <= needs.end
    outcome = np.select(
        [no_lift, no_prime, starved, ~met, thin],
        [Outcome.NO_LIFT, Outcome.NO_PRIME, Outcome.CAVITATING, Outcome.OFF_CURVE, Outcome.THIN],
        Outcome.SOUND,
    ).astype(np.int64)
    flow = np.select(
        [outcome <= Outcome.NO_PRIME, outcome == Outcome.CAVITATING, met, beyond],
        [0.0, np.where(np.isnan(limit), 0.0, limit), found.flow, facts.end],
        np.nan,
    )
    return outcome, flow


def _npshr(needs: Needs, flow: Floats) -> tuple[Floats, Bools]:
    past = flow > needs.end * (1.0 + 1e-9)
    return np.where(needs.known & ~past, needs.npshr(flow[:, None])[:, 0], np.nan), past


def _gauges(
    plan: Plan, outcome: NDArray[np.int64], flow: Floats, head: Floats, suction: Floats, facts: _Facts, shutoff: Floats
) -> tuple[Floats, Floats]:
    """Gauge pressure in the pump's two ports. [Pa] Not primed: the greatest vacuum it draws, and nothing."""
    weight = plan.density_kg_m3 * G
    into = _port_velocity(flow, plan.pumps.inlet_bore_m[:, 0], plan.suction, -1)
    out = _port_velocity(flow, plan.pumps.outlet_bore_m[:, 0], plan.discharge, 0)
    inlet = -weight * (plan.lift_m + suction + into**2 / (2.0 * G))
    outlet = weight * (head - plan.lift_m - suction) - plan.density_kg_m3 * out**2 / 2.0
    dry, full = outcome == Outcome.NO_PRIME, outcome == Outcome.NO_LIFT
    reach = np.where(np.isfinite(facts.reach_m), facts.reach_m, 0.0)
    inlet = np.where(dry, -weight * reach, inlet)
    outlet = np.where(dry, 0.0, np.where(full, weight * (shutoff - plan.lift_m), outlet))
    return inlet, outlet


def _port_velocity(flow: Floats, port_bore: Floats, legs: Legs, leg: int) -> Floats:
    area = legs.abreast[:, leg] * np.pi / 4.0 * legs.bore_m[:, leg] ** 2
    return flow / np.where(port_bore > 0.0, np.pi / 4.0 * port_bore**2, area)


def _vacuum_over(plan: Plan, reach: Floats, inlet: Floats) -> Bools:
    """The suction hose may see more vacuum than it stands: running, or with the pump drawing all it can."""
    drawn = np.where(np.isfinite(reach), plan.density_kg_m3 * G * reach, 0.0)
    greatest = np.maximum(drawn, np.nan_to_num(-inlet))
    return np.any((greatest[:, None] > plan.suction.vacuum_rating_pa) & plan.suction.used, axis=1)


def _prime_time(plan: Plan, reach: Floats) -> Floats:
    time = priming_time(
        plan.lift_m,
        reach_m=reach,
        hose_volume_m3=_volume(plan.suction),
        air_rate_m3_s=plan.pumps.air_rate_m3_s[:, 0],
        air_pressure_pa=plan.air_pressure_pa,
        density_kg_m3=plan.density_kg_m3,
    )
    time = np.where(plan.holds_prime, 0.0, time)
    return np.where(np.isfinite(time), time, np.nan)


def _volume(legs: Legs) -> Floats:
    return (legs.length_m * legs.abreast * np.pi / 4.0 * legs.bore_m**2).sum(1)


def _velocity(legs: Legs, flow: Floats) -> Floats:
    return np.where(legs.used, flow[:, None] / (legs.abreast * np.pi / 4.0 * legs.bore_m**2), np.nan)


def _heads(plan: Plan, found: Crossings) -> Floats:
    if found.other_row.size == 0:
        return found.other_flow
    return pump_head(plan.take(found.other_row), found.other_flow[:, None])[:, 0]
