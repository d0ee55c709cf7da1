"""The clock against plain stepping with ``solve``: every end, limits, goal, words."""

import datetime as dt
import json
import math
from itertools import pairwise

import numpy as np
import pytest

import curvelab
from curvelab.errors import InputError
from curvelab.report.slow_tables import clock_text
from curvelab.studies.clock import Clock, clock
from curvelab.studies.clock_site import site_of
from curvelab.studies.clock_words import duration, time_of_day
from curvelab.studies.times import times
from curvelab.units import System
from tests.unit.slow_cases import GAL, GPM, deep, demo

FT = 0.3048
ENDS = {"target", "full", "strainer", "suction", "no-lift", "balanced", "never"}


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


def test_what_happens_on_the_way_is_marked_by_time():
    all_of_it = times(deep())
    found, marks = all_of_it.emptied, all_of_it.events
    assert found is not None
    assert [mark.time_s for mark in marks] == sorted(mark.time_s for mark in marks)
    assert (marks[-1].code, marks[-1].time_s) == ("suction", found.duration_s)
    assert sum(mark.code == "refuel" for mark in marks) == found.refuels
    assert next(mark for mark in marks if mark.code == "starved").time_s == found.starved_from_s
    assert next(mark for mark in marks if mark.code == "water").time_s == all_of_it.first_water_s


def test_steps_of_the_inflow_and_the_end_of_a_rate_are_marked():
    steps = {"time": ["0 h", "1 h", "2 h"], "flow": ["0 gpm", "20 gpm", "10 gpm"]}
    marks = times(demo("mill-pond").with_("receiver", None).with_("source.inflow", steps)).events
    assert [mark.time_s for mark in marks if mark.code == "inflow"] == [3600.0, 7200.0]
    assert clock(demo("mill-pond")).held_s is None


def test_a_rate_holds_the_flow_back_from_where_the_level_would_fall_faster():
    """A pond narrows towards its bottom: at 10 ft a day the pump's own flow is too much from 10 = Q / A(h) on."""
    pond = demo("mill-pond").with_("receiver", None).with_("source.fastest", "10 ft/day")
    found = times(pond)
    assert found.emptied is not None
    assert found.emptied.held_s is not None
    begins, ends = found.emptied.held_s
    assert ends == found.emptied.duration_s
    assert [mark.time_s for mark in found.events if mark.code in {"held", "eased"}] == [begins]
    level, lift = (
        float(np.interp(begins, found.emptied.time_s, column))
        for column in (found.emptied.level_m, found.emptied.lift_m)
    )
    flow = curvelab.solve(pond.with_("suction.lift", f"{lift} m")).flow_m3_s
    area = 4200 * FT**2 * level / (4.25 * FT)
    assert flow == pytest.approx(area * 10 * FT / 86400, rel=0.02)


def test_a_brim_full_pond_with_more_running_in_runs_over():
    """By hand: down a little in the first hour, back at its brim when what came in since makes that good."""
    steps = {"time": ["0 h", "1 h", "2 h", "3 h"], "flow": ["0 gpm", "0 gpm", "900 gpm", "0 gpm"]}
    pond = demo("mill-pond").with_("receiver", None).with_("source.inflow", steps)
    found = times(pond)
    over = next(mark.time_s for mark in found.events if mark.code == "spills")
    assert found.emptied is not None
    flow = curvelab.solve(pond).flow_m3_s or 0.0
    rate = (
        900 * GPM / 3600.0
    )  # of the inflow, from 1 h on; back at the brim when rate x² / 2 has made up for flow (1 h + x)
    x = (flow + math.sqrt(flow**2 + 2.0 * rate * flow * 3600.0)) / rate
    assert over == pytest.approx(3600.0 + x, rel=0.03)
    assert not any(mark.code == "spills" for mark in times(demo("mill-pond")).events)


def test_tank_and_pond_each_have_their_clock():
    both = times(demo("mill-pond"))
    assert both.emptied == clock(demo("mill-pond").with_("receiver", None), start=dt.time(9))
    assert both.filled == clock(demo("mill-pond"), start=dt.time(9))
    assert both.course is both.emptied
    only = times(demo("fertiliser"))
    assert only.emptied is None
    assert only.filled is not None
    neither = times(demo("box-figure"))
    assert neither.course is neither.emptied is neither.filled is None
    assert neither.first_water_s is not None
    assert times(demo("mill-pond-september")).events == ()


def test_the_sentence_a_customer_wants():
    setup = demo("mill-pond").with_("receiver", None)
    assert clock(setup).sentence.startswith(
        "Mill pond is down to 18 in (the least over the strainer) in about 5 h 15 min, 3 refuels."
    )
    nine = "in about 5 h 15 min: about 2:15 pm if you start at 9 am, 3 refuels."
    assert nine in clock(setup, start=dt.time(9)).sentence
    assert nine in clock(setup.with_("job.start", "9:00")).sentence
    assert "if you start" not in clock(demo("cellar"), start=dt.time(9)).sentence, "it takes days"
    said = clock(setup, start=dt.datetime(2026, 6, 1, 10, 40)).sentence  # noqa: DTZ001 (a wall clock has no zone)
    assert "by about 3:55 pm: 5 h 15 min, 3 refuels." in said
    assert clock(demo("seepage-pit")).sentence.startswith("The pit is empty in about 15 min, no refuel.")


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
