"""A place for every label: near what it names, over nothing else.

The frame is cut into cells of ``CELL`` px; what is drawn fills cells, and a summed-area table tells for all positions at
once whether a box would lie on any of them. Coordinates are pixels of the frame, x right and y up from its lower left
corner.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
from numpy.typing import ArrayLike, NDArray

CELL = 4
"""Size of a cell. [px]"""
STAY_PX = 12.0
"""A label keeps its last place while no other is better by more than this. [px]"""
CROSS_COST = 18.0
"""What it costs to lie on a line that may be crossed. [px]"""
_STEP = 3.0  # distance of the points into which a line is cut, below a cell so that none is jumped over [px]

Cells = NDArray[np.int32]
Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Box:
    """A rectangle. [px]"""

    left: float
    bottom: float
    right: float
    top: float

    def overlaps(self, other: Box) -> bool:
        """Whether the two share more than an edge."""
        return (
            self.left < other.right and other.left < self.right and self.bottom < other.top and other.bottom < self.top
        )

    def within(self, other: Box, slack: float = 0.0) -> bool:
        """Whether this one lies inside the other."""
        return (
            self.left >= other.left - slack
            and self.right <= other.right + slack
            and self.bottom >= other.bottom - slack
            and self.top <= other.top + slack
        )


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """A wished place: the box's point ``corner`` (0 to 1 from its left and bottom) at ``x``, ``y``; ``cost`` on top."""

    x: float
    y: float
    corner: tuple[float, float] = (0.0, 0.0)
    cost: float = 0.0


@dataclass(frozen=True, slots=True, kw_only=True)
class Request:
    """A label to place: its sizes, one for each form of its words, and where it would like to stand."""

    name: str
    sizes: tuple[tuple[float, float], ...]
    wishes: tuple[Wish, ...]
    reach: Box
    farthest: float = 1e9
    """No farther than this from a wished place. [px]"""


@dataclass(frozen=True, slots=True, kw_only=True)
class Placed:
    """Where a label stands, and in which of its forms."""

    name: str
    form: int
    box: Box
    wish: int
    """The wish that it is nearest to."""
    crosses: bool = False
    """Whether it lies on a line that may be crossed, and so needs a ground of its own."""


