"""Charts drawn for tests of tracing: every place of the true curve is known, and each nuisance can be had alone.

A line's ink on a pixel is worked out from its distance to the pixel's middle, so that the drawing itself moves no line.
Pixels are continuous, x right and y down, from the outer corner of the picture.
"""

from __future__ import annotations

import io
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont

Floats = NDArray[np.float64]
Colour = tuple[int, int, int]
PAPER: Colour = (250, 249, 245)
BLACK: Colour = (25, 25, 25)


@dataclass(frozen=True)
class Axis:
    low: float
    high: float
    step: float = 0.0
    minor: float = 0.0
    log: bool = False

    def share(self, value: Any) -> Any:
        """0 at the low end, 1 at the high one, as far as the paper goes."""
        if self.log:
            return np.log(np.asarray(value) / self.low) / np.log(self.high / self.low)
        return (np.asarray(value) - self.low) / (self.high - self.low)

    def ticks(self, step: float) -> list[float]:
        if self.log:
            decades = range(int(np.floor(np.log10(self.low))), int(np.ceil(np.log10(self.high))) + 1)
            every = range(1, 10) if step else (1,)
            values = [m * 10.0**d for d in decades for m in every]
            return [v for v in values if self.low * 0.999 <= v <= self.high * 1.001]
        return [] if step == 0 else list(np.arange(self.low, self.high + step / 2, step))


@dataclass(frozen=True)
class Curve:
    value: Callable[[Floats], Floats]
    start: float
    end: float
    colour: Colour = BLACK
    width: float = 2.6
    dash: tuple[float, ...] = ()
    """Pixels of line and of gap, in turns."""
    hidden: tuple[tuple[float, float], ...] = ()
    """Stretches of flow that are left blank."""


@dataclass(frozen=True)
class Label:
    text: str
    at: tuple[float, float]
    """Middle of the text, in pixels of the flat chart."""
    colour: Colour = BLACK
    size: int = 14
    box: bool = False


@dataclass(frozen=True)
class Chart:
    flow: Axis
    value: Axis
    curves: Sequence[Curve]
    size: tuple[int, int] = (1100, 800)
    box: tuple[float, float, float, float] = (100.0, 70.0, 1060.0, 715.0)
    paper: Colour = PAPER
    ink: Colour = BLACK
    """Frame and words."""
    major: Colour = (190, 190, 185)
    minor: Colour = (222, 222, 218)
    grid_width: float = 1.0
    grid_over: bool = False
    frame_width: float = 1.6
    labels: Sequence[Label] = field(default_factory=tuple)

    def place(self, flow: Any, value: Any) -> Floats:
        """Pixels of flows and values, shape (n, 2)."""
        left, top, right, bottom = self.box
        x = left + self.flow.share(np.asarray(flow, float)) * (right - left)
        y = bottom - self.value.share(np.asarray(value, float)) * (bottom - top)
        return np.stack(np.broadcast_arrays(x, y), axis=-1)

    def corners(self) -> Floats:
        """Pixels of (low, low), (high, low), (high, high), (low, high)."""
        f, v = self.flow, self.value
        return self.place([f.low, f.high, f.high, f.low], [v.low, v.low, v.high, v.high])

    def draw(self) -> Floats:
        """The flat picture, shape (height, width, 3), 0 to 255."""
        page = np.empty((self.size[1], self.size[0], 3))
        page[:] = self.paper
        if not self.grid_over:
            self._grid(page)
        for curve in self.curves:
            for points in pieces(self, curve):
                stroke(page, points, curve.width, curve.colour)
        if self.grid_over:
            self._grid(page)
        self._frame(page)
        return self._words(page)

    def _grid(self, page: Floats) -> None:
        for colour, steps in ((self.minor, "minor"), (self.major, "step")):
            for at in self.flow.ticks(getattr(self.flow, steps)):
                ends = self.place([at, at], [self.value.low, self.value.high])
                stroke(page, ends, self.grid_width, colour)
            for at in self.value.ticks(getattr(self.value, steps)):
                ends = self.place([self.flow.low, self.flow.high], [at, at])
                stroke(page, ends, self.grid_width, colour)

    def _frame(self, page: Floats) -> None:
        corners = self.corners()
        for a, b in ((0, 1), (1, 2), (2, 3), (3, 0)):
            stroke(page, corners[[a, b]], self.frame_width, self.ink)
        for at in self.value.ticks(self.value.step):
            end = self.place([self.flow.low], [at])[0]
            stroke(page, np.array([end - np.array([6, 0]), end]), 1.2, self.ink)
        for at in self.flow.ticks(self.flow.step):
            end = self.place([at], [self.value.low])[0]
            stroke(page, np.array([end, end + np.array([0, 6])]), 1.2, self.ink)

    def _words(self, page: Floats) -> Floats:
        image = Image.fromarray(np.clip(page + 0.5, 0, 255).astype(np.uint8))
        pen = ImageDraw.Draw(image)
        font = ImageFont.load_default(14)
        for at in self.value.ticks(self.value.step):
            x, y = self.place([self.flow.low], [at])[0]
            pen.text((x - 10, y), f"{at:g}", fill=self.ink, font=font, anchor="rm")
        for at in self.flow.ticks(self.flow.step):
            x, y = self.place([at], [self.value.low])[0]
            pen.text((x, y + 10), f"{at:g}", fill=self.ink, font=font, anchor="mt")
        for label in self.labels:
            font = ImageFont.load_default(label.size)
            if label.box:
                left, top, right, bottom = pen.textbbox(label.at, label.text, font=font, anchor="mm")
                pen.rectangle((left - 3, top - 3, right + 3, bottom + 3), fill=self.paper)
            pen.text(label.at, label.text, fill=label.colour, font=font, anchor="mm")
        return np.asarray(image, dtype=float)


