"""Handles on the pictures, as a mouse, a finger and keys use them."""

import re
from collections.abc import Callable

from playwright.sync_api import Locator, Page, expect

from curvelab.model.link import decode
from tests.browser.visit import Visit

Open = Callable[..., Visit]
FT = 0.3048


def handle(one: Visit, name: str) -> Locator:
    return one.page.get_by_role("slider", name=name, exact=True)


def middle(target: Locator) -> tuple[float, float]:
    box = target.bounding_box()
    assert box is not None
    return box["x"] + box["width"] / 2, box["y"] + box["height"] / 2


def drag(one: Visit, target: Locator, dx: float, dy: float) -> None:
    x, y = middle(target)
    one.page.mouse.move(x, y)
    one.page.mouse.down()
    one.page.mouse.move(x + dx, y + dy, steps=4)
    one.settle()


def swipe(page: Page, start: tuple[float, float], dx: float, dy: float) -> None:
    """A finger on the glass, as the screen would send it."""
    session = page.context.new_cdp_session(page)

    def touch(kind: str, *points: tuple[float, float]) -> None:
        told = [{"x": x, "y": y} for x, y in points]
        session.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": told})

    touch("touchStart", start)
    for step in range(1, 9):
        touch("touchMove", (start[0] + dx * step / 8, start[1] + dy * step / 8))
    touch("touchEnd")


def test_a_mouse_moves_outlet_and_points_and_the_sliders_follow(visit: Open):
    one = visit()
    outlet, hump = handle(one, "Outlet"), handle(one, "hump")
    _, y = middle(outlet)
    drag(one, outlet, 0, -8)
    assert abs(middle(outlet)[1] - (y - 8)) < 1.0, "it stays under the pointer"
    assert one.query() == "", "the address waits until it is let go"
    one.page.mouse.up()
    one.settle()
    rise = one.box("Rise to the outlet").input_value()
    assert 43 <= float(rise) <= 46
    expect(outlet).to_have_attribute("aria-valuetext", f"rise {rise} ft, 300 ft of hose")
    drag(one, hump, 30, 2)
    one.page.mouse.up()
    one.settle()
    points = decode(one.followed()).setup.discharge.waypoint
    assert points[2].distance.si / FT > 205
    assert points[2].height.si / FT == 34, "a small slip across the way counts for nothing"


def test_a_handle_moves_with_one_message(visit: Open):
    one = visit()
    handle(one, "Outlet").focus()
    one.told_once("ArrowUp", "Rise to the outlet", "39")


def test_keys_move_and_remove_a_point_and_the_focus_stays_near(visit: Open):
    one = visit()
    hump = handle(one, "hump")
    hump.focus()
    expect(one.page.locator("#run .bubble")).to_contain_text("34 ft over the pump, 200 ft along")
    one.page.keyboard.press("ArrowUp")
    expect(hump).to_have_attribute("aria-valuetext", "35 ft over the pump, 200 ft along")
    one.page.keyboard.press("ArrowRight")
    expect(hump).to_have_attribute("aria-valuetext", "35 ft over the pump, 210 ft along")
    one.page.keyboard.press("Shift+ArrowDown")
    expect(hump).to_have_attribute("aria-valuetext", "34.9 ft over the pump, 210 ft along")
    one.page.keyboard.press("Delete")
    expect(hump).to_have_count(0)
    expect(handle(one, "foot of the tank")).to_be_focused()
    one.page.keyboard.press("Delete")
    expect(handle(one, "Outlet")).to_be_focused()


def test_a_click_on_the_hose_makes_a_point_that_can_be_taken_out_again(visit: Open):
    one = visit()
    (ax, ay), (bx, by) = middle(handle(one, "dip").last), middle(handle(one, "hump"))
    one.page.mouse.click(0.5 * (ax + bx), 0.5 * (ay + by))
    new = handle(one, "point 3")
    expect(new).to_be_focused()
    expect(new).to_have_attribute("aria-valuetext", re.compile("5.* ft over the pump, 150 ft along"))
    one.page.get_by_role("button", name="Take out point 3").click()
    expect(new).to_have_count(0)
    one.page.get_by_role("button", name="New point").click()
    expect(one.page.get_by_role("slider", name="point 5")).to_have_count(1)


def test_pump_and_water_move_apart_and_what_cannot_be_is_said(visit: Open):
    one = visit()
    drag(one, handle(one, "Pump"), 0, -6)
    one.page.mouse.up()
    one.settle()
    lift, rise = (float(one.box(name).input_value()) for name in ("Lift to the pump", "Rise to the outlet"))
    assert lift > 12
    assert lift + rise == 50, "water and outlet stay where they are"
    drag(one, handle(one, "Water level"), 0, 60)
    expect(one.page.locator("#run .bubble")).to_contain_text("the hose must reach")
    one.page.mouse.up()
    one.settle()
    assert float(one.box("Lift to the pump").input_value()) <= 20


def test_a_finger_scrolls_until_it_has_tapped_a_handle(visit: Open):
    one = visit(width=390, height=844, has_touch=True, is_mobile=True)
    page, outlet = one.page, handle(one, "Outlet")
    outlet.scroll_into_view_if_needed()
    box = outlet.bounding_box()
    assert box is not None
    assert min(box["width"], box["height"]) >= 44
    before, start = outlet.get_attribute("aria-valuetext"), page.evaluate("scrollY")
    swipe(page, middle(outlet), 0, -60)
    page.wait_for_function(f"scrollY !== {start}")
    one.settle()
    assert outlet.get_attribute("aria-valuetext") == before
    outlet.tap()
    expect(page.locator("#run .bubble")).to_be_visible()
    start = page.evaluate("scrollY")
    swipe(page, middle(outlet), 0, 12)
    expect(outlet).not_to_have_attribute("aria-valuetext", before or "")
    assert page.evaluate("scrollY") == start


