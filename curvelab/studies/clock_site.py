"""What the clock needs of a setup: the bodies of water, and the flow at every level through the one kernel."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cached_property
from math import inf
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics import kernel, tank
from curvelab.hydraulics.ebb import Inflow
from curvelab.hydraulics.plan import OutletKind, Plan
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.hydraulics.tank import Tank
from curvelab.model.amount import Amount
from curvelab.model.catalogue import Catalogue
from curvelab.model.planning import plan_of, pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.model.water import Body, InflowTable, Source

Floats = NDArray[np.float64]

NONE_SHARE: Final = 1e-3
"""Share of the first flow below which the pump counts as delivering nothing. [-]"""


@dataclass(frozen=True)
class Site:
    """A setup with its bodies of water in SI. Levels [m] count from the bottom of each body."""

    setup: Setup
    pump: Pump
    plan: Plan
    """One row."""
    source: Tank | None
    depth_m: float
    """Water in the source now; NaN without one."""
    lowest_m: float
    """Level at which pumping ends at the latest."""
    lowest: str
    """Why: ``target`` or ``strainer``."""
    fastest_m_s: float
    inflow: Inflow
    receiver: Tank | None
    level_m: float
    """Water in the receiver now; NaN without one."""
    full_m: float
    room_m3: float
    """What may be moved until the receiver is full, or the volume wanted where there is no body of water; inf."""

    @property
    def coupled(self) -> bool:
        """The receiver's level works back on the pump."""
        return self.receiver is not None and bool(self.plan.outlet_kind[0] == OutletKind.SUBMERGED)

    @property
    def steady(self) -> bool:
        """The inflow never changes."""
        return bool(np.ptp(self.inflow.flow_m3_s) == 0.0)

    @property
    def last_inflow_m3_s(self) -> float:
        """Inflow once it no longer changes."""
        return float(self.inflow.flow_m3_s[-1])

    @property
    def hose_ends(self) -> bool:
        """The suction hose is too short to follow the water down to its strainer's level."""
        return self.lowest == "strainer" and self.lowest_m > _strainer(self.setup, self.setup.source) + 1e-9

    @cached_property
    def primed(self) -> Plan:
        """The row with its suction hose full: what runs goes on running beyond the lift that it could draw dry."""
        return self.plan.with_(holds_prime=np.ones(1, dtype=np.bool_))

    def lift_m(self, level_m: Floats) -> Floats:
        """Lift at levels of the source. [m]"""
        lift = float(self.plan.lift_m[0])
        return np.full(np.shape(level_m), lift) if self.source is None else lift + self.depth_m - level_m

    def rise_m(self, receiver_m: Floats) -> Floats:
        """Rise at levels of the receiver, which an open end pours over. [m]"""
        rise = float(self.plan.rise_m[0])
        return rise + receiver_m - self.level_m if self.coupled else np.full(np.shape(receiver_m), rise)

    def solve(self, level_m: Floats, receiver_m: Floats) -> Solution:
        """The solution of each pair of levels, shape (n,) both, the pump primed."""
        rows = self.primed.repeat(level_m.size)
        return kernel.solve(rows.with_(lift_m=self.lift_m(level_m), rise_m=self.rise_m(receiver_m)))

    def flow(self, level_m: Floats, receiver_m: Floats) -> Floats:
        """What the pump delivers at each pair of levels, 0 where nothing. [m³/s]"""
        s = self.solve(level_m, receiver_m)
        return np.where(self.starves(s), 0.0, np.nan_to_num(s.flow_m3_s))

    def starves(self, s: Solution) -> NDArray[np.bool_]:
        """Rows in which a pump without NPSHR has lost its water for certain.

        The water lies lower than the pump draws it dry or, held by a foot valve, than the air pushes it.
        """
        if self.plan.curves.npshr_m.count[self.plan.pumps.curve[0, 0]] > 0:
            return np.zeros(s.flow_m3_s.shape, dtype=np.bool_)
        most = s.air_head_m - s.vapour_head_m
        draws = np.where(np.isnan(s.priming_lift_m) | self.plan.holds_prime[0], most, s.priming_lift_m)
        return s.lift_part_m > np.minimum(draws, most)

    @cached_property
    def start(self) -> Solution:
        """The setup as it stands, from dry: what ``solve`` finds."""
        return kernel.solve(self.plan)

    @property
    def begins(self) -> bool:
        """The pump draws and lifts the water at all."""
        return bool(self.start.outcome[0] > Outcome.NO_PRIME and np.nan_to_num(self.start.flow_m3_s[0]) > 0.0)


