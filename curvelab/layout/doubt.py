"""Geometry and words' places of the picture "how sure": how the flows of the draws lie, in display units."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass
from typing import Final

import numpy as np

from curvelab.layout.axes import Axis, nice_step
from curvelab.layout.labels import Box, Grid, Wish
from curvelab.layout.placing import Frame, Label, Named, place, single, upright
from curvelab.layout.sizes import Width
from curvelab.layout.words import Forms
from curvelab.studies.doubt import Doubt
from curvelab.units import Quantity, System, display_unit

STATES: Final = ("sound", "thin", "off-curve", "cavitating")
"""States that deliver something, from the foot of a column up; others have no flow and stand apart."""
_ROOM: Final = 1.42
"""Over the highest column, for the words. [-]"""
_TICK_PX: Final = 56.0
_BESIDE: Final = 0.08
"""Left and right of the outermost columns, as a share of their span. [-]"""
_ALONE: Final = 0.01
"""Least share of the draws without flow that is drawn. [-]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtSize:
    """Frame of the picture. [px]"""

    width: int
    height: int
    side: int
    """Left and right, so that the numbers at the axis' ends are whole."""


DOUBT: Final[dict[Width, DoubtSize]] = {
    Width.WIDE: DoubtSize(width=560, height=200, side=46),
    Width.MEDIUM: DoubtSize(width=800, height=190, side=46),
    Width.NARROW: DoubtSize(width=280, height=180, side=30),
}


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtWords:
    """All words of the picture; forms longest first."""

    title: Forms
    label: str
    """One sentence that tells what a person would see."""
    band: Forms
    now: Forms
    goal: Forms
    """Empty where no flow is wanted."""
    none: Forms
    """Of the draws that deliver nothing; empty where there are none to speak of."""


@dataclass(frozen=True, slots=True)
class Bar:
    """A piece of a column."""

    state: str
    left: float
    right: float
    bottom: float
    top: float


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtScene:
    """What is drawn: flows in display units across, share of the draws up."""

    across: Axis
    top: float
    unit: str
    bars: tuple[Bar, ...]
    band: tuple[float, float]
    now: float | None
    goal: float | None
    none: Bar | None


def doubt_scene(
    found: Doubt, system: System, flow_m3_s: float | None, goal_m3_s: float, plot_px: tuple[float, float]
) -> DoubtScene:
    """The picture of a study for a frame of ``plot_px``; ``goal_m3_s`` is 0 where none is wanted."""
    unit = display_unit(Quantity.FLOW, system, flow_m3_s or found.flow_m3_s.middle)
    histogram = found.histogram
    edges = [unit.from_si(edge) for edge in histogram.edges_m3_s]
    bars = tuple(_bars(found, edges))
    apart = histogram.none_share >= _ALONE
    span = (edges[-1] - edges[0]) if edges else 1.0
    low = 0.0 if apart or not edges else max(0.0, edges[0] - _BESIDE * span)
    high = edges[-1] + _BESIDE * span if edges else 1.0
    goal = unit.from_si(goal_m3_s) if goal_m3_s > 0.0 else None
    if goal is not None and edges and edges[0] - 0.6 * span <= goal <= edges[-1] + 0.6 * span:
        low, high = min(low, goal - _BESIDE * span), max(high, goal + _BESIDE * span)
    else:
        goal = None
    low = max(low, 0.0)
    none = None
    if apart:
        wide = 0.03 * (high - low)
        none = Bar("none", -0.5 * wide, 0.5 * wide, 0.0, histogram.none_share)
    top = max([bar.top for bar in bars] + ([none.top] if none is not None else []), default=1.0)
    return DoubtScene(
        across=Axis(low, high, nice_step((high - low) * _TICK_PX / plot_px[0])),
        top=top * _ROOM,
        unit=unit.symbol,
        bars=bars,
        band=(unit.from_si(found.flow_m3_s.low), unit.from_si(found.flow_m3_s.high)),
        now=None if not flow_m3_s else unit.from_si(flow_m3_s),
        goal=goal,
        none=none,
    )


def _bars(found: Doubt, edges: list[float]) -> Iterable[Bar]:
    foot = [0.0] * max(len(edges) - 1, 0)
    for state in STATES:
        for at, share in enumerate(found.histogram.share.get(state, ())):
            if share > 0.0:
                yield Bar(state, edges[at], edges[at + 1], foot[at], foot[at] + share)
                foot[at] += share


def frame_of(scene: DoubtScene, plot_px: tuple[float, float]) -> Frame:
    """From display units to the pixels of the frame."""
    low, wide = scene.across.low, scene.across.end - scene.across.low
    return Frame(
        x=lambda value: (np.asarray(value, float) - low) / wide * plot_px[0],
        y=lambda value: np.asarray(value, float) / scene.top * plot_px[1],
        box=Box(0.0, 0.0, *plot_px),
    )


def doubt_names(scene: DoubtScene, words: DoubtWords, plot_px: tuple[float, float]) -> Named:
    """Words within the picture, the most needed first."""
    frame = frame_of(scene, plot_px)
    return place(_grid(scene, frame), _labels(scene, words, frame), {})


def _grid(scene: DoubtScene, frame: Frame) -> Grid:
    grid = Grid(frame.box.right, frame.box.top)
    bars = [*scene.bars, *([scene.none] if scene.none is not None else [])]
    for bar in bars:
        box = Box(float(frame.x(bar.left)), 0.0, float(frame.x(bar.right)), float(frame.y(bar.top)))
        grid.take(box, pad=1.0)
    whole = frame.box.top
    for flow, top in (*((edge, whole) for edge in scene.band), (scene.now, whole), (scene.goal, 0.8 * whole)):
        if flow is not None:
            upright(grid, float(frame.x(flow)), 0.0, top)
    return grid


def _labels(scene: DoubtScene, words: DoubtWords, frame: Frame) -> Iterable[Label]:
    inner = Box(2.0, 2.0, frame.box.right - 2.0, frame.box.top - 1.0)
    if scene.now is not None:
        x = float(frame.x(scene.now))
        wishes = (Wish(x=x + 6.0, y=inner.top, corner=(0.0, 1.0)), Wish(x=x - 6.0, y=inner.top, corner=(1.0, 1.0)))
        yield Label("now", single("place", words.now), wishes, inner, 60.0, ((inner, 200.0),))
    left, right = (float(frame.x(flow)) for flow in scene.band)
    foot = max((float(frame.y(bar.top)) for bar in scene.bars), default=0.0)
    wishes = (
        Wish(x=left + 6.0, y=foot + 12.0),
        Wish(x=right - 6.0, y=foot + 12.0, corner=(1.0, 0.0), cost=4.0),
        Wish(x=right + 6.0, y=foot, cost=10.0),
        Wish(x=left - 6.0, y=foot, corner=(1.0, 0.0), cost=14.0),
    )
    yield Label("band", single("place", words.band), wishes, inner, 300.0)
    if scene.goal is not None:
        x = float(frame.x(scene.goal))
        high = 0.8 * frame.box.top
        wishes = (Wish(x=x + 5.0, y=high, corner=(0.0, 1.0)), Wish(x=x - 5.0, y=high, corner=(1.0, 1.0)))
        yield Label("goal", single("band", words.goal), wishes, inner, 120.0)
    if scene.none is not None:
        top = float(frame.y(scene.none.top))
        right = float(frame.x(scene.none.right))
        wishes = (Wish(x=right + 5.0, y=top, corner=(0.0, 1.0)), Wish(x=right + 5.0, y=4.0))
        yield Label("none", single("short", words.none), wishes, inner, 200.0)
