"""Power, fuel, the speed held, heat, first water, loads, siphons, nozzles: by hand or by ``solve`` at that setting."""

import json
import math

import numpy as np
import pytest

import curvelab
from curvelab.errors import InputError
from curvelab.hydraulics.outlets import siphon_velocity
from curvelab.hydraulics.water import kinematic_viscosity
from curvelab.report.slow_tables import carry_text, feeds_text, power_text, siphon_text
from curvelab.studies.carry import ONE_PERSON_KG, carry
from curvelab.studies.engines import HOT_K, power_curves
from curvelab.studies.feeds import CAUTION, feeds
from curvelab.studies.power import DAY_S, held_speed, power_of
from curvelab.studies.siphon import siphon
from tests.unit.slow_cases import GAL, GPM, demo

FT, PSI, LB = 0.3048, 6894.757293168, 0.45359237
CATALOGUE = curvelab.default_catalogue()


def test_an_engine_with_power_to_spare_holds_its_speed():
    held = held_speed(demo("mill-pond"))
    plain = curvelab.solve(demo("mill-pond"))
    assert held.full
    assert (held.throttle, held.flow_m3_s) == (1.0, plain.flow_m3_s)
    assert held.speed_per_s == pytest.approx(60.0)


def test_short_of_power_it_slows_to_where_the_pump_asks_what_the_engine_still_gives():
    setup = demo("high-camp")
    held = held_speed(setup)
    assert not held.full
    assert 0.4 < held.throttle < 1.0
    slower = curvelab.solve(setup.with_("pump.throttle", f"{held.throttle:.9f}"))
    assert slower.flow_m3_s == pytest.approx(held.flow_m3_s, rel=1e-6)
    rated = curvelab.solve(setup).engine_available_w
    assert rated is not None
    assert slower.shaft_power_w == pytest.approx(rated * held.throttle, rel=1e-3)
    assert held.engine_available_w == pytest.approx(rated * held.throttle)
    faster = curvelab.solve(setup.with_("pump.throttle", f"{held.throttle * 1.005:.9f}"))
    assert (faster.shaft_power_w or 0.0) > rated * held.throttle * 1.005
    assert "short of power" in held.sentence


def test_higher_ground_holds_less_speed():
    speeds = [
        held_speed(demo("high-camp").with_("site.altitude", f"{height} ft")).throttle for height in (0, 4000, 8000)
    ]
    assert speeds == sorted(speeds, reverse=True)
    assert speeds[0] > speeds[2]


def test_what_is_not_known_of_the_engine_is_asked_for():
    setup = demo("mill-pond")
    record = CATALOGUE.pumps["ferrow-3"].model_copy(update={"engine": None})
    bare = setup.model_copy(update={"pump": setup.pump.model_copy(update={"id": None, "record": record})})
    with pytest.raises(InputError) as raised:
        held_speed(bare)
    assert raised.value.faults[0].field == "pump"
    found = power_of(bare)
    assert found.held is found.fuel_m3_s is found.tank_s is None


def test_fuel_and_hours_a_tank_by_hand():
    found, plain = power_of(demo("mill-pond")), curvelab.solve(demo("mill-pond"))
    assert plain.shaft_power_w is not None
    litres_an_hour = plain.shaft_power_w / 1000.0 * 0.6
    assert found.fuel_m3_s == pytest.approx(litres_an_hour * 1e-3 / 3600.0)
    assert found.tank_s == pytest.approx(1.4 * GAL / (litres_an_hour * 1e-3) * 3600.0)
    assert found.engine_rated_w == pytest.approx(10 * 745.69987158)


def test_a_pump_with_its_end_shut_is_hot_within_minutes():
    """At its first tested flow, 60 gal/min at 96.5 ft and 31 %: 3.52 kW into 5 L from 55 °F."""
    found = power_of(demo("mill-pond"))
    shaft = 60 * GPM * 96.5 * FT * 9.80665 * 999.4 / 0.31
    assert found.dead_head_power_w == pytest.approx(shaft, rel=1e-3)
    start = (55 + 459.67) / 1.8
    assert found.hot_s == pytest.approx(5.0 * 0.9994 * 4186.0 * (HOT_K - start) / shaft, rel=1e-3)
    assert found.boil_s is not None
    assert found.hot_s is not None
    assert found.boil_s == pytest.approx(5.0 * 0.9994 * 4186.0 * (97.9 + 273.15 - start) / shaft, rel=0.01)
    assert found.hot_s < found.boil_s
    slow = power_of(demo("mill-pond").with_("pump.throttle", "0.8"))
    assert slow.hot_s == pytest.approx(found.hot_s / 0.8**3, rel=1e-6)