def site_of(setup: Setup, catalogue: Catalogue) -> Site:
    """The bodies of water of a setup.

    Raises
    ------
    InputError
        As ``solve``; and where there is nothing to empty, to fill or to move.
    """
    source, receiver, volume = setup.source, setup.receiver, setup.goal.volume
    if source is None and receiver is None and volume is None:
        right = "write [source] for what is emptied, [receiver] for what is filled, or [goal] with volume and time"
        raise InputError(Fault("", "source", "is missing: nothing to empty or to fill", right))
    plan = plan_of([setup], catalogue)
    drawn = None if source is None else tank_of(source)
    filled = None if receiver is None else tank_of(receiver)
    level, full = (np.nan, np.nan) if receiver is None else (receiver.level_m, receiver.full.si)
    if filled is not None:
        room = float(np.diff(filled.volume(np.array([level, full])))[0])
    else:
        room = volume.si if source is None and volume is not None else inf
    lowest, why = _lowest(setup, plan)
    return Site(
        setup=setup,
        pump=pump_of(setup.pump, catalogue),
        plan=plan,
        source=drawn,
        depth_m=np.nan if source is None else source.depth.si,
        lowest_m=lowest,
        lowest=why,
        fastest_m_s=inf if source is None or source.fastest is None else source.fastest.si,
        inflow=_inflow(source),
        receiver=filled,
        level_m=level,
        full_m=full,
        room_m3=room,
    )


def tank_of(body: Body) -> Tank:
    """The shape of a source or a receiver."""
    match body.shape:
        case "box":
            return tank.box(length_m=_si(body.length), width_m=_si(body.width))
        case "cylinder":
            return tank.cylinder(diameter_m=_si(body.diameter))
        case "frustum":
            return tank.frustum(
                top_length_m=_si(body.top_length),
                top_width_m=_si(body.top_width),
                bottom_length_m=_si(body.bottom_length),
                bottom_width_m=_si(body.bottom_width),
                full_depth_m=_si(body.full_depth),
            )
        case "pond":
            area = body.area if isinstance(body.area, Amount) else None
            return tank.pond(area_m2=_si(area), full_depth_m=_si(body.full_depth), power=body.power or 0.0)
        case "table":
            return tank.table(level_m=_column(body.level), area_m2=_column(body.area))


def _si(amount: Amount | None) -> float:
    return 0.0 if amount is None else amount.si


def _column(values: Amount | tuple[Amount, ...] | None) -> list[float]:
    return [value.si for value in values] if isinstance(values, tuple) else []


def _inflow(source: Source | None) -> Inflow:
    inflow = None if source is None else source.inflow
    if isinstance(inflow, InflowTable):
        return Inflow(np.array([t.si for t in inflow.time]), np.array([q.si for q in inflow.flow]))
    return Inflow(np.zeros(1), np.array([_si(inflow)]))


def _strainer(setup: Setup, source: Source | None) -> float:
    """Level at which the strainer has no more than its cover. [m]"""
    return _si(setup.suction.strainer_height) + (_si(source.cover) if source is not None else 0.0)


def _lowest(setup: Setup, plan: Plan) -> tuple[float, str]:
    """The highest of the levels that end it: the target, the strainer's cover, the reach of the suction hose."""
    source = setup.source
    if source is None:
        return np.nan, "target"
    reach = source.depth.si + float(plan.lift_m[0]) - float(plan.suction.length_m[0].sum())
    strainer = max(_strainer(setup, source), reach)
    if strainer > source.stop.si:
        return min(strainer, source.depth.si), "strainer"
    return source.stop.si, "target"
