"""Handles on the bench: on the curves that they move, and a flow under the pointer is the flow that then comes."""

from functools import lru_cache

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given, settings

from curvelab import load_setup
from curvelab.layout.bench_grips import FLOW, FOOT, LENGTH, LEVEL, Bearings, bench_dragged, bench_grips, bench_nudged
from curvelab.layout.sizes import BENCH, Width
from curvelab.model.catalogue import default_catalogue
from curvelab.model.route import taken_along
from curvelab.model.setup import Setup
from curvelab.model.stops import Stops
from curvelab.studies.aim import Aim, aim
from curvelab.studies.solve import solve
from tests.unit.picture_cases import NAMES, SETUPS, case, scene_of
from tests.unit.test_grips import exactly, put, si_of

CATALOGUE = default_catalogue()


@lru_cache
def bearings(name: str, width: Width = Width.WIDE) -> tuple[Setup, Bearings]:
    size = BENCH[width]
    at = Bearings(scene_of(case(name), width=width), size, float(size.plot))
    return load_setup(SETUPS / f"{name}.toml"), at


@lru_cache
def aims(name: str) -> Aim:
    setup = load_setup(SETUPS / f"{name}.toml")
    return aim(setup, CATALOGUE, Stops(setup).all_of(LENGTH))


def with_length(setup: Setup, length_m: float) -> Setup:
    return taken_along(setup, put(setup, {LENGTH: length_m}))


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", Width)
def test_handles_stand_on_their_curves(name: str, width: Width):
    _, at = bearings(name, width)
    grips = {grip.key: grip for grip in bench_grips(at)}
    result = case(name).result
    assert (FLOW in grips) == (bool(result.flow_m3_s) and result.state.value not in ("no-lift", "no-prime"))
    assert list(grips)[-2:] == [FOOT, LEVEL]
    top = at.size.heading + at.size.cap
    for key, low in ((FOOT, top), (LEVEL, top + at.size.chart + at.size.foot + at.size.gutter)):
        assert grips[key].x == at.size.axis
        assert low - 1e-6 <= grips[key].y <= low + (at.size.chart if key == FOOT else at.size.strip)
    if FLOW in grips and result.flow_m3_s:
        assert at.scene.units.flow.to_si(at.flow(grips[FLOW].x)) == pytest.approx(result.flow_m3_s)


@pytest.mark.parametrize("name", NAMES)
def test_where_a_handle_stands_means_what_it_is(name: str):
    setup, at = bearings(name)
    for grip in bench_grips(at)[-2:]:
        values = bench_dragged(at, setup, grip.key, grip.y, exactly)
        assert values
        for path, si in values.items():
            assert si == pytest.approx(si_of(setup, path), abs=1e-6)


@pytest.mark.parametrize("key", [FOOT, LEVEL])
@pytest.mark.parametrize("dy", [-9.0, 4.0])
def test_a_curve_pulled_up_starts_there(key: str, dy: float):
    setup, at = bearings("mill-pond")
    grip = next(grip for grip in bench_grips(at) if grip.key == key)
    values = bench_dragged(at, setup, key, grip.y + dy, exactly)
    assert values
    moved = case("mill-pond", *((path, f"{si!r} m") for path, si in values.items()))
    start = moved.curves.system_head_m[0] if key == FOOT else moved.curves.npsha_m[0]
    shown = at.scene.units.head.from_si(float(start))
    assert (at.y(shown) if key == FOOT else at.strip_y(shown)) == pytest.approx(grip.y + dy, abs=0.05)


@pytest.mark.parametrize("name", ["mill-pond", "high-camp", "mill-pond-august", "overflowing-pond", "hill-pond"])
def test_the_length_found_gives_the_flow_that_was_aimed_at(name: str):
    setup, found = load_setup(SETUPS / f"{name}.toml"), aims(name)
    for at in (0, found.length_m.size // 2, -1):
        length = float(found.length_m[at])
        flow = solve(with_length(setup, length)).flow_m3_s
        assert flow == pytest.approx(float(found.flow_m3_s[at]), rel=1e-9)
        nearest = found.nearest(float(found.flow_m3_s[at]))
        assert nearest is not None
        assert solve(with_length(setup, nearest)).flow_m3_s == pytest.approx(flow, rel=1e-9)


@given(name=st.sampled_from(["mill-pond", "high-camp", "mill-pond-august"]), xs=st.tuples(*[st.floats(-50, 900)] * 2))
@settings(max_examples=60, deadline=None)
def test_further_right_never_gives_less_flow(name: str, xs: tuple[float, float]):
    _, at = bearings(name)
    found = aims(name)

    def flow_at(x: float) -> float:
        length = found.nearest(at.scene.units.flow.to_si(at.flow(x)))
        return float(found.flow_m3_s[np.flatnonzero(found.length_m == length)[0]])

    left, right = (flow_at(x) for x in sorted(xs))
    assert left <= right


def test_of_many_hoses_held_by_the_suction_the_longest_is_taken():
    found = aims("mill-pond")
    most = float(found.flow_m3_s.max())
    length = found.nearest(10.0 * most)
    assert length is not None
    assert length == max(found.length_m[found.flow_m3_s >= most * (1 - 1e-9)])
    assert found.nearest(0.0) == found.length_m[-1]


def test_no_hose_is_found_where_none_gives_water():
    setup = load_setup(SETUPS / "ridge-tank.toml")
    assert aim(setup, CATALOGUE, Stops(setup).all_of(LENGTH)).nearest(0.01) is None


def test_keys_go_to_the_next_stop():
    setup, _ = bearings("mill-pond")
    step = Stops(setup).step
    assert bench_nudged(setup, FLOW, 1, 0, step) == {LENGTH: pytest.approx(290 * 0.3048)}
    assert bench_nudged(setup, FOOT, 0, 1, step) == {"discharge.rise": pytest.approx(39 * 0.3048)}
    assert bench_nudged(setup, LEVEL, 0, -1, step) == {"suction.lift": pytest.approx(12.5 * 0.3048)}
    assert bench_nudged(setup, "moon", 1, 1, step) is None
