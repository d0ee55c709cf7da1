"""Words of the suction strip, each in its place."""

from __future__ import annotations

from collections.abc import Iterable, Mapping

import numpy as np

from curvelab.layout.labels import Box, Grid, Placed, Wish
from curvelab.layout.placing import Frame, Label, Named, framed, noted, place, single, upright, wrapped
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BenchSize
from curvelab.layout.words import BenchWords


def strip_names(
    scene: Scene,
    words: BenchWords,
    *,
    size: BenchSize,
    plot_px: float,
    last: Mapping[str, Placed] | None = None,
) -> Named:
    """Place the labels of the suction strip, the most needed first; ``last`` as in ``chart_names``."""
    frame = framed(scene.axes.flow.end, 0.0, scene.axes.suction.end, plot_px, size.strip)
    return place(_strip_grid(scene, frame), _strip_labels(scene, words, frame), last or {})


def _strip_grid(scene: Scene, frame: Frame) -> Grid:
    grid = Grid(frame.box.right, frame.box.top)
    lines = scene.lines
    for flow, values in (
        (lines.npsha_flow, lines.npsha),
        (lines.npshr_flow, lines.npshr),
        (lines.npshr_flow, lines.npshr_low),
        (lines.npshr_flow, lines.npshr_high),
    ):
        grid.line(frame.x(flow), frame.y(values), pad=3.0)
    for level in (scene.air, scene.rest):
        y = float(frame.y(level))
        grid.line([0.0, frame.box.right], [y, y], pad=1.0)
    for flow in (scene.gives_out, scene.flow):
        if flow is not None:
            upright(grid, float(frame.x(flow)), 0.0, frame.box.top)
    if scene.undrawn is not None:
        low, high = (float(frame.y(level)) for level in scene.undrawn)
        grid.take(Box(0.0, low, frame.box.right, high), pad=1.0)
    if scene.spare is not None:
        across = float(frame.x(scene.spare[0]))
        for level in scene.spare[1:]:
            up = float(frame.y(level))
            grid.take(Box(across - 6.0, up - 6.0, across + 6.0, up + 6.0))
    return grid


def _strip_labels(scene: Scene, words: BenchWords, frame: Frame) -> Iterable[Label]:
    inner = Box(4.0, 3.0, frame.box.right - 4.0, frame.box.top - 1.0)
    air, rest = float(frame.y(scene.air)), float(frame.y(scene.rest))
    if scene.undrawn is not None:
        top = float(frame.y(scene.undrawn[1])) + 3.0
        wishes = (Wish(x=0.42 * frame.box.right, y=top), Wish(x=4.0, y=top, cost=30.0))
        yield Label("prime", single("prime", wrapped(words.prime, "prime")), wishes, inner)
    half = 0.5 * frame.box.right
    over = float(np.interp(half, frame.x(scene.lines.strip_flow), frame.y(scene.lines.left)))
    wishes = (
        Wish(x=4.0, y=rest - 2.0, corner=(0.0, 1.0)),
        Wish(x=4.0, y=rest + 2.0, cost=6.0),
        Wish(x=half, y=over + 4.0, cost=30.0),
    )
    yield Label("npsha", single("npsha", words.npsha), wishes, inner, 50.0)
    if scene.spare is not None and words.spare:
        x, low, high = (float(frame.x(scene.spare[0])), *(float(frame.y(level)) for level in scene.spare[1:]))
        middle = 0.5 * (low + high)
        wishes = (
            Wish(x=x - 12.0, y=middle, corner=(1.0, 0.5)),
            Wish(x=x + 12.0, y=middle, corner=(0.0, 0.5), cost=12.0),
        )
        between = Box(inner.left, max(inner.bottom, low - 5.0), inner.right, max(rest, high))
        yield Label("spare", single("spare", words.spare), wishes, between, 60.0, ((between, 120.0), (inner, 45.0)))
    pushed = Box(4.0, rest, inner.right, air) if rest < air else Box(4.0, inner.bottom, inner.right, air)
    below_air = Box(4.0, inner.bottom, inner.right, air)
    at = Wish(x=8.0, y=0.5 * (pushed.bottom + air) if rest < air else air - 10.0, corner=(0.0, 0.5))
    yield Label("air", noted("air", words.air, words.air_note), (at,), pushed, 60.0, ((below_air, 80.0),))
    if scene.gives_out is not None:
        x, middle = float(frame.x(scene.gives_out)), 0.5 * (air + min(rest, air))
        wishes = (
            Wish(x=x + 8.0, y=middle, corner=(0.0, 0.5)),
            Wish(x=x - 8.0, y=middle, corner=(1.0, 0.5), cost=20.0),
        )
        yield Label("limit", single("limit", words.limit), wishes, inner, 40.0)
    if np.isfinite(scene.lines.npshr).any() or np.isfinite(scene.lines.npshr_low).any():
        yield Label("npshr", single("npshr", words.npshr), _along(scene, frame), inner, 40.0)


def _along(scene: Scene, frame: Frame) -> tuple[Wish, ...]:
    """Under the line of what the pump needs, or over it, as near the operating point as may be."""
    lines = scene.lines
    needed, over, flows = lines.npshr, lines.npshr, lines.npshr_flow
    if scene.estimate:
        needed, over = lines.npshr_low, lines.npshr_high
    wishes: list[Wish] = []
    end = scene.flow if scene.flow is not None else 0.45 * scene.axes.flow.end
    for share in (0.98, 0.8, 0.6, 0.4, 1.3, 1.6, 2.0):
        index = int(np.searchsorted(flows, share * end))
        if index >= flows.size or not np.isfinite(needed[index]):
            continue
        x = float(frame.x(flows[index]))
        under, above = float(frame.y(needed[index])), float(frame.y(over[index]))
        corner = 1.0 if share < 1.0 else 0.0
        wishes.append(Wish(x=x, y=under - 2.0, corner=(corner, 1.0), cost=20.0 * abs(1.0 - share)))
        wishes.append(Wish(x=x, y=above + 2.0, corner=(corner, 0.0), cost=8.0 + 20.0 * abs(1.0 - share)))
    return tuple(wishes) or (Wish(x=4.0, y=2.0),)
