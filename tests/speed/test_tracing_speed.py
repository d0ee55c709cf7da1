"""How long a trace takes: processor seconds printed; the limit asserted is the one that a person would wait for."""

from __future__ import annotations

import io
from time import process_time

import numpy as np
import pytest
from PIL import Image

from curvelab.tracing.trace import trace
from tests.unit.demo_sheets import PICTURES
from tests.unit.test_tracing_synthetic import PLAIN, head

MOST_S = 5.0


def phone_photo() -> tuple[bytes, tuple[float, float]]:
    """The plain chart as a telephone would hand it over: 12 million pixels, noise, JPEG; and how much larger it is."""
    size = (4000, 3000)
    page = Image.fromarray(PLAIN.draw().astype(np.uint8)).resize(size, Image.Resampling.BICUBIC)
    noise = np.random.default_rng(1).normal(0.0, 4.0, (size[1], size[0], 1))
    photo = Image.fromarray(np.clip(np.asarray(page) + noise, 0, 255).astype(np.uint8))
    file = io.BytesIO()
    photo.save(file, "JPEG", quality=88)
    return file.getvalue(), (size[0] / PLAIN.size[0], size[1] / PLAIN.size[1])


def test_twelve_million_pixels():
    data, scale = phone_photo()
    corners = PLAIN.corners() * scale
    seed = PLAIN.place([400.0], head(np.array([400.0])))[0] * scale
    numbers = [(0, 0), (1000, 0), (1000, 40), (0, 40)]
    frame = {
        "flow": "L/min",
        "head": "m",
        "mark": [{"pixel": p, "flow": q, "head": h} for p, (q, h) in zip(corners.tolist(), numbers, strict=True)],
        "curve": [{"seed": seed.tolist()}],
    }
    began = process_time()
    found = trace(data, frame)
    took = process_time() - began
    print(f"\n12 million pixels, {len(data) / 1e6:.1f} MB of JPEG: {took:.2f} s, error {found.error_fraction:.2%}")
    error = np.abs(found.values_si - head(found.flow_m3_s * 60_000)) / 40.0
    assert error.max() <= found.error_fraction
    assert took < MOST_S


@pytest.mark.parametrize("name", ["ferrow-3.png", "sedge-2.jpg", "tarn-2h.jpg"])
def test_a_demo_sheet(name: str):
    frame = PICTURES / f"{name.partition('.')[0]}.frame.toml"
    began = process_time()
    trace(PICTURES / name, frame)
    print(f"\n{name}: {process_time() - began:.2f} s")
