"""The studies below the page and the buttons of what would help, as a visitor uses them."""

import re
from collections.abc import Callable

import pytest
from playwright.sync_api import Locator, expect

from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import decode
from curvelab.model.setup import Setup
from curvelab.studies.choose import choose
from curvelab.studies.mend import mend
from curvelab.studies.solve import solve
from curvelab.studies.vary import vary
from curvelab.units import Quantity, System, parse, show
from tests.browser.visit import Visit

Open = Callable[..., Visit]

MOST_STUDIED_BYTES = 40_000
CATALOGUE = default_catalogue()
TROUBLES = ("mill-pond-august", "mill-pond-september", "ridge-tank", "campground-tank")


def opened(visit: Open, job: str) -> Visit:
    one = visit()
    start(one, job)
    return one


def start(one: Visit, job: str) -> None:
    one.page.get_by_role("combobox", name="Start from a job").select_option(job)
    one.studied()


def present(one: Visit) -> Setup:
    """The setup that the page shows, as its link has it."""
    return decode(one.page.evaluate("document.getElementById('page').dataset.address")).setup


def cells(table: Locator) -> list[list[str]]:
    return [
        [" ".join(cell.split()) for cell in row.locator("th, td").all_inner_texts()]
        for row in table.locator("tbody tr").all()
    ]


def flow_text(flow_m3_s: float) -> str:
    return show(flow_m3_s, Quantity.FLOW, System.US, unit=False)


def test_tabs_are_tabs_and_go_by_the_keyboard(visit: Open):
    one = visit()
    one.studied()
    tabs = one.page.get_by_role("tablist", name="Studies").get_by_role("tab")
    longer, bores = (one.page.get_by_role("tab", name=name) for name in ("Longer hose", "Which hose size"))
    expect(longer).to_have_attribute("aria-selected", "true")
    expect(longer).to_contain_text("for 100 ft more")
    expect(one.page.get_by_role("tabpanel", name="Longer hose")).to_be_visible()
    longer.focus()
    one.page.keyboard.press("ArrowRight")
    expect(bores).to_be_focused()
    expect(one.page.get_by_role("tabpanel", name="Which hose size")).to_be_visible()
    expect(one.page.get_by_role("tabpanel", name="Longer hose")).to_be_hidden()
    one.page.keyboard.press("ArrowLeft")
    expect(longer).to_be_focused()
    one.page.keyboard.press("ArrowLeft")
    expect(tabs.last).to_be_focused()
    one.page.keyboard.press("Home")
    expect(longer).to_have_attribute("aria-selected", "true")


def test_the_open_tab_outlives_a_reload(visit: Open):
    one = visit()
    one.page.get_by_role("tab", name="Which hose size").click()
    assert one.page.evaluate("location.hash") == "#bores"
    one.page.reload()
    one.ready()
    expect(one.page.get_by_role("tab", name="Which hose size")).to_have_attribute("aria-selected", "true")
    expect(one.page.get_by_role("tabpanel", name="Which hose size")).to_be_visible()


def test_the_sums_are_one_click_away_and_follow_the_setup(visit: Open):
    one = visit()
    one.studied()
    tab, panel = (one.page.get_by_role(role, name="The sums") for role in ("tab", "tabpanel"))
    tab.click()
    one.studied()

    def flow() -> str:
        return panel.get_by_role("row", name=re.compile("^Flow in .*gal.min")).get_by_role("cell").nth(2).inner_text()

    assert flow().startswith("186.")
    expect(panel.get_by_role("row", name=re.compile("^Friction factor")).first).to_contain_text("Colebrook 1939")
    one.slider("Hose length").last.press("PageUp")
    one.studied()
    now = solve(present(one)).flow_m3_s
    assert now is not None
    assert float(flow().split()[0]) == pytest.approx(now * 15850.32, rel=1e-5)


def test_lengths_of_the_present_size_are_those_of_vary(visit: Open):
    one = visit()
    one.studied()
    table = one.page.get_by_role("table", name="Flow in US gal/min")
    heads = table.locator("thead th").all_inner_texts()[1:]
    rows = {row[0]: row[1:] for row in cells(table)}
    lengths = [parse(head.replace(",", ""), Quantity.LENGTH) for head in heads]
    setup = present(one)
    kept = [at for at, length in enumerate(lengths) if length >= setup.discharge.leg[0].length.si * (1.0 - 1e-9)]
    found = vary(setup, "discharge.leg.0.length", [lengths[at] for at in kept])
    assert len(kept) >= 3
    assert [rows["3 in"][at] for at in kept] == [flow_text(flow) for flow in found.columns.flow_m3_s.tolist()]


