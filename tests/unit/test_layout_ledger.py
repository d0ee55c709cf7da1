"""Columns add up: parts on one another, parts that help, names pushed apart, figures in or beside their part."""

import itertools

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.layout.ledger import FIGURE_PX, NAME_PX, Slab, columns, cut, hang, name_heights, stack
from curvelab.layout.sizes import BENCH, Width
from curvelab.layout.stacking import FIGURE_TYPE_PX, HELP_PX, column_names
from curvelab.layout.text import SLACK, width_px
from curvelab.layout.words import PartWords, StackWords

PARTS = [("lift", 12.0), ("rise", 38.0), ("suction", 4.2), ("discharge", 27.3), ("leaving", 1.1)]
heights = st.lists(st.floats(-60, 120), min_size=1, max_size=7).map(
    lambda values: [(f"part {index}", value) for index, value in enumerate(values)]
)


def test_the_mill_pond_s_ledger():
    slabs = stack(PARTS)
    assert [slab.item for slab in slabs] == [item for item, _ in PARTS]
    assert slabs[0] == Slab("lift", 0.0, 12.0)
    assert slabs[-1].top == pytest.approx(82.6)


@given(heights)
def test_a_stack_adds_up(parts: list[tuple[str, float]]):
    slabs = stack(parts)
    total = sum(height for _, height in parts)
    carried = [slab for slab in slabs if not slab.helps]
    foot = min((slab.bottom for slab in slabs if slab.helps), default=0.0)
    assert foot == pytest.approx(sum(min(0.0, height) for _, height in parts))
    if carried:
        assert carried[0].bottom == pytest.approx(foot)
        assert carried[-1].top == pytest.approx(total, abs=1e-6)
    assert all(b.bottom == pytest.approx(a.top) for a, b in itertools.pairwise(carried))
    sizes = dict(parts)
    assert all(slab.top - slab.bottom == pytest.approx(abs(sizes[slab.item])) for slab in slabs)


@given(heights, st.floats(1, 60))
def test_a_budget_hangs_from_the_air(parts: list[tuple[str, float]], air: float):
    slabs = hang(parts, air)
    helps = sum(-min(0.0, height) for _, height in parts)
    carried = [slab for slab in slabs if not slab.helps]
    if carried:
        assert carried[0].top == pytest.approx(air + helps)
        assert carried[-1].bottom == pytest.approx(air - sum(height for _, height in parts), abs=1e-6)
    assert all(b.top == pytest.approx(a.bottom) for a, b in itertools.pairwise(carried))


def test_what_the_pump_cannot_reach_is_cut_off_and_named():
    slabs = cut(stack([("lift", 12.0), ("rise", 112.0)]), 98.0, "short")
    assert [(slab.item, slab.bottom, slab.top) for slab in slabs] == [
        ("lift", 0.0, 12.0),
        ("rise", 12.0, 98.0),
        ("short", 98.0, 124.0),
    ]


def test_a_pump_that_does_not_even_lift():
    slabs = cut(stack([("lift", 20.0), ("rise", 30.0)]), 15.0, "short")
    assert [(slab.item, slab.top) for slab in slabs] == [("lift", 15.0), ("short", 50.0)]


@pytest.mark.parametrize(
    ("width", "live"), [(Width.WIDE, (40, 106)), (Width.MEDIUM, (24, 76)), (Width.NARROW, (14, 56))]
)
def test_the_live_column_stands_first_when_nothing_is_chalked(width: Width, live: tuple[int, int]):
    column = columns(BENCH[width], 0)[-1]
    assert (column.left, column.right) == live


@pytest.mark.parametrize("width", Width)
@pytest.mark.parametrize("chalked", [1, 2, 3])
def test_chalked_columns_stand_before_it_and_all_have_room(width: Width, chalked: int):
    size, wide = BENCH[width], BENCH[width].columns[chalked]
    *ghosts, live = columns(size, chalked)
    assert len(ghosts) == chalked
    assert {round(place.right - place.left) for place in ghosts} == {wide.chalk}
    assert live.right - live.left == wide.live
    assert live.left - ghosts[-1].right == wide.between
    assert all(b.left - a.right == wide.apart for a, b in itertools.pairwise(ghosts))
    assert ghosts[0].left == size.gap
    assert live.right <= size.ledger


