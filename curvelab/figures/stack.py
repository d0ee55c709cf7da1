"""A column beside its chart: head ledger and suction budget."""

from __future__ import annotations

from typing import Any

from bokeh.models import MultiLine, Quad, Range1d

from curvelab.figures import theme
from curvelab.figures.columns import send
from curvelab.figures.frames import TITLE_PX, Stroke, Strokes, Texts, Written, bare, draw, empty
from curvelab.layout.axes import Axis
from curvelab.layout.ledger import Column, Slab, columns
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.stacking import (
    FIGURE_TYPE_PX,
    HELP_PX,
    NAME_TYPE_PX,
    TOTAL_TYPE_PX,
    ColumnText,
    column_names,
)
from curvelab.layout.text import fitting
from curvelab.layout.words import StackWords
from curvelab.studies.result import State

FOOT_PX = 12.0
_QUADS = ("left", "right", "bottom", "top", "fill", "line", "dash", "hatch", "ink", "alpha")


class Stack:
    """One of the two right frames."""

    def __init__(
        self, name: str, size: BenchSize, height: int, x_range: Range1d, y_range: Range1d, *, cap: int = 0
    ) -> None:
        self.plot: Any = bare(
            name, width=size.ledger, height=cap + height + size.foot, x_range=x_range, y_range=y_range, left=0, right=0
        )
        self._size, self._height = size, height
        self._quads = empty(*_QUADS)
        self._elbows = empty("xs", "ys")
        plot = self.plot
        quads = Quad(
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
        draw(plot, self._quads, quads)
        draw(plot, self._elbows, MultiLine(xs="xs", ys="ys", line_color=theme.INK_2, line_width=1))
        self._strokes = Strokes(plot)
        self._texts = Texts(plot)

    def update(self, scene: Scene, slabs: tuple[Slab, ...], words: StackWords, axis: Axis, *, leaders: bool) -> None:
        """Show the live column of another scene; ``leaders`` joins it to the chart."""
        column = columns(self._size, 0)[-1]
        scale = self._height / (axis.end - axis.low)
        names = column_names(
            slabs,
            words,
            column=column,
            size=self._size,
            to_px=lambda value: (value - axis.low) * scale,
            height=float(self._height),
        )
        ordered = sorted(slabs, key=lambda slab: slab.helps)  # what helps lies over the others
        quads = [_quad(slab, column) for slab in ordered if slab.top > slab.bottom]
        send(self._quads, **{name: [quad[index] for quad in quads] for index, name in enumerate(_QUADS)})
        rows = [Stroke(column.left - 6.0, 0.0, column.right + 6.0, 0.0, theme.INK_2, 1.4)]
        for index, (_, head) in enumerate(scene.leaders if leaders else ()):
            dead = scene.state is State.NO_LIFT
            colour = theme.PUMP if dead else theme.SUCT if index else theme.INK
            rows.append(Stroke(0.0, head, column.right if dead else column.left, head, colour, 1.2, theme.DOTTED))
        self._strokes.show(rows)
        up = 1.0 / scale
        send(
            self._elbows,
            xs=[list(xs) for xs, _ in names.elbows],
            ys=[[round(axis.low + y * up, 3) for y in ys] for _, ys in names.elbows],
        )
        self._texts.show([_written(text, axis.low, up) for text in names.texts])


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

    def update(self, ledger: StackWords, budget: StackWords, pill: str) -> None:
        """Show other words; ``pill`` stands at the foot where the flow with its unit has no room."""
        size = self._size
        column = columns(size, 0)[-1]
        middle, room = 0.5 * (column.left + column.right), column.right - column.left + 12.0
        rows: list[Written] = []
        for line, whole in enumerate(ledger.foot[:2]):
            bold = line == 0
            text = fitting((whole, pill or whole) if bold else (whole,), room, FOOT_PX, bold=bold)
            y = size.gutter - 9.0 - 13.0 * line
            rows.append(Written(middle, y, text, theme.INK, FOOT_PX, bold=bold, align="center"))
        if size.names:
            text = fitting(budget.title, size.ledger - size.gap, TITLE_PX, bold=True)
            rows.append(Written(float(size.gap), 11.0, text, theme.INK, TITLE_PX, bold=True))
        self._texts.show(rows)
