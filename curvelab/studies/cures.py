"""Changes made to measure for a setup in trouble: as much lower, slower or less high as it takes."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import InputError
from curvelab.hydraulics.plan import Plan
from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue
from curvelab.model.planning import plan_of, pump_of
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.batch import Batch
from curvelab.studies.change import (
    Change,
    Value,
    in_words,
    may_carry,
    nearer,
    next_rating,
    pump_change,
    throttle_of,
)
from curvelab.studies.result import Result, State
from curvelab.studies.several import relay
from curvelab.units import Quantity, System, show, write

Floats = NDArray[np.float64]
Wish = Callable[[Batch], NDArray[np.bool_]]

_LEAST_PERCENT: Final = 40
"""Throttle below which no engine runs well under load. [%] Common practice, no source."""
_STEP_M: Final = {System.METRIC: 0.5, System.US: 0.3048, System.IMPERIAL: 0.3048}
"""How finely a pump is moved down a bank. [m]"""
_RISE_STEP_M: Final = {System.METRIC: 1.0, System.US: 5 * 0.3048, System.IMPERIAL: 5 * 0.3048}
"""How finely the height of an outlet is chosen. [m]"""
_PLACE_STEP_M: Final = {System.METRIC: 2.0, System.US: 5 * 0.3048, System.IMPERIAL: 5 * 0.3048}
"""How finely a place along the hose is chosen. [m]"""
_PLACES: Final = 40
"""Places along the hose that are tried for a second pump."""


def cures(setup: Setup, catalogue: Catalogue, now: Result) -> Iterator[Change]:
    """What is made to measure for the state the setup is in."""
    plan = plan_of([setup], catalogue)
    unlifted = now.state is State.NO_LIFT or now.flow_m3_s is None
    hungry = now.unsure or now.state in (State.CAVITATING, State.THIN)
    if hungry or now.state is State.NO_PRIME:
        yield from _lower(setup, plan)
    if hungry or now.state is State.OFF_CURVE:
        yield from _throttled(setup, catalogue, plan)
    if hungry:
        yield from _side_by_side(setup, catalogue)
    if now.state is State.NO_PRIME:
        yield from _foot_valve(setup, catalogue)
    if unlifted:
        yield from _less_rise(setup, plan)
        yield from _in_line(setup, catalogue)
    if unlifted or now.state is State.NO_PRIME:
        yield from _fleet(setup, catalogue, now)


def _lower(setup: Setup, plan: Plan) -> Iterator[Change]:
    """The pump as much lower as it takes, in steps that a person can measure, the suction hose cut with it."""
    step = _STEP_M[setup.units]
    by = np.arange(1, int(setup.suction.lift.si / step + 1e-9) + 1) * step
    by = by[by < setup.suction.leg[0].length.si]
    if by.size == 0:
        return
    rows = plan.repeat(by.size)
    length = rows.suction.length_m.copy()
    length[:, 0] -= by
    up = np.where(rows.waypoints.used, rows.waypoints.height_m + by[:, None], 0.0)
    rows = rows.with_(
        lift_m=rows.lift_m - by,
        rise_m=rows.rise_m + by,
        suction=rows.suction.with_(length_m=length),
        waypoints=rows.waypoints.with_(height_m=up),
    )
    at = _first(rows, _well, _sound, _water)
    if at is not None:
        yield from nearer(setup, float(by[at]))


def _throttled(setup: Setup, catalogue: Catalogue, plan: Plan) -> Iterator[Change]:
    """The greatest throttle in whole percents at which the suction keeps its margin."""
    if setup.pump.beside:
        return
    most = int(throttle_of(setup, catalogue) * 100.0 + 1e-9)
    percents = np.arange(most, _LEAST_PERCENT - 1, -1)
    if percents.size == 0:
        return
    rows = plan.repeat(percents.size)
    ratio = rows.pumps.speed_ratio.copy()
    ratio[:, 0] = percents / 100.0
    rows = rows.with_(pumps=rows.pumps.with_(speed_ratio=ratio))
    at = _first(rows, _well, _sound)
    if at is not None:
        percent = int(percents[at])
        yield Change(f"throttle eased to {percent} %", (("pump.throttle", f"{percent / 100:g}"),))


def _side_by_side(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    """One more of the same pump beside it: each takes less of the flow, and needs less."""
    if not setup.pump.beside:
        count = setup.pump.abreast + 1
        name = _name(setup, catalogue)
        yield Change(f"{in_words(count)} {name} side by side", (("pump.abreast", str(count)),))


def _in_line(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    """A second pump of the same kind in the line, where hose and casing stand both; else on hose that stands more."""
    if setup.pump.id is None or setup.booster:
        return
    step = _PLACE_STEP_M[setup.units]
    for hose in (Change("", ()), *next_rating(setup, catalogue)):
        try:
            best = relay(hose.apply(setup), catalogue, places=_PLACES).best_m
        except InputError:
            continue
        if best is not None:
            place = max(step, round(best / step) * step)
            table = {"id": setup.pump.id, "distance": write(place, Quantity.LENGTH, setup.units)}
            where = show(place, Quantity.LENGTH, setup.units)
            tail = f" with {hose.label}" if hose.label else ""
            label = f"second {_name(setup, catalogue)} in the line at {where}{tail}"
            yield Change(label, (*hose.fields, ("booster.0", table)))
            return


def _name(setup: Setup, catalogue: Catalogue) -> str:
    pump = pump_of(setup.pump, catalogue)
    return pump.label


def _less_rise(setup: Setup, plan: Plan) -> Iterator[Change]:
    """Outlet and humps no higher than this pump can push, with the wanted flow to show for it where it can."""
    way = setup.discharge.waypoint
    highest = max([setup.discharge.rise.si, *(point.height.si for point in way)])
    step = _RISE_STEP_M[setup.units]
    caps = np.arange(int(np.ceil(highest / step - 1e-9)) - 1, 0, -1) * step
    if caps.size == 0:
        return
    rows = plan.repeat(caps.size)
    up = np.minimum(rows.waypoints.height_m, caps[:, None])
    rows = rows.with_(rise_m=np.minimum(rows.rise_m, caps), waypoints=rows.waypoints.with_(height_m=up))
    wanted = setup.goal.flow_m3_s or 0.125 * float(plan.curves.head_m.last(plan.pumps.curve[:, 0])[0])
    at = _first(rows, lambda batch: _sound(batch) & (batch.column("flow_m3_s") >= wanted), _sound)
    if at is None:
        return
    cap, fields = float(caps[at]), list[tuple[str, Value]]()
    text = write(cap, Quantity.LENGTH, setup.units)
    outlet = setup.discharge.rise.si > cap
    if outlet:
        fields.append(("discharge.rise", text))
    humps = [f"discharge.waypoint.{at}.height" for at, point in enumerate(way) if point.height.si > cap]
    fields += [(path, text) for path in humps]
    what = " and ".join(["outlet"] * outlet + ["hump"] * bool(humps))
    yield Change(f"{what} at most {show(cap, Quantity.LENGTH, setup.units)} over the pump", tuple(fields))


def _foot_valve(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    """A foot valve in place of the strainer: the hose filled by hand stays full."""
    leg = setup.suction.leg[0]
    size = leg.size.si if leg.size else None
    for valve in catalogue.fittings.values():
        if valve.holds_prime and (size is None or valve.stocked(size)):
            gone = [(f"suction.leg.0.fittings.{f}", "0") for f in leg.fittings if catalogue.fittings[f].at_suction_end]
            what = "foot valve as strainer, hose filled" if gone else "foot valve, hose filled first"
            yield Change(what, (*gone, (f"suction.leg.0.fittings.{valve.id}", "1")))
            return


def _fleet(setup: Setup, catalogue: Catalogue, now: Result) -> Iterator[Change]:
    """Pumps of the fleet that may do the job and reach further, with hose that stands more where they push more."""
    ratings = list(next_rating(setup, catalogue))
    here = pump_of(setup.pump, catalogue)
    for pump in catalogue.pumps.values():
        if pump.id == here.id or not may_carry(pump, setup) or not _reaches(pump, here, now):
            continue
        change = pump_change(pump, setup, catalogue)
        yield change
        for hose in ratings if _push(pump) > _push(here) else ():
            yield Change(f"{change.label} with {hose.label}", (*change.fields, *hose.fields))


def _reaches(pump: Pump, here: Pump, now: Result) -> bool:
    """Whether a pump could start where the present one does not."""
    if now.state is State.NO_PRIME and pump.priming_lift is not None and here.priming_lift is not None:
        return pump.priming_lift.si > here.priming_lift.si
    return now.state is not State.NO_LIFT or _push(pump) > now.start_head_m


def _push(pump: Pump) -> float:
    """Greatest head of a pump. [m]"""
    return float(pump.head.values_si.max())


def _first(rows: Plan, *wishes: Wish) -> int | None:
    """The first row that has the first wish, else the first that has the next; ``None`` where none has any."""
    batch = Batch.of(rows)
    for wish in wishes:
        found = np.flatnonzero(wish(batch))
        if found.size:
            return int(found[0])
    return None


def _well(batch: Batch) -> NDArray[np.bool_]:
    return batch.well


def _sound(batch: Batch) -> NDArray[np.bool_]:
    return batch.sound


def _water(batch: Batch) -> NDArray[np.bool_]:
    """Water comes, if in trouble."""
    return (batch.outcome >= Outcome.CAVITATING) & (batch.column("flow_m3_s") > 0.0)
