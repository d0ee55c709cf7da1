"""The demo data: numbers say where they are from, the fleet covers kinds and ports, facts of the trade hold."""

import re
from pathlib import Path

import numpy as np
import pytest

from curvelab.layout.text import width_px
from curvelab.model.catalogue import check_file, default_catalogue
from curvelab.model.caution import When
from curvelab.model.pump import Pump
from curvelab.units import Quantity, from_unit, parse

DATA = Path(__file__).parents[2] / "data"
FOOT = from_unit(1.0, "ft", Quantity.LENGTH)
INCH = from_unit(1.0, "in", Quantity.BORE)
PSI = from_unit(1.0, "psi", Quantity.PRESSURE)
HP = from_unit(1.0, "hp", Quantity.POWER)
ONE_LINE_PX = 284.0
"""The setup column less the mark before each line. [px]"""


def pumps() -> list[Pump]:
    return list(default_catalogue().pumps.values())


# --- where the numbers are from --------------------------------------------------------------------------------------


def test_every_record_says_where_it_is_from() -> None:
    found = default_catalogue()
    records = [
        r for kind in (found.pumps, found.hoses, found.fittings, found.liquids, found.cautions) for r in kind.values()
    ]
    assert len(records) > 60
    assert [r.id for r in records if not (r.source or r.estimate)] == []


def test_pumps_and_prices_say_that_they_are_invented() -> None:
    assert {p.source for p in pumps()} == {"invented for demonstration"}
    assert "invented" in (DATA / "prices.toml").read_text(encoding="utf-8").split("[[price]]")[0]


@pytest.mark.parametrize("path", sorted(DATA.rglob("*.toml")), ids=lambda p: p.stem)
def test_file_checks(path: Path) -> None:
    assert check_file(path) == []


# --- what the fleet covers -------------------------------------------------------------------------------------------


def test_fleet_covers_kinds_and_ports() -> None:
    assert len(pumps()) >= 14
    assert {p.kind for p in pumps()} == {"clear-water", "semi-trash", "trash", "chemical", "high-head", "diaphragm"}
    ports = {round(p.outlet.si / INCH, 2) for p in pumps() if p.outlet}
    assert ports == {1.5, 2.0, 3.0, 4.0}


def test_fleet_shows_every_way_of_stating_suction() -> None:
    with_points = [p.id for p in pumps() if p.npshr is not None]
    with_tests = [p.id for p in pumps() if p.suction_test]
    with_none = [p.id for p in pumps() if p.npshr is None and not p.suction_test]
    assert len(with_points) >= 5
    assert len(with_tests) >= 3
    assert len(with_none) >= 3


@pytest.mark.parametrize("pump", pumps(), ids=lambda p: p.id)
def test_pump_is_whole(pump: Pump) -> None:
    for name in ("inlet", "outlet", "solids", "priming_lift", "housing", "seal", "mass", "engine"):
        assert getattr(pump, name) is not None, name
    assert 8 <= len(pump.head.points) <= 12
    assert pump.engine is not None
    assert pump.engine.tank is not None
    assert pump.engine.consumption is not None
    liquids = default_catalogue().liquids
    assert set(pump.carries) | set(pump.never) <= set(liquids)
    assert {"petrol", "diesel", "solvent"} <= set(pump.never)
    assert "water" in pump.carries


def test_one_curve_droops_mildly() -> None:
    rising = [p.id for p in pumps() if p.head.values_si.argmax() > 0]
    assert rising == ["rill-2"]
    head = default_catalogue().pumps["rill-2"].head.values_si
    assert head.max() < 1.05 * head[0]


# --- facts of the trade: common practice, no source ------------------------------------------------------------------


def test_greatest_heads_are_those_of_the_trade() -> None:
    """Portable centrifugals quote 85 to 200 ft at shut-off; diaphragm pumps 25 to 50 ft."""
    for pump in pumps():
        head_ft = pump.head.values_si.max() / FOOT
        low, high = (25.0, 50.0) if pump.kind == "diaphragm" else (85.0, 200.0)
        assert low <= head_ft <= high + 0.1, (pump.id, head_ft)


def test_solids_are_those_of_the_trade() -> None:
    """2 in semi-trash and trash pumps pass 5/8 to 1 in; clear-water and high-head ones 3/8 in at most."""
    for pump in pumps():
        assert pump.solids is not None
        assert pump.outlet is not None
        solids, port = pump.solids.si / INCH, pump.outlet.si / INCH
        assert solids <= port + 1e-9, pump.id
        if pump.kind in ("semi-trash", "trash") and port < 2.5:
            assert 0.62 <= solids <= 1.0, pump.id
        if pump.kind in ("clear-water", "high-head"):
            assert solids <= 0.376, pump.id


def test_dry_pumps_draw_no_higher_than_the_trade_says() -> None:
    """26 ft at sea level is the most that anybody quotes."""
    for pump in pumps():
        assert pump.priming_lift is not None
        assert 15.0 <= pump.priming_lift.si / FOOT <= 26.0, pump.id


