"""The suction strip: what is left of the air's push, against what the pump needs, on the chart's own flow axis."""

from __future__ import annotations

from typing import Any

import numpy as np
from bokeh.models import BoxAnnotation, FixedTicker, Range1d, Span

from curvelab.figures import theme
from curvelab.figures.chart import Regions, columns_of
from curvelab.figures.columns import put, send
from curvelab.figures.frames import TEXT_COLUMNS, Written, bare, empty, grid_lines, texts, write
from curvelab.layout.axes import tick_texts
from curvelab.layout.gutter import TICK_PX
from curvelab.layout.placing import TYPES, Named
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize

_LINES = ("strip_flow", "left", "npsha", "npshr", "npshr_low", "npshr_high", "gone_flow", "gone_npsha")


class Strip:
    """The lower left frame."""

    def __init__(self, size: BenchSize, x_range: Range1d, y_range: Range1d, ticks: FixedTicker) -> None:
        self.plot: Any = bare(
            "strip",
            width=size.axis + size.plot,
            height=size.strip + size.foot,
            x_range=x_range,
            y_range=y_range,
            left=size.axis,
            right=0,
        )
        self._size = size
        self._lines = empty(*_LINES, "rest_line")
        self._side = empty("end")
        self._points = empty("x", "y", "fill", "line")
        self._drop = empty("x", "y0", "y1", "dash", "width")
        self._texts = empty(*TEXT_COLUMNS)
        self._numbers = empty(*TEXT_COLUMNS)
        grid_lines(self.plot)
        self.plot.xgrid.ticker = ticks
        self.rows = FixedTicker(ticks=[])
        self.plot.ygrid.ticker = self.rows
        self._draw()

    def _draw(self) -> None:
        plot, lines = self.plot, self._lines
        self._regions = Regions(plot, line_dash=[3, 3])
        self._spent = BoxAnnotation(fill_color=theme.BAND_LIFT, fill_alpha=1, line_color=None, level="underlay")
        plot.add_layout(self._spent)
        self._hose = plot.varea(x="strip_flow", y1="left", y2="rest_line", fill_color=theme.BAND_SUCTION, source=lines)
        self._estimate = plot.varea(
            x="strip_flow", y1="npshr_low", y2="npshr_high", fill_color=theme.PUMP, fill_alpha=0.18, source=lines
        )
        self._undrawn = BoxAnnotation(
            fill_color=theme.SHEET,
            fill_alpha=1,
            line_color=theme.ALERT,
            hatch_pattern="left_diagonal_line",
            hatch_color=theme.ALERT,
            hatch_alpha=0.6,
            hatch_scale=8,
            visible=False,
        )
        plot.add_layout(self._undrawn)
        self._air = Span(dimension="width", line_color=theme.INK, line_width=2)
        self._rest = Span(dimension="width", line_color=theme.INK_2, line_width=1)
        for line in (self._air, self._rest):
            plot.add_layout(line)
        plot.line(x="strip_flow", y="npsha", line_color=theme.SUCT, line_width=2.8, source=lines)
        for column in ("npshr", "npshr_low", "npshr_high"):
            width = 2.4 if column == "npshr" else 1.2
            plot.line(
                x="strip_flow",
                y=column,
                line_color=theme.PUMP,
                line_width=width,
                line_dash=theme.DASH_DOT,
                source=lines,
            )
        plot.segment(
            x0="x",
            x1="x",
            y0="y0",
            y1="y1",
            line_color=theme.INK,
            line_dash="dash",
            line_width="width",
            source=self._drop,
        )
        plot.add_layout(Span(location=0, dimension="width", line_color=theme.INK_2, line_width=1.4))
        plot.segment(
            x0=0, x1=0, y0=0, y1="end", line_color=theme.INK_2, line_width=1.4, level="annotation", source=self._side
        )
        plot.scatter(
            x="x",
            y="y",
            size=9,
            fill_color="fill",
            line_color="line",
            line_width=2,
            level="annotation",
            source=self._points,
        )
        texts(plot, self._texts)
        texts(plot, self._numbers)

    def update(self, scene: Scene, named: Named, plot_px: float) -> None:
        """Show another scene."""
        columns = columns_of(scene.lines, _LINES)
        columns["rest_line"] = np.full_like(columns["left"], scene.rest)
        send(self._lines, **columns)
        send(self._side, end=[scene.axes.suction.end])
        put(self.rows, ticks=list(scene.axes.suction.ticks))
        self._regions.update(scene, 0.0)
        put(self._spent, bottom=round(min(scene.rest, scene.air), 4), top=round(max(scene.rest, scene.air), 4))
        put(self._air, location=round(scene.air, 4))
        put(self._rest, location=round(scene.rest, 4))
        put(self._estimate, visible=scene.estimate)
        put(self._undrawn, visible=scene.undrawn is not None)
        if scene.undrawn is not None:
            put(self._undrawn, bottom=round(scene.undrawn[0], 4), top=round(scene.undrawn[1], 4))
        self._show_marks(scene)
        self._show_words(scene, named, plot_px)

    def _show_marks(self, scene: Scene) -> None:
        points: list[tuple[float, float, str, str]] = []
        drops: list[tuple[float, float, float, list[int], float]] = []
        if scene.flow is not None:
            drops.append((scene.flow, 0.0, scene.axes.suction.end, theme.DOTTED, 1.4))
        if scene.spare is not None:
            flow, needed, left = scene.spare
            drops.append((flow, needed, left, [], 2.6))
            if scene.limit is None or abs(flow - scene.limit) > 1e-6 * scene.limit:
                points = [(flow, left, theme.SHEET, theme.SUCT), (flow, needed, theme.SHEET, theme.PUMP)]
        if scene.limit is not None:
            index = int((scene.lines.gone_flow[0] >= scene.axes.flow.end) or 0)
            if not index:
                points.append((scene.limit, float(scene.lines.gone_npsha[0]), theme.SUCT, theme.SHEET))
        names = ("x", "y", "fill", "line")
        send(self._points, **{name: [_round(row[index]) for row in points] for index, name in enumerate(names)})
        names = ("x", "y0", "y1", "dash", "width")
        send(self._drop, **{name: [_round(row[index]) for row in drops] for index, name in enumerate(names)})

    def _show_words(self, scene: Scene, named: Named, plot_px: float) -> None:
        axis = scene.axes.suction
        write(
            self._numbers,
            [
                Written(0.0, tick, text, theme.INK_2, TICK_PX, align="right", dx=-7.0)
                for tick, text in zip(axis.ticks, tick_texts(axis.ticks, scene.units.head.symbol), strict=True)
            ],
        )
        across, up = scene.axes.flow.end / plot_px, axis.end / self._size.strip
        rows: list[Written] = []
        for text in named.texts:
            kind, x = TYPES[text.kind], text.x * across
            rows.append(
                Written(x, text.y * up, text.text, theme.TEXT_COLOUR[text.kind], kind.size, kind.bold, text.align)
            )
        write(self._texts, rows)


def _round(value: Any) -> Any:
    return round(value, 4) if isinstance(value, float) else value
