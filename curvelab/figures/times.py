"""How long it takes as a figure: levels against time, made once for a visitor and changed in place."""

from __future__ import annotations

from typing import Any

from bokeh.models import BoxAnnotation, Range1d

from curvelab.figures import theme
from curvelab.figures.columns import put, send, single
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, Written, bare, empty
from curvelab.layout.axes import tick_texts
from curvelab.layout.placing import TYPES
from curvelab.layout.sizes import Width
from curvelab.layout.times import TIMES, TimesScene, TimesWords, times_names, times_scene
from curvelab.studies.times import Times

FOOT_PX = 24
"""Under the time axis, for its numbers."""
CAP_PX = 6
TICK_PX = 11.0
_SMALL = ("water", "inflow", "eased", "held")
_REFUEL_PX = 9.0


class TimesPicture:
    """The level of what is emptied, that of what is filled, and marks for what happens on the way.

    ``root`` goes into the page; ``update`` belongs inside one ``hold``.
    """

    def __init__(self, width: Width) -> None:
        self.width = width
        self.size = size = TIMES[width]
        self.width_px = float(size.width)
        """Width of the frame as the browser has it; as designed before it said so."""
        self.omitted: tuple[str, ...] = ()
        """Words that found no room in the last picture."""
        self._last: tuple[Times, TimesWords] | None = None
        self._across, self._up = Range1d(0, 1), Range1d(0, 1)
        self.plot: Any = bare(
            "times",
            width=size.axis + size.width + size.right,
            height=CAP_PX + size.height + FOOT_PX,
            x_range=self._across,
            y_range=self._up,
            left=size.axis,
            right=size.right,
        )
        self.plot.sizing_mode = "stretch_width"
        self.root = self.plot
        self._draw()
        self.plot.on_change("inner_width", self._measured)

    def _draw(self) -> None:
        plot = self.plot
        self._starved = BoxAnnotation(
            fill_color=theme.HATCH_GROUND,
            fill_alpha=1,
            line_color=None,
            hatch_pattern="right_diagonal_line",
            hatch_color=theme.SUCT,
            hatch_alpha=0.34,
            hatch_scale=16,
            hatch_weight=1,
        )
        self._held = BoxAnnotation(fill_color=theme.PAPER, fill_alpha=1, line_color=None)
        for box in (self._held, self._starved):
            put(box, level="underlay", visible=False, bottom=0)
            plot.add_layout(box)
        self._water = empty("time", "level")
        plot.varea(x="time", y1=0, y2="level", source=self._water, fill_color=theme.WATER, fill_alpha=0.5)
        self._grid = Strokes(plot, level="underlay")
        self._axes = Strokes(plot, level="annotation")
        self._marks = Strokes(plot)
        self._lines = []
        for colour, dash, width in ((theme.WATER_LINE, "solid", 3.0), (theme.PIPE, [8, 4], 2.4)):
            source = empty("time", "level")
            drawn = plot.line(
                x="time",
                y="level",
                line_color=colour,
                line_dash=dash,
                line_width=width,
                line_join="round",
                source=source,
            )
            self._lines.append((source, drawn))
        self._dots = Dots(plot)
        self._texts = Texts(plot)

    def update(self, found: Times, words: TimesWords) -> None:
        """Show another study."""
        self._last = (found, words)
        frame = (self.width_px, float(self.size.height))
        scene = times_scene(found, self.width, frame)
        unit = scene.up.end / self.size.height
        put(self._across, end=scene.across.end)
        put(self._up, start=-FOOT_PX * unit, end=scene.up.end + CAP_PX * unit)
        self._show_lines(scene)
        self._show_grounds(scene)
        self._show_strokes(scene)
        self._show_words(scene, words, frame)
        put(self.plot, html_attributes={"role": "img", "aria-label": words.label})

    def _show_lines(self, scene: TimesScene) -> None:
        first = scene.lines[0]
        send(self._water, time=single(first.time), level=single(first.level))
        for place, (source, drawn) in enumerate(self._lines):
            put(drawn, visible=place < len(scene.lines))
            if place < len(scene.lines):
                line = scene.lines[place]
                send(source, time=single(line.time), level=single(line.level))

    def _show_grounds(self, scene: TimesScene) -> None:
        for box, span in ((self._starved, scene.starved), (self._held, scene.held)):
            put(box, visible=span is not None)
            if span is not None:
                put(box, left=span[0], right=span[1], top=scene.up.end)

    def _show_strokes(self, scene: TimesScene) -> None:
        across, up = scene.across, scene.up
        unit = up.end / self.size.height
        grid = [Stroke(0.0, tick, across.end, tick, "#e8eaed", 1.0) for tick in up.ticks[1:]]
        grid += [Stroke(tick, 0.0, tick, up.end, "#e8eaed", 1.0) for tick in across.ticks[1:]]
        self._grid.show(grid)
        axes = [Stroke(0.0, 0.0, across.end, 0.0, theme.INK_2, 1.4), Stroke(0.0, 0.0, 0.0, up.end, theme.INK_2, 1.4)]
        self._axes.show(axes)
        rows: list[Stroke] = []
        dots: list[Dot] = []
        if scene.low is not None:
            rows.append(Stroke(0.0, scene.low, across.end, scene.low, theme.INK, 1.2, theme.DOTTED))
        end = next(mark for mark in reversed(scene.marks) if mark.code != "full" or len(scene.lines) < 2)
        for mark in scene.marks:
            if mark.code == "refuel":
                rows.append(Stroke(mark.time, 0.0, mark.time, _REFUEL_PX * unit, theme.PUMP, 2.0))
                dots.append(Dot(mark.time, mark.level, 7, theme.SHEET, theme.PUMP, 2.0, marker="square"))
            elif mark is end or mark.code == "full":
                colour = theme.INK if mark is end else theme.PIPE
                dots += [
                    Dot(mark.time, mark.level, 13, theme.SHEET, colour, 2.8),
                    Dot(mark.time, mark.level, 4, colour, colour, 0.0),
                ]
            else:
                colour = theme.SUCT if mark.code == "starved" else theme.INK_2
                rows.append(Stroke(mark.time, 0.0, mark.time, mark.level, colour, 1.2, theme.DOTTED))
                dots.append(Dot(mark.time, mark.level, 6 if mark.code in _SMALL else 9, theme.SHEET, colour, 2.0))
        self._marks.show(rows)
        self._dots.show(dots)

    def _show_words(self, scene: TimesScene, words: TimesWords, frame: tuple[float, float]) -> None:
        across, up = scene.across.end / frame[0], scene.up.end / frame[1]
        named = times_names(scene, words, frame)
        self.omitted = named.omitted
        texts = [
            Written(0.0, tick, text, theme.INK_2, TICK_PX, align="right", dx=-7.0)
            for tick, text in zip(scene.up.ticks, tick_texts(scene.up.ticks, ""), strict=True)
        ]
        texts += [
            Written(tick, -13.0 * up, text, theme.INK_2, TICK_PX, align="center")
            for tick, text in zip(scene.across.ticks, tick_texts(scene.across.ticks, scene.time_unit), strict=True)
        ]
        for text in named.texts:
            kind = TYPES[text.kind]
            colour, x = theme.TEXT_COLOUR[text.kind], text.x * across
            starved = scene.starved is not None and scene.starved[0] <= x <= scene.starved[1]
            plate = 0.9 if text.plate or starved else 0.0
            texts.append(Written(x, text.y * up, text.text, colour, kind.size, kind.bold, text.align, plate=plate))
        self._texts.show(texts)

    def _measured(self, _attr: str, _old: Any, new: int) -> None:
        """The browser has told how wide the frame is: place the words for that."""
        if new <= 0 or float(new) == self.width_px:
            return
        self.width_px = float(new)
        if self._last is not None:
            self.update(*self._last)
