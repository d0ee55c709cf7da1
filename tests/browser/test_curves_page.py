"""The Curves page as a person uses it: the fleet, a new pump, a test, and the yard's folder."""

from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import decode
from curvelab.model.yard import place_of
from tests.browser.visit import Curves, Visit

Open = Callable[..., Curves]
SETUP = "?v=1&lift=11+ft&pump=ferrow-3"


def new_pump(one: Curves, way: str, name: str) -> None:
    one.tab("A new pump")
    one.page.get_by_role("radio", name=way).check(force=True)
    one.page.get_by_role("tabpanel").get_by_label("Kind", exact=True).select_option("trash")
    one.fill(**{"Name": name, "Speed of the curve rpm": "3600"})


def test_the_fleet_is_sorted_and_filtered(curves: Open):
    one = curves(SETUP)
    page = one.page
    rows = page.get_by_role("row").filter(has=page.get_by_role("rowheader"))
    page.get_by_role("columnheader", name="Weight").get_by_role("button").click()
    weights = [float(text) for text in rows.locator("td:nth-child(8)").all_inner_texts()]
    assert weights == sorted(weights)
    expect(page.get_by_role("columnheader", name="Weight")).to_have_attribute("aria-sort", "ascending")
    page.get_by_role("search").get_by_label("Kind", exact=True).select_option("trash")
    page.get_by_label("Solids at least").fill("1.05")
    expect(page.get_by_role("search").get_by_role("status")).to_have_text("2 of 15 pumps")
    expect(rows.locator("visible=true")).to_have_count(2)
    expect(page.locator(".multiples li:visible")).to_have_count(2)
    page.get_by_role("button", name="Show all").click()
    expect(rows.locator("visible=true")).to_have_count(15)


def test_going_over_and_coming_back_loses_nothing(curves: Open):
    one = curves(SETUP)
    one.tab("A new pump")
    one.fill(Name="Half a pump")
    one.page.get_by_role("link", name="Setup").click()
    one.on_setup_page()
    assert one.query() == SETUP
    one.page.get_by_role("link", name="Curves").click()
    one.settle()
    assert decode(one.query()).setup == decode(SETUP).setup
    one.tab("A new pump")
    expect(one.page.get_by_role("tabpanel").get_by_label("Name", exact=True)).to_have_value("Half a pump")


def test_two_figures_on_a_box_become_an_estimate_in_the_setup(curves: Open):
    one = curves(SETUP)
    new_pump(one, "Two figures on the box", "Heron 3")
    one.fill(**{"Greatest head on the box ft": "98", "Greatest flow on the box US gal/min": "300"})
    draft = one.page.get_by_role("region", name="The curve as it comes")
    expect(draft.get_by_role("img")).to_be_visible()
    expect(draft).to_contain_text("An estimate")
    draft.get_by_role("link", name="Use it now on the setup page").click()
    one.on_setup_page()
    expect(one.page.get_by_label("From the fleet")).to_contain_text("Heron 3")
    assert "estimate" in one.page.locator("main").inner_text().lower()
    setup = decode(one.query()).setup
    assert setup.pump.record is not None
    assert setup.suction.lift.text == "11 ft"


def test_a_pasted_table_says_which_line_is_wrong(curves: Open):
    one = curves(SETUP)
    new_pump(one, "Type or paste a table", "Heron 3")
    area = one.page.get_by_label("Flow and head", exact=True)
    area.fill("0\t30,5\n200\tx\n500\t20,0")
    one.settle()
    expect(area).to_have_attribute("aria-invalid", "true")
    expect(one.page.locator("[id='s-tables.head']")).to_contain_text("line 2")
    area.fill("m3/h\tm\n0\t30,5\n20\t28\n50\t20,0")
    one.fill(**{"Where the numbers are from": "the sheet in the office"})
    expect(one.page.get_by_role("link", name="Use it now")).to_have_attribute("aria-disabled", "false")
    expect(one.page.get_by_role("region", name="The curve as it comes")).to_contain_text("100 ft with no flow")


def test_a_test_finds_wear_that_goes_into_the_quote(curves: Open):
    one = curves(SETUP)
    one.page.get_by_role("button", name="Test it").click()
    panel = one.page.get_by_role("tabpanel")
    expect(panel.get_by_label("Pump", exact=True)).to_have_value("ferrow-3")
    one.fill(**{"Pressure at the outlet psi": "33", "Engine speed rpm": "3600", "Vacuum held inHg": "12"})
    verdict = panel.get_by_role("status").first
    expect(verdict).to_contain_text("Worn")
    expect(verdict).to_contain_text("It draws air")
    panel.get_by_role("link", name="Use in the next quote").click()
    one.on_setup_page()
    assert 0.7 < decode(one.query()).setup.pump.wear < 0.85


