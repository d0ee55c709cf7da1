"""The clock: falling levels against closed forms and against plain stepping with ``solve``; every end; fuel; words."""

import datetime as dt
import json
import math
from itertools import pairwise

import numpy as np
import pytest

import curvelab
from curvelab.errors import DomainError, InputError
from curvelab.hydraulics import tank
from curvelab.hydraulics.drain import End, drain
from curvelab.hydraulics.ebb import Basin, FlowTable, Inflow, follow
from curvelab.report.slow_tables import clock_text
from curvelab.studies.clock import Clock, clock
from curvelab.studies.clock_site import site_of
from curvelab.studies.clock_words import duration, time_of_day
from curvelab.units import System
from tests.unit.slow_cases import GAL, GPM, deep, demo

FT = 0.3048
ENDS = {"target", "full", "strainer", "suction", "no-lift", "balanced", "never"}


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


def stepped(setup: curvelab.Setup, steps: int = 40) -> tuple[float, float]:
    """Seconds and cubic metres until the target by steps of the level, each solved by itself (midpoint rule)."""
    site = site_of(setup, curvelab.default_catalogue())
    assert site.source is not None
    depth, lift = site.depth_m, setup.suction.lift.si
    edges = np.linspace(depth, site.lowest_m, steps + 1)
    total = moved = 0.0
    for high, low in pairwise(edges.tolist()):
        middle = 0.5 * (high + low)
        flow = curvelab.solve(setup.with_("suction.lift", f"{lift + depth - middle:.9f} m")).flow_m3_s or 0.0
        step = float(np.diff(site.source.volume(np.array([low, high])))[0]) / (flow - site.last_inflow_m3_s)
        total, moved = total + step, moved + flow * step
    return total, moved


@pytest.mark.parametrize("inflow", [None, "60 gpm"])
@pytest.mark.parametrize("name", ["mill-pond", "mill-pond-august", "seepage-pit"])
def test_the_clock_goes_as_solve_does_level_by_level(name: str, inflow: str | None):
    setup = demo(name).with_("receiver", None)
    setup = setup.with_("source.inflow", inflow)
    seconds, moved = stepped(setup)
    found = clock(setup)
    assert found.ends in {"target", "strainer"}
    assert found.duration_s == pytest.approx(seconds, rel=5e-4)
    assert found.volume_m3 == pytest.approx(moved, rel=5e-4)


def test_lift_grows_as_the_water_falls_and_an_open_end_pours_over_the_rim():
    found = clock(demo("mill-pond"))
    assert found.lift_m == pytest.approx(12 * FT + found.level_m[0] - found.level_m)
    assert found.rise_m == pytest.approx(np.full(found.rise_m.shape, 38 * FT))
    assert found.receiver_level_m[-1] == pytest.approx(8.51 * FT)


def test_under_water_the_rise_grows_with_the_tank_and_filling_takes_longer():
    above, under = clock(demo("mill-pond")), clock(demo("mill-pond").with_("outlet", {"kind": "submerged"}))
    assert under.rise_m == pytest.approx(38 * FT + under.receiver_level_m)
    assert under.ends == above.ends == "full"
    assert (under.duration_s or 0.0) > (above.duration_s or 0.0)
    assert under.volume_m3 == pytest.approx(above.volume_m3, rel=1e-6)
    assert under.volume_m3 == pytest.approx(5000 * GAL, rel=2e-3)


def test_both_levels_at_once_and_an_inflow_agree_with_the_integral_where_the_inflow_is_nothing():
    setup = demo("mill-pond").with_("outlet", {"kind": "submerged"})
    by_integral = clock(setup).duration_s
    in_time = clock(setup.with_("source.inflow", "0.001 gpm")).duration_s
    assert in_time == pytest.approx(by_integral, rel=1e-3)


