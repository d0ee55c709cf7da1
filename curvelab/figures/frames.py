"""What all frames of the bench have in common: a bare figure, and texts that may stand outside its frame."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from bokeh.core.properties import value
from bokeh.models import ColumnDataSource, Range1d
from bokeh.plotting import figure

from curvelab.figures import theme
from curvelab.figures.columns import send

TITLE_PX = 13.0
PAD_PX = 3
"""White ground left and right of a text. [px]"""
TEXT_COLUMNS = ("x", "y", "text", "align", "colour", "size", "style", "plate", "dx")


def bare(name: str, *, width: int, height: int, x_range: Range1d, y_range: Range1d, left: int, right: int) -> Any:
    """A figure with neither toolbar, axes nor borders but those given. [px]"""
    plot = figure(
        name=name,
        width=width,
        height=height,
        x_range=x_range,
        y_range=y_range,
        tools="",
        toolbar_location=None,
        outline_line_color=None,
        background_fill_color=None,
        border_fill_color=theme.SHEET,
        min_border_left=left,
        min_border_right=right,
        min_border_top=0,
        min_border_bottom=0,
        html_attributes={"role": "img", "aria-label": ""},
    )
    plot.axis.visible = False
    plot.grid.visible = False
    return plot


def grid_lines(plot: Any, *, across: bool = True, up: bool = True) -> None:
    """Thin lines at the ticks."""
    for lines, shown in ((plot.xgrid, up), (plot.ygrid, across)):
        lines.visible = shown
        lines.grid_line_color = theme.INK
        lines.grid_line_alpha = 0.1
        lines.grid_line_width = 1


def empty(*names: str) -> ColumnDataSource:
    """A source with no rows yet."""
    return ColumnDataSource({name: [] for name in names})


def texts(plot: Any, source: ColumnDataSource, **more: Any) -> Any:
    """Written lines from a source of ``TEXT_COLUMNS``; they may stand outside the frame."""
    return plot.text(
        x="x",
        y="y",
        text="text",
        text_align="align",
        text_color="colour",
        text_font_size="size",
        text_font_style="style",
        x_offset="dx",
        text_baseline="middle",
        text_font=value(theme.FONT),
        background_fill_color=theme.SHEET,
        background_fill_alpha="plate",
        padding=[PAD_PX, 1],
        level="annotation",
        source=source,
        **more,
    )


@dataclass(frozen=True, slots=True)
class Written:
    """One line of text in the coordinates of its figure."""

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


_PADDED = {"left": -PAD_PX, "center": 0, "right": PAD_PX}  # the ground counts as part of the text


def write(source: ColumnDataSource, rows: Sequence[Written]) -> None:
    """Send lines of text."""
    send(
        source,
        x=[round(row.x, 3) for row in rows],
        y=[round(row.y, 3) for row in rows],
        text=[row.text for row in rows],
        align=[row.align for row in rows],
        colour=[row.colour for row in rows],
        size=[f"{row.size}px" for row in rows],
        style=["bold" if row.bold else "normal" for row in rows],
        plate=[row.plate for row in rows],
        dx=[round(row.dx + _PADDED[row.align], 1) for row in rows],
    )
