"""The demonstration's sheets give back the pumps they were drawn from, within the error that the trace states."""

from __future__ import annotations

import numpy as np
import pytest

from curvelab.model.catalogue import demo_catalogue
from curvelab.model.points import Points
from curvelab.tracing.trace import trace_all
from tests.unit.demo_sheets import PICTURES, WORDS, Sheet, sheets

SHEETS = {sheet.pump: sheet for sheet in sheets()}


@pytest.fixture(params=SHEETS)
def sheet(request: pytest.FixtureRequest) -> Sheet:
    return SHEETS[request.param]


def test_a_trace_gives_the_pumps_points(sheet: Sheet):
    pump = demo_catalogue().pumps[sheet.pump]
    found = trace_all(PICTURES / f"{sheet.pump}.{sheet.ending}", PICTURES / f"{sheet.pump}.frame.toml")
    assert [(curve.name, curve.quantity) for curve in found] == [curve[:2] for curve in sheet.curves]
    for curve in found:
        points: Points = getattr(pump, curve.quantity)
        seen = (points.flow_m3_s >= curve.flow_m3_s[0]) & (points.flow_m3_s <= curve.flow_m3_s[-1])
        at = np.interp(points.flow_m3_s, curve.flow_m3_s, curve.values_si)
        assert np.abs(at - points.values_si)[seen].max() <= curve.error_fraction * curve.span_si
        assert curve.error_fraction < 0.01
        reach = np.ptp(points.flow_m3_s)
        assert abs(curve.flow_m3_s[0] - points.flow_m3_s[0]) < 0.01 * reach
        assert abs(curve.flow_m3_s[-1] - points.flow_m3_s[-1]) < 0.01 * reach


def test_pictures_are_small_and_the_pumps_name_them(sheet: Sheet):
    assert (PICTURES / f"{sheet.pump}.{sheet.ending}").stat().st_size < 150_000
    head = demo_catalogue().pumps[sheet.pump].head
    assert head.picture == f"pictures/{sheet.pump}.{sheet.ending}"
    assert head.frame == f"pictures/{sheet.pump}.frame.toml"


def test_sheets_say_that_they_are_invented(sheet: Sheet):
    assert any(label.text == WORDS for label in sheet.chart.labels)
    text = (PICTURES / f"{sheet.pump}.frame.toml").read_text(encoding="utf-8")
    assert "invented for demonstration" in text.lower()
    assert text == sheet.frame()
