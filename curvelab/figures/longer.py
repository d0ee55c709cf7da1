"""Longer hose as a figure: flow against length, a curve a size, made once for a visitor and changed in place."""

from __future__ import annotations

from collections.abc import Sequence
from functools import partial

import numpy as np

from curvelab.figures import theme
from curvelab.figures.chalk import chalk_letter, chalk_ring
from curvelab.figures.columns import put, send, short
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, Written, empty, written
from curvelab.figures.study import StudyPicture, axes, ground, numbers_across, numbers_up, ring, ruled, starved
from curvelab.layout.longer import LONGER, Kept, LongerScene, LongerWords, end_names, longer_names, longer_scene
from curvelab.layout.sizes import Width
from curvelab.studies.longer import Longer
from curvelab.studies.sizes import MOST

_CAP_PX = 6
NAME_PX = 12.5
_SHIFTED_PX = 4.0  # a name that far from its curve's end gets a line to it


class LongerPicture(StudyPicture):
    """Curves of the neighbouring sizes, the present point, what twice the hose costs, where the suction gives out.

    ``root`` goes into the page; ``update`` belongs inside one ``hold``.
    """

    def __init__(self, width: Width) -> None:
        self.width = width
        self.size = size = LONGER[width]
        self._kept: tuple[Kept, ...] = ()
        super().__init__("longer", (size.width, size.height), left=size.axis, right=size.names, cap=_CAP_PX)

    def _draw(self) -> None:
        plot = self.plot
        self._reach = ground(plot, theme.PAPER, visible=False)
        self._guess = ground(plot, theme.HATCH_GROUND, visible=False, line_color=theme.SUCT, line_dash=[4, 4])
        self._held = starved(plot)
        self._grid = Strokes(plot, level="underlay")
        self._axes = Strokes(plot, level="annotation")
        self._marks = Strokes(plot)
        self._source = empty("length", *(f"flow{row}" for row in range(MOST)))
        self._lines = [
            plot.line(x="length", y=f"flow{row}", line_join="round", line_cap="round", source=self._source)
            for row in range(MOST)
        ]
        self._leaders = Strokes(plot, level="annotation")
        self._rings, self._letters = Dots(plot), Texts(plot)
        self._dots = Dots(plot)
        self._texts = Texts(plot)

    def keep(self, kept: Sequence[Kept]) -> None:
        """Show other setups that are kept to compare; belongs inside one ``hold``, as ``update`` does."""
        if tuple(kept) != self._kept:
            self._kept = tuple(kept)
            if self._again is not None:
                self._again()

    def update(self, found: Longer, words: LongerWords) -> None:
        """Show another study."""
        self._again = partial(self.update, found, words)
        scene = longer_scene(found, self.width, self.frame, self._kept)
        put(self._across, end=scene.across.end)
        heard = "; ".join(one.heard for one, _, _ in scene.kept)
        self._stand(top=scene.up.end, label=f"{words.label} Kept, in chalk: {heard}." if heard else words.label)
        self._show_lines(scene)
        self._show_grounds(scene)
        self._show_strokes(scene)
        self._show_words(scene, words)

    def _show_lines(self, scene: LongerScene) -> None:
        length = short(scene.lines[0].length)
        gone = np.full_like(length, np.nan)
        columns = {f"flow{row}": gone for row in range(MOST)}
        lines = sorted(scene.lines, key=lambda line: line.now)  # the present one lies over the others
        columns |= {f"flow{row}": short(line.flow) for row, line in enumerate(lines)}
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
        self._grid.show(ruled(across.ticks[1:], up.ticks[1:], end=across.end, top=up.end))
        self._axes.show(axes(end=across.end, top=up.end))
        rows: list[Stroke] = []
        dots: list[Dot] = []
        if scene.limit is not None:
            rows.append(Stroke(0.0, scene.limit, across.end, scene.limit, theme.SUCT, 1.6))
        if scene.point is not None:
            x, y = scene.point
            rows.append(Stroke(x, 0.0, x, up.end, theme.INK, 1.4, theme.DOTTED))
            dots += ring(x, y)
            if scene.twice is not None:
                far, high, low = scene.twice
                rows.append(Stroke(x, high, far, high, theme.INK, 1.2, theme.DOTTED))
                if high - low > 8.0 * up.end / self.size.height:
                    rows.append(Stroke(far, high, far, low, theme.INK, 1.6))
                    tip = low + 4.0 * up.end / self.size.height
                    dots.append(Dot(far, tip, 7, theme.INK, theme.INK, 0.0, marker="inverted_triangle"))
        self._marks.show(rows)
        self._rings.show([chalk_ring(x, y) for _, x, y in scene.kept])
        self._letters.show([chalk_letter(x, y, one.letter) for one, x, y in scene.kept])
        self._dots.show(dots)

    def _show_words(self, scene: LongerScene, words: LongerWords) -> None:
        across, up = scene.across.end / self.frame[0], scene.up.end / self.frame[1]
        named = longer_names(scene, words, self.frame)
        self.omitted = named.omitted
        texts = [*numbers_up(scene.up.ticks), *numbers_across(scene.across.ticks, scene.unit, -13.0 * up)]
        for text in named.texts:
            margin = text.kind == "margin"
            hatched = scene.held is not None and text.y * up > scene.held
            plate = 0.92 if text.plate or hatched or margin else 0.0
            colour = theme.SUCT_TEXT if margin else ""
            texts.append(written(text, text.x * across, text.y * up, colour=colour, plate=plate))
        leaders: list[Stroke] = []
        for end in end_names(scene, words, self.frame[1]):
            colour = theme.PIPE if end.now else theme.INK_2
            texts.append(Written(scene.across.end, end.stands * up, end.text, colour, NAME_PX, bold=end.now, dx=8.0))
            if abs(end.stands - end.at) > _SHIFTED_PX:
                right = scene.across.end + 6.0 * across
                leaders.append(Stroke(scene.across.end, end.at * up, right, end.stands * up, theme.INK_2, 1.0))
        self._texts.show(texts)
        self._leaders.show(leaders)
