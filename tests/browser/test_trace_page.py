"""From a picture to a pump: dropped, marked, clicked, mended, filled in, saved into a yard's folder, run on a site."""

from __future__ import annotations

import base64
from collections.abc import Callable
from pathlib import Path

import pytest
from axe_playwright_python.sync_playwright import Axe
from playwright.sync_api import expect

from curvelab.model.pump import read_pump
from tests.browser.visit import Curves
from tests.unit.demo_sheets import PICTURES

Open = Callable[..., Curves]
DEMO = PICTURES / "sedge-2.jpg"
SIZE = (1100, 800)
MARKS = (((100, 714.5), "0", "0"), ((1060, 714), "700", "0"), ((1061, 70.5), "700", "32"), ((100, 70.5), "0", "32"))
SEED = (552.6, 275.6)
DROP = """([text, name]) => {
  const bytes = Uint8Array.from(atob(text), (char) => char.charCodeAt(0));
  const data = new DataTransfer();
  data.items.add(new File([bytes], name, { type: "image/jpeg" }));
  document.getElementById("tracer").dispatchEvent(
    new DragEvent("drop", { dataTransfer: data, bubbles: true, cancelable: true }));
}"""


class Editor:
    """The trace editor of a Curves page."""

    def __init__(self, visit: Curves) -> None:
        self.visit, self.page = visit, visit.page
        visit.tab("A new pump")
        self.stage = self.page.locator(".stage")
        self.told = self.page.locator("[data-told]")
        self.fit = self.page.locator(".curve .fit")

    def drop(self, path: Path) -> None:
        self.page.evaluate(DROP, [base64.b64encode(path.read_bytes()).decode(), path.name])
        self.stage.wait_for()

    def at(self, place: tuple[float, float]) -> tuple[float, float]:
        """Where a pixel of the picture lies on the screen."""
        self.stage.scroll_into_view_if_needed()
        box = self.page.locator(".stage img").bounding_box()
        assert box
        return box["x"] + place[0] / SIZE[0] * box["width"], box["y"] + place[1] / SIZE[1] * box["height"]

    def numbers(self, place: int) -> None:
        _, flow, head = MARKS[place]
        self.page.get_by_label(f"Flow at mark {place + 1}").fill(flow)
        self.page.get_by_label(f"Head at mark {place + 1}").fill(head)

    def marked(self, count: int = 4) -> None:
        """Units and marks, by mouse."""
        self.page.get_by_label("Flow in").select_option("L/min")
        self.page.get_by_label("Head in").select_option("m")
        for place in range(count):
            self.page.mouse.click(*self.at(MARKS[place][0]))
            self.numbers(place)

    def go(self, place: tuple[float, float]) -> None:
        """The cross to a pixel of the picture, by arrow keys on the stage."""
        keys = self.page.keyboard
        keys.press("Shift+ArrowRight")  # it is there now
        for axis, (less, more) in enumerate((("ArrowLeft", "ArrowRight"), ("ArrowUp", "ArrowDown"))):
            box = self.page.locator(".over .cross").bounding_box()
            assert box
            here = (box["x"] + 0.5 * box["width"], box["y"] + 0.5 * box["height"])
            far = self.at(place)[axis] - here[axis]
            coarse, fine = divmod(round(abs(far)), 12)
            for name, count in (("", coarse), ("Shift+", fine)):
                for _ in range(count):
                    keys.press(f"{name}{more if far > 0 else less}")

    def handed(self) -> None:
        """Until the form has the points."""
        expect(self.page.get_by_role("button", name="Fill in the rest")).to_be_enabled()


@pytest.fixture
def editor(curves: Open) -> Callable[..., Editor]:
    return lambda **how: Editor(curves(**how))


def test_from_a_dropped_picture_to_an_operating_point(editor: Callable[..., Editor], yard: Path):
    one = editor()
    page = one.page
    one.drop(DEMO)
    one.marked()
    expect(one.told).to_contain_text("The axes are known")
    page.mouse.move(*one.at((300, 200)))
    expect(page.locator(".lens")).to_be_visible()
    page.mouse.click(*one.at(SEED))
    expect(one.told).to_contain_text("Traced. From 29")
    expect(one.fit).to_contain_text("% of its axis")
    expect(page.locator("[data-strip] svg")).to_be_visible()
    expect(page.locator(".over .lines .seen")).to_have_count(1)
    page.get_by_label("Name of curve 1").fill("3600 rpm")
    one.handed()
    found = Axe().run(page, context="#tracer")
    assert found.violations_count == 0, found.generate_report()
    page.get_by_role("button", name="Fill in the rest").click()
    expect(page.get_by_label("Name", exact=True)).to_be_focused()
    expect(page.get_by_label("Speed of the curve")).to_have_value("3600 rpm")
    page.get_by_role("tabpanel").get_by_label("Kind", exact=True).select_option("semi-trash")
    one.visit.fill(Name="Traced Two")
    page.get_by_role("button", name="Save into the yard’s list").click()
    expect(page.locator("#draft [data-done]")).to_contain_text("Traced Two is in the yard’s list")
    pump = read_pump("pumps/traced-two.toml", yard)
    assert pump.head.picture
    assert (yard / pump.head.picture).read_bytes() == DEMO.read_bytes()
    assert (yard / str(pump.head.frame)).exists()
    page.get_by_role("link", name="Use it now on the setup page").click()
    one.visit.on_setup_page()
    assert "Traced Two" in page.get_by_role("region", name="Pump").inner_text()
    assert float(page.locator("#answer .figure b").inner_text()) > 0


