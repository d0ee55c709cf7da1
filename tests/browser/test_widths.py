"""The page at its three widths, and what a reader of the accessible tree gets."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import expect

from tests.browser.visit import Visit

Open = Callable[..., Visit]
PHONE = {"has_touch": True, "is_mobile": True, "user_agent": "Mozilla/5.0 (Linux; Android 14; Phone) Mobile"}
STATES = ("mill-pond", "mill-pond-august", "mill-pond-september", "ridge-tank", "overflowing-pond", "cellar")


def wider_than_the_window(one: Visit) -> int:
    return one.page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")


@pytest.mark.parametrize("widths", [(320, 360, 390, 759), (760, 1024, 1199), (1200, 1440, 1920)])
def test_nothing_is_wider_than_the_window(visit: Open, widths: tuple[int, ...]):
    one = visit(width=widths[0])
    for width in widths:
        one.page.set_viewport_size({"width": width, "height": 900})
        one.page.wait_for_function("document.documentElement.scrollWidth <= document.documentElement.clientWidth")


def test_phone_is_one_column_with_the_answer_pinned(visit: Open):
    one = visit(width=390, height=844, **PHONE)
    chart = one.page.get_by_role("img", name="Chart of head")
    box = chart.bounding_box()
    assert box is not None
    assert box["width"] >= 240  # axis and plot; the ledger stands beside it on the same heads
    bench = one.page.get_by_role("region", name="Curves").bounding_box()
    assert bench is not None
    assert bench["width"] >= 320
    one.page.evaluate("window.scrollTo(0, 900)")
    expect(one.page.locator("#answer .figure b")).to_be_in_viewport()
    expect(one.page.locator("#answer .chip").filter(has_text="Runs well")).to_be_in_viewport()


TOPS = """["answer", "bench", "run", "studies"].map(
  (id) => Math.round(document.getElementById(id).getBoundingClientRect().top + scrollY))"""


def test_what_the_studies_say_later_moves_no_picture_on_a_phone(visit: Open):
    one = visit(width=390, height=844, **PHONE)
    before = one.page.evaluate(TOPS)
    one.studied()
    expect(one.page.locator("[data-study='clock.line']")).not_to_be_empty()
    assert one.page.evaluate(TOPS) == before


def test_phone_rail_opens_one_station_and_its_rows_suit_a_finger(visit: Open):
    one = visit(width=390, height=844, **PHONE)
    for name in ("Site", "Suction", "Pump", "Discharge", "Outlet"):
        button = one.page.locator("#setup").get_by_role("button", name=re.compile(f"^{name}"))
        button.tap()
        expect(button).to_have_attribute("aria-expanded", "true")
        open_rows = one.page.locator(".station .rows:visible")
        expect(open_rows).to_have_count(1)
        for row in open_rows.locator(".row:visible").all():
            box = row.bounding_box()
            assert box is not None
            assert box["height"] >= 44


def test_phone_slider_answers_a_finger(visit: Open):
    one = visit(width=390, height=844, **PHONE)
    slider = one.slider("Rise to the outlet")
    box = slider.bounding_box()
    assert box is not None
    before = one.flow()
    one.page.touchscreen.tap(box["x"] + box["width"] * 0.8, box["y"] + box["height"] / 2)
    one.settle()
    assert one.flow() != before
    assert "rise=" in one.followed()


def test_turning_the_tablet_changes_the_layout_and_keeps_the_setup(visit: Open):
    one = visit("?rise=45+ft", width=1366, height=1024)
    flow = one.flow()
    one.page.set_viewport_size({"width": 1024, "height": 1366})
    expect(one.page.locator("#page")).to_have_attribute("data-width", "medium")
    one.settle()
    assert one.flow() == flow
    assert wider_than_the_window(one) <= 0


def test_every_control_has_a_name_and_pictures_say_what_they_show(visit: Open):
    one = visit()
    for role in ("slider", "textbox", "combobox", "radio", "spinbutton", "button"):
        for control in one.page.get_by_role(role).all():
            name = control.evaluate("n => n.getAttribute('aria-label') || n.labels?.[0]?.innerText || n.innerText")
            assert name, (role, control.evaluate("node => node.outerHTML"))
    names = [image.get_attribute("aria-label") for image in one.page.get_by_role("img").all()]
    assert len(names) >= 4
    assert all(names)


def test_cards_keep_their_place_in_every_state(visit: Open):
    one = visit()
    where = """() => [...document.querySelectorAll("#answer, #bench, #run")].map((node) => {
      const { x, y, width, height } = node.getBoundingClientRect();
      return [x, y, width, height];
    })"""
    before = one.page.evaluate(where)
    for job in STATES:
        one.start(job)
        one.settle()
        assert one.page.evaluate(where)[:2] == before[:2], job