def test_a_table_of_one_inflow_is_that_inflow():
    setup = demo("mill-pond").with_("receiver", None)
    table = {"time": ["0 h", "1 h"], "flow": ["60 gpm", "40 gpm"]}
    most, least = (clock(setup.with_("source.inflow", flow)).duration_s or 0.0 for flow in ("60 gpm", "40 gpm"))
    assert least < (clock(setup.with_("source.inflow", table)).duration_s or 0.0) < most


@pytest.mark.parametrize(
    ("setup", "ends"),
    [
        (demo("seepage-pit"), "target"),
        (demo("mill-pond"), "full"),
        (demo("campground-tank"), "full"),
        (demo("mill-pond").with_("receiver", None), "strainer"),
        (deep(), "suction"),
        (deep("cellar"), "suction"),
        (demo("ridge-tank"), "no-lift"),
        (demo("mill-pond-september"), "suction"),
        (deep().with_("source.inflow", "100 gpm"), "balanced"),
        (deep().with_("source.inflow", "200 gpm"), "never"),
    ],
)
def test_every_end(setup: curvelab.Setup, ends: str):
    found = clock(setup)
    assert found.ends == ends
    assert found.ends in ENDS
    open_ended = ends in {"balanced", "never"}
    assert (found.duration_s is None) == open_ended
    assert found.sentence.endswith((".", "!"))
    assert len(max(found.sentence.split(". "), key=len)) <= 160
    printed = json.dumps(found.to_dict(), allow_nan=False)
    assert json.loads(printed)["format"] == "curvelab-clock/1"
    assert found.sentence in clock_text(found, setup)
    assert (np.diff(found.time_s) >= 0.0).all()
    assert found.time_s[0] == 0.0


def test_the_head_may_give_out_on_the_way():
    """A pump below its water, pushing nearly as high as it can: each foot that the water falls counts."""
    falls = {"shape": "box", "length": "30 ft", "width": "30 ft", "depth": "40 ft"}
    setup = (
        demo("mill-pond")
        .with_("receiver", None)
        .with_("discharge.waypoint", [])
        .with_("suction.lift", "-38 ft")
        .with_("suction.leg.0.length", "60 ft")
        .with_("discharge.rise", "130 ft")
        .with_("source", falls)
    )
    found = clock(setup)
    assert found.ends == "no-lift"
    lift = 98 * FT - 130 * FT
    assert found.lift_m[-1] == pytest.approx(lift, abs=0.02)
    assert "can't lift it any higher" in found.sentence


def test_the_strainer_stands_above_the_bottom_and_wants_its_cover():
    setup = demo("mill-pond").with_("receiver", None).with_("suction.strainer_height", "1 ft")
    found = clock(setup)
    assert found.ends == "strainer"
    assert found.final_level_m == pytest.approx(2.5 * FT)
    bare = clock(demo("seepage-pit").with_("suction.strainer_height", "6 in"))
    assert (bare.ends, bare.final_level_m) == ("strainer", pytest.approx(0.5 * FT))


def test_a_stop_above_the_strainers_cover_is_the_target():
    found = clock(demo("mill-pond").with_("receiver", None).with_("source.stop", "2 ft"))
    assert (found.ends, found.final_level_m) == ("target", pytest.approx(2 * FT))


def test_a_suction_hose_that_is_too_short_to_follow_ends_it():
    found = clock(deep().with_("suction.leg.0.length", "20 ft"))
    assert found.ends == "strainer"
    assert found.lift_m[-1] == pytest.approx(20 * FT)
    assert "as far as the suction hose reaches" in found.sentence


def test_a_pump_goes_on_at_its_suction_limit_and_says_from_when():
    found = clock(deep())
    starved = found.starved_from_s
    assert starved is not None
    lift = float(np.interp(starved, found.time_s, found.lift_m))
    setup = demo("mill-pond").with_("suction.leg.0.length", "60 ft")
    states = [curvelab.solve(setup.with_("suction.lift", f"{lift + more:.6f} m")).state for more in (-0.05, 0.05)]
    assert states == ["thin", "cavitating"]


