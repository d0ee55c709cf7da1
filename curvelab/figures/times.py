"""How long it takes as a figure: levels against time, made once for a visitor and changed in place."""

from __future__ import annotations

from functools import partial

from curvelab.figures import theme
from curvelab.figures.columns import put, send, short
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, empty, written
from curvelab.figures.study import StudyPicture, axes, ground, numbers_across, numbers_up, ring, ruled, starved
from curvelab.layout.sizes import Width
from curvelab.layout.times import TIMES, TimesScene, TimesWords, times_names, times_scene
from curvelab.studies.times import Times

_CAP_PX = 6
_SMALL = ("water", "inflow", "eased", "held")
_REFUEL_PX = 9.0


class TimesPicture(StudyPicture):
    """The level of what is emptied, that of what is filled, and marks for what happens on the way.

    ``root`` goes into the page; ``update`` belongs inside one ``hold``.
    """

    def __init__(self, width: Width) -> None:
        self.width = width
        self.size = size = TIMES[width]
        super().__init__("times", (size.width, size.height), left=size.axis, right=size.right, cap=_CAP_PX)

    def _draw(self) -> None:
        plot = self.plot
        self._held = ground(plot, theme.PAPER, visible=False)
        self._starved = starved(plot)
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
        self._again = partial(self.update, found, words)
        scene = times_scene(found, self.width, self.frame)
        put(self._across, end=scene.across.end)
        self._stand(top=scene.up.end, label=words.label)
        self._show_lines(scene)
        self._show_grounds(scene)
        self._show_strokes(scene)
        self._show_words(scene, words)

    def _show_lines(self, scene: TimesScene) -> None:
        first = scene.lines[0]
        send(self._water, time=short(first.time), level=short(first.level))
        for place, (source, drawn) in enumerate(self._lines):
            put(drawn, visible=place < len(scene.lines))
            if place < len(scene.lines):
                line = scene.lines[place]
                send(source, time=short(line.time), level=short(line.level))

    def _show_grounds(self, scene: TimesScene) -> None:
        for box, span in ((self._starved, scene.starved), (self._held, scene.held)):
            put(box, visible=span is not None)
            if span is not None:
                put(box, left=span[0], right=span[1], top=scene.up.end)

    def _show_strokes(self, scene: TimesScene) -> None:
        across, up = scene.across, scene.up
        unit = up.end / self.size.height
        self._grid.show(ruled(across.ticks[1:], up.ticks[1:], end=across.end, top=up.end))
        self._axes.show(axes(end=across.end, top=up.end))
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
                dots += ring(mark.time, mark.level, size=13, dot=4, width=2.8, ink=colour)
            else:
                colour = theme.SUCT if mark.code == "starved" else theme.INK_2
                rows.append(Stroke(mark.time, 0.0, mark.time, mark.level, colour, 1.2, theme.DOTTED))
                dots.append(Dot(mark.time, mark.level, 6 if mark.code in _SMALL else 9, theme.SHEET, colour, 2.0))
        self._marks.show(rows)
        self._dots.show(dots)

    def _show_words(self, scene: TimesScene, words: TimesWords) -> None:
        across, up = scene.across.end / self.frame[0], scene.up.end / self.frame[1]
        named = times_names(scene, words, self.frame)
        self.omitted = named.omitted
        texts = [
            *numbers_up(scene.up.ticks),
            *numbers_across(scene.across.ticks, scene.time_unit, -13.0 * up),
        ]
        for text in named.texts:
            x = text.x * across
            hatched = scene.starved is not None and scene.starved[0] <= x <= scene.starved[1]
            texts.append(written(text, x, text.y * up, plate=0.9 if text.plate or hatched else 0.0))
        self._texts.show(texts)
