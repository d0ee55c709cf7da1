"""The head chart: what the pump gives, what the site asks."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from bokeh.models import FixedTicker, Line, MultiLine, Range1d, VArea

from curvelab.figures import theme
from curvelab.figures.band import BandMark
from curvelab.figures.chalk import ChalkCurves, gain_arrow
from curvelab.figures.columns import put, send, short
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
from curvelab.layout.axes import Axis
from curvelab.layout.chart_names import PLATED
from curvelab.layout.gutter import TICK_PX
from curvelab.layout.lines import Lines
from curvelab.layout.placing import Named, Text
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.upright_numbers import rings_at_rest, upright_numbers
from curvelab.layout.words import BenchWords
from curvelab.studies.result import State

_LINES = (
    *("live_flow", "foot", "top_lift", "top_rise", "top_suction", "top_discharge", "top_leaving", "live_head"),
    *("beyond_flow", "beyond_head", "pump_flow", "pump_head", "past_flow", "past_head", "pump_low", "pump_high"),
)
_BANDS = (
    ("foot", "top_lift", theme.BAND_LIFT),
    ("top_lift", "top_rise", theme.BAND_RISE),
    ("top_rise", "top_suction", theme.BAND_SUCTION),
    ("top_suction", "top_discharge", theme.BAND_DISCHARGE),
    ("top_discharge", "top_leaving", theme.BAND_LEAVING),
    ("top_leaving", "live_head", theme.BAND_PRESSURE),
)
_CURVES = (
    ("beyond_flow", "beyond_head", theme.PIPE, 1.6, "solid"),
    ("past_flow", "past_head", theme.PUMP, 1.8, theme.DRY),
    ("live_flow", "live_head", theme.PIPE, 3.0, "solid"),
    ("pump_flow", "pump_head", theme.PUMP, 3.0, "solid"),
)
_EDGE = [6, 3]  # dashes of a band's edges [px]
_IN_LINE = [8, 4]  # dashes of a pump in the line [px]
_DECIMALS = 3  # of a thin line's points
_PLATE = 0.92  # opacity of the white ground under a text
_UPRIGHT = round(0.5 * math.pi, 4)  # of turned text [rad]
_TIP_PX = 5.0  # middle of an arrow's tip from its end


def columns_of(lines: Lines, names: tuple[str, ...]) -> dict[str, Any]:
    """Columns of a source, as ``short`` writes them."""
    return {name: short(getattr(lines, name)) for name in names}


def head_numbers(
    axis: Axis, scene: Scene, room_px: float, height_px: float, rings: Sequence[tuple[float, float]]
) -> list[Written]:
    """Numbers left of an upright axis, clear of the rings on it (see ``upright_numbers``)."""
    return [
        Written(0.0, number.at, number.text, theme.INK_2, TICK_PX, align="right", dx=-number.dx)
        for number in upright_numbers(axis, scene.units.head.symbol, height_px=height_px, room_px=room_px, rings=rings)
    ]


class Chart:
    """The upper left frame."""

    def __init__(self, size: BenchSize, x_range: Range1d, y_range: Range1d, regions: Regions) -> None:
        self._size = size
        self.plot: Any = bare(
            "chart",
            width=size.axis + size.plot,
            height=size.cap + size.chart + size.foot,
            x_range=x_range,
            y_range=y_range,
            left=size.axis,
            right=0,
        )
        self.ticks, self._rows = FixedTicker(ticks=[]), FixedTicker(ticks=[])
        self._lines = empty(*_LINES)
        self._foot = regions.ground(self.plot)
        self._draw_curves()
        regions.line(self.plot, solid=True)
        self.band = BandMark(self.plot)
        self._chalk.add_marks()
        self._strokes = Strokes(self.plot)
        self._edges = Strokes(self.plot, level="annotation")
        self._dots = Dots(self.plot)
        self._texts = Texts(self.plot)
        self._numbers = Texts(self.plot)

    def _draw_curves(self) -> None:
        plot, lines = self.plot, self._lines
        grid_lines(plot, self.ticks, self._rows)
        self._bands = [
            draw(plot, lines, VArea(x="live_flow", y1=low, y2=high, fill_color=colour)) for low, high, colour in _BANDS
        ]
        helps = VArea(
            x="live_flow",
            y1="foot",
            y2=0,
            fill_color=None,
            hatch_pattern="left_diagonal_line",
            hatch_color=theme.LIFT,
            hatch_alpha=0.35,
            hatch_scale=16,
        )
        self._helps = draw(plot, lines, helps)
        doubt = VArea(x="past_flow", y1="pump_low", y2="pump_high", fill_color=theme.PUMP, fill_alpha=0.16)
        self._doubt = [draw(plot, lines, doubt)]
        for edge in ("pump_low", "pump_high"):
            line = Line(x="past_flow", y=edge, line_color=theme.PUMP, line_width=1.0, line_dash=_EDGE)
            self._doubt.append(draw(plot, lines, line))
        self._chalk = ChalkCurves(plot)
        self._thin = empty("xs", "ys", "dash")
        thin = MultiLine(xs="xs", ys="ys", line_color=theme.PUMP, line_width=1.3, line_dash="dash", line_join="round")
        draw(plot, self._thin, thin)
        for x, y, colour, width, dash in _CURVES:
            cap = "butt" if dash == "solid" else "round"  # dots, where the curve is not to be trusted
            draw(plot, lines, Line(x=x, y=y, line_color=colour, line_width=width, line_dash=dash, line_cap=cap))

    def update(self, scene: Scene, named: Named, words: BenchWords, plot_px: float) -> None:
        """Show another scene."""
        send(self._lines, **columns_of(scene.lines, _LINES))
        put(self.ticks, ticks=list(scene.axes.flow.ticks))
        put(self._rows, ticks=list(scene.axes.head.ticks))
        put(self._foot, top=scene.axes.head.low)
        for band in self._bands:
            put(band, visible=scene.bands)
        for band in self._doubt:
            put(band, visible=bool(np.isfinite(scene.lines.pump_low).all()))
        put(self._helps, visible=scene.bands and float(scene.lines.foot.min()) < 0.0)
        up = (scene.axes.head.end - scene.axes.head.low) / self._size.chart
        self._chalk.update(scene)
        gain = gain_arrow(scene, scene.axes.flow.end / plot_px, up)
        send(
            self._thin,
            xs=[line.flow.round(_DECIMALS).tolist() for line in scene.thin],
            ys=[line.head.round(_DECIMALS).tolist() for line in scene.thin],
            dash=[_IN_LINE if line.in_line else [] for line in scene.thin],
        )
        self._strokes.show([*_leaders(scene), *_pointer(scene, named, plot_px, up), *([gain[0]] if gain else ())])
        self._dots.show([*_points(scene, up), *([gain[1]] if gain else ())])
        self._show_axes(scene, words, up, plot_px)
        self._texts.show([_written(scene, text, plot_px, up) for text in named.texts])

    def _show_axes(self, scene: Scene, words: BenchWords, up: float, plot_px: float) -> None:
        axis, flow = scene.axes.head, scene.axes.flow
        rings = rings_at_rest(scene.point, float(scene.lines.live_head[0]), flow.end, plot_px)
        rows = head_numbers(axis, scene, self._size.axis, self._size.chart, rings)
        middle = 0.5 * (axis.low + axis.end)
        rows.append(Written(0.0, middle, words.axis, theme.INK_2, TICK_PX, align="center", dx=-43.0, angle=_UPRIGHT))
        self._numbers.show(rows)
        edges = [Stroke(tick, axis.low - 5.0 * up, tick, axis.low, theme.INK_2, 1.2) for tick in flow.ticks]
        edges.append(Stroke(0.0, axis.low, 0.0, axis.end, theme.INK_2, 1.4))
        edges.append(Stroke(0.0, axis.low, flow.end, axis.low, theme.INK_2, 1.4))
        self._edges.show(edges)


def _points(scene: Scene, up: float) -> list[Dot]:
    rows: list[Dot] = []
    if scene.point is not None:
        rows.append(Dot(*scene.point, 16.0, theme.SHEET, theme.INK, 3.2))
        if scene.flow is not None:
            rows.append(Dot(*scene.point, 4.5, theme.INK, theme.INK, 0.0))
    if scene.crossing is not None:
        size, width = (17.0, 1.6) if scene.once else (9.0, 1.4)
        rows.append(Dot(*scene.crossing, size, theme.SHEET, theme.INK, width, (2, 2)))
    if scene.short is not None:
        flow, low, high = scene.short
        tip = _TIP_PX * up
        rows.append(Dot(flow, high - tip, 7.0, theme.ALERT, theme.ALERT, marker="triangle"))
        rows.append(Dot(flow, low + tip, 7.0, theme.ALERT, theme.ALERT, marker="inverted_triangle"))
    return rows


def _leaders(scene: Scene) -> list[Stroke]:
    end, low = scene.axes.flow.end, scene.axes.head.low
    rows: list[Stroke] = []
    for index, (flow, head) in enumerate(scene.leaders):
        colour = theme.SUCT if index else theme.PUMP if scene.state is State.NO_LIFT else theme.INK
        rows.append(Stroke(flow, head, end, head, colour, 1.2, theme.DOTTED))
    place = scene.crossing if scene.once else scene.point
    if place is not None and scene.flow is not None:
        rows.append(Stroke(place[0], low, *place, theme.INK, 1.4, theme.DOTTED))
    if scene.broken is not None:
        flow, head, over = scene.broken
        rows.append(Stroke(flow, head, flow, over, theme.SUCT, 5.0))
    if scene.short is not None:
        flow, head, over = scene.short
        rows.append(Stroke(flow, head, flow, over, theme.ALERT, 1.6))
    return rows


def _pointer(scene: Scene, named: Named, plot_px: float, up: float) -> list[Stroke]:
    if named.pointer is None:
        return []
    across, low = scene.axes.flow.end / plot_px, scene.axes.head.low
    x0, y0, x1, y1 = named.pointer
    return [Stroke(x0 * across, low + y0 * up, x1 * across, low + y1 * up, theme.INK, 1.0)]


def _written(scene: Scene, text: Text, plot_px: float, up: float) -> Written:
    x, y = text.x * scene.axes.flow.end / plot_px, scene.axes.head.low + text.y * up
    starved = scene.limit is not None and x > scene.limit
    helped = scene.bands and float(scene.lines.foot.min()) < y < 0.0
    plated = text.plate or starved or helped or text.kind in PLATED
    return written(
        text,
        x,
        y,
        colour=theme.SUCT_TEXT if text.kind == "sentence" and scene.limit is not None else "",
        plate=_PLATE if plated and not text.turned else 0.0,
        angle=_UPRIGHT if text.turned else 0.0,
    )
