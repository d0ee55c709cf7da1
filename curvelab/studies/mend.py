"""What puts it right? The few single changes that help a setup in trouble, none of them a new danger."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, dataclass
from typing import Any, Final

from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.setup import Setup
from curvelab.studies.change import Change, Value, neighbours, next_rating
from curvelab.studies.choose import Choice, cost_of, rows_of, runs, worse
from curvelab.studies.cures import cures
from curvelab.studies.result import Result, State
from curvelab.studies.say import capital, flow_text
from curvelab.studies.solve import solve
from curvelab.units import Quantity, show

FORMAT: Final = "curvelab-mend/1"

MOST: Final = 3
"""Rows at most: more is no help at a counter."""

_ALIKE: Final = 0.98
"""Share of the flow that a cheaper change of the same kind must give to be offered instead."""
_POOR: Final = 0.5
"""Share of the wanted flow under which a change is offered only where nothing gives more."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Cure:
    """A change and the state it leads to."""

    change: str
    changes: dict[str, Value]
    """The fields to set, path to text (``None``: back to the default; a whole table for a pump in the line)."""
    state: str
    flow_m3_s: float
    cost: float | None
    """Hire for a day more than now, in the price list's currency."""
    dangers: tuple[str, ...]
    """What could burst, fold flat or slow down, as it could before the change: see ``batch.DANGERS``."""
    perhaps_starved: bool
    """The pump states no suction need, and at a guess this flow is more than it lets through."""
    suction_unknown: bool
    """Nobody has tested what the pump needs at its inlet at so great a flow."""
    held_in_line: bool
    """A pump in the line gives less than its curve: its inlet holds the flow back."""

    @property
    def over_rated(self) -> bool:
        """Hose could still see more than its rating."""
        return "over-rated" in self.dangers


@dataclass(frozen=True, slots=True, kw_only=True)
class Mend:
    """At most three cures, those that run well first, then by flow. Empty where nothing helps, or nothing is wrong."""

    rows: tuple[Cure, ...]
    hose: Cure | None
    """Where hose could see more than its rating: the cheapest hose that stands it."""
    sentence: str

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        hose = asdict(self.hose) if self.hose else None
        return {"format": FORMAT, "rows": [asdict(row) for row in self.rows], "hose": hose, "sentence": self.sentence}


def mend(setup: Setup, catalogue: Catalogue | None = None) -> Mend:
    """Single changes that help most when a setup is not surely sound, or its hose could see more than its rating.

    A change that raises a danger is never offered: no hose that comes over its rating or further over it, no suction
    hose that folds flat, no engine short of power, nothing shut.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    now = solve(setup, known)
    if not now.in_trouble and not now.over_rated:
        return Mend(rows=(), hose=None, sentence="Nothing needs mending.")
    ratings = list(next_rating(setup, known)) if now.over_rated else []
    changes = [Change("", ()), *ratings, *cures(setup, known, now), *neighbours(setup, known)]
    before, *after = rows_of(setup, changes, known)
    safe = [one.row for one in after if not worse(one, before)]
    wanted = setup.goal.flow_m3_s
    rows = _enough([row for row in safe if _helps(row, now, wanted)], wanted)
    found = tuple(_cure(row) for row in _unlike(rows))
    hose = _cheapest([row for row in safe if row.change in {change.label for change in ratings}])
    return Mend(rows=found, hose=hose, sentence=_sentence(setup, now, found))


def _helps(row: Choice, now: Result, wanted_m3_s: float) -> bool:
    """Better than now: right, or more water in a state that is no worse. What is wanted and given stays given."""
    flow, before = row.flow_m3_s or 0.0, now.flow_m3_s or 0.0
    if not runs(row) or flow < wanted_m3_s <= before:
        return False
    if now.unsure:
        return row.well
    if now.state is State.SOUND:  # only the hose is at fault
        return row.state == State.SOUND and not row.over_rated
    if row.state == State.SOUND:
        return True
    starts = now.state in (State.NO_LIFT, State.NO_PRIME) or now.flow_m3_s is None
    return row.state != State.OFF_CURVE and (starts or (now.state is State.CAVITATING and flow > before * 1.01))


def _enough(rows: list[Choice], wanted_m3_s: float) -> list[Choice]:
    """Without those that give far too little, where others give more."""
    good = [row for row in rows if (row.flow_m3_s or 0.0) >= _POOR * wanted_m3_s]
    return good or rows


def _unlike(rows: Sequence[Choice]) -> list[Choice]:
    """The best of each kind, those that run well first, a guess after what is known, then by flow.

    Three ways, not one way three times.
    """
    ranked = sorted(rows, key=lambda row: (row.state != State.SOUND, not row.well, -(row.flow_m3_s or 0.0)))
    best: dict[str, Choice] = {}
    for row in ranked:
        first = best.setdefault(_kind(row), row)
        alike = (row.state, row.well) == (first.state, first.well)
        alike = alike and (row.flow_m3_s or 0.0) >= _ALIKE * (first.flow_m3_s or 0.0)
        if alike and (row.over_rated, cost_of(row)) < (first.over_rated, cost_of(first)):
            best[_kind(row)] = row
    return list(best.values())[:MOST]


def _kind(row: Choice) -> str:
    """What is changed first: the pump, the lift, the hose of a side, its make."""
    first = next(iter(row.setup))
    side, _, name = first.partition(".leg.")
    return f"{side} hose" if name.endswith((".size", ".bore", ".abreast")) else first


def _cheapest(rows: Sequence[Choice]) -> Cure | None:
    standing = [row for row in rows if not row.over_rated]
    return _cure(min(standing, key=lambda row: (cost_of(row), -(row.flow_m3_s or 0.0)))) if standing else None


def _cure(row: Choice) -> Cure:
    return Cure(
        change=row.change,
        changes=row.setup,
        state=row.state,
        flow_m3_s=row.flow_m3_s or 0.0,
        cost=row.cost,
        dangers=row.dangers,
        perhaps_starved=row.perhaps_starved,
        suction_unknown=row.suction_unknown,
        held_in_line=row.held_in_line,
    )


_HOW: Final = {
    State.SOUND: "runs well",
    State.THIN: "little to spare",
    State.CAVITATING: "still starved",
    State.OFF_CURVE: "past the tested curve",
}


def _sentence(setup: Setup, now: Result, found: Sequence[Cure]) -> str:
    if found:
        best = found[0]
        how = "runs, perhaps starved" if best.perhaps_starved else _HOW[State(best.state)]
        how = "held back in the line" if best.held_in_line else how
        how = "runs, suction not known" if best.suction_unknown else how
        under = ", hose rated too low" if best.over_rated else ""
        return f"{capital(best.change)}: {flow_text(best.flow_m3_s, setup.units)}, {how}{under}."
    return f"No single change helps. {_asks(setup, now)}"


def _asks(setup: Setup, now: Result) -> str:
    """What the site asks, where nothing helps."""
    units = setup.units
    if now.state is State.NO_LIFT:
        return f"The site asks {show(now.start_head_m, Quantity.HEAD, units)} before the first drop."
    if now.state is State.NO_PRIME:
        return f"The site asks the pump to draw water up {show(setup.suction.lift.si, Quantity.HEAD, units)}."
    if now.state is State.OFF_CURVE:
        return "The site asks for a flow that nobody has tested on this pump."
    if now.unsure:
        return "Nobody states what this pump needs at its inlet for this flow."
    if now.over_rated and now.state is State.SOUND:
        return "The site asks for hose of a higher rating than the yard has."
    return "The site asks for more suction than any change here gives."
