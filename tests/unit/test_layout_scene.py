"""What the bench shows of a result: curves cut where they must be, marks of each state, columns that add up."""

import itertools

import numpy as np
import pytest

from curvelab.layout.lines import FLOWING, POINTS
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import Width
from curvelab.studies.result import State
from curvelab.units import Quantity, System, display_unit
from tests.unit.picture_cases import NAMES, STATES, SWEEP, THIN, Case, case, scene_of

HEAD = display_unit(Quantity.HEAD, System.US)
SWEPT = [*((name, ()) for name in NAMES), *SWEEP]


@pytest.fixture(params=SWEPT, ids=str)
def shown(request: pytest.FixtureRequest) -> tuple[Case, Scene]:
    one = case(request.param[0], *request.param[1])
    return one, scene_of(one)


def test_bands_lie_one_on_the_other_up_to_the_system_curve(shown: tuple[Case, Scene]):
    one, scene = shown
    lines = scene.lines
    tops = [lines.foot, lines.top_lift, lines.top_rise, lines.top_suction, lines.top_discharge, lines.top_leaving]
    for low, high in itertools.pairwise(tops):
        assert (high >= low - 1e-9).all()
    known = HEAD.from_si(
        np.interp(scene.units.flow.to_si(lines.live_flow), one.curves.flow_m3_s, one.curves.system_head_m)
    )
    assert lines.live_head == pytest.approx(known, rel=1e-9, abs=1e-9)
    asks_pressure = bool((np.abs(one.curves.band_pressure_m) > 1e-9).any())
    if not asks_pressure:
        assert lines.top_leaving == pytest.approx(lines.live_head, abs=1e-6)


def test_the_live_curve_ends_at_the_operating_point(shown: tuple[Case, Scene]):
    one, scene = shown
    if one.result.state not in FLOWING or one.result.state is State.OFF_CURVE:
        return
    assert scene.point is not None
    assert scene.lines.live_flow[-1] == pytest.approx(scene.point[0])
    # between the columns of curves a straight line stands for the curve: a hundredth of the head is wide enough
    assert scene.lines.live_head[-1] == pytest.approx(scene.point[1], rel=0.01)


def test_the_ledger_is_the_slice_at_the_operating_point(shown: tuple[Case, Scene]):
    one, scene = shown
    result = one.result
    carried = [slab for slab in scene.ledger if not slab.helps]
    top = max(slab.top for slab in carried)
    if result.state is State.CAVITATING and result.flow_m3_s:
        assert scene.broken is not None
        assert top == pytest.approx(scene.broken[2])
        assert {slab.item for slab in carried} >= {"lost"}
    elif result.state in FLOWING:
        assert result.head_m is not None
        assert top == pytest.approx(HEAD.from_si(result.head_m))
    else:
        assert top == pytest.approx(HEAD.from_si(max(result.static_head_m, result.start_head_m)))


def test_the_budget_hangs_from_the_air_and_ends_on_the_axis(shown: tuple[Case, Scene]):
    one, scene = shown
    carried = [slab for slab in scene.budget if not slab.helps]
    helps = sum(slab.top - slab.bottom for slab in scene.budget if slab.helps)
    assert max(slab.top for slab in carried) == pytest.approx(HEAD.from_si(one.result.air_head_m) + helps)
    assert min(slab.bottom for slab in carried) == pytest.approx(0.0, abs=1e-6)


def test_everything_shown_lies_on_the_axes(shown: tuple[Case, Scene]):
    _, scene = shown
    axes = scene.axes
    for point in (scene.point, scene.crossing, *scene.leaders):
        if point is not None:
            assert 0.0 <= point[0] <= axes.flow.end
            assert axes.head.low <= point[1] <= axes.head.end
    for slab in scene.ledger:
        assert axes.head.low - 1e-9 <= slab.bottom <= slab.top <= axes.head.end
    for slab in scene.budget:
        assert slab.top <= axes.suction.end * (1.0 + 1e-9)


