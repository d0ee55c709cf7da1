"""What puts it right? The few single changes that help a setup in trouble, none of them a new danger."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

import numpy as np

from curvelab.hydraulics.solution import Outcome
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.batch import Batch
from curvelab.studies.change import Change, may_carry, nearer, neighbours, next_rating
from curvelab.studies.choose import RUNS, Choice, rows_of
from curvelab.studies.result import Result, State
from curvelab.studies.solve import solve
from curvelab.units import Quantity, System, show, write

FORMAT: Final = "curvelab-mend/1"

MOST: Final = 3
"""Rows at most: more is no help at a counter."""

_FOOT: Final = 0.3048


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """A change and the state it leads to."""

    change: str
    changes: dict[str, str | None]
    """The fields to set, path to text (``None``: back to the default)."""
    state: str
    flow_m3_s: float
    cost: float | None
    """Hire for a day more than now, in the price list's currency."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """At most three cures, those that run well first, then by flow. Empty where nothing helps, or nothing is wrong."""

    rows: tuple[Cure, ...]
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {"format": FORMAT, "rows": [asdict(row) for row in self.rows], "sentence": self.sentence}


def mend(setup: Setup, catalogue: Catalogue | None = None) -> Mend:
    """Single changes that help most when a setup is not sound, or its hose could see more than its rating.

    A change that raises a danger is never offered: no hose that could see more over its rating than now, and nothing
    shut.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    now = solve(setup, known)
    if now.state is State.SOUND and not now.over_rated:
        return Mend(rows=(), sentence="Nothing needs mending.")
    changes = [*_cures(setup, known, now), *neighbours(setup, known)]
    rows = [row for row in rows_of(setup, changes, known) if _helps(row, now)]
    ranked = sorted(rows, key=lambda row: (row.state != State.SOUND, -(row.flow_m3_s or 0.0), abs(row.cost or 0.0)))
    cures = tuple(_cure(row) for row in _unlike(ranked))
    return Mend(rows=cures, sentence=_sentence(setup, now, cures))


def _well(row: Choice) -> bool:
    return row.state == State.SOUND and not row.over_rated


def _helps(row: Choice, now: Result) -> bool:
    """Better than now: right, or more water in a state that is no worse, and no danger that was not there."""
    if row.state not in RUNS or row.flow_m3_s is None or (row.over_rated and not now.over_rated):
        return False
    if now.state is State.SOUND:  # only the hose is at fault
        return _well(row)
    if row.state == State.SOUND:
        return True
    more = row.flow_m3_s > (now.flow_m3_s or 0.0) * 1.01
    return more and now.state is not State.THIN and row.state != State.OFF_CURVE


def _unlike(rows: Sequence[Choice]) -> list[Choice]:
    """The best rows, one for each field that is changed first: three ways, not one way three times."""
    seen: set[str] = set()
    out: list[Choice] = []
    for row in rows:
        first = next(iter(row.setup))
        if first not in seen:
            seen.add(first)
            out.append(row)
    return out[:MOST]


def _cure(row: Choice) -> Cure:
    return Cure(change=row.change, changes=row.setup, state=row.state, flow_m3_s=row.flow_m3_s or 0.0, cost=row.cost)


def _cures(setup: Setup, catalogue: Catalogue, now: Result) -> Iterator[Change]:
    """Changes made to measure: as much lower, slower, shorter as it takes."""
    if now.over_rated:
        yield from next_rating(setup, catalogue)
    if now.state in (State.CAVITATING, State.THIN, State.NO_PRIME):
        yield from _lower(setup, catalogue, now)
        yield from _foot_valve(setup, catalogue, now)
    if now.state in (State.CAVITATING, State.THIN):
        yield from _throttled(setup, catalogue)
    if now.state is State.NO_LIFT:
        yield from _less_rise(setup, catalogue)
        yield from _fleet(setup, catalogue)
    if now.state is State.OFF_CURVE:
        yield from _slower(setup)


def _lower(setup: Setup, catalogue: Catalogue, now: Result) -> Iterator[Change]:
    """The pump as much lower as it takes, rounded to a step that a person can measure, the suction hose cut with it."""
    step = 0.5 if setup.units is System.METRIC else 1.0 * _FOOT
    most = setup.suction.lift.si
    steps = np.arange(1, int(most / step + 1e-9) + 1) * step
    changes = [change for by in steps for change in nearer(setup, float(by))]
    wanted = {Outcome.SOUND} if now.state is not State.NO_PRIME else {Outcome.SOUND, Outcome.THIN, Outcome.CAVITATING}
    yield from _first(setup, changes, catalogue, wanted)


def _first(setup: Setup, changes: Sequence[Change], catalogue: Catalogue, wanted: set[Outcome]) -> Iterator[Change]:
    """The first change that leads to a wanted state, if one does. The changes keep to what the catalogue has."""
    if not changes:
        return
    batch = Batch.of(plan_of([change.apply(setup) for change in changes], catalogue, checked=False))
    for change, outcome in zip(changes, batch.outcome.tolist(), strict=True):
        if outcome in wanted:
            yield change
            return


def _foot_valve(setup: Setup, catalogue: Catalogue, now: Result) -> Iterator[Change]:
    """A foot valve in place of the strainer: the hose filled by hand stays full."""
    if now.state is not State.NO_PRIME:
        return
    leg = setup.suction.leg[0]
    size = leg.size.si if leg.size else None
    valves = [f for f in catalogue.fittings.values() if f.holds_prime and (size is None or f.stocked(size))]
    if valves:
        fields = [(f"suction.leg.0.fittings.{f}", "0") for f in leg.fittings if catalogue.fittings[f].at_suction_end]
        yield Change("foot valve, hose filled first", (*fields, (f"suction.leg.0.fittings.{valves[0].id}", "1")))


def _throttled(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    """The greatest throttle in whole percents at which the suction keeps its margin."""
    if setup.pump.speed is not None:
        return
    percents = range(int(setup.pump.throttle * 100.0), 39, -1)
    ratio = np.array(percents)[:, None] / 100.0
    plan = plan_of([setup], catalogue).repeat(len(percents))
    batch = Batch.of(plan.with_(pumps=plan.pumps.with_(speed_ratio=ratio)))
    for percent, sound in zip(percents, batch.sound.tolist(), strict=True):
        if sound:
            yield Change(f"throttle eased to {percent} %", (("pump.throttle", f"{percent / 100:g}"),))
            return


def _slower(setup: Setup) -> Iterator[Change]:
    if setup.pump.speed is None:
        for percent in (90, 80, 70, 60, 50):
            if percent < setup.pump.throttle * 100.0:
                yield Change(f"throttle eased to {percent} %", (("pump.throttle", f"{percent / 100:g}"),))


def _less_rise(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    """Outlet and humps no higher than this pump can push with water to show for it."""
    changes: list[Change] = []
    highest = max([setup.discharge.rise.si, *(point.height.si for point in setup.discharge.waypoint)])
    for part in (0.9, 0.8, 0.7, 0.6, 0.5):
        cap = highest * part
        step = 0.5 if setup.units is System.METRIC else 5.0 * _FOOT
        cap = float(np.floor(cap / step)) * step
        if cap <= 0.0:
            break
        text = write(cap, Quantity.LENGTH, setup.units)
        fields: list[tuple[str, str | None]] = []
        if setup.discharge.rise.si > cap:
            fields.append(("discharge.rise", text))
        for at, point in enumerate(setup.discharge.waypoint):
            if point.height.si > cap:
                fields.append((f"discharge.waypoint.{at}.height", text))
        changes.append(Change(f"outlet and humps under {show(cap, Quantity.LENGTH, setup.units)}", tuple(fields)))
    yield from _first(setup, changes, catalogue, {Outcome.SOUND})


def _fleet(setup: Setup, catalogue: Catalogue) -> Iterator[Change]:
    """Any pump of the fleet that may do the job."""
    for pump in catalogue.pumps.values():
        if pump.id != setup.pump.id and may_carry(pump, setup):
            yield Change(pump.name or pump.id, (("pump.id", pump.id), ("pump.file", None), ("pump.record", None)))


def _sentence(setup: Setup, now: Result, cures: Sequence[Cure]) -> str:
    units = setup.units
    if cures:
        best = cures[0]
        flow = show(best.flow_m3_s, Quantity.FLOW, units)
        how = "runs well" if best.state == State.SOUND else "still not right"
        return f"{best.change[0].upper()}{best.change[1:]}: {flow}, {how}."
    if now.state is State.NO_LIFT:
        asked = show(now.start_head_m, Quantity.HEAD, units)
        return f"No single change helps. The site asks {asked} before the first drop."
    if now.state is State.NO_PRIME:
        lift = show(setup.suction.lift.si, Quantity.HEAD, units)
        return f"No single change helps. The site asks the pump to draw water up {lift}."
    if now.over_rated:
        return "No single change helps. The site asks for hose of a higher rating than the yard has."
    return "No single change helps. The site asks for more suction than any change here gives."
