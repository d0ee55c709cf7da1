"""Digitised points of a curve: numbers as somebody read them off a sheet, with the units that stand over them."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Any, ClassVar, Final, cast

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault
from curvelab.model.amount import Leaf, Number, shown, wrong
from curvelab.model.kinds import MaybeWords
from curvelab.model.section import Section
from curvelab.units import Quantity, from_unit

Floats = NDArray[np.float64]
MOST_POINTS: Final = 1000
"""Most points of one curve. [-]"""


class UnitOf(Leaf):
    """The name of a unit of a quantity, standing over a column of numbers."""

    def __init__(self, quantity: Quantity) -> None:
        super().__init__(f"a unit of {quantity}")
        self.quantity: Final = quantity

    def read(self, value: object) -> str:
        """The name itself."""
        from_unit(0.0, cast("str", value), self.quantity)  # raises, and says why, for whatever is no such unit
        return cast("str", value)


class PointList(Leaf):
    """Pairs of finite numbers, the first of each rising."""

    def __init__(self) -> None:
        super().__init__("a list of pairs such as [[0, 98.0], [60, 96.5]]")

    def read(self, value: object) -> tuple[tuple[float, float], ...]:
        """The pairs as floats, in the table's own units."""
        if not isinstance(value, (list, tuple)):
            raise self.wrong(shown(value))
        rows = cast("list[object]", value)
        if not 2 <= len(rows) <= MOST_POINTS:
            raise wrong(f"{len(rows)} points", f"write from 2 to {MOST_POINTS} points")
        points = tuple(self._pair(place, row) for place, row in enumerate(rows))
        for place in range(1, len(points)):
            (before, _), (here, _) = points[place - 1], points[place]
            if not here > before:
                got = f"{here:g} does not come after {before:g}"
                raise wrong(got, "flows must rise from point to point", str(place))
        return points

    def _pair(self, place: int, row: object) -> tuple[float, float]:
        pair = list(cast("list[object]", row)) if isinstance(row, (list, tuple)) else []
        if len(pair) != 2:
            raise wrong(shown(cast("object", row)), "write a pair such as [60, 96.5]", str(place))
        first, second = (_finite(place, number) for number in pair)
        return first, second


class NumberList(Leaf):
    """Finite numbers, one for each point."""

    def __init__(self) -> None:
        super().__init__("a list of numbers such as [90.5, 88.0], one for each point")

    def read(self, value: object) -> tuple[float, ...]:
        """The numbers as floats, in the unit of the points."""
        if not isinstance(value, (list, tuple)):
            raise self.wrong(shown(value))
        return tuple(_finite(place, number) for place, number in enumerate(cast("list[object]", value)))

    def typed(self, value: object) -> tuple[float, ...]:
        """Also text with commas between the numbers, as a link has them."""
        if not isinstance(value, str):
            return self.read(value)
        return tuple(_ANY_NUMBER.typed(number) for number in value.removesuffix(",").split(",") if number)


def _finite(place: int, number: object) -> float:
    if not isinstance(number, (int, float)) or isinstance(number, bool) or not abs(number) <= _GREATEST:
        raise wrong(shown(number), "write finite bare numbers; units stand over the points", str(place))
    return float(number)


_GREATEST: Final = 1e9
_ANY_NUMBER: Final = Number(-_GREATEST, _GREATEST)


class Points(Section):
    """A curve against flow. The unit of its values stands in the field ``NAME``; in SI they are at most ``HIGH``."""

    NAME: ClassVar[str]
    QUANTITY: ClassVar[Quantity]
    SUFFIX: ClassVar[str]
    HIGH: ClassVar[float]
    MAY_BE_ZERO: ClassVar[str]
    """Where a value of 0 makes sense: ``"anywhere"``, ``"last"`` or ``"nowhere"``."""

    flow: Annotated[str, UnitOf(Quantity.FLOW)]
    """Unit of the flows."""
    points: Annotated[tuple[tuple[float, float], ...], PointList()]
    picture: MaybeWords = None
    """What it was traced from."""
    frame: MaybeWords = None

    @property
    def flow_m3_s(self) -> Floats:
        """Flows [m³/s], shape (points,)."""
        return self._column(0, self.flow, Quantity.FLOW)

    @property
    def values_si(self) -> Floats:
        """Values, SI, shape (points,)."""
        return self._column(1, getattr(self, self.NAME), self.QUANTITY)

    def _column(self, column: int, unit: str, quantity: Quantity) -> Floats:
        return np.asarray(from_unit(np.array([pair[column] for pair in self.points]), unit, quantity))

    def rules(self) -> Iterator[Fault]:
        """Flows of 0 or more, values in their range."""
        if self.points[0][0] < 0.0:
            yield Fault("", "points.0", f"a flow of {self.points[0][0]:g}", "flows start at 0 or more")
        values, last = self.values_si, len(self.points) - 1
        for place, value in enumerate(values.tolist()):
            zero = value == 0.0 and (self.MAY_BE_ZERO == "anywhere" or (self.MAY_BE_ZERO == "last" and place == last))
            if not (0.0 < value <= self.HIGH or zero):
                got = f"{self.points[place][1]:g} {getattr(self, self.NAME)}"
                yield Fault("", f"points.{place}", got, f"write a {self.NAME} of more than 0, at most {self._most()}")
                return

    def _most(self) -> str:
        return f"{self.HIGH:g} {self.SUFFIX}".rstrip()

    def to_si(self) -> dict[str, Any]:
        """Columns of SI numbers."""
        name = f"{self.NAME}_{self.SUFFIX}" if self.SUFFIX else self.NAME
        return {"flow_m3_s": self.flow_m3_s.tolist(), name: self.values_si.tolist()}


