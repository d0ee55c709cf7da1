"""Names and figures of a column, and the elbows from the parts to the names. Pixels of the frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from curvelab.layout.ledger import FIGURE_PX, NAME_PX, Column, Slab, name_heights
from curvelab.layout.sizes import BenchSize
from curvelab.layout.text import width_px
from curvelab.layout.words import PartWords, StackWords

NAME_TYPE_PX = 12.5
FIGURE_TYPE_PX = 12.5
TOTAL_TYPE_PX = 13.0
_ELBOW = (2.0, 8.0, 13.0, 19.0)  # from the column's edge: start, bend, bend, end [px]
_NAME_AT = 22.0


@dataclass(frozen=True, slots=True)
class ColumnText:
    """One line; ``kind`` is total, inside, beside, name or note. Vertical middle at ``y``."""

    kind: str
    item: str
    text: str
    x: float
    y: float
    align: str = "left"


@dataclass(frozen=True, slots=True)
class ColumnNames:
    """All that is written at one column."""

    texts: tuple[ColumnText, ...]
    elbows: tuple[tuple[tuple[float, ...], tuple[float, ...]], ...]
    """For each name, x and y of its line."""


def column_names(
    slabs: tuple[Slab, ...],
    words: StackWords,
    *,
    column: Column,
    size: BenchSize,
    to_px: Callable[[float], float],
    height: float,
) -> ColumnNames:
    """Write a column's words.

    Parameters
    ----------
    to_px : callable
        From the axis to pixels of the frame.
    height : float
        Of the frame. [px]
    """
    by_item = {part.item: part for part in words.parts}
    named: list[tuple[float, float, PartWords]] = []  # middle, height, words; highest first
    for slab in slabs:
        part, tall = by_item.get(slab.item), to_px(slab.top) - to_px(slab.bottom)
        if part is not None and tall > 0.0:
            named.append((0.5 * (to_px(slab.top) + to_px(slab.bottom)), tall, part))
    named.sort(key=lambda entry: -entry[0])
    texts: list[ColumnText] = []
    middle_x = 0.5 * (column.left + column.right)
    for middle, tall, part in named:
        if tall >= FIGURE_PX:
            texts.append(ColumnText("inside", part.item, part.figure, middle_x, middle, "center"))
    if words.total and slabs:
        top = max(to_px(slab.top) for slab in slabs)
        texts.append(ColumnText("total", "", words.total, middle_x, min(top + 11.0, height - 8.0), "center"))
    if not size.names:
        return ColumnNames(tuple(texts), ())
    elbows: list[tuple[tuple[float, ...], tuple[float, ...]]] = []
    lines = [2 if part.note else 1 for _, _, part in named]
    heights = name_heights([middle for middle, _, _ in named], lines, 8.0, height - 8.0)
    room = size.ledger - column.right - _NAME_AT
    for (middle, tall, part), y in zip(named, heights, strict=True):
        texts.extend(_named(part, column.right + _NAME_AT, y, room, beside=tall < FIGURE_PX))
        across = tuple(column.right + step for step in _ELBOW)
        elbows.append((across, (middle, middle, y, y)))
    return ColumnNames(tuple(texts), tuple(elbows))


def _named(part: PartWords, x: float, y: float, room: float, *, beside: bool) -> list[ColumnText]:
    made: list[ColumnText] = []
    if beside:
        made.append(ColumnText("beside", part.item, part.figure, x, y))
        step = width_px(part.figure, NAME_TYPE_PX, bold=True) + 4.0
        x, room = x + step, room - step
    bold = part.item in ("lost", "short")
    name = next((form for form in part.name if width_px(form, NAME_TYPE_PX, bold=bold) <= room), part.name[-1])
    made.append(ColumnText("name", part.item, name, x, y))
    if part.note:
        made.append(ColumnText("note", part.item, part.note, x, y - NAME_PX))
    return made
