"""Several pumps: heads add in line, flows add side by side, and every route to the same group gives the same answer."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from curvelab.errors import InputError
from curvelab.hydraulics.constants import G
from curvelab.hydraulics.friction import gradient
from curvelab.model.catalogue import default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.result import Result, State
from curvelab.studies.run import run_of
from curvelab.studies.several import relay
from curvelab.studies.solve import solve, solved

FLEET = ("ferrow-3", "linnet-3", "sedge-3", "ferrow-4", "linnet-2")


def pond(name: str = "mill-pond") -> Setup:
    return default_catalogue().setups[name]


def head_of(pump: str, flow_m3_s: float) -> float:
    """Head of a pump's sheet at a flow, straight from its points by SciPy."""
    from scipy.interpolate import PchipInterpolator

    points = default_catalogue().pumps[pump].head
    return float(PchipInterpolator(points.flow_m3_s, points.values_si)(flow_m3_s))


def parts(result: Result) -> float:
    return sum(part.head_m for part in result.ledger)


def test_two_equal_pumps_side_by_side_each_carry_half():
    result = solve(pond().with_("pump.abreast", 2))
    assert result.flow_m3_s is not None
    assert result.head_m == pytest.approx(head_of("ferrow-3", result.flow_m3_s / 2.0), rel=1e-6)
    assert parts(result) == pytest.approx(result.head_m, rel=1e-9)


def test_abreast_and_beside_say_the_same_of_equal_pumps():
    abreast, beside = (
        solve(pond().with_("pump.abreast", 2)),
        solve(pond().with_("pump.beside.0", {"id": "ferrow-3"})),
    )
    assert beside.flow_m3_s == pytest.approx(abreast.flow_m3_s, rel=1e-3)
    assert beside.cavitation_flow_m3_s == pytest.approx(abreast.cavitation_flow_m3_s, rel=1e-3)
    assert beside.shaft_power_w == pytest.approx(abreast.shaft_power_w, rel=1e-2)
    assert beside.dead_head_gauge_pa == pytest.approx(abreast.dead_head_gauge_pa, rel=1e-9)


def test_unlike_pumps_side_by_side_meet_at_one_head():
    result = solve(pond().with_("pump.beside.0", {"id": "linnet-2"}))
    assert [share.id for share in result.pumps] == ["ferrow-3", "linnet-2"]
    assert sum(share.flow_m3_s for share in result.pumps) == pytest.approx(result.flow_m3_s, rel=1e-9)
    for share in result.pumps:
        assert head_of(share.id, share.flow_m3_s) == pytest.approx(result.head_m, rel=2e-3)


def test_a_pump_that_the_other_pushes_back_gives_nothing_and_is_said():
    result = solve(pond().with_("pump.beside.0", {"id": "damson-2d"}))
    weak = result.pumps[1]
    assert weak.flow_m3_s == 0.0
    assert "pushed-back" in [warn.code for warn in result.warnings]
    alone = solve(pond())
    assert result.flow_m3_s == pytest.approx(alone.flow_m3_s, rel=0.01)  # the ports' areas differ a little


@given(st.sampled_from(FLEET), st.sampled_from(FLEET))
@settings(max_examples=20, deadline=None)
def test_a_pump_more_never_gives_less(first: str, second: str):
    one = pond().with_("pump.id", first)
    alone, both = solve(one), solve(one.with_("pump.beside.0", {"id": second}))
    if alone.state is State.SOUND and both.state is State.SOUND:
        assert (both.flow_m3_s or 0.0) >= (alone.flow_m3_s or 0.0) * (1.0 - 5e-3)


def test_two_equal_pumps_in_line_give_twice_the_head_at_their_flow():
    result = solve(pond("ridge-tank").with_("booster.0", {"id": "ferrow-3", "distance": "50 ft"}))
    flow = result.flow_m3_s
    assert result.state is State.SOUND
    assert flow is not None
    booster = result.boosters[0]
    assert booster.head_m == pytest.approx(head_of("ferrow-3", flow), rel=1e-6)
    assert result.head_m == pytest.approx(booster.head_m, rel=1e-6)
    assert parts(result) == pytest.approx(result.head_m, rel=1e-9)


def test_pressure_along_the_run_steps_up_by_the_booster_and_ends_at_nothing():
    setup = pond("ridge-tank").with_("booster.0", {"id": "ferrow-3", "distance": "50 ft"})
    one = solved(setup)
    booster = one.result.boosters[0]
    run = run_of(setup, one.plan, one.solution)
    assert run.gauge_pa[-1] == pytest.approx(0.0, abs=1.0)
    at = int(np.flatnonzero(np.isclose(run.distance_m, booster.distance_m))[0])
    assert run.gauge_pa[at] == pytest.approx(booster.inlet_gauge_pa, rel=1e-9)
    weight = float(one.plan.density_kg_m3[0]) * G
    assert booster.inlet_gauge_pa is not None
    assert booster.head_m is not None
    assert booster.outlet_gauge_pa == pytest.approx(booster.inlet_gauge_pa + weight * booster.head_m, rel=1e-9)


