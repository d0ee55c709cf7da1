"""Values moved by hand or by keys, on the stops of their sliders. SI in, SI out."""

from __future__ import annotations

import math
from dataclasses import dataclass

from curvelab.model.fields import field_of, range_of
from curvelab.model.setup import Setup
from curvelab.model.span import Range, Span


@dataclass(frozen=True, slots=True)
class Stops:
    """The stops of a setup's sliders; ``fine``: ten to each step."""

    setup: Setup
    fine: bool = False

    def land(self, path: str, si: float, low: float = -math.inf, high: float = math.inf, /) -> float:
        """The stop from ``low`` to ``high`` that is next to ``si``; where none is, ``si`` held between them."""
        shown, span = self._of(path)
        return shown.si(span.nearest(shown.number(si), shown.number(low), shown.number(high)))

    def step(self, path: str, si: float, count: int, /) -> float:
        """``count`` stops on from ``si``, back where it is below zero; no further than the last one."""
        shown, span = self._of(path)
        return shown.si(span.stepped(shown.number(si), count))

    def all_of(self, path: str) -> list[float]:
        """Every stop, rising."""
        shown, span = self._of(path)
        return [shown.si(stop) for stop in span.stops()]

    def ends(self, path: str) -> tuple[float, float]:
        """The least and the greatest number of a slider, as shown."""
        shown, _ = self._of(path)
        return shown.low, shown.high

    def _of(self, path: str) -> tuple[Range, Span]:
        field, places = field_of(path)
        shown = range_of(field, self.setup.units, field.si(self.setup, *places))
        return shown, shown.span.finer if self.fine else shown.span