def test_the_operating_point_is_pulled_along_and_the_hose_follows(visit: Open):
    one = visit()
    point = handle(one, "Operating point")
    chart = one.page.evaluate("""() => {
      const model = [...Bokeh.documents[0]._all_models.values()].find(({ name }) => name === "chart");
      const box = Bokeh.index.find_one(model).el.getBoundingClientRect();
      return [box.right - model.inner_width, model.inner_width / model.x_range.end];
    }""")
    flow = float(one.flow().split(" ")[0])
    assert abs(middle(point)[0] - (chart[0] + flow * chart[1])) < 1.5, "it stands on the chart's own axis"
    drag(one, point, -70, 0)
    assert float(one.flow().split(" ")[0]) < flow - 30
    length = one.box("Hose length").last.input_value()
    assert int(length) > 300
    one.page.mouse.up()
    one.settle()
    expect(point).to_have_attribute("aria-valuetext", re.compile(f" with {length} ft of hose"))
    point.press("ArrowRight")
    expect(one.box("Hose length").last).not_to_have_value(length)
    one.settle()
    assert int(one.box("Hose length").last.input_value()) < int(length)


def test_a_mouse_that_rests_on_a_part_is_told_what_it_is(visit: Open):
    one = visit()
    page, card = one.page, one.page.locator(".part-card")
    place = page.locator("#bench .stage").bounding_box()
    assert place is not None
    page.mouse.move(place["x"] + 750, place["y"] + 40)  # over the picture: now it knows where its parts lie
    page.locator("#bench .parts [data-part=discharge]").first.wait_for(state="attached")
    slab = page.locator("#bench .parts [data-part=discharge]").nth(1)
    page.mouse.move(*middle(slab))
    expect(card).to_be_visible()
    expect(card).to_contain_text("Discharge hose 27.3 ft")
    expect(card).to_contain_text("Darcy and Weisbach")
    box = card.bounding_box()
    x, y = middle(handle(one, "Operating point"))
    assert box is not None
    assert not (box["x"] < x < box["x"] + box["width"] and box["y"] < y < box["y"] + box["height"])
    page.mouse.move(box["x"] + 20, box["y"] + 20, steps=2)  # one may go over to the card
    page.wait_for_timeout(400)
    expect(card).to_be_visible()
    page.keyboard.press("Escape")
    expect(card).to_be_hidden()


def test_keys_go_through_the_parts_in_order_and_back(visit: Open):
    one = visit()
    page = one.page
    button = page.get_by_role("button", name="The parts of the curves explained")
    button.focus()
    page.keyboard.press("Enter")
    listed = page.get_by_role("group", name="The parts of the curves explained")
    expect(listed.get_by_role("button").first).to_be_focused()
    for _ in range(3):
        page.keyboard.press("ArrowDown")
    expect(listed.get_by_role("button", name="Suction hose, strainer 4.2 ft")).to_be_focused()
    expect(listed.locator("h3")).to_have_text("Suction hose, strainer 4.2 ft")
    expect(page.locator("#bench .parts .on").first).to_be_attached()
    page.keyboard.press("Escape")
    expect(listed).to_be_hidden()
    expect(button).to_be_focused()


def test_a_finger_on_the_hose_is_asked_before_a_point_is_put_there(visit: Open):
    one = visit(width=390, height=844, has_touch=True, is_mobile=True)
    one.studied()
    page = one.page
    handle(one, "Outlet").scroll_into_view_if_needed()
    (ax, ay), (bx, by) = middle(handle(one, "dip").last), middle(handle(one, "hump"))
    page.touchscreen.tap(0.5 * (ax + bx), 0.5 * (ay + by))
    card = page.locator(".part-card")
    expect(card).to_contain_text("Discharge hose")
    expect(handle(one, "point 3")).to_have_count(0)
    card.get_by_role("button", name="Put a point here").tap()
    expect(handle(one, "point 3")).to_be_focused()


COLUMNS = """() => [...Bokeh.documents[0]._all_models.values()]
  .filter(({ type }) => type === "ColumnDataSource")
  .map(({ data }) => (data.entries ? [...data.entries()] : Object.entries(data)))
  .map((columns) => columns.map(([name, column]) => [name, name === "text" ? [...column] : column.length]))"""
"""Of every source of columns in the browser: how long they are, and what the texts say."""


def test_a_pump_in_the_line_is_moved_by_keys_and_the_pictures_follow(visit: Open):
    """Its handle; and what the browser's width changed before the page was loaded has reached the pictures."""
    one = visit("?v=1&booster0=ferrow-3&booster0.at=190+ft")
    grip = one.page.get_by_role("slider", name="Pump in the line", exact=True)
    expect(grip).to_have_attribute("aria-valuetext", "190 ft along, 300 ft of hose")
    grip.focus()
    one.page.keyboard.press("ArrowRight")
    one.settle()
    expect(grip).to_have_attribute("aria-valuetext", "200 ft along, 300 ft of hose")
    flow, texts = one.page.locator("#answer .figure b").inner_text(), set[str]()
    for columns in one.page.evaluate(COLUMNS):
        assert len({len(found) if isinstance(found, list) else found for _, found in columns}) <= 1, columns
        texts |= {str(text) for name, found in columns if name == "text" for text in found}
    assert {text for text in texts if re.fullmatch("[0-9]+ gal/min", text)} == {f"{flow} gal/min"}
