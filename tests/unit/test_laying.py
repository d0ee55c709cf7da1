"""Points of a route under another length of hose, by hand-worked triangles and by what no hose can do."""

import numpy as np
import pytest
from hypothesis import assume, given
from hypothesis import strategies as st

from curvelab.app.edits import Edit, change
from curvelab.hydraulics.laying import SLOPE, laid_out
from curvelab.model.catalogue import default_catalogue
from curvelab.model.route import taken_along

HUMP = np.array([20.0]), np.array([10.0])


def steepest(distance: np.ndarray, height: np.ndarray, rise: float, length: float) -> float:
    run = np.diff(distance, prepend=0.0, append=length)
    return float((np.abs(np.diff(height, prepend=0.0, append=rise)) / np.maximum(run, 1e-12)).max())


@pytest.mark.parametrize("now", [40.0, 60.0, 31.0])
def test_points_stay_where_the_hose_reaches_past_them(now: float):
    distance, height = laid_out(*HUMP, rise_m=0.0, was_m=40.0, now_m=now)
    assert (distance.tolist(), height.tolist()) == ([20.0], [10.0])


def test_shorter_hose_takes_points_along_at_their_share():
    distance, height = laid_out(*HUMP, rise_m=0.0, was_m=40.0, now_m=24.0)
    assert distance.tolist() == pytest.approx([12.0])
    assert height.tolist() == [10.0]


def test_hump_gives_way_where_the_hose_is_too_short_for_it():
    distance, height = laid_out(*HUMP, rise_m=0.0, was_m=40.0, now_m=16.0)
    assert distance.tolist() == pytest.approx([8.0])
    assert height.tolist() == pytest.approx([8.0 * SLOPE])


def test_dip_keeps_its_depth_and_the_hump_gives_way():
    distance, height = laid_out(np.array([10.0, 20.0]), np.array([-5.0, 12.0]), rise_m=0.0, was_m=40.0, now_m=30.0)
    assert distance.tolist() == pytest.approx([7.5, 15.0])
    assert height.tolist() == pytest.approx([-5.0, -5.0 + 7.5 * SLOPE])


def test_point_moved_by_hand_stays_and_its_neighbours_follow():
    distance, height = laid_out(
        np.array([10.0, 20.0]), np.array([0.0, 18.0]), rise_m=0.0, was_m=40.0, now_m=40.0, moved=1
    )
    assert distance.tolist() == [10.0, 20.0]
    assert height.tolist() == pytest.approx([18.0 - 10.0 * SLOPE, 18.0])


points = st.lists(st.tuples(st.floats(0.02, 0.98), st.floats(-40.0, 40.0)), min_size=1, max_size=5)


@given(points, st.floats(20.0, 400.0), st.floats(0.05, 1.5), st.floats(-1.0, 1.0))
def test_no_stretch_is_steeper_than_hose_can_lie(
    route: list[tuple[float, float]], was: float, share: float, slope: float
):
    route.sort()
    distance = np.array([at for at, _ in route]) * was
    assume(np.diff(distance, prepend=0.0, append=was).min() > 0.01 * was)
    height, now = np.array([up for _, up in route]), share * was
    rise = slope * SLOPE * now * 0.999
    along, up = laid_out(distance, height, rise_m=rise, was_m=was, now_m=now)
    assert (np.diff(along, prepend=0.0, append=now) > 0.0).all()
    assert steepest(along, up, rise, now) <= 1.0 + 1e-6


@given(st.floats(39.5, 300.0))
def test_page_and_study_lay_the_mill_ponds_hose_alike(feet: float):
    setup = default_catalogue().setups["mill-pond"]
    length = round(feet, 1)
    after = setup.with_("discharge.leg.0.length", f"{length} ft")
    moved = taken_along(setup, after)
    by_page = change(setup, Edit("type", "discharge.leg.0.length", f"{length} ft"), default_catalogue())
    assert moved == by_page
    old = np.array([(p.distance.si, p.height.si) for p in setup.discharge.waypoint])
    new = laid_out(old[:, 0], old[:, 1], rise_m=setup.discharge.rise.si, was_m=300 * 0.3048, now_m=length * 0.3048)
    assert [p.distance.si for p in moved.discharge.waypoint] == pytest.approx(new[0].tolist())
    assert [p.height.si for p in moved.discharge.waypoint] == pytest.approx(new[1].tolist())
