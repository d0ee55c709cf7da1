"""What differs between two versions of a record, in words: for somebody who has to choose between theirs and ours."""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Final

from curvelab.model.pairs import pairs_of
from curvelab.model.points import Points
from curvelab.model.pump import Pump
from curvelab.model.section import Section
from curvelab.model.setup import Setup
from curvelab.report.changed import changes
from curvelab.report.pump_form import groups
from curvelab.units import System

MOST: Final = 40
"""Differences that are written out. [-]"""
NOTHING: Final = "nothing"
_CURVES: Final = {
    "head": "head curve",
    "npshr": "what it needs at its inlet",
    "efficiency": "efficiency",
    "power": "shaft power",
    "suction_test": "flows at several lifts",
    "test": "tests",
}


@dataclass(frozen=True, slots=True)
class Difference:
    """One thing that differs, as both have it."""

    what: str
    ours: str
    theirs: str


def differing(ours: Section, theirs: Section, system: System) -> list[Difference]:
    """What differs between two pumps, or between two setups; of other records, their fields by name."""
    found = list(
        _setups(ours, theirs, system)
        if isinstance(ours, Setup) and isinstance(theirs, Setup)
        else _records(ours, theirs, system)
    )
    if not found and ours != theirs:
        found = [Difference("words that change nothing about the water", "", "")]
    return found[:MOST]


def _setups(ours: Setup, theirs: Setup, system: System) -> Iterator[Difference]:
    if ours.title != theirs.title:
        yield Difference("title", ours.title or NOTHING, theirs.title or NOTHING)
    for change in changes(ours, theirs, system):
        yield Difference(change.label, change.now or NOTHING, change.was or NOTHING)


def _records(ours: Section, theirs: Section, system: System) -> Iterator[Difference]:
    mine, other = pairs_of(ours), pairs_of(theirs)
    labels = {field.path: field.label.lower() for _, group in groups(system) for field in group}
    told: set[str] = set()
    for key in dict.fromkeys((*mine, *other)):
        if mine.get(key) == other.get(key):
            continue
        top = key.partition(".")[0]
        if top in _CURVES:
            if top not in told:
                told.add(top)
                yield Difference(_CURVES[top], _summed(ours, top), _summed(theirs, top))
            continue
        yield Difference(labels.get(key, key.replace("_", " ")), mine.get(key, NOTHING), other.get(key, NOTHING))


def _summed(record: Section, name: str) -> str:
    """A curve or a list of tests in brief."""
    value: object = getattr(record, name, None) if isinstance(record, Pump) else None
    if isinstance(value, Points):
        first, last = value.points[0], value.points[-1]
        unit = getattr(value, value.NAME)
        ends = f"{first[1]:g} {unit} at {first[0]:g} to {last[1]:g} {unit} at {last[0]:g} {value.flow}"
        return f"{len(value.points)} points, {ends}"
    if isinstance(value, tuple) and value:
        return f"{len(value)} of them"  # pyright: ignore[reportUnknownArgumentType] - of whatever
    return NOTHING
