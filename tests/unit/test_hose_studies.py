"""Longer hose and which bore, held to single solves, to hand-worked figures and to what the first drawings printed."""

import math

import pytest

from curvelab.hydraulics import kernel
from curvelab.model.catalogue import default_catalogue
from curvelab.model.route import taken_along
from curvelab.model.setup import Setup
from curvelab.studies.bores import Bore, Bores, bores
from curvelab.studies.longer import Longer, longer
from curvelab.studies.result import State
from curvelab.studies.sizes import MOST, in_sizes, next_sizes
from curvelab.studies.solve import solve

FT, GPM, INCH, LB = 0.3048, 3.785411784e-3 / 60, 0.0254, 0.45359237
CATALOGUE = default_catalogue()
POND = CATALOGUE.setups["mill-pond"]
JOBS = sorted(CATALOGUE.setups)


def row_of(found: Longer, inches: float) -> int:
    return next(row for row, sized in enumerate(found.sizes) if math.isclose(sized.size_m, inches * INCH))


def bore(found: Bores, inches: float) -> Bore:
    return next(row for row in found.rows if math.isclose(row.size.size_m, inches * INCH))


def flow_gpm(found: Longer, inches: float, feet: float) -> float:
    flow, _ = found.at(row_of(found, inches), feet * FT)
    assert flow is not None
    return flow / GPM


def same(one: float | None, other: float | None, *, rel: float) -> bool:
    if one is None or other is None:
        return one is other
    return one == pytest.approx(other, rel=rel)


# --- longer


@pytest.mark.parametrize("job", JOBS)
def test_every_flow_is_that_of_a_single_solve(job: str):
    setup = CATALOGUE.setups[job]
    found = longer(setup)
    for sized in found.sizes[:: max(1, len(found.sizes) - 1)]:
        row = found.sizes.index(sized)
        for length in found.marks_m:
            variant = sized.setup.with_("discharge.leg.0.length", f"{length!r} m")
            result = solve(taken_along(sized.setup, variant))
            flow, state = found.at(row, length)
            assert state is result.state
            assert same(flow, result.flow_m3_s, rel=1e-6)


@pytest.mark.parametrize(
    ("inches", "flows"),
    [
        (1.5, {100: 67, 300: 39, 1000: 21}),
        (2.0, {50: 161, 100: 129, 300: 81, 1000: 45}),
        (2.5, {50: 222, 100: 192, 300: 134, 1000: 79}),
        (3.0, {50: 230, 100: 230, 300: 186, 600: 148, 1000: 120}),
        (4.0, {50: 230, 100: 230, 300: 230, 1000: 201}),
    ],
)
def test_mill_pond_gives_what_the_first_drawing_printed(inches: float, flows: dict[int, int]):
    """The drawing was computed by another program, with other couplings counted in: 2 %."""
    found = longer(POND)
    for feet, gpm in flows.items():
        assert flow_gpm(found, inches, feet) == pytest.approx(gpm, rel=0.02, abs=1.0)


def test_one_call_of_the_kernel(monkeypatch: pytest.MonkeyPatch):
    calls = []
    honest = kernel.solve
    monkeypatch.setattr(kernel, "solve", lambda plan: calls.append(plan.rows) or honest(plan))
    found = longer(POND)
    assert calls == [found.flow_m3_s.size]


def test_suction_holds_the_flow_where_it_gives_out():
    found = longer(CATALOGUE.setups["mill-pond-august"])
    assert found.limit_m3_s == pytest.approx(solve(found.setup).cavitation_flow_m3_s)
    held = found.state == str(State.CAVITATING)
    assert held.any()
    assert found.flow_m3_s[held] == pytest.approx(found.limit_m3_s, rel=1e-6)


def test_pump_without_stated_need_has_a_guess_and_no_limit():
    found = longer(CATALOGUE.setups["cellar"])
    result = solve(found.setup)
    guess = result.cavitation_flow_estimate_m3_s
    assert found.limit_m3_s is None
    assert guess is not None
    assert found.guess_m3_s == pytest.approx((guess.low, guess.high))


@pytest.mark.parametrize(
    ("job", "end_ft"), [("mill-pond", 1000), ("mill-pond-long-way", 2000), ("long-ditch-small-hose", 2000)]
)
def test_axis_doubles_until_twice_the_hose_is_on_it(job: str, end_ft: int):
    found = longer(CATALOGUE.setups[job])
    assert found.end_m == pytest.approx(end_ft * FT)
    assert 2.0 * found.now_m <= found.end_m * (1.0 + 1e-9)


