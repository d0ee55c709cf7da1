"""The map between the paper of a chart and the pixels of its picture.

A place on the paper is (along, up): 0 to 1 from the least to the greatest mark of each axis, as far as the ruler goes,
so that a logarithmic axis is no different from here on.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any, Final

import numpy as np
from numpy.typing import ArrayLike, NDArray

from curvelab.errors import Fault, InputError

Floats = NDArray[np.float64]

CLICK_PX: Final = 0.75
"""Standard deviation of a click in each direction, unless the marks show a greater one. [px] Estimate."""
NEAREST_PX: Final = 4.0
"""Least distance of two marks. [px]"""
SAME: Final = 1e-6
"""Distance on the paper under which two marks are one, in spans of the axes. [-]"""
LEAST_SPREAD: Final = 0.01
"""Least height over length of a triangle of marks. [-]"""
GREATEST_MISS: Final = 0.03
"""Most that a mark may miss by, over the extent of all marks; beyond it a number is mistyped. [-]"""
MOST_LEAN: Final = 3.0
"""Most that one mark may be farther away than another, as a photo shows it; beyond it one is misplaced. [-]"""

_FREE: Final[dict[int, tuple[int, ...]]] = {2: (0, 2, 4, 5), 3: (0, 1, 2, 3, 4, 5)}
"""Entries of the 3 × 3 matrix that two marks (square-on) and three (no perspective) determine; more: all eight."""


@dataclass(frozen=True, slots=True)
class Ruler:
    """One axis, as its numbers are printed; ``low`` and ``high`` are the marks at its ends."""

    low: float
    high: float
    log: bool

    @classmethod
    def over(cls, values: Sequence[float], *, log: bool) -> Ruler:
        """The axis that marks at these numbers lie on."""
        return cls(min(values), max(values), log)

    def share(self, value: ArrayLike) -> Floats:
        """How far along the axis numbers lie: 0 at ``low``, 1 at ``high``. [-]"""
        value = np.asarray(value, dtype=np.float64)
        if self.log:
            return np.log(value / self.low) / np.log(self.high / self.low)
        return (value - self.low) / (self.high - self.low)

    def value(self, share: ArrayLike) -> Floats:
        """The numbers at a share of the axis, which may lie beyond its ends."""
        share = np.asarray(share, dtype=np.float64)
        if self.log:
            return self.low * np.exp(share * np.log(self.high / self.low))
        return self.low + share * (self.high - self.low)

    def steepness(self, share: ArrayLike) -> Floats:
        """Change of the number, in spans of the axis, over change of the share: 1 on a linear axis. [-]"""
        if self.log:
            return self.value(share) * np.log(self.high / self.low) / (self.high - self.low)
        return np.ones_like(np.asarray(share, dtype=np.float64))


@dataclass(frozen=True, slots=True, eq=False)
class PaperMap:
    """A projective map from paper to picture, fitted to marks; make one with ``fit_map``."""

    matrix: Floats
    """Homogeneous, shape (3, 3), the last entry 1."""
    spread: Floats
    """Covariance of the matrix's first eight entries for marks that miss as they do, shape (8, 8)."""
    residual_px: Floats
    """How far each mark lies from where the map puts it, shape (marks,). [px]"""
    paper: Floats
    """Places of the marks on the paper, shape (marks, 2)."""

    @property
    def rms_px(self) -> float:
        """Root mean square of ``residual_px``. [px]"""
        return float(np.sqrt(np.mean(self.residual_px**2)))

    def to_pixel(self, paper: ArrayLike) -> Floats:
        """Pixels of places on the paper, both shape (n, 2)."""
        return through(self.matrix, paper)

    def to_paper(self, pixel: ArrayLike) -> Floats:
        """Places on the paper of pixels, both shape (n, 2)."""
        return through(np.linalg.inv(self.matrix), pixel)

    def doubt(self, paper: ArrayLike) -> Floats:
        """Covariance of the place read at a pixel that truly shows ``paper`` (shape (n, 2)), shape (n, 2, 2)."""
        paper = np.atleast_2d(np.asarray(paper, dtype=np.float64))
        rows = _sensitivity(self.matrix, paper)
        back = np.linalg.inv(_slopes(self.matrix, paper)) @ rows
        return back @ self.spread @ np.swapaxes(back, 1, 2)


def through(matrix: NDArray[np.floating[Any]], points: ArrayLike) -> Floats:
    """Points, shape (n, 2), carried by a homogeneous matrix."""
    points = np.atleast_2d(np.asarray(points, dtype=np.float64))
    out = points @ matrix[:, :2].T + matrix[:, 2]
    return out[:, :2] / out[:, 2:]


