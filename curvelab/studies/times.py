"""How long does it take, all that a counter is asked of it: when the water comes, what is emptied, what is filled."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from dataclasses import dataclass, replace
from typing import Any, Final

import numpy as np

from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.setup import Setup
from curvelab.model.water import InflowTable
from curvelab.studies.clock import Clock, clock
from curvelab.studies.power import power_of

_BRIM: Final = 1e-5
"""Share of its depth by which a body may stand under its brim and still be full. [-]"""
START: Final = dt.time(9)
"""When a day's work begins where the setup doesn't say: our own choice."""


@dataclass(frozen=True, slots=True, order=True)
class Event:
    """Something that happens on the way."""

    time_s: float
    code: str
    """water, inflow, held and eased (the rate that the level may fall holds the flow back, and no longer), starved,
    spills (over its brim), refuel, or how it ends."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Times:
    """The clocks of one setup. ``None``: there is no such thing, or it can't be told."""

    setup: Setup
    start: dt.time
    emptied: Clock | None
    """The water pumped from, whatever becomes of what is filled."""
    filled: Clock | None
    """The tank, or the volume wanted where nothing is emptied."""
    prime_s: float | None
    """To draw the water up; 0 with a foot valve and a filled hose. [s]"""
    prime_dry_s: float | None
    """The same without a foot valve. [s]"""
    hose_s: float | None
    """To fill the discharge hose. Estimate. [s]"""
    first_water_s: float | None
    """Until water comes out of the end. Estimate. [s]"""
    events: tuple[Event, ...]
    """Of ``course``, by time."""

    @property
    def course(self) -> Clock | None:
        """The clock that is drawn: of what is emptied, else of what is filled; ``None`` where nothing goes on."""
        return next((one for one in (self.emptied, self.filled) if one is not None and one.time_s.size > 1), None)


@dataclass(frozen=True, slots=True, kw_only=True)
class Clocks:
    """The clock of a setup and, where it both empties and fills, of what it empties by itself."""

    whole: Clock
    """Until the first end of any of them."""
    emptied: Clock | None
    """The water pumped from, whatever becomes of the tank; ``None`` unless there is both."""

    def to_dict(self) -> dict[str, Any]:
        """The object of ``whole``, with that of ``emptied`` within it."""
        return {**self.whole.to_dict(), "emptied": None if self.emptied is None else self.emptied.to_dict()}


def clocks(setup: Setup, catalogue: Catalogue | None = None) -> Clocks:
    """How long the setup takes until it ends, and how long its water takes by itself.

    Raises
    ------
    InputError
        As ``clock``.
    """
    both = setup.source is not None and setup.receiver is not None
    whole = clock(setup, catalogue)
    return Clocks(whole=whole, emptied=clock(setup.with_("receiver", None), catalogue) if both else None)


def times(setup: Setup, catalogue: Catalogue | None = None) -> Times:
    """The clocks of a setup, and the time until water comes.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    power = power_of(setup, known)
    start = setup.job.starts or START
    emptied = filled = None
    if setup.source is not None:
        emptied = clock(setup.with_("receiver", None), known, start=start)
    if setup.receiver is not None or (emptied is None and setup.goal.volume is not None):
        filled = clock(setup, known, start=start)
    found = Times(
        setup=setup,
        start=start,
        emptied=emptied,
        filled=filled,
        prime_s=power.prime_s,
        prime_dry_s=power.prime_dry_s,
        hose_s=power.fill_s,
        first_water_s=power.first_water_s,
        events=(),
    )
    return replace(found, events=tuple(sorted(_events(found))))


def _spills(found: Times) -> float | None:
    """When what is emptied first stands at its brim with more running in than is pumped. [s]"""
    course, source = found.emptied, found.setup.source
    if course is None or source is None:
        return None
    level = course.level_m
    brim = source.greatest_level_m
    full = level[1:] >= brim * (1.0 - _BRIM) - 1e-9
    stays = np.flatnonzero(full & (np.diff(level) >= 0.0))
    return float(course.time_s[stays[0] + 1]) if stays.size else None


def _events(found: Times) -> Iterator[Event]:
    course = found.course
    if course is None:
        return
    end = float(course.time_s[-1])
    held, eased = course.held_s or (None, None)
    marks = ((found.first_water_s, "water"), (course.starved_from_s, "starved"), (held, "held"), (eased, "eased"))
    for time, code in marks:
        if time is not None and 0.0 < time < end:
            yield Event(time, code)
    inflow = found.setup.source.inflow if found.setup.source is not None else None
    if isinstance(inflow, InflowTable):
        yield from (Event(time.si, "inflow") for time in inflow.time if 0.0 < time.si < end)
    spills = _spills(found)
    if spills is not None and spills < end:
        yield Event(spills, "spills")
    yield from (Event(stop, "refuel") for stop in course.fuel_stops_s)
    yield Event(end, course.ends)
