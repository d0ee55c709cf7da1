"""The head chart: what the pump gives, what the site asks, and the gutter under it with the flow's numbers."""

from __future__ import annotations

from typing import Any

from bokeh.core.properties import value
from bokeh.models import BoxAnnotation, FixedTicker, Label, Range1d, Span

from curvelab.figures import theme
from curvelab.figures.columns import put, send, single
from curvelab.figures.frames import TEXT_COLUMNS, TITLE_PX, Written, bare, empty, grid_lines, texts, write
from curvelab.layout.axes import tick_texts
from curvelab.layout.chart_names import PLATED
from curvelab.layout.gutter import PILL_PX, TICK_PX, flow_ticks
from curvelab.layout.placing import TYPES, Named
from curvelab.layout.scene import Lines, Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.text import fitting
from curvelab.layout.words import BenchWords
from curvelab.studies.result import State

_LINES = (
    *("live_flow", "foot", "top_lift", "top_rise", "top_suction", "top_discharge", "top_leaving", "live_head"),
    *("beyond_flow", "beyond_head", "pump_flow", "pump_head", "past_flow", "past_head"),
)
_BANDS = (
    ("foot", "top_lift", theme.BAND_LIFT),
    ("top_lift", "top_rise", theme.BAND_RISE),
    ("top_rise", "top_suction", theme.BAND_SUCTION),
    ("top_suction", "top_discharge", theme.BAND_DISCHARGE),
    ("top_discharge", "top_leaving", theme.BAND_LEAVING),
    ("top_leaving", "live_head", theme.BAND_PRESSURE),
)


def columns_of(lines: Lines, names: tuple[str, ...]) -> dict[str, Any]:
    """Columns of a source, four bytes a number."""
    return {name: single(getattr(lines, name)) for name in names}


class Regions:
    """Where the suction gives out and where it has little to spare, the same in chart and strip."""

    def __init__(self, plot: Any, *, line_dash: str | list[int], hatch_alpha: float = 0.34) -> None:
        self._margin = BoxAnnotation(fill_color=theme.MARGIN, fill_alpha=1, line_color=None, level="underlay")
        self._doubt = BoxAnnotation(
            fill_color=theme.HATCH_GROUND, fill_alpha=1, line_color=theme.SUCT, line_dash=[4, 4], level="underlay"
        )
        self._starved = BoxAnnotation(
            fill_color=theme.HATCH_GROUND,
            fill_alpha=1,
            line_color=None,
            hatch_pattern="right_diagonal_line",
            hatch_color=theme.SUCT,
            hatch_alpha=hatch_alpha,
            hatch_scale=16,
            hatch_weight=1,
            level="underlay",
        )
        self._limit = Span(dimension="height", line_color=theme.SUCT, line_width=1.6, line_dash=line_dash)
        for item in (self._margin, self._doubt, self._starved, self._limit):
            item.visible = False
            plot.add_layout(item)
        self._foot = BoxAnnotation(fill_color=theme.SHEET, fill_alpha=1, line_color=None, level="underlay")
        plot.add_layout(self._foot)

    def update(self, scene: Scene, low: float) -> None:
        """Move them to a new scene; what lies below the axis stays clear."""
        end = scene.axes.flow.end
        put(self._foot, top=low)
        _span(self._margin, scene.margin)
        doubt = scene.doubt
        _span(self._doubt, doubt)
        starved = scene.limit if scene.limit is not None else (doubt[1] if doubt is not None else None)
        _span(self._starved, None if starved is None or starved >= end else (starved, end))
        put(self._limit, visible=scene.limit is not None)
        if scene.limit is not None:
            put(self._limit, location=round(scene.limit, 4))


def _span(box: BoxAnnotation, ends: tuple[float, float] | None) -> None:
    put(box, visible=ends is not None)
    if ends is not None:
        put(box, left=round(ends[0], 4), right=round(ends[1], 4))


