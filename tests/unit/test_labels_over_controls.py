"""Every control of the page through its range: nothing written lies on a curve, on other words or outside its picture.

A sample: systems of units, widths and the number of setups chalked beside take turns, so that each meets each.
"""

from __future__ import annotations

import dataclasses
import itertools
from collections.abc import Iterator
from functools import cache
from typing import Any

import numpy as np
import pytest

from curvelab.app.edits import Edit, change
from curvelab.app.rows import flat
from curvelab.app.setup_column import stations
from curvelab.app.state import Shown, show
from curvelab.errors import InputError
from curvelab.layout.chart_names import chart_names
from curvelab.layout.ghosts import Chalked
from curvelab.layout.labels import Box
from curvelab.layout.run import drawing
from curvelab.layout.run_names import run_names
from curvelab.layout.scene import scene
from curvelab.layout.sizes import BENCH, RUN, Width
from curvelab.layout.strip_names import strip_names
from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.catalogue import default_catalogue
from curvelab.model.chalk import LETTERS
from curvelab.model.planning import pump_of
from curvelab.model.setup import Setup
from curvelab.report.against import see
from curvelab.report.chalk_pictures import with_chalk
from curvelab.report.pictures import bench_words, run_words
from curvelab.units import System
from tests.unit.picture_cases import NAMES, STATES, case, frames_of
from tests.unit.study_cases import demo
from tests.unit.test_layout_names import chart_lines, no_box_on_a_line, no_two_overlap

CATALOGUE = default_catalogue()
BASES = [
    *STATES.values(),
    "seepage-pit",
    "drip-block",
    "over-the-levee",
    "siphon",
    "two-hoses",
    "hill-pond",
    "wash-down",
]
"""A setup in each state, and such as look different: metric and imperial ones, pipe, two hoses, a long way down."""
ESTIMATE = "an estimate"
BESIDE = ("mill-pond-2in", "ridge-tank", "mill-pond-august")
"""Chalked beside them: one that runs well, one that can't lift it, one that is starved."""
SHARES = (0.0, 0.23, 0.5, 0.71, 1.0)
TURNS = list(itertools.product(range(3), Width, System))
EVERY = 3
"""One setting in so many is drawn."""


def settings(base: Setup) -> Iterator[tuple[str, Setup]]:
    """Every slider at some of its stops, every choice that the page offers, one at a time."""
    for row in flat(stations(base, CATALOGUE)):
        edits: list[Edit] = []
        if row["kind"] == "slider":
            high = row["steps"][-1][0]
            edits = [Edit("set", row["path"], row["low"] + share * (high - row["low"])) for share in SHARES]
        elif row["kind"] in ("choice", "pick", "hose") and row.get("options"):
            edits = [Edit("pick", row["path"], option[0]) for option in row["options"]]
        for edit in edits:
            try:
                yield f"{edit.path} = {edit.value}", change(base, edit, CATALOGUE)
            except InputError:
                continue


def pictured(setup: Setup) -> Shown | None:
    """Solved; ``None`` where the page refuses it."""
    try:
        return show(setup, CATALOGUE)
    except InputError:
        return None


@cache
def kept(name: str, system: System) -> tuple[Any, Any]:
    shown = show(demo(name, str(system)), CATALOGUE)
    return see(shown.setup, shown.result, system), shown.curves()


