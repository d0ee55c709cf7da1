"""The fleet on the Curves page: shapes on common axes, pictures, rows, and the link that takes a pump to the setup."""

import re
from pathlib import Path
from xml.etree import ElementTree as ET

import numpy as np
import pytest

from curvelab.app.curves.fleet import LINKED, Fleet, fleet_html, pump_html
from curvelab.app.curves.page import curves_page
from curvelab.errors import UnknownNameError
from curvelab.figures.pumpcurves import large, small
from curvelab.layout.multiples import common_axes, shape_of
from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.catalogue import Catalogue, default_catalogue, demo_folder
from curvelab.model.chalk import Chalk
from curvelab.model.link import decode, encode, opening_of
from curvelab.model.pump import ReturnTest
from curvelab.report.fleet import curve_sentence, heads, row_of
from curvelab.studies.pumptest import latest_visit, wear_of
from curvelab.units import System

CATALOGUE = default_catalogue()
FERROW = CATALOGUE.pumps["ferrow-3"]
SVG = "{http://www.w3.org/2000/svg}"
BOX = pump_from_box(
    {"id": "box-3", "name": "Box 3", "speed": "3600 rpm"},
    BoxSheet.model_validate({"greatest_head": "100 ft", "greatest_flow": "275 gpm"}),
)


def drawn(svg: str) -> ET.Element:
    return ET.fromstring(svg)  # noqa: S314 - our own drawing


def names_in(svg: str) -> list[str]:
    return [text.text or "" for text in drawn(svg).iter(f"{SVG}text")]


class TestPictures:
    @pytest.mark.parametrize("system", System)
    def test_common_axes_hold_every_curve_to_its_end(self, system: System):
        shapes = [shape_of(pump, system) for pump in CATALOGUE.pumps.values()]
        flow, head = common_axes(shapes, system)
        for shape in shapes:
            for curve in (shape.head, shape.npshr):
                assert not curve.size or (curve[0].max() <= flow.end and curve[1].max() <= head.end)

    def test_a_small_one_lies_within_its_frame(self):
        shapes = [shape_of(pump, System.US) for pump in CATALOGUE.pumps.values()]
        axes = common_axes(shapes, System.US)
        for shape in shapes:
            root = drawn(small(shape, axes, "x"))
            width, height = (float(root.get(side, 0)) for side in ("width", "height"))
            for path in root.iter(f"{SVG}path"):
                x, y = np.array(re.findall(r"(-?[\d.]+) (-?[\d.]+)", path.get("d", "")), float).T
                assert x.min() >= 0
                assert x.max() <= width
                assert y.min() >= 0
                assert y.max() <= height

    def test_only_an_estimate_has_a_band_and_says_so(self):
        for pump, wanted in ((FERROW, False), (BOX, True)):
            shape = shape_of(pump, System.US)
            svg = large(shape, common_axes([shape], System.US), "x", width=480, units=("gal/min", "ft"))
            assert any(name.startswith("estimate") for name in names_in(svg)) is wanted
            assert bool(shape.low.size) is wanted
            assert bool(shape.points.size) is not wanted, "points of an estimate were measured by nobody"

    def test_measured_points_of_an_estimate_are_drawn(self):
        shape = shape_of(BOX, System.METRIC, measured=[(0.01, 20.0)])
        assert shape.points[:, 0] == pytest.approx([600.0, 20.0])

    def test_a_test_stands_at_the_curves_own_speed(self):
        # At 3000 of 3600 rpm a pump as new gives (5/6)² of its shut-off head; on the picture that is the curve itself.
        head_m = FERROW.head.values_si[0] * (3000 / 3600) ** 2
        psi = (head_m - 0.0) * 9.80665 * 998.2 / 6894.757
        tests = [ReturnTest.model_validate({"date": "2026-05-01", "kind": "shut-off", "speed": "3000 rpm",
                                            "vacuum": "0 inHg", "pressure": f"{psi:.4f} psi"})]  # fmt: skip
        shape = shape_of(FERROW, System.METRIC, tests=tests, found=wear_of(FERROW, tests))
        assert shape.tested[0].head == pytest.approx(FERROW.head.values_si[0], rel=2e-3)
        assert shape.worn[1] == pytest.approx(shape.head[1], rel=2e-3)

    @pytest.mark.parametrize("width", [300, 480, 900])
    def test_names_lie_on_nothing(self, width: float):
        pump = CATALOGUE.pumps["sedge-3"]
        shape = shape_of(pump, System.US, tests=latest_visit(pump.test), found=wear_of(pump))
        svg = large(shape, common_axes([shape], System.US), "x", width=width, units=("US gal/min", "ft"))
        assert "it gives" in names_in(svg)


