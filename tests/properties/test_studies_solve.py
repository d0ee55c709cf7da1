"""What must hold for every setup: sums that add up, pressures that follow from them, less for more work."""

from __future__ import annotations

import json
import math

import fluids.friction
import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import assume, given, settings

from curvelab.hydraulics.constants import G
from curvelab.hydraulics.line import SIPHON_RESERVE_M
from curvelab.model.amount import SI_SUFFIX
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.batch import DANGERS
from curvelab.studies.choose import choose
from curvelab.studies.compare import compare
from curvelab.studies.mend import mend
from curvelab.studies.result import Result, State
from curvelab.studies.solve import curves, run, solve
from curvelab.studies.sums import sums
from curvelab.studies.vary import vary
from tests.properties.study_setups import CATALOGUE, setups
from tests.unit.study_cases import assert_sentence, changed
from tests.unit.test_studies_sums import agrees

pytestmark = pytest.mark.slow
NONE = (State.NO_LIFT, State.NO_PRIME)


# --- sums


@settings(max_examples=150)
@given(setups())
def test_ledger_and_budget_add_up(setup: Setup):
    result = solve(setup)
    ledger = sum(part.head_m for part in result.ledger)
    at_rest = result.state in NONE or result.flow_m3_s is None
    assert ledger == pytest.approx(result.static_head_m if at_rest else result.head_m, abs=1e-6)
    budget = sum(part.head_m for part in result.suction_budget)
    assert budget == pytest.approx(result.air_head_m, abs=1e-6)
    items = [part.item for part in result.suction_budget]
    if result.npshr_m is None:
        assert items == ["vapour", "lift", "suction", "left"]
    else:
        assert items == ["vapour", "lift", "suction", "needs", "spare"]
        assert result.npsha_m is not None
        spare = next(part.head_m for part in result.suction_budget if part.item == "spare")
        assert spare == pytest.approx(result.npsha_m - result.npshr_m, abs=1e-9)


@settings(max_examples=60)
@given(setups(), st.integers(2, 40))
def test_bands_add_up_to_the_system_curve(setup: Setup, count: int):
    table, result = curves(setup, count), solve(setup)
    names = [name for name in table.__dataclass_fields__ if name.startswith("band_")]
    stacked = sum(getattr(table, name) for name in names)
    np.testing.assert_allclose(stacked, table.system_head_m, rtol=1e-9, atol=1e-9)
    assert table.flow_m3_s[0] == 0.0
    assert table.flow_m3_s[-1] == pytest.approx(result.end_flow_m3_s)
    assert table.system_head_m[0] == pytest.approx(result.static_head_m, abs=1e-9)
    assert (np.diff(table.system_head_m) > -1e-9).all()
    json.dumps(table.to_dict(), allow_nan=False)


@settings(max_examples=60)
@given(setups())
def test_the_curves_cross_where_the_answer_says(setup: Setup):
    result = solve(setup)
    flow = result.crossing_flow_m3_s
    assume(flow is not None and flow > 0.0)
    assert flow is not None
    table = curves(setup, 2, to_flow_m3_s=flow)
    assert table.pump_head_m[-1] == pytest.approx(table.system_head_m[-1], rel=1e-6)
    if result.npsha_m is not None and result.flow_m3_s == flow:
        assert table.npsha_m[-1] == pytest.approx(result.npsha_m, abs=1e-9)


# --- the run


def friction(speed: float, bore: float, rough: float, viscosity: float) -> float:
    """Another library's friction factor."""
    return float(fluids.friction.Colebrook(speed * bore / viscosity, rough / bore))


@settings(max_examples=100)
@given(setups())
def test_running_pressure_falls_by_what_height_and_hose_take(setup: Setup):
    """From corner to corner within a leg, by another library's friction; the outlet keeps what it needs."""
    result = solve(setup)
    assume(result.flow_m3_s and result.state not in NONE)
    assert result.flow_m3_s is not None
    route, plan = run(setup), plan_of([setup], CATALOGUE)
    weight, viscosity = float(plan.density_kg_m3[0]) * G, float(plan.kinematic_viscosity_m2_s[0])
    legs = plan.discharge
    for at in range(route.distance_m.size - 1):
        leg = int(route.leg[at])
        if leg != route.leg[at + 1]:
            continue
        bore, rough, abreast, k, length = (
            float(a[0, leg]) for a in (legs.bore_m, legs.roughness_m, legs.abreast, legs.k, legs.length_m)
        )
        speed = result.flow_m3_s / (abreast * math.pi / 4.0 * bore**2)
        assume(speed * bore / viscosity > 4500.0)
        along = float(route.distance_m[at + 1] - route.distance_m[at])
        lost = (friction(speed, bore, rough, viscosity) * along / bore + k * along / length) * speed**2 / (2.0 * G)
        climb = float(route.height_m[at + 1] - route.height_m[at])
        fall = float(route.gauge_pa[at] - route.gauge_pa[at + 1])
        assert fall == pytest.approx(weight * (climb + lost), rel=1e-4, abs=1.0)
    assert_ends(setup, result, route.gauge_pa, weight)


