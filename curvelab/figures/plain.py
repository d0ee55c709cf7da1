"""A plain picture as a figure: curves, levels, bars and points with their names, made once and changed in place."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from bokeh.models import MultiLine, Range1d

from curvelab.figures import theme
from curvelab.figures.columns import put, send
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, Written, bare, draw, empty
from curvelab.layout.axes import tick_texts
from curvelab.layout.placing import TYPES
from curvelab.layout.plain import PLAIN, PlainScene, plain_names
from curvelab.layout.sizes import Width

FOOT_PX: Final = 24
"""Under the axis across, for its numbers."""
CAP_PX: Final = 8
_TICK_PX: Final = 11.0
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


class PlainPicture:
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
        self.width_px = float(size.width)
        """Width of the frame as the browser has it; as designed before it said so."""
        self.omitted: tuple[str, ...] = ()
        """Names that found no room in the last picture."""
        self._last: PlainScene | None = None
        self._across, self._up = Range1d(0, 1), Range1d(0, 1)
        self.plot: Any = bare(
            name,
            width=size.axis + size.width + size.right,
            height=CAP_PX + size.height + FOOT_PX,
            x_range=self._across,
            y_range=self._up,
            left=size.axis,
            right=size.right,
        )
        self.plot.sizing_mode = "stretch_width"
        self.root = self.plot
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
        self.plot.on_change("inner_width", self._measured)

    def update(self, *drawn: Any) -> None:
        """Show another answer."""
        self._show(self._made(*drawn, self.width))

    def _show(self, scene: PlainScene) -> None:
        self._last = scene
        size, across, up = self.size, scene.across, scene.up
        unit = (up.end - up.low) / size.height
        put(self._across, end=across.end)
        put(self._up, start=up.low - FOOT_PX * unit, end=up.end + CAP_PX * unit)
        self._show_lines(scene)
        self._grid.show(
            [
                *(Stroke(0.0, tick, across.end, tick, theme.GRID, 1.0) for tick in up.ticks),
                *(Stroke(tick, up.low, tick, up.end, theme.GRID, 1.0) for tick in across.ticks[1:]),
            ]
        )
        self._axes.show(
            [
                Stroke(0.0, up.low, across.end, up.low, theme.INK_2, 1.4),
                Stroke(0.0, up.low, 0.0, up.end, theme.INK_2, 1.4),
            ]
        )
        self._show_marks(scene)
        self._show_words(scene)
        put(self.plot, html_attributes={"role": "img", "aria-label": scene.label})

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
                dots += [Dot(spot.x, spot.y, 15, theme.SHEET, theme.INK, 3.0)]
                dots += [Dot(spot.x, spot.y, 4.5, theme.INK, theme.INK, 0.0)]
            else:
                dots.append(Dot(spot.x, spot.y, 11, theme.SHEET, theme.INK, 1.8))
        self._dots.show(dots)

    def _show_words(self, scene: PlainScene) -> None:
        across, up = scene.across.end / self.width_px, (scene.up.end - scene.up.low) / self.size.height
        named = plain_names(scene, (self.width_px, float(self.size.height)))
        self.omitted = named.omitted
        low = scene.up.low
        texts = [
            Written(0.0, tick, text, theme.INK_2, _TICK_PX, align="right", dx=-7.0)
            for tick, text in zip(scene.up.ticks, tick_texts(scene.up.ticks, scene.units[1]), strict=True)
        ]
        texts += [
            Written(tick, low - 13.0 * up, text, theme.INK_2, _TICK_PX, align="center")
            for tick, text in zip(scene.across.ticks, tick_texts(scene.across.ticks, scene.units[0]), strict=True)
        ]
        for text in named.texts:
            kind = TYPES[text.kind]
            texts.append(
                Written(
                    text.x * across,
                    low + text.y * up,
                    text.text,
                    theme.TEXT_COLOUR[text.kind],
                    kind.size,
                    kind.bold,
                    text.align,
                    plate=_PLATE if text.plate else 0.0,
                )
            )
        self._texts.show(texts)

    def _measured(self, _attr: str, _old: Any, new: int) -> None:
        """The browser has told how wide the frame is: place the words for that."""
        if new <= 0 or float(new) == self.width_px:
            return
        self.width_px = float(new)
        if self._last is not None:
            self._show(self._last)