def test_pumps_side_by_side_share_the_work_and_each_heats_its_own_body():
    one = demo("mill-pond").with_("suction.leg.0.abreast", 2)
    pair, plain = power_of(one.with_("pump.abreast", 2)), curvelab.solve(one.with_("pump.abreast", 2))
    assert plain.shaft_power_w is not None
    assert pair.hot_s == pytest.approx(power_of(one).hot_s)
    assert pair.tank_s == pytest.approx(2 * 1.4 * GAL / (plain.shaft_power_w * 0.6e-3 / 3.6e6))
    in_line = one.with_("booster", [{"id": "linnet-2", "distance": "150 ft"}])
    assert [load.what for load in carry(in_line).loads][:2] == ["Ferrow 3", "Linnet 2"]
    assert carry(one.with_("pump.abreast", 2)).loads[0].count == 2


def in_line() -> curvelab.Setup:
    heavy = demo("ridge-tank").with_("discharge.leg.0.hose", "lay-flat-heavy")
    return heavy.with_("booster.0", {"id": "ferrow-3", "distance": "50 ft"})


def test_a_pump_in_the_line_has_an_engine_a_tank_and_a_share_of_its_own():
    """Two equal pumps at one flow ask the same of their engines: by ``solve`` of one of them at that flow."""
    setup = in_line()
    found, plain = power_of(setup), curvelab.solve(setup)
    first, second = found.pumps
    assert (first.place, second.place) == ("water", "line")
    assert first.shaft_power_w == pytest.approx(plain.shaft_power_w)
    assert second.shaft_power_w == pytest.approx(plain.shaft_power_w)
    assert second.distance_m == pytest.approx(50 * FT)
    assert plain.shaft_power_w is not None
    each = plain.shaft_power_w * 0.6e-3 / 3.6e6
    assert (first.fuel_m3_s, second.fuel_m3_s) == (pytest.approx(each), pytest.approx(each))
    assert found.fuel_m3_s == pytest.approx(2 * each)
    assert found.day_fuel_m3 == pytest.approx(2 * each * DAY_S)
    assert found.tank_s == pytest.approx(1.4 * GAL / each)
    json.dumps(found.to_dict(), allow_nan=False)


def test_unlike_pumps_side_by_side_ask_what_their_sheets_say_at_their_own_flow():
    setup = demo("mill-pond").with_("pump.beside", [{"id": "linnet-3"}]).with_("suction.leg.0.abreast", 2)
    found, plain = power_of(setup), curvelab.solve(setup)
    assert plain.head_m is not None
    for one, share in zip(found.pumps, plain.pumps, strict=True):
        points = CATALOGUE.pumps[one.id].efficiency
        assert points is not None
        assert one.flow_m3_s == pytest.approx(share.flow_m3_s)
        eta = float(np.interp(one.flow_m3_s, points.flow_m3_s, points.values_si))
        by_hand = 999.4 * 9.80665 * one.flow_m3_s * plain.head_m / eta
        assert one.shaft_power_w == pytest.approx(by_hand, rel=0.03)  # straight lines between the sheet's points
    assert sum(one.shaft_power_w or 0.0 for one in found.pumps) == pytest.approx(plain.shaft_power_w, rel=0.01)


def test_a_pump_that_is_pushed_back_asks_nothing_known():
    found = power_of(demo("mill-pond").with_("pump.beside", [{"id": "damson-2d"}]))
    assert (found.pumps[1].flow_m3_s, found.pumps[1].shaft_power_w) == (0.0, None)
    assert found.fuel_m3_s is None


def test_an_engine_breathes_the_air_and_not_the_water():
    """One per cent for each 10 °F over 60 °F: 100 °F of air costs 4 %, and 140 °F of water nothing."""
    mild = demo("mill-pond").with_("site.air_temperature", "60 degF")
    held = power_of(mild).engine_available_w
    assert held is not None
    assert power_of(mild.with_("site.air_temperature", "100 degF")).engine_available_w == pytest.approx(0.96 * held)
    warm = mild.with_("suction.lift", "2 ft").with_("site.temperature", "100 degF")
    assert power_of(warm).engine_available_w == pytest.approx(held)
    assert power_of(mild.with_("site.air_temperature", "10 degF")).engine_available_w == pytest.approx(held)


