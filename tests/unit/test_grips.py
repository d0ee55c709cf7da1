"""Handles on the run stand on what they move; a place under the pointer means what is drawn there."""

import math
from functools import lru_cache

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given, settings

from curvelab import load_setup
from curvelab.layout import grips
from curvelab.layout.grips import LIFT, OUTLET, PUMP, RISE, WATER, Grip, Route
from curvelab.layout.run import Drawing, drawing
from curvelab.layout.scale import carried
from curvelab.layout.sizes import RUN, Width
from curvelab.model.fields import field_of
from curvelab.model.setup import Setup
from curvelab.studies.solve import solved
from tests.unit.picture_cases import NAMES, SETUPS


@lru_cache
def laid(name: str, width: Width = Width.WIDE) -> tuple[Setup, Drawing]:
    setup = load_setup(SETUPS / f"{name}.toml")
    return setup, drawn(setup, width)


def drawn(setup: Setup, width: Width = Width.WIDE, held: tuple[Setup, Drawing] | None = None) -> Drawing:
    one, size = solved(setup), RUN[width]
    scale = None if held is None else carried(held[1].scale, solved(held[0]).run, one.run)
    return drawing(one.result, one.run, size=size, width_px=float(size.width), system=setup.units, held=scale)


def exactly(_path: str, si: float, low: float = -math.inf, high: float = math.inf) -> float:
    return min(max(si, low), high)


def put(setup: Setup, values: dict[str, float]) -> Setup:
    for path, si in values.items():
        field, places = field_of(path)
        setup = field.set(setup, si, *places)
    return setup


def si_of(setup: Setup, path: str) -> float:
    field, places = field_of(path)
    found = field.si(setup, *places)
    assert found is not None
    return found


def named(shown: Drawing, setup: Setup) -> dict[str, Grip]:
    return {grip.key: grip for grip in grips.run_grips(shown, setup)}


def drag(shown: Drawing, setup: Setup, key: str, x: float | None, y: float | None) -> dict[str, float]:
    values = grips.dragged(shown.scale, setup, key, x, y, exactly)
    assert values is not None
    return dict(values)


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", Width)
def test_handles_stand_on_what_is_drawn(name: str, width: Width):
    setup, shown = laid(name, width)
    found = named(shown, setup)
    assert list(found) == [WATER, PUMP, *(f"point.{n}" for n in range(len(setup.discharge.waypoint))), OUTLET]
    assert found[WATER].y == shown.water_y
    assert (found[OUTLET].x, found[OUTLET].y) == pytest.approx(shown.outlet)
    assert (found[PUMP].x, found[PUMP].y) == pytest.approx((shown.corners.x[0], shown.corners.y[0]))
    corners = list(zip(shown.corners.x.tolist(), shown.corners.y.tolist(), strict=True))
    for key, grip in found.items():
        if grips.place_of(key) is not None:
            assert any((grip.x, grip.y) == pytest.approx(corner) for corner in corners)
        assert 0.0 <= grip.x <= RUN[width].width
        assert 0.0 <= grip.y <= RUN[width].height


@lru_cache
def relayed() -> tuple[Setup, Drawing]:
    """The mill pond with two pumps in its line, between points of its route."""
    pumps = [{"id": "ferrow-3", "distance": "200 ft"}, {"id": "ferrow-3", "distance": "90 ft"}]
    setup = laid("mill-pond")[0].with_("booster", pumps)
    return setup, drawn(setup)


def test_a_pump_in_the_line_has_its_handle_where_it_is_drawn():
    setup, shown = relayed()
    found = named(shown, setup)
    keys = [key for key in found if key.startswith("booster")]
    assert keys == ["booster.1", "booster.0"], "as the water meets them"
    assert [(found[key].x, found[key].y) for key in keys] == [pytest.approx(place) for place in shown.boosters]
    xs = [grip.x for key, grip in found.items() if key not in (WATER, PUMP)]
    assert xs == sorted(xs), "points, pumps and outlet in the order of the hose"


@given(key=st.sampled_from(["booster.0", "booster.1"]), dx=st.floats(-40, 40))
@settings(max_examples=30, deadline=None)
def test_a_pump_in_the_line_stays_under_the_pointer_and_on_the_hose(key: str, dx: float):
    setup, shown = relayed()
    grip = named(shown, setup)[key]
    moved = put(setup, drag(shown, setup, key, grip.x + dx, None))
    again = named(drawn(moved, held=(setup, shown)), moved)[key]
    assert again.x == pytest.approx(grip.x + dx, abs=0.01)
    assert grip.ways == "x"
    assert grips.dragged(shown.scale, setup, key, None, 50.0, exactly) is None


@pytest.mark.parametrize("x", [-5000.0, 5000.0])
def test_a_pump_in_the_line_never_leaves_it(x: float):
    setup, shown = relayed()
    for values in (
        drag(shown, setup, "booster.0", x, None),
        grips.nudged(setup, "booster.0", int(x), 0, lambda _path, si, count: si + count),
    ):
        assert values
        assert 0.0 < values["booster.0.distance"] < grips.hose_m(setup)
        solved(put(setup, dict(values)))


@pytest.mark.parametrize("name", NAMES)
def test_where_a_handle_stands_means_what_it_is(name: str):
    setup, shown = laid(name)
    for key, grip in named(shown, setup).items():
        for path, si in drag(shown, setup, key, grip.x, grip.y).items():
            assert si == pytest.approx(si_of(setup, path), abs=1e-6), path


