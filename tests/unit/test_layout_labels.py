"""The placer: never over anything, as near as may be, and still while it can."""

import dataclasses
import itertools

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.layout.labels import AVOID_COST, CELL, CROSS_COST, STAY_PX, Box, Grid, Placed, Request, Wish, apart

FRAME = Box(0.0, 0.0, 400.0, 200.0)
boxes = st.builds(
    lambda x, y, w, h: Box(x, y, x + w, y + h),
    st.floats(0, 380),
    st.floats(0, 180),
    st.floats(2, 150),
    st.floats(2, 80),
)
spots = st.builds(
    lambda x, y, a, b, cost: Wish(x=x, y=y, corner=(a, b), cost=cost),
    st.floats(0, 400),
    st.floats(0, 200),
    st.sampled_from([0.0, 0.5, 1.0]),
    st.sampled_from([0.0, 0.5, 1.0]),
    st.floats(0, 40),
)


def request(*sizes: tuple[float, float], at: tuple[Wish, ...], farthest: float = 1e9) -> Request:
    return Request(name="label", sizes=sizes, wishes=at, reach=FRAME, farthest=farthest)


def grid(*taken: Box) -> Grid:
    made = Grid(400.0, 200.0)
    for box in taken:
        made.take(box)
    return made


def cost(wishes: tuple[Wish, ...], box: Box) -> float:
    """The rule, written a second time: distance of the box's corner from the wish, and the wish's own cost."""
    return min(
        np.hypot(
            box.left + wish.corner[0] * (box.right - box.left) - wish.x,
            box.bottom + wish.corner[1] * (box.top - box.bottom) - wish.y,
        )
        + wish.cost
        for wish in wishes
    )


@given(st.lists(boxes, max_size=6), st.lists(spots, min_size=1, max_size=3), st.floats(4, 120), st.floats(4, 60))
def test_never_over_anything_and_never_outside(taken: list[Box], at: list[Wish], width: float, height: float):
    placed = grid(*taken).place(request((width, height), at=tuple(at)))
    if placed is not None:
        assert placed.box.within(FRAME)
        assert not any(placed.box.overlaps(box) for box in taken)


@given(st.lists(boxes, max_size=5), st.lists(spots, min_size=1, max_size=3), st.floats(4, 120), st.floats(4, 60))
def test_no_free_place_on_the_cells_is_better(taken: list[Box], at: list[Wish], width: float, height: float):
    placed = grid(*taken).place(request((width, height), at=tuple(at)))
    free = [
        cost(tuple(at), box)
        for x, y in itertools.product(range(0, 400, 4 * CELL), range(0, 200, 4 * CELL))
        if (box := Box(x, y, x + width, y + height)).within(FRAME) and not any(_covers(other, box) for other in taken)
    ]
    if placed is None:
        assert not free
    elif free:
        assert cost(tuple(at), placed.box) <= min(free) + 1e-9


def _covers(taken: Box, box: Box) -> bool:
    """Whether they share a cell."""
    return (
        box.left // CELL <= (taken.right - 1e-9) // CELL
        and taken.left // CELL <= (box.right - 1e-9) // CELL
        and box.bottom // CELL <= (taken.top - 1e-9) // CELL
        and taken.bottom // CELL <= (box.top - 1e-9) // CELL
    )


def test_the_wished_place_itself_when_it_is_free():
    placed = grid().place(request((50.0, 12.0), at=(Wish(x=101.0, y=33.0, corner=(1.0, 0.5)),)))
    assert placed is not None
    assert placed.box == Box(51.0, 27.0, 101.0, 39.0)


def test_what_is_placed_is_taken():
    board = grid()
    wish = (Wish(x=100.0, y=100.0),)
    first, second = board.place(request((60.0, 20.0), at=wish)), board.place(request((60.0, 20.0), at=wish))
    assert first is not None
    assert second is not None
    assert not first.box.overlaps(second.box)


def test_shorter_words_when_the_long_ones_have_no_room():
    walls = (Box(0, 0, 100, 200), Box(160, 0, 400, 200))
    placed = grid(*walls).place(request((90.0, 12.0), (50.0, 12.0), at=(Wish(x=110.0, y=50.0),)))
    assert placed is not None
    assert placed.form == 1


def test_none_when_no_form_has_room_or_all_are_too_far():
    assert grid(FRAME).place(request((10.0, 10.0), at=(Wish(x=5.0, y=5.0),))) is None
    near = grid(Box(0, 0, 100, 200)).place(request((10.0, 10.0), at=(Wish(x=5.0, y=5.0),), farthest=60.0))
    assert near is None


