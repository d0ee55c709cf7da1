"""Words of the head chart, each in its place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from curvelab.layout.ghosts import Ghost
from curvelab.layout.labels import Box, Grid, Placed, Wish
from curvelab.layout.placing import (
    SHORT,
    TYPES,
    Frame,
    Label,
    Named,
    framed,
    noted,
    paired,
    place,
    single,
    upright,
    wrapped,
)
from curvelab.layout.pump_lines import thin_grid, thin_labels
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.text import wrap
from curvelab.layout.words import BenchWords

GAIN_PX = 12.0
"""Height of the gain's arrow over the axis. [px]"""
GAIN_LEAST_PX = 14.0
"""A shorter gain has no arrow. [px]"""
_ROOM_PX = 16.0
PLATED = frozenset({"broken", "crossing", "sentence", "gain"})
"""Kinds that stand in the hatch or on a tint and so need a ground of their own."""


def chart_names(
    scene: Scene,
    words: BenchWords,
    *,
    size: BenchSize,
    plot_px: float,
    last: Mapping[str, Placed] | None = None,
) -> Named:
    """Place the labels of the head chart, the most needed first.

    Parameters
    ----------
    last : mapping, optional
        Where they stood (``Named.places``): kept while that is still good.
    """
    frame = framed(scene.axes.flow.end, scene.axes.head.low, scene.axes.head.end, plot_px, size.chart)
    grid = _chart_grid(scene, frame)
    named = place(grid, _chart_labels(scene, words, size, frame), last or {})
    return Named(named.texts, named.places, named.omitted, _pointer(scene, frame, named.places.get("point")))


def _chart_grid(scene: Scene, frame: Frame) -> Grid:
    grid = Grid(frame.box.right, frame.box.top)
    _curves_grid(grid, scene, frame)
    if scene.gives_out is not None:
        upright(grid, float(frame.x(scene.gives_out)), 0.0, frame.box.top)
    for point in (scene.point, scene.crossing):
        if point is not None:
            x, y = float(frame.x(point[0])), float(frame.y(point[1]))
            grid.take(Box(x - 9.0, y - 9.0, x + 9.0, y + 9.0), pad=2.0)
            if point is scene.point or scene.once:
                grid.line([x, x], [0.0, y], crossable=scene.once)
    for flow, head in scene.leaders:
        y = float(frame.y(head))
        grid.line([float(frame.x(flow)), frame.box.right], [y, y])
    for bar in (scene.broken, scene.short):
        if bar is not None:
            upright(grid, float(frame.x(bar[0])), float(frame.y(bar[1])), float(frame.y(bar[2])), pad=4.0)
    thin_grid(grid, scene.thin, frame)
    for ghost in scene.ghosts:
        _ghost_grid(grid, ghost, frame)
    if scene.gain is not None:
        grid.line(frame.x(np.asarray(scene.gain)), np.full(2, GAIN_PX), pad=4.0)
    return grid


def _curves_grid(grid: Grid, scene: Scene, frame: Frame) -> None:
    lines = scene.lines
    grid.line(frame.x(lines.live_flow), frame.y(lines.live_head), pad=3.0)
    grid.line(frame.x(lines.beyond_flow), frame.y(lines.beyond_head))
    grid.line(frame.x(lines.pump_flow), frame.y(lines.pump_head), pad=3.0)
    for past in (lines.past_head, lines.pump_low, lines.pump_high):  # an estimate stands in a band
        grid.line(frame.x(lines.past_flow), frame.y(past))
    foot, ground = float(frame.y(lines.foot[0])), float(frame.y(0.0))
    if scene.bands and 0.0 < ground - foot < _ROOM_PX:  # what helps is hatched, too low for its own words
        grid.take(Box(0.0, foot, float(frame.x(lines.live_flow[-1])), ground))


def _ghost_grid(grid: Grid, ghost: Ghost, frame: Frame) -> None:
    grid.line(frame.x(ghost.flow), frame.y(ghost.head))
    grid.line(frame.x(ghost.pump_flow), frame.y(ghost.pump_head))
    x, y = float(frame.x(ghost.ring[0])), float(frame.y(ghost.ring[1]))
    grid.take(Box(x - 9.0, y - 9.0, x + 9.0, y + 9.0), pad=1.0)
    if ghost.point is not None:
        grid.line([x, x], [0.0, y], crossable=True)
        grid.line([x, frame.box.right], [y, y], crossable=True)


