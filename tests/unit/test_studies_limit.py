"""The limit by hand, its stock, its words, and the two cases without a value."""

from __future__ import annotations

import re

import pytest

from curvelab.errors import InputError
from curvelab.model.catalogue import default_catalogue
from curvelab.studies.kit import in_lengths, stock_lengths
from curvelab.studies.limit import limit
from curvelab.studies.result import State
from curvelab.studies.say import at_least, at_most, three_figures
from curvelab.studies.solve import solve
from curvelab.units import Quantity, System, parse
from tests.unit.study_cases import FOOT, GPM, NAMES, SYSTEMS, assert_sentence, demo


def test_greatest_lift_of_a_pump_that_states_no_suction_is_its_priming_lift():
    """Linnet 3 in dry September draws what its sheet and the air at 2100 ft say: 14.9 ft."""
    found = limit(demo("mill-pond-september"), "suction.lift", flow=0.0)
    result = solve(demo("mill-pond-september"))
    assert found.because == "prime"
    assert found.value == pytest.approx(result.priming_lift_m, rel=1e-5)


def test_greatest_rise_is_what_shut_off_leaves_over_the_lift():
    """No flow is wanted: the outlet may rise until the pump holds the water there and nothing comes."""
    setup = demo("cellar")
    shut = solve(setup).shutoff_head_m
    assert shut is not None
    found = limit(setup, "discharge.rise")
    assert found.because == "lift"
    assert found.value == pytest.approx(shut - setup.suction.lift.si, rel=1e-4)


def test_a_wanted_flow_is_the_goals_unless_another_is_named():
    setup = demo("mill-pond")
    goal, more = limit(setup, "discharge.leg.0.length"), limit(setup, "discharge.leg.0.length", flow="170 gpm")
    assert goal.value is not None
    assert more.value is not None
    assert more.value < goal.value
    assert goal.result is not None
    assert goal.result.flow_m3_s == pytest.approx(150 * GPM, rel=1e-5)
    assert more.result is not None
    assert more.result.flow_m3_s == pytest.approx(170 * GPM, rel=1e-5)
    assert "150 gal/min" in goal.sentence


def test_longest_hose_in_stock_lengths_of_the_yard():
    setup = demo("mill-pond")
    found = limit(setup, "discharge.leg.0.length")
    assert found.value is not None
    stock = stock_lengths(setup.discharge.leg[0], default_catalogue())
    total, words = in_lengths(found.value, stock, System.US)
    assert words == found.stock
    assert total <= found.value < total + stock[0]
    assert re.fullmatch(r"\d lengths of 100 ft( and one of (50|25) ft)*( and one of 25 ft)?", found.stock)
    assert found.stock in found.sentence


@pytest.mark.parametrize(
    ("feet", "stock", "words", "total"),
    [
        (810.0, (25.0, 50.0, 100.0), "8 lengths of 100 ft", 800.0),
        (176.0, (25.0, 50.0, 100.0), "one length of 100 ft and one of 50 ft and one of 25 ft", 175.0),
        (29.8, (15.0, 20.0, 25.0), "one length of 25 ft", 25.0),
        (30.0, (15.0,), "2 lengths of 15 ft", 30.0),
        (10.0, (15.0,), "", 0.0),
        (10.0, (), "", 0.0),
    ],
)
def test_whole_lengths(feet: float, stock: tuple[float, ...], words: str, total: float):
    length, text = in_lengths(feet * FOOT, [piece * FOOT for piece in stock], System.US)
    assert text == words
    assert length == pytest.approx(total * FOOT)


def test_hose_from_the_rack_that_would_not_do_is_not_named():
    """Starved, a longer hose holds the flow down to what the suction feeds: shorter stock would starve again."""
    setup = demo("mill-pond-august")
    fed = solve(setup).margin_flow_m3_s
    assert fed is not None
    found = limit(setup, "discharge.leg.0.length", flow=0.999 * fed)
    assert found.value is not None
    assert found.because == "flow"
    total, words = in_lengths(found.value, stock_lengths(setup.discharge.leg[0], default_catalogue()), System.US)
    shorter = solve(setup.with_("discharge.leg.0.length", f"{total / FOOT:.6f} ft"))
    assert words
    assert shorter.state is State.THIN
    assert found.stock == ""


def test_a_catalogue_hose_is_stepped_through_its_sizes_also_when_asked_for_its_bore():
    setup = demo("long-ditch-small-pump")
    by_size, by_bore = limit(setup, "suction.leg.0.size"), limit(setup, "suction.leg.0.bore")
    assert by_size == by_bore
    assert by_size.field == "suction.leg.0.size"
    assert by_size.stock == "2 in"
    assert by_size.kind == "least"
    assert by_size.because == "suction"


