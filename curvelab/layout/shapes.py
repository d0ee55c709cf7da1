"""Where the parts of the pictures lie, for whoever points at them: pixels from the upper left corner, y down."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curvelab.layout.bench_grips import Bearings
from curvelab.layout.labels import Placed
from curvelab.layout.ledger import SEEN_PX, columns
from curvelab.layout.run import Drawing
from curvelab.layout.stacking import column_names
from curvelab.layout.words import StackWords

Floats = NDArray[np.float64]

_CORNERS = 9
"""Corners of a curve's outline: enough to point at."""
_NAME_PX = 15.0  # height of a name's line [px]
_BANDS = (
    ("lift", "foot", "top_lift"),
    ("rise", "top_lift", "top_rise"),
    ("suction", "top_rise", "top_suction"),
    ("discharge", "top_suction", "top_discharge"),
    ("leaving", "top_discharge", "top_leaving"),
    ("pressure", "top_leaving", "live_head"),
)


_CHART_LABELS = {
    "point": "flow",
    "pump": "curve",
    "site": "asks",
    "margin": "spare",
    "sentence": "limit",
    "short": "short",
}
_STRIP_LABELS = {"air": "air", "npsha": "left", "npshr": "needs", "spare": "spare", "limit": "limit"}
_RUN_LABELS = {
    "over": "over",
    "hardest": "hardest",
    "pressure": "gauge",
    "vacuum": "vacuum",
    "water": "lift",
    "lift": "lift",
    "outlet": "outlet",
}
"""What labels speak of, by their names."""

Places = Mapping[str, Placed]


@dataclass(frozen=True, slots=True)
class Shape:
    """One place where a part is drawn: an ``area`` with its corners, x and y in turn, or a ``line`` to be near to."""

    key: str
    kind: str
    corners: tuple[float, ...]


def bench_shapes(
    at: Bearings, ledger: StackWords, budget: StackWords, labels: tuple[Places, Places]
) -> tuple[Shape, ...]:
    """Parts of chart, strip and columns; where two overlap the later one lies on top.

    ``labels``: places of those on the chart and on the strip.
    """
    scene, size, lines = at.scene, at.size, at.scene.lines
    top, left, right = at.y(scene.axes.head.end), at.x(0.0), at.x(scene.axes.flow.end)
    foot = at.y(scene.axes.head.low)
    shapes: list[Shape] = []
    if scene.limit is not None and at.x(scene.limit) < right:
        shapes.append(_box("limit", at.x(scene.limit), top, right, foot))
    if scene.margin is not None:
        shapes.append(_box("spare", at.x(scene.margin[0]), top, at.x(scene.margin[1]), foot))
    if scene.bands:
        shapes += _bands(at)
    shapes += [
        _line("asks", *_within(at.x(lines.live_flow), at.y(lines.live_head), right)),
        _line("curve", *_within(at.x(lines.past_flow), at.y(lines.past_head), right)),
    ]
    shapes += _strip(at, left, right)
    places = columns(size, len(scene.ghosts))[-1]
    edge = size.axis + at.plot_px
    for slabs, words, to_y, height in (
        (scene.ledger, ledger, at.y, size.chart),
        (scene.budget, budget, at.strip_y, size.strip),
    ):
        low = scene.axes.head.low if height == size.chart else 0.0
        bottom = to_y(low)
        for slab in slabs:
            y0, y1 = to_y(slab.top), to_y(slab.bottom)
            if y1 - y0 >= SEEN_PX:
                shapes.append(_box(slab.item, edge + places.left, y0, edge + places.right, y1))
        names = column_names(
            slabs, words, column=places, size=size, to_px=lambda v, f=to_y, b=bottom: b - f(v), height=float(height)
        )
        shapes += [
            _box(
                text.item,
                edge + places.right,
                bottom - text.y - 0.5 * _NAME_PX,
                edge + size.ledger,
                bottom - text.y + 0.5 * _NAME_PX,
            )
            for text in names.texts
            if text.kind == "name"
        ]
    if scene.point is not None and scene.flow is not None and not scene.once:
        x, y = at.x(scene.point[0]), at.y(scene.point[1])
        shapes.append(_box("flow", x - 10.0, y - 10.0, x + 10.0, y + 10.0))
    shapes += _labels(labels[0], _CHART_LABELS, size.axis, foot)
    shapes += _labels(labels[1], _STRIP_LABELS, size.axis, at.strip_y(0.0))
    return tuple(shape for shape in shapes if np.isfinite(shape.corners).all())


