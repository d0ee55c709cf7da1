"""Geometry of a column: parts on top of one another, their figures, their names and the elbows to them.

Heights are in the unit of the axis beside which the column stands; places of names are pixels from the frame's foot.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

from curvelab.layout.labels import apart
from curvelab.layout.sizes import BenchSize

NAME_PX = 16.0
"""Distance of two names. [px]"""
FIGURE_PX = 13.0
"""Least height of a part that carries its own figure. [px]"""
HATCHED_PX = 22.0
"""The same where the part is hatched: in a thin one the lines cross the digits. [px]"""
HATCHED = ("suction",)
"""Parts that are hatched."""
SEEN_PX = 0.75
"""A part that would be thinner is not drawn, and not named. [px]"""


@dataclass(frozen=True, slots=True)
class Slab:
    """One part of a column, from ``bottom`` to ``top``. A part below zero ``helps``."""

    item: str
    bottom: float
    top: float
    helps: bool = False


@dataclass(frozen=True, slots=True)
class Column:
    """Where a column stands. [px from the left of its frame]"""

    left: float
    right: float


def columns(size: BenchSize, chalked: int) -> tuple[Column, ...]:
    """Places of the chalked columns and, last, of the live one."""
    places: list[Column] = []
    left, wide = float(size.gap), size.columns[chalked]
    for number in range(chalked):
        places.append(Column(left, left + wide.chalk))
        left += wide.chalk + (wide.apart if number < chalked - 1 else wide.between)
    places.append(Column(left, left + wide.live))
    return tuple(places)


def stack(parts: Sequence[tuple[str, float]]) -> tuple[Slab, ...]:
    """Parts (item, height) as slabs, the first lowest.

    Parts below zero lie one under the other from zero down and help; the others stand on the foot of those, so that
    the top of the last is the sum of all.
    """
    helping: list[Slab] = []
    foot = 0.0
    for item, height in parts:
        if height < 0.0:
            helping.append(Slab(item, foot + height, foot, helps=True))
            foot += height
    slabs: list[Slab] = []
    top = foot
    for item, height in parts:
        if height >= 0.0:
            slabs.append(Slab(item, top, top + height))
            top += height
    return (*helping, *slabs)


def hang(parts: Sequence[tuple[str, float]], top: float) -> tuple[Slab, ...]:
    """Parts (item, height) as slabs, the first highest, down from ``top``: how the air's push is spent.

    Parts below zero help: they lie on ``top``, one on the other, and the rest hang from the highest.
    """
    slabs: list[Slab] = []
    for item, height in parts:
        if height < 0.0:
            slabs.append(Slab(item, top, top - height, helps=True))
            top -= height
    for item, height in parts:
        if height >= 0.0:
            slabs.append(Slab(item, top - height, top))
            top -= height
    return tuple(slabs)


def cut(slabs: Sequence[Slab], reach: float, item: str) -> tuple[Slab, ...]:
    """Slabs up to ``reach`` and, from there to the top of the highest, one slab called ``item``."""
    top = max((slab.top for slab in slabs), default=reach)
    kept = [Slab(s.item, s.bottom, min(s.top, reach), s.helps) for s in slabs if s.bottom < reach]
    return (*kept, Slab(item, reach, top)) if top > reach else tuple(kept)


@dataclass(frozen=True, slots=True)
class Ribbon:
    """Joins a part of one column to the same part of the next: lower left, lower right, upper right, upper left."""

    item: str
    xs: tuple[float, float, float, float]
    ys: tuple[float, float, float, float]


def ribbons(left: tuple[Column, Sequence[Slab]], right: tuple[Column, Sequence[Slab]]) -> tuple[Ribbon, ...]:
    """Ribbons between two columns, for the parts that both have and that carry."""
    (column, slabs), (other, there) = left, right
    theirs = {slab.item: slab for slab in there if not slab.helps}
    return tuple(
        Ribbon(
            slab.item,
            (column.right, other.left, other.left, column.right),
            (slab.bottom, theirs[slab.item].bottom, theirs[slab.item].top, slab.top),
        )
        for slab in slabs
        if slab.item in theirs and not slab.helps
    )


def name_heights(middles: Sequence[float], lines: Sequence[int], low: float, high: float) -> list[float]:
    """Heights of the names' first lines, top to bottom as given. [px]

    Parameters
    ----------
    middles : sequence of float
        Middles of the parts, from the highest down. [px]
    lines : sequence of int
        Lines that each name takes, 1 or 2.
    """
    slots: list[float] = []
    for middle, count in zip(middles, lines, strict=True):
        first = middle + 0.5 * NAME_PX * (count - 1)
        slots.extend(first - NAME_PX * line for line in range(count))
    placed = apart([-slot for slot in slots], NAME_PX, -high, -low)
    firsts: list[float] = []
    index = 0
    for count in lines:
        firsts.append(-placed[index])
        index += count
    return firsts
