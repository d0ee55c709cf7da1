"""The page for everyone: by keyboard, heard instead of seen, larger, with forced colours, without motion, on paper."""

import re
from collections.abc import Callable, Sequence

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import Page, expect

from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import encode
from tests.browser.visit import Visit

Open = Callable[..., Visit]

CATALOGUE = default_catalogue()
STATES = ("mill-pond", "mill-pond-august", "mill-pond-september", "ridge-tank", "overflowing-pond", "seepage-pit")
"""One of each state, the first with a hose under its rating, the last with a guess at the suction's limit."""
CHANGING = ("#answer", "#cautions", "#bench", "#ledger", "#run", ".tabs", ".study:not([hidden])")
"""What another setup changes."""
TAGS = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa"]
WALK = """(node) => {
  const seen = node.getBoundingClientRect();
  const style = (each) => getComputedStyle(each);
  const drawn = (each) => each && style(each).outlineStyle !== "none" && style(each).outlineWidth !== "0px";
  const within = node.closest("section[aria-label], header, nav, footer");
  return {
    where: within ? within.getAttribute("aria-label") || within.tagName : "",
    name: node.getAttribute("aria-label") || node.labels?.[0]?.innerText || node.innerText || node.id,
    kind: node.type || node.tagName,
    ring: drawn(node) || drawn(node.nextElementSibling) || drawn(node.closest(".box")) || drawn(node.parentElement),
    inside: seen.width > 0 && seen.height > 0,
  };
}"""


def violations(page: Page, within: Sequence[str] = ("html",)) -> list[tuple[str, list[str]]]:
    found = (
        Axe()
        .run(page, {"include": [[where] for where in within]}, options={"runOnly": {"type": "tag", "values": TAGS}})
        .response["violations"]
    )
    # Handles on the drawing may lie close together, as the points of a run do: each has its row of number boxes too.
    spared = {"target-size": 'class="grip'}
    bad = [
        (one["id"], [node["html"][:200] for node in one["nodes"] if spared.get(one["id"], "\0") not in node["html"]])
        for one in found
    ]
    return [(rule, nodes) for rule, nodes in bad if nodes]


@pytest.mark.slow
@pytest.mark.parametrize("width", [390, 768, 1024, 1440, 1920])
def test_axe_finds_nothing_in_any_state(visit: Open, width: int):
    one = visit(width=width)
    bad = {}
    for job in STATES:
        if job != STATES[0]:
            one.start(job)
        one.settle()
        if found := violations(one.page, CHANGING if job != STATES[0] else ("html",)):
            bad[job] = found
    assert bad == {}


def test_axe_finds_nothing_with_an_estimate_notices_and_everything_open(visit: Open):
    sheet = BoxSheet.model_validate({"greatest_head": "98 ft", "greatest_flow": "420 gpm"})
    record = pump_from_box({"id": "brook-3", "name": "Brook 3", "speed": "3600 rpm", "inlet": "3 in"}, sheet)
    query = encode(CATALOGUE.setups["mill-pond"].with_("pump", {"record": record}), catalogue=CATALOGUE)
    one = visit(f"{query}&flavour=mint")
    expect(one.page.locator("#notice")).to_contain_text("flavour")
    for summary in one.page.locator("main summary:visible").all():
        summary.click()
    box = one.box("Lift to the pump")
    box.fill("twelve")
    box.press("Enter")
    expect(one.page.get_by_role("alert").filter(has_text="twelve")).to_be_visible()
    one.settle()
    assert violations(one.page) == []


def walked(page: Page, most: int = 160) -> list[dict]:
    """Every stop of the Tab key from the top of the page until it leaves it."""
    page.evaluate("document.activeElement.blur(); window.scrollTo(0, 0)")
    stops = []
    for _ in range(most):
        page.keyboard.press("Tab")
        if page.evaluate("document.activeElement === document.body"):
            return stops
        stops.append(page.evaluate(f"({WALK})(document.activeElement)"))
    pytest.fail(f"the Tab key never leaves the page: {stops[-3:]}")


def in_order(stops: list[dict]) -> list[str]:
    """Where the stops lie, each place once for as long as the walk stays there."""
    places = [stop["where"] for stop in stops]
    return [place for at, place in enumerate(places) if at == 0 or places[at - 1] != place]