def test_a_label_stays_while_its_place_is_free_and_hardly_worse():
    last = Placed(name="label", form=0, box=Box(100.0, 100.0, 150.0, 112.0), wish=0)
    near = request((50.0, 12.0), at=(Wish(x=100.0 + STAY_PX - 1.0, y=100.0),))
    far = request((50.0, 12.0), at=(Wish(x=100.0 + STAY_PX + 1.0, y=100.0),))
    assert grid().place(near, last).box == last.box  # pyright: ignore[reportOptionalMemberAccess]
    assert grid().place(far, last).box.left == 100.0 + STAY_PX + 1.0  # pyright: ignore[reportOptionalMemberAccess]
    taken = grid(Box(120.0, 104.0, 124.0, 108.0)).place(near, last)
    assert taken is not None
    assert taken.box != last.box


def test_a_label_stays_where_a_search_finds_little_better():
    board = grid(Box(112.0, 96.0, 116.0, 116.0))  # on the wished place
    last = Placed(name="label", form=0, box=Box(60.0, 100.0, 110.0, 112.0), wish=0)
    placed = board.place(request((50.0, 12.0), at=(Wish(x=70.0, y=100.0),)), last)
    assert placed is not None
    assert placed.box == last.box


def test_a_crossable_line_costs_but_does_not_bar():
    board = Grid(400.0, 200.0)
    board.line([120.0, 120.0], [0.0, 200.0], crossable=True)
    aside = board.place(request((50.0, 12.0), at=(Wish(x=117.0, y=50.0),)))
    assert aside is not None
    assert not aside.crosses
    narrow = Grid(60.0, 40.0)
    narrow.line([30.0, 30.0], [0.0, 40.0], crossable=True)
    over = narrow.place(Request(name="label", sizes=((50.0, 12.0),), wishes=(Wish(x=4.0, y=4.0),), reach=narrow.frame))
    assert over is not None
    assert over.crosses
    assert CROSS_COST > 0.0


def test_a_place_beside_something_else_costs_but_does_not_bar():
    wish = (Wish(x=100.0, y=50.0),)
    beside = Box(95.0, 40.0, 139.0, 84.0)
    away = grid().place(dataclasses.replace(request((50.0, 12.0), at=wish), avoid=(beside,)))
    assert away is not None
    assert not away.box.overlaps(beside)
    narrow = dataclasses.replace(request((50.0, 12.0), at=wish, farthest=AVOID_COST + 4.0), avoid=(FRAME,))
    there = grid().place(narrow)
    assert there is not None
    assert cost(wish, there.box) <= 4.0


@given(st.lists(st.tuples(st.floats(-50, 450), st.floats(-50, 250)), min_size=2, max_size=8))
def test_a_line_takes_every_cell_it_runs_through(points: list[tuple[float, float]]):
    x, y = (np.array(axis) for axis in zip(*points, strict=True))
    board = Grid(400.0, 200.0)
    board.line(x, y, pad=0.0)
    for index in range(len(points) - 1):
        for share in np.linspace(0.0, 1.0, 200):
            at = x[index] + share * (x[index + 1] - x[index]), y[index] + share * (y[index + 1] - y[index])
            near = Box(at[0] - 3.0, at[1] - 3.0, at[0] + 3.0, at[1] + 3.0)
            if near.within(FRAME):
                assert not board.free(near)


def test_what_is_not_finite_is_left_out_of_a_line():
    board = Grid(400.0, 200.0)
    board.line([np.nan, np.nan], [1.0, 2.0])
    board.line([], [])
    assert board.free(FRAME)


@given(st.lists(st.floats(-100, 300), min_size=1, max_size=9), st.floats(1, 30))
def test_names_pushed_apart_keep_their_order_and_their_distance(wished: list[float], least: float):
    wished = sorted(wished)
    placed = apart(wished, least, 0.0, 250.0)
    gap = min(least, 250.0 / max(len(wished) - 1, 1))
    assert all(b - a >= gap - 1e-6 for a, b in itertools.pairwise(placed))
    assert placed[0] >= -1e-6
    assert placed[-1] <= 250.0 + 1e-6


def test_names_that_are_far_enough_apart_stay():
    assert apart([10.0, 40.0, 90.0], 16.0, 0.0, 100.0) == pytest.approx([10.0, 40.0, 90.0])


def test_two_names_on_one_spot_part_evenly():
    assert apart([50.0, 50.0], 16.0, 0.0, 100.0) == pytest.approx([42.0, 58.0])


@pytest.mark.parametrize("size", [(0.0, 10.0), (500.0, 10.0)])
def test_a_label_wider_than_the_frame_has_no_room(size: tuple[float, float]):
    if size[0] > 400.0:
        assert grid().place(request(size, at=(Wish(x=0.0, y=0.0),))) is None