def test_shorter_hose_gives_what_the_slider_then_gives(visit: Open):
    one = visit()
    one.studied()
    table = one.page.get_by_role("table", name="Flow in US gal/min")
    heads = table.locator("thead th").all_inner_texts()[1:]
    wanted = dict(zip(heads, next(row[1:] for row in cells(table) if row[0] == "3 in"), strict=True))
    box = one.page.get_by_role("textbox", name="Hose length").last
    for length in ("150", "50"):
        box.fill(length)
        box.press("Enter")
        one.settle()
        assert one.flow() == f"{wanted[f'{length} ft']} gal/min"


def test_neighbouring_bores_are_those_of_choose(visit: Open):
    one = visit()
    one.studied()
    one.page.get_by_role("tab", name="Which hose size").click()
    table = one.page.get_by_role("tabpanel", name="Which hose size").get_by_role("table")
    rows = cells(table)
    now = next(at for at, row in enumerate(rows) if row[0].startswith("3 in"))
    found = {row.change: row for row in choose(present(one)).rows}
    for at, name in ((now - 1, "2½ in discharge hose"), (now + 1, "4 in discharge hose")):
        flow = found[name].flow_m3_s
        assert flow is not None
        assert rows[at][1].removeprefix("about ") == flow_text(flow)
    assert rows[now][1] == one.flow().split()[0]
    assert "starved" in rows[now + 1][9]
    assert "hose rated too low" in rows[now][9]


def test_studies_follow_a_change_once_it_has_settled(visit: Open):
    one = visit()
    one.studied()
    tab = one.page.get_by_role("tab", name="Which hose size")
    expect(tab).to_contain_text("4 in: suction gives out")
    one.listen()
    one.page.get_by_role("radio", name="2 in", exact=True).last.check(force=True)
    one.studied()
    expect(tab).not_to_contain_text("4 in")
    expect(one.page.get_by_role("tabpanel", name="Longer hose")).to_contain_text("in 2 in.")
    assert len(one.messages()) == 1, "the live part is one message"
    studied = sum(len(frame) for frame in one.frames) - one.bytes()
    assert 0 < studied <= MOST_STUDIED_BYTES


def test_words_dim_while_they_are_of_another_setup_and_stay_in_place(visit: Open, monkeypatch: pytest.MonkeyPatch):
    one = visit()
    one.studied()
    panel = one.page.get_by_role("tabpanel", name="Longer hose")
    before = panel.inner_text()
    with monkeypatch.context() as patch:
        patch.setattr("curvelab.app.studies.desk.QUIET_S", 1.0)
        one.slider("Rise to the outlet").focus()
        one.page.keyboard.press("ArrowRight")
        one.settle()
        expect(one.page.get_by_role("region", name="Studies")).to_have_attribute("aria-busy", "true")
        assert panel.inner_text() == before
        one.studied()
    assert panel.inner_text() != before


def test_an_overtaken_answer_is_dropped(visit: Open):
    one = visit()
    one.studied()
    one.slider("Rise to the outlet").focus()
    for _ in range(12):
        one.page.keyboard.press("ArrowRight")
    one.studied()
    flow = one.flow().split()[0]
    expect(one.page.get_by_role("tabpanel", name="Longer hose").locator(".point")).to_have_text(flow)


@pytest.mark.parametrize("job", TROUBLES)
def test_every_cure_does_what_it_says(visit: Open, job: str):
    one = opened(visit, job)
    buttons = one.page.locator("[data-study='cures.buttons']").get_by_role("button")
    expect(one.page.get_by_role("heading", name="What would help")).to_be_visible()
    found = mend(present(one))
    mended = [row for row in found.rows if row.state != "cavitating"]
    count = len(mended if solve(present(one)).state == "cavitating" and mended else found.rows)
    assert buttons.count() == count > 0
    for at in range(count):
        if at:
            start(one, job)
        said = buttons.nth(at).inner_text()
        flow = re.search(r"([\d,.]+), (?:still )?[a-z ]+$", said.strip())
        assert flow is not None, said
        buttons.nth(at).click()
        one.studied()
        result = solve(present(one))
        assert result.flow_m3_s is not None
        assert flow_text(result.flow_m3_s) == flow[1]
        one.expect_flow(flow[1])
        expect(one.page.get_by_role("alert")).to_have_count(0)


def test_what_would_still_be_starved_is_left_out_where_others_put_it_right(visit: Open):
    one = opened(visit, "mill-pond-august")
    buttons = one.page.locator("[data-study='cures.buttons']").get_by_role("button")
    expect(buttons).to_contain_text(["runs well", "runs well"])