def fit_map(paper: ArrayLike, pixel: ArrayLike, sure_px: ArrayLike = CLICK_PX) -> PaperMap:
    r"""The map that puts marks nearest to where they were clicked, by least squares of the distance in the picture.

    Two marks give a square-on map (no turn, each axis its own scale), three one without perspective, four or more a
    projective one. That starts from the direct linear solution on normalised points [1]_ (algorithm 4.2) and goes on
    by Gauss and Newton on the distances.

    Parameters
    ----------
    paper : array, shape (n, 2)
        Places of the marks on the paper, n at least 2.
    pixel : array, shape (n, 2)
        Where they were clicked. [px]
    sure_px : float or array, shape (n, 2)
        Standard deviation of that, where the marks do not show a greater one. [px]

    Raises
    ------
    InputError
        If marks coincide, lie on a line, contradict each other, or don't lie as a chart's can.

    References
    ----------
    .. [1] R. Hartley and A. Zisserman, Multiple View Geometry in Computer Vision, 2nd ed., Cambridge University Press,
       2004. Algorithm number from memory.
    """
    paper, pixel = np.asarray(paper, dtype=np.float64), np.asarray(pixel, dtype=np.float64)
    _check_apart(paper, pixel)
    count = len(pixel)
    free = list(_FREE.get(count, range(8)))
    _check_spread(paper, pixel)
    matrix = _direct(paper, pixel) if count >= 4 else _plain(paper, pixel, free)
    matrix = _refine(matrix, paper, pixel, free) if count > 4 else matrix
    _check_upright(matrix, paper)
    miss = pixel - through(matrix, paper)
    residual = np.hypot(miss[:, 0], miss[:, 1])
    _check_consistent(residual, pixel)
    over = 2 * count - len(free)
    shown = float(np.sqrt((miss**2).sum() / over)) if over else 0.0
    sure = np.maximum(np.broadcast_to(sure_px, (count, 2)), shown).ravel()
    back = np.linalg.pinv(_sensitivity(matrix, paper)[..., free].reshape(2 * count, len(free)))
    spread = np.zeros((8, 8))
    spread[np.ix_(free, free)] = (back * sure**2) @ back.T
    return PaperMap(matrix, spread, residual, paper)


# --- fitting


def _sensitivity(matrix: Floats, paper: Floats) -> Floats:
    """Derivatives of pixels with respect to the matrix's first eight entries, shape (n, 2, 8)."""
    along, up = paper.T
    x, y, w = matrix @ np.stack([along, up, np.ones_like(up)])
    one, nil = np.ones_like(up), np.zeros_like(up)
    of_x = np.stack([along, up, one, nil, nil, nil, -x / w * along, -x / w * up], axis=-1)
    of_y = np.stack([nil, nil, nil, along, up, one, -y / w * along, -y / w * up], axis=-1)
    return np.stack([of_x, of_y], axis=1) / w[:, None, None]


def _slopes(matrix: Floats, paper: Floats) -> Floats:
    """Derivatives of pixels with respect to the place on the paper, shape (n, 2, 2)."""
    x, y, w = matrix @ np.concatenate([paper.T, np.ones((1, len(paper)))])
    pixel = np.stack([x / w, y / w], axis=-1)
    return (matrix[:2, :2] - pixel[:, :, None] * matrix[2, :2]) / w[:, None, None]


def _plain(paper: Floats, pixel: Floats, free: list[int]) -> Floats:
    """A map without perspective; its pixels are linear in its entries."""
    rows = _sensitivity(np.eye(3), paper)[..., free].reshape(-1, len(free))
    matrix = np.zeros(9)
    matrix[free] = np.linalg.lstsq(rows, pixel.ravel(), rcond=None)[0]
    matrix[8] = 1.0
    return matrix.reshape(3, 3)


