"""What the frames have in common: a bare figure, lines, dots and texts that may stand outside its frame.

All that is not a curve goes through three kinds of row, ``Stroke``, ``Dot`` and ``Written``, each with a source of its
own columns and a glyph that reads every style from them: to show something else is to send other rows.
"""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, NamedTuple, TypeVar

from bokeh.core.properties import value
from bokeh.models import (
    CDSView,
    ColumnDataSource,
    FixedTicker,
    Glyph,
    GlyphRenderer,
    Grid,
    Range1d,
    Scatter,
    Segment,
    Text,
)
from bokeh.plotting import figure

from curvelab.figures import theme
from curvelab.figures.columns import send
from curvelab.layout.placing import TYPES
from curvelab.layout.placing import Text as Placed
from curvelab.layout.text import LINE_HEIGHT

TITLE_PX = 13.0
"""Size of a heading inside a picture. [px]"""
_PAD_PX = 3  # white ground left and right of a text
_PADDED = {"left": -_PAD_PX, "center": 0, "right": _PAD_PX}  # the ground counts as part of the text
_TEXT_PLACES = 2  # of a text's
_PLACES = 3  # decimals of a coordinate in display units: far below a pixel


class Stroke(NamedTuple):
    """A straight line in the coordinates of its figure."""

    x0: float
    y0: float
    x1: float
    y1: float
    colour: str
    width: float
    dash: Sequence[int] = ()


class Dot(NamedTuple):
    """A marker in the coordinates of its figure."""

    x: float
    y: float
    size: float
    fill: str
    line: str
    width: float = 1.6
    dash: Sequence[int] = ()
    marker: str = "circle"
    angle: float = 0.0


class Written(NamedTuple):
    """A text in the coordinates of its figure, its vertical middle at ``y``."""

    x: float
    y: float
    text: str
    colour: str
    size: float
    bold: bool = False
    align: str = "left"
    dx: float = 0.0
    """Shift to the right. [px]"""
    plate: float = 0.0
    """Opacity of the white ground under it."""
    angle: float = 0.0
    """[rad]"""


def written(text: Placed, x: float, y: float, *, colour: str = "", plate: float = 0.0, angle: float = 0.0) -> Written:
    """A placed text as it is drawn at a place of the figure: size, weight and, unless given, colour of its kind."""
    kind = TYPES[text.kind]
    return Written(
        x,
        y,
        text.text,
        colour or theme.TEXT_COLOUR[text.kind],
        kind.size,
        kind.bold,
        text.align,
        plate=plate,
        angle=angle,
    )


def bare(name: str, *, width: int, height: int, x_range: Range1d, y_range: Range1d, left: int, right: int) -> Any:
    """A figure with neither toolbar, axes nor borders but those given. [px]

    Border and ground have to be filled: what was drawn outside the frame would stay when the size changes, and in the
    canvas's first row, which is wiped only by half each time, a shade of what was there before.
    """
    return figure(
        name=name,
        width=width,
        height=height,
        x_range=x_range,
        y_range=y_range,
        tools="",
        toolbar_location=None,
        outline_line_color=None,
        x_axis_type=None,
        y_axis_type=None,
        background_fill_color=theme.SHEET,
        border_fill_color=theme.SHEET,
        min_border_left=left,
        min_border_right=right,
        min_border_top=0,
        min_border_bottom=0,
        html_attributes={"inert": "true"},  # no stop for keys or readers until it is told what it shows
    )


def grid_lines(plot: Any, across: FixedTicker, up: FixedTicker) -> None:
    """Thin lines at the ticks of the flow axis and of the other one."""
    for dimension, ticker in enumerate((across, up)):
        lines = Grid(
            dimension=dimension, ticker=ticker, grid_line_color=theme.INK, grid_line_alpha=0.1, grid_line_width=1
        )
        plot.add_layout(lines)


def draw(plot: Any, source: ColumnDataSource, glyph: Glyph, *, level: str = "glyph") -> Any:
    """Add one glyph.

    Nothing is ever selected: the twins for that are the glyph itself instead of copies made in the browser, and what a
    plot's sources and views have in common for it they share. Each keeps a view of its own, though: a view shared by
    two sources would show both with the rows of one.
    """
    first = plot.renderers[0] if plot.renderers else None
    if first is not None and first.data_source is not source:
        source.selection_policy = first.data_source.selection_policy
    view = CDSView(filter=first.view.filter) if first is not None else CDSView()
    twins = dict.fromkeys(("selection_glyph", "nonselection_glyph", "muted_glyph"), glyph)
    renderer = GlyphRenderer(data_source=source, glyph=glyph, view=view, level=level, **twins)
    plot.renderers.append(renderer)
    return renderer


def empty(*names: str) -> ColumnDataSource:
    """A source with no rows yet."""
    return ColumnDataSource({name: [] for name in names})


_Row = TypeVar("_Row", Stroke, Dot)


