"""Traces against pictures whose true curves are known: clean, through gridlines and noise, and a photo at an angle."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any

import numpy as np
import pytest
from PIL import Image

from curvelab.errors import InputError
from curvelab.tracing.curve import TracedCurve
from curvelab.tracing.trace import trace, trace_all

HERE = Path(__file__).parent / "pictures"
PICTURES = {"example-clean": ("png", 0.003), "example-grid-jpeg": ("jpg", 0.01), "example-photo": ("jpg", 0.01)}
"""Ending, and the root mean square error allowed, of the span of the axis: 0.3 % where clean, 1 % where hard."""


def traced(name: str) -> TracedCurve:
    return trace(HERE / f"{name}.{PICTURES[name][0]}", HERE / f"{name}.frame.toml")


def truth(name: str) -> dict[str, Any]:
    return json.loads((HERE / f"{name}.truth.json").read_text(encoding="utf-8"))["curves"][0]


@pytest.mark.parametrize("name", PICTURES)
def test_the_trace_lies_on_the_true_curve_within_its_own_error(name: str):
    found, true = traced(name), truth(name)
    flow, head = np.array(true["flow_m3_s"]), np.array(true["head_m"])
    seen = (flow >= found.flow_m3_s.min()) & (flow <= found.flow_m3_s.max())
    assert seen.mean() > 0.9
    error = (np.interp(flow, found.flow_m3_s, found.values_si) - head)[seen] / true["head_span_m"]
    assert np.sqrt(np.mean(error**2)) < PICTURES[name][1]
    assert np.abs(error).max() < max(found.error_fraction * 1.5, 0.003)


@pytest.mark.parametrize("name", PICTURES)
def test_flows_rise_and_nothing_is_nan(name: str):
    found = traced(name)
    assert (np.diff(found.flow_m3_s) > 0).all()
    assert np.isfinite(found.values_si).all()
    assert found.rms_px >= 0.0


def test_all_curves_of_a_frame_come_in_its_order():
    name = "example-clean"
    curves = trace_all(HERE / f"{name}.png", HERE / f"{name}.frame.toml")
    assert curves[0].name == "3600 rpm"


def test_a_truncated_picture_is_refused_in_words(tmp_path: Path):
    half = tmp_path / "half.png"
    half.write_bytes((HERE / "example-clean.png").read_bytes()[:2000])
    with pytest.raises(InputError):
        trace(half, HERE / "example-clean.frame.toml")


def test_text_that_calls_itself_a_picture_is_refused_in_words(tmp_path: Path):
    text = tmp_path / "text.png"
    text.write_text("not a picture", encoding="utf-8")
    with pytest.raises(InputError):
        trace(text, HERE / "example-clean.frame.toml")


def test_a_blank_picture_has_no_curve_to_follow(tmp_path: Path):
    blank = tmp_path / "blank.png"
    Image.new("RGB", (1100, 800), "white").save(blank)
    with pytest.raises(InputError):
        trace(blank, HERE / "example-clean.frame.toml")