def test_the_curve_of_power_goes_through_what_a_solve_asks():
    setup = demo("mill-pond")
    found, plain = power_of(setup), curvelab.solve(setup)
    (curve,) = power_curves(setup, CATALOGUE, found.pumps)
    assert plain.flow_m3_s is not None
    assert np.interp(plain.flow_m3_s, curve.flow_m3_s, curve.shaft_power_w) == pytest.approx(
        plain.shaft_power_w, rel=1e-3
    )
    slow = setup.with_("pump.throttle", "0.8")
    (slower,) = power_curves(slow, CATALOGUE, power_of(slow).pumps)
    assert slower.flow_m3_s[-1] == pytest.approx(0.8 * curve.flow_m3_s[-1])
    assert slower.shaft_power_w[-1] == pytest.approx(0.8**3 * curve.shaft_power_w[-1])


def test_hot_water_is_hot_at_once_and_a_diaphragm_pump_stalls():
    assert power_of(demo("mill-pond").with_("site.temperature", "62 degC").with_("suction.lift", "-2 ft")).hot_s == 0.0
    assert power_of(demo("seepage-pit")).hot_s is None


def test_first_water_is_priming_and_then_the_hose():
    setup = demo("mill-pond")
    found, plain = power_of(setup), curvelab.solve(setup)
    assert found.fill_s is not None
    assert plain.prime_time_s is not None
    assert found.fill_s == pytest.approx(300 * FT * math.pi / 4 * (3.0 * 0.0254) ** 2 / (plain.flow_m3_s or 0.0))
    assert found.prime_s == plain.prime_time_s > 0.0
    assert found.first_water_s == pytest.approx(plain.prime_time_s + found.fill_s)
    valve = power_of(setup.with_("suction.leg.0.fittings", {"foot-valve": 1}))
    assert valve.prime_s == 0.0
    assert valve.prime_dry_s == pytest.approx(found.prime_dry_s) == pytest.approx(plain.prime_time_s)
    assert power_of(demo("mill-pond-september")).prime_dry_s is None
    assert valve.first_water_s == valve.fill_s
    assert power_of(demo("cellar").with_("pump.id", "rill-1")).first_water_s is None
    assert power_of(demo("ridge-tank")).fill_s is None


def test_power_says_it_in_words_and_numbers():
    setup = demo("mill-pond")
    found = power_of(setup)
    assert "(estimate)" in found.sentence
    assert found.sentence in power_text(found, setup)
    assert json.loads(json.dumps(found.to_dict(), allow_nan=False))["format"] == "curvelab-power/1"
    assert found.held is not None
    assert found.held.to_dict()["full"] is True


def test_loads_by_hand_and_who_carries_them():
    found = carry(demo("mill-pond"))
    pump, suction, discharge = found.loads
    assert pytest.approx(51 * LB) == ONE_PERSON_KG
    assert (pump.empty_kg, pump.people) == (61.0, 3)
    assert pump.full_kg == pytest.approx(61.0 + 1.4 * GAL * 745.0)
    assert (suction.count, suction.people) == (1, 2 if suction.empty_kg > ONE_PERSON_KG else 1)
    assert (discharge.count, discharge.people) == (3, 1)
    assert discharge.empty_kg == pytest.approx(42 * LB)
    water = 999.4 * 100 * FT * math.pi / 4 * (3.0 * 0.0254) ** 2
    assert discharge.full_kg == pytest.approx(42 * LB + water, rel=1e-4)
    assert found.two_people_kg == pytest.approx(102 * LB)
    assert "drain it first" in found.sentence
    assert found.caution in carry_text(found, demo("mill-pond"))


def test_what_nobody_weighed_is_named():
    leg = {"bore": "3 in", "roughness": "0.05 mm", "length": "20 ft"}
    found = carry(demo("mill-pond").with_("suction.leg.0", leg))
    assert found.unknown == ("suction hose",)
    assert "No mass stated: suction hose" in carry_text(found, demo("mill-pond"))
    json.dumps(found.to_dict(), allow_nan=False)


def pipe(rise: str = "-8 ft", crest: str = "12 ft") -> curvelab.Setup:
    """The upper pond over the bank in rigid pipe of 3 in, its suction of the same bore."""
    bank = [{"distance": "130 ft", "height": crest}]
    bore = {"bore": "3 in", "roughness": "0.05 mm", "rigid": True}
    return (
        demo("siphon")
        .with_("discharge.rise", rise)
        .with_("discharge.waypoint", bank)
        .with_("suction.leg.0", {**bore, "length": "20 ft", "k": 1.0})
        .with_("discharge.leg.0", {**bore, "length": "300 ft"})
    )


def test_a_siphon_runs_as_its_drop_and_its_pipe_let_it():
    setup = pipe()
    found = siphon(setup)
    assert found.runs
    assert found.drop_m == pytest.approx(2 * FT)
    viscosity = float(kinematic_viscosity((55 + 459.67) / 1.8))
    speed = siphon_velocity(
        2 * FT, length_m=320 * FT, bore_m=0.0762, roughness_m=5e-5, kinematic_viscosity_m2_s=viscosity, k=2.0
    )
    assert found.flow_m3_s == pytest.approx(float(speed) * math.pi / 4 * 0.0762**2, rel=1e-5)