class Strokes:
    """Lines of any style; at level ``annotation`` they may stand outside the frame."""

    def __init__(self, plot: Any, *, level: str = "glyph") -> None:
        self._rows: list[Stroke] = []
        self._source = empty(*Stroke._fields)
        glyph = Segment(
            x0="x0",
            y0="y0",
            x1="x1",
            y1="y1",
            line_color="colour",
            line_dash="dash",
            line_width="width",
        )
        draw(plot, self._source, glyph, level=level)

    def show(self, rows: list[Stroke]) -> None:
        """Show other lines."""
        rows = _no_fewer(rows, self._rows, lambda row: row._replace(x1=row.x0, y1=row.y0))
        if rows != self._rows:
            self._rows = rows
            send(self._source, **_columns(Stroke._fields, rows))


class Dots:
    """Markers of any style; they may stand outside the frame."""

    def __init__(self, plot: Any) -> None:
        self._rows: list[Dot] = []
        self._source = empty(*Dot._fields)
        glyph = Scatter(
            x="x",
            y="y",
            size="size",
            marker="marker",
            angle="angle",
            fill_color="fill",
            line_color="line",
            line_width="width",
            line_dash="dash",
        )
        draw(plot, self._source, glyph, level="annotation")

    def show(self, rows: list[Dot]) -> None:
        """Show other markers."""
        rows = _no_fewer(rows, self._rows, lambda row: row._replace(size=0.0))
        if rows != self._rows:
            self._rows = rows
            send(self._source, **_columns(Dot._fields, rows))


class Texts:
    """Texts of any style; they may stand outside the frame.

    Parameters
    ----------
    places : int
        Decimals of a coordinate; more where an axis is so short that a hundredth of its unit is some pixels.
    """

    def __init__(
        self,
        plot: Any,
        *,
        ground: str = theme.SHEET,
        padding: tuple[int, int] = (_PAD_PX, 1),
        radius: int = 0,
        places: int = _TEXT_PLACES,
    ) -> None:
        self._rows: list[Written] = []
        self._places = places
        self._source = empty("x", "y", "text", "colour", "size", "style", "align", "dx", "plate", "angle")
        glyph = Text(
            x="x",
            y="y",
            text="text",
            text_align="align",
            text_color="colour",
            text_font_size="size",
            text_font_style="style",
            text_line_height=LINE_HEIGHT,
            x_offset="dx",
            angle="angle",
            text_baseline="middle",
            text_font=value(theme.FONT),
            background_fill_color=ground,
            background_fill_alpha="plate",
            padding=padding,
            border_radius=radius,
        )
        draw(plot, self._source, glyph, level="annotation")

    def show(self, rows: list[Written]) -> None:
        """Show other texts."""
        rows = _in_like_places(rows, self._rows)
        if rows == self._rows:
            return
        self._rows = rows
        send(
            self._source,
            x=[round(row.x, self._places) for row in rows],
            y=[round(row.y, self._places) for row in rows],
            text=[row.text for row in rows],
            colour=[row.colour for row in rows],
            size=[f"{row.size:g}px" for row in rows],
            style=["bold" if row.bold else "normal" for row in rows],
            align=[row.align for row in rows],
            dx=[round(row.dx + (0.0 if row.angle else _PADDED[row.align]), 1) for row in rows],
            plate=[row.plate for row in rows],
            angle=[row.angle for row in rows],
        )


def _no_fewer(rows: list[_Row], before: list[_Row], unseen: Callable[[_Row], _Row]) -> list[_Row]:
    """As many rows as before at least, those too many unseen: columns that don't change then need not be sent."""
    return [*rows, *(unseen(row) for row in before[len(rows) :])]


def _in_like_places(rows: list[Written], before: list[Written]) -> list[Written]:
    """Each text where one of its style stood before, so that a text more or less changes no style of the others."""
    free: dict[tuple[Any, ...], list[int]] = {}
    for place, row in reversed(list(enumerate(before))):
        free.setdefault(_style(row), []).append(place)
    at = [places.pop() if (places := free.get(_style(row))) else -1 for row in rows]
    left = sorted(place for places in free.values() for place in places)
    shown: list[Written] = [row._replace(text="", plate=0.0) for row in before]
    for place, row in zip(at, rows, strict=True):
        if place >= 0:
            shown[place] = row
    for row in (row for place, row in zip(at, rows, strict=True) if place < 0):
        if left:
            shown[left.pop(0)] = row
        else:
            shown.append(row)
    return shown


def _style(row: Written) -> tuple[Any, ...]:
    return row.colour, row.size, row.bold, row.align, row.dx, row.angle


def _columns(names: tuple[str, ...], rows: Sequence[Stroke] | Sequence[Dot]) -> dict[str, list[Any]]:
    columns = zip(*rows, strict=True) if rows else ((),) * len(names)
    return {name: [_short(item) for item in column] for name, column in zip(names, columns, strict=True)}


def _short(item: Any) -> Any:
    return round(item, _PLACES) if isinstance(item, float) else list(item) if isinstance(item, tuple) else item
