"""Several pumps by hand: put in and taken out, on bench and run, in the link; the tabs about them and their engines."""

import re
from collections.abc import Callable

from playwright.sync_api import expect

from curvelab.model.link import decode
from tests.browser.visit import Visit

Open = Callable[..., Visit]


def test_pumps_are_put_beside_and_into_the_line_drawn_and_taken_out_again(visit: Open):
    one = visit()
    page, station = one.page, one.station("Pump")
    alone = int(one.flow().split()[0])
    opens = station.get_by_role("button", name=re.compile("^1 pump"))
    opens.focus()
    page.keyboard.press("Enter")
    station.get_by_role("radio", name="2 of this pump side by side").focus()
    page.keyboard.press("Space")
    one.settle()
    assert alone < int(one.flow().split()[0]) < 2 * alone
    expect(station.get_by_role("radio", name="each pump has its own")).to_be_checked()
    station.get_by_role("button", name="A pump in the line").click()
    one.settle()
    setup = decode(one.followed()).setup
    assert (setup.pump.abreast, setup.suction.leg[0].abreast, len(setup.booster)) == (2, 2, 1)
    expect(page.get_by_role("img", name=re.compile("In the line: Ferrow 3 at"))).to_be_visible()
    expect(page.get_by_role("region", name="The run")).to_contain_text("In the line: in, out")
    slider = one.slider("Along the hose, pump in the line 1")
    slider.focus()
    page.keyboard.press("ArrowRight")
    one.settle()
    assert decode(one.followed()).setup.booster[0].distance.si > setup.booster[0].distance.si
    station.get_by_role("button", name="Take out pump in the line 1").click()
    one.settle()
    expect(station.get_by_role("button", name=re.compile("^2 pumps"))).to_be_focused()
    assert one.complaints == []


def test_a_way_to_place_the_pumps_is_taken_over_by_its_button(visit: Open):
    one = visit("#pumps")
    page = one.page
    one.studied()
    panel = page.get_by_role("tabpanel", name=re.compile("More than one pump"))
    expect(panel).to_contain_text("A second Ferrow 3 beside it")
    expect(panel.get_by_role("img", name=re.compile("^Curves of one pump and of two"))).to_be_visible()
    row = panel.get_by_role("row", name=re.compile("^Two side by side"))
    gives = row.get_by_role("cell").first.inner_text().strip()
    row.get_by_role("button", name=re.compile("^Use this")).click()
    one.studied()
    assert one.flow().split()[0] == gives
    expect(panel.get_by_role("row", name=re.compile("^Two side by side"))).to_contain_text("now")
    page.get_by_role("button", name="Undo").click()
    one.studied()
    expect(panel.get_by_role("row", name=re.compile("^One Ferrow 3"))).to_contain_text("now")


def test_warmer_air_leaves_the_engine_less_and_the_tab_says_so(visit: Open):
    one = visit("#power")
    page = one.page
    one.studied()
    panel = page.get_by_role("tabpanel", name=re.compile("Power and fuel"))
    before = panel.get_by_role("cell").nth(2).inner_text()
    box = one.box("Air temperature")
    box.fill("110")
    box.press("Enter")
    one.studied()
    expect(panel).to_contain_text("for air at 110 °F")
    assert float(panel.get_by_role("cell").nth(2).inner_text()) < float(before)
    assert decode(one.followed()).setup.site.air_temperature.text == "110 degF"
    expect(panel).to_contain_text("Who carries it")
    assert one.complaints == []
