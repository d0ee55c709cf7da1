"""A plain picture as a figure: curves, levels, bars and points with their names, made once and changed in place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from functools import partial
from typing import Any, Final

from bokeh.models import MultiLine

from curvelab.figures import theme
from curvelab.figures.columns import put, send
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, draw, empty, written
from curvelab.figures.study import StudyPicture, axes, numbers_across, numbers_up, ring, ruled
from curvelab.layout.plain import PLAIN, PlainScene, plain_names
from curvelab.layout.sizes import Width

_CAP_PX: Final = 8
_TONES: Final = {
    "pump": theme.PUMP,
    "site": theme.PIPE,
    "other": theme.OTHER_HOSE,
    "engine": theme.INK,
    "suction": theme.SUCT,
    "alert": theme.ALERT,
}
_DASHES: Final[dict[str, Sequence[int]]] = {"solid": (), "dashed": (7, 5), "dotted": theme.DOTTED}
_PLATE: Final = 0.92
_DECIMALS: Final = 3


class PlainPicture(StudyPicture):
    """A picture of a ``PlainScene``. ``root`` goes into the page; ``update`` belongs inside one ``hold``.

    Parameters
    ----------
    name : str
        Of the figure.
    made : callable
        Makes the scene of what ``update`` is given, and the layout of the page.
    width : Width
        How the page is laid out.
    """

    def __init__(self, name: str, made: Callable[..., PlainScene], width: Width) -> None:
        self.width = width
        self._made = made
        self.size = size = PLAIN[width]
        super().__init__(name, (size.width, size.height), left=size.axis, right=size.right, cap=_CAP_PX)

    def _draw(self) -> None:
        self._grid = Strokes(self.plot, level="underlay")
        self._lines = empty("xs", "ys", "colour", "width", "dash")
        lines = MultiLine(
            xs="xs", ys="ys", line_color="colour", line_width="width", line_dash="dash", line_join="round"
        )
        draw(self.plot, self._lines, lines)
        self._marks = Strokes(self.plot)
        self._axes = Strokes(self.plot, level="annotation")
        self._dots = Dots(self.plot)
        self._texts = Texts(self.plot)

    def update(self, *drawn: Any) -> None:
        """Show another answer."""
        self._show(self._made(*drawn, self.width))

    def _show(self, scene: PlainScene) -> None:
        self._again = partial(self._show, scene)
        across, up = scene.across, scene.up
        put(self._across, end=across.end)
        self._stand(low=up.low, top=up.end, label=scene.label)
        self._show_lines(scene)
        self._grid.show(ruled(across.ticks[1:], up.ticks, end=across.end, low=up.low, top=up.end))
        self._axes.show(axes(end=across.end, low=up.low, top=up.end))
        self._show_marks(scene)
        self._show_words(scene)

    def _show_lines(self, scene: PlainScene) -> None:
        """Only what lies within the frame: a line past its top would be cut off in the middle of a stroke."""
        rows = []
        for curve in scene.curves:
            shown = curve.y <= scene.up.end
            rows.append((curve.x[shown].round(_DECIMALS).tolist(), curve.y[shown].round(_DECIMALS).tolist(), curve))
        send(
            self._lines,
            xs=[xs for xs, _, _ in rows],
            ys=[ys for _, ys, _ in rows],
            colour=[_TONES[curve.tone] for _, _, curve in rows],
            width=[curve.width for _, _, curve in rows],
            dash=[list(_DASHES[curve.dash]) for _, _, curve in rows],
        )

    def _show_marks(self, scene: PlainScene) -> None:
        end, low = scene.across.end, scene.up.low
        rows = [
            Stroke(0.0, level.y, end, level.y, _TONES[level.tone], 1.8, _DASHES[level.dash]) for level in scene.levels
        ]
        rows += [Stroke(bar.x, bar.low, bar.x, bar.high, _TONES[bar.tone], 4.0) for bar in scene.bars]
        rows += [Stroke(spot.x, low, spot.x, spot.y, theme.INK, 1.2, theme.DOTTED) for spot in scene.spots if spot.now]
        self._marks.show(rows)
        dots: list[Dot] = []
        for spot in sorted(scene.spots, key=lambda spot: spot.now):
            if spot.now:
                dots += ring(spot.x, spot.y)
            else:
                dots.append(Dot(spot.x, spot.y, 11, theme.SHEET, theme.INK, 1.8))
        self._dots.show(dots)

    def _show_words(self, scene: PlainScene) -> None:
        across, up = scene.across.end / self.frame[0], (scene.up.end - scene.up.low) / self.frame[1]
        named = plain_names(scene, self.frame)
        self.omitted = named.omitted
        low = scene.up.low
        texts = [
            *numbers_up(scene.up.ticks, scene.units[1]),
            *numbers_across(scene.across.ticks, scene.units[0], low - 13.0 * up),
        ]
        texts += [
            written(text, text.x * across, low + text.y * up, plate=_PLATE if text.plate else 0.0)
            for text in named.texts
        ]
        self._texts.show(texts)