def test_the_crest_is_where_the_pressure_is_least():
    found = siphon(pipe())
    assert found.crest_gauge_pa is not None
    level = 999.4 * 9.80665 * 18 * FT  # 12 ft over a pump that stands 6 ft over the water
    assert found.crest_gauge_pa < -level
    assert found.crest_gauge_pa == pytest.approx(-level, rel=0.1)


@pytest.mark.parametrize(
    ("setup", "because"),
    [
        (demo("mill-pond"), "shape"),
        (demo("siphon").with_("discharge.leg.0.hose", "lay-flat-light"), "shape"),
        (pipe(rise="-6 ft"), "drop"),
        (pipe(rise="4 ft"), "drop"),
        (pipe(crest="26 ft"), "crest"),
        (pipe().with_("outlet", {"kind": "pressure", "pressure": "1 psi"}), "outlet"),
    ],
)
def test_why_it_does_not_run_by_itself(setup: curvelab.Setup, because: str):
    found = siphon(setup)
    assert not found.runs
    assert (found.flow_m3_s, found.because) == (None, because)
    assert found.sentence in siphon_text(found, setup)
    json.dumps(found.to_dict(), allow_nan=False)


def test_a_crest_that_breaks_wide_open_may_hold_with_the_outlet_throttled():
    setup = pipe(rise="-60 ft", crest="16 ft")
    found = siphon(setup)
    assert found.because == "crest"
    assert found.throttled_m3_s is not None
    higher = siphon(pipe(rise="-60 ft", crest="17 ft"))
    assert higher.throttled_m3_s is not None
    assert higher.throttled_m3_s < found.throttled_m3_s
    assert "throttled" in found.sentence


def test_a_siphon_works_out_of_what_the_pump_was():
    """The pump's ports are out of the line: another pump changes nothing."""
    other = pipe().with_("pump.id", "ferrow-4")
    assert siphon(other).flow_m3_s == pytest.approx(siphon(pipe()).flow_m3_s, rel=1e-9)


def test_sprinklers_are_fed_as_solve_feeds_them():
    setup = demo("young-trees").with_(
        "outlet", {"kind": "sprinklers", "count": 12, "flow": "5 gpm", "pressure": "25 psi"}
    )
    found = feeds(setup)
    assert 1 <= found.most < 30
    for count in (found.most, found.most + 1):
        result = curvelab.solve(setup.with_("outlet.count", str(count)))
        each = (result.flow_m3_s or 0.0) / count
        assert (each >= 5 * GPM) == (count <= found.most)
        assert found.rows[count - 1].each_m3_s == pytest.approx(each, rel=1e-9)
        assert found.rows[count - 1].pressure_pa == pytest.approx(25 * PSI * (each / (5 * GPM)) ** 2, rel=1e-6)
    assert found.rows[0].reaction_n is None
    assert found.caution == ""


def test_an_ordinary_pump_feeds_no_sprinkler_that_asks_50_psi():
    found = feeds(demo("young-trees"))
    assert found.most == 0
    assert found.sentence.startswith("This pump can't feed one of these sprinklers at 50 psi.")


def test_a_nozzle_pushes_back_by_the_fire_services_rule():
    found = feeds(demo("wash-down"), pressure_pa=40 * PSI)
    assert found.most == 1
    row = found.rows[0]
    assert row.pressure_pa is not None
    assert row.reaction_n is not None
    assert row.reaction_n / LB / 9.80665 == pytest.approx(1.57 * 0.5**2 * row.pressure_pa / PSI, rel=2e-3)
    assert row.pressure_pa / PSI == pytest.approx((row.each_m3_s or 0.0) ** 2 / (GPM * 29.7 * 0.25) ** 2, rel=3e-3)
    assert found.caution == CAUTION.format(limit="60 lb")
    assert found.caution in feeds_text(found, demo("wash-down"))
    json.dumps(found.to_dict(), allow_nan=False)


def test_more_nozzles_get_less_each_and_more_together():
    rows = feeds(demo("wash-down")).rows
    each = np.array([row.each_m3_s for row in rows], dtype=float)
    together = np.array([row.flow_m3_s for row in rows], dtype=float)
    assert (np.diff(each) < 0.0).all()
    assert (np.diff(together) > 0.0).all()


def test_an_open_end_feeds_nothing():
    with pytest.raises(InputError) as raised:
        feeds(demo("mill-pond"))
    assert raised.value.faults[0].field == "outlet.kind"
