"""One system of units at a time on the whole page, gallons of the right kind, and no more than three figures."""

import re
from collections.abc import Iterator
from typing import Any

import pytest

from curvelab.app.slots import slots
from curvelab.app.state import AppState
from curvelab.app.studies.cures import cures
from curvelab.app.studies.tabs import TABS
from curvelab.model.catalogue import default_catalogue
from curvelab.units import System
from tests.unit.picture_cases import STATES
from tests.unit.study_cases import demo

CATALOGUE = default_catalogue()
JOBS = [*STATES.values(), "seepage-pit", "cellar", "drip-block"]
LONG = ("doubt", "sums")
"""Tabs left out: one takes a second, the other writes calculations out, each figure as long as it takes."""
CUSTOMARY = r"ft|psi|gal|gal/min|inHg|°F|lb|ft/s|hp"
METRIC = r"m|mm|cm|L|L/min|kPa|bar|kg|kW|m³|m/s|m³/h|mL|L/h"
FOREIGN = {
    System.US: rf"(?:{METRIC}|°C|imperial|imp)",
    System.METRIC: rf"(?:{CUSTOMARY}|US|imp)",
    System.IMPERIAL: rf"(?:{METRIC}|°F|US|imp)",
}
"""What stands after no figure in each system. (Inches read as the word: not looked for.)"""
BOTH = re.compile(r"[\d.]+ (?:lb|°F) \([\d.]+ (?:kg|°C)\)|three inch \(76 mm\)")
"""Rules told in both systems, as their sources have them."""
NAMES = re.compile(r"\b(?:BAE-|ISO )\d+|\d+ °F: after Oklahoma")


def texts(job: str, system: System) -> Iterator[tuple[str, str]]:
    """Place and text of everything that the page says, the names of sources left out."""
    state = AppState(CATALOGUE, demo(job, str(system)))
    for place, html in slots(state, 1).items():
        yield place, re.sub(r'<dd class="who">.*?</dd>', "", html)
    shown: Any = state.shown
    for button in cures(shown, CATALOGUE).buttons:
        yield "what would help", f"{button.change} {button.leads}"
    for tab in TABS:
        if tab.key not in LONG:
            yield from ((f"{tab.key}.{place}", html) for place, html in tab.ask(shown, CATALOGUE).words.items())


def plain(html: str) -> str:
    return BOTH.sub("", NAMES.sub("", re.sub(r"\s+", " ", re.sub(r"<[^>]+>", " ", html))))


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("job", JOBS)
def test_one_system_of_units_and_three_figures(job: str, system: System):
    foreign = re.compile(rf"[\d½¼¾] {FOREIGN[system]}(?![\w/³])")
    for place, html in texts(job, system):
        if place == "title":
            continue
        said = plain(html)
        assert not foreign.search(said), f"{place}: {said}"
        for figure in re.findall(r"(?<![\w.,−-])\d[\d,]*(?:\.\d+)?", said):
            digits = re.sub(r"\D", "", figure).lstrip("0")
            assert len(digits if "." in figure else digits.rstrip("0")) <= 3, f"{place}: {figure} in {said}"


def test_a_unit_of_another_system_is_found():
    """The look itself: what it must see and what it must let pass."""
    metric = re.compile(rf"[\d½¼¾] {FOREIGN[System.METRIC]}(?![\w/³])")
    assert metric.search(plain("<b>43 psi</b> at the pump"))
    assert metric.search(plain("<b>4.2</b> <span>ft</span>"))
    assert not metric.search(plain("over 50 lb (23 kg), 41 in 25 mm hose, 3 lb (1.4 kg)"))
