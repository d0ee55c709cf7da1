"""Levels followed in time: an inflow that changes, or two bodies whose levels hang together with an inflow besides.

What ``drain`` can't take as one integral over the level goes through an ordinary differential equation in the volume of
the source and the volume moved, with the outflow from a table of both levels.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass
from math import inf
from typing import Any, Final, NamedTuple

import numpy as np

from curvelab.hydraulics.constants import Floats
from curvelab.hydraulics.drain import SETTLED, End
from curvelab.hydraulics.tank import Tank

HORIZON_S: Final = 10 * 365.25 * 86400.0
"""How long a level is followed after the last change of its inflow. [s] Ten years."""
_NODES, _LEVELS = 161, 2001
_RTOL, _ATOL = 1e-7, 1e-9


@dataclass(frozen=True, slots=True, eq=False)
class FlowTable:
    """Flow at even steps of two levels, straight between them and held beyond their ends."""

    level_m: Floats
    """Of the source, rising, shape (n,)."""
    other_m: Floats
    """Of the receiver, rising, shape (m,); one entry where it doesn't matter."""
    flow_m3_s: Floats
    """Shape (n, m)."""

    def __call__(self, level_m: Floats, other_m: Floats) -> Floats:
        """Flow at levels, any one shape. [m³/s]"""
        i, a = _place(self.level_m, level_m)
        j, b = _place(self.other_m, other_m)
        q, i1, j1 = self.flow_m3_s, np.minimum(i + 1, self.level_m.size - 1), np.minimum(j + 1, self.other_m.size - 1)
        return (1 - a) * ((1 - b) * q[i, j] + b * q[i, j1]) + a * ((1 - b) * q[i1, j] + b * q[i1, j1])


def _place(knots: Floats, at: Floats) -> tuple[Any, Any]:
    if knots.size == 1:
        zero = np.zeros(np.shape(at))
        return zero.astype(np.int64), zero
    share = np.clip((at - knots[0]) / (knots[-1] - knots[0]), 0.0, 1.0) * (knots.size - 1)
    left = np.minimum(np.floor(share), knots.size - 2)
    return np.asarray(left).astype(np.int64), share - left


@dataclass(frozen=True, slots=True, eq=False)
class Inflow:
    """Flow against time, straight between its points; the first and the last hold. Shapes (n,)."""

    time_s: Floats
    flow_m3_s: Floats

    def __call__(self, time_s: Floats) -> Floats:
        """Inflow at times. [m³/s]"""
        return np.interp(time_s, self.time_s, self.flow_m3_s)


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Basin:
    """The water pumped from and the vessel pumped into, as ``follow`` needs them."""

    source: Tank
    level_from_m: float
    level_to_m: float
    receiver: Tank | None = None
    """``None``: nothing is filled, or its level doesn't matter."""
    receiver_from_m: float = 0.0
    receiver_full_m: float = 0.0
    room_m3: float = inf
    """What may be moved until the receiver is full."""
    fastest_m_s: float = inf
    none_m3_s: float = 0.0
    """Flow below which the pump counts as giving nothing."""


@dataclass(frozen=True, slots=True, eq=False)
class Ebb:
    """Levels and flows against time, shapes (n,); the first entry is at time 0."""

    end: End
    time_s: Floats
    level_m: Floats
    receiver_m: Floats
    """NaN without a receiver."""
    flow_m3_s: Floats
    free_m3_s: Floats
    running_s: Floats
    moved_m3: Floats


class _Stop(NamedTuple):
    end: End
    gap: Callable[[float, Floats], float]
    """Falls through zero where it ends."""


class _Levels:
    """Levels from volumes by a table: asked thousands of times."""

    def __init__(self, tank: Tank, high_m: float) -> None:
        self._level = np.linspace(0.0, high_m, _LEVELS)
        self._volume = tank.volume(self._level)

    def __call__(self, volume: Floats) -> Floats:
        return np.interp(volume, self._volume, self._level)


def follow(flows: FlowTable, basin: Basin, inflow: Inflow) -> Ebb:
    """Follow both levels until something ends it.

    Parameters
    ----------
    flows : FlowTable
        What the pump delivers at both levels.
    basin : Basin
        The bodies of water. A source that is full to its top spills what more runs in.
    inflow : Inflow
        Into the source.

    Returns
    -------
    Ebb
        ``NEVER`` also where nothing has ended it ``HORIZON_S`` after the last change of the inflow.

    References
    ----------
    .. [1] Follows from the balance of volume; SciPy's explicit Runge-Kutta pair of orders 5 and 4.
    """
    run = _Run(flows, basin, inflow)
    times = [0.0, *inflow.time_s[inflow.time_s > 0.0].tolist()]
    state = np.array([float(basin.source.volume(np.array(basin.level_from_m))), 0.0, 0.0])
    parts: list[Any] = []
    for start, stop in zip(times, [*times[1:], times[-1] + HORIZON_S], strict=True):
        last = stop == times[-1] + HORIZON_S
        ended = run.begins(start, state, last=last)
        if ended is None:
            part, ended = run.step(start, stop, state, last=last)
            parts.append(part)
            state = part.y[:, -1]
        if ended is not None:
            return run.read(ended, parts, state)
    return run.read(End.NEVER, parts, state)