def test_tab_walks_the_page_as_it_is_read_and_every_stop_can_be_seen(visit: Open):
    one = visit()
    one.start("mill-pond-august")
    one.settle()
    stops = walked(one.page)
    assert [stop for stop in stops if not stop["ring"]] == []
    assert [stop for stop in stops if not (stop["inside"] and stop["name"])] == []
    places = in_order(stops)
    assert len(places) == len(set(places)), f"the walk comes back to a place it has left: {places}"
    asked = ["HEADER", "Site", "Suction", "Pump", "Discharge", "Outlet", "Cautions", "Answer", "Studies"]
    assert [place for place in places if place in asked] == asked


def test_tab_walks_the_phone_from_top_to_bottom(visit: Open):
    one = visit(width=390, height=844)
    places = in_order(walked(one.page))
    assert places.index("Studies") < places.index("Cautions")
    tops = one.page.evaluate("""() => ["#setup", "#studies", "#cautions"].map(
      (where) => document.querySelector(where).getBoundingClientRect().top)""")
    assert tops == sorted(tops)


def test_the_whole_job_goes_by_the_keyboard(visit: Open):
    one = visit()
    press = one.page.keyboard.press
    one.slider("Lift to the pump").focus()
    for _ in range(16):
        press("ArrowRight")
    expect(one.page.locator("#said")).to_contain_text("Starved at the suction")
    expect(one.page.locator("[data-study='cures.buttons']")).to_have_attribute("data-old", "no")
    one.tab_to(lambda node: "runs well" in node)
    press("Enter")
    expect(one.page.locator("#said")).to_contain_text("Runs")
    one.tab_to(lambda node: node.startswith("Longer hose"))
    press("ArrowRight")
    expect(one.page.get_by_role("tabpanel", name="Which hose size")).to_be_visible()
    one.page.get_by_role("radio", name="US", exact=True).focus()
    press("ArrowRight")
    one.settle()
    assert one.flow().endswith(" L/min")
    one.page.locator("#cautions summary").focus()
    press("Enter")
    one.page.get_by_role("button", name="Hide: If you must shout").focus()
    press("Enter")
    expect(one.page.get_by_role("button", name="1 hidden")).to_be_focused()
    press("Enter")
    expect(one.page.get_by_role("button", name="Hide: If you must shout")).to_be_visible()
    assert one.page.evaluate("document.querySelector('#cautions details').open"), "the fold stays open"


def test_flow_and_state_are_said_once_when_a_change_has_settled(visit: Open):
    one = visit()
    one.page.evaluate("""() => {
      window.told = [];
      const watch = new MutationObserver(() => window.told.push(document.getElementById("said").textContent));
      watch.observe(document.getElementById("said"), { childList: true, characterData: true, subtree: true });
    }""")
    slider = one.slider("Lift to the pump")
    one.grasp(slider, 22 / 36)(0.8, 8)
    one.settle()
    one.page.wait_for_timeout(600)
    assert one.page.evaluate("told") == [], "nothing is said while it is dragged"
    one.page.mouse.up()
    one.page.wait_for_function("told.length > 0")
    slider.focus()
    for _ in range(5):
        one.page.keyboard.press("ArrowLeft")
    one.settle()
    one.page.wait_for_timeout(900)
    told = one.page.evaluate("told")
    assert len(told) == 2, told
    assert re.fullmatch(r"(About )?\d+ US gal/min: .+\.", told[-1])
    assert one.flow().split()[-2] in told[-1]
    live = one.page.locator("[role=status]:visible, [aria-live]:visible").filter(has_text="gal/min")
    expect(live).to_have_count(1)


def test_landmarks_have_their_names(visit: Open):
    one = visit()
    snapshot = one.page.locator("body").aria_snapshot()
    for landmark in ("banner:", "main:", "contentinfo:", 'navigation "Pages":'):
        assert re.search(rf"^ *- {re.escape(landmark)}", snapshot, re.MULTILINE), landmark
    for name in ("Setup", "Cautions", "Answer", "Curves", "Head ledger", "The run", "Studies"):
        assert f'region "{name}":' in snapshot
    assert 'slider "Lift to the pump":' in snapshot or 'slider "Lift to the pump"' in snapshot
    assert 'img "Chart of head against flow' in snapshot
    assert 'table "Head ledger"' in snapshot
    assert 'tab "Longer hose' in snapshot
    assert 'status: "186 US gal/min' in snapshot


