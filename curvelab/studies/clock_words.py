"""What the clock says, in the sentence that a customer wants and the few that a careful person adds."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING, Final

from curvelab.model.setup import Setup
from curvelab.model.water import Body
from curvelab.studies.clock_site import Site
from curvelab.units import Quantity, System, plain, show

if TYPE_CHECKING:
    from curvelab.studies.clock import Clock

TEXTS: Final[dict[str, str]] = {
    "cannot-restart": "When the tank runs dry after {when}, the water lies lower than this pump draws it dry: "
    "it won't start again. Fill the tank before, or fit a foot valve.",
    "fuel-unknown": "Power or fuel isn't stated all the way: the fuel isn't known.",
    "fuel-estimate": "At small flows nobody tested this pump's power; the fuel there is an estimate.",
    "fuel-guess": "What this engine burns is an estimate, and so is the fuel.",
    "short-of-power": "The engine is short of power for part of it: it will slow down, and it takes longer.",
    "past-curve": "For part of it the pump runs past its tested curve: it gives more, and it takes less time.",
    "perhaps-starved": "This pump's sheet doesn't say what its suction needs; by a guess it is starved for part of it, "
    "and takes longer.",
    "starved": "While its suction is starved the pump growls and wears; the flow is a careful lower figure.",
}
"""Sentence of each of the clock's own codes."""

_DAYS_FROM_S: Final = 48 * 3600.0
_DAY_S: Final = 86400.0
_STEP_S: Final = 60.0
_FINE_S, _COARSE_S, _COARSE_FROM_S = 60.0, 300.0, 5400.0  # steps of a printed time
_INCH_M: Final = 0.0254
_INCHES_TO: Final = 36
Start = dt.datetime | dt.time | None
"""A moment; a time of day, for "if you start at"; or nothing is said of when."""


def duration(seconds: float) -> str:
    """A time in words: minutes under 90, then hours and five-minute steps, days from 48 h."""
    if seconds < _DAYS_FROM_S:
        return show(seconds, Quantity.TIME, System.METRIC)
    days = seconds / _DAY_S
    return f"{days:.1f} days".replace(".0 ", " ") if days < 20.0 else f"{days:.0f} days"


def parts(found: Clock, site: Site, start: Start) -> tuple[str, ...]:
    """The finding, then what runs in, the rate kept and the volume wanted, each only where it applies."""
    said = [_finding(found, site, start), _starved(found), _rate(found, site), _keeps(found, site), _goal(found, site)]
    return tuple(part for part in said if part)


def named(body: Body | None, plain: str) -> str:
    """A body of water as the subject of a sentence: ``Mill pond``, ``The orchard tank``, ``The water``."""
    name = (body.name if body is not None else None) or plain
    return name if name[:1].isupper() else f"The {name}"


def tank_words(filled: Clock, setup: Setup) -> str:
    """What becomes of a tank beside water that is emptied: when it is full, or how much it gets."""
    if filled.ends == "full":
        return filled.sentences[0]
    gets = show(filled.volume_m3 or 0.0, Quantity.VOLUME, setup.units)
    return f"{named(setup.receiver, 'tank')} gets no more than {gets} of it: it is not full then."


def job_words(found: Clock, setup: Setup) -> str:
    """What a clock is of, after "to": ``fill the orchard tank``, ``bring Mill pond down to 18 in``."""
    if found.ends == "full":
        return f"fill {_within(named(setup.receiver, 'tank'))}"
    if setup.source is None or found.final_level_m is None:
        moved = show(found.volume_m3 or 0.0, Quantity.VOLUME, setup.units)
        return f"move {moved}"
    water = _within(named(setup.source, "water"))
    if found.final_level_m == 0.0:
        return f"empty {water}"
    return f"bring {water} down to {depth(found.final_level_m, setup.units)}"


def _within(name: str) -> str:
    """A name inside a sentence."""
    return f"the {name[4:]}" if name.startswith("The ") else name


def depth(level_m: float, system: System) -> str:
    """A depth of water as people say it: inches under 3 ft, centimetres under a metre."""
    if system is System.METRIC:
        return show(level_m, Quantity.LENGTH, system) if level_m >= 1.0 else f"{plain(round(100.0 * level_m))} cm"
    inches = round(level_m / _INCH_M)
    return show(level_m, Quantity.LENGTH, system) if inches >= _INCHES_TO else f"{plain(inches)} in"


def _finding(found: Clock, site: Site, start: Start) -> str:
    units = site.setup.units
    water = named(site.setup.source, "water")
    left = "" if found.final_level_m is None else depth(found.final_level_m, units)
    if not site.begins:
        return (
            "Won't prime: nothing is pumped."
            if found.ends == "suction"
            else "Can't lift it that high: nothing is pumped."
        )
    after = f"After about {duration(found.duration_s or 0.0)}"
    match found.ends:
        case "target" | "strainer" | "full":
            return f"{_done(found, site, left)} {_when(found, start, units)}{refuels(found.refuels)}."
        case "suction":
            return f"{after} the suction gives out{f', with {left} left' if left else ''}."
        case "no-lift":
            return f"{after} the pump can't lift it any higher{f', with {left} left' if left else ''}."
        case "balanced":
            return f"{water} settles at {left}: there the pump takes no more than runs in."
        case _:
            running_in = show(site.last_inflow_m3_s, Quantity.FLOW, units)
            gives = show(float(found.flow_m3_s[-1]), Quantity.FLOW, units)
            return f"{water} never falls: {running_in} runs in and the pump takes {gives}."


