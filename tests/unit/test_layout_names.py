"""Every slider through its range, at three widths: no label over a curve, over another label, or outside."""

import itertools

import numpy as np
import pytest

from curvelab.layout.chart_names import chart_names
from curvelab.layout.labels import Box
from curvelab.layout.lines import Floats
from curvelab.layout.placing import TYPES, Frame, Named
from curvelab.layout.run import drawing
from curvelab.layout.run_names import run_names
from curvelab.layout.scene import Scene
from curvelab.layout.sizes import BENCH, RUN, Width
from curvelab.layout.strip_names import strip_names
from curvelab.layout.text import width_px
from curvelab.units import System
from tests.unit.picture_cases import NAMES, STATES, SWEEP, THIN, case, dense, frames_of, scene_of

NEEDED = {"point", "pump"}
"""Labels without which the wide chart can't be read."""
CASES = [*((name, ()) for name in NAMES), *SWEEP]


def no_box_on_a_line(named: Named, lines: list[tuple[Floats, Floats]], where: str) -> None:
    points = np.concatenate([dense(x, y) for x, y in lines])
    for name, placed in named.places.items():
        box = placed.box
        inside = (
            (points[:, 0] > box.left)
            & (points[:, 0] < box.right)
            & (points[:, 1] > box.bottom)
            & (points[:, 1] < box.top)
        )
        assert not inside.any(), f"{name} lies on a line, {where}"


def no_two_overlap(named: Named, frame: Box, where: str) -> None:
    for (one, a), (other, b) in itertools.combinations(named.places.items(), 2):
        assert not a.box.overlaps(b.box), f"{one} lies on {other}, {where}"
    for name, placed in named.places.items():
        assert placed.box.within(frame), f"{name} is outside, {where}"


def chart_lines(scene: Scene, frame: Frame) -> list[tuple[Floats, Floats]]:
    lines = scene.lines
    pairs = [
        (lines.live_flow, lines.live_head),
        (lines.beyond_flow, lines.beyond_head),
        (lines.past_flow, lines.past_head),
        (lines.past_flow, lines.pump_low),
        (lines.past_flow, lines.pump_high),
    ]
    made = [(frame.x(x), frame.y(y)) for x, y in pairs]
    edge = scene.limit if scene.limit is not None else scene.doubt[0] if scene.doubt is not None else None
    if edge is not None:
        x = float(frame.x(edge))
        made.append((np.array([x, x]), np.array([0.0, frame.box.top])))
    return made


@pytest.mark.parametrize(("name", "changes"), CASES, ids=str)
@pytest.mark.parametrize(("width", "system"), [*((width, System.US) for width in Width), (Width.WIDE, System.METRIC)])
def test_nothing_lies_on_anything(name: str, changes: tuple[tuple[str, str], ...], width: Width, system: System):
    size, run_size, where = BENCH[width], RUN[width], f"{name} {changes} {width} {system}"
    one = case(name, *changes, system=system)
    scene = scene_of(one, system=system, width=width)
    chart, strip = frames_of(scene, width)
    on_chart = chart_names(scene, one.bench, size=size, plot_px=float(size.plot))
    no_two_overlap(on_chart, chart.box, where)
    no_box_on_a_line(on_chart, chart_lines(scene, chart), where)
    on_strip = strip_names(scene, one.bench, size=size, plot_px=float(size.plot))
    no_two_overlap(on_strip, strip.box, where)
    lines = scene.lines
    suction = ((lines.npsha_flow, lines.npsha), (lines.npshr_flow, lines.npshr))
    no_box_on_a_line(on_strip, [(strip.x(flow), strip.y(head)) for flow, head in suction], where)
    shown = drawing(one.result, one.run, size=run_size, width_px=float(run_size.width), system=system)
    on_run = run_names(shown, one.words, width_px=float(run_size.width), height_px=float(run_size.height))
    no_two_overlap(on_run, Box(0.0, 0.0, run_size.width, run_size.height), where)
    no_box_on_a_line(on_run, [(shown.corners.x, shown.corners.y), (shown.suction.x, shown.suction.y)], where)


@pytest.mark.parametrize("name", NAMES)
def test_on_a_wide_page_flow_and_pump_are_always_named(name: str):
    one = case(name)
    size = BENCH[Width.WIDE]
    named = chart_names(scene_of(one), one.bench, size=size, plot_px=float(size.plot))
    assert not NEEDED & set(named.omitted)


@pytest.mark.parametrize("state", [*STATES, "thin"])
def test_the_mill_pond_s_wide_chart_says_all_there_is_to_say(state: str):
    one = case(STATES.get(state, "mill-pond"), *(THIN if state == "thin" else ()))
    size = BENCH[Width.WIDE]
    scene = scene_of(one)
    assert chart_names(scene, one.bench, size=size, plot_px=float(size.plot)).omitted == ()
    assert strip_names(scene, one.bench, size=size, plot_px=float(size.plot)).omitted == ()


def test_labels_do_not_dance_while_a_slider_is_dragged():
    """Over forty small steps a label keeps its place at most steps, and never goes and comes back."""
    size = BENCH[Width.WIDE]
    last: dict[str, object] = {}
    seen: dict[str, list[tuple[float, float]]] = {}
    for step in range(40):
        one = case("mill-pond", ("suction.lift", f"{11 + 0.05 * step:.2f} ft"))
        named = chart_names(scene_of(one), one.bench, size=size, plot_px=float(size.plot), last=last)  # pyright: ignore[reportArgumentType]
        last = dict(named.places)
        for name, placed in named.places.items():
            seen.setdefault(name, []).append((placed.box.left, placed.box.bottom))
    for name in ("point", "pump", "site"):
        places = seen[name]
        moves = sum(a != b for a, b in itertools.pairwise(places))
        assert moves <= 4, f"{name} moved {moves} times"
        assert len(set(places)) == moves + 1, f"{name} came back to a place it had left"


def test_written_lines_stay_inside_their_box():
    one = case("mill-pond")
    size = BENCH[Width.WIDE]
    named = chart_names(scene_of(one), one.bench, size=size, plot_px=float(size.plot))
    for text in named.texts:
        if text.turned or text.kind == "sentence":
            continue
        kind = TYPES[text.kind]
        wide = width_px(text.text, kind.size, bold=kind.bold)
        left = {"left": text.x, "center": text.x - 0.5 * wide, "right": text.x - wide}[text.align]
        assert any(
            placed.box.left - 1e-6 <= left
            and left + wide <= placed.box.right + 1e-6
            and placed.box.bottom - 3.0 <= text.y <= placed.box.top + 3.0
            for placed in named.places.values()
        ), text
