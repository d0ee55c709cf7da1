"""How long it takes in words: the finding, when the tank is full, what happens on the way, and the first water."""

from __future__ import annotations

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from typing import Final

import numpy as np

from curvelab.layout.times import MOST_NAMED, TimesWords, drawable
from curvelab.model.water import InflowTable
from curvelab.report.answers import Does, hour_and_fill
from curvelab.report.slow_tables import clock_facts
from curvelab.studies.clock import Clock
from curvelab.studies.clock_words import depth, duration, named, on_the_clock, refuels, tank_words
from curvelab.studies.result import Result
from curvelab.studies.times import Event, Times
from curvelab.units import Quantity, System, display_unit, gallon_word, show

NAME: Final = "How long it takes"
_NONE: Final = "–"
_DAY_S: Final = 86400.0
_REFUELS: Final = 3
"""Refuels that the table lists before it says how many more. [-]"""
_WORDS: Final = {
    "water": "water comes out (estimate)",
    "starved": "the suction is starved from here",
    "held": "throttled from here, to keep to the rate",
    "eased": "the rate no longer holds it back",
    "spills": "more runs in than is pumped: it runs over",
    "refuel": "refuel",
    "target": "done",
    "strainer": "least over the strainer",
    "suction": "the suction gives out",
    "no-lift": "it can’t be lifted any higher",
    "balanced": "it settles here",
}
_SHORT: Final = {
    "water": ("first water",),
    "starved": ("suction starved from here", "starved"),
    "held": ("held to the rate from here", "held back"),
    "eased": ("no longer held back",),
    "spills": ("runs over", "over"),
    "refuel": ("refuel",),
    "strainer": ("strainer’s cover", "cover"),
    "suction": ("suction gives out",),
    "no-lift": ("can’t lift it higher",),
    "balanced": ("settles",),
    "full": ("full",),
}


@dataclass(frozen=True, slots=True)
class Table:
    """A table: its caption, its heads and its rows, the first cell of a row its name."""

    caption: str
    heads: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    words: int = 0
    """Cells after the first one that hold words, which stand at the left."""


@dataclass(frozen=True, slots=True, kw_only=True)
class TimesSaid:
    """All that the tab says."""

    brief: str
    line: Does | None
    """What stands with the answer: how long until the water is down; ``None`` where nothing is emptied."""
    finding: str
    under: tuple[str, ...]
    """Further sentences, one a line."""
    course: tuple[Table, ...]
    """What happens on the way; empty where nothing goes on."""
    others: tuple[Table, ...]
    picture: TimesWords | None


def times_said(found: Times, result: Result) -> TimesSaid:
    """All words of the tab; ``result`` is the setup's own."""
    main = found.emptied or found.filled
    course, others = _course(found), (_first(found, result), _facts(main, found))
    return TimesSaid(
        brief=_brief(found, result),
        line=_line(found),
        finding=main.sentences[0] if main is not None else _plain(found, result),
        under=tuple(_under(found, main)),
        course=(course,) if course is not None else (),
        others=tuple(table for table in others if table is not None),
        picture=_picture(found) if drawable(found) else None,
    )


# --- sentences


def _brief(found: Times, result: Result) -> str:
    main = found.emptied or found.filled
    if main is None:
        drum = hour_and_fill(result, found.setup, found.setup.units)
        return (
            f"drum {drum[1].amount}" if len(drum) > 1 and result.flow_m3_s else "no flow" if not drum else drum[0].text
        )
    what = _short_name(found, main)
    if main.duration_s is not None and main.time_s.size < 2:
        return "nothing is pumped"
    if main.duration_s is None:
        level = depth(main.final_level_m or 0.0, found.setup.units)
        return f"{what} settles at {level}" if main.ends == "balanced" else f"{what} never falls"
    return f"{what} {duration(main.duration_s)}"


def _line(found: Times) -> Does | None:
    """``5 h 15 min`` · ``pond down to 18 in, 3 refuels``."""
    emptied = found.emptied
    if emptied is None or emptied.ends not in ("target", "strainer") or not emptied.duration_s:
        return None
    name = _short_name(found, emptied)
    left = emptied.final_level_m or 0.0
    does = f"{name} down to {depth(left, found.setup.units)}" if left > 0.0 else f"empties the {name}"
    return Does(duration(emptied.duration_s), does + refuels(emptied.refuels))


def _short_name(found: Times, main: Clock) -> str:
    """``pond`` of Mill pond: the last word of its name."""
    body, plain = (found.setup.source, "water") if main is found.emptied else (found.setup.receiver, "tank")
    if body is None:
        return "volume"
    return (body.name or plain).split()[-1].lower()


