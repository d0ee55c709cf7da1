"""The run is to scale: lengths, heights, pressures and ratings read off the picture are those of the result."""

import numpy as np
import pytest

from curvelab.layout.run import Drawing, drawing, stretch
from curvelab.layout.scale import FACTORS, Scale
from curvelab.layout.sizes import RUN, Width
from curvelab.studies.result import State
from curvelab.units import System, parse
from curvelab.units.factors import Quantity
from tests.unit.picture_cases import NAMES, Case, case

FT = 0.3048


def drawn(one: Case, width: Width = Width.WIDE, held: Scale | None = None, system: System = System.US) -> Drawing:
    size = RUN[width]
    return drawing(one.result, one.run, size=size, width_px=float(size.width), system=system, held=held)


@pytest.fixture(params=NAMES)
def one(request: pytest.FixtureRequest) -> Case:
    return case(request.param)


@pytest.fixture(params=Width)
def width(request: pytest.FixtureRequest) -> Width:
    return request.param


def test_hose_is_as_long_on_paper_as_on_the_ground(one: Case, width: Width):
    shown = drawn(one, width)
    scale = shown.scale
    across = np.diff(shown.corners.x) / scale.across
    up = np.diff(shown.corners.y) / (scale.across * scale.factor)
    steps = np.diff(one.run.distance_m)
    assert up == pytest.approx(np.diff(one.run.height_m), abs=1e-6)
    assert np.hypot(across, up) == pytest.approx(np.maximum(steps, np.abs(up)), abs=1e-6)


def test_everything_is_on_the_sheet(one: Case, width: Width):
    shown, size = drawn(one, width), RUN[width]
    line = shown.line[np.isfinite(shown.line)]
    for path in (shown.corners, shown.suction, shown.ground, shown.water, shown.earth):
        assert path.x.min() >= 0.0
        assert path.x.max() <= size.width + 1e-9
    for heights in (shown.corners.y, shown.suction.y, line, shown.vacuum_line, np.array([shown.flag[1] + 25.0])):
        if heights.size:
            assert heights.min() >= -1e-6
            assert heights.max() <= size.height + 1e-6


def test_heights_are_enlarged_only_where_the_drawing_would_be_flat(one: Case, width: Width):
    shown, size = drawn(one, width), RUN[width]
    assert shown.scale.factor in FACTORS
    if shown.scale.factor > 1:
        line = shown.line[np.isfinite(shown.line)]
        heights = np.concatenate((shown.corners.y, shown.suction.y, line, shown.vacuum_line))
        assert np.ptp(heights) / shown.scale.factor < size.least


def test_the_pump_never_moves_sideways(width: Width):
    places = {drawn(case(name), width).scale.pump_x for name in NAMES}
    assert places == {float(RUN[width].pump_x)}


def test_hose_over_its_rating_ends_where_the_pressure_equals_it():
    one = case("mill-pond")
    shown = drawn(one)
    assert len(shown.over) == len(one.result.over_rated) == 1
    piece, over = shown.over[0], one.result.over_rated[0]
    metres = (piece.y - shown.scale.pump_y) / (shown.scale.across * shown.scale.factor)
    # with the end shut pressure falls with height alone: read it off the two ends of the run
    slope = np.ptp(one.run.dead_head_pa) / np.ptp(one.run.height_m)
    lowest = int(np.argmin(one.run.height_m))
    pressure = one.run.dead_head_pa[lowest] - slope * (metres - one.run.height_m[lowest])
    assert pressure[0] == pytest.approx(over.rating_pa, rel=1e-6)
    assert pressure[-1] == pytest.approx(over.rating_pa, rel=1e-6)
    assert (pressure[1:-1] > over.rating_pa).all()
    assert pressure.max() == pytest.approx(over.pressure_pa, rel=1e-6)


def test_nothing_is_marked_where_every_rating_holds():
    one = case("mill-pond", ("discharge.leg.0.hose", "lay-flat-medium"))
    assert one.result.over_rated == ()
    assert drawn(one).over == ()


def test_a_stretch_keeps_its_corners():
    one = case("mill-pond")
    shown = drawn(one)
    whole = stretch(one.run.distance_m, shown.corners, 0.0, float(one.run.distance_m[-1]))
    assert whole.x[0] == shown.corners.x[0]
    assert whole.x[-1] == shown.corners.x[-1]
    assert set(np.round(shown.corners.y, 6)) <= set(np.round(whole.y, 6))


def test_the_line_over_the_hose_is_the_pressure():
    one = case("mill-pond")
    shown = drawn(one)
    weight = np.ptp(one.run.dead_head_pa) / np.ptp(one.run.height_m)
    metres = (shown.line - shown.wet.y) / (shown.scale.across * shown.scale.factor)
    assert metres * weight == pytest.approx(one.run.gauge_pa, abs=1.0)
    assert metres[-1] == pytest.approx(0.0, abs=0.5)


