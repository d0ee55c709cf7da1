"""Doubts: draws as wide as stated, blame by a method with known answers, and sentences that don't overstate."""

import json
import math
import re
from dataclasses import replace
from statistics import NormalDist

import numpy as np
import pytest

import curvelab
from curvelab.errors import DomainError
from curvelab.hydraulics import kernel
from curvelab.model.planning import plan_of
from curvelab.report.slow_tables import doubt_text
from curvelab.studies.doubt import Doubt, Spread, doubt, shares_of
from curvelab.studies.doubt_draws import GRADE_HEAD, NAMES, NINE_IN_TEN, doubts_of, draws_of
from curvelab.studies.doubt_words import brief, odds
from curvelab.units import Quantity, show
from tests.unit.slow_cases import demo

FT = 0.3048
NAMED = {
    "lift": "2 ft", "rise": "3 ft", "length": "5 %", "bore": "3 %", "roughness": "50 %", "k": "40 %", "head": "7 %",
    "npshr": "15 %",
}  # fmt: skip
KNOWN = {"bore": "0 %", "roughness": "0 %", "k": "0 %", "head": "0 %"}
"""Takes away what hose, fittings and pump bring along."""
CATALOGUE = curvelab.default_catalogue()


def sure(name: str, **section: str) -> Doubt:
    """With these doubts and no others."""
    return doubt(demo(name).with_("doubt", KNOWN | section), samples=4000)


def rows(setup: curvelab.Setup, samples: int = 4000):
    plan = plan_of([setup], CATALOGUE)
    draws = draws_of(samples, 1)
    return plan, doubts_of(setup, plan, CATALOGUE).rows(plan, draws), draws


def within(values, low: float, high: float) -> float:
    return float(((values >= low) & (values <= high)).mean())


def test_a_width_holds_nine_draws_in_ten():
    assert pytest.approx(1.645, abs=5e-4) == NINE_IN_TEN
    setup = demo("mill-pond").with_("doubt", NAMED)
    plan, drawn, _ = rows(setup, 40_000)
    assert within(drawn.lift_m, 10 * FT, 14 * FT) == pytest.approx(0.9, abs=0.005)
    assert within(drawn.rise_m, 35 * FT, 41 * FT) == pytest.approx(0.9, abs=0.005)
    length = drawn.discharge.length_m[:, 0] / plan.discharge.length_m[0, 0]
    assert within(length, 0.95, 1.05) == pytest.approx(0.9, abs=0.005)
    bore = drawn.discharge.bore_m[:, 0] / plan.discharge.bore_m[0, 0]
    assert within(bore, 0.97, 1.03) == pytest.approx(0.9, abs=0.005)
    assert within(drawn.pumps.wear[:, 0], 0.93, 1.07) == pytest.approx(0.9, abs=0.005)


def test_one_draw_a_doubt_is_shared_by_all_hoses_and_the_route_moves_as_a_whole():
    plan, drawn, _ = rows(demo("mill-pond").with_("doubt", NAMED))
    for column in ("length_m", "bore_m", "k"):
        ratio = [
            getattr(getattr(drawn, side), column) / getattr(getattr(plan, side), column)
            for side in ("suction", "discharge")
        ]
        assert ratio[0] == pytest.approx(np.broadcast_to(ratio[1], ratio[0].shape))
    up = drawn.rise_m - plan.rise_m
    assert drawn.waypoints.height_m - plan.waypoints.height_m == pytest.approx(up[:, None] * np.ones((1, 4)))
    longer = drawn.discharge.length_m.sum(1) / plan.discharge.length_m.sum(1)
    assert drawn.waypoints.distance_m / plan.waypoints.distance_m == pytest.approx(longer[:, None] * np.ones((1, 4)))


