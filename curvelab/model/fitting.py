"""A fitting's record: its loss coefficient, with its spread, for all sizes or for each."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from pydantic import Field

from curvelab.errors import Fault
from curvelab.model.kinds import Bore, Factor, MaybeFactor, MaybeMass, MaybePressure, MaybeSolids, MaybeWords, YesNo
from curvelab.model.record import Record
from curvelab.model.section import Section


class FittingSize(Section):
    """One size of a fitting."""

    size: Bore
    k: Factor
    """On the velocity in the hose it sits in."""
    low: MaybeFactor = None
    high: MaybeFactor = None
    largest: MaybeSolids = None
    working_pressure: MaybePressure = None
    source: MaybeWords = None
    estimate: YesNo = False

    def rules(self) -> Iterator[Fault]:
        """The coefficient lies within its spread."""
        yield from _spread(self.k, self.low, self.high)


class Fitting(Record):
    """A fitting. ``k`` for all sizes, or a ``size`` each with its own."""

    where: Literal["suction-end", "suction", "discharge", "outlet", "any"]
    k: MaybeFactor = None
    low: MaybeFactor = None
    high: MaybeFactor = None
    holds_prime: YesNo = False
    """A foot valve: keeps a filled suction hose full."""
    largest: MaybeSolids = None
    """What it lets through."""
    working_pressure: MaybePressure = None
    mass: MaybeMass = None
    sizes: tuple[Bore, ...] = ()
    """Stocked, all with the same ``k``."""
    size: Annotated[tuple[FittingSize, ...], Field(max_length=50)] = ()

    def rules(self) -> Iterator[Fault]:
        """One k for all sizes, or each its own."""
        yield from super().rules()
        if (self.k is None) == (not self.size):
            got = "is missing" if self.k is None else "stands beside sizes with their own k"
            yield Fault("", "k", got, "write k, or [[fitting.size]] each with its own k")
        if self.size and self.sizes:
            yield Fault("", "sizes", "stands beside [[fitting.size]]", "write one of the two")
        if self.k is not None:
            yield from _spread(self.k, self.low, self.high)

    @property
    def at_suction_end(self) -> bool:
        """It stands in the water, at the end of the suction hose."""
        return self.where == "suction-end"

    def sized(self, size_m: float) -> FittingSize | None:
        """Its own entry nearest a nominal bore [m]; ``None`` where one ``k`` holds for all."""
        return min(self.size, key=lambda s: abs(s.size.si - size_m)) if self.size else None

    def stocked(self, size_m: float) -> bool:
        """Whether it comes in that nominal bore [m]."""
        sizes = [s.size.si for s in self.size] or [s.si for s in self.sizes]
        return not sizes or any(abs(s - size_m) <= 1e-3 * size_m for s in sizes)


def _spread(k: float, low: float | None, high: float | None) -> Iterator[Fault]:
    if low is not None and low > k:
        yield Fault("", "low", f"{low:g} is over k", f"write at most {k:g}")
    if high is not None and high < k:
        yield Fault("", "high", f"{high:g} is under k", f"write at least {k:g}")