class _OverHead(Points):
    """Heads against flow."""

    NAME, QUANTITY, SUFFIX, HIGH, MAY_BE_ZERO = "head", Quantity.HEAD, "m", 1e4, "last"

    head: Annotated[str, UnitOf(Quantity.HEAD)]


class HeadPoints(_OverHead):
    """Head against flow. A drooping start is allowed; only the last point may reach 0."""

    low: Annotated[tuple[float, ...], NumberList()] = ()
    """Least head that each point may have, nine times in ten, in the unit of the heads; an estimated curve has both."""
    high: Annotated[tuple[float, ...], NumberList()] = ()

    @property
    def low_m(self) -> Floats:
        """Lower edge of the band [m], shape (points,); empty without one."""
        return np.asarray(from_unit(np.array(self.low), self.head, Quantity.HEAD))

    @property
    def high_m(self) -> Floats:
        """Upper edge of the band [m], shape (points,); empty without one."""
        return np.asarray(from_unit(np.array(self.high), self.head, Quantity.HEAD))

    @property
    def doubt(self) -> tuple[float, float] | None:
        """How far the head may lie below and above, as shares of it over the middle flows; ``None`` without a band."""
        if not self.low:
            return None
        flow, head = self.flow_m3_s, self.values_si
        inner = (flow >= 0.25 * flow[-1]) & (flow <= 0.75 * flow[-1]) & (head > 0.0)
        inner = inner if inner.any() else head > 0.0
        below, above = (float(np.mean(edge[inner] / head[inner])) - 1.0 for edge in (self.low_m, self.high_m))
        return below, above

    def rules(self) -> Iterator[Fault]:
        """A band, where there is one, holds every point."""
        yield from super().rules()
        for name, other in (("low", self.high), ("high", self.low)):
            edge: tuple[float, ...] = getattr(self, name)
            if len(edge) != len(self.points) and (edge or other):
                yield Fault("", name, f"{len(edge)} numbers for {len(self.points)} points", "write one for each point")
                return
        for place, (low, (_, head), high) in enumerate(zip(self.low, self.points, self.high, strict=False)):
            if not 0.0 <= low <= head <= high:
                got = f"{head:g} does not lie between {low:g} and {high:g}"
                yield Fault("", f"points.{place}", got, "low is at most the head, high at least, none below 0")
                return

    def to_si(self) -> dict[str, Any]:
        """Columns of SI numbers, the band's too."""
        band = {"low_m": self.low_m.tolist(), "high_m": self.high_m.tolist()} if self.low else {}
        return {**super().to_si(), **band}


class NpshrPoints(_OverHead):
    """NPSH required (NPSH3) against flow."""

    HIGH, MAY_BE_ZERO = 100.0, "nowhere"


class EfficiencyPoints(Points):
    """Pump efficiency against flow."""

    NAME, QUANTITY, SUFFIX, HIGH, MAY_BE_ZERO = "efficiency", Quantity.SHARE, "", 1.0, "anywhere"

    efficiency: Annotated[str, UnitOf(Quantity.SHARE)]


class PowerPoints(Points):
    """Shaft power in water against flow."""

    NAME, QUANTITY, SUFFIX, HIGH, MAY_BE_ZERO = "power", Quantity.POWER, "w", 1e7, "anywhere"

    power: Annotated[str, UnitOf(Quantity.POWER)]
