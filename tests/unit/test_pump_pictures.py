"""Several pumps on bench and run: where they are drawn, the jump of the pressure, and what is written beside them."""

from __future__ import annotations

import numpy as np
import pytest

import curvelab
from curvelab.figures.run import RunDrawing
from curvelab.layout.run import drawing
from curvelab.layout.run_names import run_names
from curvelab.layout.sizes import RUN, Width
from curvelab.report.pictures import run_words
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
