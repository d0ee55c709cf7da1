"""Pump curves that leave a doubt: one that meets the site's more than once, and one that is an estimate with a band."""

from typing import Any

import numpy as np
import pytest

from curvelab.app.page import Page
from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import encode
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.solve import curves, solve
from curvelab.units import System
from tests.unit.study_cases import FOOT, GPM, demo

CATALOGUE = default_catalogue()


def with_pump(record: Pump) -> Setup:
    return demo("mill-pond").with_("pump", {"record": record})


@pytest.fixture
def wavy() -> Setup:
    """A head that falls, rises again and falls, over a site that asks hardly more when the water runs: 6 in hose."""
    sheet = {"id": "wavy", "source": "made up for this test", "speed": "3600 rpm", "inlet": "6 in", "kind": "trash"}
    head = {"flow": "gpm", "head": "ft", "points": [[0, 90], [80, 60], [160, 74], [300, 5]]}
    pump = Pump.model_validate({**sheet, "format": "curvelab-pump/1", "head": head})
    setup = with_pump(pump)
    while setup.discharge.waypoint:
        setup = setup.with_("discharge.waypoint.0", None)
    setup = setup.with_("suction.leg.0.size", "6 in").with_("discharge.leg.0.size", "6 in")
    return setup.with_("discharge.rise", "55 ft").with_("suction.lift", "12 ft")


def test_curves_that_cross_again_are_said_with_their_flows(wavy: Setup):
    result = solve(wavy)
    assert result.flow_m3_s is not None
    seen = curves(wavy, 4000)
    gap = seen.pump_head_m - seen.system_head_m
    at = seen.flow_m3_s[np.flatnonzero(np.diff(np.sign(gap[np.isfinite(gap)])))]
    assert at.size == 3
    assert result.flow_m3_s == pytest.approx(at[-1], rel=2e-3)
    said = [warning.text for warning in result.warnings if warning.code == "crosses-again"]
    assert len(said) == 2
    flows = sorted(float(text.split(" gal/min")[0].split()[-1]) for text in said)
    assert flows == pytest.approx(at[:-1] / GPM, abs=1.0)


def test_curves_that_cross_once_say_nothing_of_it():
    assert all(w.code != "crosses-again" for name in CATALOGUE.setups for w in solve(demo(name)).warnings)


@pytest.fixture
def estimated() -> Setup:
    sheet = BoxSheet.model_validate({"greatest_head": "98 ft", "greatest_flow": "420 gpm"})
    return with_pump(pump_from_box({"id": "brook-3", "name": "Brook 3", "speed": "3600 rpm", "inlet": "3 in"}, sheet))


@pytest.mark.parametrize(("throttle", "abreast"), [(1.0, 1), (0.9, 1), (0.9, 2)])
def test_the_band_of_an_estimate_goes_with_speed_and_number(estimated: Setup, throttle: float, abreast: int):
    setup = estimated.with_("pump.throttle", throttle).with_("pump.abreast", abreast)
    seen, record = curves(setup, 50), setup.pump.record
    assert record is not None
    inside = np.isfinite(seen.pump_head_m)
    low = np.interp(seen.flow_m3_s / (throttle * abreast), record.head.flow_m3_s, record.head.low_m) * throttle**2
    assert seen.pump_low_m[inside] == pytest.approx(low[inside])
    assert (seen.pump_low_m[inside] <= seen.pump_head_m[inside] + 1e-3).all()
    assert (seen.pump_head_m[inside] <= seen.pump_high_m[inside] + 1e-3).all()


def test_the_band_is_drawn_and_said_and_the_name_says_estimate(estimated: Setup):
    made = Page(CATALOGUE, encode(estimated, catalogue=CATALOGUE))
    lines: Any = made.bench.chart._lines.data
    seen = curves(estimated)
    at = float(lines["past_flow"][20]) * GPM
    assert float(lines["pump_low"][20]) * FOOT == pytest.approx(
        np.interp(at, seen.flow_m3_s, seen.pump_low_m), rel=1e-2
    )
    assert all(band.visible for band in made.bench.chart._doubt)
    assert "Brook 3 (estimate)" in made.bench.chart.plot.html_attributes["aria-label"]
    assert "its head may be" in made.words["also"] + made.words["cautions"]
    assert "(estimate)" in str(made.stations)
    tested = Page(CATALOGUE, "")
    assert not any(band.visible for band in tested.bench.chart._doubt)


def test_a_chalked_name_of_an_estimate_says_so_too(estimated: Setup):
    made = Page(CATALOGUE, encode(estimated.with_("units", str(System.METRIC)), catalogue=CATALOGUE))
    assert made._pump_name() == "Brook 3 (estimate)"
