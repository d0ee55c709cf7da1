"""Traces of charts drawn when the test runs, so that every place of the true curve is known: one nuisance at a time.

Held for each: the trace covers the curve, misses it by no more than it says, and goes nowhere the curve does not.
"""

from __future__ import annotations

from dataclasses import dataclass, field, replace
from typing import Any

import numpy as np
import pytest

from curvelab.errors import InputError
from curvelab.tracing.curve import TracedCurve
from curvelab.tracing.trace import trace
from tests.unit.chart_drawing import Axis, Camera, Chart, Curve, Floats, Label, frame_of

LITRES = 60_000.0
"""L/min in a m³/s."""


def head(flow: Floats) -> Floats:
    return 36.0 - 2.0 * (flow / 1000) - 26.0 * (flow / 1000) ** 2


def required(flow: Floats) -> Floats:
    return 2.0 + 7.5 * (flow / 1000) ** 2


def parallel(flow: Floats) -> Floats:
    return head(flow) - 2.0


ONE = Curve(head, 0.0, 950.0, width=2.2)
PLAIN = Chart(Axis(0, 1000, 100, 50), Axis(0, 40, 5, 2.5), (ONE,), size=(780, 580), box=(70.0, 40.0, 750.0, 510.0))
TABLE = Camera(
    corners=np.array([[120.0, 90.0], [770.0, 40.0], [810.0, 640.0], [70.0, 590.0]]),
    size=(880, 680),
    blur=0.7,
    noise=3.0,
    quality=75,
)
LOG = Axis(10, 1000, 1, 0, log=True)


@dataclass(frozen=True)
class Case:
    chart: Chart = PLAIN
    camera: Camera = field(default_factory=Camera)
    seed: float | None = 400.0
    click: float = 0.0
    colour: str | None = None
    rms: float = 0.01
    """Allowed, of the span of the axis."""
    covers: float = 0.99

    def traced(self) -> TracedCurve:
        frame = frame_of(self.chart, self.camera, seed_flow=self.seed, click=self.click, colour=self.colour)
        return trace(self.camera.take(self.chart.draw()), frame)


def with_curves(*curves: Curve, **more: Any) -> Chart:
    return replace(PLAIN, curves=curves, **more)


def at(flow: float) -> tuple[float, float]:
    x, y = PLAIN.place([flow], head(np.array([flow])))[0].tolist()
    return x, y


def shadow(x: Floats, y: Floats) -> Floats:
    return (1.0 - 0.5 / (1.0 + np.exp(-60.0 * (x - 0.6 - 0.2 * y)))) * (1.0 - 0.15 * y)


BLUE, RED = (30, 60, 150), (160, 50, 30)
CASES = {
    "clean": Case(rms=0.003),
    "clicks miss by two pixels": Case(click=2.0, rms=0.003),
    "at an angle": Case(camera=TABLE, click=0.7),
    "turned and far away on one side": Case(
        camera=replace(TABLE, corners=np.array([[60.0, 170.0], [740.0, 40.0], [850.0, 560.0], [170.0, 660.0]])),
        click=0.7,
    ),
    "noise": Case(camera=Camera(noise=14.0)),
    "uneven light": Case(camera=Camera(light=shadow, noise=2.0, quality=80)),
    "blurred and small JPEG": Case(camera=Camera(blur=1.5, quality=30)),
    "dashes": Case(with_curves(replace(ONE, dash=(9.0, 6.0))), camera=TABLE, click=0.5),
    "dots": Case(with_curves(replace(ONE, dash=(3.0, 4.0)))),
    "long gaps of a dashed line": Case(with_curves(replace(ONE, dash=(20.0, 14.0))), covers=0.97),
    "crossed by its own ink": Case(with_curves(ONE, Curve(lambda q: 4.0 + 30.0 * (q / 1000) ** 2, 0, 950))),
    "another close by": Case(with_curves(ONE, Curve(parallel, 0, 950, width=2.2), Curve(required, 0, 950))),
    "by its colour alone": Case(
        with_curves(replace(ONE, colour=BLUE), Curve(required, 0, 950, colour=RED)), seed=None, colour="#1e3c96"
    ),
    "grid on top, as dark": Case(
        replace(PLAIN, grid_over=True, grid_width=1.8, major=(60, 60, 60), minor=(120, 120, 120))
    ),
    "a label in a box over it": Case(replace(PLAIN, labels=(Label("60 Hz", at(300), box=True),))),
    "labels beside it": Case(
        replace(PLAIN, labels=tuple(Label("3 in, 60", (at(q)[0], at(q)[1] - 9), size=12) for q in (120, 250, 560, 700)))
    ),
    "pale": Case(
        with_curves(replace(ONE, colour=(175, 175, 170), width=1.4), major=(225, 225, 220), minor=(235, 235, 232)),
        camera=Camera(noise=3.0, quality=70),
    ),
    "light on dark": Case(
        with_curves(
            replace(ONE, colour=(240, 200, 80)),
            paper=(20, 24, 30),
            ink=(230, 230, 230),
            major=(60, 66, 70),
            minor=(40, 44, 48),
        )
    ),
    "log flow": Case(with_curves(replace(ONE, start=12.0), flow=LOG)),
    "both axes log": Case(
        with_curves(
            Curve(lambda q: 60.0 / (1.0 + (q / 400.0) ** 2), 12, 950), flow=LOG, value=Axis(1, 100, 1, 0, log=True)
        ),
        camera=TABLE,
        click=0.5,
    ),
    "a drooping start": Case(with_curves(Curve(lambda q: 30.0 + 12.0 * (q / 1000) - 34.0 * (q / 1000) ** 2, 0, 950))),
    "steep at its end": Case(
        with_curves(Curve(lambda q: 36.0 * np.sqrt(np.maximum(1.0 - (q / 950) ** 4, 0.0)), 0, 949.9)), rms=0.02
    ),
}