def _direct(paper: Floats, pixel: Floats) -> Floats:
    """The projective map of least algebraic error, on points moved and scaled to lie about the origin."""
    source, target = _normaliser(paper), _normaliser(pixel)
    (a, b), (u, v) = through(source, paper).T, through(target, pixel).T
    one, nil = np.ones_like(a), np.zeros_like(a)
    of_x = np.stack([a, b, one, nil, nil, nil, -u * a, -u * b, -u], axis=-1)
    of_y = np.stack([nil, nil, nil, a, b, one, -v * a, -v * b, -v], axis=-1)
    _, size, vectors = np.linalg.svd(np.concatenate([of_x, of_y]), full_matrices=True)
    if size[7] < 1e-4 * size[0]:
        raise _fault("lie too nearly on one line", "take the corners of the grid, and points between")
    matrix = np.linalg.inv(target) @ vectors[-1].reshape(3, 3) @ source
    if abs(matrix[2, 2]) < 1e-9 * np.abs(matrix[:2]).max():
        raise _fault("don't fit a flat sheet", "check each mark's numbers against the picture")
    return matrix / matrix[2, 2]


def _normaliser(points: Floats) -> Floats:
    centre = points.mean(axis=0)
    scale = np.sqrt(2.0) / float(np.mean(np.linalg.norm(points - centre, axis=1)))
    return np.array([[scale, 0, -scale * centre[0]], [0, scale, -scale * centre[1]], [0, 0, 1.0]])


def _refine(matrix: Floats, paper: Floats, pixel: Floats, free: list[int]) -> Floats:
    """Gauss-Newton steps, halved where a whole one does harm."""
    best = float(((pixel - through(matrix, paper)) ** 2).sum())
    for _ in range(20):
        rows: Floats = _sensitivity(matrix, paper)[..., free].reshape(-1, len(free))
        scale: Floats = np.sqrt((rows**2).sum(axis=0))
        miss = (pixel - through(matrix, paper)).ravel()
        step: Floats = np.asarray(np.linalg.lstsq(rows / scale, miss, rcond=None)[0], dtype=np.float64) / scale
        gain = 0.0
        for share in (1.0, 0.5, 0.25, 0.125):
            trial = matrix.ravel().copy()
            trial[free] += share * step
            error = float(((pixel - through(trial.reshape(3, 3), paper)) ** 2).sum())
            if error < best:
                gain, best, matrix = best - error, error, trial.reshape(3, 3)
                break
        if gain <= 1e-9 * best:
            break
    return matrix


# --- what marks can't be


def _check_apart(paper: Floats, pixel: Floats) -> None:
    for name, place in (("flow", 0), ("value", 1)):
        if not np.ptp(paper[:, place]) > 0.0:
            raise _fault(f"all have the same {name}", "mark both ends of each axis")
    for points, least, got, right in (
        (pixel, NEAREST_PX, "lies on the same pixel as", "each mark has its own place in the picture"),
        (paper, SAME, "has the same numbers as", "each mark has its own place on the axes"),
    ):
        far = np.linalg.norm(points[:, None] - points, axis=2) + np.diag(np.full(len(points), np.inf))
        first, second = sorted(np.unravel_index(int(np.argmin(far)), far.shape))
        if far[first, second] < least:
            raise InputError(Fault("", f"mark.{second}", f"{got} mark.{first}", right))


def _check_spread(paper: Floats, pixel: Floats) -> None:
    if len(pixel) == 2:
        if np.abs(pixel[1] - pixel[0]).min() < NEAREST_PX:
            raise _fault("lie on one line along an axis", "of a square-on picture mark two opposite corners")
        return
    for points in (paper, pixel):
        centred = points - points.mean(axis=0)
        size = np.linalg.svd(centred, compute_uv=False)
        if size[1] < LEAST_SPREAD * size[0]:
            raise _fault("lie on one line", "take the corners of the grid")


def _check_upright(matrix: Floats, paper: Floats) -> None:
    depth = paper @ matrix[2, :2] + 1.0
    turn = np.linalg.det(_slopes(matrix, paper))
    if not ((depth > 0.0).all() and ((turn > 0.0).all() or (turn < 0.0).all()) and np.abs(turn).min() > 1.0):
        raise _fault("don't fit a flat sheet", "check each mark's numbers; two may be swapped, or three on a line")
    if depth.max() > MOST_LEAN * depth.min():
        raise _fault("lean more than a sheet in a photo does", "check each mark's place and numbers")


def _check_consistent(residual: Floats, pixel: Floats) -> None:
    extent = float(np.hypot(*np.ptp(pixel, axis=0)))
    worst = int(np.argmax(residual))
    if residual[worst] > max(GREATEST_MISS * extent, 3.0 * CLICK_PX):
        got = f"lies {residual[worst]:.0f} px from where the other marks put it"
        raise InputError(Fault("", f"mark.{worst}", got, "check its pixel and its numbers"))


def _fault(got: str, right: str) -> InputError:
    return InputError(Fault("", "mark", got, right))
