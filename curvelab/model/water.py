"""Sections of a setup that only the clock and the doubts read: water pumped from, tank filled, what isn't sure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from itertools import pairwise
from typing import Annotated, Final, Literal, cast

from curvelab.errors import Fault, InputError
from curvelab.model.amount import Amount, Kind, Leaf, wrong
from curvelab.model.kinds import (
    AREA,
    DEPTH,
    EXPONENT,
    FLOW,
    LEVEL_RATE,
    TIME,
    MaybeDepth,
    MaybeLength,
    MaybeShare,
    MaybeWords,
    SomeLength,
    amount,
)
from curvelab.model.section import Section

_MOST_ROWS = 500


class OneOrMany(Leaf):
    """An amount, or a list of them: an area, or the areas of a table."""

    def __init__(self, kind: Kind) -> None:
        super().__init__(f"{kind.right}, or a list of them")
        self.kind: Final = kind
        self.quantity: Final = kind.quantity

    def read(self, value: object) -> Amount | tuple[Amount, ...]:
        """One amount, or the amounts of a list, every bad one reported."""
        if not isinstance(value, (list, tuple)):
            return self.kind.read(value)
        items = cast("list[object]", value)
        if len(items) > _MOST_ROWS:
            raise wrong(f"a list of {len(items)}", f"write at most {_MOST_ROWS}")
        amounts: list[Amount] = []
        faults: list[Fault] = []
        for place, item in enumerate(items):
            try:
                amounts.append(self.kind.read(item))
            except InputError as error:
                faults += error.at(field=str(place)).faults
        if faults:
            raise InputError(faults)
        return tuple(amounts)


class InflowTable(Section):
    """Inflow against time, joined by straight lines; the last value holds."""

    time: tuple[Annotated[Amount, TIME], ...]
    flow: tuple[Annotated[Amount, FLOW], ...]

    def rules(self) -> Iterator[Fault]:
        """As many flows as times, which rise."""
        yield from _columns("time", self.time, "flow", self.flow)


class _Inflow(Leaf):
    """A flow, or a table of time and flow."""

    def __init__(self) -> None:
        super().__init__('a flow such as "15 gpm", or { time = ["0 h", "2 h"], flow = ["40 gpm", "10 gpm"] }')
        self.quantity: Final = FLOW.quantity

    def read(self, value: object) -> Amount | InflowTable:
        """A table where one is given, else a flow."""
        if isinstance(value, (Mapping, InflowTable)):
            return InflowTable.model_validate(value)
        return FLOW.read(value)


_Areas = Annotated[Amount | tuple[Amount, ...] | None, OneOrMany(AREA)]
_Levels = Annotated[Amount | tuple[Amount, ...] | None, OneOrMany(DEPTH)]
_SIZES: Final[dict[str, tuple[str, ...]]] = {
    "box": ("length", "width"),
    "cylinder": ("diameter",),
    "frustum": ("top_length", "top_width", "bottom_length", "bottom_width", "full_depth"),
    "pond": ("area", "full_depth", "power"),
    "table": ("level", "area"),
}


_OTHER_SIZES: Final = tuple(size for sizes in _SIZES.values() for size in sizes if size != "level")


class Body(Section):
    """A body of water of some shape."""

    shape: Literal["box", "cylinder", "frustum", "pond", "table"]
    name: MaybeWords = None
    length: SomeLength = None
    width: SomeLength = None
    diameter: SomeLength = None
    top_length: SomeLength = None
    top_width: SomeLength = None
    bottom_length: MaybeLength = None
    bottom_width: MaybeLength = None
    full_depth: Annotated[Amount | None, DEPTH] = None
    power: Annotated[float | None, EXPONENT] = None
    """Pond: its area grows as the depth to this power."""
    area: _Areas = None
    """Pond: area at ``full_depth``. Table: one for each level."""
    level: _Levels = None
    """Table: rising levels above the bottom."""

    def rules(self) -> Iterator[Fault]:
        """Every size of the shape, and no other shape's."""
        wanted = _SIZES[self.shape]
        for name in dict.fromkeys((*wanted, *_OTHER_SIZES)):
            stated = getattr(self, name) is not None
            if stated != (name in wanted):
                got = f'doesn\'t belong to the shape "{self.shape}"' if stated else "is missing"
                yield Fault("", name, got, f'the shape "{self.shape}" has {", ".join(wanted)}')
        yield from self._lists()

    def _lists(self) -> Iterator[Fault]:
        level, area = self.level, self.area
        if self.shape != "table":
            if isinstance(area, tuple):
                yield Fault("", "area", "is a list", "write one area, that at full_depth")
            return
        if isinstance(level, tuple) and isinstance(area, tuple):
            yield from _columns("level", level, "area", area)
        for name, value in (("level", level), ("area", area)):
            if isinstance(value, Amount):
                yield Fault("", name, "is a single value", "a table needs lists of levels and areas")

    @property
    def greatest_level_m(self) -> float:
        """Level [m] that the shape reaches to, inf for upright walls."""
        if isinstance(self.level, tuple):
            return self.level[-1].si if self.level else 0.0
        return self.full_depth.si if self.full_depth is not None else float("inf")

    def _within(self, name: str, value: Amount | None) -> Iterator[Fault]:
        if value is not None and value.si > self.greatest_level_m * (1 + 1e-9):
            yield Fault(
                "", name, f'"{value.text}" is over the shape\'s greatest depth', "write less, or a deeper shape"
            )


