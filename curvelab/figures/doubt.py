"""How sure as a figure: the flows of the draws as columns, states by pattern, made once and changed in place."""

from __future__ import annotations

from functools import partial
from typing import Any, Final

from bokeh.models import Quad

from curvelab.figures import theme
from curvelab.figures.columns import put, send
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, draw, empty, written
from curvelab.figures.study import StudyPicture, ground, numbers_across, ring
from curvelab.layout.doubt import DOUBT, STATES, DoubtScene, DoubtWords, doubt_names, doubt_scene
from curvelab.layout.sizes import Width
from curvelab.studies.doubt import Doubt
from curvelab.units import System

_CAP_PX: Final = 4
_PLACES: Final = 5  # of a text's coordinates: the tallest column may be a hundredth of all
_COLUMNS: Final = ("left", "right", "bottom", "top")
_LOOKS: Final[dict[str, dict[str, Any]]] = {
    "sound": {"fill_color": theme.LEAVING, "line_color": theme.PIPE},
    "thin": {"fill_color": theme.MARGIN, "line_color": theme.SUCT, "hatch_pattern": "dot"},
    "off-curve": {"fill_color": theme.SHEET, "line_color": theme.INK_2, "hatch_pattern": "horizontal_line"},
    "cavitating": {
        "fill_color": theme.HATCH_GROUND,
        "line_color": theme.SUCT,
        "hatch_pattern": "right_diagonal_line",
    },
    "none": {"fill_color": theme.SHEET, "line_color": theme.ALERT, "hatch_pattern": "left_diagonal_line"},
}
"""Ground, edge and pattern of a state's part of the columns."""


class DoubtPicture(StudyPicture):
    """Columns of the flows, the band that holds eight of ten, the plain answer, the flow wanted.

    ``root`` goes into the page; ``update`` belongs inside one ``hold``.
    """

    def __init__(self, width: Width) -> None:
        self.width = width
        self.size = size = DOUBT[width]
        super().__init__("doubt", (size.width, size.height), left=size.side, right=size.side, cap=_CAP_PX)

    def _draw(self) -> None:
        plot = self.plot
        self._band = ground(plot, theme.PRESSURE_TINT)
        self._sources = {}
        for state, look in _LOOKS.items():
            self._sources[state] = empty(*_COLUMNS)
            hatch = {"hatch_color": look["line_color"], "hatch_alpha": 0.5, "hatch_scale": 8, "hatch_weight": 1}
            glyph = Quad(
                left="left",
                right="right",
                bottom="bottom",
                top="top",
                line_width=1,
                **look,
                **(hatch if len(look) > 2 else {}),
            )
            draw(plot, self._sources[state], glyph)
        self._marks = Strokes(plot)
        self._axes = Strokes(plot, level="annotation")
        self._dots = Dots(plot)
        self._texts = Texts(plot, places=_PLACES)

    def update(
        self, found: Doubt, system: System, flow_m3_s: float | None, goal_m3_s: float, words: DoubtWords
    ) -> None:
        """Show another study."""
        self._again = partial(self.update, found, system, flow_m3_s, goal_m3_s, words)
        scene = doubt_scene(found, system, flow_m3_s, goal_m3_s, self.frame)
        put(self._across, start=scene.across.low, end=scene.across.end)
        self._stand(top=scene.top, label=words.label)
        put(self._band, left=scene.band[0], right=scene.band[1], bottom=0, top=scene.top)
        self._show_bars(scene)
        self._show_strokes(scene)
        self._show_words(scene, words)

    def _show_bars(self, scene: DoubtScene) -> None:
        for state in (*STATES, "none"):
            bars = [bar for bar in scene.bars if bar.state == state]
            if state == "none" and scene.none is not None:
                bars = [scene.none]
            columns = {name: [getattr(bar, name) for bar in bars] for name in _COLUMNS}
            send(self._sources[state], **columns)

    def _show_strokes(self, scene: DoubtScene) -> None:
        low, end = scene.across.low, scene.across.end
        self._axes.show([Stroke(low, 0.0, end, 0.0, theme.INK_2, 1.4)])
        rows = [Stroke(flow, 0.0, flow, scene.top, theme.PIPE, 1.4) for flow in scene.band]
        if scene.goal is not None:
            rows.append(Stroke(scene.goal, 0.0, scene.goal, 0.8 * scene.top, theme.INK_2, 1.4, theme.PRESSURE_DASH))
        dots: list[Dot] = []
        if scene.now is not None:
            rows.append(Stroke(scene.now, 0.0, scene.now, scene.top, theme.INK, 2.0))
            dots = ring(scene.now, 0.0, size=13, dot=4, width=2.8)
        self._marks.show(rows)
        self._dots.show(dots)

    def _show_words(self, scene: DoubtScene, words: DoubtWords) -> None:
        across, up = (scene.across.end - scene.across.low) / self.frame[0], scene.top / self.frame[1]
        named = doubt_names(scene, words, self.frame)
        self.omitted = named.omitted
        texts = numbers_across(scene.across.ticks, scene.unit, -14.0 * up)
        for text in named.texts:
            x = scene.across.low + text.x * across
            texts.append(written(text, x, text.y * up, plate=0.9 if text.plate else 0.0))
        self._texts.show(texts)
