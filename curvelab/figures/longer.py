"""Longer hose as a figure: flow against length, a curve a size, made once for a visitor and changed in place."""

from __future__ import annotations

from typing import Any

import numpy as np
from bokeh.models import BoxAnnotation, Range1d

from curvelab.figures import theme
from curvelab.figures.columns import put, send, single
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, Written, bare, empty
from curvelab.layout.axes import tick_texts
from curvelab.layout.longer import LONGER, LongerScene, LongerWords, end_names, longer_names, longer_scene
from curvelab.layout.placing import TYPES
from curvelab.layout.sizes import Width
from curvelab.studies.longer import Longer
from curvelab.studies.sizes import MOST

FOOT_PX = 24
"""Under the length axis, for its numbers."""
CAP_PX = 6
TICK_PX = 11.0
NAME_PX = 12.5
_SHIFTED_PX = 4.0  # a name that far from its curve's end gets a line to it


class LongerPicture:
    """Curves of the neighbouring sizes, the present point, what twice the hose costs, where the suction gives out.

    ``root`` goes into the page; ``update`` belongs inside one ``hold``.
    """

    def __init__(self, width: Width) -> None:
        self.width = width
        self.size = size = LONGER[width]
        self.width_px = float(size.width)
        """Width of the frame as the browser has it; as designed before it said so."""
        self.omitted: tuple[str, ...] = ()
        """Words that found no room in the last picture."""
        self._last: tuple[Longer, LongerWords] | None = None
        self._across, self._up = Range1d(0, 1), Range1d(0, 1)
        self.plot: Any = bare(
            "longer",
            width=size.axis + size.width + size.names,
            height=CAP_PX + size.height + FOOT_PX,
            x_range=self._across,
            y_range=self._up,
            left=size.axis,
            right=size.names,
        )
        self.plot.sizing_mode = "stretch_width"
        self.root = self.plot
        self._draw()
        self.plot.on_change("inner_width", self._measured)

    def _draw(self) -> None:
        plot = self.plot
        self._reach = BoxAnnotation(left=0, bottom=0, fill_color=theme.PAPER, fill_alpha=1, line_color=None)
        self._guess = BoxAnnotation(
            fill_color=theme.HATCH_GROUND, fill_alpha=1, line_color=theme.SUCT, line_dash=[4, 4], left=0
        )
        self._held = BoxAnnotation(
            left=0,
            fill_color=theme.HATCH_GROUND,
            fill_alpha=1,
            line_color=None,
            hatch_pattern="right_diagonal_line",
            hatch_color=theme.SUCT,
            hatch_alpha=0.34,
            hatch_scale=16,
            hatch_weight=1,
        )
        for box in (self._reach, self._guess, self._held):
            put(box, level="underlay", visible=False)
            plot.add_layout(box)
        self._grid = Strokes(plot, level="underlay")
        self._axes = Strokes(plot, level="annotation")
        self._marks = Strokes(plot)
        self._source = empty("length", *(f"flow{row}" for row in range(MOST)))
        self._lines = [
            plot.line(x="length", y=f"flow{row}", line_join="round", line_cap="round", source=self._source)
            for row in range(MOST)
        ]
        self._leaders = Strokes(plot, level="annotation")
        self._dots = Dots(plot)
        self._texts = Texts(plot)

    def update(self, found: Longer, words: LongerWords) -> None:
        """Show another study."""
        self._last = (found, words)
        size = self.size
        frame = (self.width_px, float(size.height))
        scene = longer_scene(found, self.width, frame)
        unit = scene.up.end / size.height
        put(self._across, end=scene.across.end)
        put(self._up, start=-FOOT_PX * unit, end=scene.up.end + CAP_PX * unit)
        self._show_lines(scene)
        self._show_grounds(scene)
        self._show_strokes(scene)
        self._show_words(scene, words, frame)
        put(self.plot, html_attributes={"role": "img", "aria-label": words.label})

    def _show_lines(self, scene: LongerScene) -> None:
        length = single(scene.lines[0].length)
        gone = np.full_like(length, np.nan)
        columns = {f"flow{row}": gone for row in range(MOST)}
        lines = sorted(scene.lines, key=lambda line: line.now)  # the present one lies over the others
        columns |= {f"flow{row}": single(line.flow) for row, line in enumerate(lines)}
        send(self._source, length=length, **columns)
        for drawn, line in zip(self._lines, lines, strict=False):
            colour = theme.PIPE if line.now else theme.OTHER_HOSE
            put(drawn.glyph, line_width=round(line.width_px, 2), line_color=colour)

    def _show_grounds(self, scene: LongerScene) -> None:
        end = scene.across.end
        put(self._reach, visible=scene.reach > 0.0, right=scene.reach, top=scene.up.end)
        put(self._held, visible=scene.held is not None)
        if scene.held is not None:
            put(self._held, bottom=scene.held, right=end, top=scene.up.end)
        put(self._guess, visible=scene.guess is not None)
        if scene.guess is not None:
            put(self._guess, bottom=scene.guess[0], top=min(scene.guess[1], scene.up.end), right=end)

    def _show_strokes(self, scene: LongerScene) -> None:
        across, up = scene.across, scene.up
        grid = [Stroke(0.0, tick, across.end, tick, theme.GRID, 1.0) for tick in up.ticks[1:]]
        grid += [Stroke(tick, 0.0, tick, up.end, theme.GRID, 1.0) for tick in across.ticks[1:]]
        self._grid.show(grid)
        self._axes.show(
            [
                Stroke(0.0, 0.0, across.end, 0.0, theme.INK_2, 1.4),
                Stroke(0.0, 0.0, 0.0, up.end, theme.INK_2, 1.4),
            ]
        )
        rows: list[Stroke] = []
        dots: list[Dot] = []
        if scene.limit is not None:
            rows.append(Stroke(0.0, scene.limit, across.end, scene.limit, theme.SUCT, 1.6))
        if scene.point is not None:
            x, y = scene.point
            rows.append(Stroke(x, 0.0, x, up.end, theme.INK, 1.4, theme.DOTTED))
            dots += [Dot(x, y, 15, theme.SHEET, theme.INK, 3.0), Dot(x, y, 4.5, theme.INK, theme.INK, 0.0)]
            if scene.twice is not None:
                far, high, low = scene.twice
                rows.append(Stroke(x, high, far, high, theme.INK, 1.2, theme.DOTTED))
                if high - low > 8.0 * up.end / self.size.height:
                    rows.append(Stroke(far, high, far, low, theme.INK, 1.6))
                    tip = low + 4.0 * up.end / self.size.height
                    dots.append(Dot(far, tip, 7, theme.INK, theme.INK, 0.0, marker="inverted_triangle"))
        self._marks.show(rows)
        self._dots.show(dots)

    def _show_words(self, scene: LongerScene, words: LongerWords, frame: tuple[float, float]) -> None:
        across, up = scene.across.end / frame[0], scene.up.end / frame[1]
        named = longer_names(scene, words, frame)
        self.omitted = named.omitted
        texts = [
            Written(0.0, tick, text, theme.INK_2, TICK_PX, align="right", dx=-7.0)
            for tick, text in zip(scene.up.ticks, tick_texts(scene.up.ticks, ""), strict=True)
        ]
        texts += [
            Written(tick, -13.0 * up, text, theme.INK_2, TICK_PX, align="center")
            for tick, text in zip(scene.across.ticks, tick_texts(scene.across.ticks, scene.unit), strict=True)
        ]
        for text in named.texts:
            kind = TYPES[text.kind]
            colour = theme.SUCT_TEXT if text.kind == "margin" else theme.TEXT_COLOUR[text.kind]
            hatched = scene.held is not None and text.y * up > scene.held
            plate = 0.92 if text.plate or hatched or text.kind == "margin" else 0.0
            texts.append(
                Written(text.x * across, text.y * up, text.text, colour, kind.size, kind.bold, text.align, plate=plate)
            )
        leaders: list[Stroke] = []
        for end in end_names(scene, words, frame[1]):
            colour = theme.PIPE if end.now else theme.INK_2
            texts.append(Written(scene.across.end, end.stands * up, end.text, colour, NAME_PX, bold=end.now, dx=8.0))
            if abs(end.stands - end.at) > _SHIFTED_PX:
                right = scene.across.end + 6.0 * across
                leaders.append(Stroke(scene.across.end, end.at * up, right, end.stands * up, theme.INK_2, 1.0))
        self._texts.show(texts)
        self._leaders.show(leaders)

    def _measured(self, _attr: str, _old: Any, new: int) -> None:
        """The browser has told how wide the frame is: place the words for that."""
        if new <= 0 or float(new) == self.width_px:
            return
        self.width_px = float(new)
        if self._last is not None:
            self.update(*self._last)
