"""Numbers left of an upright axis: none lies under a ring that stands on it."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.layout.axes import Axis
from curvelab.layout.gutter import TICK_PX
from curvelab.layout.sizes import BENCH, Width
from curvelab.layout.text import width_px
from curvelab.layout.upright_numbers import POINT_PX, Number, rings_at_rest, upright_numbers
from tests.unit.picture_cases import NAMES, case, scene_of

HEAD = Axis(0.0, 140.0, 20.0)
CAP_PX = 0.72 * TICK_PX  # of a digit's height


def covered(number: Number, at: float, reach: float, up: float) -> bool:
    """Whether a ring's disc meets the box of a number."""
    dy = max(0.0, abs(number.at - at) * up - 0.5 * CAP_PX)
    return dy**2 + number.dx**2 < reach**2


@given(st.floats(0.0, 140.0), st.sampled_from(list(Width)))
def test_a_ring_lies_on_no_number(head: float, width: Width):
    size = BENCH[width]
    shown = upright_numbers(HEAD, "ft", height_px=size.chart, room_px=size.axis, rings=[(head, POINT_PX)])
    assert not any(covered(number, head, POINT_PX, size.chart / 140.0) for number in shown)
    assert all(number.dx + width_px(number.text, TICK_PX) <= size.axis for number in shown)
    assert len(shown) >= len(HEAD.ticks) - 1


def test_a_number_stays_while_there_is_room_beside_the_ring():
    plain = upright_numbers(HEAD, "ft", height_px=268.0, room_px=52.0, rings=())
    ringed = upright_numbers(HEAD, "ft", height_px=268.0, room_px=52.0, rings=[(98.0, POINT_PX)])
    assert [number.text for number in ringed] == [number.text for number in plain]
    assert [one.text for one, other in zip(ringed, plain, strict=True) if one.dx > other.dx] == ["100"]


def test_without_room_it_gives_way():
    shown = upright_numbers(HEAD, "ft", height_px=268.0, room_px=40.0, rings=[(98.0, POINT_PX)])
    assert "100" not in [number.text for number in shown]


@pytest.mark.parametrize("name", NAMES)
def test_no_ring_of_a_demo_setup_lies_on_a_number(name: str):
    for width, size in BENCH.items():
        seen = scene_of(case(name), width=width)
        axis, plot_px = seen.axes.head, float(size.plot)
        rings = rings_at_rest(seen.point, float(seen.lines.live_head[0]), seen.axes.flow.end, plot_px)
        up = size.chart / (axis.end - axis.low)
        shown = upright_numbers(axis, "ft", height_px=size.chart, room_px=size.axis, rings=rings)
        assert not any(covered(number, at, reach, up) for number in shown for at, reach in rings)
        if seen.point is not None and seen.point[0] == 0.0:
            assert (seen.point[1], POINT_PX) in rings