def assert_ends(setup: Setup, result: Result, gauge: np.ndarray, weight: float) -> None:
    """Nothing falls under what it must keep; where an open end governs the water leaves at the air's pressure."""
    siphon = -weight * (result.air_head_m - result.vapour_head_m - SIPHON_RESERVE_M)
    rigid = any(CATALOGUE.hoses[leg.hose].rigid for leg in setup.discharge.leg if leg.hose)
    assert float(np.nanmin(gauge)) >= (siphon if rigid else 0.0) - 1.0
    if setup.outlet.kind == "open" and result.governing_point.kind == "outlet" and not setup.discharge.valve_k:
        surplus = sum(part.head_m for part in result.ledger if part.item == "surplus")
        assert float(gauge[-1]) == pytest.approx(weight * surplus, abs=1.0)
    if setup.outlet.kind == "pressure" and result.governing_point.kind == "outlet" and result.state != "off-curve":
        assert setup.outlet.pressure is not None
        assert not setup.discharge.valve_k or float(gauge[-1]) > setup.outlet.pressure.si
        if not setup.discharge.valve_k:
            assert float(gauge[-1]) == pytest.approx(setup.outlet.pressure.si, abs=1.0)


@settings(max_examples=100)
@given(setups())
def test_dead_head_bound_and_stretches_over_the_rating(setup: Setup):
    """ρg(H − min(lift, 0) − z) at full speed and without wear; the stretches are where it passes the rating."""
    result, route = solve(setup), run(setup)
    plan = plan_of([setup], CATALOGUE)
    pump = CATALOGUE.pumps[setup.pump.id or ""]
    ratio = max(float(plan.pumps.speed_ratio[0, 0]), 1.0)
    top = ratio**2 * float(pump.head.values_si.max()) - min(setup.suction.lift.si, 0.0)
    weight = float(plan.density_kg_m3[0]) * G
    expected = weight * (top - route.height_m)
    np.testing.assert_allclose(route.dead_head_pa, expected, rtol=1e-9, atol=1e-3)
    if result.dead_head_gauge_pa is not None:
        assert result.dead_head_gauge_pa == pytest.approx(float(expected.max()), rel=1e-9)
    along = np.linspace(0.0, float(route.distance_m[-1]), 4001)
    height = np.interp(along, route.distance_m, route.height_m)
    ends = np.cumsum(plan.discharge.length_m[0])
    leg = np.minimum(np.searchsorted(ends, along - 1e-9), ends.size - 1)
    over = weight * (top - height) > plan.discharge.rating_pa[0][leg]
    told = np.zeros(along.size, dtype=bool)
    for stretch in result.over_rated:
        told |= (along >= stretch.from_m) & (along <= stretch.to_m)
        assert stretch.pressure_pa > stretch.rating_pa
    assert np.mean(over != told) < 5e-3, "but for its ends a stretch covers all that is over the rating"
    assert bool(result.over_rated) == bool(
        (weight * (top - route.height_m) > np.nan_to_num(route.rating_pa, nan=np.inf)).any()
    )


@settings(max_examples=60)
@given(setups())
def test_gauges_at_the_pump_follow_from_the_ledger(setup: Setup):
    result, plan = solve(setup), plan_of([setup], CATALOGUE)
    assume(result.flow_m3_s and result.head_m is not None)
    assert result.flow_m3_s is not None
    assert result.head_m is not None
    density, lift = float(plan.density_kg_m3[0]), setup.suction.lift.si
    lost = next(part.head_m for part in result.ledger if part.item == "suction")
    ports = [float(bore[0, 0]) for bore in (plan.pumps.inlet_bore_m, plan.pumps.outlet_bore_m)]
    assume(all(ports))
    speeds = [result.flow_m3_s / (math.pi / 4.0 * bore**2) for bore in ports]
    inlet = -density * G * (lift + lost) - density * speeds[0] ** 2 / 2.0
    outlet = density * G * (result.head_m - lift - lost) - density * speeds[1] ** 2 / 2.0
    assert result.inlet_gauge_pa == pytest.approx(inlet, abs=0.5)
    assert result.pump_outlet_gauge_pa == pytest.approx(outlet, abs=0.5)


# --- more work, less water


def flows(setup: Setup, field: str, values: list[float]) -> np.ndarray:
    flow = vary(setup, field, values).columns.flow_m3_s
    return flow[~np.isnan(flow)]


def never_more(flow: np.ndarray) -> bool:
    return bool((np.diff(flow) <= 1e-9 * np.maximum(flow[1:], 1e-6)).all())


