"""Names and figures of a column, and the elbows from the parts to the names. Pixels of the frame."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass

from curvelab.layout.ledger import FIGURE_PX, HATCHED, HATCHED_PX, NAME_PX, Column, Slab, name_heights
from curvelab.layout.sizes import BenchSize
from curvelab.layout.text import SLACK, fitting, width_px
from curvelab.layout.words import PartWords, StackWords

NAME_TYPE_PX = 12.5
FIGURE_TYPE_PX = 12.5
TOTAL_TYPE_PX = 13.0
GHOST_TYPE_PX = 11.5
_ELBOW = (2.0, 8.0, 13.0, 19.0)  # from the column's edge: start, bend, bend, end [px]
_NAME_AT = 22.0
HELP_PX = 16.0
"""Width of a part that helps: a bar along the right edge of its column. [px]"""


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
    room: float = 1e9,
) -> ColumnNames:
    """Write a column's words.

    Parameters
    ----------
    room : float
        Width that the total may take. [px]
    to_px : callable
        From the axis to pixels of the frame.
    height : float
        Of the frame. [px]
    """
    by_item = {part.item: part for part in words.parts}
    named = [
        (0.5 * (to_px(s.top) + to_px(s.bottom)), s, by_item[s.item])
        for s in slabs
        if s.item in by_item and s.top > s.bottom
    ]
    named.sort(key=lambda entry: -entry[0])
    texts: list[ColumnText] = []
    rights = [column.right - (HELP_PX if hidden(slab, slabs) else 0.0) for _, slab, _ in named]
    inside = [
        not s.helps
        and to_px(s.top) - to_px(s.bottom) >= _least(s.item)
        and width_px(part.figure, FIGURE_TYPE_PX, bold=True) <= SLACK * (right - column.left)
        for (_, s, part), right in zip(named, rights, strict=True)
    ]
    for (middle, _, part), right, within in zip(named, rights, inside, strict=True):
        if within:
            texts.append(ColumnText("inside", part.item, part.figure, 0.5 * (column.left + right), middle, "center"))
    if words.total and slabs:
        top = min(max(to_px(slab.top) for slab in slabs) + 11.0, height - 8.0)
        total = fitting(shortened(words.total), room, TOTAL_TYPE_PX, bold=True)
        least = 0.5 * width_px(total, TOTAL_TYPE_PX, bold=True)  # it may be wider than its column
        x = min(max(0.5 * (column.left + column.right), least), size.ledger - least)
        texts.append(ColumnText("total", "", total, x, top, "center"))
    if not size.names:
        return ColumnNames(tuple(texts), ())
    elbows: list[tuple[tuple[float, ...], tuple[float, ...]]] = []
    lines = [2 if part.note else 1 for _, _, part in named]
    heights = name_heights([middle for middle, _, _ in named], lines, 8.0, height - 8.0)
    room = size.ledger - column.right - _NAME_AT
    for (middle, slab, part), y, within in zip(named, heights, inside, strict=True):
        texts.extend(_named(part, column.right + _NAME_AT, y, room, beside=not within))
        start = column.right - (HELP_PX if hidden(slab, slabs) else 0.0)
        elbows.append(((start + _ELBOW[0], *(column.right + step for step in _ELBOW[1:])), (middle, middle, y, y)))
    return ColumnNames(tuple(texts), tuple(elbows))


def _least(item: str) -> float:
    return HATCHED_PX if item in HATCHED else FIGURE_PX


def hidden(slab: Slab, slabs: tuple[Slab, ...]) -> bool:
    """Whether the bar of a part that helps covers the right of this one's middle."""
    middle = 0.5 * (slab.bottom + slab.top)
    return not slab.helps and any(other.helps and other.bottom < middle < other.top for other in slabs)


def _named(part: PartWords, x: float, y: float, room: float, *, beside: bool) -> list[ColumnText]:
    made: list[ColumnText] = []
    if beside:
        made.append(ColumnText("beside", part.item, part.figure, x, y))
        step = width_px(part.figure, NAME_TYPE_PX, bold=True) + 4.0
        x, room = x + step, room - step
    bold = part.item in ("lost", "short")
    name = fitting(part.name, room, NAME_TYPE_PX, bold=bold)
    made.append(ColumnText("name", part.item, name, x, y))
    if part.note:
        note = fitting(part.note, room, NAME_TYPE_PX, bold=True)
        made.append(ColumnText("note", part.item, note, x, y - NAME_PX))
    return made


def ghost_texts(
    slabs: tuple[Slab, ...],
    words: StackWords,
    *,
    column: Column,
    room: float,
    to_px: Callable[[float], float],
    height: float,
) -> tuple[ColumnText, ...]:
    """Figures in a chalked column's parts and its total over it, as far as they have room.

    The names stand beside the live column.

    Parameters
    ----------
    room : float
        Width that the total may take. [px]
    """
    by_item = {part.item: part for part in words.parts}
    middle, wide = 0.5 * (column.left + column.right), column.right - column.left
    texts: list[ColumnText] = []
    for slab in slabs:
        part = by_item.get(slab.item)
        if part is None or slab.helps or to_px(slab.top) - to_px(slab.bottom) < FIGURE_PX:
            continue
        if width_px(part.figure, GHOST_TYPE_PX) <= wide - 1.0:
            y = 0.5 * (to_px(slab.top) + to_px(slab.bottom))
            texts.append(ColumnText("inside", part.item, part.figure, middle, y, "center"))
    total = next((form for form in shortened(words.total) if width_px(form, GHOST_TYPE_PX, bold=True) <= room), "")
    if total and slabs:
        top = min(max(to_px(slab.top) for slab in slabs) + 10.0, height - 8.0)
        texts.append(ColumnText("total", "", total, middle, top, "center"))
    return tuple(texts)


def shortened(total: str) -> tuple[str, ...]:
    """``124 ft asked``, ``124 ft``, ``124``."""
    parts = total.split(" ")
    return tuple(" ".join(parts[:count]) for count in range(len(parts), 0, -1))
