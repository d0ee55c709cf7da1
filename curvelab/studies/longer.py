"""What does a longer hose do, and another size over the same length? Flow against length, a curve a size."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import kernel
from curvelab.hydraulics.friction import gradient
from curvelab.hydraulics.laying import SLOPE, laid_out
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.rules import refusals
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.setup import Setup
from curvelab.studies.columns import STATES
from curvelab.studies.result import State
from curvelab.studies.sizes import Sized, Sizes, in_sizes, now_of
from curvelab.studies.solve import null
from curvelab.studies.vary import with_column
from curvelab.units import System

Floats = NDArray[np.float64]

FIELD: Final = "discharge.leg.0.length"
_FOOT: Final = 0.3048
_AXIS_M: Final = {System.METRIC: 300.0, System.US: 1000 * _FOOT, System.IMPERIAL: 1000 * _FOOT}
"""Shortest length axis; it doubles until twice the hose is on it. [m]"""
_STEP_M: Final = {System.METRIC: 30.0, System.US: 100 * _FOOT, System.IMPERIAL: 100 * _FOOT}
"""How much more hose is asked about in a word. [m]"""
_LEAST_M: Final = {System.METRIC: 10.0, System.US: 25 * _FOOT, System.IMPERIAL: 25 * _FOOT}
"""Shortest hose looked at. [m]"""
_ROUND: Final = (1.0, 1.5, 2.0, 3.0, 5.0)
"""Lengths worth a column of a table, times a power of ten, in the unit shown."""
_MARKS: Final = 6
_POINTS: Final = 40
_RULE: Final = 0.1
"""Ten of hose for one of height, as the saying has it. [-]"""


class Tenth(NamedTuple):
    """Where a size loses a tenth of its length in head."""

    size_m: float
    flow_m3_s: float
    twice: float
    """What twice that flow loses, over what that flow loses. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Longer:
    """Flows over lengths of the first discharge hose; rows are sizes, columns lengths."""

    setup: Setup
    sizes: tuple[Sized, ...]
    length_m: Floats
    """Shape (lengths,), rising."""
    flow_m3_s: Floats
    """Shape (sizes, lengths). NaN: nobody has tested the pump there."""
    state: NDArray[np.str_]
    """Shape (sizes, lengths)."""
    now_m: float
    step_m: float
    """How much more hose the brief answer is about."""
    end_m: float
    """Of the length axis."""
    reach_m: float
    """Shortest hose looked at that can lie over these heights; 0 where any can."""
    marks_m: tuple[float, ...]
    """Lengths for a table, the most wanted first."""
    limit_m3_s: float | None
    """Flow that the suction lets through."""
    guess_m3_s: tuple[float, float | None] | None
    """Where the suction gives out at a guess, for a pump that states no need: low, and high if the guess has one."""
    tenths: tuple[Tenth, ...]
    """The present size first, then another."""

    @property
    def now(self) -> int:
        """Row of the present size."""
        return now_of(self.sizes)

    def at(self, row: int, length_m: float) -> tuple[float | None, State]:
        """Flow and state of a size at one of the lengths."""
        column = int(np.abs(self.length_m - length_m).argmin())
        return null(float(self.flow_m3_s[row, column])), State(str(self.state[row, column]))

    @property
    def flows(self) -> bool:
        """Whether water comes with any of the hoses at any length."""
        return bool(np.nanmax(np.nan_to_num(self.flow_m3_s)) > 0.0)


