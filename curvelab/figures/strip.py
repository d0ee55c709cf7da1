"""The suction strip: what is left of the air's push, against what the pump needs, on the chart's own flow axis."""

from __future__ import annotations

from typing import Any

import numpy as np
from bokeh.models import BoxAnnotation, FixedTicker, HStrip, Line, Range1d, VArea

from curvelab.figures import theme
from curvelab.figures.chart import columns_of, head_numbers
from curvelab.figures.columns import put, send
from curvelab.figures.frames import (
    Dot,
    Dots,
    Stroke,
    Strokes,
    Texts,
    Written,
    bare,
    draw,
    empty,
    grid_lines,
    written,
)
from curvelab.figures.regions import Regions
from curvelab.layout.placing import Named
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.upright_numbers import GRIP_PX

_LINES = ("strip_flow", "left", "npsha_flow", "npsha", "npshr_flow", "npshr", "npshr_low", "npshr_high")
_CURVES = (
    ("npsha_flow", "npsha", theme.SUCT, 2.8, "solid"),
    ("npshr_flow", "npshr", theme.PUMP, 2.4, theme.DASH_DOT),
    ("npshr_flow", "npshr_low", theme.PUMP, 1.2, theme.DASH_DOT),
    ("npshr_flow", "npshr_high", theme.PUMP, 1.2, theme.DASH_DOT),
)
_PLATE = 0.85  # opacity of the white ground under a text in the hatch
_SAME = 1e-6  # two flows nearer than this, relative, are one


class Strip:
    """The lower left frame."""

    def __init__(
        self, size: BenchSize, x_range: Range1d, y_range: Range1d, ticks: FixedTicker, regions: Regions
    ) -> None:
        self._size = size
        self.plot: Any = bare(
            "strip",
            width=size.axis + size.plot,
            height=size.strip + size.foot,
            x_range=x_range,
            y_range=y_range,
            left=size.axis,
            right=0,
        )
        self._lines = empty(*_LINES)
        self._spent = empty("y0", "y1")
        regions.ground(self.plot)
        self._rows = FixedTicker(ticks=[])
        grid_lines(self.plot, ticks, self._rows)
        self._draw_curves()
        self._strokes = Strokes(self.plot)
        self._edges = Strokes(self.plot, level="annotation")
        self._dots = Dots(self.plot)
        self._texts = Texts(self.plot)
        self._numbers = Texts(self.plot)

    def _draw_curves(self) -> None:
        plot, lines = self.plot, self._lines
        draw(plot, self._spent, HStrip(y0="y0", y1="y1", fill_color=theme.BAND_LIFT, line_color=None))
        self._hose = draw(plot, lines, VArea(x="strip_flow", y1="left", y2=0.0, fill_color=theme.BAND_SUCTION))
        band = VArea(x="npshr_flow", y1="npshr_low", y2="npshr_high", fill_color=theme.PUMP, fill_alpha=0.18)
        self._estimate = draw(plot, lines, band)
        self._undrawn = BoxAnnotation(
            bottom=0,
            top=0,
            fill_color=theme.SHEET,
            fill_alpha=1,
            line_color=theme.ALERT,
            hatch_pattern="left_diagonal_line",
            hatch_color=theme.ALERT,
            hatch_alpha=0.6,
            hatch_scale=8,
            level="glyph",
            visible=False,
        )
        plot.add_layout(self._undrawn)
        for x, y, colour, width, dash in _CURVES:
            draw(plot, lines, Line(x=x, y=y, line_color=colour, line_width=width, line_dash=dash))

    def update(self, scene: Scene, named: Named, plot_px: float) -> None:
        """Show another scene."""
        send(self._lines, **columns_of(scene.lines, _LINES))
        put(self._hose.glyph, y2=round(scene.rest, 4))
        send(self._spent, y0=[round(min(scene.rest, scene.air), 4)], y1=[round(max(scene.rest, scene.air), 4)])
        put(self._rows, ticks=list(scene.axes.suction.ticks))
        put(self._estimate, visible=scene.estimate)
        put(self._undrawn, visible=scene.undrawn is not None)
        if scene.undrawn is not None:
            put(self._undrawn, bottom=round(scene.undrawn[0], 4), top=round(scene.undrawn[1], 4))
        self._strokes.show(_levels(scene))
        self._dots.show(_points(scene))
        self._show_axes(scene)
        across, up = scene.axes.flow.end / plot_px, scene.axes.suction.end / self._size.strip
        lines = scene.lines
        rows: list[Written] = []
        for text in named.texts:
            x, y = text.x * across, text.y * up
            hatched = (
                scene.limit is not None and x > scene.limit and y < float(np.interp(x, lines.strip_flow, lines.left))
            )
            rows.append(written(text, x, y, plate=_PLATE if hatched else 0.0))
        self._texts.show(rows)

    def _show_axes(self, scene: Scene) -> None:
        axis = scene.axes.suction
        self._numbers.show(
            head_numbers(axis, scene, self._size.axis, self._size.strip, [(scene.rest, GRIP_PX)]),
        )
        edges = [Stroke(0.0, 0.0, 0.0, axis.end, theme.INK_2, 1.4)]
        edges.append(Stroke(0.0, 0.0, scene.axes.flow.end, 0.0, theme.INK_2, 1.4))
        self._edges.show(edges)


def _levels(scene: Scene) -> list[Stroke]:
    end, top = scene.axes.flow.end, scene.axes.suction.end
    rows = [
        Stroke(0.0, scene.rest, end, scene.rest, theme.INK_2, 1.0),
        Stroke(0.0, scene.air, end, scene.air, theme.INK, 2.0),
    ]
    if scene.limit is not None:
        rows.append(Stroke(scene.limit, 0.0, scene.limit, top, theme.SUCT, 1.6, (3, 3)))
    if scene.flow is not None:
        rows.append(Stroke(scene.flow, 0.0, scene.flow, top, theme.INK, 1.4, theme.DOTTED))
    if scene.spare is not None:
        flow, needed, left = scene.spare
        rows.append(Stroke(flow, needed, flow, left, theme.INK, 2.6))
    return rows


def _points(scene: Scene) -> list[Dot]:
    rows: list[Dot] = []
    limit = scene.limit
    if scene.spare is not None and (limit is None or abs(scene.spare[0] - limit) > _SAME * limit):
        flow, needed, left = scene.spare
        rows.append(Dot(flow, left, 9.0, theme.SHEET, theme.SUCT, 2.0))
        rows.append(Dot(flow, needed, 9.0, theme.SHEET, theme.PUMP, 2.0))
    if limit is not None and limit < scene.axes.flow.end:
        rows.append(
            Dot(
                limit,
                float(np.interp(limit, scene.lines.strip_flow, scene.lines.left)),
                9.0,
                theme.SUCT,
                theme.SHEET,
                2.0,
            )
        )
    return rows