def test_a_draw_below_zero_counts_as_zero():
    _, drawn, _ = rows(
        demo("mill-pond").with_("doubt", {"length": "100 %", "k": "100 %", "head": "100 %", "bore": "100 %"})
    )
    assert drawn.discharge.length_m.min() == drawn.suction.k.min() == drawn.pumps.wear.min() == 0.0
    assert drawn.discharge.bore_m.min() > 0.0
    assert (drawn.discharge.roughness_m <= 0.05 * drawn.discharge.bore_m * (1 + 1e-12)).all()


def test_without_a_section_hose_fittings_and_grade_are_in_doubt_and_heights_are_not():
    setup = demo("mill-pond").with_("doubt", None)
    plan, drawn, draws = rows(setup, 40_000)
    assert (drawn.lift_m == plan.lift_m[0]).all()
    assert (drawn.discharge.length_m == plan.discharge.length_m[0]).all()
    bore = drawn.discharge.bore_m[:, 0] / plan.discharge.bore_m[0, 0]
    assert within(bore, 0.97, 1.03) == pytest.approx(0.9, abs=0.005)
    rough = drawn.discharge.roughness_m[:, 0] / plan.discharge.roughness_m[0, 0]
    assert within(rough, 0.5, 2.0) == pytest.approx(0.9, abs=0.005)
    assert within(drawn.pumps.wear[:, 0], 0.93, 1.07) == pytest.approx(0.9, abs=0.01)
    k = drawn.suction.k[:, 0]
    strainer, coupling = (CATALOGUE.fittings[name] for name in ("basket-strainer", "cam-coupling"))
    least = (strainer.low or 0.0) + (coupling.low or 0.0)
    most = (strainer.high or 0.0) + (coupling.high or 0.0)
    assert within(k, least, most) == pytest.approx(0.9, abs=0.005)
    assert np.median(k) == pytest.approx(plan.suction.k[0, 0], rel=0.01)
    assert (np.argsort(k) == np.argsort(draws["k"])).all()


def test_grades_are_those_of_the_standard_and_a_stated_one_counts():
    assert {grade: high for grade, (_, high) in GRADE_HEAD.items() if grade.endswith("B")} == {
        "1B": 0.03,
        "2B": 0.05,
        "3B": 0.07,
    }
    fine = demo("mill-pond").with_("doubt", None)
    record = CATALOGUE.pumps["ferrow-3"].model_copy(update={"grade": "1B"})
    better = fine.model_copy(update={"pump": fine.pump.model_copy(update={"id": None, "record": record})})
    spreads = [np.ptp(np.quantile(rows(setup, 20_000)[1].pumps.wear, (0.05, 0.95))) for setup in (better, fine)]
    assert spreads == [pytest.approx(0.06, rel=0.05), pytest.approx(0.14, rel=0.05)]
    assert "grade 1B" in doubt(better, samples=500).sentence
    assert "grade 3B" in doubt(fine, samples=500).sentence


@pytest.mark.parametrize("section", [KNOWN, {**KNOWN, "lift": "0 ft", "npshr": "0 %"}])
@pytest.mark.parametrize("name", ["mill-pond", "mill-pond-august", "cellar", "overflowing-pond"])
def test_a_doubt_of_nothing_is_the_plain_answer(name: str, section: dict[str, str]):
    setup = demo(name).with_("doubt", section)
    found, plain = doubt(setup), curvelab.solve(setup)
    assert plain.flow_m3_s is not None
    assert found.flow_m3_s == Spread(low=plain.flow_m3_s, middle=plain.flow_m3_s, high=plain.flow_m3_s)
    assert found.state_share == {str(plain.state): 1.0}
    assert found.blame is None
    assert found.measure is None
    assert "nothing that is in doubt changes it" in found.sentence


@pytest.mark.parametrize("name", NAMES)
def test_the_middle_draw_is_the_plain_answer(name: str):
    setup = demo("mill-pond").with_("doubt", KNOWN | {name: NAMED[name]})
    plan = plan_of([setup], CATALOGUE)
    doubts = doubts_of(setup, plan, CATALOGUE)
    assert doubts.names == (name,)
    middle = doubts.rows(plan, {other: np.zeros(1) for other in NAMES})
    flow = kernel.solve(middle).flow_m3_s[0]
    assert flow == pytest.approx(curvelab.solve(setup).flow_m3_s, rel=1e-9)


