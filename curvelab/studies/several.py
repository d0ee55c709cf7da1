"""More than one pump: what each at the water gives, what each in the line adds, and where one in the line may stand."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.line import PointKind
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.pump import pump_head
from curvelab.hydraulics.shut import casing_bounds
from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of, pump_of
from curvelab.model.pump import Pump
from curvelab.model.pumpcolumns import members_of
from curvelab.model.pumpgroup import Member
from curvelab.model.setup import PumpChoice, Setup
from curvelab.studies.batch import Batch
from curvelab.studies.result import BoosterFound, PumpShare
from curvelab.units import Quantity, show, write

Floats = NDArray[np.float64]

FORMAT: Final = "curvelab-relay/1"
_PLACES: Final = 400
"""Places along the hose that are tried together."""


def shares_of(setup: Setup, look_up: Callable[[PumpChoice], Pump], s: Solution) -> tuple[PumpShare, ...]:
    """Flow of each pump at the water at the head that they share; empty for a single pump."""
    members = members_of(setup, look_up)
    if len(members) == 1 and members[0].count == 1:
        return ()
    flows = _flows(members, s)[:, 0].tolist()
    return tuple(
        PumpShare(id=member.pump.id, name=member.pump.label, count=member.count, flow_m3_s=flow)
        for member, flow in zip(members, flows, strict=True)
    )


def flows_of(setup: Setup, look_up: Callable[[PumpChoice], Pump], s: Solution) -> Floats:
    """Flow of each pump at the water in every row, shape (pumps, rows); 0 where nothing flows. [m³/s]

    Every row is of that setup's pumps.
    """
    return _flows(members_of(setup, look_up), s)


def _flows(members: Sequence[Member], s: Solution) -> Floats:
    flow, head = np.nan_to_num(s.flow_m3_s), s.head_m
    if len(members) == 1:
        return flow[None, :]
    # a starved group gives less than its curve at that head would: each keeps its share
    starved = s.outcome == Outcome.CAVITATING
    if starved.any():
        head = np.where(starved, pump_head(s.needs.plan, flow[:, None])[:, 0], head)
    known = ~np.isnan(s.head_m)
    each = np.stack([member.flow_at(np.where(known, head, 0.0)) for member in members])
    total = each.sum(axis=0)
    runs = known & (total > 0.0)
    return np.where(runs, each * (flow / np.where(runs, total, 1.0)), 0.0)


def boosters_of(
    setup: Setup, look_up: Callable[[PumpChoice], Pump], plan: Plan, s: Solution
) -> tuple[BoosterFound, ...]:
    """Head and gauges of each pump in the line, by distance."""
    line = s.line
    if line.boosters is None:
        return ()
    runs = not math.isnan(float(s.head_m[0]))
    flow = np.array([[float(s.flow_m3_s[0]) if runs else 0.0]])
    weight = float(plan.density_kg_m3[0]) * G
    heads, held, asked = (a[0, 0] for a in (line.boosters.heads(flow), line.held_back(flow), line.asked(flow)))
    lost = line.boosters.helps[0].T @ held
    meets = s.outcome[0] in (Outcome.SOUND, Outcome.THIN)
    places = np.flatnonzero((s.route.kind[0] == PointKind.BOOSTER) & s.route.present[0])
    found: list[BoosterFound] = []
    for at, place in enumerate(places.tolist()):
        spare = float(s.head_m[0]) - float(asked[place]) + float(line.pressure[0, place]) - float(lost[place])
        inlet = weight * spare if runs else None
        head = float(heads[at]) if runs else None
        back = float(held[at]) if runs else None
        found.append(
            BoosterFound(
                id=look_up(setup.booster[at]).id,
                name=look_up(setup.booster[at]).label,
                distance_m=float(s.route.distance_m[0, place]),
                head_m=head,
                held_back_m=back,
                inlet_gauge_pa=inlet,
                outlet_gauge_pa=(
                    None if inlet is None or head is None or back is None else inlet + weight * (head - back)
                ),
                governs=meets and int(s.point[0]) == place,
            )
        )
    return tuple(sorted(found, key=lambda booster: booster.distance_m))


@dataclass(frozen=True, slots=True, kw_only=True)
class Relay:
    """Where a second pump may stand in the line; ``None`` where nowhere."""

    pump: str
    nearest_m: float | None
    """Nearer, hose or its casing could see more than its rating with the end shut."""
    farthest_m: float | None
    """Farther, its inlet falls under the margin and the pair gives less."""
    best_m: float | None
    flow_m3_s: float | None
    """There."""
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        names = ("pump", "nearest_m", "farthest_m", "best_m", "flow_m3_s", "sentence")
        return {"format": FORMAT, **{name: getattr(self, name) for name in names}}


def relay(setup: Setup, catalogue: Catalogue | None = None, *, places: int = _PLACES) -> Relay:
    """Where along the discharge the first booster of a setup may stand; without one, a second pump like the first.

    So many ``places`` along the hose are solved together. Ratings are judged with the end shut, all pumps at full
    speed: the hose before the booster sees the first pump alone, all beyond it both, and its casing what stands at its
    outlet.

    Raises
    ------
    InputError
        As ``solve``; or if the pump at the water is written out in place and no booster is given.
    """
    known = catalogue or default_catalogue()
    if not setup.booster:
        if setup.pump.id is None:
            raise InputError(Fault("", "booster", "is missing", "write [[booster]] with id and distance"))
        half = write(0.5 * sum(leg.length.si for leg in setup.discharge.leg), Quantity.LENGTH, setup.units)
        setup = setup.with_("booster.0", {"id": setup.pump.id, "distance": half, "throttle": setup.pump.throttle})
    one = plan_of([setup], known)
    length = float(one.discharge.length_m[0].sum())
    along = length * (np.arange(places) + 0.5) / places
    plan = one.repeat(places)
    distance = plan.pumps.distance_m.copy()
    distance[:, 1] = along
    plan = plan.with_(pumps=plan.pumps.with_(distance_m=distance))
    batch = Batch.of(plan)
    flow = np.nan_to_num(batch.column("flow_m3_s"))
    safe = ~batch.over_rated & _casing_stands(plan)
    runs = flow > 0.0
    held = runs & (flow >= 0.999 * flow.max(initial=0.0)) if runs.any() else runs
    nearest = float(along[np.argmax(safe)]) if safe.any() else None
    farthest = float(along[np.flatnonzero(held)[-1]]) if held.any() else None
    good = safe & held if (safe & held).any() else safe & runs
    best = int(np.flatnonzero(good)[np.argmax(flow[good])]) if good.any() else None
    found = None if best is None else (float(along[best]), float(flow[best]))
    return Relay(
        pump=pump_of(setup.booster[0], known).id,
        nearest_m=nearest,
        farthest_m=farthest,
        best_m=found[0] if found else None,
        flow_m3_s=found[1] if found else None,
        sentence=_sentence(setup, found, safe_anywhere=bool(safe.any()), runs=bool(runs.any())),
    )


def _casing_stands(plan: Plan) -> np.ndarray[Any, np.dtype[np.bool_]]:
    return casing_bounds(plan)[:, 1] <= plan.pumps.casing_rating_pa[:, 1]


def _sentence(setup: Setup, found: tuple[float, float] | None, *, safe_anywhere: bool, runs: bool) -> str:
    if found is not None:
        place = show(found[0], Quantity.LENGTH, setup.units)
        flow = show(found[1], Quantity.FLOW, setup.units)
        return f"Best {place} along the hose: {flow}, and no hose could see more than its rating."
    if not runs:
        return "Even with a second pump in the line no water comes, wherever it stands."
    if not safe_anywhere:
        return "Nowhere: with the end shut both pumps push more than the hose or the second casing is rated for."
    return "Nowhere: where the ratings hold, the second pump gets too little water."