def _chart_labels(scene: Scene, words: BenchWords, size: BenchSize, frame: Frame) -> Iterable[Label]:
    inner = Box(4.0, 2.0, frame.box.right - 4.0, frame.box.top - 2.0)
    clear = Box(4.0, 2.0, _clear_end(scene, frame) - 4.0, inner.top) if not size.names else inner
    start = float(frame.y(scene.lines.live_head[0]))
    first = int(np.flatnonzero(np.isfinite(scene.lines.past_head))[0])  # a curve may not begin at no flow
    shut = float(frame.y(scene.lines.past_head[first]))
    shut_x = float(frame.x(scene.lines.past_flow[first]))
    place = scene.point if scene.state.value != "no-lift" else None
    place = place or (scene.crossing if scene.once else None)
    if place is not None:
        x, y = float(frame.x(place[0])), float(frame.y(place[1]))
        yield Label(
            "point", paired("flow", words.flow, "head", words.head), _around(x, y), clear, 60.0, ((clear, 260.0),)
        )
    yield from _chalked(scene, words, size, frame, clear)
    yield from _trouble(scene, words, frame, inner)
    left = Box(4.0, 2.0, 0.75 * frame.box.right, frame.box.top - 2.0)
    wishes = (*_at_start(shut, above=not words.pump_note, x=shut_x), *_on_curve(scene, frame))
    wishes = (*wishes, Wish(x=shut_x - 6.0, y=shut, corner=(1.0, 0.5), cost=40.0))
    yield Label(
        "pump", noted("pump", words.pump, words.pump_note), wishes, left if shut_x < left.right else inner, 70.0
    )
    forms = (*noted("site", words.site, words.site_note), *single("site", wrapped(words.site, "site")))
    yield Label("site", forms, _site_wishes(scene, frame, start), left, 70.0)
    yield from thin_labels(scene.thin, words.pumps, frame, inner)
    yield from _bands(scene, words, frame)
    if scene.margin is not None:
        low, high = float(frame.x(scene.margin[0])), float(frame.x(scene.margin[1]))
        wish = Wish(x=0.5 * (low + high), y=6.0, corner=(0.5, 0.0))
        yield Label("margin", single("margin", words.margin), (wish,), Box(low, 2.0, high, inner.top), turned=True)
    if words.sentence and not size.sentence:
        yield _sentence(scene, words.sentence, frame, inner)


def _clear_end(scene: Scene, frame: Frame) -> float:
    """Where the hatch begins. [px]"""
    starts = scene.limit if scene.limit is not None else scene.axes.flow.end if scene.doubt is None else scene.doubt[1]
    return min(frame.box.right, float(frame.x(starts)))


def _around(x: float, y: float) -> tuple[Wish, ...]:
    return (
        Wish(x=x - 15.0, y=y + 2.0, corner=(1.0, 0.5)),
        Wish(x=x, y=y + 15.0, corner=(0.5, 0.0), cost=36.0),
        Wish(x=x + 15.0, y=y + 2.0, corner=(0.0, 0.5), cost=48.0),
        Wish(x=x - 8.0, y=y - 15.0, corner=(1.0, 1.0), cost=36.0),
    )


def _at_start(y: float, *, above: bool, x: float = 0.0) -> tuple[Wish, ...]:
    over = Wish(x=x + 4.0, y=y + 4.0, cost=0.0 if above else 14.0)
    under = Wish(x=x + 4.0, y=y - 4.0, corner=(0.0, 1.0), cost=14.0 if above else 0.0)
    return over, under


def _on_curve(scene: Scene, frame: Frame) -> tuple[Wish, ...]:
    """Over the pump's curve, further along it."""
    lines = scene.lines
    wishes: list[Wish] = []
    for share in (0.15, 0.3, 0.45):
        flow = share * scene.axes.flow.end
        head = float(np.interp(flow, lines.past_flow, lines.past_head))
        if np.isfinite(head):
            wishes.append(Wish(x=float(frame.x(flow)), y=float(frame.y(head)) + 5.0, cost=24.0 + 40.0 * share))
    return tuple(wishes)


def _site_wishes(scene: Scene, frame: Frame, start: float) -> tuple[Wish, ...]:
    wishes = _at_start(start, above=False)
    end_x, end_y = float(frame.x(scene.lines.live_flow[-1])), float(frame.y(scene.lines.live_head[-1]))
    if scene.bands or scene.once:
        return (*wishes, Wish(x=end_x + 5.0, y=end_y - 16.0, corner=(0.0, 1.0), cost=30.0))
    return (Wish(x=min(end_x, 0.6 * frame.box.right) + 6.0, y=frame.box.top - 6.0, corner=(0.0, 1.0)), *wishes)


