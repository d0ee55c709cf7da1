"""Hoses one after another, their fittings, the points of the run, and steps back: by hand and by keyboard."""

from collections.abc import Callable

from playwright.sync_api import expect

from curvelab.model.link import decode
from tests.browser.visit import Visit

Open = Callable[..., Visit]


def focused(one: Visit) -> str:
    """Name of what has the focus, or its words."""
    words = one.page.evaluate("(n => n.getAttribute('aria-label') || n.innerText)(document.activeElement)")
    return " ".join(words.split())


def test_a_second_hose_by_keyboard_alone_of_its_own_size_and_undone_again(visit: Open):
    one = visit()
    page = one.page
    flow = one.flow()
    opens = page.get_by_role("button", name="fittings and more hose, discharge")
    opens.focus()
    page.keyboard.press("Enter")
    page.get_by_role("button", name="Add a hose after it: discharge hose").focus()
    page.keyboard.press("Enter")
    one.settle()
    assert focused(one) == "then 100 ft of 3 in lay-flat, 1 fitting", "the focus goes to the new hose"
    second = page.get_by_role("group", name="discharge hose 2", exact=True)
    second.get_by_role("radio", name="2 in", exact=True).focus()
    page.keyboard.press("Space")
    one.settle()
    slider = one.slider("Hose length, discharge hose 2")
    slider.focus()
    page.keyboard.press("ArrowRight")
    one.settle()
    assert focused(one) == "Hose length, discharge hose 2", "rows made anew keep the focus"
    legs = decode(one.followed()).setup.discharge.leg
    assert [(leg.size.text if leg.size else "", leg.length.text) for leg in legs] == [
        ("3 in", "300 ft"),
        ("2 in", "110 ft"),
    ]
    page.get_by_role("button", name="Take out: discharge hose 2").focus()
    page.keyboard.press("Enter")
    one.settle()
    assert focused(one).startswith("3 fittings, more")
    assert one.flow() == flow
    page.keyboard.press("Control+z")
    one.settle()
    assert decode(one.followed()).setup.discharge.leg == legs, "what was taken out is back at once"


def test_fittings_are_added_counted_and_taken_out(visit: Open):
    one = visit()
    page = one.page
    page.get_by_role("button", name="fittings and more hose, discharge").click()
    page.get_by_role("combobox", name="Add a fitting to discharge hose").select_option("swing-check")
    page.get_by_role("button", name="Add a fitting to discharge hose").click()
    one.settle()
    count = page.get_by_role("spinbutton", name="swing check valve, discharge hose")
    count.fill("2")
    count.press("Enter")
    one.settle()
    assert decode(one.followed()).setup.discharge.leg[0].fittings["swing-check"] == 2
    expect(page.get_by_role("button", name="5 fittings, more")).to_be_visible()
    page.get_by_role("button", name="Take out swing check valve, discharge hose").click()
    one.settle()
    expect(count).to_have_count(0)
    assert "Add a fitting" in focused(one)
    page.get_by_role("button", name="Undo").click()
    one.settle()
    expect(count).to_have_value("2")


def test_rows_stay_while_the_length_of_a_further_hose_is_dragged(visit: Open):
    one = visit()
    page = one.page
    page.get_by_role("button", name="fittings and more hose, discharge").click()
    page.get_by_role("button", name="Split in two: discharge hose").click()
    one.settle()
    slider = one.slider("Hose length, discharge hose 2")
    slider.evaluate("node => { node.dataset.mine = 'yes'; }")
    to = one.grasp(slider, 0.4)
    words = set()
    for step in range(1, 5):
        to(0.4 + 0.1 * step)
        one.settle()
        words.add(page.get_by_role("button", name="then").inner_text())
        assert slider.get_attribute("data-mine") == "yes"
    page.mouse.up()
    one.settle()
    assert len(words) > 2, "the line that says what lies there follows the hand"


def test_points_are_named_added_and_taken_out_by_keyboard(visit: Open):
    one = visit()
    page = one.page
    page.locator("summary", has_text="High and low points (4)").focus()
    page.keyboard.press("Enter")
    name = page.get_by_role("textbox", name="hump, name")
    name.fill("levee")
    name.press("Enter")
    one.settle()
    expect(page.get_by_role("textbox", name="levee, height")).to_have_value("34")
    page.get_by_role("button", name="Add a point").focus()
    page.keyboard.press("Enter")
    one.settle()
    assert focused(one) == "point 5, name"
    page.get_by_role("button", name="Take out point 5").focus()
    page.keyboard.press("Enter")
    one.settle()
    assert focused(one) == "Take out foot of the tank"
    points = decode(one.followed()).setup.discharge.waypoint
    assert [point.name for point in points] == ["dip", "dip", "levee", "foot of the tank"]


def test_sixteen_controls_are_in_view_and_what_is_refused_says_why_at_its_hose(visit: Open):
    one = visit()
    page = one.page
    tall = """() => [...document.querySelectorAll("#setup .row")].filter((row) => {
      const { top, bottom, height } = row.getBoundingClientRect();
      return height > 0 && top >= 0 && bottom <= innerHeight - 22;
    }).length"""
    assert page.evaluate(tall) >= 16
    page.get_by_role("button", name="fittings and more hose, suction").click()
    page.get_by_role("button", name="Split in two: suction hose").click()
    one.settle()
    page.get_by_role("button", name="Take out: suction hose 2").click()
    one.settle()
    expect(one.station("Suction").get_by_role("alert")).to_contain_text("12 ft of lift, but 10 ft of suction hose")
    assert len(decode(one.followed()).setup.suction.leg) == 2


def test_undo_leaves_text_that_is_being_typed_to_the_browser(visit: Open):
    one = visit()
    one.slider("Rise to the outlet").focus()
    one.page.keyboard.press("ArrowRight")
    one.settle()
    box = one.box("Lift to the pump")
    box.click()
    one.page.keyboard.type("1")
    one.page.keyboard.press("Control+z")
    one.settle()
    expect(one.box("Rise to the outlet")).to_have_value("39")
    box.press("Escape")
    one.page.keyboard.press("Control+z")
    one.settle()
    expect(one.box("Rise to the outlet")).to_have_value("38")