def test_cure_by_the_keyboard_leaves_the_focus_in_the_answer(visit: Open):
    one = opened(visit, "mill-pond-august")
    one.page.locator("[data-study='cures.buttons']").get_by_role("button").first.focus()
    one.page.keyboard.press("Enter")
    one.studied()
    expect(one.page.get_by_role("heading", name="What would help")).to_be_hidden()
    assert one.page.evaluate("document.activeElement.closest('#answer') !== null")


def test_hose_button_takes_the_next_rating_and_its_price_is_the_yards(visit: Open):
    one = visit()
    one.studied()
    found = mend(present(one)).hose
    assert found is not None
    button = one.page.get_by_role("button", name="75 psi lay-flat")
    expect(button).to_contain_text(f"+${found.cost:.0f} a day")
    button.click()
    one.studied()
    assert present(one).discharge.leg[0].hose == found.changes["discharge.leg.0.hose"]
    expect(one.page.get_by_role("status").filter(has_text="Runs well")).not_to_contain_text("rated too low")
    expect(button).to_have_count(0)


def test_a_button_that_nobody_offered_does_nothing(visit: Open):
    one = visit()
    one.studied()
    before = one.flow()
    one.page.evaluate(
        """() => {
          const button = document.createElement("button");
          button.dataset.cure = "9.9";
          document.getElementById("answer").append(button);
          button.click();
        }"""
    )
    one.studied()
    assert one.flow() == before


@pytest.mark.parametrize(
    ("job", "word"), [("ridge-tank", "Bigger hose won’t help"), ("mill-pond-september", "draw the water up")]
)
def test_without_flow_a_sentence_stands_for_the_picture(visit: Open, job: str, word: str):
    one = opened(visit, job)
    panel = one.page.get_by_role("tabpanel", name="Longer hose")
    expect(panel).to_contain_text(word)
    expect(panel.get_by_role("table")).to_have_count(0)
    expect(panel.get_by_role("img")).to_have_count(0)
    one.page.get_by_role("tab", name="Which hose size").click()
    expect(one.page.get_by_role("tabpanel", name="Which hose size")).to_contain_text("No bore helps")


def test_picture_says_in_words_what_it_shows(visit: Open):
    one = visit()
    one.studied()
    image = one.page.get_by_role("tabpanel", name="Longer hose").get_by_role("img")
    expect(image).to_have_attribute("aria-label", re.compile("3 in gives .* at 300 ft and .* at 600 ft"))


@pytest.mark.parametrize(
    ("units", "unit", "size"), [("metric", "L/min", "76 mm"), ("imperial", "imperial gal/min", "3 in")]
)
def test_units_change_the_studies_too(visit: Open, units: str, unit: str, size: str):
    one = visit()
    one.page.get_by_role("radio", name=units, exact=True).check(force=True)
    one.studied()
    table = one.page.get_by_role("table", name=f"Flow in {unit}")
    expect(table.get_by_role("rowheader", name=size, exact=True)).to_be_visible()


def test_on_a_phone_the_studies_are_rows_that_open(visit: Open):
    one = visit(width=390, height=844)
    one.studied()
    expect(one.page.get_by_role("tab")).to_have_count(0)
    longer, bores = (one.page.get_by_role("button", name=name) for name in ("Longer hose", "Which hose size"))
    expect(longer).to_have_attribute("aria-expanded", "true")
    expect(bores).to_have_attribute("aria-expanded", "false")
    expect(bores).to_contain_text("suction gives out")
    bores.focus()
    one.page.keyboard.press("Enter")
    expect(bores).to_have_attribute("aria-expanded", "true")
    expect(one.page.get_by_text("is the largest hose this suction can feed")).to_be_visible()
    assert one.page.evaluate("document.documentElement.scrollWidth <= document.documentElement.clientWidth")
    table = one.page.get_by_role("table", name="Flow in US gal/min")
    assert sum(head.is_visible() for head in table.locator("thead th").all()) == 5


def test_a_failing_study_says_so_and_the_page_goes_on(visit: Open, monkeypatch: pytest.MonkeyPatch):
    one = visit()
    one.studied()
    with monkeypatch.context() as patch:
        patch.setattr("curvelab.app.studies.longer.longer", lambda *_: 1 / 0)
        one.slider("Rise to the outlet").focus()
        one.page.keyboard.press("ArrowRight")
        expect(one.page.get_by_role("tabpanel", name="Longer hose")).to_contain_text("(id ")
    one.page.keyboard.press("ArrowRight")
    one.studied()
    expect(one.page.get_by_role("tabpanel", name="Longer hose")).not_to_contain_text("(id ")
