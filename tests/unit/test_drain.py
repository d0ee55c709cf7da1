"""Falling levels against closed forms, bodies of water against sums, and levels followed in time against both."""

import math

import numpy as np
import pytest

from curvelab.errors import DomainError
from curvelab.hydraulics import tank
from curvelab.hydraulics.drain import End, drain
from curvelab.hydraulics.ebb import Basin, FlowTable, Inflow, follow


def even(flow: float):
    return lambda level: np.full(level.shape, flow)


@pytest.mark.parametrize("power", [0.0, 0.5, 1.0, 2.0])
@pytest.mark.parametrize("last", [0.0, 0.4])
def test_a_hollow_runs_out_through_a_hole_as_the_closed_form_says(power: float, last: float):
    """A = a hᵖ and Q = c √h: t = a/(c (p + ½)) (h₁^(p+½) − h₂^(p+½))."""
    body = tank.pond(area_m2=80.0, full_depth_m=3.0, power=power)
    fall = drain(lambda h: 0.02 * np.sqrt(h), area=body.area, level_from_m=2.5, level_to_m=last)
    a = 80.0 / 3.0**power
    exact = a / (0.02 * (power + 0.5)) * (2.5 ** (power + 0.5) - last ** (power + 0.5))
    assert fall.end is End.TARGET
    assert fall.time_s[-1] == pytest.approx(exact, rel=1e-6)
    assert fall.running_s == pytest.approx(fall.time_s)


def test_with_an_inflow_the_closed_form_has_a_logarithm():
    k, area, inflow = 0.4 / math.sqrt(1.5), 150.0, 0.2
    fall = drain(lambda h: k * np.sqrt(h), area=even(area), level_from_m=1.5, level_to_m=0.5, inflow_m3_s=inflow)
    log = math.log((inflow - k * math.sqrt(0.5)) / (inflow - k * math.sqrt(1.5)))
    exact = -2 * area / k**2 * (inflow * log + k * (math.sqrt(0.5) - math.sqrt(1.5)))
    assert fall.time_s[-1] == pytest.approx(exact, rel=1e-8)


def test_a_level_settles_where_outflow_and_inflow_are_one():
    fall = drain(lambda h: 0.3 * np.sqrt(h), area=even(10.0), level_from_m=4.0, level_to_m=0.0, inflow_m3_s=0.3)
    assert fall.end is End.BALANCED
    assert fall.last_m == pytest.approx(1.0, abs=1e-4)
    assert fall.level_m[-1] == pytest.approx(1.003, abs=1e-4)


def test_an_inflow_as_great_as_the_outflow_never_lets_it_fall():
    fall = drain(even(0.1), area=even(5.0), level_from_m=2.0, level_to_m=0.0, inflow_m3_s=0.1)
    assert (fall.end, fall.time_s.tolist(), fall.level_m.tolist()) == (End.NEVER, [0.0], [2.0])


def test_an_outflow_that_gives_out_on_the_way_ends_it_there():
    fall = drain(lambda h: np.maximum(h - 1.0, 0.0), area=even(5.0), level_from_m=2.0, level_to_m=0.0, none_share=1e-3)
    assert fall.end is End.DRY
    assert fall.last_m == pytest.approx(1.001, abs=1e-4)
    assert fall.time_s[-1] == pytest.approx(5.0 * math.log(1000.0), rel=2e-3)


def test_a_rate_holds_the_outflow_and_the_pump_runs_part_of_the_time():
    """5 m² at 1 mm/s and 2 L/s of inflow: 7 L/s; unthrottled 20 L/s, so it runs 35 % of the time."""
    fall = drain(even(0.02), area=even(5.0), level_from_m=1.0, level_to_m=0.0, inflow_m3_s=0.002, fastest_m_s=1e-3)
    assert fall.time_s[-1] == pytest.approx(1000.0)
    assert fall.flow_m3_s == pytest.approx(np.full(fall.flow_m3_s.shape, 0.007))
    assert fall.running_s[-1] == pytest.approx(350.0)


@pytest.mark.parametrize(
    "body",
    [
        tank.box(length_m=4.0, width_m=3.0),
        tank.cylinder(diameter_m=2.2),
        tank.frustum(top_length_m=5.0, top_width_m=3.0, bottom_length_m=3.0, bottom_width_m=0.0, full_depth_m=2.0),
        tank.pond(area_m2=40.0, full_depth_m=2.0, power=1.3),
        tank.table(level_m=[0.2, 0.9, 2.0], area_m2=[3.0, 5.0, 20.0]),
        tank.table(level_m=[0.0, 2.0], area_m2=[0.0, 8.0]),
    ],
)
def test_a_body_holds_its_area_summed_over_the_level_and_the_level_comes_back(body: tank.Tank):
    level = np.linspace(0.0, 2.0, 20_001)
    area = body.area(level)
    summed = np.concatenate([[0.0], np.cumsum(0.5 * (area[1:] + area[:-1]) * np.diff(level))])
    assert body.volume(level) == pytest.approx(summed, abs=1e-5)
    some = level[::2000]
    assert body.level_of(body.volume(some)) == pytest.approx(some, abs=1e-9)


