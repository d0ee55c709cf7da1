"""How long does it take? Water that falls, a tank that fills, what runs in meanwhile, and the fuel it takes."""

from __future__ import annotations

import math
from collections.abc import Iterator
from dataclasses import asdict, dataclass, field, replace
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.solution import Outcome, Solution
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.setup import Setup
from curvelab.studies.clock_course import Course, course_of
from curvelab.studies.clock_fuel import MOST_STOPS, Burning, PumpFuel, burning
from curvelab.studies.clock_site import Site, site_of
from curvelab.studies.clock_words import TEXTS, Start, duration, parts
from curvelab.studies.result import Warn

FORMAT: Final = "curvelab-clock/1"

Floats = NDArray[np.float64]

OPEN_ENDED: Final = ("balanced", "never")
"""Ends that are none: the pump runs on."""
_COLUMNS: Final = ("time_s", "level_m", "flow_m3_s", "lift_m", "receiver_level_m", "rise_m")
_MOST_STOPS: Final = 1000
_UNHELD: Final = 0.999
"""Share of the time that the pump runs from which on nothing holds it back. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class GoalAnswer:
    """A volume wanted within a time, turned into the flow that it takes."""

    volume_m3: float
    time_s: float
    flow_m3_s: float
    """What it takes on the average."""
    given_m3_s: float
    """What this setup gives on the average, within the time and as long as it runs."""
    reached_s: float | None
    """When that volume has gone through the pump; ``None`` where it ends before."""
    met: bool


@dataclass(frozen=True, slots=True, kw_only=True)
class Clock:
    """The answer of ``clock``. ``None``: does not apply. Columns are arrays of shape (n,), NaN for null.

    Times are those of a careful person: a refuel takes none, and a rate that may not be passed is kept by a throttle.
    """

    ends: str
    """target, full, strainer, suction, no-lift, balanced or never."""
    duration_s: float | None
    volume_m3: float | None
    """Through the pump."""
    final_level_m: float | None
    """Of the source."""
    starved_from_s: float | None
    running_s: float | None
    """How long the pump would run unthrottled."""
    held_s: tuple[float, float] | None
    """From when to when ``fastest`` holds the flow back; ``None`` where it never does."""
    duty_share: float | None
    """Share of the time that it runs to keep the level where it ended; 1 where it never rests."""
    greatest_inflow_m3_s: float | None
    """Steady inflow below which the level still comes down to where it is meant to."""
    fuel_m3: float | None
    """Of all engines together."""
    pump_fuel: tuple[PumpFuel, ...]
    """The same pump by pump, those at the water first."""
    fuel_stops_s: tuple[float, ...]
    """When a tank, full at the start, is empty, and all of them are filled; the first thousand of them."""
    first_refuel_s: float | None
    """When that is for the first time, also where the pump runs on for ever."""
    refuels: int | None
    goal: GoalAnswer | None
    warnings: tuple[Warn, ...]
    sentences: tuple[str, ...]
    """The finding first, then what a careful person adds."""
    time_s: Floats = field(compare=False)
    level_m: Floats = field(compare=False)
    flow_m3_s: Floats = field(compare=False)
    lift_m: Floats = field(compare=False)
    receiver_level_m: Floats = field(compare=False)
    rise_m: Floats = field(compare=False)

    @property
    def sentence(self) -> str:
        """All of them."""
        return " ".join(self.sentences)

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, null for NaN, ``format`` first."""
        out: dict[str, Any] = {"format": FORMAT, "sentence": self.sentence}
        for name in self.__slots__:
            value = getattr(self, name)
            if name in _COLUMNS:
                out[name] = [v if math.isfinite(v) else None for v in value.tolist()]
            elif name not in ("sentences", "goal", "warnings", "pump_fuel"):
                out[name] = list(self.fuel_stops_s) if name == "fuel_stops_s" else value
        out["goal"] = asdict(self.goal) if self.goal else None
        out["pump_fuel"] = [asdict(one) for one in self.pump_fuel]
        out["warnings"] = [asdict(warn) for warn in self.warnings]
        return out


def clock(setup: Setup, catalogue: Catalogue | None = None, *, start: Start = None) -> Clock:
    """How long emptying, filling or moving takes, with falling level, inflow, limits and fuel.

    Parameters
    ----------
    setup : Setup
        With ``[source]``, ``[receiver]``, or a ``[goal]`` of a volume in a time.
    catalogue : Catalogue, optional
        As ``solve``.
    start : datetime or time, optional
        When it begins: the sentence then says the time of day at which it ends. Left out: that of ``[job]``, if any.

    Returns
    -------
    Clock

    Raises
    ------
    InputError
        As ``solve``; and where there is nothing to empty, to fill or to move.
    """
    known = catalogue or default_catalogue()
    site = site_of(setup, known)
    course = course_of(site)
    nodes = site.solve(course.level_m, course.receiver_m)
    fuel = burning(site, course, nodes, known)
    open_ended = course.ends in OPEN_ENDED
    stops = fuel.stops_s(course.time_s) if fuel.known else []
    first = stops[0] if stops else fuel.beyond_s(course.time_s) if fuel.known and open_ended else None
    lasts = fuel.known and not open_ended and site.begins
    found = Clock(
        ends=course.ends,
        duration_s=None if open_ended else float(course.time_s[-1]),
        volume_m3=None if open_ended else float(course.moved_m3[-1]),
        final_level_m=None if site.source is None else course.last_m,
        starved_from_s=_starved_from(course, nodes),
        running_s=None if open_ended else float(course.running_s[-1]),
        held_s=_held(course),
        duty_share=_duty(site, course),
        greatest_inflow_m3_s=course.greatest_inflow_m3_s,
        fuel_m3=fuel.total_m3 if lasts else None,
        pump_fuel=fuel.each(open_ended=open_ended),
        fuel_stops_s=tuple(stops[:_MOST_STOPS]),
        first_refuel_s=first,
        refuels=len(stops) if lasts and len(stops) < MOST_STOPS else None,
        goal=_goal(setup, course),
        warnings=(),
        sentences=(),
        time_s=course.time_s,
        level_m=course.level_m,
        flow_m3_s=course.flow_m3_s,
        lift_m=site.lift_m(course.level_m),
        receiver_level_m=course.receiver_m,
        rise_m=site.rise_m(course.receiver_m),
    )
    warned = replace(found, warnings=tuple(_warnings(site, course, nodes, found, fuel)))
    return replace(warned, sentences=parts(warned, site, start or setup.job.starts))