@pytest.mark.usefixtures("yard")
def test_two_people_save_the_same_pump(curves: Open, yard: Path):
    one, two = curves(SETUP), curves(SETUP)
    for each, weight in ((one, "61 kg"), (two, "62 kg")):
        new_pump(each, "Two figures on the box", "Heron 3")
        each.fill(**{"Greatest head on the box ft": "98", "Greatest flow on the box US gal/min": "300"})
        each.fill(**{"Weight lb": weight})
        each.page.get_by_role("button", name="Save into the yard’s list").click()
        if each is one:
            expect(each.page.locator("#draft [data-done]")).to_contain_text("pumps/heron-3.toml")
    dialog = two.page.get_by_role("dialog", name="Heron 3: theirs or yours?")
    expect(dialog.get_by_role("row", name="weight 62 kg 61 kg")).to_be_visible()
    assert "61 kg" in place_of(yard, "pump", "heron-3").read_text()
    dialog.get_by_role("button", name="Save yours over it").click()
    expect(two.page.locator("#draft [data-done]")).to_contain_text("pumps/heron-3.toml")
    assert "62 kg" in place_of(yard, "pump", "heron-3").read_text()
    two.tab("The yard’s folder")
    two.page.locator("#yard summary").first.click()
    two.page.get_by_role("button", name="Look at it").click()
    dialog = two.page.get_by_role("dialog", name="an earlier version")
    expect(dialog.get_by_role("row", name="weight 61 kg 62 kg")).to_be_visible()
    dialog.get_by_role("button", name="Bring it back").click()
    expect(two.page.locator("#said")).to_contain_text("is as it was")
    assert "61 kg" in place_of(yard, "pump", "heron-3").read_text()
    one.page.get_by_role("button", name="Show it").click(timeout=10_000)
    one.tab("Pumps")
    expect(one.page.get_by_role("rowheader", name="Heron 3 (estimate)")).to_be_visible()
    withdrawn_and_put_back(one, yard)


def withdrawn_and_put_back(one: Curves, yard: Path) -> None:
    """A pump of the yard's own out of its list, by keys, and in again."""
    page, row = one.page, one.page.get_by_role("rowheader", name="Heron 3 (estimate)")
    row.get_by_role("button").press("Enter")
    page.get_by_role("button", name="Withdraw it").press("Enter")
    page.get_by_role("dialog", name="Withdraw Heron 3").get_by_role("button", name="Withdraw it").press("Enter")
    expect(page.locator("#said")).to_contain_text("withdrawn/heron-3.toml")
    expect(row).to_have_count(0)
    expect(page.locator("#one h2")).to_be_focused()
    expect(page.get_by_role("button", name="Withdraw it")).to_have_count(0)
    assert not place_of(yard, "pump", "heron-3").exists()
    one.tab("The yard’s folder")
    page.get_by_role("button", name="Put Heron 3 (estimate) back into the list").press("Enter")
    expect(page.locator("#said")).to_contain_text("is back in the list")
    assert "61 kg" in place_of(yard, "pump", "heron-3").read_text()
    one.tab("Pumps")
    expect(row).to_be_visible()


@pytest.mark.usefixtures("yard")
def test_a_saved_setup_stands_among_the_starts_of_every_open_page(visit: Callable[..., Visit], yard: Path):
    one, two = visit(SETUP), visit()
    one.page.get_by_role("button", name="Save setup").click()
    dialog = one.page.get_by_role("dialog")
    dialog.get_by_label("Name").fill("Pond in May")
    dialog.get_by_role("button", name="Save", exact=True).click()
    expect(one.page.locator("#saved")).to_contain_text("setups/pond-in-may.toml")
    assert default_catalogue().setups["pond-in-may"].suction.lift.text == "11 ft"
    assert place_of(yard, "setup", "pond-in-may").exists()
    expect(two.page.locator("#jobs optgroup[label='Of this yard'] option")).to_have_text("Pond in May", timeout=8000)
    two.page.locator("#jobs").select_option("pond-in-may")
    expect(two.page.get_by_role("heading", level=1)).to_have_text("Pond in May")


@pytest.mark.usefixtures("yard")
@pytest.mark.parametrize("width", [1440, 390])
def test_axe_finds_nothing_serious(curves: Open, width: int):
    one = curves(SETUP, width=width)
    for tab in ("Pumps", "A new pump", "Test a pump", "The yard’s folder"):
        one.tab(tab)
        if tab == "A new pump":
            one.page.get_by_role("radio", name="Two figures on the box").check(force=True)
            one.settle()
        found = Axe().run(one.page).response["violations"]
        serious = [(each["id"], [node["target"] for node in each["nodes"]]) for each in found
                   if each["impact"] in ("serious", "critical")]  # fmt: skip
        assert serious == [], tab
        wide = one.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")
        assert wide <= 0, tab