def test_room_is_what_is_left():
    body = tank.pond(area_m2=40.0, full_depth_m=2.0, power=1.0)
    left = body.room_below(1.6)
    assert float(left.volume(np.array(0.6))) == pytest.approx(20.0 * (0.8**2 - 0.5**2) * 2.0)
    assert float(left.area(np.array(0.6))) == pytest.approx(20.0)


@pytest.mark.parametrize(
    "make",
    [
        lambda: tank.box(length_m=0.0, width_m=1.0),
        lambda: tank.pond(area_m2=1.0, full_depth_m=0.0, power=1.0),
        lambda: tank.table(level_m=[0.0, 1.0, 0.5], area_m2=[1.0, 1.0, 1.0]),
        lambda: tank.table(level_m=[0.0, 1.0], area_m2=[0.0, 0.0]),
        lambda: tank.cylinder(diameter_m=2.0).level_of(-1.0),
        lambda: tank.pond(area_m2=1.0, full_depth_m=1.0, power=0.0).level_of(1.1),
        lambda: drain(even(1.0), area=even(1.0), level_from_m=1.0, level_to_m=2.0),
        lambda: drain(even(1.0), area=even(1.0), level_from_m=1.0, level_to_m=0.0, inflow_m3_s=-1.0),
    ],
)
def test_bodies_and_falls_that_cannot_be_are_refused(make):
    with pytest.raises(DomainError):
        make()


LEVELS = np.linspace(0.0, 3.0, 3001)
BASIN = Basin(source=tank.box(length_m=15.0, width_m=10.0), level_from_m=1.5, level_to_m=0.5)
K = 0.4 / math.sqrt(1.5)
FLOWS = FlowTable(LEVELS, np.zeros(1), (K * np.sqrt(LEVELS))[:, None])


def steady(flow: float) -> Inflow:
    return Inflow(np.zeros(1), np.array([flow]))


def test_followed_in_time_a_steady_inflow_gives_what_the_integral_gives():
    ebb = follow(FLOWS, BASIN, steady(0.2))
    fall = drain(lambda h: K * np.sqrt(h), area=even(150.0), level_from_m=1.5, level_to_m=0.5, inflow_m3_s=0.2)
    assert ebb.end is End.TARGET
    assert ebb.time_s[-1] == pytest.approx(fall.time_s[-1], rel=1e-5)
    assert ebb.moved_m3[-1] == pytest.approx(150.0 + 0.2 * ebb.time_s[-1], rel=1e-6)


def test_an_inflow_that_falls_off_by_hand():
    """A pump of 0.1 m³/s on 150 m²; 0.2 m³/s runs in for 600 s, falls evenly to nothing in 1200 s more."""
    flows = FlowTable(LEVELS, np.zeros(1), np.full((LEVELS.size, 1), 0.1))
    inflow = Inflow(np.array([0.0, 600.0, 1800.0]), np.array([0.2, 0.2, 0.0]))
    ebb = follow(flows, BASIN, inflow)
    ran_in = 0.2 * 600.0 + 0.5 * 0.2 * 1200.0
    assert ebb.end is End.TARGET
    assert ebb.time_s[-1] == pytest.approx((150.0 + ran_in) / 0.1, rel=1e-6)
    assert ebb.level_m.max() == pytest.approx(1.5 + (0.1 * 600.0 + 0.5 * 0.1 * 600.0) / 150.0, rel=1e-3)


def test_a_source_that_is_full_spills():
    flows = FlowTable(LEVELS, np.zeros(1), np.full((LEVELS.size, 1), 0.1))
    full = Basin(source=tank.pond(area_m2=150.0, full_depth_m=1.5, power=0.0), level_from_m=1.5, level_to_m=0.5)
    ebb = follow(flows, full, Inflow(np.array([0.0, 600.0, 600.001]), np.array([0.3, 0.3, 0.0])))
    assert ebb.level_m.max() == pytest.approx(1.5)
    assert ebb.time_s[-1] == pytest.approx(600.0 + 1500.0, rel=1e-3)
    assert follow(flows, full, steady(0.3)).end is End.NEVER


def test_a_level_may_settle_from_below():
    ebb = follow(FLOWS, BASIN, steady(0.5))
    assert ebb.end is End.BALANCED
    assert K * math.sqrt(ebb.level_m[-1]) == pytest.approx(0.5, rel=2e-3)