def clipped(page: Page) -> list[str]:
    """Texts that run out of the box that cuts them off."""
    return page.evaluate("""() => {
      const all = [...document.querySelectorAll("#answer, #answer *, #cautions *, header *")];
      return all.filter((node) => {
        const cut = !["visible", "auto"].includes(getComputedStyle(node).overflowY);
        const counts = !node.closest(".unseen, [hidden], select, svg, .yard");
        return cut && counts && node.clientHeight > 2 && node.scrollHeight > node.clientHeight + 2;
      }).map((node) => node.outerHTML.slice(0, 120));
    }""")


def overflow(page: Page) -> int:
    return page.evaluate("document.documentElement.scrollWidth - document.documentElement.clientWidth")


@pytest.mark.parametrize(("width", "height"), [(320, 640), (720, 450)])  # 1280 px at 400 %, 1440 px at 200 %
def test_larger_text_reflows_and_nothing_is_lost(visit: Open, width: int, height: int):
    one = visit(width=width, height=height, device_scale_factor=2)
    one.start("mill-pond-august")
    one.settle()
    assert overflow(one.page) <= 0
    assert clipped(one.page) == []
    expect(one.page.get_by_text("No suction to spare.")).to_be_visible()


def test_more_space_between_letters_and_lines_cuts_nothing_off(visit: Open):
    one = visit()
    one.page.add_style_tag(
        content="* { line-height: 1.5 !important; letter-spacing: 0.12em !important; word-spacing: 0.16em !important; }"
    )
    for job in STATES[:2]:
        one.start(job)
        one.settle()
        assert clipped(one.page) == []
        assert overflow(one.page) <= 0


def test_forced_colours_keep_what_is_chosen_and_reduced_motion_keeps_still(visit: Open):
    one = visit(forced_colors="active", reduced_motion="reduce")
    ground = "(node) => getComputedStyle(node).backgroundColor"
    group = one.page.locator("#units label span")
    chosen, other = (group.nth(at).evaluate(ground) for at in (0, 1))
    assert chosen != other
    assert one.page.evaluate("""() => [...document.querySelectorAll("*")].every(
      (node) => getComputedStyle(node).transitionDuration.split(", ").every((time) => time === "0s"))""")
    one.start("mill-pond-august")
    one.settle()
    expect(one.page.locator("#answer .chip svg").first).to_be_visible()


@pytest.mark.parametrize("width", [1440, 390])
def test_it_prints_on_two_pages_with_answer_curves_and_every_caution(visit: Open, width: int):
    one = visit(width=width)
    one.start("mill-pond-august")
    one.settle()
    one.page.locator("#cautions details").evaluate("node => { node.open = false; }")
    for paper in ("A4", "Letter"):
        pdf = one.page.pdf(format=paper)
        assert len(re.findall(rb"/Type ?/Page\b", pdf)) <= 2, paper
    one.page.emulate_media(media="print")
    for text in ("No suction to spare.", "WorkSafeNB", "Readings to expect", "Local codes", "20.8 inHg"):
        expect(one.page.get_by_text(text).first).to_be_visible()
    for control in ("#copy", "#jobs", "input[type=range]", ".tabs", "#cautions .hide"):
        expect(one.page.locator(control).first).to_be_hidden()
    bench, paper_px = one.page.locator("#bench").bounding_box(), 190 / 25.4 * 96
    assert bench is not None
    assert bench["width"] <= paper_px


def test_tabs_of_the_studies_show_at_900_px_in_every_state_and_with_two_kept(visit: Open):
    one = visit()
    below = {}
    for kept in ("none", "two"):
        for job in (*STATES, "hill-pond"):
            one.start(job)
            one.settle()
            expect(one.page.locator("[data-study='cures.buttons']")).to_have_attribute("data-old", "no")
            below[job, kept] = one.page.evaluate("""() => document.querySelector(".tabs").getBoundingClientRect().bottom
              - document.querySelector("footer").getBoundingClientRect().top""")
        if kept == "none":
            for job in ("mill-pond", "mill-pond-august"):
                one.start(job)
                one.settle()
                one.page.locator("header [data-chalk]").click()
                one.settle()
    assert one.page.locator("#chalked li").count() == 2
    assert {where: by for where, by in below.items() if by > 1} == {}
    hidden = "() => { const list = document.getElementById('cautions'); return list.scrollHeight - list.clientHeight; }"
    assert one.page.evaluate(hidden) > 0, "the list of cautions takes what is left, and scrolls"
    one.page.locator("#cautions summary").click()
    assert one.page.evaluate(hidden) <= 0, "opened it is as long as it is"
