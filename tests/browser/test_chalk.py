"""Chalk as a person uses it: compared in one click, renamed, brought back, wiped and had again, kept in the link."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, Page, expect

from curvelab.model.catalogue import default_catalogue
from curvelab.model.chalk import Chalk
from curvelab.model.link import decode, encode, opening_of
from tests.browser.visit import Visit

Open = Callable[..., Visit]

CATALOGUE = default_catalogue()
POND = opening_of(CATALOGUE)
TWO, TWO_AND_A_HALF, FOUR = (POND.with_("discharge.leg.0.size", size) for size in ("2 in", "2½ in", "4 in"))
BESIDE = encode(POND, [Chalk("A", TWO), Chalk("B", TWO_AND_A_HALF)], CATALOGUE)


def chalked(page: Page) -> Locator:
    return page.get_by_role("region", name="Kept to compare")


def chalk_button(page: Page) -> Locator:
    return page.get_by_role("banner").get_by_role("button", name=re.compile("^(Keep|Kept|Three)"))


def shown(page: Page) -> list[str]:
    """Every word of the page but the buttons of what was wiped, and what its controls show."""
    return page.evaluate(
        """() => [...document.querySelectorAll(
          "header h1, #answer, #chalked li, #chalked .against, #cautions, #ledger, .readings, .tabs, .study, #setup"
        )].flatMap((part) => [part.innerText, ...[...part.querySelectorAll("input, select")].map(
          (input) => `${input.ariaLabel || input.name}: ${input.type === "radio" ? input.checked : input.value}`
        )])"""
    )


def drawn(page: Page, letter: str) -> int:
    """Points of the dashed curve with this letter."""
    return page.evaluate(
        """(letter) => {
          const rings = Bokeh.documents[0].get_model_by_name("chart").renderers.map((r) => r.data_source.data.text);
          return rings.filter((texts) => texts && [...texts].includes(letter)).length;
        }""",
        letter,
    )


def test_two_against_three_inches_takes_one_click(visit: Open):
    one = visit(encode(TWO_AND_A_HALF, (), CATALOGUE))
    page = one.page
    one.listen()
    page.get_by_role("button", name="3 in hose: keep this and compare").click()
    one.settle()
    one.expect_flow("186")
    answer = page.get_by_role("region", name="Answer")
    expect(answer.get_by_role("heading", name="Against A, 2½ in hose")).to_be_visible()
    expect(answer.get_by_text("52 gal/min more than A.")).to_be_visible()
    expect(chalked(page).get_by_role("textbox", name="Name of A, now 2½ in hose")).to_be_visible()
    assert drawn(page, "A") == 1
    heard = re.compile("A, 2½ in, 134 gal/min")
    expect(page.get_by_role("img", name="Chart of head")).to_have_attribute("aria-label", heard)
    group = page.get_by_role("radiogroup", name="discharge hose size")
    expect(group).to_have_accessible_description("A: 2½ in")
    one.studied()
    assert len(one.messages()) == 1
    assert decode(one.followed(), CATALOGUE).chalks == (Chalk("A", TWO_AND_A_HALF),)
    page.reload()
    one.ready()
    assert drawn(page, "A") == 1
    one.expect_flow("186")


def test_with_two_kept_a_key_is_one_small_message_and_the_button_says_what_it_can_do(visit: Open):
    one = visit(BESIDE)
    button, rise = chalk_button(one.page), one.slider("Rise to the outlet")
    expect(button).to_have_text("Keep this, to compare")
    rise.focus()
    one.told_once("ArrowRight", "Rise to the outlet", "39")
    button.click()
    expect(button).to_have_text("Kept as C")
    expect(chalked(one.page).get_by_role("status")).to_contain_text("Kept as C: 18")
    rise.focus()
    one.page.keyboard.press("ArrowRight")
    expect(button).to_have_text("Three kept: wipe one")
    expect(button).to_have_attribute("aria-disabled", "true")
    button.click(force=True)  # it says that it does nothing now, and a person may press it all the same
    one.settle()
    expect(chalked(one.page).get_by_role("listitem")).to_have_count(3)


def test_renamed_brought_back_wiped_and_had_again(visit: Open):
    one = visit(encode(POND, [Chalk("A", TWO)], CATALOGUE))
    page, rows = one.page, chalked(one.page)
    name = rows.get_by_role("textbox", name="Name of A")
    name.fill("The old hose")
    name.press("Enter")
    expect(page.get_by_role("heading", name="Against A, The old hose")).to_be_visible()
    assert "&a.name=The+old+hose" in one.followed()
    rows.get_by_role("button", name="Bring back A").click()
    one.settle()
    one.expect_flow("81")
    expect(rows.get_by_role("listitem")).to_contain_text("186 gal/min")
    rows.get_by_role("button", name="Bring back A").click()
    one.settle()
    one.expect_flow("186")
    expect(name).to_have_value("The old hose")
    rows.get_by_role("button", name="Wipe A").click()
    one.settle()
    expect(rows.get_by_role("listitem")).to_have_count(0)
    assert "&a." not in one.followed()
    again = rows.get_by_role("button", name="Bring it back")
    expect(again).to_be_focused()
    again.click()
    one.settle()
    expect(name).to_have_value("The old hose")
    assert drawn(page, "A") == 1
    page.get_by_role("radio", name="metric", exact=True).check()
    page.get_by_role("button", name="64 mm hose: keep this and compare").click()
    one.settle()
    one.slider("Lift to the pump").focus()
    page.keyboard.press("PageUp")
    one.followed()
    one.studied()
    fresh = visit(one.query())
    fresh.studied()
    assert shown(page) == shown(fresh.page)


def test_all_of_it_by_keyboard(visit: Open):
    one = visit()
    page, keys = one.page, one.page.keyboard
    chalk_button(page).focus()
    keys.press("Enter")
    expect(chalk_button(page)).to_have_text("Kept as A")
    one.slider("Rise to the outlet").focus()
    keys.press("PageUp")
    one.settle()
    name = chalked(page).get_by_role("textbox", name="Name of A")
    name.focus()
    keys.type("Low tank")
    keys.press("Tab")
    expect(page.get_by_role("heading", name="Against A, Low tank")).to_be_visible()
    expect(chalked(page).get_by_role("button", name="Bring back A")).to_be_focused()
    keys.press("Enter")
    one.settle()
    one.expect_flow("186")
    keys.press("Tab")
    keys.press("Enter")
    one.settle()
    expect(chalked(page).get_by_role("button", name="Bring it back")).to_be_focused()
    keys.press("Enter")
    one.settle()
    expect(chalked(page).get_by_role("listitem")).to_have_count(1)


@pytest.mark.parametrize(("width", "height"), [(390, 844), (1024, 800)])
def test_on_smaller_pages(visit: Open, width: int, height: int):
    one = visit(BESIDE, width=width, height=height)
    page = one.page
    assert page.evaluate("document.documentElement.scrollWidth - innerWidth") <= 0
    expect(chalked(page).get_by_role("listitem")).to_have_count(2)
    if width == 390:
        expect(page.get_by_role("region", name="Answer").get_by_text("+105 gal/min")).to_be_visible()
        table = page.get_by_role("region", name="Head ledger")
        expect(table.get_by_role("columnheader", name="A: 2 in", exact=True)).to_be_visible()
        foot = page.get_by_role("main").get_by_role("button", name=re.compile("^(Keep|Kept)"))
        foot.click()
        expect(foot).to_have_text("Kept as C")
    page.get_by_role("button", name="Wipe B").click()
    one.settle()
    expect(chalked(page).get_by_role("button", name="Bring it back")).to_be_visible()


def test_in_trouble_the_words_against_it_stand_under_the_list(visit: Open):
    one = visit(encode(CATALOGUE.setups["mill-pond-august"], [Chalk("A", POND)], CATALOGUE))
    one.studied()
    words = chalked(one.page).get_by_text("gal/min less than A.")
    expect(words).to_be_visible()
    answer = one.page.get_by_role("region", name="Answer")
    expect(answer.get_by_role("heading", name="What would help")).to_be_visible()
    expect(answer.get_by_text("gal/min less than A.")).to_be_hidden()
