"""What a slider spans: its ends and stops, in the unit shown."""

from __future__ import annotations

import math
from dataclasses import dataclass
from typing import Final


@dataclass(frozen=True, slots=True)
class Span:
    """What a slider spans, in one unit: from the first stop on, each pair is (up to, step)."""

    low: float
    steps: tuple[tuple[float, float], ...]

    @property
    def high(self) -> float:
        """The last stop."""
        return self.steps[-1][0]

    def step_at(self, number: float) -> float:
        """The step that leads on from ``number``."""
        return next((step for up_to, step in self.steps if number < up_to), self.steps[-1][1])

    def stops(self) -> tuple[float, ...]:
        """Every stop, low and high among them."""
        found, start = [self.low], self.low
        for up_to, step in self.steps:
            count = round((up_to - start) / step)
            found += [round(start + step * i, 9) for i in range(1, count + 1)]
            start = up_to
        return tuple(found)

    @property
    def finer(self) -> Span:
        """The same with every step cut in ten."""
        return Span(self.low, tuple((up_to, step / 10.0) for up_to, step in self.steps))

    def nearest(self, number: float, low: float = -math.inf, high: float = math.inf) -> float:
        """The stop from ``low`` to ``high`` that is next to ``number``; where none is, the number held between them."""
        least, most = max(low, self.low), min(high, self.high)
        stops = [stop for stop in self.stops() if least - _SLACK <= stop <= most + _SLACK]
        return min(stops, key=lambda stop: abs(stop - number), default=min(max(number, low), high))

    def stepped(self, number: float, count: int) -> float:
        """So many stops on from ``number``, back where ``count`` is below zero; no further than the last one."""
        if count > 0:
            after = [stop for stop in self.stops() if stop > number + _SLACK]
            return after[min(count, len(after)) - 1] if after else number
        before = [stop for stop in self.stops() if stop < number - _SLACK]
        return before[-min(-count, len(before))] if count and before else number

    def widened(self, number: float) -> Span:
        """The span that holds ``number`` too: grown by whole steps, ten times as large where they would be too many."""
        if number < self.low:
            step = _coarse(self.steps[0][1], self.low - number)
            low = self.low - step * math.ceil((self.low - number) / step - _SLACK)
            return Span(round(low, 9), ((self.low, step), *self.steps))
        if number > self.high:
            step = _coarse(self.steps[-1][1], number - self.high)
            high = self.high + step * math.ceil((number - self.high) / step - _SLACK)
            return Span(self.low, (*self.steps, (round(high, 9), step)))
        return self


def _coarse(step: float, distance: float) -> float:
    while distance > step * _MOST_ADDED:
        step *= 10
    return step


_MOST_ADDED: Final = 200
"""Most stops that a value from a file adds to a slider. [-]"""
_SLACK: Final = 1e-9


@dataclass(frozen=True, slots=True)
class Range:
    """A slider of one field in one system of units. Number shown = SI / ``scale`` - ``offset``."""

    span: Span
    symbol: str
    scale: float
    offset: float = 0.0

    @property
    def low(self) -> float:
        """Least number shown."""
        return self.span.low

    @property
    def high(self) -> float:
        """Greatest number shown."""
        return self.span.high

    def number(self, si: float) -> float:
        """The number shown for an SI value."""
        return round(si / self.scale - self.offset, 9)

    def si(self, number: float) -> float:
        """The SI value of a number shown."""
        return (number + self.offset) * self.scale

    def stops(self, number: float | None = None) -> tuple[float, ...]:
        """Every stop; ``number`` among them, so that a value between two stops keeps its own place."""
        stops = self.span.stops()
        if number is None or any(math.isclose(number, stop, rel_tol=1e-9, abs_tol=1e-9) for stop in stops):
            return stops
        return tuple(sorted((*stops, number)))