class _Run:
    def __init__(self, flows: FlowTable, basin: Basin, inflow: Inflow) -> None:
        self.flows, self.basin, self.inflow = flows, basin, inflow
        high = basin.source.top_m if basin.source.top_m < inf else float(flows.level_m[-1])
        self.level = _Levels(basin.source, high)
        self.brim = float(basin.source.volume(np.array(high))) if basin.source.top_m < inf else inf
        self.target = float(basin.source.volume(np.array(basin.level_to_m)))
        self.receiver = None if basin.receiver is None else _Levels(basin.receiver, basin.receiver_full_m)
        self.held = 0.0 if basin.receiver is None else float(basin.receiver.volume(np.array(basin.receiver_from_m)))
        self.scale = max(float(basin.source.volume(np.array(basin.level_from_m))), 1e-9)

    def receiver_level(self, moved: Floats) -> Floats:
        return np.full(np.shape(moved), np.nan) if self.receiver is None else self.receiver(self.held + moved)

    def pumped(self, time: Floats, state: Floats) -> tuple[Floats, Floats]:
        """Flow as held, and free."""
        level = self.level(state[0])
        other = np.zeros(np.shape(level)) if self.receiver is None else self.receiver_level(state[1])
        free = self.flows(level, other)
        if self.basin.fastest_m_s == inf:
            return free, free
        return np.minimum(free, self.basin.source.area(level) * self.basin.fastest_m_s + self.inflow(time)), free

    def slope(self, time: float, state: Floats) -> list[float]:
        flow, free = self.pumped(np.asarray(time), state)
        net = float(self.inflow(np.asarray(time)) - flow)
        if state[0] >= self.brim:
            net = min(net, 0.0)
        return [net, float(flow), float(flow / free) if free > 0.0 else 1.0]

    def stops(self, *, last: bool) -> list[_Stop]:
        def dry(time: float, state: Floats) -> float:
            return float(self.pumped(np.asarray(time), state)[1]) - self.basin.none_m3_s

        def settled(time: float, state: Floats) -> float:
            running_in = float(self.inflow.flow_m3_s[-1])
            return abs(float(self.pumped(np.asarray(time), state)[1]) - running_in) - SETTLED * running_in

        def left(_: float, state: Floats) -> float:
            return float(state[0]) - self.target

        def room(_: float, state: Floats) -> float:
            return self.basin.room_m3 - float(state[1])

        found = [_Stop(End.TARGET, left), _Stop(End.DRY, dry)]
        if self.basin.room_m3 < inf:
            found.append(_Stop(End.FULL, room))
        if last and self.inflow.flow_m3_s[-1] > 0.0:
            found.append(_Stop(End.BALANCED, settled))
        return found

    def begins(self, time: float, state: Floats, *, last: bool) -> End | None:
        """What has ended it before a stretch of the inflow begins."""
        for stop in self.stops(last=last):
            if stop.gap(time, state) <= 0.0:
                return stop.end
        spills = last and state[0] >= self.brim and self.slope(time, state)[0] == 0.0
        return End.NEVER if spills and self.basin.room_m3 == inf else None

    def step(self, start: float, stop: float, state: Floats, *, last: bool) -> tuple[Any, End | None]:
        from scipy.integrate import solve_ivp  # here: it takes a third of a second to load

        found = self.stops(last=last)
        events = [_Falls(one.gap) for one in found]
        scale = np.array([self.scale, self.scale, 1.0 + stop - start])
        done: Any = solve_ivp(
            self.slope, (start, stop), state, events=events, dense_output=True, rtol=_RTOL, atol=_ATOL * scale
        )
        ended = [one.end for one, times in zip(found, done.t_events, strict=True) if len(times)]
        return done, ended[0] if ended else None

    def read(self, end: End, parts: list[Any], state: Floats) -> Ebb:
        total = float(parts[-1].t[-1]) if parts else 0.0
        changes = [float(part.t[0]) for part in parts]
        time = np.unique(np.concatenate([np.linspace(0.0, total, _NODES), changes])) if parts else np.zeros(1)
        at = np.stack([_state(parts, t, state) for t in time.tolist()], axis=1)
        flow, free = self.pumped(time, at)
        return Ebb(end, time, self.level(at[0]), self.receiver_level(at[1]), flow, free, at[2], at[1])


class _Falls:
    """A gap as the integrator's event: it ends there, on the way down."""

    terminal = True
    direction = -1.0

    def __init__(self, gap: Callable[[float, Floats], float]) -> None:
        self._gap = gap

    def __call__(self, time: float, state: Floats) -> float:
        return self._gap(time, state)


def _state(parts: list[Any], time: float, last: Floats) -> Floats:
    for part in parts:
        if time <= part.t[-1]:
            return part.sol(time)
    return last