def test_vacuum_hangs_below_the_suction_hose():
    one = case("mill-pond")
    shown = drawn(one)
    weight = np.ptp(one.run.dead_head_pa) / np.ptp(one.run.height_m)
    metres = (shown.vacuum_line[-1] - shown.suction.y[-1]) / (shown.scale.across * shown.scale.factor)
    assert metres * weight == pytest.approx(one.run.suction_gauge_pa[-1], abs=1.0)


def test_water_that_can_be_lifted_no_higher_stands_level():
    one = case("ridge-tank")
    result = one.result
    shown = drawn(one)
    assert result.state is State.NO_LIFT
    assert result.shutoff_head_m is not None
    assert shown.stand is not None
    lift = parse("12 ft", Quantity.LENGTH)
    level = (shown.stand[2] - shown.scale.pump_y) / (shown.scale.across * shown.scale.factor)
    assert level == pytest.approx(result.shutoff_head_m - lift, abs=1e-6)
    assert shown.wet.y[-1] == pytest.approx(shown.stand[2])
    assert shown.dry.y[0] == pytest.approx(shown.stand[2])
    assert shown.short is not None
    missing = (shown.short[2] - shown.short[1]) / (shown.scale.across * shown.scale.factor)
    assert missing == pytest.approx(result.start_head_m - result.shutoff_head_m, abs=1e-6)


def test_without_prime_the_discharge_is_dry_and_water_stands_in_the_suction():
    one = case("mill-pond-september")
    shown = drawn(one)
    assert one.result.priming_lift_m is not None
    assert shown.wet.x.size == 0
    assert shown.dry.x.size == shown.corners.x.size
    risen = (shown.empty.y[0] - shown.water_y) / (shown.scale.across * shown.scale.factor)
    assert risen == pytest.approx(one.result.priming_lift_m, abs=1e-6)


def test_the_flag_stands_on_the_point_that_governs(one: Case):
    shown, point = drawn(one), one.result.governing_point
    height = (shown.flag[1] - shown.scale.pump_y) / (shown.scale.across * shown.scale.factor)
    assert height == pytest.approx(point.height_m, abs=0.02)


@pytest.mark.parametrize("system", System)
def test_the_arms_measure_what_they_say(one: Case, width: Width, system: System):
    shown = drawn(one, width, system=system)
    number, unit = shown.measure.across.split(" ")
    metres = float(number.replace(",", "")) * (1.0 if unit == "m" else FT)
    assert shown.measure.across_px == pytest.approx(metres * shown.scale.across)
    assert 20.0 <= shown.measure.across_px <= 60.0
    if shown.scale.factor == 1:
        assert shown.measure.up_px == shown.measure.across_px
        assert shown.measure.up == ""
    else:
        up = float(shown.measure.up.split(" ")[0].replace(",", "")) * (1.0 if unit == "m" else FT)
        assert shown.measure.up_px == pytest.approx(up * shown.scale.across * shown.scale.factor)


def test_named_are_the_heights_and_dips_that_stand_out():
    one = case("mill-pond")
    shown = drawn(one)
    names = [(one.run.waypoints[index].name, high) for index, _, _, high in shown.named]
    assert names == [("dip", False), ("hump", True)]
    deepest = min(mark.height_m for mark in one.run.waypoints)
    assert one.run.waypoints[shown.named[0][0]].height_m == deepest


@pytest.mark.parametrize("lift", ["4 ft", "10 ft", "14 ft"])
def test_the_scale_is_kept_while_something_is_dragged_and_found_anew_after(lift: str, width: Width):
    start, moved = drawn(case("mill-pond"), width), case("mill-pond", ("suction.lift", lift))
    held = drawn(moved, width, held=start.scale)
    assert held.scale == start.scale
    drop = parse(lift, Quantity.LENGTH)
    assert start.scale.pump_y - held.water_y == pytest.approx(drop * start.scale.across * start.scale.factor)
    assert drawn(moved, width).scale == drawn(moved, width, held=None).scale != start.scale


def test_what_would_leave_the_sheet_gets_another_scale_at_once(width: Width):
    start = drawn(case("mill-pond"), width)
    far = drawn(case("mill-pond", ("discharge.leg.0.length", "1500 ft")), width, held=start.scale)
    assert far.scale.across < start.scale.across
    assert far.corners.x.max() <= RUN[width].width


def test_heights_stay_as_enlarged_as_they_were_while_they_fit():
    one = case("mill-pond", ("discharge.leg.0.length", "310 ft"))
    wide, narrow = drawn(one).scale, drawn(one, Width.NARROW).scale
    assert (wide.factor, narrow.factor) == (1, 2)
    other = Scale(narrow.pump_x, narrow.pump_y + 200.0, narrow.across, 1)  # fits nowhere, so that another is found
    assert drawn(one, Width.NARROW, held=other).scale.factor == 1
    other = Scale(wide.pump_x, wide.pump_y, wide.across, 10)
    assert drawn(one, held=other).scale.factor == 1  # ten times would not fit


def test_water_above_the_pump_has_a_dam():
    shown = drawn(case("overflowing-pond"))
    assert shown.water_y > shown.scale.pump_y
    assert shown.ground.y.max() > shown.water_y
    assert shown.suction.y[0] > shown.suction.y[-1]