def test_metric_axis_is_300_m_and_lengths_are_round_metres():
    found = longer(CATALOGUE.setups["drip-block"])
    assert found.end_m == pytest.approx(300.0)
    others = [mark for mark in found.marks_m if mark not in (found.now_m, 2.0 * found.now_m)]
    assert all(math.isclose(mark, round(mark)) for mark in others)


@pytest.mark.parametrize("job", JOBS)
def test_marks_hold_the_present_length_and_twice_that(job: str):
    found = longer(CATALOGUE.setups[job])
    assert found.marks_m[:2] == (found.now_m, 2.0 * found.now_m)
    assert len(set(found.marks_m)) == len(found.marks_m)
    assert all(found.reach_m <= mark <= found.end_m * (1.0 + 1e-9) for mark in found.marks_m)


def test_hose_too_short_for_the_climb_is_not_drawn():
    found = longer(CATALOGUE.setups["ridge-tank-high-head"])  # 104 ft up to the tank
    assert found.reach_m == pytest.approx(float(found.length_m[0]))
    assert found.length_m[0] >= 104 * FT


@pytest.mark.parametrize(("inches", "gpm"), [(2.0, 68), (3.0, 200)])
def test_ten_feet_of_hose_is_a_foot_of_lift_at_one_flow(inches: float, gpm: float):
    """Common figures of generic lay-flat at 0.05 mm: 68 gal/min in 2 in, 200 in 3 in."""
    found = longer(POND)
    tenth = next(t for t in found.tenths if math.isclose(t.size_m, inches * INCH))
    assert tenth.flow_m3_s / GPM == pytest.approx(gpm, rel=0.01)
    assert 3.6 < tenth.twice < 4.0  # square of the flow, a little less in smooth hose


def test_tenth_loses_a_tenth_by_an_independent_friction_factor():
    from fluids.friction import friction_factor

    found = longer(POND)
    tenth = found.tenths[0]
    velocity = tenth.flow_m3_s / (math.pi / 4.0 * (3 * INCH) ** 2)
    factor = friction_factor(Re=velocity * 3 * INCH / 1.23e-6, eD=0.05e-3 / (3 * INCH), Method="Colebrook")
    assert factor * velocity**2 / (2.0 * 9.80665 * 3 * INCH) == pytest.approx(0.1, rel=5e-3)


def test_only_the_first_discharge_hose_changes():
    setup = CATALOGUE.setups["wash-down"]
    assert len(setup.discharge.leg) == 2
    for sized in in_sizes(setup, CATALOGUE).sized:
        assert sized.setup.discharge.leg[1:] == setup.discharge.leg[1:]
        assert sized.setup.with_("discharge.leg.0", setup.discharge.leg[0]) == setup
    found = longer(setup)
    row, length = 0, 2.0 * found.now_m
    by_hand = found.sizes[row].setup.with_("discharge.leg.0.length", f"{length!r} m")
    assert found.at(row, length)[0] == pytest.approx(solve(by_hand).flow_m3_s, rel=1e-6)


def test_hose_written_out_takes_standard_sizes_and_keeps_its_own():
    leg = {"bore": "2.2 in", "roughness": "0.05 mm", "length": "300 ft"}
    setup = POND.with_("discharge.leg.0", leg)
    sized = in_sizes(setup, CATALOGUE).sized
    assert [round(one.size_m / INCH, 2) for one in sized] == [1.25, 1.5, 2.0, 2.2, 2.5]
    assert [one.now for one in sized].index(True) == 3
    near = in_sizes(POND.with_("discharge.leg.0", {**leg, "bore": "3.03 in"}), CATALOGUE).sized
    assert [round(one.size_m / INCH, 2) for one in near] == [1.5, 2.0, 2.5, 3.03, 4.0]


@pytest.mark.parametrize(
    ("size", "below", "above"), [("3 in", "2½ in", "4 in"), ("1 in", "", "1½ in"), ("6 in", "4 in", "")]
)
def test_a_size_down_and_a_size_up_as_the_rack_has_them(size: str, below: str, above: str):
    setup = POND.with_("discharge.leg.0.size", size)
    for found, wanted in zip(next_sizes(setup, CATALOGUE), (below, above), strict=True):
        assert (found.setup if found else None) == (setup.with_("discharge.leg.0.size", wanted) if wanted else None)


