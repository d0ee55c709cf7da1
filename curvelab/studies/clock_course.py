"""The course of the levels: by one integral where the level alone tells the flow, step by step in time where not."""

from __future__ import annotations

from dataclasses import dataclass, replace
from math import inf
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.drain import End, Fall, drain
from curvelab.hydraulics.ebb import Basin, FlowTable, follow
from curvelab.hydraulics.solution import Outcome
from curvelab.hydraulics.tank import Tank
from curvelab.studies.clock_site import NONE_SHARE, Site

Floats = NDArray[np.float64]

_ALONE: Final = 257
_BOTH: Final = 33
"""Levels at which the flow is tabled for ``ebb.follow``: of the source alone, or of each of both bodies."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Course:
    """Levels and flows against time, shapes (n,), the first entry at time 0. NaN: there is no such body."""

    ends: str
    """target, full, strainer, suction, no-lift, balanced or never."""
    last_m: float
    """Where the source's level ends or settles."""
    time_s: Floats
    level_m: Floats
    receiver_m: Floats
    flow_m3_s: Floats
    free_m3_s: Floats
    """The flow unthrottled."""
    running_s: Floats
    moved_m3: Floats
    greatest_inflow_m3_s: float | None
    """Steady inflow below which the level still comes down to where it is meant to; ``None`` without a source."""


def course_of(site: Site) -> Course:
    """What becomes of the levels of a site."""
    if not site.begins:
        return _at_once(site, _why_none(site, site.depth_m, site.level_m))
    if site.source is None:
        return _filled(site)
    if site.depth_m <= site.lowest_m or site.room_m3 <= 0.0:
        return _at_once(site, "full" if site.room_m3 <= 0.0 else site.lowest)
    if site.steady and not (site.coupled and site.last_inflow_m3_s > 0.0):
        return _drained(site, site.source)
    return _followed(site, site.source)


def _at_once(site: Site, ends: str) -> Course:
    """Nothing to wait for: it ends as it begins."""
    zero = np.zeros(1)
    flow = np.nan_to_num(site.start.flow_m3_s)
    return Course(
        ends=ends,
        last_m=site.depth_m,
        time_s=zero,
        level_m=np.array([site.depth_m]),
        receiver_m=np.array([site.level_m]),
        flow_m3_s=flow,
        free_m3_s=flow,
        running_s=zero,
        moved_m3=zero,
        greatest_inflow_m3_s=None if site.source is None else float(flow[0]),
    )


def _filled(site: Site) -> Course:
    """A receiver alone, or a volume, out of water that doesn't fall: its room empties as it fills."""
    vessel = site.receiver
    full, room = (1.0, _plain(site.room_m3)) if vessel is None else (site.full_m, vessel.room_below(site.full_m))
    height = 1.0 if vessel is None else site.full_m - site.level_m

    def outflow(left: Floats) -> Floats:
        if not site.coupled:  # nothing changes while it fills
            return np.full(left.shape, float(site.start.flow_m3_s[0]))
        return site.flow(np.full(left.shape, site.depth_m), full - left)

    fall = drain(outflow, area=room.area, level_from_m=height, level_to_m=0.0, none_share=NONE_SHARE)
    receiver = full - fall.level_m
    done = "target" if vessel is None else "full"
    return Course(
        ends=done if fall.end is End.TARGET else _why_none(site, site.depth_m, float(receiver[-1])),
        last_m=site.depth_m,
        time_s=fall.time_s,
        level_m=np.full(fall.time_s.shape, site.depth_m),
        receiver_m=np.full(fall.time_s.shape, np.nan) if vessel is None else receiver,
        flow_m3_s=fall.flow_m3_s,
        free_m3_s=fall.free_m3_s,
        running_s=fall.running_s,
        moved_m3=room.volume(np.array(height)) - room.volume(fall.level_m),
        greatest_inflow_m3_s=None,
    )


def _plain(volume_m3: float) -> Tank:
    """A body one metre deep that holds a volume."""
    from curvelab.hydraulics import tank

    return tank.box(length_m=volume_m3, width_m=1.0)


def _drained(site: Site, source: Tank) -> Course:
    """A source whose level alone tells the flow: that of a coupled receiver follows from it."""
    inflow, held = site.last_inflow_m3_s, float(source.volume(np.array(site.depth_m)))
    if inflow == 0.0 and held - float(source.volume(np.array(site.lowest_m))) > site.room_m3:
        return _fall(site, source, float(source.level_of(held - site.room_m3)), "full")
    course = _fall(site, source, site.lowest_m, site.lowest)
    if inflow == 0.0 or site.room_m3 == inf or course.ends in ("never", "full"):
        return course
    over = float(course.moved_m3[-1]) - site.room_m3
    if over > 0.0:  # once more, with all its nodes before the receiver is full
        level = float(np.interp(site.room_m3, course.moved_m3, course.level_m))
        greatest = course.greatest_inflow_m3_s
        course = replace(_fall(site, source, level, "full"), greatest_inflow_m3_s=greatest)
        more = (site.room_m3 - float(course.moved_m3[-1])) / float(course.flow_m3_s[-1])
        return _ended(course, site, more)
    return _ended(_and_last(course), site, -over / inflow) if course.ends == "balanced" else course