def test_a_keyboard_alone_marks_clicks_mends_and_takes_back(editor: Callable[..., Editor]):
    one = editor()
    page, keys = one.page, one.page.keyboard
    one.drop(DEMO)
    page.get_by_label("Flow in").select_option("L/min")
    page.get_by_label("Head in").select_option("m")
    one.stage.focus()
    one.go(MARKS[0][0])
    keys.press("Enter")
    one.go(MARKS[2][0])
    keys.press("Enter")  # square-on: two are enough
    one.numbers(0)
    page.get_by_label("Flow at mark 2").fill("700")
    page.get_by_label("Head at mark 2").fill("32")
    page.get_by_role("radio", name="Click a curve").focus()
    keys.press("Space")
    one.stage.focus()
    one.go(SEED)
    keys.press("Enter")
    expect(one.told).to_contain_text("Traced.")
    page.get_by_role("radio", name="Mend points").focus()
    keys.press("Space")
    point = page.get_by_role("button", name="Point 2:")
    point.focus()
    for _ in range(3):
        keys.press("ArrowUp")
    expect(one.fit).to_contain_text("placed by hand")
    expect(page.get_by_role("button", name="Point 2:")).to_be_focused()
    keys.press("Delete")
    count = page.get_by_role("button", name="Point ", exact=False).count()
    page.get_by_role("button", name="Undo").click()
    expect(page.get_by_role("button", name="Point ", exact=False)).to_have_count(count + 1)
    page.get_by_role("button", name="Undo").click()
    expect(one.fit).not_to_contain_text("placed by hand")
    page.get_by_role("button", name="Redo").click()
    expect(one.fit).to_contain_text("placed by hand")


def test_a_finger_on_a_phone_marks_where_it_lifts(editor: Callable[..., Editor]):
    one = editor(width=390, height=844, has_touch=True, is_mobile=True)
    page = one.page
    one.drop(DEMO)
    page.touchscreen.tap(*one.at(MARKS[0][0]))
    expect(page.get_by_label("Flow at mark 1")).to_be_visible()
    expect(one.told).to_contain_text("Mark 1 placed")
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
    page.get_by_role("button", name="Larger").tap()
    before = page.locator(".stage img").bounding_box()
    assert before
    assert before["width"] > 390
    page.get_by_role("button", name="All of it").tap()
    pinched(one)
    small = [
        node
        for node in page.locator(
            "#tracer button:visible, #tracer select:visible, #tracer input:visible:not([type=radio])"
        ).all()
        if (box := node.bounding_box()) and box["height"] < 44
    ]
    assert small == []


def pinched(one: Editor) -> None:
    """Two fingers apart zoom the picture about the place between them, and together again; neither marks anything."""
    fingers, image = one.page.context.new_cdp_session(one.page), one.page.locator(".stage img")
    middle = one.at((700, 400))

    def spread(kind: str, apart: float) -> None:
        points = [{"x": middle[0] + side * apart, "y": middle[1], "id": place} for place, side in enumerate((-1, 1))]
        fingers.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points if kind != "touchEnd" else []})

    def wide() -> float:
        box = image.bounding_box()
        assert box
        return box["width"]

    whole, scrolled = wide(), one.page.evaluate("[scrollY, visualViewport.scale]")
    for start, end in ((30, 90), (90, 45)):
        before, place = wide(), one.at((700, 400))
        spread("touchStart", start)
        for step in range(1, 5):
            spread("touchMove", start + (end - start) * step / 4)
        spread("touchEnd", 0)
        assert wide() == pytest.approx(before * end / start, rel=0.02)
        assert one.at((700, 400)) == pytest.approx(place, abs=2.0)
    assert wide() > 1.4 * whole
    assert one.page.evaluate("[scrollY, visualViewport.scale]") == scrolled
    expect(one.page.get_by_label("Flow at mark 2")).to_have_count(0)


def test_a_reload_loses_nothing_and_a_wrong_file_is_told(editor: Callable[..., Editor], tmp_path: Path):
    one = editor()
    page = one.page
    text = tmp_path / "notes.jpg"
    text.write_text("no picture", encoding="utf-8")
    page.get_by_label("Choose a picture").set_input_files(text)
    expect(page.get_by_role("alert").filter(has_text="no picture that can be read")).to_be_visible()
    page.get_by_label("Choose a picture").set_input_files(DEMO)
    one.stage.wait_for()
    one.marked()
    expect(one.told).to_contain_text("The axes are known")
    page.mouse.click(*one.at(SEED))
    expect(one.fit).to_be_visible()
    page.reload()
    expect(page.get_by_label("Flow at mark 3")).to_have_value("700")
    expect(one.fit).to_be_visible()
    one.handed()