@given(key=st.sampled_from([WATER, PUMP, "point.1", "point.2", OUTLET]), dx=st.floats(-12, 12), dy=st.floats(-12, 12))
@settings(max_examples=30, deadline=None)
def test_what_is_dragged_stays_under_the_pointer(key: str, dx: float, dy: float):
    """The round trip: from the pointer to the setup, and from the setup drawn at the same scale to the handle."""
    setup, shown = laid("mill-pond")
    if key == OUTLET:  # its last 12 ft of hose would not reach much higher
        setup = setup.with_("discharge.waypoint.3", None)
        shown = drawn(setup)
    grip = named(shown, setup)[key]
    if grip.ways == "y":
        dx, dy = 0.0, 0.5 * dy  # 20 ft of suction hose reach no further
    moved = put(setup, drag(shown, setup, key, grip.x + dx, grip.y + dy))
    again = drawn(moved, held=(setup, shown))
    assert again.scale.across == shown.scale.across
    found = named(again, moved)[key]
    assert found.y == pytest.approx(grip.y + dy, abs=0.01)
    if "x" in grip.ways:
        assert found.x == pytest.approx(grip.x + dx, abs=0.01)


@given(key=st.sampled_from(["point.0", "point.2", "point.3", OUTLET]), xs=st.tuples(*[st.floats(-50, 900)] * 2))
@settings(max_examples=40, deadline=None)
def test_further_right_is_never_nearer(key: str, xs: tuple[float, float]):
    setup, shown = laid("mill-pond")
    left, right = (next(iter(drag(shown, setup, key, x, None).values())) for x in sorted(xs))
    assert left <= right


@given(key=st.sampled_from([WATER, PUMP, "point.0", OUTLET]), ys=st.tuples(*[st.floats(-200, 400)] * 2))
def test_further_up_is_never_lower(key: str, ys: tuple[float, float]):
    setup, shown = laid("mill-pond")
    low, high = (next(iter(drag(shown, setup, key, None, y).values())) for y in sorted(ys))
    assert high <= low if key == WATER else low <= high  # a higher water is a smaller lift


@given(st.floats(-5, 5))
def test_a_point_never_passes_its_neighbours(share: float):
    setup, shown = laid("mill-pond")
    point = setup.discharge.waypoint[1]
    values = drag(shown, setup, "point.1", 900.0 * share, None)
    near, far = (setup.discharge.waypoint[at].distance.si for at in (0, 2))
    assert near < values["discharge.waypoint.1.distance"] < far
    solved(put(setup, values))  # and the hose still reaches
    assert point.height.si == setup.discharge.waypoint[1].height.si


@pytest.mark.parametrize("by", [-2.0, 1.5])
def test_a_pump_moved_leaves_water_outlet_and_points_where_they_are(by: float):
    setup, shown = laid("mill-pond")
    y = shown.scale.pump_y + by * shown.scale.up
    moved = put(setup, drag(shown, setup, PUMP, None, y))
    assert moved.suction.lift.si == pytest.approx(setup.suction.lift.si + by)

    def over_water(each: Setup) -> list[float]:
        points = [point.height.si for point in each.discharge.waypoint]
        return [each.suction.lift.si + height for height in (*points, each.discharge.rise.si)]

    assert over_water(moved) == pytest.approx(over_water(setup))


@pytest.mark.parametrize("key", [WATER, PUMP, "point.2", OUTLET])
@pytest.mark.parametrize("up", [1, -1])
def test_an_arrow_key_moves_a_handle_its_way(key: str, up: int):
    setup, shown = laid("mill-pond")

    def metre(_path: str, si: float, count: int) -> float:
        return si + 0.5 * count

    values = grips.nudged(setup, key, 0, up, metre)
    assert values
    moved = put(setup, dict(values))
    before, after = (named(drawn(each, held=(setup, shown)), each)[key].y for each in (setup, moved))
    assert math.copysign(1.0, after - before) == up


def test_an_arrow_key_stops_a_point_at_its_neighbour():
    setup, _ = laid("mill-pond")
    assert grips.nudged(setup, "point.3", 1, 0, lambda _path, si, count: si + 30.0 * count) == {}


@given(x=st.floats(100, 700), y=st.floats(0, 150))
@settings(max_examples=30, deadline=None)
def test_a_point_put_on_the_hose_changes_nothing(x: float, y: float):
    setup, shown = laid("mill-pond")
    found = grips.point_on_hose(shown.scale, setup, x, y, exactly)
    assert found is not None
    at, along, height = found
    points: list[object] = [*setup.discharge.waypoint]
    points.insert(at, {"distance": f"{along!r} m", "height": f"{height!r} m"})
    more = setup.with_("discharge.waypoint", points)
    assert solved(more).result.flow_m3_s == pytest.approx(solved(setup).result.flow_m3_s)
    route, was = Route.of(more), Route.of(setup)
    assert np.interp(was.along, route.along, route.ground) == pytest.approx(was.ground, abs=1e-6)


def test_keys_that_name_nothing_move_nothing():
    setup, shown = laid("mill-pond")
    for key in ("point.9", "point.x", "point.-1", "hump", "booster.0", "booster.x", ""):
        assert grips.dragged(shown.scale, setup, key, 10.0, 10.0, exactly) is None
        assert grips.nudged(setup, key, 1, 1, lambda _path, si, _count: si) is None
    assert grips.dragged(shown.scale, setup, WATER, 10.0, None, exactly) is None
    assert set(drag(shown, setup, PUMP, 0.0, 90.0)) >= {LIFT, RISE}