def _plain(found: Times, result: Result) -> str:
    """Without a pond or a tank: an hour, a drum, and the first water."""
    does = hour_and_fill(result, found.setup, found.setup.units)
    if not does or not result.flow_m3_s:
        return "Nothing comes, so nothing is filled or emptied."
    gallons = gallon_word(found.setup.units)
    hourly = f"An hour gives {_with_kind(does[0].amount, gallons)}"
    drum = f"; {does[1].does.removeprefix('fills ')} fills in {does[1].amount}" if len(does) > 1 else ""
    return f"{hourly}{drum}."


def _with_kind(amount: str, gallons: str) -> str:
    return amount.replace(" gal", f" {gallons} gal") if gallons else amount


def _under(found: Times, main: Clock | None) -> Iterator[str]:
    if main is None:
        if found.hose_s is not None:
            yield f"The discharge hose is full of water after {duration(found.hose_s)} (estimate)."
        yield "Say below what is emptied or filled, and this says when it is done."
        return
    if found.filled is not None and main is not found.filled and main.time_s.size > 1:
        yield tank_words(found.filled, found.setup)
    yield from main.sentences[1:]
    if found.filled is not None and main is not found.filled and found.filled.goal is not None and main.goal is None:
        yield from found.filled.sentences[1:]
    yield from (warn.text for warn in main.warnings)


# --- tables


def _course(found: Times) -> Table | None:
    course = found.course
    if course is None:
        return None
    system = found.setup.units
    clocked = float(course.time_s[-1]) < _DAY_S
    kinds = [
        (name, column, quantity)
        for name, column, quantity in (
            (_level_name(found, course), course.level_m if course is found.emptied else course.receiver_level_m, "l"),
            ("Lift", course.lift_m, "l"),
            ("Flow", course.flow_m3_s, "f"),
        )
        if np.isfinite(column).all() and not (name == "Lift" and float(np.ptp(column)) == 0.0)
    ]
    heads = ["After", "What happens", *(["At"] if clocked else [])]
    for name, _, kind in kinds:
        quantity = Quantity.FLOW if kind == "f" else Quantity.LENGTH
        word = gallon_word(system) if kind == "f" else ""
        heads.append(f"{name}, {' '.join(part for part in (word, display_unit(quantity, system).symbol) if part)}")
    rows: list[tuple[str, ...]] = []
    for time, words in _moments(found, course):
        cells = [duration(time), words, *([_hour(found, time)] if clocked else [])]
        for _, column, kind in kinds:
            quantity = Quantity.FLOW if kind == "f" else Quantity.LENGTH
            cells.append(_bare(float(np.interp(time, course.time_s, column)), quantity, system))
        rows.append(tuple(cells))
    return Table("On the way", tuple(heads), tuple(rows), words=1)


def _level_name(found: Times, course: Clock) -> str:
    name = _short_name(found, course)
    return f"{name[0].upper()}{name[1:]}"


def _moments(found: Times, course: Clock) -> list[tuple[float, str]]:
    """Start, events, the tank's end, and quarters where nothing happens near."""
    end = float(course.time_s[-1])
    said = [(0.0, "start")]
    stops = [event.time_s for event in found.events if event.code == "refuel"]
    said += [
        (event.time_s, _happens(event, found))
        for event in found.events
        if event.code != "refuel" or event.time_s in stops[:_REFUELS]
    ]
    if len(stops) > _REFUELS:
        more = len(stops) - _REFUELS
        said.append((stops[_REFUELS], f"refuel, and {more - 1} more" if more > 1 else "refuel"))
    if found.filled is not None and course is not found.filled and found.filled.ends == "full":
        said.append((found.filled.duration_s or 0.0, f"{named(found.setup.receiver, 'tank')} is full"))
    for quarter in (0.25 * end, 0.5 * end, 0.75 * end):
        if all(abs(time - quarter) > 0.06 * end for time, _ in said):
            said.append((quarter, ""))
    return sorted(said)


def _happens(event: Event, found: Times) -> str:
    inflow = found.setup.source.inflow if found.setup.source is not None else None
    if event.code == "inflow" and isinstance(inflow, InflowTable):
        flow = next(q for t, q in zip(inflow.time, inflow.flow, strict=True) if t.si == event.time_s)
        return f"{flow.show(found.setup.units)} runs in"
    if event.code == "full":
        return f"{named(found.setup.receiver, 'tank')} is full"
    return "empty" if event.code == "target" and _emptied(found) else _WORDS[event.code]


