"""The slow studies' tabs as a visitor uses them: how long it takes, how sure it is."""

import re
from collections.abc import Callable

from playwright.sync_api import Locator, expect

from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import decode, encode
from curvelab.model.setup import Setup
from curvelab.studies.doubt import doubt
from curvelab.studies.doubt_words import brief
from curvelab.studies.times import times
from tests.browser.visit import Visit

Open = Callable[..., Visit]
CATALOGUE = default_catalogue()


def query(job: str) -> str:
    return encode(CATALOGUE.setups[job], catalogue=CATALOGUE)


def present(one: Visit) -> Setup:
    """The setup that the page shows, as its link has it."""
    return decode(one.page.evaluate("document.getElementById('page').dataset.address")).setup


def panel(one: Visit, name: str) -> Locator:
    return one.page.get_by_role("tabpanel", name=name)


def test_how_long_it_takes_answers_draws_and_asks(visit: Open):
    """From a link with neither pond nor tank to the hour at which a pond is empty, all of it in the link again."""
    one = visit(f"{query('box-figure')}#clock")
    one.studied()
    tab = one.page.get_by_role("tab", name="How long it takes")
    expect(tab).to_have_attribute("aria-selected", "true")
    expect(tab).to_contain_text("drum 28 s")
    inside = panel(one, "How long it takes")
    expect(inside).to_contain_text("An hour gives 7,010 US gal")
    expect(inside.get_by_role("img")).to_have_count(0)
    inside.get_by_role("combobox", name="Shape of what is emptied").select_option("cylinder")
    one.studied()
    across = inside.get_by_role("textbox", name="Across, of what is emptied")
    across.fill("30")
    across.press("Enter")
    inside.get_by_role("combobox", name="Start at").select_option("7:30")
    one.studied()
    found = times(present(one)).emptied
    assert found is not None
    expect(inside.locator(".finding")).to_have_text(found.sentences[0])
    assert "if you start at 7:30 am" in found.sentences[0]
    expect(inside.get_by_role("img")).to_have_attribute("aria-label", re.compile("Level against time"))
    expect(inside.get_by_role("table", name="On the way")).to_contain_text("7:30 am")
    before = one.followed()
    one.page.reload()
    one.ready()
    one.studied()
    assert one.query() == before
    expect(inside.locator(".finding")).to_have_text(found.sentences[0])
    box = inside.get_by_role("textbox", name="Stop at")
    box.fill("99")
    box.press("Enter")
    expect(inside.get_by_role("alert")).to_contain_text("deeper than the water now")
    expect(box).to_have_attribute("aria-invalid", "true")


def test_how_sure_stands_beside_the_flow_and_a_doubt_is_stated(visit: Open):
    one = visit(f"{query('mill-pond')}#doubt")
    one.studied()
    setup = present(one)
    said = brief(doubt(setup), setup)
    expect(one.page.get_by_role("region", name="Answer")).to_contain_text(said)
    expect(one.page.get_by_role("tab", name="How sure")).to_contain_text(said)
    height = one.page.locator("#answer").evaluate("node => node.offsetHeight")
    inside = panel(one, "How sure")
    rows = inside.get_by_role("table", name="What is in doubt")
    expect(rows.get_by_role("row", name="Bore of the hose")).to_contain_text("the yard’s list")
    box = inside.get_by_role("textbox", name="Bore, give or take")
    expect(box).to_have_attribute("placeholder", "as listed")
    box.fill("8")
    box.press("Enter")
    one.studied()
    expect(rows.get_by_role("row").nth(1)).to_contain_text("Bore of the hose")
    expect(rows.get_by_role("row", name="Bore of the hose")).to_contain_text("you say so")
    wider = present(one)
    expect(one.page.get_by_role("region", name="Answer")).to_contain_text(brief(doubt(wider), wider))
    assert one.page.locator("#answer").evaluate("node => node.offsetHeight") == height
    box.fill("")
    box.press("Enter")
    one.studied()
    expect(rows.get_by_role("row", name="Bore of the hose")).to_contain_text("the yard’s list")


def test_many_tabs_scroll_sideways_and_the_page_does_not(visit: Open):
    one = visit(width=800, height=900)
    one.studied()
    tabs = one.page.get_by_role("tab")
    tabs.first.focus()
    one.page.keyboard.press("End")
    box = tabs.last.bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= 800
    assert one.page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_on_a_phone_both_are_rows_that_open(visit: Open):
    one = visit(f"{query('mill-pond')}#doubt", width=390, height=844)
    one.studied()
    expect(one.page.get_by_role("button", name="How sure")).to_have_attribute("aria-expanded", "true")
    clock = one.page.get_by_role("button", name="How long it takes")
    expect(clock).to_contain_text("pond 5 h 15 min")
    clock.click()
    expect(one.page.get_by_role("table", name="On the way")).to_be_visible()
    box = one.page.get_by_role("textbox", name="Lift, give or take").locator("..").bounding_box()
    assert box is not None
    assert box["height"] >= 40
    assert one.page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