@pytest.mark.parametrize("name", CASES)
def test_the_trace_is_the_curve_to_within_what_it_says(name: str):
    case = CASES[name]
    found, curve, chart = case.traced(), case.chart.curves[0], case.chart
    flow = found.flow_m3_s * LITRES
    within = (flow >= curve.start) & (flow <= curve.end)
    error = np.abs(found.values_si - curve.value(flow))[within] / (chart.value.high - chart.value.low)
    assert np.sqrt(np.mean(error**2)) < case.rms
    assert error.max() <= found.error_fraction
    true = np.linspace(curve.start, curve.end, 1000)
    assert np.mean((true >= flow[0]) & (true <= flow[-1])) >= case.covers
    ends = chart.flow.share(np.array([flow[0], flow[-1], curve.start, curve.end]))
    assert ends[2] - ends[0] < 0.004  # half the width of the line's own end
    assert ends[1] - ends[3] < 0.004
    assert (np.diff(flow) > 0.0).all()


@pytest.mark.parametrize("seed", [30.0, 500.0, 920.0])
def test_from_any_seed_it_goes_both_ways(seed: float):
    found = Case(seed=seed).traced()
    assert found.flow_m3_s[0] * LITRES < 5.0
    assert found.flow_m3_s[-1] * LITRES == pytest.approx(950.0, abs=5.0)


def test_it_ends_where_the_paper_goes_blank():
    """A quarter of the axis without ink: whatever lies beyond may be another line."""
    found = Case(with_curves(replace(ONE, hidden=((500.0, 750.0),)))).traced()
    assert found.flow_m3_s[-1] * LITRES == pytest.approx(500.0, abs=5.0)


def test_a_bridged_gap_is_told_and_left_empty():
    found = Case(with_curves(replace(ONE, hidden=((500.0, 555.0),)))).traced()
    assert found.flow_m3_s[-1] * LITRES > 940.0
    inside = (found.flow_m3_s * LITRES > 510.0) & (found.flow_m3_s * LITRES < 545.0)
    assert not inside.any()
    (doubt,) = found.doubts
    assert (doubt.from_flow_m3_s * LITRES, doubt.to_flow_m3_s * LITRES) == pytest.approx((500.0, 555.0), abs=6.0)
    assert "bridged" in doubt.why


def test_washed_out_by_glare_it_stops():
    def glare(x: Floats, y: Floats) -> Floats:
        return 1.0 + 20.0 * np.exp(-((x - 0.55) ** 2 + (y - 0.35) ** 2) / 0.006)

    found = Case(camera=Camera(light=glare, noise=2.0, quality=80), seed=200.0).traced()
    assert found.flow_m3_s[-1] * LITRES < 600.0


def test_a_branch_in_its_own_ink_is_told():
    """A second line leaves it at 500: which of the two goes on, only a person can say."""
    start = float(head(np.array([500.0]))[0])
    found = Case(with_curves(ONE, Curve(lambda q: start - 0.012 * (q - 500.0), 500, 950, width=2.2))).traced()
    assert any(0.9 * 500 < doubt.to_flow_m3_s * LITRES < 1.2 * 500 for doubt in found.doubts)


@pytest.mark.parametrize("bow", [3.0, 6.0])
def test_a_curled_sheet_is_told_and_its_error_covered(bow: float):
    """The picture bent by a sine along its width: its marks are right, the lines between them are not straight."""
    page = PLAIN.draw()
    high, wide = page.shape[:2]
    down = bow * np.sin(np.pi * (np.arange(wide) + 0.5) / wide)
    rows = np.arange(high)
    bent = np.stack(
        [np.stack([np.interp(rows - down[x], rows, page[:, x, c]) for c in range(3)], axis=-1) for x in range(wide)],
        axis=1,
    )
    frame = frame_of(PLAIN, Camera(), seed_flow=400.0)
    for mark in frame["mark"]:
        x, y = mark["pixel"]
        mark["pixel"] = [x, y + bow * np.sin(np.pi * x / wide)]
    frame["curve"][0]["seed"][1] += bow
    found = trace(Camera().take(bent), frame)
    error = np.abs(found.values_si - head(found.flow_m3_s * LITRES)) / 40.0
    assert error.max() > 0.002  # or else nothing was tested
    assert error.max() <= found.error_fraction
    assert bow < 4.0 or any("stray" in doubt.why or "runs through" in doubt.why for doubt in found.doubts)


def test_a_mark_with_a_wrong_number_is_told():
    """950 typed for 1000 at one corner: four marks fit any flat sheet, but the chart's lines then lean."""
    frame = frame_of(PLAIN, Camera(), seed_flow=400.0)
    frame["mark"][1]["flow"] = 950.0
    found = trace(Camera().take(PLAIN.draw()), frame)
    assert any("line of the chart" in doubt.why or "stray" in doubt.why for doubt in found.doubts)


@pytest.mark.parametrize("place", [(0.5, 0.9), (0.9, 0.9), (0.25, 0.5)])
def test_where_there_is_no_line_there_is_no_curve(place: tuple[float, float]):
    """Blank paper, clear of grid and curve."""
    chart = replace(PLAIN, flow=Axis(0, 1000, 250), value=Axis(0, 40, 10))
    left, top, right, bottom = chart.box
    frame = frame_of(chart, Camera(), seed_flow=None, colour="#191919")
    frame["curve"][0] = {"seed": [left + place[0] * (right - left) + 40, bottom - place[1] * (bottom - top) + 25]}
    with pytest.raises(InputError, match="seed"):
        trace(Camera().take(chart.draw()), frame)
