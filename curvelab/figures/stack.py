"""A column beside its chart: head ledger and suction budget."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from bokeh.models import MultiLine, Quad, Range1d

from curvelab.figures import theme
from curvelab.figures.chalk import Ribbons
from curvelab.figures.columns import send
from curvelab.figures.frames import TITLE_PX, Stroke, Strokes, Texts, Written, bare, draw, empty
from curvelab.layout.axes import Axis
from curvelab.layout.ledger import Column, Slab, columns, ribbons
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.stacking import (
    FIGURE_TYPE_PX,
    GHOST_TYPE_PX,
    HELP_PX,
    NAME_TYPE_PX,
    TOTAL_TYPE_PX,
    ColumnText,
    column_names,
    ghost_texts,
)
from curvelab.layout.text import fitting, width_px
from curvelab.layout.words import BenchWords, StackWords
from curvelab.studies.result import State

FOOT_PX = 12.0
_QUADS = ("left", "right", "bottom", "top", "fill", "line", "dash", "hatch", "ink", "alpha")


@dataclass(frozen=True, slots=True)
class ChalkColumn:
    """A chalked setup's column; at ``leader`` a dotted line comes from its point in the chart."""

    slabs: tuple[Slab, ...]
    words: StackWords
    leader: float | None = None


class Stack:
    """One of the two right frames; ``led`` where dotted lines come to it from the chart."""

    def __init__(
        self,
        name: str,
        size: BenchSize,
        height: int,
        x_range: Range1d,
        y_range: Range1d,
        *,
        cap: int = 0,
        led: bool = False,
    ) -> None:
        self._led = led
        self.plot: Any = bare(
            name, width=size.ledger, height=cap + height + size.foot, x_range=x_range, y_range=y_range, left=0, right=0
        )
        self._size, self._height = size, height
        self._quads, self._ghosts = empty(*_QUADS), empty(*_QUADS)
        self._elbows = empty("xs", "ys")
        plot = self.plot
        self._between, self._ribbons = Ribbons(plot), Ribbons(plot)
        for source in (self._ghosts, self._quads):
            draw(plot, source, _bars())
        draw(plot, self._elbows, MultiLine(xs="xs", ys="ys", line_color=theme.INK_2, line_width=1))
        self._chalk_strokes, self._chalk_texts = Strokes(plot), Texts(plot)
        self._strokes = Strokes(plot)
        self._texts = Texts(plot)

    def update(
        self, scene: Scene, slabs: tuple[Slab, ...], words: StackWords, axis: Axis, chalked: Sequence[ChalkColumn]
    ) -> None:
        """Show another scene's columns, the live one after the chalked ones.

        Parameters
        ----------
        chalked : sequence of ChalkColumn
            As many as the scene has ghosts.
        """
        places = columns(self._size, len(chalked))
        scale = self._height / (axis.end - axis.low)
        self._show_live(scene, slabs, words, axis, places)
        self._show_chalked(places, axis, scale, chalked)
        last = (places[-2], chalked[-1].slabs) if chalked else None
        self._ribbons.show(ribbons(last, (places[-1], slabs)) if last is not None else ())

    def _show_chalked(
        self, places: tuple[Column, ...], axis: Axis, scale: float, chalked: Sequence[ChalkColumn]
    ) -> None:
        pairs = list(zip(places, chalked, strict=False))
        quads = [
            _ghost_quad(slab, column)
            for column, one in pairs
            for slab in sorted(one.slabs, key=lambda slab: slab.helps)
            if slab.top > slab.bottom
        ]
        send(self._ghosts, **{name: [quad[index] for quad in quads] for index, name in enumerate(_QUADS)})
        between = [
            row
            for (column, one), (after, other) in pairwise(pairs)
            for row in ribbons((column, one.slabs), (after, other.slabs))
        ]
        self._between.show(tuple(between))
        self._chalk_texts.show(
            [
                _ghost_written(text, axis.low, 1.0 / scale)
                for column, one in pairs
                for text in ghost_texts(
                    one.slabs,
                    one.words,
                    column=column,
                    room=column.right - column.left + self._size.columns[len(chalked)].apart,
                    to_px=lambda value: (value - axis.low) * scale,
                    height=float(self._height),
                )
            ]
        )
        self._chalk_strokes.show(
            [
                Stroke(0.0, one.leader, places[0].left, one.leader, theme.CHALK, 1.2, theme.DOTTED)
                for one in chalked
                if one.leader is not None
            ]
        )

    def _show_live(
        self, scene: Scene, slabs: tuple[Slab, ...], words: StackWords, axis: Axis, places: tuple[Column, ...]
    ) -> None:
        column, first = places[-1], places[0]
        scale = self._height / (axis.end - axis.low)
        names = column_names(
            slabs,
            words,
            column=column,
            size=self._size,
            to_px=lambda value: (value - axis.low) * scale,
            height=float(self._height),
            room=1e9 if len(places) == 1 else column.right - places[-2].right,
        )
        ordered = sorted(slabs, key=lambda slab: slab.helps)  # what helps lies over the others
        quads = [_quad(slab, column) for slab in ordered if slab.top > slab.bottom]
        send(self._quads, **{name: [quad[index] for quad in quads] for index, name in enumerate(_QUADS)})
        rows = [Stroke(first.left - 6.0, 0.0, column.right + 6.0, 0.0, theme.INK_2, 1.4)]
        for index, (_, head) in enumerate(scene.leaders if self._led else ()):
            dead = scene.state is State.NO_LIFT
            colour = theme.PUMP if dead else theme.SUCT if index else theme.INK
            rows.append(Stroke(0.0, head, column.right if dead else first.left, head, colour, 1.2, theme.DOTTED))
        self._strokes.show(rows)
        up = 1.0 / scale
        send(
            self._elbows,
            xs=[list(xs) for xs, _ in names.elbows],
            ys=[[round(axis.low + y * up, 2) for y in ys] for _, ys in names.elbows],
        )
        self._texts.show([_written(text, axis.low, up) for text in names.texts])


