"""Where a visitor starts from: the picker of jobs, and the four questions."""

from collections.abc import Callable

from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from curvelab.model.link import decode
from tests.browser.visit import Visit

Open = Callable[..., Visit]
PHONE = {"has_touch": True, "is_mobile": True, "user_agent": "Mozilla/5.0 (Linux; Android 14; Phone) Mobile"}


def test_keys_pass_over_jobs_until_one_is_chosen_and_undo_brings_back_what_was(visit: Open):
    one = visit()
    page = one.page
    one.slider("Rise to the outlet").focus()
    page.keyboard.press("ArrowRight")
    one.settle()
    title = page.get_by_role("heading", level=1)
    page.get_by_role("combobox", name="Start from a job").focus()
    for _ in range(3):
        page.keyboard.press("ArrowDown")
    expect(title).to_have_text("Mill pond to orchard tank")
    page.keyboard.press("Enter")
    expect(title).to_have_text("Flooded cellar on Mill Lane")
    one.settle()
    page.keyboard.press("Control+z")
    expect(title).to_have_text("Mill pond to orchard tank")
    expect(one.box("Rise to the outlet")).to_have_value("39")


def test_four_questions_by_keyboard_fill_in_the_rest_and_say_what_was_taken(visit: Open):
    one = visit()
    page = one.page
    before = one.query()
    opens = page.get_by_role("button", name="Four questions", exact=True)
    opens.focus()
    page.keyboard.press("Enter")
    dialog = page.get_by_role("dialog", name="Four questions")
    expect(dialog).to_be_visible()
    page.keyboard.press("Escape")
    expect(dialog).to_be_hidden()
    expect(opens).to_be_focused()
    page.keyboard.press("Enter")
    dialog.get_by_role("radio", name="pond or lake").focus()
    page.keyboard.press("ArrowRight")
    dialog.get_by_role("button", name="Show what fits").press("Enter")
    expect(dialog.get_by_role("alert").first).to_contain_text("Write a number")
    lift = dialog.get_by_role("textbox", name="A: from the water up to the pump, in ft")
    expect(lift).to_be_focused()
    assert one.query() == before
    for name, text in (("A: from", "8"), ("B: from", "10"), ("From the pump to", "200"), ("Flow", "40")):
        dialog.get_by_role("textbox", name=name).fill(text)
    page.keyboard.press("Enter")
    expect(dialog).to_be_hidden()
    expect(opens).to_be_focused()
    notice = page.get_by_role("status").filter(has_text="We took:")
    expect(notice).to_contain_text("40 gal/min is asked")
    one.settle()
    setup = decode(one.followed()).setup
    assert (setup.job.place, setup.site.liquid, setup.suction.lift.text) == ("open", "flood-water", "8 ft")
    page.keyboard.press("Control+z")
    expect(page.get_by_role("heading", level=1)).to_have_text("Mill pond to orchard tank")
    expect(notice).to_have_count(0)


def test_four_questions_in_metric_on_a_phone(visit: Open):
    one = visit("?v=1&units=metric", width=390, height=844, **PHONE)
    page = one.page
    page.get_by_role("button", name="Four questions", exact=True).tap()
    dialog = page.get_by_role("dialog", name="Four questions")
    box = dialog.bounding_box()
    assert box is not None
    assert box["x"] >= 0
    assert box["x"] + box["width"] <= 390
    dialog.get_by_role("radio", name="so much in a time").tap()
    for name, text in (
        ("A: from", "2"),
        ("B: from", "3"),
        ("From the pump to", "50"),
        ("Water, in L", "9000"),
        ("within", "1"),
    ):
        dialog.get_by_role("textbox", name=name).fill(text)
    found = Axe().run(page, context="#begin").response["violations"]
    assert [one["id"] for one in found] == []
    dialog.get_by_role("button", name="Show what fits").tap()
    expect(page.get_by_role("status").filter(has_text="150 L/min is asked")).to_be_visible()