def test_columns_are_whole_and_alike(shown: tuple[Case, Scene]):
    lines = shown[1].lines
    columns = {name: getattr(lines, name) for name in type(lines).__dataclass_fields__}
    assert {column.shape for column in columns.values()} == {(POINTS,)}
    may_be_null = {"npshr", "npshr_low", "npshr_high", "pump_low", "pump_high"}
    for name, column in columns.items():
        assert name in may_be_null or np.isfinite(column).all(), name
    for name in ("live_flow", "beyond_flow", "pump_flow", "past_flow", "strip_flow", "npsha_flow", "npshr_flow"):
        assert (np.diff(columns[name]) >= 0.0).all(), name


def test_each_state_has_its_marks():
    marks = {
        name: scene_of(case(setup, *(THIN if name == "thin" else ())))
        for name, setup in {**STATES, "thin": "mill-pond"}.items()
    }
    for name, scene in marks.items():
        assert scene.state.value == name
        assert (scene.broken is not None) == (name == "cavitating")
        assert (scene.short is not None) == (name == "no-lift")
        assert (scene.undrawn is not None) == (name == "no-prime")
        assert scene.once == (name == "no-prime")
        assert scene.bands == (name not in ("no-lift", "no-prime"))
        assert (scene.flow is None) == (name == "no-lift")
    assert marks["no-lift"].limit is None
    assert marks["no-prime"].point is None
    assert marks["cavitating"].limit == pytest.approx(marks["cavitating"].point[0])  # pyright: ignore[reportOptionalSubscript]


def test_what_a_dry_pump_cannot_draw_lies_between_its_reach_and_the_water():
    one = case(STATES["no-prime"])
    scene = scene_of(one)
    lift = one.result.inputs["suction"]["lift_m"]
    assert one.result.priming_lift_m is not None
    assert scene.undrawn is not None
    assert scene.undrawn[1] - scene.undrawn[0] == pytest.approx(HEAD.from_si(lift - one.result.priming_lift_m))
    assert scene.undrawn[0] == pytest.approx(scene.rest, abs=0.01)


def test_no_npshr_shows_a_band_and_no_limit():
    scene = scene_of(case("cellar"))
    assert scene.estimate
    assert scene.limit is None
    assert scene.spare is None
    assert scene.doubt is not None
    assert scene.doubt[0] < scene.doubt[1]
    low, high = scene.lines.npshr_low, scene.lines.npshr_high
    assert (low[np.isfinite(low)] <= high[np.isfinite(low)]).all()


def test_units_change_numbers_and_no_picture():
    one = case("mill-pond")
    us, metric = scene_of(one), scene_of(one, system=System.METRIC)
    assert us.point is not None
    assert metric.point is not None
    assert us.units.flow.to_si(us.point[0]) == pytest.approx(metric.units.flow.to_si(metric.point[0]))
    assert us.lines.live_head / us.lines.live_head[0] == pytest.approx(
        metric.lines.live_head / metric.lines.live_head[0]
    )


def test_an_axis_is_not_held_across_a_change_of_unit():
    """From 1 000 L/min a flow is shown in m³/h: a held axis of litres would be 60 times too long."""
    litres = scene_of(case("mill-pond", system=System.METRIC), system=System.METRIC)
    assert litres.units.flow.symbol == "L/min"
    cubic = scene_of(
        case("two-hoses", ("suction.lift", "0 ft"), system=System.METRIC), system=System.METRIC, held=litres
    )
    if cubic.units.flow.symbol != litres.units.flow.symbol:
        assert cubic.axes.flow.end < 200.0


@pytest.mark.parametrize("width", Width)
def test_the_axis_stays_while_a_slider_is_dragged(width: Width):
    held: Scene | None = None
    ends: set[float] = set()
    for lift in ("12 ft", "12.5 ft", "13 ft", "13.5 ft", "14 ft", "14.5 ft"):
        held = scene_of(case("mill-pond", ("suction.lift", lift)), width=width, held=held)
        ends.add(held.axes.flow.end)
    assert len(ends) == 1


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", Width)
def test_no_band_runs_out_below_the_head_axis(name: str, width: Width):
    shown = scene_of(case(name), width=width)
    if shown.bands:
        assert float(shown.lines.foot.min()) >= shown.axes.head.low - 1e-9