@dataclass(slots=True)
class Grid:
    """What of a frame is taken.

    Parameters
    ----------
    width, height : float
        Size of the frame. [px]
    """

    width: float
    height: float
    _hard: Cells = field(init=False)
    _soft: Cells = field(init=False)
    _sums: tuple[Cells, Cells | None] | None = field(init=False, default=None)

    def __post_init__(self) -> None:
        shape = (max(1, int(self.height // CELL)), max(1, int(self.width // CELL)))
        self._hard = np.zeros(shape, np.int32)
        self._soft = np.zeros(shape, np.int32)

    @property
    def frame(self) -> Box:
        """The whole of it."""
        return Box(0.0, 0.0, self.width, self.height)

    def line(self, x: ArrayLike, y: ArrayLike, *, pad: float = 2.0, crossable: bool = False) -> None:
        """Take the cells under a line (shape (n,) each, [px]) and those within ``pad`` px of it."""
        points = _resampled(np.asarray(x, float), np.asarray(y, float))
        if points.size == 0:
            return
        near = points[:, :, None] + pad * np.array([[-1.0, -1.0, 1.0, 1.0], [-1.0, 1.0, -1.0, 1.0]])[:, None, :]
        column = np.floor(near[0] / CELL).astype(np.intp)
        row = np.floor(near[1] / CELL).astype(np.intp)
        target = self._soft if crossable else self._hard
        inside = (column >= 0) & (column < target.shape[1]) & (row >= 0) & (row < target.shape[0])
        target[row[inside], column[inside]] = 1
        self._sums = None

    def take(self, box: Box, *, pad: float = 0.0) -> None:
        """Take a box, and ``pad`` px around it."""
        left, bottom, right, top = _covered(box, self._hard.shape, pad)
        self._hard[bottom:top, left:right] = 1
        self._sums = None

    def free(self, box: Box) -> bool:
        """Whether nothing that is drawn lies in the box, and the box in the frame."""
        return box.within(self.frame) and _inside(self._tables()[0], box, self._hard.shape) == 0

    def place(self, request: Request, last: Placed | None = None) -> Placed | None:
        """Find a place for a label and take it.

        Parameters
        ----------
        request : Request
            Tried form by form; the first that has room is taken.
        last : Placed, optional
            Where the label stood; kept while that is free and no other place better by more than ``STAY_PX``.

        Returns
        -------
        Placed or None
            None where no form has room within reach.
        """
        for form, size in enumerate(request.sizes):
            best = self._best(request, size)
            if best is None:
                continue
            cost, box = best
            if last is not None:
                kept = Box(last.box.left, last.box.bottom, last.box.left + size[0], last.box.bottom + size[1])
                if kept.within(request.reach, 1.0) and self.free(kept) and self._cost(request, kept) <= cost + STAY_PX:
                    box = kept
            crosses = self._crosses(box)
            self.take(box)
            return Placed(name=request.name, form=form, box=box, wish=_nearest(request, box), crosses=crosses)
        return None

    def _tables(self) -> tuple[Cells, Cells | None]:
        if self._sums is None:
            self._sums = _summed(self._hard), _summed(self._soft) if self._soft.any() else None
        return self._sums

    def _best(self, request: Request, size: tuple[float, float]) -> tuple[float, Box] | None:
        """The free place of least cost, cell by cell over the whole reach."""
        width, height = size
        across, up = -int(-width // CELL), -int(-height // CELL)
        rows, columns = self._hard.shape
        left = max(0, -int(-request.reach.left // CELL))
        bottom = max(0, -int(-request.reach.bottom // CELL))
        right = min(columns, int(request.reach.right // CELL)) - across + 1
        top = min(rows, int(request.reach.top // CELL)) - up + 1
        if right <= left or top <= bottom:
            return None
        window = slice(bottom, top + up), slice(left, right + across)
        hard, soft = self._tables()
        taken = _boxes(hard[window], up, across)
        x, y = np.arange(left, right) * float(CELL), np.arange(bottom, top) * float(CELL)
        cost = _costs(request.wishes, x, y, size)
        if soft is not None:
            cost += CROSS_COST * (_boxes(soft[window], up, across) > 0)
        cost[taken > 0] = np.inf
        at = int(cost.argmin())
        row, column = divmod(at, cost.shape[1])
        least = float(cost[row, column])
        if not least <= request.farthest:
            return None
        return least, Box(x[column], y[row], x[column] + width, y[row] + height)

    def _cost(self, request: Request, box: Box) -> float:
        size = (box.right - box.left, box.top - box.bottom)
        cost = float(_costs(request.wishes, np.array([box.left]), np.array([box.bottom]), size)[0, 0])
        return cost + (CROSS_COST if self._crosses(box) else 0.0)

    def _crosses(self, box: Box) -> bool:
        soft = self._tables()[1]
        return soft is not None and _inside(soft, box, self._hard.shape) > 0


def apart(wished: Sequence[float], least: float, low: float, high: float) -> list[float]:
    """Positions as near as may be to the wished ones, in order, ``least`` apart, within ``low`` to ``high``.

    Pairs that are too close are pushed apart evenly, again and again (least squares of the shifts: neighbours that touch
    move as one block to their mean). Where all together need more room than there is, they share what there is.
    """
    count = len(wished)
    if count > 1:
        least = min(least, (high - low) / (count - 1))
    blocks: list[tuple[float, int]] = []  # mean of wished position less offset, number in the block
    for index, value in enumerate(wished):
        start, size = value - index * least, 1
        while blocks and blocks[-1][0] > start:
            before, many = blocks.pop()
            start, size = (before * many + start * size) / (many + size), many + size
        blocks.append((start, size))
    places = [start for start, size in blocks for _ in range(size)]
    top = high - (count - 1) * least
    return [min(max(place, low), top) + index * least for index, place in enumerate(places)]


def _resampled(x: Floats, y: Floats) -> Floats:
    """Points of a line at most ``_STEP`` px apart, shape (2, m); what is not finite is left out."""
    fine = np.isfinite(x) & np.isfinite(y)
    x, y = x[fine], y[fine]
    if x.size == 0:
        return np.empty((2, 0))
    along = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))))
    at = np.linspace(0.0, along[-1], 2 + int(along[-1] / _STEP))
    return np.stack((np.interp(at, along, x), np.interp(at, along, y)))


def _summed(cells: Cells) -> Cells:
    table = np.zeros((cells.shape[0] + 1, cells.shape[1] + 1), np.int32)
    np.cumsum(np.cumsum(cells, axis=0), axis=1, out=table[1:, 1:])
    return table


def _boxes(table: Cells, up: int, across: int) -> Cells:
    """Number of taken cells in every box of that size."""
    return table[up:, across:] - table[:-up, across:] - table[up:, :-across] + table[:-up, :-across]


def _covered(box: Box, shape: tuple[int, ...], pad: float) -> tuple[int, int, int, int]:
    """First and past-the-last column and row under a box."""
    return (
        max(0, int((box.left - pad) // CELL)),
        max(0, int((box.bottom - pad) // CELL)),
        min(shape[1], -int(-(box.right + pad) // CELL)),
        min(shape[0], -int(-(box.top + pad) // CELL)),
    )


def _inside(table: Cells, box: Box, shape: tuple[int, ...]) -> int:
    left, bottom, right, top = _covered(box, shape, 0.0)
    return int(table[top, right] - table[bottom, right] - table[top, left] + table[bottom, left])


def _costs(wishes: tuple[Wish, ...], x: Floats, y: Floats, size: tuple[float, float]) -> Floats:
    """Least cost over the wishes, shape (len(y), len(x))."""
    least: Floats | None = None
    for wish in wishes:
        across = x + wish.corner[0] * size[0] - wish.x
        up = y + wish.corner[1] * size[1] - wish.y
        cost = np.hypot(across[None, :], up[:, None]) + wish.cost
        least = cost if least is None else np.minimum(least, cost)
    if least is None:
        raise ValueError("a label needs at least one wished place")
    return least


def _nearest(request: Request, box: Box) -> int:
    size = (box.right - box.left, box.top - box.bottom)
    costs = [float(_costs((w,), np.array([box.left]), np.array([box.bottom]), size)[0, 0]) for w in request.wishes]
    return costs.index(min(costs))
