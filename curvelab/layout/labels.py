"""A place for every label: near what it names, over nothing else.

The frame is cut into cells of ``CELL`` px; what is drawn fills cells, and a summed-area table tells for all positions
at once whether a box would lie on any of them. Coordinates are pixels of the frame, x right and y up from its lower
left corner.
"""

from __future__ import annotations

import math
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
AVOID_COST = 30.0
"""What it costs to stand where a label would be taken for that of something else. [px]"""
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
    avoid: tuple[Box, ...] = ()
    """Places beside something else, and beside other labels: to stand there costs ``AVOID_COST``."""


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
    _whole: Cells = field(init=False)
    """Both, with a margin of a cell about each, which no label can reach."""
    _hard: Cells = field(init=False)
    _soft: Cells = field(init=False)

    def __post_init__(self) -> None:
        rows, columns = max(1, int(self.height // CELL)), max(1, int(self.width // CELL))
        self._whole = np.zeros((2, rows + 2, columns + 2), np.int32)
        self._hard, self._soft = self._whole[:, 1:-1, 1:-1]

    @property
    def frame(self) -> Box:
        """The whole of it."""
        return Box(0.0, 0.0, self.width, self.height)

    def line(self, x: ArrayLike, y: ArrayLike, *, pad: float = 2.0, crossable: bool = False) -> None:
        """Take the cells under a line (shape (n,) each, [px]) and those within ``pad`` px of it."""
        points = _resampled(np.asarray(x, float), np.asarray(y, float))
        whole = self._whole[int(crossable)]
        ends = np.array([[whole.shape[1] - 1], [whole.shape[0] - 1]])
        # what lies outside falls into the margin
        (left, bottom), (right, top) = (
            np.minimum(np.maximum((points + by) // CELL + 1.0, 0.0), ends).astype(np.intp) for by in (-pad, pad)
        )
        for across in (left, right):
            for up in (bottom, top):
                whole[up, across] = 1

    def take(self, box: Box, *, pad: float = 0.0) -> None:
        """Take a box, and ``pad`` px around it."""
        left, bottom, right, top = _covered(box, self._hard.shape, pad)
        self._hard[bottom:top, left:right] = 1

    def free(self, box: Box) -> bool:
        """Whether nothing that is drawn lies in the box, and the box in the frame."""
        left, bottom, right, top = _covered(box, self._hard.shape, 0.0)
        return box.within(self.frame) and not self._hard[bottom:top, left:right].any()

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
            box = self._kept(request, size, last) or self._wished(request, size) or self._best(request, size, last)
            if box is None:
                continue
            crosses = self._crosses(box)
            self.take(box)
            return Placed(name=request.name, form=form, box=box, wish=_nearest(request, box), crosses=crosses)
        return None

    def _kept(self, request: Request, size: tuple[float, float], last: Placed | None) -> Box | None:
        """The last place, where it is so near to the best wish that no other can be much better."""
        if last is None:
            return None
        box = _moved(last.box, size)
        least = min(wish.cost for wish in request.wishes)
        good = self._cost(request, box) <= min(least + STAY_PX, request.farthest)
        return box if good and box.within(request.reach, 1.0) and self.free(box) else None

    def _wished(self, request: Request, size: tuple[float, float]) -> Box | None:
        """The very place of the dearest wish, where it is free: nothing can be better."""
        wish = min(request.wishes, key=lambda each: each.cost)
        left, bottom = wish.x - wish.corner[0] * size[0], wish.y - wish.corner[1] * size[1]
        box = Box(left, bottom, left + size[0], bottom + size[1])
        clear = not self._crosses(box) and not any(box.overlaps(other) for other in request.avoid)
        return box if clear and box.within(request.reach) and self.free(box) else None

    def _best(self, request: Request, size: tuple[float, float], last: Placed | None) -> Box | None:
        """The free place of least cost, cell by cell over the whole reach; the last one where it is hardly worse."""
        width, height = size
        across, up = -int(-width // CELL), -int(-height // CELL)
        window = self._window(request, size)
        left, bottom = window[0], window[1]
        right, top = window[2] - across + 1, window[3] - up + 1
        if right <= left or top <= bottom:
            return None
        cells = slice(bottom, top + up - 1), slice(left, right + across - 1)
        taken = _boxes(self._hard[cells], up, across)
        x = CELL * np.arange(left, right, dtype=np.float64)
        y = CELL * np.arange(bottom, top, dtype=np.float64)
        cost = _costs(request.wishes, x, y, size)
        if self._soft.any():
            cost += CROSS_COST * (_boxes(self._soft[cells], up, across) > 0)
        for other in request.avoid:
            beside = (x < other.right) & (x + width > other.left)
            cost += AVOID_COST * (beside & ((y < other.top) & (y + height > other.bottom))[:, None])
        cost[taken > 0] = np.inf
        row, column = divmod(int(cost.argmin()), cost.shape[1])
        least = float(cost[row, column])
        if not least <= request.farthest:
            return None
        if last is not None:
            kept = _moved(last.box, size)
            if self._cost(request, kept) <= least + STAY_PX and kept.within(request.reach, 1.0) and self.free(kept):
                return kept
        return Box(float(x[column]), float(y[row]), float(x[column]) + width, float(y[row]) + height)

    def _window(self, request: Request, size: tuple[float, float]) -> tuple[int, int, int, int]:
        """First and past-the-last column and row of what is within reach and not too far from every wish."""
        reach, far = request.reach, request.farthest
        lefts = [wish.x - wish.corner[0] * size[0] for wish in request.wishes]
        bottoms = [wish.y - wish.corner[1] * size[1] for wish in request.wishes]
        return (
            max(0, -int(-max(reach.left, min(lefts) - far) // CELL)),
            max(0, -int(-max(reach.bottom, min(bottoms) - far) // CELL)),
            min(self._hard.shape[1], int(min(reach.right, max(lefts) + size[0] + far) // CELL)),
            min(self._hard.shape[0], int(min(reach.top, max(bottoms) + size[1] + far) // CELL)),
        )

    def _cost(self, request: Request, box: Box) -> float:
        cost = min(_single_cost(wish, box) for wish in request.wishes)
        cost += AVOID_COST * sum(box.overlaps(other) for other in request.avoid)
        return cost + (CROSS_COST if self._crosses(box) else 0.0)

    def _crosses(self, box: Box) -> bool:
        left, bottom, right, top = _covered(box, self._soft.shape, 0.0)
        return bool(self._soft[bottom:top, left:right].any())


def apart(wished: Sequence[float], least: float, low: float, high: float) -> list[float]:
    """Positions as near as may be to the wished ones, in order, ``least`` apart, within ``low`` to ``high``.

    Neighbours that are too close are pushed apart as one block, evenly about their mean (least squares of the shifts).
    Where all together need more room than there is, they share what there is.
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


def _moved(box: Box, size: tuple[float, float]) -> Box:
    """A box of another size at the same lower left corner."""
    return Box(box.left, box.bottom, box.left + size[0], box.bottom + size[1])


def _resampled(x: Floats, y: Floats) -> Floats:
    """Points of a line at most ``_STEP`` px apart, shape (2, m); what is not finite is left out."""
    fine = np.isfinite(x) & np.isfinite(y)
    if not fine.all():
        x, y = x[fine], y[fine]
    if x.size < 2:
        return np.stack((x, y))
    along = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))))
    at: Floats = np.linspace(0.0, float(along[-1]), 2 + int(along[-1] / _STEP))
    return np.stack((np.interp(at, along, x), np.interp(at, along, y)))


def _boxes(cells: Cells, up: int, across: int) -> Cells:
    """Number of taken cells in every box of that size: differences of the summed-area table."""
    table = np.zeros((cells.shape[0] + 1, cells.shape[1] + 1), np.int32)
    np.cumsum(np.cumsum(cells, axis=0), axis=1, out=table[1:, 1:])
    return table[up:, across:] - table[:-up, across:] - table[up:, :-across] + table[:-up, :-across]


def _covered(box: Box, shape: tuple[int, ...], pad: float) -> tuple[int, int, int, int]:
    """First and past-the-last column and row under a box."""
    return (
        max(0, int((box.left - pad) // CELL)),
        max(0, int((box.bottom - pad) // CELL)),
        min(shape[1], -int(-(box.right + pad) // CELL)),
        min(shape[0], -int(-(box.top + pad) // CELL)),
    )


def _costs(wishes: tuple[Wish, ...], x: Floats, y: Floats, size: tuple[float, float]) -> Floats:
    """Least cost over the wishes, shape (len(y), len(x))."""
    least = np.full((y.size, x.size), np.inf)
    for wish in wishes:
        across = (x + (wish.corner[0] * size[0] - wish.x)) ** 2
        up = (y + (wish.corner[1] * size[1] - wish.y)) ** 2
        np.minimum(least, np.sqrt(across + up[:, None]) + wish.cost, out=least)
    return least


def _single_cost(wish: Wish, box: Box) -> float:
    across = box.left + wish.corner[0] * (box.right - box.left) - wish.x
    up = box.bottom + wish.corner[1] * (box.top - box.bottom) - wish.y
    return math.hypot(across, up) + wish.cost


def _nearest(request: Request, box: Box) -> int:
    costs = [_single_cost(wish, box) for wish in request.wishes]
    return costs.index(min(costs))