class Chart:
    """The upper left frame."""

    def __init__(self, size: BenchSize, x_range: Range1d, y_range: Range1d) -> None:
        self.plot: Any = bare(
            "chart",
            width=size.axis + size.plot,
            height=size.cap + size.chart + size.foot,
            x_range=x_range,
            y_range=y_range,
            left=size.axis,
            right=0,
        )
        self._size = size
        self._lines = empty(*_LINES)
        self._points = empty("x", "y", "size", "fill", "line", "width", "dash")
        self._leaders = empty("x0", "y0", "x1", "y1", "colour", "dash", "width")
        self._arrow = empty("x", "y", "angle")
        self._texts = empty(*TEXT_COLUMNS)
        self._turned = empty("x", "y", "text", "colour", "dx")
        self._numbers = empty(*TEXT_COLUMNS)
        self._marks = empty("x", "y0", "y1")
        self._side = empty("low", "end")
        self._sentence = Label(
            x=0,
            y=0,
            text="",
            anchor="center_left",
            text_font=theme.FONT,
            text_font_size=f"{TYPES['sentence'].size}px",
            text_line_height=LINE,
            background_fill_color=theme.SHEET,
            background_fill_alpha=0.92,
            padding=5,
            visible=False,
        )
        self._draw()

    def _draw(self) -> None:
        plot, lines = self.plot, self._lines
        grid_lines(plot)
        self.ticks = FixedTicker(ticks=[])
        self.rows = FixedTicker(ticks=[])
        plot.xgrid.ticker, plot.ygrid.ticker = self.ticks, self.rows
        self._regions = Regions(plot, line_dash="solid")
        self._bands = [
            plot.varea(x="live_flow", y1=low, y2=high, fill_color=colour, source=lines) for low, high, colour in _BANDS
        ]
        self._helps = plot.varea(
            x="live_flow",
            y1="foot",
            y2=0,
            fill_color=None,
            hatch_pattern="left_diagonal_line",
            hatch_color=theme.LIFT,
            hatch_alpha=0.35,
            hatch_scale=16,
            source=lines,
        )
        plot.line(x="beyond_flow", y="beyond_head", line_color=theme.PIPE, line_width=1.6, source=lines)
        plot.line(
            x="past_flow", y="past_head", line_color=theme.PUMP, line_width=1.5, line_dash=theme.DRY, source=lines
        )
        plot.line(x="live_flow", y="live_head", line_color=theme.PIPE, line_width=3, source=lines)
        plot.line(x="pump_flow", y="pump_head", line_color=theme.PUMP, line_width=3, source=lines)
        plot.segment(
            x0="x0",
            y0="y0",
            x1="x1",
            y1="y1",
            line_color="colour",
            line_dash="dash",
            line_width="width",
            source=self._leaders,
        )
        plot.scatter(x="x", y="y", angle="angle", marker="triangle", size=7, color=theme.ALERT, source=self._arrow)
        plot.segment(x0="x", x1="x", y0="y0", y1="y1", line_color=theme.INK_2, line_width=1.2, source=self._marks)
        self._floor = Span(location=0, dimension="width", line_color=theme.INK_2, line_width=1.4)
        plot.add_layout(self._floor)
        plot.segment(
            x0=0,
            x1=0,
            y0="low",
            y1="end",
            line_color=theme.INK_2,
            line_width=1.4,
            level="annotation",
            source=self._side,
        )
        plot.scatter(
            x="x",
            y="y",
            size="size",
            fill_color="fill",
            line_color="line",
            line_width="width",
            line_dash="dash",
            level="annotation",
            source=self._points,
        )
        texts(plot, self._texts)
        texts(plot, self._numbers)
        plot.text(
            x="x",
            y="y",
            text="text",
            text_color="colour",
            x_offset="dx",
            angle=1.5707963,
            text_align="center",
            text_baseline="middle",
            text_font=value(theme.FONT),
            text_font_size="11.5px",
            level="annotation",
            source=self._turned,
        )
        plot.add_layout(self._sentence)

    def update(self, scene: Scene, named: Named, words: BenchWords, plot_px: float) -> None:
        """Show another scene."""
        send(self._lines, **columns_of(scene.lines, _LINES))
        put(self.ticks, ticks=list(scene.axes.flow.ticks))
        put(self.rows, ticks=list(scene.axes.head.ticks))
        for band in self._bands:
            put(band, visible=scene.bands)
        put(self._helps, visible=scene.bands and float(scene.lines.foot[0]) < 0.0)
        self._regions.update(scene, scene.axes.head.low)
        self._show_points(scene)
        self._show_leaders(scene, named, plot_px)
        self._show_numbers(scene)
        self._show_words(scene, named, words, plot_px)

    def _show_points(self, scene: Scene) -> None:
        rows: list[tuple[float, float, float, str, str, float, list[int]]] = []
        if scene.point is not None:
            x, y = scene.point
            rows.append((x, y, 16, theme.SHEET, theme.INK, 3.2, []))
            if scene.flow is not None:
                rows.append((x, y, 4.5, theme.INK, theme.INK, 0, []))
        if scene.crossing is not None:
            x, y = scene.crossing
            size, width = (17, 1.6) if scene.once else (9, 1.4)
            rows.append((x, y, size, theme.SHEET, theme.INK, width, [2, 2]))
        names = ("x", "y", "size", "fill", "line", "width", "dash")
        send(self._points, **{name: [row[index] for row in rows] for index, name in enumerate(names)})

    def _show_leaders(self, scene: Scene, named: Named, plot_px: float) -> None:
        end, low = scene.axes.flow.end, scene.axes.head.low
        rows: list[tuple[float, float, float, float, str, list[int], float]] = []
        for index, (flow, head) in enumerate(scene.leaders):
            colour = theme.SUCT if index else theme.PUMP if scene.state is State.NO_LIFT else theme.INK
            rows.append((flow, head, end, head, colour, theme.DOTTED, 1.2))
        place = scene.point if scene.flow is not None and scene.point is not None else scene.crossing
        if place is not None and scene.flow is not None:
            rows.append((place[0], low, place[0], place[1], theme.INK, theme.DOTTED, 1.4))
        if scene.broken is not None:
            flow, head, over = scene.broken
            rows.append((flow, head, flow, over, theme.SUCT, [], 5.0))
        if scene.short is not None:
            flow, head, over = scene.short
            rows.append((flow, head, flow, over, theme.ALERT, [], 1.6))
        if named.pointer is not None:
            x, y = end / plot_px, (scene.axes.head.end - low) / self._size.chart
            x0, y0, x1, y1 = named.pointer
            rows.append((x0 * x, low + y0 * y, x1 * x, low + y1 * y, theme.INK, [], 1.0))
        names = ("x0", "y0", "x1", "y1", "colour", "dash", "width")
        rounded = [tuple(round(v, 3) if isinstance(v, float) else v for v in row) for row in rows]
        send(self._leaders, **{name: [row[index] for row in rounded] for index, name in enumerate(names)})
        tips = (
            []
            if scene.short is None
            else [(scene.short[0], scene.short[2], 0.0), (scene.short[0], scene.short[1], 3.1415927)]
        )
        reach = (scene.axes.head.end - low) / self._size.chart * 5.0
        heads = [] if scene.short is None else [tips[0][1] - reach, tips[1][1] + reach]
        send(self._arrow, x=[tip[0] for tip in tips], y=heads, angle=[tip[2] for tip in tips])

    def _show_numbers(self, scene: Scene) -> None:
        axis, up = scene.axes.head, (scene.axes.head.end - scene.axes.head.low) / self._size.chart
        ticks = scene.axes.flow.ticks
        send(self._marks, x=list(ticks), y0=[axis.low - 5.0 * up] * len(ticks), y1=[axis.low] * len(ticks))
        send(self._side, low=[axis.low], end=[axis.end])
        put(self._floor, location=axis.low)
        rows = [
            Written(0.0, tick, text, theme.INK_2, TICK_PX, align="right", dx=-7.0)
            for tick, text in zip(axis.ticks, tick_texts(axis.ticks, scene.units.head.symbol), strict=True)
        ]
        write(self._numbers, rows)

    def _show_words(self, scene: Scene, named: Named, words: BenchWords, plot_px: float) -> None:
        low = scene.axes.head.low
        across, up = scene.axes.flow.end / plot_px, (scene.axes.head.end - low) / self._size.chart
        rows: list[Written] = []
        middle = 0.5 * (low + scene.axes.head.end)
        turned = [(0.0, middle, words.axis, theme.INK_2, -43.0)] if words.axis else []
        put(self._sentence, visible=any(text.kind == "sentence" for text in named.texts))
        for text in named.texts:
            x, y, kind = text.x * across, low + text.y * up, TYPES[text.kind]
            starved = scene.limit is not None and x > scene.limit
            if text.kind == "sentence":
                colour = theme.SUCT_TEXT if scene.limit is not None else theme.INK
                put(self._sentence, x=round(x, 3), y=round(y, 3), text=text.text, text_color=colour)
            elif text.turned:
                turned.append((x, y, text.text, theme.TEXT_COLOUR[text.kind], 0.0))
            else:
                hatched = starved or (scene.bands and float(scene.lines.foot[0]) < y < 0.0)
                plate = 0.92 if text.plate or text.kind in PLATED or hatched else 0.0
                rows.append(
                    Written(
                        x, y, text.text, theme.TEXT_COLOUR[text.kind], kind.size, kind.bold, text.align, plate=plate
                    )
                )
        write(self._texts, rows)
        names = ("x", "y", "text", "colour", "dx")
        send(self._turned, **{name: [row[index] for row in turned] for index, name in enumerate(names)})