class TestWords:
    def test_a_row_is_sorted_by_si_and_printed_in_the_units_shown(self):
        us, metric = (row_of("ferrow-3", FERROW, CATALOGUE, system, now=True) for system in (System.US, System.METRIC))
        assert us.cells["head"].si == metric.cells["head"].si == pytest.approx(98 * 0.3048)
        assert (us.cells["head"].text, metric.cells["head"].text) == ("98", "29.9")
        assert ("flow", "Flow at the curve’s end", "US gal/min") in heads(System.US)

    def test_an_estimate_says_so_wherever_it_is_named(self):
        row = row_of("box-3", BOX, CATALOGUE, System.US, now=False)
        assert "(estimate)" in row.name
        assert "estimate" in row.sentence.lower()
        assert "estimate" not in curve_sentence(FERROW, System.US).lower()

    def test_what_a_sheet_does_not_say_sorts_as_nothing(self):
        assert row_of("box-3", BOX, CATALOGUE, System.US, now=False).cells["mass"].si is None


class TestLinks:
    def test_another_pump_leaves_the_chalked_setups_and_takes_no_wear_along(self):
        setup = opening_of(CATALOGUE)
        query = encode(setup.with_("pump.wear", "0.9"), [Chalk("A", setup.with_("suction.lift", "20 ft"))], CATALOGUE)
        after = decode(Fleet.of(query, CATALOGUE).query_with("ferrow-4"), CATALOGUE)
        assert after.setup.pump.id == "ferrow-4"
        assert after.setup.pump.wear == 1.0
        assert [chalk.setup.suction.lift.text for chalk in after.chalks] == ["20 ft"]
        assert after.problems == ()

    def test_wear_goes_along_when_asked(self):
        fleet = Fleet.of("", CATALOGUE)
        assert decode(fleet.query_with("rill-2", wear=0.9012), CATALOGUE).setup.pump.wear == pytest.approx(0.901)

    def test_a_pump_that_is_only_in_the_link_stands_first_and_keeps_its_points(self):
        query = encode(opening_of(CATALOGUE).with_("pump.record", BOX), (), CATALOGUE)
        fleet = Fleet.of(query, CATALOGUE)
        assert next(iter(fleet.pumps)) == fleet.now == LINKED
        assert "in this setup’s link only" in pump_html(fleet, LINKED, 480)
        assert decode(fleet.query_with(LINKED), CATALOGUE).setup.pump.record == BOX

    def test_an_unknown_pump_is_refused_in_words(self):
        with pytest.raises(UnknownNameError, match="did you mean"):
            pump_html(Fleet.of("", CATALOGUE), "ferow-3", 480)


def test_the_page_marks_the_present_setups_pump_and_counts_columns():
    html = curves_page("v=1&pump=ferrow-4", CATALOGUE)
    assert html.count('class="pill">in the setup') == 2  # picture and row
    assert re.search(r'<tr data-key="ferrow-4"[^>]* class="now"', html)


def test_what_a_file_says_is_text_and_nothing_else(tmp_path: Path):
    hostile = (demo_folder() / "pumps" / "ferrow-2.toml").read_text(encoding="utf-8")
    hostile = hostile.replace('"Ferrow 2"', '"<script>alert(1)</script>"').replace("ferrow-2", "hostile-2")
    (tmp_path / "hostile-2.toml").write_text(hostile, encoding="utf-8")
    fleet = Fleet.of('"><script>', Catalogue.load(demo_folder(), tmp_path))
    for html in (fleet_html(fleet), pump_html(fleet, "hostile-2", 480), curves_page('"><script>', fleet.catalogue)):
        assert "<script>alert" not in html
        assert '"><script>' not in html
