"""What the studies' pictures share: a frame as wide as the browser has it, its axes with their numbers, marks."""

from __future__ import annotations

from collections.abc import Callable, Sequence
from typing import Any, Final

from bokeh.models import BoxAnnotation, Range1d

from curvelab.figures import theme
from curvelab.figures.columns import put
from curvelab.figures.frames import Dot, Stroke, Written, bare
from curvelab.layout.axes import tick_texts
from curvelab.layout.upright_numbers import NUMBER_DX

FOOT_PX: Final = 24
"""Under the axis across, for its numbers."""
_TICK_PX: Final = 11.0


class StudyPicture:
    """A picture made once for a visitor and changed in place. ``root`` goes into the page.

    A study's own picture says in ``_draw`` what it is made of, and in its ``update``, which belongs inside one
    ``hold``, how to show another answer; that sets ``_again`` to what shows the same once more.

    Parameters
    ----------
    name : str
        Of the figure.
    size : pair of int
        Of the frame, as designed. [px]
    left, right : int
        Beside the frame. [px]
    cap : int
        Above it. [px]
    """

    def __init__(self, name: str, size: tuple[int, int], *, left: int, right: int, cap: int) -> None:
        self.width_px, self._height, self._cap = float(size[0]), float(size[1]), cap
        self.omitted: tuple[str, ...] = ()
        """Words that found no room in the last picture."""
        self._again: Callable[[], None] | None = None
        self._across, self._up = Range1d(0, 1), Range1d(0, 1)
        self.plot: Any = bare(
            name,
            width=left + size[0] + right,
            height=cap + size[1] + FOOT_PX,
            x_range=self._across,
            y_range=self._up,
            left=left,
            right=right,
        )
        self.plot.sizing_mode = "stretch_width"
        self.root = self.plot
        self._draw()
        self.plot.on_change("inner_width", self._measured)

    def _draw(self) -> None:
        """Make the parts of the picture."""
        raise NotImplementedError

    @property
    def frame(self) -> tuple[float, float]:
        """Of the frame as the browser has it, as designed before it said so. [px]"""
        return self.width_px, self._height

    def _stand(self, *, low: float = 0.0, top: float, label: str) -> None:
        """Stand the frame from ``low`` to ``top`` upwards, its numbers' room below; say in words what it shows."""
        unit = (top - low) / self._height
        put(self._up, start=low - FOOT_PX * unit, end=top + self._cap * unit)
        put(self.plot, html_attributes={"role": "img", "aria-label": label})

    def _measured(self, _attr: str, _old: Any, new: int) -> None:
        """The browser has told how wide the frame is: place the words for that."""
        if new <= 0 or float(new) == self.width_px:
            return
        self.width_px = float(new)
        if self._again is not None:
            self._again()


def ruled(across: Sequence[float], up: Sequence[float], *, end: float, low: float = 0.0, top: float) -> list[Stroke]:
    """Thin lines at the ticks of both axes."""
    level = [Stroke(0.0, tick, end, tick, theme.GRID, 1.0) for tick in up]
    return level + [Stroke(tick, low, tick, top, theme.GRID, 1.0) for tick in across]


def axes(*, end: float, low: float = 0.0, top: float) -> list[Stroke]:
    """Both axes, from the frame's left foot."""
    return [Stroke(0.0, low, end, low, theme.INK_2, 1.4), Stroke(0.0, low, 0.0, top, theme.INK_2, 1.4)]


def numbers_up(ticks: Sequence[float], unit: str = "") -> list[Written]:
    """Left of the upright axis; ``unit`` stands on the last one."""
    texts = zip(ticks, tick_texts(ticks, unit), strict=True)
    return [Written(0.0, tick, text, theme.INK_2, _TICK_PX, align="right", dx=-NUMBER_DX) for tick, text in texts]


def numbers_across(ticks: Sequence[float], unit: str, y: float) -> list[Written]:
    """Under the axis across, at height ``y``; ``unit`` stands on the last one."""
    texts = zip(ticks, tick_texts(ticks, unit), strict=True)
    return [Written(tick, y, text, theme.INK_2, _TICK_PX, align="center") for tick, text in texts]


def ring(
    x: float, y: float, *, size: float = 15, dot: float = 4.5, width: float = 3.0, ink: str = theme.INK
) -> list[Dot]:
    """The mark of the present answer: a ring with a dot in it."""
    return [Dot(x, y, size, theme.SHEET, ink, width), Dot(x, y, dot, ink, ink, 0.0)]


def ground(plot: Any, colour: str, **look: Any) -> BoxAnnotation:
    """Coloured ground under the lines.

    Its edges are numbers from the start: an edge left out is a model, and when a model goes, a document looks through
    all that it has.
    """
    looks: dict[str, Any] = {"fill_color": colour, "fill_alpha": 1, "line_color": None, "level": "underlay", **look}
    box = BoxAnnotation(left=0, right=0, bottom=0, top=0, **looks)
    plot.add_layout(box)
    return box


def starved(plot: Any) -> BoxAnnotation:
    """Hatched ground: what the suction can't feed."""
    hatch = {"hatch_color": theme.SUCT, "hatch_alpha": 0.34, "hatch_scale": 16, "hatch_weight": 1}
    return ground(plot, theme.HATCH_GROUND, visible=False, hatch_pattern="right_diagonal_line", **hatch)