def test_it_is_not_over_while_it_still_gives_a_thousandth():
    found = clock(deep())
    assert found.flow_m3_s[-1] >= 1e-3 * found.flow_m3_s[0]
    assert found.flow_m3_s[-1] <= 0.02 * found.flow_m3_s[0]


def test_what_it_can_hold_is_where_balanced_begins():
    setup = demo("seepage-pit")
    most = clock(setup).greatest_inflow_m3_s
    assert most is not None
    under, over = (clock(setup.with_("source.inflow", f"{most * f * 1e3 * 60:.6f} L/min")) for f in (0.999, 1.001))
    assert (under.ends, over.ends) == ("target", "balanced")
    assert clock(setup).duty_share == pytest.approx(12 * 4.54609e-3 / 60 / most, rel=1e-6)
    assert over.duty_share == 1.0


def test_a_cellar_may_not_be_emptied_faster_than_its_walls_stand():
    """A foot a day on 1000 ft², 15 gal/min running in: 20.2 gal/min, for five and a half days."""
    found = clock(demo("cellar"))
    assert found.duration_s == pytest.approx(5.5 * 86400.0)
    flow = 1000 * FT**2 * FT / 86400.0 + 15 * GPM
    assert found.flow_m3_s == pytest.approx(np.full(found.flow_m3_s.shape, flow))
    assert found.running_s is not None
    assert found.volume_m3 == pytest.approx(flow * 5.5 * 86400.0)
    assert found.running_s == pytest.approx(5.5 * 86400.0 * flow / 6.1e-3, rel=0.03)  # 6.04 to 6.25 L/s unthrottled
    assert "of pumping a day" in found.sentence


def test_fuel_is_power_times_time_and_the_tank_runs_dry_in_even_parts():
    setup = demo("mill-pond").with_("receiver", None)
    found = clock(setup)
    result = curvelab.solve(setup)
    assert result.shaft_power_w is not None
    assert found.duration_s is not None
    by_hand = result.shaft_power_w * found.duration_s * 0.6e-3 / 3.6e6
    assert found.fuel_m3 == pytest.approx(by_hand, rel=0.02)
    assert found.refuels == len(found.fuel_stops_s) == math.ceil((found.fuel_m3 or 0.0) / (1.4 * GAL)) - 1
    assert found.first_refuel_s == found.fuel_stops_s[0]
    assert np.diff(found.fuel_stops_s) == pytest.approx(found.fuel_stops_s[0], rel=0.03)


def test_a_pump_that_stops_beyond_its_priming_lift_does_not_start_again():
    codes = {warn.code for warn in clock(deep()).warnings}
    assert "cannot-restart" in codes
    with_valve = deep().with_("suction.leg.0.fittings", {"foot-valve": 1})
    assert "cannot-restart" not in {warn.code for warn in clock(with_valve).warnings}
    assert not clock(demo("mill-pond")).warnings


def test_a_pump_without_suction_figures_gives_out_where_it_no_longer_draws():
    setup = deep("cellar")
    found = clock(setup)
    reach = curvelab.solve(setup).priming_lift_m
    assert found.ends == "suction"
    assert found.lift_m[-1] == pytest.approx(reach, abs=0.02)
    assert {warn.code for warn in found.warnings} == {"perhaps-starved"}


def test_two_pumps_side_by_side_are_done_sooner_and_have_two_tanks():
    one = demo("mill-pond").with_("receiver", None).with_("suction.leg.0.abreast", 2)
    single, pair = clock(one), clock(one.with_("pump.abreast", 2))
    assert (pair.duration_s or 0.0) < (single.duration_s or 0.0)
    assert pair.fuel_m3 is not None
    assert pair.refuels == math.ceil(pair.fuel_m3 / (2 * 1.4 * GAL)) - 1