def test_least_bore_of_a_hose_written_out_is_rounded_up_to_the_next_size():
    leg = {"bore": "3 in", "roughness": "0.05 mm", "length": "300 ft"}
    setup = demo("mill-pond").with_("discharge.leg.0", leg)
    found = limit(setup, "discharge.leg.0.bore")
    assert found.value is not None
    assert found.stock == "3 in"
    assert parse("2½ in", Quantity.BORE) < found.value < parse("3 in", Quantity.BORE)
    with pytest.raises(InputError, match="ask for bore"):
        limit(setup, "discharge.leg.0.size")


def test_no_value_says_what_still_fails_at_the_kindest():
    found = limit(demo("high-camp"), "site.temperature")
    assert (found.value, found.because, found.result, found.stock) == (None, "suction", None, "")
    assert "33 °F" in found.sentence
    assert limit(demo("mill-pond-2in"), "site.altitude").because == "flow"


def test_no_value_for_a_hose_that_only_its_rating_forbids():
    """3 in light hose gives the flow and feeds the pump, but could see more than its rating: that is what fails."""
    found = limit(demo("mill-pond-2in"), "discharge.leg.0.size")
    assert found.value is None
    assert found.because == "pressure"
    assert "3 in" in found.sentence


def test_nothing_gives_way_in_the_range():
    found = limit(demo("cellar"), "site.altitude")
    assert (found.value, found.because, found.result) == (None, None, None)
    assert found.sentence == "Nothing gives way in the range: altitude up to 10,000 ft."


def test_a_speed_that_no_file_may_hold_is_the_end_of_the_range_and_not_a_short_hose():
    found = limit(demo("cellar"), "pump.speed")
    assert found.because is None
    assert "1,440 rpm" in found.sentence


def test_hose_and_fittings_as_reasons():
    assert limit(demo("cellar"), "suction.lift").because == "hose"
    assert limit(demo("cellar"), "suction.leg.0.size").because == "fittings"


def test_whole_hoses_only():
    found = limit(demo("campground-tank"), "suction.leg.0.abreast")
    assert found.value == 2.0
    assert found.because == "suction"


def test_a_further_loss_comes_on_top_of_the_fittings():
    setup = demo("box-figure")
    found = limit(setup, "suction.leg.0.k")
    assert found.value is not None
    over = solve(setup.with_("suction.leg.0.k", f"{found.value + 0.01:.6f}"))
    assert over.state is State.THIN


@pytest.mark.parametrize(
    "field", ["title", "pump.id", "suction.margin", "discharge.waypoint.9.height", "outlet.bore", "nothing"]
)
def test_fields_without_a_limit(field: str):
    with pytest.raises(InputError):
        limit(demo("mill-pond"), field)


def test_a_flow_without_unit_is_refused():
    with pytest.raises(InputError):
        limit(demo("mill-pond"), "suction.lift", flow="100")


# --- words


def test_figures_are_rounded_to_the_safe_side():
    us = System.US
    assert at_most(52.6 * FOOT, Quantity.LENGTH, us) == "52.6 ft"
    assert at_most(104.217, Quantity.LENGTH, us) == "341 ft"  # 341.9 ft
    assert at_most(15.2399927, Quantity.LENGTH, us) == "50 ft"  # the search's own rounding
    assert at_least(0.5423, Quantity.SHARE, us) == "55 %"
    assert at_least(0.0602, Quantity.BORE, us) == "2.38 in"
    assert at_most(-1.234 * FOOT, Quantity.LENGTH, us) == "−1.3 ft"
    assert three_figures(18.952, -1.0) == "18.9"
    assert three_figures(0.14746, 1.0) == "0.148"
    assert three_figures(50.0) == "50"


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("units", SYSTEMS)
def test_printed_limits_do_not_promise_too_much(name: str, units: str):
    setup = demo(name, units)
    for field in ("suction.lift", "suction.leg.0.length", "site.altitude"):
        found = limit(setup, field)
        assert_sentence(found.sentence)
        said = re.search(r"at most (−?[\d,.]+ \S+?):", found.sentence)
        if found.value is not None:
            assert said is not None
            printed = parse(said[1].replace(",", "").replace("−", "-"), Quantity.LENGTH)
            assert printed <= found.value + 1e-4 * max(abs(found.value), 1.0)
