"""Tables of monotone piecewise cubics (PCHIP), many curves at once: what a pump's digitised points become.

No overshoot, no extrapolation. Between two neighbouring knots a PCHIP is monotone, so that a curve's only turning
points are knots: root finding (``crossing``) rests on that.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelab.errors import DomainError

Floats = NDArray[np.float64]


def pchip_slopes(x: ArrayLike, y: ArrayLike) -> Floats:
    """Slopes at the knots of a monotone piecewise cubic.

    Parameters
    ----------
    x : array, shape (n,)
        Strictly rising knots, n at least 2. Any unit.
    y : array, shape (n,)
        Values there. Any unit.

    Returns
    -------
    array, shape (n,)
        dy/dx at each knot: 0 where the data turn, the weighted harmonic mean of the neighbours elsewhere [1]_ (eq.
        4), and the three-point end formula limited so that the ends keep the shape [2]_ (section 3.6, function
        ``pchipend``).

    Raises
    ------
    DomainError
        If there are fewer than 2 knots or x does not rise strictly.

    References
    ----------
    .. [1] F. N. Fritsch and J. Butland, "A method for constructing local monotone piecewise cubic interpolants," SIAM
       J. Sci. Stat. Comput., vol. 5, no. 2, pp. 300-304, 1984, doi:10.1137/0905021. Equation number from memory.
    .. [2] C. B. Moler, Numerical Computing with MATLAB, SIAM, 2004. Section number from memory.
    """
    x, y = np.asarray(x, float), np.asarray(y, float)
    if x.ndim != 1 or x.shape != y.shape or x.size < 2:
        raise DomainError(f"a curve needs at least 2 points, x and y alike (got {x.shape} and {y.shape})")
    step = np.diff(x)
    if not (step > 0).all():
        at = int(np.argmin(step > 0)) + 1
        raise DomainError(f"a curve's x must rise (got {x[at]:g} after {x[at - 1]:g} at point {at + 1})")
    secant = np.diff(y) / step
    if x.size == 2:
        return np.array([secant[0], secant[0]])
    slopes = np.zeros_like(y)
    left, right = secant[:-1], secant[1:]
    w1, w2 = 2.0 * step[1:] + step[:-1], step[1:] + 2.0 * step[:-1]
    same = left * right > 0.0
    slopes[1:-1][same] = (w1 + w2)[same] / (w1[same] / left[same] + w2[same] / right[same])
    slopes[0] = _end_slope(step[0], step[1], secant[0], secant[1])
    slopes[-1] = _end_slope(step[-1], step[-2], secant[-1], secant[-2])
    return slopes


def _end_slope(h0: float, h1: float, m0: float, m1: float) -> float:
    slope = ((2.0 * h0 + h1) * m0 - h0 * m1) / (h0 + h1)
    if slope * m0 <= 0.0:
        return 0.0
    if m0 * m1 < 0.0 and abs(slope) > 3.0 * abs(m0):
        return 3.0 * m0
    return slope


@dataclass(frozen=True, slots=True, eq=False)
class CurveTable:
    """Several curves side by side, padded to the longest; make one with ``CurveTable.of``.

    A curve may be empty (no points): asked for a value it gives NaN, which the caller turns into null.
    """

    x: Floats
    """Knots, shape (curves, knots); padding repeats the last knot."""
    y: Floats
    """Values at the knots, same shape."""
    cubic: Floats
    """Coefficients of 1, t, t², t³ with t = x − knot, shape (curves, knots, 4); the last knot's are constant."""
    count: NDArray[np.int64]
    """Real knots of each curve, 0 for an empty one."""

    @classmethod
    def of(cls, points: Sequence[tuple[ArrayLike, ArrayLike]]) -> CurveTable:
        """Table of curves given as (x, y) pairs of arrays; a pair of empty arrays is an empty curve."""
        size = max([1, *(np.size(x) for x, _ in points)])
        shape = (len(points), size)
        xs, ys, cubic = np.zeros(shape), np.full(shape, np.nan), np.zeros((*shape, 4))
        cubic[..., 0] = np.nan
        count = np.zeros(len(points), dtype=np.int64)
        for row, pair in enumerate(points):
            x, y = (np.asarray(part, float) for part in pair)
            n = count[row] = x.size
            if n == 0:
                continue
            slopes = pchip_slopes(x, y)
            xs[row], ys[row] = x[-1], y[-1]
            xs[row, :n], ys[row, :n] = x, y
            step, secant = np.diff(x), np.diff(y) / np.diff(x)
            cubic[row, :, 0], cubic[row, :n, 0] = y[-1], y
            cubic[row, : n - 1, 1] = slopes[:-1]
            cubic[row, : n - 1, 2] = (3.0 * secant - 2.0 * slopes[:-1] - slopes[1:]) / step
            cubic[row, : n - 1, 3] = (slopes[:-1] + slopes[1:] - 2.0 * secant) / step**2
        return cls(xs, ys, cubic, count)

    def first(self, row: NDArray[np.int64]) -> Floats:
        """Least x of the curves named, 0 for an empty one."""
        return self.x[row, 0]

    def last(self, row: NDArray[np.int64]) -> Floats:
        """Greatest x of the curves named, 0 for an empty one."""
        return self.x[row, -1]

    def __call__(self, row: NDArray[np.int64], x: Floats) -> Floats:
        """Values of curve ``row`` (shape (n,)) at ``x`` (shape (n, m)), taken at the nearest end where x lies outside.

        No value is invented: callers that may stand outside ask ``first`` and ``last``.
        """
        if self.count.size == 1:
            knots, cubic = self.x[0], self.cubic[0]
            place = np.maximum(knots.searchsorted(x, side="right") - 1, 0)
            t = np.minimum(np.maximum(x, knots[0]), knots[-1]) - knots[place]
            c = cubic[place]
        else:
            knots = self.x[row]
            place = np.maximum((x[..., None] >= knots[:, None, :]).sum(-1) - 1, 0)
            t = np.minimum(np.maximum(x, knots[:, :1]), knots[:, -1:]) - np.take_along_axis(knots, place, 1)
            c = self.cubic[row[:, None], place]
        return c[..., 0] + t * (c[..., 1] + t * (c[..., 2] + t * c[..., 3]))

    def greatest(self, row: NDArray[np.int64]) -> Floats:
        """Greatest value on the curves named: a knot, since a PCHIP turns only there; NaN for an empty curve."""
        return self.y.max(axis=1)[row]