def pieces(chart: Chart, curve: Curve) -> list[Floats]:
    """The polylines that a curve is drawn as: cut into dashes, blank where it is hidden."""
    flow = np.linspace(curve.start, curve.end, 1500)
    if chart.flow.log:
        flow = np.geomspace(curve.start, curve.end, 1500)
    points = chart.place(flow, curve.value(flow))
    along = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(points, axis=0).T))])
    fine = np.arange(0.0, along[-1], 0.5)
    x, y, q = (np.interp(fine, along, part) for part in (points[:, 0], points[:, 1], flow))
    seen = np.ones(fine.size, bool)
    if curve.dash:
        ends = np.cumsum(curve.dash)
        seen = np.searchsorted(ends, np.mod(fine, ends[-1]), side="right") % 2 == 0
    for low, high in curve.hidden:
        seen &= ~((q > low) & (q < high))
    cuts = np.flatnonzero(np.diff(seen.astype(int))) + 1
    runs = [run for run in np.split(np.arange(fine.size), cuts) if seen[run[0]] and run.size > 1]
    return [np.stack([x[run], y[run]], axis=-1) for run in runs]


def stroke(page: Floats, points: Floats, width: float, colour: Colour) -> None:
    """Lay ink along a polyline."""
    reach = width / 2 + 1.5
    left, top = np.maximum(np.floor(points.min(0) - reach).astype(int), 0)
    right, bottom = np.ceil(points.max(0) + reach).astype(int)
    block = page[top:bottom, left:right]
    cover = np.zeros(block.shape[:2])
    wide = max(width, 1.0)  # a line thinner than a pixel is a paler one of a pixel's width
    for start in range(0, len(points) - 1, 8):
        part = points[start : start + 9] - [left, top]
        x0, y0 = np.maximum(np.floor(part.min(0) - reach).astype(int), 0)
        x1, y1 = np.ceil(part.max(0) + reach).astype(int)
        small = cover[y0:y1, x0:x1]
        x, y = np.arange(x0, x0 + small.shape[1]) + 0.5, np.arange(y0, y0 + small.shape[0])[:, None] + 0.5
        for a, b in pairwise(part):
            span = b - a
            t = np.clip(((x - a[0]) * span[0] + (y - a[1]) * span[1]) / max(span @ span, 1e-12), 0, 1)
            far = np.hypot(x - a[0] - t * span[0], y - a[1] - t * span[1])
            np.maximum(small, np.clip(wide / 2 + 0.5 - far, 0, 1) * min(width, 1.0), out=small)
    block += cover[..., None] * (np.asarray(colour, float) - block)


