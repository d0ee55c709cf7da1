"""Figures as somebody reads them off the page: those of a sentence add up, and a page's units can be told together."""

import re

import pytest

import curvelab
from curvelab.app.slots import slots
from curvelab.app.state import AppState, show
from curvelab.app.studies.cures import cures
from curvelab.model.catalogue import default_catalogue
from curvelab.report.words import suction
from curvelab.units import Quantity, parse
from tests.unit.study_cases import NAMES, demo
from tests.unit.test_every_state_teaches import troubled

CATALOGUE = default_catalogue()


@pytest.mark.parametrize("name", NAMES)
def test_what_is_taken_of_the_airs_push_and_what_is_left_add_up_to_it(name: str):
    """In the sentence as it is printed, to the last digit: by its own words, without the figures behind them."""
    for word, (shown, _) in troubled(name).items():
        said = suction(shown.figures, shown.setup).text
        spent = re.search(
            r"(\w[^.;]* takes .+?) of the air’s ([\d.]+) (?:ft|m)(?: and the ([\d.]+) of water above)?", said
        )
        assert (spent is not None) == word.startswith("Starved at the suction"), f"{word}: {said}"
        if spent is None:
            continue
        taken = [float(number) for number in re.findall(r"(?<![\d.])\d+(?:\.\d+)?", spent[1].rpartition(". ")[2])]
        push = float(spent[2]) + float(spent[3] or 0)
        left = re.search(r"needs the ([\d.]+) left|; ([\d.]+) is left", said)
        rest = float(left[1] or left[2]) if left else shown.figures.npsha.number if shown.figures.npsha else 0.0
        assert sum(taken) + rest == pytest.approx(push, abs=0.01), said


def test_a_change_that_gives_a_starved_pump_hardly_another_flow_is_said_so():
    """At 85 % of its speed the pump needs less for the same water: it gives no less, and runs well."""
    starved, eased = (curvelab.solve(demo("high-camp").with_("pump.throttle", throttle)) for throttle in ("1", "0.85"))
    assert (starved.state, eased.state) == ("cavitating", "sound")
    assert eased.flow_m3_s == pytest.approx(starved.flow_m3_s or 0.0, rel=0.03)
    offered = cures(show(demo("high-camp"), CATALOGUE), CATALOGUE).help.buttons
    assert {button.change: button.leads for button in offered}["Throttle eased to 85 %"] == "about the same, runs well"


@pytest.mark.parametrize("units", ["us", "metric", "imperial"])
def test_a_page_with_two_units_of_pressure_says_what_one_is_in_the_other(units: str):
    """Bar and kPa: the run says the rule, and the rule is right."""
    filled = slots(AppState(CATALOGUE, demo("mill-pond", units)), 1)
    printed = set(re.findall(r"\d (bar|kPa|psi)\b", filled["readings"]))
    rule = re.search(r"([\d.]+ kPa) is (1 bar)", filled["run_note"])
    assert (rule is not None) == (printed == {"bar", "kPa"}) == (units == "metric")
    if rule is not None:
        assert parse(rule[1], Quantity.PRESSURE) == pytest.approx(parse(rule[2], Quantity.PRESSURE))