def test_dead_heads_add_up_only_beyond_the_booster():
    plain = solve(pond("ridge-tank"))
    far = solve(pond("ridge-tank").with_("booster.0", {"id": "ferrow-3", "distance": "300 ft"}))
    near = solve(pond("ridge-tank").with_("booster.0", {"id": "ferrow-3", "distance": "10 ft"}))
    assert near.dead_head_gauge_pa is not None
    assert plain.dead_head_gauge_pa is not None
    shut_off = default_catalogue().pumps["ferrow-3"].head.values_si.max()
    assert near.dead_head_gauge_pa - plain.dead_head_gauge_pa == pytest.approx(999.4 * G * shut_off, rel=1e-3)
    # behind the dip the far one adds nothing to the lowest place
    assert far.dead_head_gauge_pa is not None
    assert far.dead_head_gauge_pa < near.dead_head_gauge_pa
    assert plain.dead_head_gauge_pa <= far.dead_head_gauge_pa


def test_a_booster_starved_at_its_inlet_governs():
    result = solve(pond().with_("booster.0", {"id": "ferrow-3", "distance": "150 ft"}))
    assert result.governing_point.kind == "booster"
    assert result.boosters[0].inlet_gauge_pa == pytest.approx(999.4 * G * result.margin_m, rel=0.02)


def test_a_starved_booster_gives_no_more_than_the_hose_beyond_it_asks():
    """By hand: 3 m of 2 in hose and what is left of the climb, to an open end. The pump could give 29 m there."""
    bare = {"hose": "lay-flat-light", "size": "2 in", "length": "300 ft"}
    setup = pond().with_("discharge.leg", [bare]).with_("booster.0", {"id": "ferrow-3", "distance": "290 ft"})
    result = solve(setup)
    booster, flow = result.boosters[0], result.flow_m3_s
    assert result.governing_point.kind == "booster"
    assert flow is not None
    hose = default_catalogue().hoses["lay-flat-light"]
    foot = setup.discharge.waypoint[-1]
    beyond = (300 - 290) * 0.3048
    assert foot.distance.si < 290 * 0.3048
    climb = (setup.discharge.rise.si - foot.height.si) * beyond / (300 * 0.3048 - foot.distance.si)
    slope = gradient(
        flow / (np.pi / 4.0 * 0.0508**2),
        bore_m=0.0508,
        roughness_m=hose.roughness.si,
        kinematic_viscosity_m2_s=float(plan_of([setup], default_catalogue()).kinematic_viscosity_m2_s[0]),
    )
    asked = climb + float(slope) * beyond
    assert booster.outlet_gauge_pa == pytest.approx(999.4 * G * asked, rel=2e-3)
    assert booster.head_m is not None
    assert booster.adds_m is not None
    assert asked < 0.1 * booster.head_m
    assert booster.adds_m == pytest.approx(asked - result.margin_m, rel=2e-3)


@given(
    st.lists(st.sampled_from(("ferrow-3", "linnet-3", "linnet-2", "ferrow-4")), min_size=1, max_size=3),
    st.lists(st.integers(5, 295), min_size=3, max_size=3, unique=True),
    st.sampled_from(("2 in", "3 in", "4 in")),
    st.sampled_from(("open", "nozzle")),
)
@settings(max_examples=40, deadline=None)
def test_the_pressure_line_and_the_gauges_of_every_booster_are_one(
    pumps: list[str], places: list[int], size: str, kind: str
):
    """Up by what each adds, down everywhere else, never under what an inlet keeps, and at the end what leaves there."""
    setup = pond().with_("discharge.leg.0.size", size).with_("pump.id", pumps[0])
    if kind == "nozzle":
        setup = setup.with_("outlet", {"kind": "nozzle", "bore": "0.75 in"})
    for at, (pump, place) in enumerate(zip(pumps, places, strict=False)):
        setup = setup.with_(f"booster.{at}", {"id": pump, "distance": f"{place} ft"})
    one = solved(setup)
    result, run = one.result, one.run
    if not result.flow_m3_s or result.state is State.OFF_CURVE:
        return
    weight = float(one.plan.density_kg_m3[0]) * G
    steps = np.diff(run.gauge_pa / weight + run.height_m)
    ups: list[int] = []
    for booster in result.boosters:
        inlet, outlet = np.flatnonzero(np.isclose(run.distance_m, booster.distance_m))[-2:]
        assert booster.adds_m is not None
        assert booster.inlet_gauge_pa is not None
        assert run.gauge_pa[inlet] == pytest.approx(booster.inlet_gauge_pa, rel=1e-9)
        assert run.gauge_pa[outlet] == pytest.approx(booster.outlet_gauge_pa, rel=1e-9)
        assert run.gauge_pa[outlet] - run.gauge_pa[inlet] == pytest.approx(weight * booster.adds_m, rel=1e-6, abs=1.0)
        assert booster.inlet_gauge_pa >= weight * result.margin_m - 1.0
        ups.append(int(inlet))
    assert (np.delete(steps, ups) <= 1e-6).all()
    if result.governing_point.kind in ("booster", "outlet"):
        speed, resistance = result.velocities_m_s[-1], float(one.plan.outlet_resistance[0])
        leaves = resistance * result.flow_m3_s**2 - speed**2 / (2.0 * G) if kind == "nozzle" else 0.0
        assert run.gauge_pa[-1] == pytest.approx(weight * leaves, rel=1e-6, abs=1.0)


