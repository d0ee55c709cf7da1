"""Where two curves cross, for many rows at once, by bracketing.

The gap is a curve of the pump less a curve of the line, and the line's only ever rises (or the suction's head only ever
falls). Between two knots a PCHIP is monotone, so over a run of knots that falls the gap falls strictly and holds one
crossing at most: the ends of the run suffice. Only where the pump's curve rises are its knot intervals cut up and
searched.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import lru_cache
from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics.curve import CurveTable

Floats = NDArray[np.float64]
Ints = NDArray[np.int64]

_CUTS = 16
"""Pieces that a knot interval is cut into where gap and curve rise together."""
_TOLERANCE = 1e-11
"""Of a bracket's own width, where it stops being narrowed."""
_ZERO = 1e-13
"""Of the gap at the bracket's ends, what counts as no gap: rounding alone leaves about 1e-15."""


class Crossings(NamedTuple):
    """What the search found. Shapes (rows,), NaN where there is none."""

    flow: Floats
    """The stable crossing of greatest flow. [m³/s]"""
    limit: Floats
    """Where NPSHA falls to NPSHR (or to the high guess). [m³/s]"""
    second: Floats
    """Where it falls to NPSHR and the margin (or to the low guess). [m³/s]"""
    gives_more: NDArray[np.bool_]
    """At the last tested flow the pump gives more than the line asks."""
    short_at_first: NDArray[np.bool_]
    """At the first tested flow the line asks more than the pump gives."""
    other_row: Ints
    other_flow: Floats


@lru_cache(maxsize=64)
def stations(table: CurveTable, *, rises: bool) -> Floats:
    """Places between which a gap crosses zero at most once, shape (curves, n); short rows repeat their last.

    ``rises`` names the harmful direction: True where a rising curve can meet the other twice (head), False for a
    falling one (NPSHR). Tangents apart: ``humps`` looks for those.
    """
    found: list[list[float]] = []
    for row in range(len(table.count)):
        count = int(table.count[row])
        x, y = table.x[row, :count], table.y[row, :count]
        found.append(_stations(x, y if rises else -y))
    size = max(len(row) for row in found)
    return np.array([row + [row[-1]] * (size - len(row)) for row in found])


def _stations(x: Floats, y: Floats) -> list[float]:
    if x.size == 0:
        return [0.0, 0.0]
    out = [float(x[0])]
    for left in range(x.size - 1):
        if y[left + 1] > y[left]:
            if out[-1] < x[left]:
                out.append(float(x[left]))
            start, width = float(x[left]), float(x[left + 1] - x[left])
            out.extend(start + width * piece / _CUTS for piece in range(1, _CUTS + 1))
    if out[-1] < x[-1] or len(out) == 1:
        out.append(float(x[-1]))
    return out


def humps(x: Floats, gap: Floats) -> Floats:
    """One more station a row: the vertex of the parabola through the likeliest near miss, shape (rows, 1).

    A near miss is a station lower than zero and higher than both neighbours (or the other way about): between those
    the gap may touch zero and come back. Rows without one get their last station again.
    """
    if x.shape[1] < 3:
        return x[:, -1:]
    left, mid, right = gap[:, :-2], gap[:, 1:-1], gap[:, 2:]
    same = (np.sign(left) == np.sign(mid)) & (np.sign(mid) == np.sign(right))
    near = same & (np.abs(mid) < np.abs(left)) & (np.abs(mid) < np.abs(right))
    best = np.where(near, np.abs(mid), np.inf).argmin(1)
    rows = np.arange(x.shape[0], dtype=np.int64)
    a, b, c = x[rows, best], x[rows, best + 1], x[rows, best + 2]
    fa, fb, fc = gap[rows, best], gap[rows, best + 1], gap[rows, best + 2]
    under = (b - a) * (fb - fc) - (b - c) * (fb - fa)
    safe = np.where(under == 0.0, 1.0, under)
    vertex = b - 0.5 * ((b - a) ** 2 * (fb - fc) - (b - c) ** 2 * (fb - fa)) / safe
    ok = near[rows, best] & (under != 0.0) & (vertex > a) & (vertex < c)
    return np.where(ok, vertex, x[:, -1])[:, None]


def find_roots(gap: Callable[[Floats], Floats], low: Floats, high: Floats, at_low: Floats, at_high: Floats) -> Floats:
    """Zeros of ``gap`` inside brackets, all narrowed together (inverse quadratic steps, bisection where they stray).

    Parameters
    ----------
    gap : callable
        Takes and returns an array of the brackets' shape.
    low, high : array
        Ends of the brackets; a closed one (low equal to high) is returned as it is.
    at_low, at_high : array
        The gap there, of unlike sign in every open bracket.

    Returns
    -------
    array
        The zeros, to 1e-11 of each bracket's width or 1e-13 of the gap at its ends.

    References
    ----------
    .. [1] T. R. Chandrupatla, "A new hybrid quadratic/bisection algorithm for finding the zero of a nonlinear function
       without using derivatives," Adv. Eng. Softw., vol. 28, no. 3, pp. 145-149, 1997,
       doi:10.1016/s0965-9978(96)00051-8.
    """
    x1, f1, x2, f2 = low, at_low, high, at_high
    x3, f3 = x2, f2
    width, zero = np.abs(high - low), _ZERO * np.maximum(np.abs(at_low), np.abs(at_high))
    step = np.clip(_ratio(f1, f1 - f2), 0.02, 0.98)
    for _ in range(80):
        x = x1 + step * (x2 - x1)
        f = gap(x)
        same = np.sign(f) == np.sign(f1)
        x3, f3 = np.where(same, x1, x2), np.where(same, f1, f2)
        x2, f2 = np.where(same, x2, x1), np.where(same, f2, f1)
        x1, f1 = x, f
        span = np.abs(x2 - x1)
        done = (span <= 2.0 * _TOLERANCE * width) | (np.abs(f1) <= zero)
        if done.all():
            break
        xi, phi = _ratio(x1 - x2, x3 - x2), _ratio(f1 - f2, f3 - f2)
        quadratic = (phi**2 < xi) & ((1.0 - phi) ** 2 < 1.0 - xi)
        inverse = _ratio(f1, f2 - f1) * _ratio(f3, f2 - f3) + _ratio(x3 - x1, x2 - x1) * _ratio(f1, f3 - f1) * _ratio(
            f2, f3 - f2
        )
        least = np.minimum(_TOLERANCE * width / np.where(span > 0.0, span, 1.0), 0.5)
        step = np.where(done, 0.0, np.clip(np.where(quadratic, inverse, 0.5), least, 1.0 - least))
    return np.where(np.abs(f1) <= np.abs(f2), x1, x2)


def _ratio(over: Floats, under: Floats) -> Floats:
    return over / np.where(under == 0.0, np.inf, under)
