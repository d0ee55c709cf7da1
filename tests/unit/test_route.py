"""What moves along when the hose is shortened or one of its ends or points is moved."""

import hypothesis.strategies as st
import pytest
from hypothesis import given

from curvelab.hydraulics.laying import SLOPE
from curvelab.model.catalogue import default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.route import taken_along
from curvelab.model.setup import Setup

CATALOGUE = default_catalogue()
POND = CATALOGUE.setups["mill-pond"]
LENGTH, RISE = "discharge.leg.0.length", "discharge.rise"


def metres(setup: Setup) -> list[tuple[float, float]]:
    return [(point.distance.si, point.height.si) for point in setup.discharge.waypoint]


def test_a_longer_hose_moves_nothing():
    after = POND.with_(LENGTH, "400 ft")
    assert taken_along(POND, after) is after


def test_points_within_reach_stay_exactly_as_written():
    after = POND.with_(RISE, "40 ft")
    assert taken_along(POND, after) is after
    assert [point.distance.text for point in after.discharge.waypoint] == ["52 ft", "100 ft", "200 ft", "288 ft"]


def test_a_hose_shorter_than_the_way_to_its_points_takes_each_along_at_its_share():
    moved = taken_along(POND, POND.with_(LENGTH, "270 ft"))
    assert [d / 0.3048 for d, _ in metres(moved)] == pytest.approx([46.8, 90.0, 180.0, 259.2])


def test_outlet_raised_beyond_the_last_stretch_raises_the_point_before_it_just_enough():
    moved = taken_along(POND, POND.with_(RISE, "60 ft"))
    heights = [h / 0.3048 for _, h in metres(moved)]
    assert heights[:3] == pytest.approx([-19, -24, 34])
    assert heights[3] == pytest.approx(60 - SLOPE * 12)


def test_the_point_that_was_moved_stays_where_it_was_put():
    after = POND.with_("discharge.waypoint.2.height", "100 ft")
    moved = taken_along(POND, after, 2)
    assert metres(moved)[2][1] == after.discharge.waypoint[2].height.si
    plan_of([moved], CATALOGUE)


@given(length=st.floats(15.0, 100.0), share=st.floats(-0.95, 0.95))
def test_what_the_outlet_can_reach_can_be_laid(length: float, share: float):
    after = POND.with_(LENGTH, f"{length} m").with_(RISE, f"{share * SLOPE * length} m")
    moved = taken_along(POND, after)
    plan_of([moved], CATALOGUE)  # refuses a hose that is shorter than what it climbs
    assert moved.discharge.rise == after.discharge.rise
    assert moved.discharge.leg == after.discharge.leg
