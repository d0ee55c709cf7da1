"""How sure, as the page says and draws it: shares first, a bar a doubt, columns that add up, words on nothing."""

from functools import cache
from itertools import product

import pytest

import curvelab
from curvelab.app.state import show
from curvelab.app.studies.doubt import DOUBT as TAB
from curvelab.figures.band import Band, bars
from curvelab.figures.doubt import DoubtPicture
from curvelab.layout.doubt import DOUBT, DoubtScene, DoubtWords, doubt_names, doubt_scene, frame_of
from curvelab.layout.sizes import Width
from curvelab.report.doubt import DoubtSaid, doubt_said
from curvelab.studies.doubt import Doubt, doubt
from curvelab.units import Quantity, System
from curvelab.units import show as shown
from tests.unit.slow_cases import demo

CATALOGUE = curvelab.default_catalogue()
KNOWN = {"bore": "0 %", "roughness": "0 %", "k": "0 %", "head": "0 %"}
CASES = {
    "three states": demo("mill-pond"),
    "starved": demo("mill-pond-august"),
    "goal out of reach": demo("mill-pond-2in"),
    "perhaps nothing": demo("ridge-tank").with_("doubt", {"rise": "20 ft"}),
    "past the curve": demo("overflowing-pond"),
    "hardly any spread": demo("seepage-pit"),
}
EACH = list(product(CASES, (System.US, System.METRIC), Width))


@cache
def case(name: str, system: System) -> tuple[Doubt, DoubtSaid, float | None, float]:
    setup = CASES[name].with_("units", str(system))
    found, result = doubt(setup, samples=4000), curvelab.solve(setup)
    return found, doubt_said(found, setup, result), result.flow_m3_s, setup.goal.flow_m3_s


def frame(width: Width) -> tuple[float, float]:
    return float(DOUBT[width].width), float(DOUBT[width].height)


def scene_of(name: str, system: System, width: Width) -> tuple[DoubtScene, DoubtWords]:
    found, said, flow, goal = case(name, system)
    assert said.picture is not None
    return doubt_scene(found, system, flow, goal, frame(width)), said.picture


@pytest.mark.parametrize(("name", "system", "width"), EACH)
def test_words_lie_in_the_frame_on_no_other_and_on_no_column(name: str, system: System, width: Width):
    scene, words = scene_of(name, system, width)
    named = doubt_names(scene, words, frame(width))
    boxes = {key: place.box for key, place in named.places.items()}
    to = frame_of(scene, frame(width))
    for key, box in boxes.items():
        assert box.within(to.box)
        assert not any(box.overlaps(other) for other_key, other in boxes.items() if other_key != key)
        for bar in scene.bars:
            assert (
                float(to.x(bar.right)) <= box.left + 1
                or float(to.x(bar.left)) >= box.right - 1
                or (float(to.y(bar.top)) <= box.bottom + 1)
            )
    assert "band" in boxes
    assert set(named.omitted) <= {"now", "goal"}, "both stand in the answer and in the finding too"


@pytest.mark.parametrize("name", sorted(CASES))
def test_columns_add_up_to_all_draws(name: str):
    found, _, _, _ = case(name, System.US)
    scene, _ = scene_of(name, System.US, Width.WIDE)
    drawn = sum(bar.top - bar.bottom for bar in scene.bars)
    assert drawn + found.histogram.none_share == pytest.approx(1.0)
    for state, share in found.state_share.items():
        of_state = sum(bar.top - bar.bottom for bar in scene.bars if bar.state == state)
        assert of_state <= share + 1e-9


def test_the_band_holds_eight_of_ten_draws():
    """Counted from the columns, whose width is all that they may differ by."""
    scene, _ = scene_of("three states", System.US, Width.WIDE)
    low, high = scene.band
    wide = scene.bars[0].right - scene.bars[0].left
    inside = sum(bar.top - bar.bottom for bar in scene.bars if bar.left >= low - wide and bar.right <= high + wide)
    tight = sum(bar.top - bar.bottom for bar in scene.bars if bar.left >= low and bar.right <= high)
    assert tight <= 0.8 <= inside


