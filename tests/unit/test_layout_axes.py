"""Axes: they hold what they must, snap to their steps, grow at once and shrink only when let go."""

import dataclasses

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.layout.axes import HEAD_ENDS, Axes, Axis, Wanted, axes, flow_unit, nice_step, tick_texts
from curvelab.layout.gutter import PILL_CLEAR, flow_ticks
from curvelab.layout.sizes import BENCH, Width, width_of
from curvelab.units import System

MILL_POND = Wanted(head=98.0, lowest=0.0, flow=417.0, limit=230.0, crossing=186.0, suction=31.4)


def made(
    wanted: Wanted = MILL_POND,
    system: System = System.US,
    width: Width = Width.WIDE,
    held: Axes | None = None,
    **changes: float | None,
) -> Axes:
    size = BENCH[width]
    return axes(
        dataclasses.replace(wanted, **changes),
        system=system,
        width=width,
        plot_px=(size.plot, size.chart),
        flow_tick_px=size.flow_tick,
        held=held,
    )


def test_the_mill_pond_as_drawn():
    shown = made()
    assert shown.head == Axis(0.0, 110.0, 20.0)
    assert shown.head.ticks == (0, 20, 40, 60, 80, 100)
    assert shown.flow.step == 50
    assert shown.suction == Axis(0.0, 34, 10)


def test_the_metric_one_as_drawn():
    shown = made(system=System.METRIC, head=29.9, flow=1580.0, limit=871.0, crossing=705.0, suction=9.56)
    assert (shown.head.end, shown.head.step) == (35.0, 5.0)
    assert shown.flow.step == 200.0
    assert (shown.suction.end, shown.suction.step) == (10.5, 3)


@given(st.floats(1, 5000))
def test_the_head_axis_holds_a_tenth_more_and_snaps(head: float):
    end = made(head=head).head.end
    assert end >= 1.1 * head * (1 - 1e-6)
    scaled = {round(e * 10**power, 6) for e in HEAD_ENDS[False] for power in range(3)}
    assert round(end, 6) in scaled


@given(st.floats(1, 290), st.floats(1, 290))
def test_a_greater_head_never_has_a_shorter_axis(one: float, other: float):
    low, high = sorted((one, other))
    assert made(head=low).head.end <= made(head=high).head.end


@given(st.floats(1, 290))
def test_the_smallest_end_that_holds_it(head: float):
    end = made(head=head).head.end
    smaller = [e for e in HEAD_ENDS[False] if e < end]
    assert all(e < 1.1 * head for e in smaller)


@given(st.lists(st.floats(5, 300), min_size=2, max_size=12))
def test_while_dragged_an_axis_only_grows(heads: list[float]):
    held = made(head=heads[0])
    for head in heads:
        shown = made(head=head, held=held)
        assert shown.head.end >= held.head.end
        assert shown.head.end >= 1.1 * head * (1 - 1e-6)
        held = shown
    assert made(head=heads[-1]).head.end <= held.head.end


def test_let_go_it_shrinks():
    held = made(head=200.0)
    assert made(held=held).head.end == held.head.end
    assert made().head.end == 110.0


@given(st.floats(0.01, 400))
def test_an_axis_that_starts_below_zero_snaps_too(depth: float):
    shown = made(lowest=-depth).head
    assert shown.low <= -depth
    assert shown.low % nice_step((shown.end) * 34.0 / 268.0) == pytest.approx(0.0, abs=1e-6)
    assert 0.0 in shown.ticks


@given(st.floats(10, 2000))
def test_the_flow_axis_ends_at_the_next_ten(flow: float):
    end = made(flow=flow).flow.end
    assert end % 10 == pytest.approx(0.0)
    assert flow <= end <= 1.02 * flow + 10.0


@pytest.mark.parametrize(("width", "factor"), [(Width.MEDIUM, 1.45), (Width.NARROW, 1.3)])
@given(limit=st.floats(20, 300), share=st.floats(0.3, 1.2))
def test_narrower_pages_stop_past_the_limit(width: Width, factor: float, limit: float, share: float):
    crossing = share * limit
    shown = made(width=width, limit=limit, crossing=crossing).flow
    whole = made(width=Width.WIDE, limit=limit).flow.end
    assert shown.end <= whole
    assert shown.end >= min(whole, factor * limit) - 1e-9
    assert shown.end >= min(whole, 1.3 * crossing) - 1e-9


def test_without_a_limit_they_show_the_whole_curve():
    assert made(width=Width.NARROW, limit=None).flow.end == made().flow.end


@given(st.floats(5, 200))
def test_the_suction_axis_holds_a_flooded_pump(suction: float):
    shown = made(suction=suction).suction
    assert shown.end >= suction * (1 - 1e-6)
    assert shown.low == 0.0


@given(st.floats(1e-3, 1e5))
def test_steps_are_one_two_or_five(least: float):
    step = nice_step(least)
    assert least * (1 - 1e-9) <= step <= 5.0 * least * (1 + 1e-9)
    assert f"{step:.0e}"[0] in "125"


def test_the_unit_stands_on_the_last_number():
    assert tick_texts((-20.0, 0.0, 1000.0), "ft") == ("−20", "0", "1,000 ft")
    assert tick_texts((0.0, 2.5), "") == ("0", "2.5")


def test_the_kind_of_gallon_is_said():
    assert flow_unit("gal/min", System.US) == "US gal/min"
    assert flow_unit("gal/min", System.IMPERIAL) == "imperial gal/min"
    assert flow_unit("L/min", System.METRIC) == "L/min"


def test_a_pill_and_the_limit_displace_numbers():
    axis = Axis(0.0, 430.0, 50.0)
    plain = flow_ticks(axis, unit="US gal/min", plot_px=632.0, room_px=34.0, pills=(), limit=None)
    assert plain.texts == ("0", "50", "100", "150", "200", "250", "300", "350", "400")
    pilled = flow_ticks(axis, unit="US gal/min", plot_px=632.0, room_px=34.0, pills=(186.0,), limit=251.0)
    assert "200" not in pilled.texts
    assert "250" not in pilled.texts
    assert all(abs(tick - 186.0) * 632.0 / 430.0 >= PILL_CLEAR for tick in pilled.at)


def test_a_pill_at_the_end_sends_the_unit_below():
    axis = Axis(0.0, 430.0, 50.0)
    shown = flow_ticks(axis, unit="US gal/min", plot_px=632.0, room_px=34.0, pills=(418.0,), limit=None)
    assert shown.unit_dx is None
    assert "400" not in shown.texts


def test_a_unit_that_would_be_cut_off_goes_below():
    shown = flow_ticks(Axis(0.0, 402.0, 50.0), unit="US gal/min", plot_px=632.0, room_px=34.0, pills=(), limit=None)
    assert shown.unit_dx is None


@pytest.mark.parametrize(
    ("page", "width"),
    [(390, "narrow"), (759, "narrow"), (760, "medium"), (1024, "medium"), (1200, "wide"), (1920, "wide")],
)
def test_three_layouts(page: int, width: str):
    assert width_of(page) == Width(width)
