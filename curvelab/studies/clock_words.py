"""What the clock says, in the sentence that a customer wants and the few that a careful person adds."""

from __future__ import annotations

import datetime as dt
import math
from typing import TYPE_CHECKING, Final, NamedTuple

from curvelab.studies.clock_site import Site
from curvelab.units import Quantity, System, show

if TYPE_CHECKING:
    from curvelab.studies.clock import Clock

TEXTS: Final[dict[str, str]] = {
    "cannot-restart": "When the tank runs dry after {when}, the water lies lower than this pump draws it dry: "
    "it won't start again. Fill the tank before, or fit a foot valve.",
    "fuel-unknown": "Power or fuel isn't stated all the way, or the pumps are of several kinds: the fuel isn't known.",
    "fuel-estimate": "At small flows nobody tested this pump's power; the fuel there is an estimate.",
    "fuel-guess": "What this engine burns is an estimate, and so is the fuel.",
    "short-of-power": "The engine is short of power for part of it: it will slow down, and it takes longer.",
    "past-curve": "For part of it the pump runs past its tested curve: it gives more, and it takes less time.",
    "perhaps-starved": "This pump's sheet doesn't say what its suction needs; by a guess it is starved for part of it, "
    "and takes longer.",
    "starved": "While its suction is starved the pump growls and wears; the flow is a careful lower figure.",
}
"""Sentence of each of the clock's own codes."""

_ENDS: Final = {
    "target": "done",
    "full": "full",
    "strainer": "strainer's cover",
    "suction": "suction gives out",
    "no-lift": "can't lift it higher",
}
_DAYS_FROM_S: Final = 48 * 3600.0
_DAY_S: Final = 86400.0
_STEP_S: Final = 60.0


def duration(seconds: float) -> str:
    """A time in words: minutes under 90, then hours and five-minute steps, days from 48 h."""
    if seconds < _DAYS_FROM_S:
        return show(seconds, Quantity.TIME, System.METRIC)
    days = seconds / _DAY_S
    return f"{days:.1f} days".replace(".0 ", " ") if days < 20.0 else f"{days:.0f} days"


class Event(NamedTuple):
    """Something to mark on a picture of the levels against time."""

    time_s: float
    code: str
    """starved, refuel, or how it ends."""
    words: str


def events(found: Clock) -> tuple[Event, ...]:
    """What happens on the way, by time."""
    marks = [Event(stop, "refuel", "refuel") for stop in found.fuel_stops_s]
    if found.starved_from_s is not None:
        marks.append(Event(found.starved_from_s, "starved", "suction starved"))
    if found.duration_s is not None:
        marks.append(Event(found.duration_s, found.ends, _ENDS[found.ends]))
    return tuple(sorted(marks))


def sentence(found: Clock, site: Site, start: dt.datetime | None) -> str:
    """The finding, then what runs in, the rate kept and the volume wanted, each only where it applies."""
    parts = [_finding(found, site, start), _starved(found), _rate(found, site), _keeps(found, site), _goal(found, site)]
    return " ".join(part for part in parts if part)


def _finding(found: Clock, site: Site, start: dt.datetime | None) -> str:
    units = site.setup.units
    left = "" if found.final_level_m is None else show(found.final_level_m, Quantity.LENGTH, units)
    if not site.begins:
        return (
            "Won't prime: nothing is pumped."
            if found.ends == "suction"
            else "Can't lift it that high: nothing is pumped."
        )
    match found.ends:
        case "target" | "strainer" | "full":
            return f"{_done(found, site, left)} {_when(found, start, units)}{_refuels(found)}."
        case "suction":
            return f"The suction gives out after about {duration(found.duration_s or 0.0)}, with {left} left."
        case "no-lift":
            return f"The pump can't lift it any higher after about {duration(found.duration_s or 0.0)}{_at(left)}."
        case "balanced":
            return f"Settles at {left}: there the pump takes no more than runs in."
        case _:
            running_in = show(site.last_inflow_m3_s, Quantity.FLOW, units)
            gives = show(float(found.flow_m3_s[-1]), Quantity.FLOW, units)
            return f"Never: {running_in} runs in and the pump takes {gives}."


def _at(left: str) -> str:
    return f", with {left} left" if left else ""


def _done(found: Clock, site: Site, left: str) -> str:
    setup = site.setup
    if found.ends == "full":
        name = (setup.receiver.name if setup.receiver is not None else None) or "tank"
        return f"{name[0].upper()}{name[1:]} full"
    if site.source is None:
        return f"{show(site.room_m3, Quantity.VOLUME, setup.units)} moved"
    if found.ends == "strainer":
        why = "as far as the suction hose reaches" if site.hose_ends else "the least over the strainer"
        return f"Down to {left} ({why})"
    return "Empty" if site.lowest_m == 0.0 else f"Down to {left}"


def _when(found: Clock, start: dt.datetime | None, units: System) -> str:
    seconds = found.duration_s or 0.0
    if start is None:
        return f"in about {duration(seconds)}"
    return f"by about {time_of_day(start, seconds, units)}: {duration(seconds)}"


def time_of_day(start: dt.datetime, seconds: float, units: System) -> str:
    """When it is done, to the next five minutes; twelve hours where units are US. Another day is named."""
    end = start + dt.timedelta(seconds=math.ceil(seconds / _STEP_S) * _STEP_S)
    late = dt.timedelta(minutes=-end.minute % 5, seconds=-end.second, microseconds=-end.microsecond)
    end += late
    days = (end.date() - start.date()).days
    if units is System.US:
        hour = f"{(end.hour - 1) % 12 + 1}" + (f":{end.minute:02d}" if end.minute else "")
        said = f"{hour} {'am' if end.hour < 12 else 'pm'}"
    else:
        said = f"{end.hour}:{end.minute:02d}"
    if days == 0:
        return said
    if days == 1:
        return f"{said} the next day"
    return f"{said} on {end:%A}" if days < 7 else f"{said} on {end.day} {end:%B}"


def _refuels(found: Clock) -> str:
    if found.refuels is None:
        return ""
    return {0: ", no refuel", 1: ", one refuel"}.get(found.refuels, f", {found.refuels} refuels")


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