def _starved_from(course: Course, nodes: Solution) -> float | None:
    """When the suction limit falls below what the curves would give, straight between two nodes."""
    starved = nodes.outcome == Outcome.CAVITATING
    if not starved.any():
        return None
    at = int(starved.argmax())
    if at == 0:
        return 0.0
    runs_to = np.where(np.isnan(nodes.crossing_flow_m3_s), nodes.end_flow_m3_s, nodes.crossing_flow_m3_s)
    gap = (nodes.cavitation_flow_m3_s - runs_to)[at - 1 : at + 1]
    before, after = course.time_s[at - 1 : at + 1].tolist()
    if np.isnan(gap).any() or not gap[0] > 0.0 >= gap[1]:
        return before
    return before + (after - before) * float(gap[0] / (gap[0] - gap[1]))


def _held(course: Course) -> tuple[float, float] | None:
    held = np.flatnonzero(np.diff(course.running_s) < np.diff(course.time_s) * _UNHELD)
    return (float(course.time_s[held[0]]), float(course.time_s[held[-1] + 1])) if held.size else None


def _duty(site: Site, course: Course) -> float | None:
    inflow, flow = site.last_inflow_m3_s, float(course.free_m3_s[-1])
    if site.source is None or inflow == 0.0 or flow <= 0.0:
        return None
    return 1.0 if course.ends in OPEN_ENDED else min(1.0, inflow / flow)


def _goal(setup: Setup, course: Course) -> GoalAnswer | None:
    wanted, within = setup.goal.volume, setup.goal.time
    if wanted is None or within is None:
        return None
    volume, time = wanted.si, within.si
    moved, flow = course.moved_m3, float(course.flow_m3_s[-1])
    reached: float | None = None
    if moved[-1] >= volume * (1.0 - 1e-9):
        reached = float(np.interp(volume, moved, course.time_s))
    elif course.ends in OPEN_ENDED and flow > 0.0:
        reached = float(course.time_s[-1] + (volume - moved[-1]) / flow)
    span = min(time, float(course.time_s[-1]))
    given = float(np.interp(span, course.time_s, moved)) / span if span > 0.0 else flow
    enough = given >= volume / time * (1.0 - 1e-9)
    met = enough if course.ends == "full" and reached is None else reached is not None and reached <= time * (1 + 1e-9)
    return GoalAnswer(
        volume_m3=volume, time_s=time, flow_m3_s=volume / time, given_m3_s=given, reached_s=reached, met=met
    )


def _warnings(site: Site, course: Course, nodes: Solution, found: Clock, fuel: Burning) -> Iterator[Warn]:
    reach = float(nodes.priming_lift_m[0])
    lifts = np.interp(found.fuel_stops_s, found.time_s, found.lift_m) if found.fuel_stops_s else np.empty(0)
    beyond = np.flatnonzero(lifts > reach) if math.isfinite(reach) else np.empty(0, dtype=np.int64)
    if beyond.size and not site.plan.holds_prime[0]:
        when = duration(found.fuel_stops_s[int(beyond[0])])
        yield Warn(code="cannot-restart", text=TEXTS["cannot-restart"].format(when=when))
    if not fuel.known and fuel.any_engine and course.time_s[-1] > 0.0:
        yield Warn(code="fuel-unknown", text=TEXTS["fuel-unknown"])
    told = fuel.known and site.begins
    if told and fuel.guessed:
        yield Warn(code="fuel-estimate", text=TEXTS["fuel-estimate"])
    if told and fuel.estimate:
        yield Warn(code="fuel-guess", text=TEXTS["fuel-guess"])
    if fuel.short:
        yield Warn(code="short-of-power", text=TEXTS["short-of-power"])
    if (nodes.outcome == Outcome.OFF_CURVE).any():
        yield Warn(code="past-curve", text=TEXTS["past-curve"])
    if (course.free_m3_s > nodes.cavitation_low_m3_s).any():
        yield Warn(code="perhaps-starved", text=TEXTS["perhaps-starved"])
    if found.starved_from_s is not None:
        yield Warn(code="starved", text=TEXTS["starved"])
