"""States teach: a press on what would help does what it says, and what can hurt is seen beside the answer."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import encode
from curvelab.model.setup import Setup
from tests.browser.visit import Visit
from tests.unit.study_cases import changed, demo


def query_of(setup: Setup) -> str:
    return "?" + encode(setup, catalogue=default_catalogue()).removeprefix("?")


def box_pump_on_a_high_bank() -> str:
    """The link of an estimate whose suction may give out: a pump known by two figures off its box, 18 ft up."""
    sheet = BoxSheet.model_validate({"greatest_head": "98 ft", "greatest_flow": "420 gpm"})
    made = {"id": "brook-3", "name": "Brook 3", "speed": "3600 rpm", "inlet": "3 in"}
    raised = {"suction.lift": "18 ft", "suction.leg.0.length": "26 ft"}
    setup = changed(demo("mill-pond"), {"pump": {"record": pump_from_box(made, sheet)}, **raised})
    return query_of(setup)


@pytest.mark.parametrize(
    ("query", "state", "change", "then"),
    [
        (query_of(demo("overflowing-pond")), "Past the tested curve", "3 in discharge hose", "Runs, suction not known"),
        (box_pump_on_a_high_bank(), "Runs, perhaps starved", "runs well", "Runs well"),
    ],
    ids=["off-curve", "estimate"],
)
def test_a_pressed_change_gives_what_it_said_and_can_be_taken_back(
    visit: Callable[..., Visit], query: str, state: str, change: str, then: str
):
    seen = visit(query)
    answer, before = seen.page.get_by_role("region", name="Answer"), seen.flow()
    expect(answer.locator(".chip")).to_contain_text(state)
    button = answer.get_by_role("button", name=change).first
    promised = re.search(r"([\d,.]+), [a-z ]+$", button.inner_text())
    assert promised is not None
    button.click()
    expect(answer.locator(".chip")).to_contain_text(then)
    seen.expect_flow(promised[1])
    seen.settle()
    seen.page.get_by_role("button", name="Undo").click()
    expect(answer.locator(".chip")).to_contain_text(state)
    seen.settle()
    assert seen.flow() == before


@pytest.mark.parametrize(("width", "height"), [(1440, 900), (390, 844)])
def test_what_can_hurt_is_seen_beside_the_answer_and_leads_to_the_cautions(
    visit: Callable[..., Visit], width: int, height: int
):
    seen = visit(query_of(demo("cellar")), width=width, height=height)
    line = seen.page.get_by_role("link", name="engine fumes, live water")
    expect(line).to_be_in_viewport(ratio=1.0)
    line.click()
    cautions = seen.page.get_by_role("region", name="Cautions")
    expect(cautions).to_be_focused()
    expect(cautions.get_by_role("listitem").filter(has_text="Water may be live")).to_be_in_viewport()
    assert seen.page.evaluate("location.hash") == ""