@dataclass(frozen=True)
class Camera:
    """What a picture goes through on its way; the neutral one does nothing."""

    corners: Floats | None = None
    """Where the flat page's corners come to lie, shape (4, 2), from the top left clockwise."""
    size: tuple[int, int] = (0, 0)
    table: Colour = (92, 66, 45)
    light: Callable[[Floats, Floats], Floats] | None = None
    """Factor on brightness from x and y, each 0 to 1 across the picture."""
    blur: float = 0.0
    noise: float = 0.0
    quality: int = 0
    """Of JPEG; 0: PNG."""
    subsampling: int = 2
    seed: int = 0

    def take(self, page: Floats) -> bytes:
        """The picture as a file's bytes."""
        image = Image.fromarray(np.clip(page + 0.5, 0, 255).astype(np.uint8))
        if self.corners is not None:
            back = np.linalg.inv(self.homography(image.size))
            back /= back[2, 2]
            image = image.transform(
                self.size, Image.Transform.PERSPECTIVE, back.ravel()[:8].tolist(), Image.Resampling.BICUBIC,
                fillcolor=self.table,
            )  # fmt: skip
        out = np.asarray(image, dtype=float)
        if self.light is not None:
            high, wide = out.shape[:2]
            x, y = np.meshgrid((np.arange(wide) + 0.5) / wide, (np.arange(high) + 0.5) / high)
            out = out * self.light(x, y)[..., None]
        if self.blur:
            out = _blurred(out, self.blur)
        if self.noise:
            out = out + np.random.default_rng(self.seed).normal(0.0, self.noise, out.shape)
        image = Image.fromarray(np.clip(out + 0.5, 0, 255).astype(np.uint8))
        file = io.BytesIO()
        if self.quality:
            image.save(file, "JPEG", quality=self.quality, subsampling=self.subsampling)
        else:
            image.save(file, "PNG", compress_level=1)
        return file.getvalue()

    def homography(self, size: tuple[int, int]) -> Floats:
        """Of the flat page's pixels to the picture's, shape (3, 3)."""
        if self.corners is None:
            return np.eye(3)
        wide, high = size
        return four_points(np.array([[0, 0], [wide, 0], [wide, high], [0, high]], float), self.corners)

    def seen(self, points: Floats, size: tuple[int, int]) -> Floats:
        """Where points of the flat page lie in the picture."""
        out = np.column_stack([points, np.ones(len(points))]) @ self.homography(size).T
        return out[:, :2] / out[:, 2:]


def four_points(source: Floats, target: Floats) -> Floats:
    """The projective map that carries four points to four points."""
    rows: list[list[float]] = []
    for (x, y), (u, v) in zip(source.tolist(), target.tolist(), strict=True):
        rows += [[x, y, 1, 0, 0, 0, -u * x, -u * y], [0, 0, 0, x, y, 1, -v * x, -v * y]]
    return np.append(np.linalg.solve(np.array(rows), target.ravel()), 1.0).reshape(3, 3)


def _blurred(page: Floats, sigma: float) -> Floats:
    reach = int(np.ceil(3 * sigma))
    kernel = np.exp(-0.5 * (np.arange(-reach, reach + 1) / sigma) ** 2)
    kernel /= kernel.sum()
    padded = np.pad(page, ((reach, reach), (reach, reach), (0, 0)), mode="edge")
    rows = np.sum([k * padded[i : i + page.shape[0]] for i, k in enumerate(kernel)], axis=0)
    return np.sum([k * rows[:, i : i + page.shape[1]] for i, k in enumerate(kernel)], axis=0)


def frame_of(
    chart: Chart,
    camera: Camera,
    *,
    seed_flow: float | None,
    curve: int = 0,
    colour: str | None = None,
    click: float = 0.0,
    draw: int = 1,
    quantity: str = "head",
    flow_unit: str = "L/min",
    value_unit: str = "m",
) -> dict[str, Any]:
    """What a person would click, as a frame file's table; clicks miss by ``click`` pixels (standard deviation)."""
    f, v = chart.flow, chart.value
    axis = "head" if quantity in ("head", "npshr") else quantity
    marks = camera.seen(chart.corners(), chart.size)
    marks = np.round((marks + np.random.default_rng(draw).normal(0.0, click, marks.shape)) * 2) / 2 if click else marks
    known = [(f.low, v.low), (f.high, v.low), (f.high, v.high), (f.low, v.high)]
    one: dict[str, Any] = {"name": "the one", "quantity": quantity}
    if seed_flow is not None:
        at = chart.place([seed_flow], chart.curves[curve].value(np.array([seed_flow])))
        one["seed"] = [round(c, 1) for c in camera.seen(at, chart.size)[0].tolist()]
    if colour is not None:
        one["colour"] = colour
    return {
        "format": "curvelab-frame/1",
        "flow": flow_unit,
        axis: value_unit,
        "flow_scale": "log" if f.log else "linear",
        "head_scale": "log" if v.log else "linear",
        "mark": [
            {"pixel": pixel, "flow": q, axis: value} for pixel, (q, value) in zip(marks.tolist(), known, strict=True)
        ],
        "curve": [one],
    }