def test_a_booster_outside_the_hose_is_refused():
    with pytest.raises(InputError, match=r"booster\.0\.distance.*not between the ends"):
        solve(pond().with_("booster.0", {"id": "ferrow-3", "distance": "500 ft"}))


def test_relay_stands_where_its_answer_says():
    setup = pond("ridge-tank").with_("discharge.leg.0.hose", "lay-flat-heavy")
    found = relay(setup)
    assert found.best_m is not None
    assert found.nearest_m is not None
    assert found.nearest_m <= found.best_m
    again = solve(setup.with_("booster.0", {"id": found.pump, "distance": f"{found.best_m} m"}))
    assert again.flow_m3_s == pytest.approx(found.flow_m3_s, rel=1e-3)
    assert not again.over_rated


def test_relay_says_when_light_hose_can_not_stand_two_pumps():
    found = relay(pond("ridge-tank"))
    assert found.best_m is None
    assert "rated" in found.sentence


def test_the_run_stands_twice_at_a_pump_in_the_line_with_its_inlet_and_its_outlet():
    """Also where it stands at a joint and at a waypoint: the line of pressure falls but for that one step up."""
    legs = [{"hose": "lay-flat-heavy", "size": "3 in", "length": length} for length in ("150 ft", "260 ft")]
    setup = pond("ridge-tank").with_("discharge.leg", legs)
    for place in ("50 ft", "150 ft", f"{setup.discharge.waypoint[0].distance.si} m"):
        one = solved(setup.with_("booster.0", {"id": "ferrow-3", "distance": place}))
        booster, run = one.result.boosters[0], one.run
        inlet, outlet = np.flatnonzero(np.isclose(run.distance_m, booster.distance_m))[-2:]
        assert outlet == inlet + 1
        assert run.gauge_pa[inlet] == pytest.approx(booster.inlet_gauge_pa, rel=1e-9)
        assert run.gauge_pa[outlet] == pytest.approx(booster.outlet_gauge_pa, rel=1e-9)
        weight = float(one.plan.density_kg_m3[0]) * G
        falls = np.diff(run.gauge_pa / weight + run.height_m)
        assert (np.delete(falls, inlet) <= 1e-6).all()
        shut_off = default_catalogue().pumps["ferrow-3"].head.values_si.max()
        assert run.dead_head_pa[outlet] - run.dead_head_pa[inlet] == pytest.approx(weight * shut_off, rel=1e-6)


def test_a_casing_that_stands_one_pump_and_not_two_is_said():
    """Two shut-off heads of 98 ft, less the height it stands at: over 75 psi near the water, less far up the hill."""
    setup = pond("ridge-tank").with_("discharge.leg.0.hose", "lay-flat-heavy")
    near = solve(setup.with_("booster.0", {"id": "ferrow-3", "distance": "10 ft"}))
    (said,) = [warn.text for warn in near.warnings if warn.code == "casing-over-rated"]
    assert said.startswith("Ferrow 3 10 ft along the hose could see up to 8")
    assert "rated 75 psi" in said
    assert "casing-over-rated" not in [warn.code for warn in solve(setup).warnings]


def test_an_engine_in_the_line_that_is_short_is_said():
    high = pond("ridge-tank").with_("discharge.leg.0.hose", "lay-flat-heavy").with_("site.altitude", "9000 ft")
    result = solve(high.with_("suction.lift", "2 ft").with_("booster.0", {"id": "linnet-2", "distance": "50 ft"}))
    assert result.flow_m3_s
    assert any(w.code == "short-of-power" and "Linnet 2 in the line" in w.text for w in result.warnings)