def test_engines_suit_their_pumps() -> None:
    """Efficiency of small portables at its best is 35 to 55 %, and the engine carries the curve's greatest power."""
    for pump in pumps():
        if pump.kind == "diaphragm" or pump.engine is None:
            continue
        head, flow = pump.head.values_si, pump.head.flow_m3_s
        water = 9806.65 * flow * head
        if pump.efficiency is not None:
            points = pump.efficiency
            at = np.interp(points.flow_m3_s, flow, water)
            shaft, best = at / points.values_si, points.values_si.max()
        else:
            assert pump.power is not None, pump.id
            shaft = pump.power.values_si
            best = (np.interp(pump.power.flow_m3_s, flow, water) / shaft).max()
        assert 0.35 <= best <= 0.56, (pump.id, best)
        assert shaft.max() <= 1.02 * pump.engine.power.si, (pump.id, shaft.max() / HP)


# --- hoses and fittings ----------------------------------------------------------------------------------------------


def test_hoses_come_in_the_real_sizes() -> None:
    hoses = default_catalogue().hoses
    real = {1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0}
    for name in ("suction-smooth", "suction-corrugated", "lay-flat-light", "lay-flat-medium"):
        assert {round(s.size.si / INCH, 2) for s in hoses[name].size} == real, name
    assert {round(s.size.si / INCH, 2) for s in hoses["lay-flat-heavy"].size} == real - {1.0}


def test_light_hose_is_weaker_than_medium_and_medium_than_heavy() -> None:
    light, medium, heavy = (default_catalogue().hoses[f"lay-flat-{grade}"] for grade in ("light", "medium", "heavy"))
    three = light.sized(3 * INCH)
    assert three is not None
    assert three.working_pressure is not None
    assert three.working_pressure.si == pytest.approx(50 * PSI)
    for weak, strong in ((light, medium), (medium, heavy)):
        for size in strong.size:
            other = weak.sized(size.size.si)
            assert other is not None
            assert size.working_pressure is not None
            assert other.working_pressure is not None
            assert other.working_pressure.si < size.working_pressure.si


def test_only_suction_hose_and_pipe_hold_their_shape() -> None:
    for hose in default_catalogue().hoses.values():
        assert hose.rigid == (not hose.id.startswith("lay-flat")), hose.id
        for size in hose.size:
            assert (size.vacuum is not None) == hose.rigid, hose.id
            assert size.charged_bore is None or size.charged_bore.si >= size.bore.si


@pytest.mark.parametrize(
    ("name", "size", "k"),
    [
        # K = n f_T, Crane TP-410 (2009), n and f_T as digitised in the fluids library; two decimals as usual in print
        ("elbow-90", "2 in", 0.57),
        ("elbow-90", "3 in", 0.51),
        ("elbow-45", "4 in", 0.26),
        ("gate-valve", "3 in", 0.14),
        ("ball-valve", "2 in", 0.06),
        ("swing-check", "3 in", 1.70),
        ("foot-valve", "2 in", 1.43),
        ("foot-valve-poppet", "3 in", 7.14),
    ],
)
def test_published_fittings_are_as_printed(name: str, size: str, k: float) -> None:
    found = default_catalogue().fittings[name].sized(parse(size, Quantity.BORE))
    assert found is not None
    assert found.k == pytest.approx(k, abs=0.0051)


def test_the_screwed_elbow_shows_its_published_spread() -> None:
    """Hydraulic Institute tables print 1.00 for the 2 in elbow that Crane puts at 0.57."""
    elbow = default_catalogue().fittings["elbow-90"].sized(2 * INCH)
    assert elbow is not None
    assert elbow.low is not None
    assert elbow.low < elbow.k < 0.58
    assert elbow.high == 1.0


def test_foot_valves_and_no_other_fittings_hold_prime() -> None:
    for fitting in default_catalogue().fittings.values():
        assert fitting.holds_prime == fitting.id.startswith("foot-valve"), fitting.id


# --- cautions --------------------------------------------------------------------------------------------------------


def test_cautions_have_a_source_and_somebody_who_decides() -> None:
    cautions = list(default_catalogue().cautions.values())
    assert len(cautions) >= 12
    assert [c.id for c in cautions if not (c.source and c.defer_to)] == []


def test_what_kills_cannot_be_dismissed() -> None:
    cautions = default_catalogue().cautions
    for name in (
        "exhaust",
        "exhaust-indoors",
        "electricity",
        "confined-space",
        "pressure",
        "rating",
        "fuel",
        "chemicals",
    ):
        assert not cautions[name].dismissible, name


def test_cautions_are_short_and_plain() -> None:
    for caution in default_catalogue().cautions.values():
        assert len(caution.text) <= 160, caution.id
        assert caution.short, caution.id
        assert width_px(caution.short, 12.5) <= ONE_LINE_PX, caution.id
        longest = max(len(s.split()) for s in re.split(r"[.;:]", caution.text))
        assert longest <= 22, caution.id


def test_fumes_pressure_and_fuel_always_show() -> None:
    for name in ("exhaust", "pressure", "fuel"):
        when = default_catalogue().cautions[name].when
        assert when == When()


# --- prices ----------------------------------------------------------------------------------------------------------


def test_every_pump_and_hose_has_a_price() -> None:
    found = default_catalogue()
    priced = {p.item for p in found.prices.values()}
    assert set(found.pumps) | set(found.hoses) <= priced
    assert priced <= set(found.pumps) | set(found.hoses) | set(found.fittings)