LINE = 1.22


class Gutter:
    """Between chart and strip: numbers of the flow axis, the flow's pill, the heading of the strip."""

    def __init__(self, size: BenchSize, x_range: Range1d) -> None:
        self.plot: Any = bare(
            "gutter",
            width=size.axis + size.plot + size.overhang,
            height=size.gutter,
            x_range=x_range,
            y_range=Range1d(0, size.gutter),
            left=size.axis,
            right=size.overhang,
        )
        self._size = size
        self._texts = empty(*TEXT_COLUMNS)
        self._limit = Span(dimension="height", line_color=theme.SUCT, line_width=1.6, line_dash=[3, 3], visible=False)
        self._pill = Label(
            x=0,
            y=size.gutter - 10,
            text="",
            anchor="center",
            text_color=theme.SHEET,
            text_font=theme.FONT,
            text_font_size=f"{PILL_PX}px",
            text_font_style="bold",
            background_fill_color=theme.INK,
            border_radius=9,
            padding=[8, 2],
            visible=False,
        )
        self.plot.add_layout(self._limit)
        texts(self.plot, self._texts)
        self.plot.add_layout(self._pill)

    def update(self, scene: Scene, words: BenchWords, unit: str, plot_px: float) -> None:
        """Show another scene."""
        size, axis = self._size, scene.axes.flow
        pills = () if scene.flow is None or scene.once else (scene.flow,)
        ticks = flow_ticks(axis, plot_px=plot_px, pills=pills, limit=scene.limit)
        rows = [
            Written(tick, size.gutter - 10.0, text, theme.INK_2, TICK_PX, align="center")
            for tick, text in zip(ticks.at, ticks.texts, strict=True)
        ]
        if unit and ticks.unit_dx is not None:
            rows.append(Written(axis.ticks[-1], size.gutter - 10.0, unit, theme.INK_2, TICK_PX, dx=ticks.unit_dx))
        elif unit:
            rows.append(Written(axis.end, size.gutter - 25.0, unit, theme.INK_2, TICK_PX, align="right"))
        title = fitting(words.strip_title, plot_px + size.overhang, TITLE_PX, bold=True)
        rows.append(Written(0.0, 11.0, title, theme.INK, TITLE_PX, bold=True, plate=1.0))
        write(self._texts, rows)
        put(self._limit, visible=scene.limit is not None)
        if scene.limit is not None:
            put(self._limit, location=round(scene.limit, 4))
        put(self._pill, visible=bool(pills and words.pill))
        if pills:
            put(self._pill, x=round(pills[0], 4), text=words.pill)