def test_of_unlike_pumps_and_pumps_in_the_line_nobody_can_tell_the_fuel():
    setup = demo("mill-pond").with_("receiver", None)
    for several in (
        setup.with_("pump.beside", [{"id": "linnet-2"}]),
        setup.with_("booster", [{"id": "ferrow-3", "distance": "150 ft"}]),
    ):
        found = clock(several)
        assert found.fuel_m3 is found.refuels is None
        assert "fuel-unknown" in {warn.code for warn in found.warnings}
        assert (found.duration_s or 0.0) < (clock(setup).duration_s or 0.0)


@pytest.mark.parametrize(("time", "met"), [("35 min", True), ("20 min", False)])
def test_a_volume_in_a_time_is_the_flow_that_it_takes(time: str, met: object):
    goal = {"volume": "5000 gal", "time": time}
    setup = demo("mill-pond").with_("receiver", None).with_("source", None).with_("goal", goal)
    found = clock(setup).goal
    assert found is not None
    flow = curvelab.solve(setup).flow_m3_s
    assert flow is not None
    assert found.flow_m3_s == pytest.approx(5000 * GAL / (float(time.split(maxsplit=1)[0]) * 60.0))
    assert found.given_m3_s == pytest.approx(flow)
    assert found.reached_s == pytest.approx(5000 * GAL / flow)
    assert found.met is met


def test_a_goal_that_the_water_does_not_last_for_is_not_met():
    setup = demo("mill-pond").with_("receiver", None).with_("goal", {"volume": "70000 gal", "time": "12 h"})
    found = clock(setup)
    assert found.goal is not None
    assert not found.goal.met
    assert found.goal.reached_s is None
    assert "the water doesn't last" in found.sentence


def test_nothing_to_empty_or_to_fill_is_said():
    with pytest.raises(InputError) as raised:
        clock(demo("box-figure"))
    assert raised.value.faults[0].field == "source"


def test_the_sentence_a_customer_wants():
    setup = demo("mill-pond").with_("receiver", None)
    assert clock(setup).sentence.startswith(
        "Down to 1.5 ft (the least over the strainer) in about 5 h 15 min, 3 refuels."
    )
    said = clock(setup, start=dt.datetime(2026, 6, 1, 10, 40)).sentence  # noqa: DTZ001 (a wall clock has no zone)
    assert "by about 4 pm: 5 h 15 min, 3 refuels." in said
    assert clock(demo("seepage-pit")).sentence.startswith("Empty in about 15 min, no refuel.")


@pytest.mark.parametrize(
    ("hours", "units", "said"),
    [
        (5.0, System.US, "3:10 pm"),
        (5.0, System.METRIC, "15:10"),
        (1.81, System.METRIC, "12:00"),
        (1.81, System.US, "12 pm"),
        (20.0, System.METRIC, "6:10 the next day"),
        (60.0, System.METRIC, "22:10 on Wednesday"),
        (24.0 * 9, System.METRIC, "10:10 on 10 June"),
    ],
)
def test_time_of_day(hours: float, units: System, said: str):
    start = dt.datetime(2026, 6, 1, 10, 10)  # noqa: DTZ001
    assert time_of_day(start, hours * 3600.0, units) == said


@pytest.mark.parametrize(
    ("seconds", "said"),
    [(90.0, "90 s"), (3600.0, "60 min"), (19000.0, "5 h 15 min"), (2e5, "2.3 days"), (86400.0 * 30, "30 days")],
)
def test_durations(seconds: float, said: str):
    assert duration(seconds) == said


def test_what_the_file_holds_is_what_the_object_holds():
    found = clock(demo("mill-pond"))
    out = found.to_dict()
    assert isinstance(found, Clock)
    for name in ("time_s", "level_m", "flow_m3_s", "lift_m", "receiver_level_m", "rise_m"):
        assert len(out[name]) == found.time_s.size
    assert next(iter(out)) == "format"
    assert clock(demo("campground-tank")).to_dict()["level_m"][0] is None