def _bars() -> Quad:
    """Parts of a column; every style is a column of its source."""
    return Quad(
        left="left",
        right="right",
        bottom="bottom",
        top="top",
        fill_color="fill",
        line_color="line",
        line_dash="dash",
        line_width=1,
        hatch_pattern="hatch",
        hatch_color="ink",
        hatch_alpha="alpha",
        hatch_scale=8,
        hatch_weight=1.15,
    )


_HATCHES: dict[str, tuple[str, str, float]] = {
    "suction": ("right_diagonal_line", theme.SHEET, 0.38),
    "lost": ("right_diagonal_line", theme.SUCT, 0.45),
    "short": ("left_diagonal_line", theme.ALERT, 0.5),
}
_EDGES = {"lost": theme.SUCT, "short": theme.ALERT, "spare": theme.LIFT, "left": theme.LIFT}


def _quad(slab: Slab, column: Column) -> tuple[Any, ...]:
    """Left, right, bottom, top, fill, line, dash, hatch, its ink and its opacity."""
    ends = round(slab.bottom, 4), round(slab.top, 4)
    if slab.helps:
        left, hatch = column.right - HELP_PX, ("left_diagonal_line", theme.LIFT, 0.7)
        return (left, column.right, *ends, theme.SHEET, theme.LIFT, [], *hatch)
    fill, edge = theme.SLAB_FILL.get(slab.item, theme.BAND_RISE), _EDGES.get(slab.item, theme.SHEET)
    dash = [4, 3] if slab.item == "lost" else []
    return (column.left, column.right, *ends, fill, edge, dash, *_HATCHES.get(slab.item, (" ", theme.SHEET, 0.0)))