def run_shapes(shown: Drawing, height: float, labels: Places) -> tuple[Shape, ...]:
    """Parts of the run; ``height`` of its frame [px], ``labels`` where they stand."""

    def down(y: Floats) -> Floats:
        return height - y

    shapes: list[Shape] = []
    known = np.isfinite(shown.line)
    if known.sum() > 1:
        x, hose, line = shown.wet.x[known], down(shown.wet.y[known]), down(shown.line[known])
        shapes.append(_area("line", x, hose, line))
    suction = shown.suction
    shapes.append(_area("vacuum", suction.x, down(suction.y), down(shown.vacuum_line)))
    shapes.append(_line("suction", suction.x, down(suction.y)))
    shapes.append(_line("discharge", shown.corners.x, down(shown.corners.y)))
    shapes += [_line("over", piece.x, down(piece.y)) for piece in shown.over]
    shapes.append(_box("lift", 0.0, height - shown.water_y - 6.0, float(suction.x[0]), height - shown.water_y + 19.0))
    x, y = shown.scale.pump_x, height - shown.scale.pump_y
    shapes.append(_box("gauge", x - 11.0, y - 13.0, x + 11.0, y + 8.0))
    if shown.tank is not None:
        left, low, right, high = shown.tank
        shapes.append(_box("outlet", left, height - high, right, height - low))
    x, y = shown.flag[0], height - shown.flag[1]
    shapes.append(_box("hardest", x - 2.0, y - 27.0, x + 13.0, y - 12.0))
    points = {name: f"point.{name.removeprefix('waypoint-')}" for name in labels if name.startswith("waypoint-")}
    shapes += _labels(labels, {**_RUN_LABELS, **points}, 0.0, height)
    return tuple(shape for shape in shapes if np.isfinite(shape.corners).all())


def _bands(at: Bearings) -> Iterator[Shape]:
    lines = at.scene.lines
    for key, low, high in _BANDS:
        under, over = at.y(getattr(lines, low)), at.y(getattr(lines, high))
        if float((under - over).max()) >= SEEN_PX:
            yield _area(key, at.x(lines.live_flow), under, over)


def _strip(at: Bearings, left: float, right: float) -> Iterator[Shape]:
    scene, lines = at.scene, at.scene.lines
    yield _box("air", left, at.strip_y(scene.air) - 4.0, right, at.strip_y(scene.air) + 4.0)
    spent = sorted((at.strip_y(scene.air) + 4.0, at.strip_y(scene.rest)))
    yield _box("lift", left, spent[0], right, spent[1])
    if scene.bands:
        rest = np.full(lines.strip_flow.shape, at.strip_y(scene.rest))
        yield _area("suction", np.minimum(at.x(lines.strip_flow), right), at.strip_y(lines.left), rest)
    for key, flow, head in (("left", lines.npsha_flow, lines.npsha), ("needs", lines.npshr_flow, lines.npshr)):
        yield _line(key, *_within(at.x(flow), at.strip_y(head), right))
    if scene.spare is not None:
        flow, needed, left_over = scene.spare
        x = at.x(flow)
        yield _box("spare", x - 5.0, at.strip_y(max(needed, left_over)), x + 5.0, at.strip_y(min(needed, left_over)))


def _labels(placed: Places, speaks_of: Mapping[str, str], left: float, foot: float) -> Iterator[Shape]:
    """Boxes of words; their frame's lower left corner is at ``left``, ``foot``."""
    for name, label in placed.items():
        if name in speaks_of:
            box = label.box
            yield _box(speaks_of[name], left + box.left, foot - box.top, left + box.right, foot - box.bottom)


def _box(key: str, left: float, top: float, right: float, bottom: float) -> Shape:
    return Shape(key, "area", (left, top, right, top, right, bottom, left, bottom))


def _area(key: str, x: Floats, low: Floats, high: Floats) -> Shape:
    """Between two lines over the same places."""
    at = _some(x)
    there, back = np.stack((x[at], low[at]), axis=1), np.stack((x[at], high[at]), axis=1)[::-1]
    return Shape(key, "area", tuple(np.concatenate((there, back)).ravel().tolist()))


def _line(key: str, x: Floats, y: Floats) -> Shape:
    at = _some(x)
    return Shape(key, "line", tuple(np.stack((x[at], y[at]), axis=1).ravel().tolist()))


def _within(x: Floats, y: Floats, right: float) -> tuple[Floats, Floats]:
    """A line as far as the frame's right edge."""
    inside = x < right
    if inside.all():
        return x, y
    return np.append(x[inside], right), np.append(y[inside], np.interp(right, x, y))


def _some(x: Floats) -> NDArray[np.int64]:
    """Places of a few of many points, both ends among them; all where they are few."""
    count = x.size if x.size <= 2 * _CORNERS else _CORNERS
    return np.unique(np.linspace(0, x.size - 1, count).astype(np.int64))
