"""Geometry and words' places of the picture "longer hose": flow against length, a curve a size, in display units."""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.axes import Axis, half_stepped, nice_step
from curvelab.layout.labels import Box, Grid, Wish, apart
from curvelab.layout.placing import Frame, Label, Named, around, framed, place, single, wrapped
from curvelab.layout.sizes import Width
from curvelab.layout.words import Forms
from curvelab.studies.longer import Longer
from curvelab.studies.result import State
from curvelab.units import Quantity, System, display_unit

Floats = NDArray[np.float64]

NAME_PX: Final = 15.0
"""Distance of two names at the right end. [px]"""
_ROOM: Final = 1.12
"""Flow axis over the greatest flow shown. [-]"""
_TICK_PX: Final = 36.0
_LENGTH_TICK_PX: Final = 90.0
_THIN, _THICK = 1.5, 4.2  # widths of the smallest and the largest size [px]


@dataclass(frozen=True, slots=True, kw_only=True)
class LongerSize:
    """Frame of the picture. [px]"""

    width: int
    """As designed, without its borders; the browser may give more or less."""
    height: int
    axis: int
    """Left, for the numbers of the flow axis."""
    names: int
    """Right, for the sizes."""


LONGER: Final[dict[Width, LongerSize]] = {
    Width.WIDE: LongerSize(width=748, height=280, axis=46, names=60),
    Width.MEDIUM: LongerSize(width=840, height=240, axis=46, names=60),
    Width.NARROW: LongerSize(width=252, height=230, axis=40, names=58),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class LongerWords:
    """All words of the picture; forms longest first, numbers in the units of the page."""

    title: Forms
    label: str
    """One sentence that tells what a person would see."""
    sizes: tuple[str, ...]
    now: Forms
    twice: Forms
    limit: Forms
    guess: Forms
    reach: Forms


@dataclass(frozen=True, slots=True, kw_only=True)
class Kept:
    """A setup kept to compare, as one point of the picture."""

    letter: str
    length_m: float
    flow_m3_s: float
    forms: Forms
    """What it is called, longest first."""
    heard: str
    """The same for whoever hears it."""


@dataclass(frozen=True, slots=True, eq=False)
class Line:
    """The curve of one size."""

    length: Floats
    flow: Floats
    width_px: float
    now: bool


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class LongerScene:
    """What is drawn, in display units."""

    across: Axis
    up: Axis
    unit: str
    """Of the length axis."""
    lines: tuple[Line, ...]
    point: tuple[float, float] | None
    twice: tuple[float, float, float] | None
    """At twice the length: where, the flow now, the flow then."""
    limit: float | None
    guess: tuple[float, float] | None
    reach: float
    """Shortest hose that can lie there; 0 where any can."""
    kept: tuple[tuple[Kept, float, float], ...] = ()
    """What is kept to compare and lies within the axes, with its place."""

    @property
    def held(self) -> float | None:
        """Flow past which the suction gives out, for all that is known; ``None`` where that is off the picture."""
        flow = self.limit if self.limit is not None else self.guess[1] if self.guess is not None else None
        return flow if flow is not None and flow < self.up.end else None


def longer_scene(found: Longer, width: Width, plot_px: tuple[float, float], kept: Sequence[Kept] = ()) -> LongerScene:
    """The picture of a study for a frame of ``plot_px`` (width, height), with what is kept beside it."""
    system = found.setup.units
    far = display_unit(Quantity.LENGTH, system)
    now_flow, state = found.at(found.now, found.now_m)
    flow = display_unit(Quantity.FLOW, system, now_flow or 0.0)
    end = far.from_si(found.end_m)
    lines = tuple(_lines(found, system, now_flow or 0.0))
    limit = None if found.limit_m3_s is None else flow.from_si(found.limit_m3_s)
    top = max(float(np.nanmax(line.flow)) for line in lines if np.isfinite(line.flow).any())
    if limit is not None and limit <= 2.0 * top:
        top = max(top, limit)
    else:
        limit = None
    step = nice_step(top * _ROOM * _TICK_PX / plot_px[1])
    guess = None
    if found.guess_m3_s is not None and flow.from_si(found.guess_m3_s[0]) < top * _ROOM:
        low, high = found.guess_m3_s
        guess = flow.from_si(low), top * 2.0 if high is None else flow.from_si(high)
    then, _ = found.at(found.now, 2.0 * found.now_m)
    point = None if now_flow is None else (far.from_si(found.now_m), flow.from_si(now_flow))
    twice = None
    if point is not None and then is not None and state is not State.OFF_CURVE:
        twice = far.from_si(2.0 * found.now_m), point[1], flow.from_si(then)
    tick = _LENGTH_TICK_PX if width is not Width.NARROW else 60.0
    up = half_stepped(top * _ROOM, step)
    places = [(one, far.from_si(one.length_m), flow.from_si(one.flow_m3_s)) for one in kept]
    return LongerScene(
        across=Axis(0.0, end, nice_step(end * tick / plot_px[0])),
        up=up,
        kept=tuple((one, x, y) for one, x, y in places if x <= end and y <= up.end),
        unit=far.symbol,
        lines=lines,
        point=point,
        twice=twice,
        limit=limit,
        guess=guess,
        reach=far.from_si(found.reach_m),
    )


def _lines(found: Longer, system: System, now_flow: float) -> Iterable[Line]:
    far, flow = display_unit(Quantity.LENGTH, system), display_unit(Quantity.FLOW, system, now_flow)
    shown = found.length_m <= found.end_m * (1.0 + 1e-9)
    least, most = found.sizes[0].size_m, found.sizes[-1].size_m
    for row, sized in enumerate(found.sizes):
        share = (sized.size_m - least) / (most - least) if most > least else 0.5
        yield Line(
            far.from_si(found.length_m[shown]),
            flow.from_si(found.flow_m3_s[row, shown]),
            _THIN + share * (_THICK - _THIN),
            sized.now,
        )


@dataclass(frozen=True, slots=True)
class EndName:
    """A size at the right end: where its curve ends and where its name stands. [px up]"""

    text: str
    at: float
    stands: float
    now: bool


def end_names(scene: LongerScene, words: LongerWords, height_px: float) -> tuple[EndName, ...]:
    """Names of the sizes beside the ends of their curves, none on another; a curve with no known end has none."""
    scale = height_px / scene.up.end
    ends: list[tuple[float, str, bool]] = []
    for line, text in zip(scene.lines, words.sizes, strict=True):
        if np.isfinite(line.flow[-1]):
            ends.append((float(line.flow[-1]) * scale, text, line.now))
    ends.sort(key=lambda end: end[0])
    places = apart([end for end, _, _ in ends], NAME_PX, 6.0, height_px - 4.0)
    return tuple(EndName(text, end, stands, now) for (end, text, now), stands in zip(ends, places, strict=True))


def longer_names(scene: LongerScene, words: LongerWords, plot_px: tuple[float, float]) -> Named:
    """Words within the picture, the most needed first."""
    frame = framed(scene.across.end, 0.0, scene.up.end, *plot_px)
    return place(_grid(scene, frame), _labels(scene, words, frame), {})


def _grid(scene: LongerScene, frame: Frame) -> Grid:
    grid = Grid(frame.box.right, frame.box.top)
    for line in scene.lines:
        grid.line(frame.x(line.length), frame.y(line.flow), pad=3.0)
    if scene.point is not None:
        x, y = float(frame.x(scene.point[0])), float(frame.y(scene.point[1]))
        grid.take(Box(x - 9.0, y - 9.0, x + 9.0, y + 9.0), pad=2.0)
        grid.line([x, x], [0.0, frame.box.top])
    if scene.twice is not None and scene.point is not None:
        x, high, low = float(frame.x(scene.twice[0])), float(frame.y(scene.twice[1])), float(frame.y(scene.twice[2]))
        grid.line([float(frame.x(scene.point[0])), x], [high, high])
        grid.line([x, x], [low, high], pad=4.0)
    for _, along, flow in scene.kept:
        x, y = float(frame.x(along)), float(frame.y(flow))
        grid.take(Box(x - 9.0, y - 9.0, x + 9.0, y + 9.0), pad=2.0)
    if scene.limit is not None:
        y = float(frame.y(scene.limit))
        grid.line([0.0, frame.box.right], [y, y], pad=1.0)
    return grid


def _labels(scene: LongerScene, words: LongerWords, frame: Frame) -> Iterable[Label]:
    inner = Box(4.0, 2.0, frame.box.right - 4.0, frame.box.top - 2.0)
    below = Box(inner.left, inner.bottom, inner.right, float(frame.y(scene.limit))) if scene.limit else inner
    dots = {one.letter: around(float(frame.x(along)), float(frame.y(flow))) for one, along, flow in scene.kept}
    if scene.point is not None:
        x, y = float(frame.x(scene.point[0])), float(frame.y(scene.point[1]))
        wishes = (
            Wish(x=x + 12.0, y=y + 5.0),
            Wish(x=x + 12.0, y=y - 5.0, corner=(0.0, 1.0), cost=20.0),
            Wish(x=x - 12.0, y=y + 5.0, corner=(1.0, 0.0), cost=25.0),
            Wish(x=x - 12.0, y=y - 5.0, corner=(1.0, 1.0), cost=25.0),
        )
        further = ((below, 90.0), (inner, 200.0))
        yield Label("now", single("place", words.now), wishes, below, 36.0, further, avoid=tuple(dots.values()))
        dots["now"] = around(x, y)
    for one, along, flow in scene.kept:
        x, y = float(frame.x(along)), float(frame.y(flow))
        wishes = tuple(
            Wish(x=x + right * 12.0, y=y + up * 5.0, corner=(0.0 if right > 0.0 else 1.0, 0.0 if up > 0.0 else 1.0))
            for right, up in ((1.0, -1.0), (-1.0, -1.0), (1.0, 1.0), (-1.0, 1.0))
        )
        others = tuple(dot for letter, dot in dots.items() if letter != one.letter)
        yield Label(f"kept-{one.letter}", single("chalk", one.forms), wishes, inner, 60.0, avoid=others)
    if scene.twice is not None:
        x = float(frame.x(scene.twice[0]))
        middle = 0.5 * (float(frame.y(scene.twice[1])) + float(frame.y(scene.twice[2])))
        wishes = (
            Wish(x=x + 6.0, y=middle, corner=(0.0, 0.5)),
            Wish(x=x - 6.0, y=middle, corner=(1.0, 0.5), cost=10.0),
        )
        yield Label("twice", single("place", words.twice), wishes, below, 60.0, ((inner, 120.0),))
    if scene.limit is not None:
        y = float(frame.y(scene.limit))
        over = Box(inner.left, y, inner.right, frame.box.top)
        wishes = (Wish(x=inner.right, y=0.5 * (y + frame.box.top), corner=(1.0, 0.5)),)
        yield Label("limit", single("margin", words.limit), wishes, over)
    elif scene.guess is not None:
        y = min(float(frame.y(scene.guess[1])), frame.box.top)
        wishes = (Wish(x=inner.right, y=y - 4.0, corner=(1.0, 1.0)), Wish(x=inner.left, y=y - 4.0, corner=(0.0, 1.0)))
        yield Label("guess", single("margin", words.guess), wishes, inner)
    if scene.reach > 0.0:
        right = float(frame.x(scene.reach))
        wishes = (Wish(x=0.5 * right, y=8.0, corner=(0.5, 0.0)),)
        yield Label("reach", single("band", wrapped(words.reach, "band")), wishes, Box(2.0, 2.0, right, 40.0))