@given(st.lists(st.floats(0, 268), min_size=1, max_size=8), st.data())
def test_names_stand_a_line_apart_in_the_order_of_their_parts(middles: list[float], data: st.DataObject):
    middles = sorted(middles, reverse=True)
    lines = [data.draw(st.integers(1, 2)) for _ in middles]
    firsts = name_heights(middles, lines, 8.0, 260.0)
    for (above, count), below in zip(zip(firsts, lines, strict=True), firsts[1:], strict=False):
        assert above - below >= count * NAME_PX - 1e-6
    assert firsts[0] <= 260.0 + 1e-6
    assert firsts[-1] - NAME_PX * (lines[-1] - 1) >= 8.0 - 1e-6


def words(*items: str) -> StackWords:
    parts = tuple(PartWords(item=item, figure="1.1", name=(f"the {item}", item)) for item in items)
    return StackWords(title=("t",), label="l", total="82.6 ft", parts=parts)


def test_a_thin_part_carries_its_figure_beside_its_name():
    size = BENCH[Width.WIDE]
    slabs = stack(PARTS)
    named = column_names(
        slabs,
        words(*(item for item, _ in PARTS)),
        column=columns(size, 0)[-1],
        size=size,
        to_px=lambda value: value * 268.0 / 110.0,
        height=268.0,
    )
    inside = {text.item for text in named.texts if text.kind == "inside"}
    beside = {text.item for text in named.texts if text.kind == "beside"}
    tall = {item for item, height in PARTS if height * 268.0 / 110.0 >= FIGURE_PX}
    assert inside == tall
    assert beside == {item for item, _ in PARTS} - tall
    assert len(named.elbows) == len(PARTS)
    assert all(xs[0] < xs[-1] <= size.ledger for xs, _ in named.elbows)


@pytest.mark.parametrize("width", Width)
@pytest.mark.parametrize("chalked", range(4))
def test_a_figure_beside_a_bar_that_helps_is_whole_or_stands_elsewhere(width: Width, chalked: int):
    size, column = BENCH[width], columns(BENCH[width], chalked)[-1]
    parts = tuple(PartWords(item=item, figure="97.3", name=(item,)) for item in ("lift", "rise", "discharge"))
    named = column_names(
        stack([("lift", 6.0), ("rise", -95.0), ("discharge", 97.3)]),
        StackWords(title=("t",), label="l", total="76 ft", parts=parts),
        column=column,
        size=size,
        to_px=lambda value: 120.0 + value,
        height=268.0,
    )
    inside = [text for text in named.texts if text.kind == "inside"]
    for text in inside:
        half = 0.5 * width_px(text.text, FIGURE_TYPE_PX, bold=True) / SLACK
        assert column.left <= text.x - half
        assert text.x + half <= column.right - HELP_PX
    if size.names:
        assert {text.item for text in named.texts if text.kind in ("inside", "beside")} == {part.item for part in parts}


def test_a_part_without_words_is_not_named():
    size = BENCH[Width.WIDE]
    named = column_names(
        stack(PARTS), words("lift"), column=columns(size, 0)[-1], size=size, to_px=lambda value: value, height=268.0
    )
    assert {text.item for text in named.texts if text.kind == "name"} == {"lift"}


def test_on_a_narrow_page_no_names_stand_beside_the_column():
    size = BENCH[Width.NARROW]
    named = column_names(
        stack(PARTS),
        words(*(item for item, _ in PARTS)),
        column=columns(size, 0)[-1],
        size=size,
        to_px=lambda value: 2.0 * value,
        height=270.0,
    )
    assert not named.elbows
    assert {text.kind for text in named.texts} == {"inside", "total"}
    assert all(text.x >= 0.0 for text in named.texts)