def _done(found: Clock, site: Site, left: str) -> str:
    setup = site.setup
    if found.ends == "full":
        return f"{named(setup.receiver, 'tank')} is full"
    if site.source is None:
        return f"{show(site.room_m3, Quantity.VOLUME, setup.units)} is moved"
    water = named(setup.source, "water")
    if found.ends == "strainer":
        why = "as far as the suction hose reaches" if site.hose_ends else "the least over the strainer"
        return f"{water} is down to {left} ({why})"
    return f"{water} is empty" if site.lowest_m == 0.0 else f"{water} is down to {left}"


def _when(found: Clock, start: Start, units: System) -> str:
    seconds = found.duration_s or 0.0
    took = f"in about {duration(seconds)}"
    if start is None:
        return took
    if isinstance(start, dt.datetime):
        seconds = printed_s(seconds)
        return f"by about {time_of_day(start, seconds, units)}: {took.removeprefix('in about ')}"
    if seconds >= _DAYS_FROM_S - _DAY_S:
        return took
    return f"{took}: about {on_the_clock(start, seconds, units)} if you start at {hour_of(start, units)}"


def printed_s(seconds: float) -> float:
    """A time as it is printed, so that a customer who adds up comes to the same hour. [s]"""
    step = _FINE_S if seconds < _COARSE_FROM_S else _COARSE_S
    return step * round(seconds / step)


def on_the_clock(start: dt.time, seconds: float, units: System) -> str:
    """The time of day after so long: ``2:15 pm``, ``1:15 am the next day``."""
    then = dt.datetime.combine(dt.date.min, start) + dt.timedelta(seconds=printed_s(seconds))
    days = (then.date() - dt.date.min).days
    late = {0: "", 1: " the next day"}.get(days, f" {days} days later")
    return f"{hour_of(then.time(), units)}{late}"


def time_of_day(start: dt.datetime, seconds: float, units: System) -> str:
    """When it is done, to the next five minutes; twelve hours where units are US. Another day is named."""
    end = _done_at(start, seconds)
    days = (end.date() - start.date()).days
    said = hour_of(end.time(), units)
    if days == 0:
        return said
    if days == 1:
        return f"{said} the next day"
    return f"{said} on {end:%A}" if days < 7 else f"{said} on {end.day} {end:%B}"


def _done_at(start: dt.datetime, seconds: float) -> dt.datetime:
    """The next five minutes of the wall clock after so long."""
    end = start + dt.timedelta(seconds=math.ceil(seconds / _STEP_S) * _STEP_S)
    return end + dt.timedelta(minutes=-end.minute % 5, seconds=-end.second, microseconds=-end.microsecond)


def hour_of(time: dt.time, units: System) -> str:
    """A time of day: ``2:20 pm`` where units are US, else ``14:20``."""
    if units is not System.US:
        return f"{time.hour}:{time.minute:02d}"
    hour = f"{(time.hour - 1) % 12 + 1}" + (f":{time.minute:02d}" if time.minute else "")
    return f"{hour} {'am' if time.hour < 12 else 'pm'}"


def refuels(count: int | None) -> str:
    """How often, after a comma; empty where that isn't known."""
    if count is None:
        return ""
    return {0: ", no refuel", 1: ", one refuel"}.get(count, f", {count} refuels")


def _starved(found: Clock) -> str:
    since = found.starved_from_s
    if since is None:
        return ""
    return (
        "Its suction is starved all the way." if since == 0.0 else f"From {duration(since)} on its suction is starved."
    )


def _rate(found: Clock, site: Site) -> str:
    """Hours of pumping a day, where a rate may not be passed."""
    running, lasts = found.running_s, found.duration_s
    if site.setup.source is None or site.setup.source.fastest is None or running is None or not lasts:
        return ""
    if running > 0.99 * lasts:
        return ""
    rate = site.setup.source.fastest.show(site.setup.units)
    if lasts < _DAY_S:
        return f"That keeps to {rate}; unthrottled it runs {duration(running)} of it."
    return f"That keeps to {rate}: {duration(_DAY_S * running / lasts)} of pumping a day."


def _keeps(found: Clock, site: Site) -> str:
    """What keeps a hole dry once it is."""
    if found.duty_share is None or found.ends not in ("target", "strainer"):
        return ""
    units = site.setup.units
    inflow, share = show(site.last_inflow_m3_s, Quantity.FLOW, units), show(found.duty_share, Quantity.SHARE, units)
    return f"To keep it there against {inflow} it runs {share} of the time."


def _goal(found: Clock, site: Site) -> str:
    goal, units = found.goal, site.setup.units
    if goal is None:
        return ""
    wanted = f"{show(goal.volume_m3, Quantity.VOLUME, units)} in {duration(goal.time_s)}"
    takes, gives = (show(flow, Quantity.FLOW, units) for flow in (goal.flow_m3_s, goal.given_m3_s))
    if goal.met:
        return f"{wanted} takes {takes}; this gives {gives}: it does it."
    why = ": it does not do it" if goal.given_m3_s < goal.flow_m3_s else ", but the water doesn't last that long"
    return f"{wanted} takes {takes}; this gives {gives}{why}."