def _chalked(scene: Scene, words: BenchWords, size: BenchSize, frame: Frame, clear: Box) -> Iterable[Label]:
    """A label at each ring, and the gain over its arrow."""
    for ghost, said in zip(scene.ghosts, words.chalks, strict=True):
        x, y = float(frame.x(ghost.ring[0])), float(frame.y(ghost.ring[1]))
        wishes = (
            Wish(x=x + 12.0, y=y + 5.0),
            Wish(x=x + 13.0, y=y + 1.0, corner=(0.0, 0.5), cost=8.0),
            Wish(x=x + 12.0, y=y - 5.0, corner=(0.0, 1.0), cost=16.0),
            Wish(x=x - 12.0, y=y - 5.0, corner=(1.0, 1.0), cost=14.0),
            Wish(x=x - 12.0, y=y + 5.0, corner=(1.0, 0.0), cost=14.0),
        )
        whole = tuple((("chalk", form), ("chalk-note", note)) for form in said.label for note in said.note)
        forms = (*whole, *single("chalk", said.short)) if size.names else single("chalk", said.short[-1:])
        yield Label(f"chalk-{ghost.letter}", forms, wishes, clear, 60.0)
    ends = sorted(float(frame.x(flow)) for flow in scene.gain or (0.0, 0.0))
    if ends[1] - ends[0] >= GAIN_LEAST_PX:
        middle = 0.5 * (ends[0] + ends[1])
        beside = Wish(x=ends[1] + 5.0, y=GAIN_PX, corner=(0.0, 0.5), cost=30.0)
        over = Wish(x=middle, y=GAIN_PX + 4.0, corner=(0.5, 0.0))
        yield Label("gain", single("gain", words.gain), (over, beside), clear, 60.0)


def _trouble(scene: Scene, words: BenchWords, frame: Frame, inner: Box) -> Iterable[Label]:
    if scene.broken is not None:
        x, top = float(frame.x(scene.broken[0])), float(frame.y(scene.broken[2]))
        wishes = (
            Wish(x=x + 6.0, y=top + 6.0),
            Wish(x=x + 6.0, y=top - 6.0, corner=(0.0, 1.0), cost=8.0),
            Wish(x=x - 6.0, y=top - 10.0, corner=(1.0, 1.0), cost=16.0),
        )
        yield Label("broken", single("broken", words.broken), wishes, inner, 90.0)
    if scene.crossing is not None and not scene.once:
        x, y = float(frame.x(scene.crossing[0])), float(frame.y(scene.crossing[1]))
        wishes = (Wish(x=x - 2.0, y=y + 8.0, corner=(1.0, 0.0)), *_around(x, y))
        beyond = Box(0.0 if scene.point is None else float(frame.x(scene.point[0])), 2.0, inner.right, inner.top)
        yield Label("crossing", single("crossing", words.crossing), wishes, beyond, 40.0)
    if scene.short is not None:
        x = float(frame.x(scene.short[0]))
        middle = 0.5 * (float(frame.y(scene.short[1])) + float(frame.y(scene.short[2])))
        yield Label("short", single("short", words.short), (Wish(x=x + 8.0, y=middle, corner=(0.0, 0.5)),), inner, 60.0)


def _bands(scene: Scene, words: BenchWords, frame: Frame) -> Iterable[Label]:
    if not scene.bands:
        return
    lines, right = scene.lines, float(frame.x(scene.lines.live_flow[-1])) - 4.0
    foot, top_lift, top_rise = (float(top[0]) for top in (lines.foot, lines.top_lift, lines.top_rise))
    for name, forms, low, high in (("lift", words.lift, foot, top_lift), ("rise", words.rise, top_lift, top_rise)):
        ends = (low, high) if high > low else (foot, 0.0)  # a part that helps has its words where it is hatched
        bottom, top = float(frame.y(ends[0])), float(frame.y(ends[1]))
        wish = Wish(x=9.0, y=bottom + 0.44 * (top - bottom), corner=(0.0, 0.5))
        yield Label(name, single("band", forms), (wish,), Box(4.0, bottom, right, top))


def _sentence(scene: Scene, sentence: str, frame: Frame, inner: Box) -> Label:
    kind = TYPES["sentence"]
    x, y, order = 8.0, 30.0, (2, 3, 4, 1, 5, 6)
    if scene.limit is not None:
        x, y, order = float(frame.x(scene.limit)) + 12.0, 5.0, (4, 3, 5, 2, 6)
    elif scene.flow is not None:
        x = float(frame.x(scene.flow)) + 6.0
    if len(sentence) < SHORT:
        order = (1, 2, 3)
    forms = tuple((("sentence", wrap(sentence, lines, kind.size)),) for lines in order)
    wishes = Wish(x=x, y=y), Wish(x=inner.right, y=y, corner=(1.0, 0.0), cost=10.0)
    return Label("sentence", forms, wishes, inner)


def _pointer(scene: Scene, frame: Frame, placed: Placed | None) -> tuple[float, float, float, float] | None:
    """A short line from the point to its label, when that had to stand more than 48 px away."""
    place = scene.point or scene.crossing
    if placed is None or place is None:
        return None
    x, y = float(frame.x(place[0])), float(frame.y(place[1]))
    box = placed.box
    near = min(max(x, box.left), box.right), min(max(y, box.bottom), box.top)
    away = np.hypot(near[0] - x, near[1] - y)
    if away <= 48.0:
        return None
    share = 10.0 / away
    return x + share * (near[0] - x), y + share * (near[1] - y), near[0], near[1]
