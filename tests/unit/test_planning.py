"""From Setup to Plan: every number that a solve uses, worked out here by hand or by another library."""

import dataclasses
from pathlib import Path
from typing import Any

import fluids
import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.errors import InputError
from curvelab.hydraulics.plan import OutletKind, Plan
from curvelab.hydraulics.rules import refusals
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.model.suctiontests import SuctionTest, npshr_of_tests
from curvelab.units import System
from tests.unit.model_cases import PUMP, setup_table, yard

FOOT, INCH, GPM, G = 0.3048, 0.0254, 231 * 0.0254**3 / 60, 9.80665
PSI = 0.45359237 * G / INCH**2


@pytest.fixture(scope="module")
def catalogue(tmp_path_factory: pytest.TempPathFactory) -> Catalogue:
    return Catalogue.load(yard(tmp_path_factory.mktemp("yard")))


@pytest.fixture
def plan(catalogue: Catalogue) -> Any:
    def make(**changes: Any) -> Plan:
        return plan_of([Setup.model_validate(setup_table(**changes))], catalogue)

    return make


class TestLegs:
    def test_suction(self, plan: Any):
        legs = plan().suction
        assert legs.length_m[0] == pytest.approx([20 * FOOT])
        assert legs.bore_m[0] == pytest.approx([3.05 * INCH])
        assert legs.roughness_m[0] == pytest.approx([0.1e-3])
        assert legs.k[0] == pytest.approx([1.5 + 2 * 0.5])
        assert legs.rigid[0].tolist() == [True]
        assert legs.rating_pa[0] == pytest.approx([50 * PSI])
        assert legs.vacuum_rating_pa[0] == pytest.approx([28 * 25.4 * 133.322387415])

    def test_lay_flat_under_pressure_has_its_charged_bore(self, plan: Any):
        legs = plan().discharge
        assert legs.bore_m[0] == pytest.approx([3.10 * INCH, 2.06 * INCH])
        assert legs.rigid[0].tolist() == [False, False]
        assert legs.abreast[0].tolist() == [1.0, 2.0]
        assert legs.k[0] == pytest.approx([2 * 0.2, 0.4])
        assert np.isinf(legs.vacuum_rating_pa[0]).all()

    def test_couplings_and_temperature_lower_the_rating(self, plan: Any):
        assert plan().discharge.rating_pa[0] == pytest.approx([60 * PSI, 100 * PSI])
        hot = plan(**{"site.temperature": "40 degC"}).discharge
        assert hot.rating_pa[0] == pytest.approx([0.7 * 80 * PSI, 0.7 * 100 * PSI])

    def test_a_warm_liquid_warms_the_hose(self, plan: Any):
        warm = plan(**{"site.liquid": "syrup"}).discharge
        assert warm.rating_pa[0, 1] == pytest.approx(0.7 * 100 * PSI)

    def test_k_of_the_size(self, plan: Any):
        two = plan(**{"discharge.leg.1.fittings": {"bend": 1}})
        assert two.discharge.k[0, 1] == pytest.approx(0.4 + 0.6)

    def test_written_out(self, plan: Any):
        out = {"bore": "2.1 in", "roughness": "0.05 mm", "length": "50 ft", "fittings": {"bend": 1}}
        both = plan(
            **{"discharge.leg.0": out, "suction.leg.0": out | {"fittings": {"flap": 1}}}, **{"discharge.waypoint": []}
        )
        assert both.discharge.bore_m[0, 0] == pytest.approx(2.1 * INCH)
        assert both.discharge.k[0, 0] == pytest.approx(0.6), "the nearest size's"
        assert both.discharge.rigid[0, 0] == False  # noqa: E712 - a NumPy bool
        assert both.suction.rigid[0, 0] == True  # noqa: E712
        assert np.isinf(both.discharge.rating_pa[0, 0])
        assert plan(**{"discharge.leg.0": out | {"rigid": True}, "discharge.waypoint": []}).discharge.rigid[0, 0]

    def test_what_stands_in_the_water(self, plan: Any):
        assert (plan().strained[0], plan().holds_prime[0]) == (True, False)
        flap = plan(**{"suction.leg.0.fittings": {"flap": 1}})
        assert (flap.strained[0], flap.holds_prime[0]) == (True, True)
        bare = plan(**{"suction.leg.0.fittings": {"bend": 1}})
        assert (bare.strained[0], bare.holds_prime[0]) == (False, False)

    def test_padding_adds_nothing(self, catalogue: Catalogue):
        short = setup_table(**{"discharge.leg.1": None, "discharge.waypoint": []})
        both = plan_of([Setup.model_validate(setup_table()), Setup.model_validate(short)], catalogue)
        assert both.discharge.used.tolist() == [[True, True], [True, False]]
        assert both.discharge.length_m[1, 1] == 0.0
        assert both.discharge.k[1, 1] == 0.0
        assert both.discharge.bore_m[1, 1] == both.discharge.bore_m[1, 0]
        assert both.discharge.abreast[1, 1] == both.discharge.abreast[1, 0]
        assert both.waypoints.used.tolist() == [[True], [False]]
        assert both.waypoints.distance_m[0] == pytest.approx([180 * FOOT])


