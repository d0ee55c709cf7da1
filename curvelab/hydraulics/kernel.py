"""The kernel: a Plan in, a Solution out, all rows together. There is no other; a single solve is a batch of one.

Three questions a row are narrowed in step: where pump and system curve meet, where NPSHA falls to NPSHR, and where it
falls to NPSHR and the margin (without NPSHR the last two are asked of the two edges of the band of guesses).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.crossing import Crossings, find_roots, humps, stations
from curvelab.hydraulics.line import Line, route_of
from curvelab.hydraulics.outcome import deliver
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.pump import pump_head, scale, tested_flows
from curvelab.hydraulics.solution import Solution
from curvelab.hydraulics.suction import Needs, air_head

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]


def solve(plan: Plan) -> Solution:
    """Operating point, suction limits and everything that belongs to the delivered flow, for every row.

    Parameters
    ----------
    plan : Plan
        Rows to solve; ``rules.refusals(plan)`` has found nothing to refuse in them.

    Returns
    -------
    Solution
        Arrays with one entry a row.
    """
    route = route_of(plan)
    line = Line.of(plan, route)
    needs = Needs.of(plan)
    air, vapour = air_head(plan)
    push = air - vapour - plan.lift_m
    return deliver(plan, route=route, line=line, needs=needs, found=_search(plan, line, needs, push))


def _search(plan: Plan, line: Line, needs: Needs, push: Floats) -> Crossings:
    x = _head_stations(plan)
    gap = _head_gap(plan, line, x)
    if x.shape[1] > 2:
        extra = humps(x, gap)
        x, gap = _insert(x, gap, extra, _head_gap(plan, line, extra))
    meets = (gap[:, :-1] > 0.0) & (gap[:, 1:] <= 0.0)
    at = x.shape[1] - 2 - meets[:, ::-1].argmax(1)
    met = np.any(meets, axis=1)
    head = _bracket(x, gap, at, met)

    sx, first, second = _suction_stations(plan, line, needs, push)
    brackets = [head, _first_fall(sx, first), _first_fall(sx, second)]
    low, high, at_low, at_high = (np.stack(parts, axis=1) for parts in zip(*brackets, strict=True))

    def gaps(flow: Floats) -> Floats:
        suction = line.suction(flow)
        first = flow[:, :1]
        meet = pump_head(plan, first) - line.head(first, suction[:, :1])
        left = push[:, None] - suction[:, 1:]
        needed = needs.first(flow[:, 1:])
        both = needs.second(flow[:, 2:], needed[:, 1:])
        return np.concatenate([meet, left[:, :1] - needed[:, :1], left[:, 1:] - both], axis=1)

    roots = find_roots(gaps, low, high, at_low, at_high)
    rows = np.arange(plan.rows, dtype=np.int64)
    others = (np.sign(gap[:, :-1]) * np.sign(gap[:, 1:]) < 0.0) | meets
    others[rows[met], at[met]] = False
    other_row, other_flow = _others(plan, line, x, gap, others)
    return Crossings(
        flow=np.where(met, roots[:, 0], np.nan),
        limit=_limit(first, roots[:, 1]),
        second=_limit(second, roots[:, 2]),
        gives_more=gap[:, -1] > 0.0,
        short_at_first=gap[:, 0] <= 0.0,
        other_row=other_row,
        other_flow=other_flow,
    )


def _head_stations(plan: Plan) -> Floats:
    """Places between which a row's pumps and line cross once at most, shape (rows, n), where all were tested."""
    curve, times = plan.pumps.curve, scale(plan)
    found = stations(plan.curves.head_m, rises=True)[curve] * times[..., None]
    if curve.shape[1] == 1:
        return found[:, 0]
    first, last = tested_flows(plan)
    found = np.where(plan.pumps.used[..., None], found, first[:, None, None]).reshape(plan.rows, -1)
    return np.sort(np.minimum(np.maximum(found, first[:, None]), last[:, None]), axis=1)


def _head_gap(plan: Plan, line: Line, flow: Floats) -> Floats:
    return pump_head(plan, flow) - line.head(flow, line.suction(flow))


def _suction_stations(plan: Plan, line: Line, needs: Needs, push: Floats) -> tuple[Floats, Floats, Floats]:
    """Places to ask the suction at, and the two gaps there, shape (rows, stations)."""
    known = stations(plan.curves.npshr_m, rises=False)[plan.pumps.curve[:, 0]] * scale(plan)[:, :1]
    x = np.concatenate([np.zeros((plan.rows, 1)), np.where(needs.known[:, None], known, needs.end[:, None])], axis=1)
    if known.shape[1] == 2:  # every curve rises: below its first tested flow NPSHR is level, so its ends suffice
        x = x[:, [0, 2]]
    left = push[:, None] - line.suction(x)
    need = needs.first(x)
    return x, left - need, left - needs.second(x, need)


def _first_fall(x: Floats, gap: Floats) -> tuple[Floats, Floats, Floats, Floats]:
    """Bracket of the first place where the gap falls through zero; closed at 0 where there is none."""
    falls = (gap[:, :-1] > 0.0) & (gap[:, 1:] <= 0.0)
    return _bracket(x, gap, falls.argmax(1), np.any(falls, axis=1) & (gap[:, 0] > 0.0))


def _bracket(x: Floats, gap: Floats, at: Ints, real: NDArray[np.bool_]) -> tuple[Floats, Floats, Floats, Floats]:
    rows = np.arange(x.shape[0], dtype=np.int64)
    low, f_low = x[rows, at], gap[rows, at]
    high, f_high = np.where(real, x[rows, at + 1], low), np.where(real, gap[rows, at + 1], f_low)
    return low, high, f_low, f_high


def _limit(gap: Floats, root: Floats) -> Floats:
    """The root where the gap starts above zero and falls through it; 0 where it starts at or below; else NaN."""
    starts, falls = gap[:, 0] > 0.0, (gap <= 0.0).any(1)
    return np.where(starts, np.where(falls, root, np.nan), 0.0)


def _insert(x: Floats, gap: Floats, extra: Floats, at_extra: Floats) -> tuple[Floats, Floats]:
    x, gap = np.concatenate([x, extra], axis=1), np.concatenate([gap, at_extra], axis=1)
    order = np.argsort(x, axis=1, kind="stable")
    return np.take_along_axis(x, order, 1), np.take_along_axis(gap, order, 1)


def _others(plan: Plan, line: Line, x: Floats, gap: Floats, others: NDArray[np.bool_]) -> tuple[Ints, Floats]:
    row, at = np.nonzero(others)
    if row.size == 0:
        return row, np.empty(0)
    some, part = plan.take(row), line.take(row)
    low, high, f_low, f_high = (a[:, None] for a in (x[row, at], x[row, at + 1], gap[row, at], gap[row, at + 1]))
    return row, find_roots(lambda flow: _head_gap(some, part, flow), low, high, f_low, f_high)[:, 0]
