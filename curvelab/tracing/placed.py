"""Points of a curve placed in its picture: those of a trace, moved by hand, or all set by hand."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from math import floor, log10
from typing import Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import Fault, InputError
from curvelab.hydraulics.curve import CurveTable
from curvelab.tracing.axes import Axes
from curvelab.tracing.curve import TracedCurve
from curvelab.tracing.frame import CurveQuantity
from curvelab.tracing.map import Floats
from curvelab.tracing.pumpfile import thinned

MOST: Final = 200
"""Most points of a curve. [-]"""
DRAWN: Final = 160
"""Points of the line drawn through them. [-]"""
GRAIN_PX: Final = 0.05
"""What rounding may cost. [px]"""
NEAREST_PX: Final = 0.5
"""How far apart the flows of two points must lie. [px]"""
SLIP_PX: Final = 1.5
"""How far left of flow 0 a point still means flow 0. [px]"""


@dataclass(frozen=True, slots=True, eq=False)
class Placed:
    """A curve by its points in the picture."""

    name: str
    quantity: CurveQuantity
    axes: Axes
    numbers: tuple[tuple[float, float], ...]
    """Flow and value in the units of the axes, flows rising."""
    pixels: Floats
    """Where they lie, shape (n, 2). [px]"""
    line: Floats
    """The curve through them, shape (m, 2). [px]"""
    by_hand: tuple[bool, ...]
    """Which a person has placed."""
    traced: TracedCurve | None
    apart_px: float
    """How far the line that was seen lies from the curve through the points, at most; 0 without a trace. [px]"""


def placed_of(curve: TracedCurve) -> Placed:
    """The few points that a trace comes down to."""
    numbers = thinned(curve)
    pixels = curve.axes.pixels(np.array(numbers))
    line = _line(curve.axes, numbers)
    none = (False,) * len(numbers)
    return Placed(curve.name, curve.quantity, curve.axes, numbers, pixels, line, none, curve, _apart(curve, line))


def placed_by_hand(
    axes: Axes,
    pixels: Sequence[tuple[float, float]],
    by_hand: Sequence[bool],
    *,
    name: str,
    quantity: CurveQuantity,
    traced: TracedCurve | None = None,
) -> Placed:
    """A curve through points of the picture, in the order of their flows.

    Parameters
    ----------
    pixels : sequence of pairs, 2 to 200
        Where they lie. [px]
    by_hand : sequence of bool
        Which of them a person has placed; the others are the trace's.
    traced : TracedCurve, optional
        What was seen of the line.

    Raises
    ------
    InputError
        For points too few or many, off the chart, below 0, or of the same flow.
    """
    if not 2 <= len(pixels) <= MOST:
        raise InputError(Fault("", "points", f"{len(pixels)} of them", f"place from 2 to {MOST}"))
    at = np.asarray(pixels, dtype=np.float64)
    numbers = axes.in_units(at)
    one = np.abs(axes.in_units(at + np.array([1.0, 0.0]))[:, 0] - numbers[:, 0])  # flow of a pixel
    slip = (numbers[:, 0] < 0.0) & (numbers[:, 0] > -SLIP_PX * one)
    numbers[slip, 0] = 0.0
    for place in np.flatnonzero((numbers[:, 0] < 0.0) | (numbers[:, 1] < 0.0)).tolist():
        raise InputError(Fault("", f"points.{place}", "lies below 0 of an axis", "place it on the chart"))
    order = np.argsort(numbers[:, 0], kind="stable")
    rounded = _rounded(axes, at, numbers)[order]
    for place in np.flatnonzero(np.diff(rounded[:, 0]) <= NEAREST_PX * float(np.median(one))).tolist():
        got = f"has the same flow as point {place + 1}"
        raise InputError(Fault("", f"points.{place + 1}", got, "move it, or take one of the two out"))
    pairs = tuple((flow, value) for flow, value in rounded.tolist())
    line = _line(axes, pairs)
    flags = tuple(bool(by_hand[place]) for place in order.tolist())
    apart = _apart(traced, line) if traced is not None else 0.0
    return Placed(name, quantity, axes, pairs, axes.pixels(rounded), line, flags, traced, apart)


def _rounded(axes: Axes, at: Floats, numbers: Floats) -> Floats:
    """Numbers to the decimals that a small part of a pixel means, the same all along."""
    steps = [np.abs(axes.in_units(at + np.array(step)) - numbers).max(axis=1) for step in ([1.0, 0.0], [0.0, 1.0])]
    out = numbers.copy()
    for column in (0, 1):
        grain = GRAIN_PX * float(np.median(np.maximum(steps[column], 1e-12)))
        out[:, column] = np.round(numbers[:, column], max(0, -floor(log10(grain))))
    return out


def _line(axes: Axes, numbers: Sequence[tuple[float, float]]) -> Floats:
    """The curve through points as a pump's file would have it, in the picture, shape (m, 2). [px]"""
    x, y = np.array(numbers).T
    low, high = axes.flow.share(x[[0, -1]]).tolist()  # on a log axis no pixel means 0
    between = axes.flow.value(np.linspace(low, high, DRAWN))
    along = np.unique(np.concatenate([x, np.clip(between, x[0], x[-1])]))
    value = CurveTable.of([(x, y)])(np.zeros(1, dtype=np.int64), along[None, :])[0]
    good: NDArray[np.bool_] = value > 0.0 if axes.value.log else np.ones(along.size, dtype=np.bool_)
    return axes.pixels(np.stack([along, value], axis=-1)[good])


def _apart(curve: TracedCurve, line: Floats) -> float:
    """How far the traced line lies from a polyline at most, where both have flows. [px]"""
    a, b = line[:-1], line[1:]
    span = b - a
    length2 = np.maximum((span**2).sum(axis=1), 1e-12)
    seen = curve.pixels[:: max(1, len(curve.pixels) // 200)]
    within = (seen[:, 0] >= line[:, 0].min()) & (seen[:, 0] <= line[:, 0].max())
    if not within.any():
        return 0.0
    to = seen[within][:, None, :] - a
    share = np.clip((to * span).sum(axis=2) / length2, 0.0, 1.0)
    far = np.linalg.norm(to - share[..., None] * span, axis=2)
    return float(far.min(axis=1).max())
