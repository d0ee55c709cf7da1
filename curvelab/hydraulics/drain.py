"""A level that falls while something takes water away: how long, whatever the outflow and the shape of the body.

The time is t = ∫ A/(Q(h) − inflow) dh. The level is written h = h_last + (h_first − h_last)·s⁴, which takes the edge
off an outflow that dies like a root of the level over the last one (a hole, a pump at the height it just reaches), and
the integral over s is taken by Gauss in even pieces. The outflow is asked in two calls, in four where it gives out on
the way: never once a step.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from enum import StrEnum
from math import inf
from typing import Final, NamedTuple

import numpy as np

from curvelab.hydraulics.constants import Floats
from curvelab.hydraulics.ranges import require

Outflow = Callable[[Floats], Floats]
"""Flow [m³/s] at levels [m], shape (n,) in and out; the lower the level, the less or as much."""

_SCAN, _NARROW, _ROUNDS = 65, 33, 2
"""Levels looked at first, and in each round that narrows the place where the outflow gives out."""
_PIECES: Final = 64
_S, _WEIGHT = np.polynomial.legendre.leggauss(4)
SETTLED: Final = 1e-3
"""Share of the way to a balance at which it counts as reached: the last of it takes for ever. [-]"""


class End(StrEnum):
    """What ends a fall."""

    TARGET = "target"
    DRY = "dry"
    """The outflow gave out on the way."""
    FULL = "full"
    """What is filled is full: only ``ebb.follow`` knows of that."""
    BALANCED = "balanced"
    """The outflow came down to the inflow: the level settles."""
    NEVER = "never"
    """The inflow is as great from the start."""


@dataclass(frozen=True, slots=True, eq=False)
class Fall:
    """The fall of a level. Arrays have one entry a node, the first at time 0."""

    end: End
    last_m: float
    """Where it ends, or settles. [m]"""
    time_s: Floats
    level_m: Floats
    flow_m3_s: Floats
    """What is taken away. [m³/s]"""
    free_m3_s: Floats
    """What would be, were the level allowed to fall as fast as it can. [m³/s]"""
    running_s: Floats
    """How long it would run to take as much unthrottled. [s]"""
    least_m3_s: float
    """Least outflow between the first level and the target: an inflow below it lets the target be reached. [m³/s]"""


class _Place(NamedTuple):
    """Where a fall ends; ``shown`` is where its last node stands, a little above a balance. [m]"""

    end: End
    level: float
    shown: float


def drain(
    outflow: Outflow,
    *,
    area: Callable[[Floats], Floats],
    level_from_m: float,
    level_to_m: float,
    inflow_m3_s: float = 0.0,
    fastest_m_s: float = inf,
    none_share: float = 0.0,
) -> Fall:
    """How a level falls from one height to another, or as far as it goes.

    Parameters
    ----------
    outflow : callable
        Flow taken away [m³/s] at levels [m], arrays of shape (n,); falls with the level or stays.
    area : callable
        Surface [m²] at levels [m], likewise; ``Tank.area``.
    level_from_m, level_to_m : float
        First and last level. [m]  Valid: the last at most the first.
    inflow_m3_s : float
        Steady inflow. [m³/s]  Valid: 0 or more.
    fastest_m_s : float
        The level may not fall faster: the outflow is held at ``area`` × this + inflow. [m/s]  Valid: more than 0; inf.
    none_share : float
        Share of the first outflow below which it counts as none. [-]  Valid: 0 to 1.

    Returns
    -------
    Fall

    Raises
    ------
    DomainError
        If a value lies outside its valid range.

    References
    ----------
    .. [1] Follows from the balance of volume.
    """
    first, target = float(require("level_from_m", level_from_m)), float(require("level_to_m", level_to_m))
    require("level_from_m less level_to_m", first - target, 0.0, hint="a level that drains falls")
    inflow = float(require("inflow_m3_s", inflow_m3_s, 0.0))
    levels = np.linspace(first, target, _SCAN)
    flows = outflow(levels)
    least = float(flows.min())
    if first == target:
        return _still(End.TARGET, first, flows[:1], least)
    if flows[0] <= 0.0:
        return _still(End.DRY, first, np.maximum(flows[:1], 0.0), least)
    if flows[0] <= inflow:
        return _still(End.NEVER, first, flows[:1], least)
    place = _last(outflow, levels, flows, inflow, none_share)
    return _integrated(outflow, area, first, place, inflow, fastest_m_s, least)


def _still(end: End, level: float, flow: Floats, least: float) -> Fall:
    zero = np.zeros(1)
    return Fall(end, level, zero, np.array([level]), flow, flow, zero, least)


def _last(outflow: Outflow, levels: Floats, flows: Floats, inflow: float, none_share: float) -> _Place:
    """Where the outflow has come down to the inflow or to next to nothing; else the target."""
    floor = max(inflow, none_share * float(flows[0]))
    gone = flows <= floor
    if not gone.any() or (int(gone.argmax()) == levels.size - 1 and flows[-1] == floor == 0.0):
        return _Place(End.TARGET, float(levels[-1]), float(levels[-1]))
    at = int(gone.argmax())
    high, low = float(levels[at - 1]), float(levels[at])
    for _ in range(_ROUNDS):
        between = np.linspace(high, low, _NARROW)
        at = max(int((outflow(between) <= floor).argmax()), 1)
        high, low = float(between[at - 1]), float(between[at])
    if inflow > 0.0 and floor == inflow:
        return _Place(End.BALANCED, high, high + SETTLED * (float(levels[0]) - high))
    return _Place(End.DRY, high, high)


def _integrated(
    outflow: Outflow,
    area: Callable[[Floats], Floats],
    first: float,
    place: _Place,
    inflow: float,
    fastest: float,
    least: float,
) -> Fall:
    edges = np.linspace(1.0, 0.0, _PIECES + 1)
    half = 0.5 / _PIECES
    s = (edges[:-1, None] - half) - half * _S
    drop = first - place.shown
    inner, nodes = place.shown + drop * s**4, place.shown + drop * edges**4
    flows = outflow(np.concatenate([inner.ravel(), nodes]))
    free, at_nodes = flows[: inner.size].reshape(inner.shape), flows[inner.size :]
    surface = area(inner)
    slowness = np.maximum(surface / np.maximum(free - inflow, np.finfo(float).tiny), 1.0 / fastest)
    step = 4.0 * drop * s**3 * slowness * (half * _WEIGHT)
    return Fall(
        end=place.end,
        last_m=place.level,
        time_s=_summed(step),
        level_m=nodes,
        flow_m3_s=held(at_nodes, area(nodes), inflow, fastest),
        free_m3_s=at_nodes,
        running_s=_summed(step * held(free, surface, inflow, fastest) / free),
        least_m3_s=least,
    )


def held(free: Floats, area: Floats, inflow_m3_s: float, fastest_m_s: float) -> Floats:
    """The outflow held so that the level falls no faster than it may. [m³/s]"""
    return free if fastest_m_s == inf else np.minimum(free, area * fastest_m_s + inflow_m3_s)


def _summed(step: Floats) -> Floats:
    return np.concatenate([[0.0], np.cumsum(step.sum(axis=1))])