class TestSite:
    def test_air_and_water(self, plan: Any):
        row = plan()
        assert row.air_pressure_pa[0] == pytest.approx(fluids.ATMOSPHERE_1976(2100 * FOOT).P, rel=1e-4)
        assert row.altitude_m[0] == pytest.approx(2100 * FOOT)
        assert row.density_kg_m3[0] == pytest.approx(999.4, abs=0.3)  # 55 °F; tables for water
        assert row.vapour_pressure_pa[0] == pytest.approx(0.2141 * PSI, rel=0.01)  # 55 °F, steam tables
        assert row.density_ratio[0] == 1.0

    def test_a_barometer_takes_the_altitudes_place(self, plan: Any):
        row = plan(**{"site.barometer": "850 hPa"})
        assert row.air_pressure_pa[0] == pytest.approx(85_000)
        assert row.altitude_m[0] == pytest.approx(1457, abs=3)  # standard atmosphere: 850 hPa at 1457 m

    def test_another_liquid(self, plan: Any):
        row = plan(**{"site.liquid": "syrup"})
        assert row.density_kg_m3[0] == pytest.approx(1.3 * 1000, rel=1e-4)
        assert row.density_ratio[0] == 1.3
        assert row.kinematic_viscosity_m2_s[0] == pytest.approx(3e-6)
        assert row.vapour_pressure_pa[0] == pytest.approx(1000)
        assert row.temperature_k[0] == pytest.approx((55 - 32) / 1.8 + 273.15), "the engine's air stays the site's"

    def test_cover(self, plan: Any):
        assert np.isinf(plan().strainer_cover_m[0])
        pond = {"shape": "cylinder", "diameter": "9 m", "depth": "2 m"}
        assert plan(source=pond).strainer_cover_m[0] == pytest.approx(2.0)
        assert plan(**{"source": pond, "suction.strainer_height": "30 cm"}).strainer_cover_m[0] == pytest.approx(1.7)


class TestOutlet:
    def test_open(self, plan: Any):
        row = plan(**{"discharge.valve_k": 0.7})
        assert (row.outlet_kind[0], row.outlet_static_m[0], row.outlet_resistance[0]) == (OutletKind.OPEN, 0.0, 0.0)
        assert row.valve_k[0] == 0.7

    def test_nozzles(self, plan: Any):
        row = plan(outlet={"kind": "nozzle", "bore": "1/2 in", "count": 2})
        area = 2 * 0.995 * np.pi / 4 * (INCH / 2) ** 2
        head = 40 * PSI / (1000 * G)
        flow = np.sqrt(head / row.outlet_resistance[0])
        assert row.outlet_kind[0] == OutletKind.NOZZLE
        assert flow == pytest.approx(area * np.sqrt(2 * G * head))
        assert flow / GPM == pytest.approx(2 * 29.7 * 0.25 * np.sqrt(40), rel=2e-3)  # fire service: 29.7 d²√p

    def test_pressure(self, plan: Any):
        row = plan(outlet={"kind": "pressure", "pressure": "20 psi"})
        assert row.outlet_static_m[0] == pytest.approx(20 * PSI / (row.density_kg_m3[0] * G))

    def test_sprinklers(self, plan: Any):
        row = plan(outlet={"kind": "sprinklers", "count": 12, "flow": "5 gpm", "pressure": "40 psi"})
        head = 40 * PSI / (row.density_kg_m3[0] * G)
        assert row.outlet_resistance[0] * (60 * GPM) ** 2 == pytest.approx(head)
        assert row.outlet_resistance[0] * (30 * GPM) ** 2 == pytest.approx(head / 4)

    def test_goal(self, plan: Any):
        assert plan().goal_flow_m3_s[0] == 0.0
        assert plan(goal={"flow": "150 gpm"}).goal_flow_m3_s[0] == pytest.approx(150 * GPM)


