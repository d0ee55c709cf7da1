"""What a visitor does, and what the page must then show. Times are measured elsewhere; here only behaviour is held."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest
from click.testing import CliRunner
from playwright.sync_api import expect

from curvelab.cli import commands
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import decode, encode, opening_of
from curvelab.report.words import FOOTER
from curvelab.units import Quantity, System, show
from tests.browser.visit import Visit

Open = Callable[..., Visit]

CATALOGUE = default_catalogue()
JOBS = sorted(CATALOGUE.setups)


def solved_by_command(query: str, tmp_path: Path) -> dict:
    """What ``curvelab solve --json`` says of the setup in a link."""
    decoded = decode(query)
    assert decoded.problems == ()
    file = tmp_path / "from-link.toml"
    file.write_text(decoded.setup.to_toml(), encoding="utf-8")
    done = CliRunner().invoke(commands, ["solve", str(file), "--json"])
    assert done.exit_code in (0, 1), done.output
    return json.loads(done.stdout)


def shown_flow(result: dict, system: System) -> str:
    return show(result["flow_m3_s"], Quantity.FLOW, system, unit=False)


def test_first_view_says_everything_that_must_stand(visit: Open):
    page = visit().page
    expect(page.get_by_role("heading", level=1)).to_have_text("Mill pond to orchard tank")
    expect(page.get_by_role("status").filter(has_text="Runs well")).to_be_visible()
    expect(page.locator("footer")).to_have_text(FOOTER)
    cautions = page.get_by_role("region", name="Cautions")
    for word in ("fumes", "Keep the end open: 65 ft", "coupling arms", "before you add fuel", "No fuel"):
        expect(cautions.get_by_role("listitem").filter(has_text=word)).to_be_visible()
    expect(cautions.get_by_text("Local codes and licensed practice come first.")).to_be_visible()
    assert cautions.get_by_role("listitem").get_by_role("button").count() == 0, "these can't be waved away"


def test_arrow_key_is_one_message(visit: Open):
    one = visit()
    slider = one.slider("Rise to the outlet")
    slider.focus()
    before = one.flow()
    one.told_once("ArrowRight", "Rise to the outlet", "39")
    assert one.flow() != before


def test_keys_move_a_slider(visit: Open):
    one = visit()
    one.slider("Rise to the outlet").focus()
    for key, value in (("ArrowUp", "39"), ("ArrowLeft", "38"), ("PageUp", "63"), ("End", "150"), ("Home", "−100")):
        one.page.keyboard.press(key)
        expect(one.box("Rise to the outlet")).to_have_value(value)
        one.settle()
        expect(one.slider("Rise to the outlet")).to_have_attribute("aria-valuetext", f"{value} ft")


def test_drag_redraws_all_along_and_settles_in_the_link(visit: Open):
    one = visit()
    flows, queries = set(), set()
    at = 22 / 36  # 12 ft of −10 to 26
    to = one.grasp(one.slider("Lift to the pump"), at)
    for step in range(1, 9):
        to(at + step / 80)
        one.settle()
        flows.add(one.flow())
        queries.add(one.query())
    assert len(flows) > 3, flows
    assert queries == {""}, "the address must not follow a drag"
    one.page.mouse.up()
    one.settle()
    assert "lift=" in one.followed()


def test_drag_grows_the_head_axis_at_once_and_shrinks_it_when_let_go(visit: Open):
    one = visit()
    end = "() => Bokeh.documents[0].get_model_by_name('chart').y_range.end"
    start = one.page.evaluate(end)
    to = one.grasp(one.slider("Rise to the outlet"), 138 / 250)
    to(0.9, 4)
    one.settle()
    assert one.page.evaluate(end) > start
    grown = one.page.evaluate(end)
    to(138 / 250, 4)
    one.settle()
    assert one.page.evaluate(end) == grown
    one.page.mouse.up()
    one.settle()
    assert one.page.evaluate(end) == start


def test_number_box_takes_a_number_and_a_number_with_its_own_unit(visit: Open):
    one = visit()
    box = one.box("Lift to the pump")
    box.fill("14.5")
    box.press("Enter")
    one.settle()
    assert "lift=14.5+ft" in one.followed()
    box.fill("4 m")
    box.press("Enter")
    one.settle()
    assert "lift=4+m" in one.followed()
    expect(box).to_have_value("13.1")


def test_number_box_refuses_in_words_and_keeps_what_was(visit: Open):
    one = visit()
    box = one.box("Lift to the pump")
    before = one.flow()
    box.fill("twelve")
    box.press("Enter")
    expect(one.station("Suction").get_by_role("alert")).to_contain_text("a length")
    expect(box).to_have_value("twelve")  # to be mended
    assert one.flow() == before
    box.fill("12")
    box.press("Enter")
    expect(one.station("Suction").get_by_role("alert")).to_have_count(0)


def test_value_beyond_the_slider_widens_it(visit: Open):
    one = visit()
    box = one.box("Rise to the outlet")
    box.fill("201")
    box.press("Enter")
    one.settle()
    expect(box).to_have_value("201")
    expect(one.slider("Rise to the outlet")).to_have_attribute("aria-valuetext", "201 ft")


def test_units_move_no_physical_value(visit: Open):
    one = visit("?lift=12.3+ft&rise=38.7+ft")
    start = decode(one.query()).setup
    before = one.page.evaluate("() => Bokeh.documents.length")
    for system in ("metric", "imperial", "US"):
        one.page.get_by_role("radio", name=system, exact=True).check(force=True)
        one.settle()
        now = decode(one.followed()).setup
        assert now.with_("units", str(start.units)) == start
    assert one.page.evaluate("() => Bokeh.documents.length") == before


def test_metric_page_is_metric(visit: Open):
    one = visit(encode(opening_of(CATALOGUE).with_("units", "metric")))
    assert one.flow().endswith(" L/min")
    expect(one.box("Lift to the pump, in m")).to_have_value("3.7")
    expect(one.page.get_by_role("radio", name="76 mm")).to_have_count(2)
    assert "gal" not in one.page.locator("main").inner_text()


def test_link_reopens_the_setup_and_history_stays_as_long_as_it_was(visit: Open):
    one = visit()
    length = one.page.evaluate("history.length")
    one.slider("Hose length").last.focus()
    for _ in range(3):
        one.page.keyboard.press("ArrowRight")
    one.settle()
    one.page.get_by_role("radio", name="2 in", exact=True).last.check(force=True)
    one.settle()
    query, flow = one.followed(), one.flow()
    assert one.page.evaluate("history.length") == length
    one.page.reload()
    one.ready()
    assert one.flow() == flow
    assert one.query() == query
    assert decode(query).setup.discharge.leg[0].size is not None


def test_link_with_nonsense_opens_what_it_can_and_says_the_rest(visit: Open):
    one = visit("?v=1&lift=9+ft&rise=%3Cb%3Ehigh&flavour=mint&pump=ferrow-3")
    notice = one.page.locator("#notice")
    expect(notice).to_contain_text("flavour")
    expect(notice).to_contain_text("<b>high")
    assert notice.locator("b").count() == 0, "what a link says must never become HTML"
    expect(one.box("Lift to the pump")).to_have_value("9")
    one.page.get_by_role("button", name="Dismiss").click()
    expect(notice).to_be_hidden()


def test_title_from_a_link_is_text(visit: Open):
    one = visit("?v=1&title=%3Cimg+src%3Dx+onerror%3D%22window.hit%3D1%22%3E")
    expect(one.page.get_by_role("heading", level=1)).to_contain_text("<img")
    assert one.page.evaluate("window.hit") is None


def test_numbers_on_the_page_are_those_of_the_command(visit: Open, tmp_path: Path):
    one = visit()
    for job in JOBS:
        one.start(job)
        expect(one.page.get_by_role("heading", level=1)).to_have_text(CATALOGUE.setups[job].title)
        one.settle()
        same_numbers(one, tmp_path)


def same_numbers(one: Visit, tmp_path: Path) -> None:
    query = one.page.evaluate("document.getElementById('page').dataset.address")
    result = solved_by_command(query, tmp_path)
    if result["flow_m3_s"] is not None:
        one.expect_flow(shown_flow(result, System.US))
    readings = one.page.locator(".readings").inner_text()
    if result["inlet_gauge_pa"] is not None and result["inlet_gauge_pa"] < 0:
        assert show(-result["inlet_gauge_pa"], Quantity.VACUUM, System.US) in readings
    if result["pump_outlet_gauge_pa"] is not None:
        assert show(result["pump_outlet_gauge_pa"], Quantity.PRESSURE, System.US) in readings
    parts = one.page.locator("#ledger tbody td").all_inner_texts()
    assert len(parts) == len(result["ledger"])
    # Parts add up to the total as printed, whole from 100 ft up: one part may bear what rounding leaves over.
    total_ft = sum(part["head_m"] for part in result["ledger"]) / 0.3048
    slack = 0.11 if total_ft < 99.95 else 0.61
    for text, part in zip(reversed(parts), result["ledger"], strict=True):
        assert float(text.replace("−", "-").replace(",", "")) == pytest.approx(part["head_m"] / 0.3048, abs=slack)


def test_hose_shortened_below_its_points_takes_them_along_and_gives_them_back(visit: Open):
    one = visit()
    to = one.grasp(one.slider("Hose length").last, 35 / 71)
    to(0.25, 3)
    one.settle()
    expect(one.page.get_by_role("alert")).to_have_count(0)
    to(0.75, 3)
    one.page.mouse.up()
    one.settle()
    points = decode(one.followed()).setup.discharge.waypoint
    assert [round(point.distance.si / 0.3048) for point in points] == [52, 100, 200, 288]


def test_outlet_asks_for_its_own_number(visit: Open):
    one = visit()
    outlet = one.station("Outlet")
    for kind, label in (
        ("nozzle", "Nozzle bore"),
        ("pressure", "Pressure asked"),
        ("under water", "Water over the end"),
    ):
        outlet.get_by_role("radio", name=kind).check(force=True)
        one.settle()
        expect(one.slider(label)).to_be_visible()
        expect(one.page.get_by_role("alert")).to_have_count(0)
    outlet.get_by_role("radio", name="open end").check(force=True)
    one.settle()
    expect(one.slider("Water over the end")).to_have_count(0)


def test_pump_place_strainer_and_points_can_be_changed(visit: Open):
    one = visit()
    one.page.get_by_role("combobox", name="From the fleet").select_option("medlar-3c")
    one.page.get_by_role("combobox", name="Where it stands").select_option("pit")
    one.page.get_by_role("combobox", name="Strainer").select_option("foot-valve")
    one.page.get_by_role("spinbutton", name="90° bends").fill("2")
    one.page.get_by_role("spinbutton", name="90° bends").press("Enter")
    one.page.get_by_text("High and low points (").click()
    one.page.get_by_role("button", name="Add a point").click()
    one.settle()
    one.page.get_by_role("button", name="Take out dip").first.click()
    one.settle()
    setup = decode(one.followed()).setup
    assert (setup.pump.id, setup.job.place) == ("medlar-3c", "pit")
    assert dict(setup.suction.leg[0].fittings) == {"foot-valve": 1, "cam-coupling": 1, "elbow-90": 2}
    assert len(setup.discharge.waypoint) == 4
    expect(one.page.get_by_role("region", name="Cautions")).to_contain_text("Nobody climbs in")


def test_a_failure_is_said_with_an_id_and_the_page_goes_on(visit: Open, monkeypatch: pytest.MonkeyPatch):
    one = visit()
    with monkeypatch.context() as patch:
        patch.setattr("curvelab.app.state.show", lambda *_: 1 / 0)
        one.slider("Rise to the outlet").focus()
        one.page.keyboard.press("ArrowRight")
        expect(one.page.locator("#notice")).to_contain_text("(id ")
    one.page.keyboard.press("ArrowRight")
    one.settle()
    expect(one.box("Rise to the outlet")).to_have_value("39")  # one up from where it went on
