"""The fuel of the clock: of one engine by hand, of several against the power study, refuels, what isn't sure."""

import json
import math

import numpy as np
import pytest

import curvelab
from curvelab.report.slow_tables import clock_text
from curvelab.studies.clock import clock
from curvelab.studies.power import power_of
from tests.unit.slow_cases import GAL, demo

POND = demo("mill-pond").with_("receiver", None)
UNLIKE = POND.with_("pump.beside", [{"id": "linnet-2"}])
IN_LINE = POND.with_("pump.throttle", 0.9).with_("booster", [{"id": "ferrow-3", "distance": "150 ft", "throttle": 0.8}])


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


def test_two_pumps_side_by_side_are_done_sooner_and_have_two_tanks():
    one = demo("mill-pond").with_("receiver", None).with_("suction.leg.0.abreast", 2)
    single, pair = clock(one), clock(one.with_("pump.abreast", 2))
    assert (pair.duration_s or 0.0) < (single.duration_s or 0.0)
    assert pair.fuel_m3 is not None
    assert pair.refuels == math.ceil(pair.fuel_m3 / (2 * 1.4 * GAL)) - 1


@pytest.mark.parametrize("setup", [UNLIKE, IN_LINE])
def test_each_of_several_engines_burns_what_it_burns_at_its_own_flow_at_every_level(setup: curvelab.Setup):
    """Against the fuel an hour of the power study, asked level by level, between the times of the clock."""
    found = clock(setup)
    lift = setup.suction.lift.si
    rates: list[list[float]] = []
    for level in found.level_m[::16].tolist():
        at = power_of(setup.with_("suction.lift", f"{lift + found.level_m[0] - level:.9f} m"))
        rates.append([one.fuel_m3_s or math.nan for one in at.pumps])
    by_hand = np.trapezoid(np.array(rates), found.time_s[::16], axis=0)
    assert [one.fuel_m3 for one in found.pump_fuel] == pytest.approx(by_hand.tolist(), rel=2e-3)
    assert found.fuel_m3 == pytest.approx(by_hand.sum(), rel=2e-3)
    assert found.pump_fuel[0].fuel_m3 != pytest.approx(found.pump_fuel[1].fuel_m3 or 0.0, rel=0.1)
    assert [one.place for one in found.pump_fuel] == ["water", "beside" if setup is UNLIKE else "line"]
    assert {"fuel-unknown", "fuel-estimate"}.isdisjoint(warn.code for warn in found.warnings)


def test_whoever_refuels_fills_every_tank_so_that_the_one_soonest_dry_tells_when():
    found = clock(UNLIKE)
    hourly = power_of(UNLIKE).pumps
    soonest = min((one.tank_m3 or math.inf) / (one.fuel_m3_s or math.nan) for one in hourly)
    assert found.first_refuel_s == pytest.approx(soonest, rel=0.02)
    assert np.diff([0.0, *found.fuel_stops_s]) == pytest.approx(found.fuel_stops_s[0], rel=0.02)
    assert found.refuels == math.ceil((found.duration_s or 0.0) / soonest) - 1 == 2


def test_two_equal_pumps_burn_alike_however_they_are_written():
    pair, beside = clock(POND.with_("pump.abreast", 2)), clock(POND.with_("pump.beside", [{"id": "ferrow-3"}]))
    assert beside.fuel_m3 == pytest.approx(pair.fuel_m3, rel=1e-4)
    assert beside.fuel_stops_s == pytest.approx(pair.fuel_stops_s, rel=1e-4)
    assert "fuel, Ferrow 3 beside it" in clock_text(beside, POND)
    assert "fuel, Ferrow 3" not in clock_text(clock(POND), POND)


def test_a_pump_that_the_others_push_back_turns_on_and_burns_at_a_guess():
    slow = POND.with_("pump.beside", [{"id": "ferrow-3", "throttle": 0.5}])
    assert curvelab.solve(slow).pumps[1].flow_m3_s == 0.0
    found = clock(slow)
    assert 0.0 < (found.pump_fuel[1].fuel_m3 or 0.0) < 0.5 * (found.pump_fuel[0].fuel_m3 or 0.0)
    assert "fuel-estimate" in {warn.code for warn in found.warnings}


def test_where_one_of_them_does_not_say_what_it_burns_the_others_still_do():
    record = curvelab.default_catalogue().pumps["linnet-2"]
    assert record.engine is not None
    silent = record.model_copy(update={"engine": record.engine.model_copy(update={"consumption": None})})
    beside = UNLIKE.pump.beside[0].model_copy(update={"id": None, "record": silent})
    found = clock(UNLIKE.model_copy(update={"pump": UNLIKE.pump.model_copy(update={"beside": (beside,)})}))
    assert found.fuel_m3 is found.refuels is None
    assert "fuel-unknown" in {warn.code for warn in found.warnings}
    assert found.pump_fuel[0].fuel_m3 == pytest.approx(clock(UNLIKE).pump_fuel[0].fuel_m3)
    assert found.pump_fuel[1].fuel_m3 is None
    assert json.loads(json.dumps(found.to_dict()))["pump_fuel"][1]["fuel_m3"] is None


def test_a_guess_at_what_the_engine_burns_is_called_one():
    setup = demo("mill-pond")
    record = curvelab.default_catalogue().pumps["ferrow-3"]
    assert record.engine is not None
    guessed = record.model_copy(update={"engine": record.engine.model_copy(update={"estimate": True})})
    pump = setup.pump.model_copy(update={"id": None, "record": guessed})
    assert [warn.code for warn in clock(setup.model_copy(update={"pump": pump})).warnings] == ["fuel-guess"]