def test_the_same_seed_gives_the_same_answer_and_another_one_nearly_that():
    setup = demo("mill-pond")
    first, again, other = doubt(setup), doubt(setup), doubt(setup, seed=2)
    assert first == again
    assert first.flow_m3_s != other.flow_m3_s
    assert first.flow_m3_s.low == pytest.approx(other.flow_m3_s.low, rel=5e-3)
    assert first.flow_m3_s.high == pytest.approx(other.flow_m3_s.high, rel=5e-3)


def test_one_linear_doubt_by_hand():
    """A small doubt of the lift moves the flow along its tangent: 80 % lie within 1.2816 standard deviations."""
    setup = demo("mill-pond").with_("doubt", KNOWN | {"lift": "0.2 ft"})
    lifts = [setup.with_("suction.lift", f"{12 + more} ft") for more in (-0.1, 0.1)]
    high, low = (curvelab.solve(one).flow_m3_s or 0.0 for one in lifts)
    sd = (high - low) / 0.2 * 0.2 / NINE_IN_TEN
    band = doubt(setup).flow_m3_s
    z = NormalDist().inv_cdf(0.9)
    assert band.high - band.low == pytest.approx(2.0 * z * sd, rel=0.02)
    assert band.middle == pytest.approx(curvelab.solve(setup).flow_m3_s, rel=1e-3)


def test_shares_of_a_sum_are_its_variances():
    draw = np.random.default_rng(5).standard_normal((3, 20_000))
    shares = shares_of(3.0 * draw[0] + 4.0 * draw[1], dict(zip("abc", draw, strict=True)))
    assert shares["a"] == pytest.approx(9 / 25, abs=0.02)
    assert shares["b"] == pytest.approx(16 / 25, abs=0.02)
    assert shares["c"] == pytest.approx(0.0, abs=0.005)


def test_shares_of_what_neither_rises_nor_falls():
    """A square has no correlation with its root, yet comes all from it."""
    draw = np.random.default_rng(6).standard_normal((2, 20_000))
    shares = shares_of(draw[0] ** 2 + 0.01 * draw[1], {"a": draw[0], "b": draw[1]})
    assert shares["a"] == pytest.approx(1.0, abs=0.02)
    assert shares["b"] == pytest.approx(0.0, abs=0.005)


@pytest.mark.parametrize("name", ["mill-pond", "campground-tank", "box-figure", "two-hoses"])
def test_blame_adds_up_and_the_first_is_what_to_measure(name: str):
    found = doubt(demo(name), samples=3000)
    assert found.blame is not None
    assert found.measure is not None
    shares = [part.share for part in found.blame]
    assert math.isclose(sum(shares), 1.0)
    assert shares == sorted(shares, reverse=True)
    assert found.measure.doubt == found.blame[0].doubt
    left = found.measure.flow_m3_s
    assert left.high - left.low < found.flow_m3_s.high - found.flow_m3_s.low


def test_what_is_known_exactly_leaves_the_others():
    alone = sure("mill-pond", rise="3 ft").flow_m3_s
    both = sure("mill-pond", rise="3 ft", lift="0.5 ft")
    assert both.measure is not None
    assert both.measure.doubt == "rise"
    lifts = sure("mill-pond", lift="0.5 ft").flow_m3_s
    left = both.measure.flow_m3_s
    assert left.high - left.low == pytest.approx(lifts.high - lifts.low, rel=1e-6)
    assert alone.high - alone.low > left.high - left.low


def test_what_knowing_a_doubt_leaves_is_said_as_a_smaller_spread():
    found = doubt(demo("mill-pond"))
    said = next(sentence for sentence in found.sentences if "matters most" in sentence)
    low, high = map(int, re.findall(r"once you know it, the spread shrinks to (\d+) to (\d+) gal/min", said)[0])
    now = next(sentence for sentence in found.sentences if sentence.startswith("8 times in 10"))
    least, most = map(int, re.findall(r"(\d+) to (\d+) gal/min", now)[0])
    assert least <= low < high <= most
    assert high - low < most - least
    assert "ISO 9906 grade 3B (pump test tolerance)" in found.sentence


