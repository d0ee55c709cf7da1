"""Several pumps on bench and run: where they are drawn, the jump of the pressure, and what is written beside them."""

from __future__ import annotations

import json

import numpy as np
import pytest

import curvelab
from curvelab.figures.bench import Bench
from curvelab.figures.run import RunDrawing
from curvelab.layout.run import drawing
from curvelab.layout.run_names import run_names
from curvelab.layout.sizes import RUN, Width
from curvelab.report.answers import readings
from curvelab.report.pictures import bench_words, run_words
from curvelab.report.rounded import rounded
from curvelab.report.table import table_of
from curvelab.studies.solve import Solved, solved
from curvelab.units import System
from tests.unit.slow_cases import demo

FT, PSI = 0.3048, 6894.757293168


def hill(units: str = "us") -> Solved:
    setup = demo("ridge-tank").with_("discharge.leg.0.hose", "lay-flat-heavy").with_("units", units)
    return solved(setup.with_("booster.0", {"id": "ferrow-3", "distance": "190 ft"}))


@pytest.mark.parametrize("width", Width)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_a_pump_in_the_line_is_drawn_on_the_hose_with_its_gauges_beside_it(width: Width, units: str):
    one = hill(units)
    size = RUN[width]
    words = run_words(rounded(one.result, one.setup.units), one.setup, one.run)
    shown = drawing(one.result, one.run, size=size, width_px=float(size.width), system=one.setup.units)
    ((x, y),) = shown.boosters
    gaps = np.hypot(shown.corners.x - x, shown.corners.y - y)
    assert gaps.min() < 1e-6
    steps = np.diff(shown.line)
    assert steps.max() > 10.0  # px: the jump, at the pump and nowhere else
    assert (np.delete(steps, int(steps.argmax())) < 2.0).all()  # wider hose gives some of the speed back
    named = run_names(shown, words, width_px=float(size.width), height_px=float(size.height))
    assert "booster-0" in named.places
    assert words.boosters[0].name[0] == "Ferrow 3"
    booster = one.result.boosters[0]
    assert booster.inlet_gauge_pa is not None
    if units == "us":
        assert f"{booster.inlet_gauge_pa / PSI:.1f} psi in" in words.boosters[0].note
    assert "In the line: Ferrow 3 at" in words.label


def test_pumps_side_by_side_are_drawn_one_behind_the_other():
    size = RUN[Width.WIDE]
    counts: dict[int, int] = {}
    for count in (1, 2, 3):
        one = solved(demo("mill-pond").with_("pump.abreast", count))
        shown = drawing(one.result, one.run, size=size, width_px=float(size.width), system=System.US)
        counts[count] = shown.pumps
        picture = RunDrawing(Width.WIDE, System.US)
        picture.update(one.result, one.run, run_words(rounded(one.result, System.US), one.setup, one.run))
    assert counts == {1: 1, 2: 2, 3: 3}


def test_the_ledger_names_what_helps_in_the_line():
    one = hill()
    text = table_of(one.setup, one.result)
    assert "Ferrow 3 in the line" in text
    mixed = curvelab.solve(demo("mill-pond").with_("pump.beside", [{"id": "linnet-2"}]))
    assert [share.name for share in mixed.pumps] == ["Ferrow 3", "Linnet 2"]


def bench(one: Solved, width: Width) -> Bench:
    picture = Bench(width, one.setup.units)
    figures = rounded(one.result, one.setup.units)
    curves = one.curves(to_flow_m3_s=1.1 * one.result.end_flow_m3_s)
    picture.update(one.result, curves, bench_words(figures, one.setup, curves, "Ferrow 3"))
    return picture


MIXED = demo("mill-pond").with_("suction.leg.0.abreast", 2).with_("pump.beside", [{"id": "linnet-3"}])


@pytest.mark.parametrize("width", Width)
@pytest.mark.parametrize("setup", [MIXED, MIXED.with_("units", "metric"), hill().setup])
def test_the_bench_draws_each_pump_thin_and_says_what_each_gives(setup: curvelab.Setup, width: Width):
    picture = bench(solved(setup), width)
    data = picture.chart._thin.data
    assert len(data["xs"]) == len(setup.pump.beside) + 1 if setup.pump.beside else 1
    assert not [name for name in picture.omitted if name.startswith("pump")]


def test_flows_of_the_thin_lines_add_up_to_the_bold_one_at_the_point():
    one = solved(MIXED)
    lines = one.curves().pumps
    assert [line.name for line in lines] == ["Ferrow 3", "Linnet 3"]
    assert sum(line.at_flow_m3_s or 0.0 for line in lines) == pytest.approx(one.result.flow_m3_s, rel=1e-6)
    for line in lines:
        assert line.at_head_m == pytest.approx(one.result.head_m)
        assert np.interp(line.at_flow_m3_s or 0.0, line.flow_m3_s, line.head_m) == pytest.approx(
            one.result.head_m, rel=3e-3
        )
    json.dumps(one.curves().to_dict(), allow_nan=False)
    assert solved(demo("mill-pond")).curves().pumps == ()


def test_a_pump_in_the_line_is_a_line_of_its_own_with_what_it_adds():
    one = hill()
    (line,) = one.curves().pumps
    assert line.in_line
    assert line.at_head_m == one.result.boosters[0].head_m
    figures = rounded(one.result, System.US)
    words = bench_words(figures, one.setup, one.curves(), "Ferrow 3")
    assert line.at_head_m is not None
    assert f"adds {line.at_head_m / FT:.1f} ft" in words.pumps[0][0]
    assert words.pump[0] == "Ferrow 3 gives"
    gauges = [reading.value for reading in readings(figures) if reading.name == "In the line: in, out"]
    assert gauges == [words_of(one)]


def words_of(one: Solved) -> str:
    note = run_words(rounded(one.result, System.US), one.setup, one.run).boosters[0].note
    return note.replace(" in,", ",").removesuffix(" out")


def test_pumps_side_by_side_give_together_and_one_that_is_pushed_back_is_told():
    one = solved(demo("mill-pond").with_("pump.abreast", 2).with_("pump.beside", [{"id": "damson-2d"}]))
    words = bench_words(rounded(one.result, System.US), one.setup, one.curves(), "Ferrow 3")
    assert words.pump[0] == "Two Ferrow 3 + Damson 2D give"
    assert words.pumps[0][0].startswith("each Ferrow 3 gives")
    assert words.pumps[1][0] == "Damson 2D: pushed back, gives none"


def test_equal_pumps_beside_one_another_are_named_once():
    pair = demo("mill-pond").with_("suction.leg.0.abreast", 2).with_("pump.beside", [{"id": "ferrow-3"}])
    picture = bench(solved(pair), Width.WIDE)
    assert [name for name in picture._places[0] if name.startswith("pump-")] == ["pump-0"]
