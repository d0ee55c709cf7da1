"""Which bore? The first discharge hose in each of its neighbouring sizes: what comes, what it costs, what it weighs."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, NamedTuple

import numpy as np

from curvelab.errors import InputError
from curvelab.hydraulics import kernel
from curvelab.hydraulics.hose import hose_volume
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import faults_of_setup
from curvelab.model.setup import Setup
from curvelab.studies.columns import STATES
from curvelab.studies.kit import leg_kit
from curvelab.studies.result import State
from curvelab.studies.sizes import Sized, in_sizes
from curvelab.studies.solve import null, solve
from curvelab.studies.warn import FAST_SUCTION_M_S

FEEDS: Final = (State.SOUND, State.THIN)
"""States in which the suction feeds the flow."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Bore:
    """One size. Numbers that need a flow are ``None`` without one."""

    size: Sized
    state: State
    flow_m3_s: float | None
    share: float | None
    """Of the head there is, the pump's and what falling water adds, that is lost in the discharge hose, all its legs
    together. [-] ``None`` past the tested curve."""
    speed_m_s: float | None
    """Of the water in this hose."""
    suction_speed_m_s: float | None
    """Greatest in the suction hose."""
    empty_kg: float | None
    """This hose without water."""
    full_kg: float | None
    cost_day: float | None
    """Hire of this hose for a day, in the price list's currency."""
    over_rated: bool
    """Hose could see more than its rating with the end shut."""
    perhaps_starved: bool
    """The pump states no need, and this flow is more than its suction may let through, at a guess."""
    suction_unknown: bool
    held_in_line: bool
    """A pump in the line gives less than its curve: its inlet holds the flow back."""
    """Nobody has tested what the pump needs at its inlet at so great a flow."""

    @property
    def fed(self) -> bool:
        """The suction feeds it, for all that is known."""
        return self.state in FEEDS and not self.perhaps_starved

    @property
    def comes(self) -> bool:
        """Water comes."""
        return bool(self.flow_m3_s)


class Calmer(NamedTuple):
    """The next larger suction hose, and the speed in it."""

    size_m: float
    speed_m_s: float


@dataclass(frozen=True, slots=True, kw_only=True)
class Bores:
    """Rows from small to large, the present size among them."""

    setup: Setup
    rows: tuple[Bore, ...]
    calmer: Calmer | None
    """Only where the water is fast in the present suction hose and a larger one is on offer."""
    currency: str
    """Of the prices; empty where there are none."""
    prices: str
    """Where the prices are from, in their source's words; empty where there are none."""
    estimate: bool
    """What the hose's record says of itself, its weight among it, is an estimate."""

    @property
    def now(self) -> int:
        """Row of the present size."""
        return next(at for at, row in enumerate(self.rows) if row.size.now)

    @property
    def flows(self) -> bool:
        """Whether water comes with any of them."""
        return any(row.comes for row in self.rows)


def bores(setup: Setup, catalogue: Catalogue | None = None) -> Bores:
    """The setup with its first discharge hose (leg 0, which the page's controls address) in each neighbouring size.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    sizes = in_sizes(setup, known)
    solution = kernel.solve(sizes.plan)
    rows = tuple(_row(sizes.plan, solution, at, sized, known) for at, sized in enumerate(sizes.sized))
    leg = setup.discharge.leg[0]
    price = known.price(leg.hose or "", leg.size.si if leg.size is not None else None)
    fast = (rows[sizes.now].suction_speed_m_s or 0.0) > FAST_SUCTION_M_S
    return Bores(
        setup=setup,
        rows=rows,
        calmer=_calmer(setup, known) if fast else None,
        currency=price.currency if price is not None else "",
        prices=(price.source or "estimated") if price is not None else "",
        estimate=(hose := known.hoses.get(leg.hose or "")) is not None and hose.estimate,
    )


def _row(plan: Plan, solution: Solution, at: int, sized: Sized, catalogue: Catalogue) -> Bore:
    flow = null(float(solution.flow_m3_s[at]))
    leg = sized.setup.discharge.leg[0]
    kit = leg_kit(leg, catalogue)
    water_kg = (
        float(hose_volume(leg.length.si, bore_m=plan.discharge.bore_m[at, 0]))
        * leg.abreast
        * float(plan.density_kg_m3[at])
    )
    return Bore(
        size=sized,
        state=STATES[Outcome(int(solution.outcome[at]))],
        flow_m3_s=flow,
        share=_share(solution, at) if flow else None,
        speed_m_s=float(solution.discharge_velocity_m_s[at, 0]) if flow else None,
        suction_speed_m_s=float(np.nanmax(solution.suction_velocity_m_s[at])) if flow else None,
        empty_kg=kit.mass_kg,
        full_kg=None if kit.mass_kg is None else kit.mass_kg + water_kg,
        cost_day=kit.cost_day,
        over_rated=bool(solution.over_rated[at]),
        perhaps_starved=bool(solution.flow_m3_s[at] > solution.cavitation_low_m3_s[at]),
        suction_unknown=bool(solution.suction_unknown[at]),
        held_in_line=bool(solution.held_in_line[at]),
    )


def _share(solution: Solution, at: int) -> float | None:
    """What the discharge hose takes of all that pushes."""
    if solution.outcome[at] == Outcome.OFF_CURVE:
        return None
    parts = (solution.lift_part_m, solution.rise_part_m, solution.pressure_part_m)
    helps = sum(max(-float(part[at]), 0.0) for part in parts)
    head = float(solution.head_m[at]) + helps
    return float(solution.discharge_part_m[at]) / head if head > 0.0 else None


def _calmer(setup: Setup, catalogue: Catalogue) -> Calmer | None:
    """The setup with its first suction hose one size larger, where there is one and it slows the water."""
    leg = setup.suction.leg[0]
    hose = catalogue.hoses.get(leg.hose or "")
    if hose is None or leg.size is None:
        return None
    for size in hose.size:
        if size.size.si <= leg.size.si * 1.001:
            continue
        try:
            wider = setup.with_("suction.leg.0.size", size.size.text)
        except InputError:
            continue
        if next(faults_of_setup(wider, catalogue), None) is None:
            speed = max(solve(wider, catalogue).velocities_m_s[: len(setup.suction.leg)])
            return Calmer(size.size.si, speed) if speed > 0.0 else None
    return None