def test_the_suction_in_doubt_changes_where_it_starves():
    found = sure("mill-pond-august", npshr="15 %")
    plain = curvelab.solve(demo("mill-pond-august")).flow_m3_s or 0.0
    assert found.state_share == {"cavitating": 1.0}
    assert found.flow_m3_s.low < plain < found.flow_m3_s.high
    assert found.flow_m3_s.middle == pytest.approx(plain, rel=0.01)


def test_a_pump_without_suction_figures_draws_from_the_guess():
    high = demo("cellar").with_("suction.lift", "17 ft")
    guess = curvelab.solve(high).cavitation_flow_estimate_m3_s
    assert guess is not None
    found = doubt(high.with_("doubt", KNOWN | {"npshr": "10 %"}))
    band = found.flow_m3_s
    assert guess.low is not None
    assert guess.low < band.low < band.high
    assert found.state_share["cavitating"] > 0.5
    assert within(np.array([band.low, band.high]), guess.low, guess.high or math.inf) == 1.0


def test_shares_come_first_where_there_is_more_than_one_state():
    found = sure("ridge-tank", rise="20 ft")
    assert set(found.state_share) >= {"no-lift", "sound"}
    assert found.sentence.split(" ")[0] in {"One", "2", "3", "4", "5", "6", "7", "8", "9", "Nearly"}
    assert "it won't lift at all" in found.sentence.split(".")[0]
    assert found.flow_m3_s.low == 0.0
    assert sum(found.state_share.values()) == pytest.approx(1.0)
    single = sure("mill-pond-2in", lift="1 ft")
    assert single.sentence.startswith("8 times in 10")


@pytest.mark.parametrize(
    ("field", "value"),
    [
        ("pump.abreast", 2),
        ("pump.beside", [{"id": "linnet-2"}]),
        ("booster", [{"id": "ferrow-3", "distance": "150 ft"}]),
    ],
)
def test_doubts_reach_every_pump(field: str, value: object):
    setup = demo("mill-pond").with_("suction.leg.0.abreast", 2).with_(field, value)
    plain = curvelab.solve(setup).flow_m3_s
    assert plain is not None
    for section in ({"head": "7 %", "length": "5 %"}, {"npshr": "1 %", "lift": "1 in"}):
        band = doubt(setup.with_("doubt", KNOWN | section), samples=2000).flow_m3_s
        assert band.low < band.middle < band.high
        assert band.middle == pytest.approx(plain, rel=5e-3)


def test_what_reaches_the_goal():
    setup = demo("mill-pond").with_("doubt", NAMED)
    middle = doubt(setup).flow_m3_s.middle
    goal = setup.with_("goal.flow", f"{middle * 6e4:.6f} L/min")
    assert doubt(goal).goal_share == pytest.approx(0.5, abs=0.01)
    assert doubt(demo("box-figure"), samples=200).goal_share is None
    assert "never reaches 150 gal/min" in sure("mill-pond-2in", lift="1 ft").sentence


def test_the_sentence_says_what_was_taken():
    said = doubt(demo("mill-pond"), samples=500).sentence
    assert "Taken: lift ± 2 ft, rise ± 3 ft, length ± 5 %. Besides: the catalogue's spread of hose and fittings" in said
    assert "heights and lengths as stated" in doubt(demo("box-figure"), samples=500).sentence
    assert "Taken: lift ± 1 ft; nothing else." in sure("mill-pond", lift="1 ft").sentence
    assert "Taken: no doubt at all." in sure("mill-pond").sentence