def _emptied(found: Times) -> bool:
    """Nothing is left of what is emptied."""
    return found.emptied is not None and found.emptied.final_level_m == 0.0


def _hour(found: Times, seconds: float) -> str:
    return on_the_clock(found.start, seconds, found.setup.units)


def _first(found: Times, result: Result) -> Table | None:
    """The first water, as it stands and with a foot valve on a filled hose."""
    if found.hose_s is None:
        return None
    dry, hose = found.prime_dry_s, found.hose_s
    reach = result.priming_lift_m
    too_high = reach is not None and found.setup.suction.lift.si > reach
    why = "too high to draw" if too_high else "not stated"
    rows = (
        ("The pump draws the water up", _draws(dry) or why, "at once"),
        ("Water comes out of the end", duration(dry + hose) if dry is not None else _NONE, duration(hose)),
    )
    return Table("First water (estimate)", ("", "no foot valve", "foot valve, hose full"), rows)


def _draws(seconds: float | None) -> str:
    """How long it draws the water up; empty where that can't be told."""
    return "" if seconds is None else "at once" if seconds == 0.0 else duration(seconds)


def _facts(main: Clock | None, found: Times) -> Table | None:
    if main is None or main.time_s.size < 2:
        return None
    rows = tuple((f"{name[0].upper()}{name[1:]}", value) for name, value in clock_facts(main, found.setup) if value)
    goal = main.goal
    if goal is not None:
        system = found.setup.units
        rows += (
            ("Wanted", f"{show(goal.volume_m3, Quantity.VOLUME, system)} in {duration(goal.time_s)}"),
            ("That takes", show(goal.flow_m3_s, Quantity.FLOW, system)),
            ("This gives on average", show(goal.given_m3_s, Quantity.FLOW, system)),
        )
    return Table("All in all", ("", ""), rows) if rows else None


def _bare(value: float, quantity: Quantity, system: System) -> str:
    unit = display_unit(quantity, system)
    return show(value, quantity, system, unit=display_unit(quantity, system, value) != unit)


# --- the picture


def _picture(found: Times) -> TimesWords:
    course = found.course
    assert course is not None  # noqa: S101 - drawable
    system = found.setup.units
    emptied = course is found.emptied
    name = named(found.setup.source if emptied else found.setup.receiver, "water" if emptied else "tank")
    stops = [event.time_s for event in found.events if event.code == "refuel"]
    many = len(stops) > MOST_NAMED
    every = duration(float(np.mean(np.diff(stops)))) if many else ""
    unit = display_unit(Quantity.LENGTH, system).symbol
    tank = found.filled is not None and emptied
    both = f" and of the {_short_name(found, found.filled)}" if tank and found.filled is not None else ""
    low = depth(course.final_level_m or 0.0, system) if course.final_level_m else ""
    return TimesWords(
        title=(f"Level of the water{both}, {unit}, against time", f"Level, {unit}, against time"),
        label=f"Level against time. {' '.join(course.sentences[:1])}",
        source=(name,),
        tank=(named(found.setup.receiver, "tank"), "tank") if tank else (),
        low=(f"{low} left", low) if low else (),
        events=tuple(_events(found, many=many)),
        held=_rate(found),
        refuels=(f"{len(stops)} refuels, one every {every}", f"{len(stops)} refuels") if many else (),
    )


def _rate(found: Times) -> tuple[str, ...]:
    """What keeps to the rate that the level may fall at."""
    source = found.setup.source
    if source is None or source.fastest is None or found.course is None or found.course.held_s is None:
        return ()
    rate = source.fastest.show(found.setup.units)
    return f"throttled to keep to {rate}", f"kept to {rate}"


def _events(found: Times, *, many: bool) -> Iterable[tuple[str, float, tuple[str, ...]]]:
    for event in found.events:
        if event.code == "refuel" and many:
            continue
        words = _SHORT.get(event.code) or (_happens(event, found),)
        after = duration(event.time_s)
        long = f"{words[0]}: {after}"
        if event is found.events[-1] and found.course is not None and float(found.course.time_s[-1]) < _DAY_S:
            long = f"{words[0]}: {after}, {_hour(found, event.time_s)}"
        yield event.code, event.time_s, tuple(dict.fromkeys((long, f"{words[-1]}: {after}", words[-1])))
    filled = found.filled
    if filled is not None and filled is not found.course and filled.ends == "full" and filled.duration_s is not None:
        full = f"full: {duration(filled.duration_s)}"
        yield "full", filled.duration_s, (full,)