def _fall(site: Site, source: Tank, lowest: float, at_lowest: str) -> Course:
    """The fall of the source to a level, or as far as it goes."""
    inflow, held = site.last_inflow_m3_s, float(source.volume(np.array(site.depth_m)))

    def receiver_at(moved: Floats) -> Floats:
        if site.receiver is None:
            return np.full(moved.shape, np.nan)
        start = float(site.receiver.volume(np.array(site.level_m)))
        return site.receiver.level_of(start + np.clip(moved, 0.0, site.room_m3))

    def outflow(level: Floats) -> Floats:
        return site.flow(level, receiver_at(held - source.volume(level)) if site.coupled else level)

    fall = drain(
        outflow,
        area=source.area,
        level_from_m=site.depth_m,
        level_to_m=lowest,
        inflow_m3_s=inflow,
        fastest_m_s=site.fastest_m_s,
        none_share=NONE_SHARE,
    )
    if fall.end is End.NEVER and site.receiver is not None:
        return replace(_filled(site), greatest_inflow_m3_s=fall.least_m3_s)
    moved = held - source.volume(fall.level_m) + inflow * fall.time_s
    return Course(
        ends=_word(site, fall, at_lowest),
        last_m=fall.last_m,
        time_s=fall.time_s,
        level_m=fall.level_m,
        receiver_m=receiver_at(moved),
        flow_m3_s=fall.flow_m3_s,
        free_m3_s=fall.free_m3_s,
        running_s=fall.running_s,
        moved_m3=moved,
        greatest_inflow_m3_s=_positive(fall.least_m3_s, fall.free_m3_s),
    )


def _and_last(course: Course) -> Course:
    """The course with its last node twice: to stand still from there."""
    columns = ("time_s", "level_m", "receiver_m", "flow_m3_s", "free_m3_s", "running_s", "moved_m3")
    twice = {name: np.append(getattr(course, name), getattr(course, name)[-1:]) for name in columns}
    return replace(course, **twice)


def _ended(course: Course, site: Site, later: float) -> Course:
    """The course with its last node moved to where the receiver is full."""

    def last(column: Floats, value: float) -> Floats:
        return np.append(column[:-1], value)

    return replace(
        course,
        ends="full",
        time_s=last(course.time_s, float(course.time_s[-1]) + later),
        running_s=last(course.running_s, float(course.running_s[-1]) + later),
        moved_m3=last(course.moved_m3, site.room_m3),
        receiver_m=last(course.receiver_m, site.full_m),
    )


def _positive(least: float, free: Floats) -> float:
    return least if least > NONE_SHARE * float(free[0]) else 0.0


def _word(site: Site, fall: Fall, at_lowest: str) -> str:
    if fall.end is End.TARGET:
        return at_lowest
    if fall.end is End.DRY:
        return _why_none(site, fall.last_m, site.level_m)
    return fall.end.value


def _why_none(site: Site, level: float, receiver: float) -> str:
    """Whether the suction or the head gave out just below a level of the source."""
    under = 1e-4 if site.source is None else 1e-4 * max(site.depth_m, 1e-3)
    dry = site.start.outcome[0] == Outcome.NO_PRIME
    s = site.solve(np.array([level - under]), np.array([receiver]))
    starved = s.outcome[0] == Outcome.CAVITATING or site.starves(s)[0] or dry
    return "suction" if starved else "no-lift"


def _followed(site: Site, source: Tank) -> Course:
    """Step by step in time, with the flow from a table of one level or of both."""
    top = min(source.top_m, site.depth_m + max(site.depth_m, 1.0))
    count = _BOTH if site.coupled else _ALONE
    level = np.linspace(max(site.lowest_m, 0.0), top, count)
    other = np.linspace(site.level_m, site.full_m, _BOTH) if site.coupled else np.zeros(1)
    pairs = np.meshgrid(level, other, indexing="ij")
    flow = site.flow(pairs[0].ravel(), pairs[1].ravel()).reshape(pairs[0].shape)
    flows = FlowTable(level, other, flow)
    first = float(flows(np.array(site.depth_m), np.array(site.level_m if site.coupled else 0.0)))
    basin = Basin(
        source=source,
        level_from_m=site.depth_m,
        level_to_m=site.lowest_m,
        receiver=site.receiver,
        receiver_from_m=0.0 if site.receiver is None else site.level_m,
        receiver_full_m=0.0 if site.receiver is None else site.full_m,
        room_m3=site.room_m3,
        fastest_m_s=site.fastest_m_s,
        none_m3_s=NONE_SHARE * first,
    )
    if site.steady and first <= site.last_inflow_m3_s and site.receiver is None:
        return replace(_at_once(site, "never"), greatest_inflow_m3_s=float(flow.min()))
    ebb = follow(flows, basin, site.inflow)
    last = float(ebb.level_m[-1])
    ends = {End.TARGET: site.lowest, End.DRY: ""}.get(ebb.end, ebb.end.value)
    return Course(
        ends=ends or _why_none(site, last, float(ebb.receiver_m[-1])),
        last_m=last,
        time_s=ebb.time_s,
        level_m=ebb.level_m,
        receiver_m=ebb.receiver_m,
        flow_m3_s=ebb.flow_m3_s,
        free_m3_s=ebb.free_m3_s,
        running_s=ebb.running_s,
        moved_m3=ebb.moved_m3,
        greatest_inflow_m3_s=_positive(float(flow[level <= site.depth_m].min()), ebb.free_m3_s),
    )