def test_sizes_next_to_a_hose_written_out_are_standard_ones():
    leg = {"bore": "2.6 in", "roughness": "0.0015 mm", "length": "300 ft"}
    below, above = next_sizes(POND.with_("discharge.leg.0", leg).with_("discharge.waypoint", []), CATALOGUE)
    assert (below and below.size_m, above and above.size_m) == pytest.approx((2.5 * 0.0254, 3 * 0.0254))


@pytest.mark.parametrize("size", ["1 in", "6 in"])
def test_smallest_and_largest_still_show_five(size: str):
    sized = in_sizes(POND.with_("discharge.leg.0.size", size), CATALOGUE).sized
    assert len(sized) == MOST
    assert sum(one.now for one in sized) == 1


@pytest.mark.parametrize("job", ["mill-pond-september", "ridge-tank"])
def test_nothing_flows_where_nothing_can(job: str):
    setup = CATALOGUE.setups[job]
    assert not longer(setup).flows
    assert not bores(setup).flows


# --- bores


@pytest.mark.parametrize("job", JOBS)
def test_every_bore_is_that_of_a_single_solve(job: str):
    for row in bores(CATALOGUE.setups[job]).rows:
        result = solve(row.size.setup)
        assert row.state is result.state
        assert same(row.flow_m3_s, result.flow_m3_s, rel=1e-9)
        assert row.over_rated == bool(result.over_rated)
        if row.comes:
            legs = len(row.size.setup.suction.leg)
            assert row.suction_speed_m_s == pytest.approx(max(result.velocities_m_s[:legs]))
            assert row.speed_m_s == pytest.approx(result.velocities_m_s[legs])


def test_figures_of_a_bore_by_hand():
    row = bore(bores(POND), 3.0)
    assert row.flow_m3_s is not None
    area = math.pi / 4.0 * (3.0 * INCH) ** 2
    assert row.speed_m_s == pytest.approx(row.flow_m3_s / area)
    assert row.empty_kg == pytest.approx(300 * 0.42 * LB, rel=1e-3)
    assert row.full_kg is not None
    assert row.empty_kg is not None
    assert row.full_kg - row.empty_kg == pytest.approx(area * 300 * FT * 999.5, rel=1e-3)  # water at 55 °F
    assert row.cost_day == 3 * 13.0  # three lengths of 100 ft


def test_share_is_the_ledgers():
    result = solve(POND)
    parts = {part.item: part.head_m for part in result.ledger}
    assert bore(bores(POND), 3.0).share == pytest.approx(parts["discharge"] / sum(parts.values()))


def test_share_counts_the_falls_help_and_never_passes_the_whole():
    for job in JOBS:
        for row in bores(CATALOGUE.setups[job]).rows:
            assert row.share is None or 0.0 <= row.share <= 1.0
    assert bore(bores(CATALOGUE.setups["overflowing-pond"]), 4.0).share is None, "past the curve nobody knows it"


def test_two_hoses_weigh_and_cost_twice():
    one, two = bore(bores(POND), 2.0), bore(bores(POND.with_("discharge.leg.0.abreast", "2")), 2.0)
    assert one.cost_day is not None
    assert two.cost_day == 2 * one.cost_day
    assert two.full_kg == pytest.approx(2 * (one.full_kg or 0.0))


def test_larger_suction_hose_is_solved_too():
    found = bores(POND)
    assert found.calmer is not None
    assert found.calmer.size_m == pytest.approx(4 * INCH)
    wider = solve(POND.with_("suction.leg.0.size", "4 in"))
    assert found.calmer.speed_m_s == pytest.approx(wider.velocities_m_s[0])
    assert bores(CATALOGUE.setups["mill-pond-august"]).calmer is None, "slow enough already"


def test_pump_without_stated_need_may_be_starved():
    rows = bores(CATALOGUE.setups["cellar"]).rows
    assert [row.perhaps_starved for row in rows] == [False, False, False, True, True]
    assert all(row.state is State.SOUND for row in rows)
    assert [row.fed for row in rows] == [True, True, True, False, False]


def test_hose_without_price_or_weight_has_neither():
    setup: Setup = POND.with_("discharge.leg.0", {"bore": "3 in", "roughness": "0.05 mm", "length": "300 ft"})
    found = bores(setup)
    assert found.currency == found.prices == ""
    assert all(row.cost_day is None and row.empty_kg is None and row.full_kg is None for row in found.rows)