class TestPumps:
    def test_plate(self, plan: Any):
        row = plan(**{"pump.throttle": 0.9, "pump.wear": 0.95}).pumps
        assert row.speed_ratio[0, 0] == 0.9
        assert row.wear[0, 0] == 0.95
        assert row.inlet_bore_m[0, 0] == pytest.approx(3 * INCH)
        assert row.priming_lift_m[0, 0] == pytest.approx(26 * FOOT)
        assert row.air_rate_m3_s[0, 0] == 0.0
        assert row.engine_power_w[0, 0] == pytest.approx(8 * 745.69987)
        assert row.engine_continuous[0, 0] == 0.8
        assert np.isinf(row.casing_rating_pa[0, 0])

    def test_speed_over_the_tested_speed(self, plan: Any):
        assert plan(**{"pump.speed": "3240 rpm"}).pumps.speed_ratio[0, 0] == pytest.approx(0.9)

    def test_curves(self, plan: Any):
        curves = plan().curves
        assert curves.names == ("moor-3",)
        assert curves.head_m.x[0] == pytest.approx(np.array([0, 100, 200, 300]) * GPM)
        assert curves.npshr_m.y[0, :2] == pytest.approx(np.array([6, 18]) * FOOT)
        assert curves.efficiency.count[0] == curves.power_w.count[0] == 0

    def test_each_pump_has_one_row_of_curves(self, tmp_path: Path):
        folder = yard(tmp_path)
        (folder / "pumps" / "b.toml").write_text(PUMP.replace("moor-3", "fen-3").replace("[0, 90]", "[0, 95]"))
        other = Catalogue.load(folder)
        setups = [Setup.model_validate(setup_table(**{"pump.id": name})) for name in ("fen-3", "moor-3", "fen-3")]
        plan = plan_of(setups, other)
        assert plan.curves.names == ("fen-3", "moor-3")
        assert plan.pumps.curve[:, 0].tolist() == [0, 1, 0]

    def test_npshr_from_flows_at_several_lifts(self):
        tests = [
            SuctionTest.model_validate({"lift": lift, "flow": flow, "hose_bore": "3 in", "hose_length": "20 ft"})
            for lift, flow in (("20 ft", "140 gpm"), ("10 ft", "250 gpm"))
        ]
        flow, npshr = npshr_of_tests(tests)
        assert flow / GPM == pytest.approx([140, 250])
        for q, lift, found in zip(flow, (20, 10), npshr, strict=True):
            speed = q / (np.pi / 4 * (3 * INCH) ** 2)
            f = fluids.friction_factor(Re=speed * 3 * INCH / 1.0034e-6, eD=0.05e-3 / (3 * INCH))
            loss = f * 20 * FOOT / (3 * INCH) * speed**2 / (2 * G)
            air = (101_325 - 2339.3) / (998.2 * G)  # water at 20 °C
            assert found == pytest.approx(air - lift * FOOT - loss, rel=1e-3)

    def test_a_test_without_its_hose_has_no_loss(self):
        tests = [
            SuctionTest.model_validate({"lift": lift, "flow": flow})
            for lift, flow in (("5 m", "9 L/s"), ("6 m", "5 L/s"))
        ]
        assert np.diff(npshr_of_tests(tests)[1]) == pytest.approx([1.0])