@pytest.mark.parametrize("name", ["mill-pond", "campground-tank", "cellar", "two-hoses"])
@pytest.mark.parametrize("stated", ["lift", "rise", "length"])
def test_to_state_a_doubt_of_a_height_never_looks_surer(name: str, stated: str):
    plain = doubt(demo(name).with_("doubt", None))
    more = doubt(demo(name).with_("doubt", {stated: NAMED[stated]}))
    widths = [one.flow_m3_s.high - one.flow_m3_s.low for one in (plain, more)]
    assert widths[1] >= 0.995 * widths[0]
    assert {part.doubt for part in more.taken} == {part.doubt for part in plain.taken} | {stated}


def test_a_stated_doubt_replaces_its_own_kind_only():
    setup = demo("mill-pond").with_("doubt", {"bore": "6 %"})
    plan, drawn, _ = rows(setup, 40_000)
    bore = drawn.discharge.bore_m[:, 0] / plan.discharge.bore_m[0, 0]
    assert within(bore, 0.94, 1.06) == pytest.approx(0.9, abs=0.005)
    rough = drawn.discharge.roughness_m[:, 0] / plan.discharge.roughness_m[0, 0]
    assert within(rough, 0.5, 2.0) == pytest.approx(0.9, abs=0.005)
    taken = {part.doubt: (part.stated, part.within) for part in doubt(setup, samples=500).taken}
    assert taken["bore"] == (True, "± 6 %")
    assert taken["roughness"] == (False, "half to twice")
    assert taken["head"] == (False, "± 7 %")
    assert taken["k"] == (False, "as each is listed")


@pytest.mark.parametrize(
    ("share", "said"),
    [
        (0.2, "one time in 5"), (0.1, "one time in 10"), (0.025, "one time in 40"), (0.3, "3 times in 10"),
        (0.5, "one time in 2"), (0.82, "4 times in 5"), (0.94, "9 times in 10"), (0.99, "nearly always"),
        (0.0, "never"),
    ],
)  # fmt: skip
def test_odds(share: float, said: str):
    assert odds(share) == said


def test_brief_and_text_and_file_agree():
    setup = demo("mill-pond")
    found = doubt(setup)
    low, high = (
        show(flow, Quantity.FLOW, setup.units, unit=False) for flow in (found.flow_m3_s.low, found.flow_m3_s.high)
    )
    assert brief(found, setup) == f"likely {low} to {high} (8 in 10)"
    assert found.sentence in doubt_text(found, setup)
    out = json.loads(json.dumps(found.to_dict(), allow_nan=False))
    assert out["format"] == "curvelab-doubt/1"
    assert set(out["flow_m3_s"]) == {"low", "middle", "high"}
    assert {part["doubt"] for part in out["blame"]} == {part["doubt"] for part in out["taken"]}


@pytest.mark.parametrize("wrong", [{"samples": 10}, {"samples": 10**7}, {"seed": -1}])
def test_samples_and_seed_have_ranges(wrong: dict[str, int]):
    with pytest.raises(DomainError):
        doubt(demo("mill-pond"), **{"samples": 500, "seed": 1, **wrong}, catalogue=CATALOGUE)


def test_nothing_known_of_a_hose_written_out_is_no_doubt():
    leg = {"bore": "3 in", "roughness": "0.05 mm", "length": "20 ft"}
    out = {"bore": "3 in", "roughness": "0.05 mm", "length": "300 ft"}
    setup = demo("mill-pond").with_("doubt", None).with_("suction.leg.0", leg).with_("discharge.leg.0", out)
    found = doubt(setup, samples=500)
    assert found.blame is not None
    assert [part.doubt for part in found.blame] == ["head"]


def test_a_band_over_the_step_of_units_is_printed_in_one():
    found = doubt(CATALOGUE.setups["mill-pond"].with_("units", "metric"), catalogue=CATALOGUE, samples=500)
    wide = replace(found, flow_m3_s=Spread(low=0.915 / 60.0, middle=0.98 / 60.0, high=63.0 / 3600.0))
    assert brief(wide, CATALOGUE.setups["mill-pond"].with_("units", "metric")) == "likely 54.9 to 63 m³/h (8 in 10)"
