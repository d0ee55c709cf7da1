"""Where a visitor starts from: the picker of jobs."""

from collections.abc import Callable

from playwright.sync_api import expect

from tests.browser.visit import Visit

Open = Callable[..., Visit]


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