def longer(setup: Setup, catalogue: Catalogue | None = None) -> Longer:
    """Flow against the length of the first discharge hose, for each neighbouring size, in one call of the kernel.

    High and low points stay where they are while the hose still reaches past them; a shorter hose takes them along, as
    the page's own control does.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    sizes = in_sizes(setup, known)
    plan = sizes.plan
    now, units = setup.discharge.leg[0].length.si, setup.units
    end = _AXIS_M[units]
    while end < 2.0 * now * (1.0 - 1e-9):
        end *= 2.0
    climb = abs(setup.discharge.rise.si) / SLOPE - sum(leg.length.si for leg in setup.discharge.leg[1:])
    start = min(max(_LEAST_M[units], climb), now)
    marks = _marks(now, end, start, units)
    steps = start + (end - start) * np.linspace(0.0, 1.0, _POINTS) ** 1.6
    rows, length = laid(plan, np.unique(np.concatenate([steps, [now, now + _STEP_M[units], *marks]])))
    solution = kernel.solve(rows)
    shape = (plan.rows, length.size)
    states = np.array([str(STATES[outcome]) for outcome in sorted(STATES)])
    here = sizes.now * length.size + int(np.abs(length - now).argmin())
    limit, low, high = (
        null(float(column[here]))
        for column in (solution.cavitation_flow_m3_s, solution.cavitation_low_m3_s, solution.cavitation_high_m3_s)
    )
    return Longer(
        setup=setup,
        sizes=sizes.sized,
        length_m=length,
        flow_m3_s=solution.flow_m3_s.reshape(shape),
        state=states[solution.outcome].reshape(shape),
        now_m=now,
        step_m=_STEP_M[units],
        end_m=end,
        reach_m=float(length[0]) if length[0] > _LEAST_M[units] * (1.0 + 1e-9) and length[0] < now else 0.0,
        marks_m=tuple(mark for mark in marks if np.isclose(mark, length, rtol=1e-9).any()),
        limit_m3_s=limit,
        guess_m3_s=None if low is None else (low, high),
        tenths=_tenths(sizes),
    )


def laid(plan: Plan, length_m: Floats) -> tuple[Plan, Floats]:
    """The plan's rows once for every length of the first discharge hose that can lie there, and those lengths.

    The rows differ in their hose only, not in the route. Rows of the result: all lengths of row 0, then those of row 1,
    and so on.
    """
    rows, way = plan.rows, plan.waypoints
    used = way.used[0]
    distance, height, rise = way.distance_m[0, used], way.height_m[0, used], float(plan.rise_m[0])
    before = plan.discharge.length_m[0]
    was, others = float(before.sum()), float(before[1:].sum())
    points = [laid_out(distance, height, rise_m=rise, was_m=was, now_m=others + float(length)) for length in length_m]
    many = plan.take(np.arange(rows, dtype=np.int64).repeat(length_m.size))
    many = with_column(many, "discharge.length_m", (0,), np.tile(length_m, rows))
    many.waypoints.distance_m[:, used] = np.tile([along for along, _ in points], (rows, 1))
    many.waypoints.height_m[:, used] = np.tile([up for _, up in points], (rows, 1))
    bad = refusals(many).refused.reshape(rows, length_m.size).any(axis=0)
    if not bad.any():
        return many, length_m
    return many.take(np.flatnonzero(np.tile(~bad, rows))), length_m[~bad]


def _marks(now: float, end: float, start: float, units: System) -> tuple[float, ...]:
    """The present length, twice that, the end of the axis, about half, and round lengths far from all of these."""
    unit = 1.0 if units is System.METRIC else _FOOT
    powers = [10.0**power for power in range(1, 6)]
    round_ones = [factor * power * unit for power in powers for factor in _ROUND]
    fitting = [length for length in round_ones if start * (1.0 - 1e-9) <= length <= end * (1.0 + 1e-9)]
    marks = [now, 2.0 * now]
    if end > 2.2 * now:
        marks.append(end)
    marks += sorted((length for length in fitting if 0.4 * now < length < 0.6 * now), key=lambda m: abs(m - now / 2))[
        :1
    ]
    while len(marks) < _MARKS:
        away = {length: min(abs(math.log(length / mark)) for mark in marks) for length in fitting}
        best = max(away, key=lambda length: away[length], default=None)
        if best is None or away[best] < math.log(1.15):
            break
        marks.append(best)
    return tuple(marks)


def _tenths(sizes: Sizes) -> tuple[Tenth, ...]:
    """Flow at which each of two sizes loses a tenth of its length: the present one, and another beside it."""
    now, plan = sizes.now, sizes.plan
    other = next((at for at in (now - 2, now - 1, now + 1) if 0 <= at < plan.rows), None)
    rows = np.array([now] if other is None else [now, other])
    legs = plan.discharge
    bore, rough = legs.bore_m[rows, 0], legs.roughness_m[rows, 0]
    viscosity = plan.kinematic_viscosity_m2_s[rows]

    def slope(velocity: Floats) -> Floats:
        return gradient(velocity, bore_m=bore, roughness_m=rough, kinematic_viscosity_m2_s=viscosity)

    low, high = np.zeros(rows.size), np.full(rows.size, 100.0)
    for _ in range(60):
        middle = 0.5 * (low + high)
        under = slope(middle) < _RULE
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    area = legs.abreast[rows, 0] * (np.pi / 4.0) * bore**2
    ratio = slope(2.0 * low) / slope(low)
    return tuple(
        Tenth(sizes.sized[int(row)].size_m, float(flow), float(twice))
        for row, flow, twice in zip(rows, low * area, ratio, strict=True)
    )