def _ghost_quad(slab: Slab, column: Column) -> tuple[Any, ...]:
    """A chalked part: pale, its edge dashed."""
    left = column.right - HELP_PX if slab.helps else column.left
    fill = theme.SHEET if slab.helps else theme.CHALK_FILL.get(slab.item, theme.SHEET)
    ends = round(slab.bottom, 4), round(slab.top, 4)
    hatch = _HATCHES.get(slab.item) if slab.item in ("lost", "short") else None
    return (left, column.right, *ends, fill, theme.CHALK, [4, 3], *(hatch or (" ", theme.SHEET, 0.0)))


def _ghost_written(text: ColumnText, low: float, up: float) -> Written:
    total = text.kind == "total"
    plate = 0.85 if text.item in ("lost", "short") else 0.0
    return Written(
        text.x, low + text.y * up, text.text, theme.CHALK, GHOST_TYPE_PX, bold=total, align="center", plate=plate
    )


def _written(text: ColumnText, low: float, up: float) -> Written:
    item, y = text.item, low + text.y * up
    if text.kind == "total":
        return Written(text.x, y, text.text, theme.INK, TOTAL_TYPE_PX, bold=True, align="center")
    if text.kind == "inside":
        colour = theme.SLAB_TEXT.get(item, theme.INK)
        plate = 0.85 if item in ("lost", "short") else 0.0
        return Written(text.x, y, text.text, colour, FIGURE_TYPE_PX, bold=True, align="center", plate=plate)
    if text.kind == "beside":
        return Written(text.x, y, text.text, theme.FIGURE_COLOUR.get(item, theme.INK), NAME_TYPE_PX, bold=True)
    bold = text.kind == "note" or item in theme.NAME_COLOUR
    colour = theme.PIPE if text.kind == "note" else theme.NAME_COLOUR.get(item, theme.INK)
    return Written(text.x, y, text.text, colour, NAME_TYPE_PX, bold=bold)


class Spacer:
    """Between ledger and budget: what stands at the columns' feet, and the budget's heading."""

    def __init__(self, size: BenchSize) -> None:
        self.plot: Any = bare(
            "spacer",
            width=size.ledger - size.overhang,
            height=size.gutter,
            x_range=Range1d(size.overhang, size.ledger),
            y_range=Range1d(0, size.gutter),
            left=0,
            right=0,
        )
        self._size = size
        self._texts = Texts(self.plot)

    def update(self, words: BenchWords) -> None:
        """Show other words; the flow without its unit where there is no room for that."""
        size, wide = self._size, self._size.columns[len(words.chalks)]
        *chalked, column = columns(size, len(words.chalks))
        alone = wide.live + (12.0 if size.names else 0.0)  # on a phone the flow's pill may end right beside it
        room = wide.live + wide.between if chalked else alone
        rows = self._feet(column, room, words.ledger.foot, words.pill)
        for place, said in zip(chalked, words.chalks, strict=True):
            room = wide.chalk + wide.apart
            name = next((form for form in said.foot if width_px(form, FOOT_PX) <= room), said.letter)
            feet = self._feet(place, room, (said.pill or "none", name), "")
            rows += [row._replace(colour=theme.CHALK) for row in feet]
        if size.names:
            text = fitting(words.budget.title, size.ledger - size.gap, TITLE_PX, bold=True)
            rows.append(Written(float(size.gap), 10.0, text, theme.INK, TITLE_PX, bold=True))
        self._texts.show(rows)

    def _feet(self, column: Column, room: float, lines: Sequence[str], short: str) -> list[Written]:
        """At most two lines under a column; a line that has no room is left out."""
        rows: list[Written] = []
        for line, whole in enumerate(lines[:2]):
            bold = line == 0
            forms = (whole, short or whole) if bold else (whole, whole.partition(":")[0])
            text = fitting(forms, room, FOOT_PX, bold=bold)
            wide = width_px(text, FOOT_PX, bold=bold)
            if wide <= 1.1 * room:
                y = self._size.gutter - 9.0 - 12.5 * line
                middle = min(0.5 * (column.left + column.right), self._size.ledger - 0.5 * wide)
                rows.append(Written(middle, y, text, theme.INK, FOOT_PX, bold=bold, align="center"))
        return rows