class Source(Body):
    """The water pumped from; ``suction.lift`` belongs to ``depth``."""

    depth: Annotated[Amount, DEPTH]
    """Water above the bottom now."""
    stop: Annotated[Amount, DEPTH] = amount("0 m", DEPTH)
    inflow: Annotated[Amount | InflowTable | None, _Inflow()] = None
    cover: MaybeDepth = None
    """Least water over the strainer."""
    fastest: Annotated[Amount | None, LEVEL_RATE] = None
    """The level may not fall faster."""

    def rules(self) -> Iterator[Fault]:
        """The water stands within the shape, and the stop below it."""
        yield from super().rules()
        yield from self._within("depth", self.depth)
        if self.level is not None and self.shape != "table":
            yield Fault("", "level", "belongs to a table", "write depth for the water above the bottom now")
        if self.stop.si > self.depth.si:
            yield Fault(
                "", "stop", f'"{self.stop.text}" is deeper than the water now', f"write less than {self.depth.text}"
            )


class Receiver(Body):
    """The tank filled. ``level`` is the level now; with a table, whose levels it holds then, ``now`` is."""

    full: Annotated[Amount, DEPTH]
    now: MaybeDepth = None

    def rules(self) -> Iterator[Fault]:
        """Full lies within the shape, and the level now below it."""
        yield from super().rules()
        yield from self._within("full", self.full)
        if isinstance(self.level, tuple) and self.shape != "table":
            yield Fault("", "level", "is a list", "write the level now, one depth")
        if self.now is not None and self.shape != "table":
            yield Fault("", "now", "belongs to a table", "write level for the level now")
        elif self.level_m > self.full.si:
            yield Fault("", "now" if self.now else "level", "is over full", f"write at most {self.full.text}")

    @property
    def level_m(self) -> float:
        """The level now [m], 0 where left out."""
        stated = self.now if self.shape == "table" else self.level
        return stated.si if isinstance(stated, Amount) else 0.0


class Doubt(Section):
    """Widths within which the true value lies nine times in ten."""

    lift: MaybeDepth = None
    rise: MaybeDepth = None
    length: MaybeShare = None
    bore: MaybeShare = None
    roughness: MaybeShare = None
    k: MaybeShare = None
    head: MaybeShare = None
    npshr: MaybeShare = None


def _columns(first: str, a: tuple[Amount, ...], second: str, b: tuple[Amount, ...]) -> Iterator[Fault]:
    if len(a) != len(b) or not a:
        yield Fault("", second, f"has {len(b)} values for {len(a)} of {first}", "write as many of each, at least one")
    for place, (low, high) in enumerate(pairwise(a)):
        if not high.si > low.si:
            yield Fault("", f"{first}.{place + 1}", f'"{high.text}" does not rise', f"write more than {low.text}")
            return