REFUSED = {
    "no such pump": ({"pump.id": "mor-3"}, 'pump.id: no pump is called "mor-3"; did you mean "moor-3"?'),
    "no such liquid": ({"site.liquid": "sirup"}, 'site.liquid: no liquid is called "sirup"; did you mean "syrup"?'),
    "no such hose": ({"discharge.leg.1.hose": "ribon"}, 'discharge.leg.1.hose: no hose is called "ribon"'),
    "no such size": (
        {"discharge.leg.0.size": "4 in"},
        'discharge.leg.0.size: "ribbon" doesn\'t come in 4 in; write one of 2 in, 3 in',
    ),
    "no such fitting": (
        {"suction.leg.0.fittings": {"seive": 1}},
        'suction.leg.0.fittings.seive: no fitting is called "seive"',
    ),
    "a fitting not made in the size": (
        {"suction.leg.0.size": "4 in"},
        'suction.leg.0.fittings.bend: "bend" doesn\'t come in 4 in; it comes in 2 in, 3 in',
    ),
    "lay-flat on the suction": (
        {"suction.leg.0.hose": "ribbon"},
        'suction.leg.0.hose: "ribbon" falls flat under suction',
    ),
    "a strainer on the discharge": ({"discharge.leg.0.fittings": {"sieve": 1}}, "discharge.leg.0.fittings.sieve: "),
    "a strainer half-way": (
        {"suction.leg.1": {"hose": "reed", "size": "3 in", "length": "9 ft", "fittings": {"sieve": 1}}},
        'suction.leg.1.fittings.sieve: "sieve" stands at the end of the suction hose; move it to suction.leg.0',
    ),
    "an outlet's tap on the suction": ({"suction.leg.0.fittings": {"tap": 1}}, "suction.leg.0.fittings.tap: "),
    "an unknown booster": ({"booster": [{"id": "x", "distance": "9 ft"}]}, 'booster.0.id: no pump is called "x"'),
    "a suction hose that hangs in the air": (
        {"suction.lift": "21 ft"},
        "suction.lift: 21 ft of lift, but 20 ft of suction hose; the hose must reach",
    ),
    "a waypoint beyond the hose": (
        {"discharge.waypoint.0.distance": "301 ft"},
        "discharge.waypoint.0.distance: 301 ft lies beyond the hose, which is 300 ft long",
    ),
    "waypoints in disorder": (
        {"discharge.waypoint.1": {"distance": "180 ft", "height": "39 ft"}},
        "discharge.waypoint.1.distance: 180 ft does not lie beyond 180 ft",
    ),
    "a waypoint steeper than hose": (
        {"discharge.waypoint.0": {"distance": "30 ft", "height": "31 ft"}},
        "discharge.waypoint.0.height: 31 ft of height over 30 ft of hose; hose can't be shorter",
    ),
    "a last stretch shorter than its climb": (
        {"discharge.rise": "161 ft"},
        "discharge.rise: 121 ft of height over 120 ft of hose",
    ),
    "straight down too": ({"discharge.rise": "-81 ft"}, "discharge.rise: 121 ft of height over 120 ft of hose"),
    "a throttle that a speed makes": ({"pump.speed": "1200 rpm"}, "pump.speed: 33.3% of the tested speed"),
}