def no_collision(shown: Shown, width: Width, chalked: int, where: str) -> None:
    """Names on chart, strip and run of one setup, with others chalked beside it."""
    size, run_size, system = BENCH[width], RUN[width], shown.system
    others = [(letter, *kept(name, system)) for letter, name in zip(LETTERS, BESIDE[:chalked], strict=False)]
    curves = shown.curves()
    words = bench_words(shown.figures, shown.setup, curves, pump_of(shown.setup.pump, CATALOGUE).label)
    words = with_chalk(words, see(shown.setup, shown.result, system), others)
    ghosts = [Chalked(letter, then.result, lines) for letter, then, lines in others]
    seen = scene(shown.result, curves, system=system, width=width, size=size, plot_px=float(size.plot), chalked=ghosts)
    chart, strip = frames_of(seen, width)
    on_chart = chart_names(seen, words, size=size, plot_px=float(size.plot))
    no_two_overlap(on_chart, chart.box, where)
    beside = [(chart.x(ghost.flow), chart.y(ghost.head)) for ghost in seen.ghosts]
    no_box_on_a_line(on_chart, [*chart_lines(seen, chart), *beside], where)
    on_strip = strip_names(seen, words, size=size, plot_px=float(size.plot))
    no_two_overlap(on_strip, strip.box, where)
    lines = seen.lines
    suction = ((lines.npsha_flow, lines.npsha), (lines.npshr_flow, lines.npshr))
    no_box_on_a_line(on_strip, [(strip.x(flow), strip.y(head)) for flow, head in suction], where)
    drawn = drawing(shown.result, shown.solved.run, size=run_size, width_px=float(run_size.width), system=system)
    said = run_words(shown.figures, shown.setup, shown.solved.run)
    on_run = run_names(drawn, said, width_px=float(run_size.width), height_px=float(run_size.height))
    no_two_overlap(on_run, Box(0.0, 0.0, run_size.width, run_size.height), where)
    hoses = [(drawn.corners.x, drawn.corners.y), (drawn.suction.x, drawn.suction.y)]
    no_box_on_a_line(on_run, hoses, where)
    if on_run.pointer is not None:
        rest = {name: placed for name, placed in on_run.places.items() if name != "over"}
        x, y = np.array(on_run.pointer[::2]), np.array(on_run.pointer[1::2])
        no_box_on_a_line(dataclasses.replace(on_run, places=rest), [(x, y)], where)
    assert all(placed.box.bottom >= 3.0 for placed in on_strip.places.values()), f"on the suction axis, {where}"
    assert np.isfinite(curves.system_head_m).any()


def estimate() -> Setup:
    """A pump known by two figures off its box: its curve stands in a band of doubt."""
    sheet = BoxSheet.model_validate({"greatest_head": "98 ft", "greatest_flow": "420 gpm"})
    made = {"id": "brook-3", "name": "Brook 3", "speed": "3600 rpm", "inlet": "3 in"}
    return demo("mill-pond").with_("pump", {"record": pump_from_box(made, sheet)})


@pytest.mark.parametrize("name", [*BASES, ESTIMATE])
def test_no_control_brings_words_onto_anything(name: str):
    first = [*BASES, ESTIMATE].index(name)
    base = estimate() if name == ESTIMATE else demo(name)
    drawn = 0
    for number, (what, setup) in enumerate(settings(base)):
        if number % EVERY != first % EVERY:
            continue
        chalked, width, system = TURNS[(drawn + 5 * first) % len(TURNS)]
        shown = pictured(setup if setup.units is system else setup.with_("units", str(system)))
        if shown is None:
            continue
        no_collision(shown, width, chalked, f"{name}, {what}, {width}, {system}, {chalked} chalked")
        drawn += 1
    assert drawn >= 8


def test_the_sample_meets_every_width_in_every_system_of_units():
    assert {(width, system) for _, width, system in TURNS} == set(itertools.product(Width, System))
    assert {chalked for chalked, _, _ in TURNS} == {0, 1, 2}


@pytest.mark.parametrize("width", Width)
@pytest.mark.parametrize("name", NAMES)
def test_the_run_of_a_demo_setup_names_its_hardest_point_and_its_outlet(name: str, width: Width):
    one, size = case(name), RUN[width]
    drawn = drawing(one.result, one.run, size=size, width_px=float(size.width), system=System.US)
    named = run_names(drawn, one.words, width_px=float(size.width), height_px=float(size.height))
    assert {"hardest", "outlet"} <= named.places.keys()
