"""A plain picture: curves, levels, bars and points over two axes, with their names placed. Display units throughout.

What is drawn is told by tone; the figure knows the colours. Words are forms, longest first, and give way where there is
no room for them.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.axes import Axis
from curvelab.layout.labels import Box, Grid, Wish
from curvelab.layout.placing import Frame, Label, Named, framed, place, single, upright
from curvelab.layout.sizes import Width
from curvelab.layout.words import Forms

Floats = NDArray[np.float64]

TICK_PX: Final = 36.0
"""Least distance of two numbers on the upright axis. [px]"""
ACROSS_TICK_PX: Final[dict[Width, float]] = {Width.WIDE: 80.0, Width.MEDIUM: 80.0, Width.NARROW: 56.0}
"""Least distance of two numbers on the axis across. [px]"""
_SHARES: Final = (0.12, 0.25, 0.4, 0.55, 0.7, 0.85)
"""Where along a curve its name may stand."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PlainSize:
    """Frame of a picture. [px]"""

    width: int
    """As designed, without its borders; the browser may give more or less."""
    height: int
    axis: int
    """Left, for the numbers."""
    right: int


PLAIN: Final[dict[Width, PlainSize]] = {
    Width.WIDE: PlainSize(width=560, height=270, axis=46, right=14),
    Width.MEDIUM: PlainSize(width=840, height=250, axis=46, right=14),
    Width.NARROW: PlainSize(width=290, height=250, axis=40, right=10),
}


@dataclass(frozen=True, slots=True, eq=False)
class Curve:
    """A line with its name. ``tone``: pump, site, other, engine, suction."""

    x: Floats
    y: Floats
    tone: str
    width: float
    dash: str = "solid"
    name: Forms = ()


@dataclass(frozen=True, slots=True)
class Level:
    """A level line with its name over it."""

    y: float
    tone: str
    dash: str = "solid"
    name: Forms = ()


@dataclass(frozen=True, slots=True)
class Spot:
    """A point with its words; ``now`` is the setup's own."""

    x: float
    y: float
    now: bool
    name: Forms = ()


@dataclass(frozen=True, slots=True)
class Bar:
    """An upright stretch: what is lost between a curve and a point."""

    x: float
    low: float
    high: float
    tone: str


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class PlainScene:
    """All that a plain picture shows."""

    across: Axis
    up: Axis
    units: tuple[str, str]
    """On the last number across and up."""
    curves: tuple[Curve, ...]
    levels: tuple[Level, ...] = ()
    spots: tuple[Spot, ...] = ()
    bars: tuple[Bar, ...] = ()
    label: str = ""
    """One sentence that tells what a person would see."""


KINDS: Final[dict[str, str]] = {
    "pump": "pump",
    "site": "site",
    "other": "band",
    "engine": "place",
    "suction": "margin",
    "alert": "short",
}
"""Kind of text of a name, by tone."""


def plain_names(scene: PlainScene, plot_px: tuple[float, float]) -> Named:
    """Names in the picture, the points' first."""
    frame = framed(scene.across.end, scene.up.low, scene.up.end, *plot_px)
    return place(_grid(scene, frame), _labels(scene, frame), {})


def _grid(scene: PlainScene, frame: Frame) -> Grid:
    grid = Grid(frame.box.right, frame.box.top)
    for curve in scene.curves:
        grid.line(frame.x(curve.x), frame.y(curve.y), pad=2.5)
    for level in scene.levels:
        y = float(frame.y(level.y))
        grid.line([0.0, frame.box.right], [y, y], pad=1.5)
    for spot in scene.spots:
        x, y = float(frame.x(spot.x)), float(frame.y(spot.y))
        grid.take(Box(x - 8.0, y - 8.0, x + 8.0, y + 8.0), pad=2.0)
        if spot.now:
            upright(grid, x, 0.0, y)
    for bar in scene.bars:
        upright(grid, float(frame.x(bar.x)), float(frame.y(bar.low)), float(frame.y(bar.high)), pad=3.0)
    return grid


def _labels(scene: PlainScene, frame: Frame) -> Iterable[Label]:
    inner = Box(4.0, 2.0, frame.box.right - 4.0, frame.box.top - 2.0)
    for place_, spot in enumerate(scene.spots):
        kind = "place" if spot.now else "head"
        yield Label(
            f"spot-{place_}", single(kind, spot.name), _around(spot, scene, frame), inner, 40.0, ((inner, 90.0),)
        )
    for place_, level in enumerate(scene.levels):
        y = float(frame.y(level.y))
        wishes = (
            Wish(x=inner.right, y=y + 3.0, corner=(1.0, 0.0)),
            Wish(x=inner.left, y=y + 3.0, corner=(0.0, 0.0), cost=6.0),
            Wish(x=inner.right, y=y - 3.0, corner=(1.0, 1.0), cost=12.0),
            Wish(x=inner.left, y=y - 3.0, corner=(0.0, 1.0), cost=14.0),
        )
        yield Label(f"level-{place_}", single(KINDS[level.tone], level.name), wishes, inner, 60.0)
    for place_, curve in enumerate(scene.curves):
        wishes = tuple(_along(curve, frame))
        if wishes:
            yield Label(f"curve-{place_}", single(KINDS[curve.tone], curve.name), wishes, inner, 50.0)


def _around(spot: Spot, scene: PlainScene, frame: Frame) -> tuple[Wish, ...]:
    """The present point's words over it to the left, the others' under it to the right, or beside their bar."""
    x, y = float(frame.x(spot.x)), float(frame.y(spot.y))
    bar = next((bar for bar in scene.bars if bar.x == spot.x), None)
    if bar is not None:
        middle = 0.5 * (float(frame.y(bar.low)) + float(frame.y(bar.high)))
        return Wish(x=x + 6.0, y=middle, corner=(0.0, 0.5)), Wish(x=x - 6.0, y=middle, corner=(1.0, 0.5), cost=4.0)
    over_left, under_right = (0.0, 14.0) if spot.now else (14.0, 0.0)
    return (
        Wish(x=x - 9.0, y=y + 7.0, corner=(1.0, 0.0), cost=over_left),
        Wish(x=x + 9.0, y=y - 7.0, corner=(0.0, 1.0), cost=under_right),
        Wish(x=x, y=y + 12.0, corner=(0.5, 0.0), cost=8.0),
        Wish(x=x, y=y - 12.0, corner=(0.5, 1.0), cost=8.0),
        Wish(x=x + 9.0, y=y + 7.0, corner=(0.0, 0.0), cost=18.0),
        Wish(x=x - 9.0, y=y - 7.0, corner=(1.0, 1.0), cost=18.0),
    )


def _along(curve: Curve, frame: Frame) -> Iterable[Wish]:
    """Over the curve, then under it, at several places of what is seen of it."""
    px, py = frame.x(curve.x), frame.y(curve.y)
    seen = np.isfinite(py) & (py <= frame.box.top) & (px <= frame.box.right)
    if seen.sum() < 2:
        return
    x, y = px[seen], py[seen]
    for rank, share in enumerate(_SHARES):
        at = float(x[0]) + share * float(x[-1] - x[0])
        height = float(np.interp(at, x, y))
        yield Wish(x=at, y=height + 5.0, corner=(0.0, 0.0), cost=5.0 * rank)
        yield Wish(x=at, y=height - 5.0, corner=(0.0, 1.0), cost=5.0 * rank + 4.0)