@settings(max_examples=80)
@given(setups(fixed=("discharge.leg.0.length",)))
def test_a_longer_hose_never_gives_more(setup: Setup):
    """Its end stays where it is; without waypoints, whose share of the fittings would shift."""
    while setup.discharge.waypoint:
        setup = setup.with_("discharge.waypoint.0", None)
    start = setup.discharge.leg[0].length.si
    assert never_more(flows(setup, "discharge.leg.0.length", [start + 5.0 * step**2 for step in range(12)]))
    suction = setup.suction.leg[0].length.si
    assert never_more(flows(setup, "suction.leg.0.length", [suction + 2.0 * step for step in range(12)]))


@settings(max_examples=80)
@given(setups())
def test_more_lift_and_more_rise_never_give_more(setup: Setup):
    lift, rise = setup.suction.lift.si, setup.discharge.rise.si
    assert never_more(flows(setup, "suction.lift", [lift + 0.4 * step for step in range(15)]))
    assert never_more(flows(setup, "discharge.rise", [rise + 1.5 * step for step in range(15)]))


@settings(max_examples=80)
@given(setups(), st.sampled_from(["suction", "discharge"]))
def test_a_rougher_or_a_narrower_bore_never_gives_more(setup: Setup, side: str):
    """Written out, 50 m at least where it discharges: over less a wide hose's step can cost more than its friction."""
    length = f"{max(setup.discharge.leg[0].length.si, 50.0):.3f} m" if side == "discharge" else "12 m"
    bore = 0.1
    leg = {"bore": f"{bore} m", "roughness": "0.02 mm", "length": length}
    setup = setup.with_(f"{side}.leg.0", leg)
    assume(next((True for _ in flows(setup, f"{side}.leg.0.roughness", [2e-5])), False))
    assert never_more(flows(setup, f"{side}.leg.0.roughness", [1e-5 * 2.0**step for step in range(8)]))
    assert never_more(flows(setup, f"{side}.leg.0.bore", [bore * 0.93**step for step in range(12)]))
    assert never_more(flows(setup, f"{side}.leg.0.k", [2.0 * step for step in range(12)]))


# --- the studies of drawn setups


@settings(max_examples=60)
@given(setups())
def test_cures_and_choices_of_any_setup(setup: Setup):
    now = solve(setup)
    codes = {warning.code for warning in now.warnings}
    worst = max((stretch.pressure_pa / stretch.rating_pa for stretch in now.over_rated), default=1.0)
    found = mend(setup)
    assert_sentence(found.sentence)
    json.dumps(found.to_dict(), allow_nan=False)
    for cure in (*found.rows, *([found.hose] if found.hose else [])):
        result = solve(changed(setup, cure.changes))
        assert cure.state == str(result.state)
        assert cure.flow_m3_s == pytest.approx(result.flow_m3_s, rel=1e-9)
        new = {warning.code for warning in result.warnings} & {*DANGERS, "liquid-refused", "solids-too-big"}
        assert new <= codes, cure.change
        assert all(stretch.pressure_pa / stretch.rating_pa <= worst * (1 + 1e-9) for stretch in result.over_rated)
    for row in found.rows:
        assert row.state == "sound" or (row.flow_m3_s > 1.01 * (now.flow_m3_s or 0.0))
    choice = choose(setup)
    assert_sentence(choice.sentence)
    for row in choice.rows[:3]:
        result = solve(changed(setup, row.setup))
        assert row.state == str(result.state)
        assert (row.flow_m3_s or 0.0) == pytest.approx(result.flow_m3_s or 0.0, rel=1e-9)


@settings(max_examples=40)
@given(setups())
def test_sums_and_objects_of_any_setup(setup: Setup):
    found = sums(setup)
    for line in found.lines:
        assert agrees(line), f"{line.title}: {line.numbers} is not {line.value:.6g}"
    assert_sentence(found.sentence)
    bare = setup.with_("title", "")  # a title may have figures of its own
    assert_sentence(compare([bare, bare]).sentence)
    for plain in (found, solve(setup), run(setup), curves(setup, 20), compare([setup])):
        units_in_names(json.loads(json.dumps(plain.to_dict(), allow_nan=False)))


BARE = {
    "efficiency", "engine_share", "value", "leg", "abreast", "count", "k", "valve_k", "throttle", "wear", "cd", "power",
}  # fmt: skip
"""Numbers that have no unit, or whose unit stands beside them."""
SUFFIXES = tuple(f"_{suffix}" for suffix in SI_SUFFIX.values())


def units_in_names(value: object, name: str = "") -> None:
    """Every number's name ends in its unit."""
    if isinstance(value, dict):
        for key, inner in value.items():
            if name != "fittings":
                units_in_names(inner, str(key))
    elif isinstance(value, list):
        for inner in value:
            units_in_names(inner, name)
    elif isinstance(value, (int, float)) and not isinstance(value, bool):
        inputs = name in BARE or name.endswith(SUFFIXES) or name in ("low", "high")
        assert inputs, f"{name} has no unit in its name"
