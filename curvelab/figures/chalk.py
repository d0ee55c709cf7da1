"""What is chalked, as the frames draw it: sources of their own, so that a change of the live setup sends none of it."""

from __future__ import annotations

import math
from typing import Any

from bokeh.models import Line
from bokeh.models.glyphs import Patches

from curvelab.figures import theme
from curvelab.figures.columns import send, short
from curvelab.figures.frames import Dot, Dots, Stroke, Strokes, Texts, Written, draw, empty
from curvelab.layout.chart_names import GAIN_LEAST_PX, GAIN_PX
from curvelab.layout.ghosts import Ghost
from curvelab.layout.ledger import Ribbon
from curvelab.layout.scene import Scene
from curvelab.model.chalk import LETTERS

_RING_PX = 17.0
_LETTER_PX = 11.0
_TIP_PX = 4.0  # middle of an arrow's tip from its end
_RIBBON_ALPHA = 0.75


class ChalkCurves:
    """In the head chart: dashed curves, rings with their letters, drop lines and leaders."""

    def __init__(self, plot: Any) -> None:
        self._curves = {letter: empty("flow", "head", "pump_flow", "pump_head") for letter in LETTERS}
        for letter, source in self._curves.items():
            dash = theme.CHALK_DASHES[letter]
            for x, y, width in (("flow", "head", 1.9), ("pump_flow", "pump_head", 1.6)):
                draw(plot, source, Line(x=x, y=y, line_color=theme.CHALK, line_width=width, line_dash=dash))
        self._plot = plot

    def add_marks(self) -> None:
        """Draw what lies over the live curves."""
        self._strokes, self._rings, self._letters = Strokes(self._plot), Dots(self._plot), Texts(self._plot)

    def update(self, scene: Scene) -> None:
        """Show another scene."""
        shown = {ghost.letter: ghost for ghost in scene.ghosts}
        for letter, source in self._curves.items():
            ghost = shown.get(letter)
            columns = ("flow", "head", "pump_flow", "pump_head")
            whole = ghost is not None and ghost.pump_flow.size
            send(source, **{name: _column(ghost, name, whole=bool(whole)) for name in columns})
        end, low = scene.axes.flow.end, scene.axes.head.low
        points = [ghost.point for ghost in scene.ghosts if ghost.point is not None]
        leaders = [Stroke(x, y, end, y, theme.CHALK, 1.2, theme.DOTTED) for x, y in points]
        drops = [Stroke(x, low, x, y, theme.CHALK, 1.2, theme.DOTTED) for x, y in points]
        self._strokes.show([*leaders, *drops])
        self._rings.show([chalk_ring(*ghost.ring) for ghost in scene.ghosts])
        self._letters.show([chalk_letter(*ghost.ring, ghost.letter) for ghost in scene.ghosts])


def gain_arrow(scene: Scene, across: float, up: float) -> tuple[Stroke, Dot] | None:
    """The gain along the foot, a line and its tip; ``across`` and ``up`` are the flow and the head of one pixel."""
    gain = scene.gain
    if gain is None or abs(gain[1] - gain[0]) < GAIN_LEAST_PX * across:
        return None
    y, way = scene.axes.head.low + GAIN_PX * up, math.copysign(1.0, gain[1] - gain[0])
    tip = Dot(gain[1] - way * _TIP_PX * across, y, 8.0, theme.INK, theme.INK, 0.0, (), "triangle")
    line = Stroke(gain[0] + 2.0 * way * across, y, gain[1] - way * _TIP_PX * across, y, theme.INK, 1.6)
    return line, tip._replace(angle=round(-0.5 * math.pi * way, 4))


class ChalkPill(Texts):
    """Flows of the chalked setups on the axis, in dashed pills."""

    def __init__(self, plot: Any) -> None:
        super().__init__(plot, ground=theme.SHEET, padding=(8, 2), radius=9)
        glyph = plot.renderers[-1].glyph
        glyph.update(border_line_color=theme.CHALK, border_line_dash=[4, 3], border_line_width=1.3)
        glyph.border_line_alpha = "plate"  # a pill that is no longer shown has no edge either


class Ribbons:
    """From the parts of one column to the like parts of the next."""

    def __init__(self, plot: Any) -> None:
        self._source = empty("xs", "ys", "fill")
        glyph = Patches(xs="xs", ys="ys", fill_color="fill", fill_alpha=_RIBBON_ALPHA, line_color=None)
        draw(plot, self._source, glyph)

    def show(self, rows: tuple[Ribbon, ...]) -> None:
        """Show others."""
        send(
            self._source,
            xs=[list(row.xs) for row in rows],
            ys=[[round(y, 2) for y in row.ys] for row in rows],
            fill=[theme.CHALK_FILL.get(row.item, theme.SHEET) for row in rows],
        )


def _column(ghost: Ghost | None, name: str, *, whole: bool) -> Any:
    """A column of a ghost's source; all of one length, whether it has a pump curve of its own or not."""
    if ghost is None:
        return []
    return short(getattr(ghost, name if whole or not name.startswith("pump_") else name.removeprefix("pump_")))


def chalk_ring(x: float, y: float) -> Dot:
    """Where a chalked setup stands: a dashed ring, its letter inside."""
    return Dot(x, y, _RING_PX, theme.SHEET, theme.CHALK, 1.6, (3, 2))


def chalk_letter(x: float, y: float, letter: str) -> Written:
    """The letter in that ring."""
    return Written(x, y, letter, theme.CHALK, _LETTER_PX, bold=True, align="center")