def test_finding_begins_with_the_shares_and_ends_with_the_band():
    found, said, _, _ = case("three states", System.US)
    low, high = (
        shown(flow, Quantity.FLOW, System.US, unit=False) for flow in (found.flow_m3_s.low, found.flow_m3_s.high)
    )
    assert said.finding.startswith("One time in ")
    assert said.finding.endswith(f"8 times in 10: {low} to {high} gal/min.")
    assert said.line == said.brief == f"likely {low} to {high} (8 in 10)"
    assert any("matters most" in line and "Read the gauge at the pump" in line for line in said.under)
    assert any(line.startswith("Taken:") for line in said.under)


def test_each_doubt_has_its_bar_its_width_and_who_says_so():
    found, said, _, _ = case("three states", System.US)
    assert found.blame is not None
    assert [row.bar for row in said.doubts] == sorted((row.bar for row in said.doubts), reverse=True)
    assert said.doubts[0].bar == 1.0
    rows = {row.what: row for row in said.doubts}
    assert (rows["Rise"].within, rows["Rise"].source) == ("± 3 ft", "you say so")
    assert rows["Bore of the hose"].source == "the yard’s list"
    assert len(rows) == len(found.taken) == 7
    percent = sum(float(row.share.removesuffix(" %")) for row in said.doubts)
    assert percent == pytest.approx(100.0, abs=2.0)


def test_what_never_comes_stands_apart_at_no_flow():
    scene, words = scene_of("perhaps nothing", System.US, Width.WIDE)
    assert scene.none is not None
    assert scene.across.low == 0.0
    assert words.none[0].startswith("nothing comes ")
    assert scene_of("three states", System.US, Width.WIDE)[0].none is None


def test_a_goal_far_from_every_draw_leaves_the_columns_their_room():
    scene, _ = scene_of("goal out of reach", System.US, Width.WIDE)
    assert scene.goal is None
    assert scene_of("three states", System.US, Width.WIDE)[0].goal == pytest.approx(150.0)


def test_past_the_tested_curve_the_band_has_no_upper_end():
    _, said, flow, _ = case("past the curve", System.US)
    assert flow is not None
    least = shown(flow, Quantity.FLOW, System.US, unit=False)
    assert said.brief == f"likely {least} or more (9 in 10)"
    assert said.band[2][1] == "not tested so far"


def test_no_flow_is_said_as_that():
    setup = demo("mill-pond-september")
    said = doubt_said(doubt(setup, samples=200), setup, curvelab.solve(setup))
    assert said.finding.startswith("No flow, and it won't prime")


def test_without_any_doubt_there_is_no_band_no_line_and_no_picture():
    setup = demo("mill-pond").with_("doubt", KNOWN)
    said = doubt_said(doubt(setup, samples=200), setup, curvelab.solve(setup))
    assert (said.line, said.picture) == ("", None)
    assert said.brief == "nothing changes it"


@pytest.mark.parametrize("job", ["mill-pond", "ridge-tank", "cellar", "overflowing-pond", "box-figure"])
def test_the_tab_hands_band_and_picture_to_the_page(job: str):
    told = TAB.ask(show(CATALOGUE.setups[job], CATALOGUE), CATALOGUE)
    assert "nan" not in " ".join(told.words.values())
    assert (told.band is None) == (told.drawn is None) == (not told.words["line"])
    if told.drawn is not None:
        picture = DoubtPicture(Width.MEDIUM)
        picture.update(*told.drawn)
        assert picture.plot.html_attributes["role"] == "img"
        up, size = picture.plot.y_range, picture.plot.height
        below = [(y - up.start) / (up.end - up.start) * size for y in picture._texts._source.data["y"]]
        assert min(below) >= 8.0, "a number under the axis is cut off at the picture's edge"


def test_bars_cross_at_the_operating_point():
    rows = bars((171.0, 199.0), (80.0, 85.0), (186.0, 82.6), 0.0)
    assert rows[0][:4] == (171.0, 82.6, 199.0, 82.6)
    assert rows[1][:4] == (171.0, 0.0, 199.0, 0.0)
    assert rows[2][:4] == (186.0, 80.0, 186.0, 85.0)
    assert len(bars((171.0, 199.0), None, (186.0, 82.6), 0.0)) == 2
    assert Band((0.01, 0.02), None).head_m is None