class TestRefusing:
    @pytest.mark.parametrize("case", REFUSED)
    def test_with_field_and_remedy(self, plan: Any, case: str):
        changes, expected = REFUSED[case]
        with pytest.raises(InputError) as caught:
            plan(**changes)
        found = [fault.line() for fault in caught.value.faults]
        assert any(line.startswith(expected) for line in found), found

    def test_all_at_once(self, plan: Any):
        with pytest.raises(InputError) as caught:
            plan(
                **{"pump.id": "x", "site.liquid": "x", "suction.leg.0.hose": "x", "discharge.leg.1.fittings": {"x": 1}}
            )
        fields = [fault.field for fault in caught.value.faults]
        assert fields == ["pump.id", "site.liquid", "suction.leg.0.hose", "discharge.leg.1.fittings.x"]

    def test_just_within_reach(self, plan: Any):
        plan(**{"suction.lift": "20 ft"})
        plan(**{"discharge.waypoint": [], "discharge.rise": "300 ft"})
        plan(**{"discharge.waypoint": [], "discharge.rise": "-300 ft"})

    def test_a_flooded_suction_needs_no_reach(self, plan: Any):
        assert plan(**{"suction.lift": "-30 ft"}).lift_m[0] == pytest.approx(-30 * FOOT)

    def test_no_setup(self, catalogue: Catalogue):
        with pytest.raises(InputError):
            plan_of([], catalogue)

    def test_lengths_are_shown_in_the_setups_units(self, plan: Any):
        with pytest.raises(InputError, match=r"6\.4 m of lift, but 6\.1 m of suction hose"):
            plan(**{"units": "metric", "suction.lift": "21 ft"})

    def test_columns_of_a_sweep_meet_the_same_rules(self, plan: Any):
        base = plan(**{"discharge.waypoint": [], "discharge.leg.1": None}).repeat(4)
        length = base.discharge.length_m.copy()
        length[:, 0] = np.array([20.0, 34.0, 36.0, -1.0]) * FOOT  # the rise is 35 ft
        swept = base.with_(discharge=base.discharge.with_(length_m=length))
        found = refusals(swept)
        assert found.refused.tolist() == [True, True, False, True]
        assert found.of(2) == ()
        assert [r.field for r in found.of(0)] == ["discharge.rise"]
        assert found.of(0)[0].text(System.US)[0] == "35 ft of height over 20 ft of hose"
        assert "discharge.leg.0.length" in [r.field for r in found.of(3)]

    def test_roughness_and_speed_of_a_sweep(self, plan: Any):
        base = plan().repeat(3)
        rough = base.discharge.roughness_m.copy()
        rough[1, 1] = 0.06 * base.discharge.bore_m[1, 1]
        speed = base.pumps.speed_ratio.copy()
        speed[2, 0] = 1.06
        swept = base.with_(discharge=base.discharge.with_(roughness_m=rough), pumps=base.pumps.with_(speed_ratio=speed))
        found = refusals(swept)
        assert [[r.field for r in found.of(row)] for row in range(3)] == [
            [],
            ["discharge.leg.1.roughness"],
            ["pump.throttle"],
        ]

    def test_nothing_that_is_no_number_passes(self, plan: Any):
        base = plan()
        for side in ("suction", "discharge"):
            legs = getattr(base, side)
            for column in ("length_m", "bore_m", "roughness_m"):
                bad = legs.with_(**{column: np.full_like(legs.length_m, np.nan)})
                assert refusals(base.with_(**{side: bad})).refused[0], (side, column)
        for column in ("lift_m", "rise_m"):
            assert refusals(base.with_(**{column: np.array([np.nan])})).refused[0], column


def rows_of(plan: Any, row: int) -> dict[str, Any]:
    """Every array of a Plan at one row, by its path; the curve by its pump's name."""
    out: dict[str, Any] = {}
    for field in dataclasses.fields(plan):
        value = getattr(plan, field.name)
        if field.name == "curves":
            continue
        if dataclasses.is_dataclass(value):
            out |= {f"{field.name}.{name}": item for name, item in rows_of(value, row).items()}
        else:
            out[field.name] = value[row]
    return out


@given(
    tables=st.lists(
        st.fixed_dictionaries(
            {
                "suction.lift": st.sampled_from(["3 ft", "12 ft", "-2 m"]),
                "site.temperature": st.sampled_from(["40 degF", "45 degC"]),
            },
            optional={
                "site.barometer": st.just("900 hPa"),
                "site.liquid": st.sampled_from(["water", "syrup"]),
                "outlet": st.sampled_from(
                    [{"kind": "nozzle", "bore": "1 in"}, {"kind": "pressure", "pressure": "3 psi"}]
                ),
                "discharge.leg.1": st.none(),
                "discharge.waypoint": st.just([]),
                "discharge.rise": st.sampled_from(["0 ft", "30 ft"]),
            },
        ).filter(lambda c: "discharge.leg.1" not in c or "discharge.waypoint" in c or "discharge.rise" not in c),
        min_size=1,
        max_size=6,
    )
)
def test_a_batch_is_its_setups_one_by_one(catalogue: Catalogue, tables: list[dict[str, Any]]):
    setups = [Setup.model_validate(setup_table(**changes)) for changes in tables]
    for setup in setups:
        try:
            plan_of([setup], catalogue)
        except InputError:
            return
    batch = plan_of(setups, catalogue)
    for row, setup in enumerate(setups):
        one, together = rows_of(plan_of([setup], catalogue), 0), rows_of(batch, row)
        for name, value in one.items():
            width = np.shape(value)
            cut = together[name][tuple(slice(n) for n in width)] if width else together[name]
            assert cut == pytest.approx(value), name


def test_every_demo_setup_of_one_pump_has_a_plan():
    catalogue = default_catalogue()
    plans = [plan_of([setup], catalogue) for setup in catalogue.setups.values()]
    assert all(plan.rows == 1 for plan in plans)
