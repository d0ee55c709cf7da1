"""The demonstration's sheets: pictures of three invented pumps' curves, with the frames that a person would click.

``python -m tests.unit.demo_sheets`` draws them into data/pictures again. A scan with two curves, a small picture as it
comes by mail, and a photo at an angle with a shadow over it.
"""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from curvelab.hydraulics.curve import CurveTable
from curvelab.model.catalogue import demo_catalogue
from curvelab.model.points import Points
from curvelab.units import Quantity, from_unit
from tests.unit.chart_drawing import Axis, Camera, Chart, Curve, Floats, Label

PICTURES = Path(__file__).parents[2] / "data" / "pictures"
WORDS = "Alder Bend Hire - invented for demonstration"


@dataclass(frozen=True)
class Sheet:
    """One sheet: what it shows, how the picture was taken, and what was clicked."""

    pump: str
    ending: str
    chart: Chart
    camera: Camera
    flow: str
    value: str
    curves: tuple[tuple[str, str, float], ...]
    """Name, quantity, and the flow at which the curve was clicked."""
    clicks: int
    """Seed of the clicks' errors, half a pixel."""

    def picture(self) -> bytes:
        return self.camera.take(self.chart.draw())

    def frame(self) -> str:
        """The frame's file."""
        corners = self.camera.seen(self.chart.corners(), self.chart.size)
        clicked = np.round((corners + np.random.default_rng(self.clicks).normal(0.0, 0.5, corners.shape)) * 2) / 2
        f, v = self.chart.flow, self.chart.value
        known = [(f.low, v.low), (f.high, v.low), (f.high, v.high), (f.low, v.high)]
        lines = [
            f"# Where to click on {self.pump}.{self.ending}. Invented for demonstration.",
            'format = "curvelab-frame/1"',
            f'flow = "{self.flow}"',
            f'head = "{self.value}"',
        ]
        for (x, y), (flow, head) in zip(clicked.tolist(), known, strict=True):
            lines += ["", "[[mark]]", f"pixel = [{x}, {y}]", f"flow = {flow:g}", f"head = {head:g}"]
        for (name, quantity, at), curve in zip(self.curves, self.chart.curves, strict=True):
            place = self.chart.place([at], curve.value(np.array([at])))
            x, y = self.camera.seen(place, self.chart.size)[0].round(1).tolist()
            lines += ["", "[[curve]]", f'name = "{name}"', f"seed = [{x}, {y}]", f'quantity = "{quantity}"']
        return "\n".join(lines) + "\n"


def sheets() -> tuple[Sheet, ...]:
    pumps = demo_catalogue().pumps
    scan = _chart(
        Axis(0, 450, 50, 10),
        Axis(0, 100, 10, 2),
        ("Ferrow 3, 3600 rpm", "US gal/min", "ft"),
        _curve(pumps["ferrow-3"].head, "gpm", "ft", colour=(30, 60, 130), width=2.6),
        _curve(pumps["ferrow-3"].npshr, "gpm", "ft", colour=(30, 60, 130), width=1.8, dash=(12.0, 6.0)),
    )
    mail = _chart(
        Axis(0, 700, 100, 20),
        Axis(0, 32, 4, 1),
        ("Sedge 2, 3600 rpm", "L/min", "m"),
        _curve(pumps["sedge-2"].head, "L/min", "m", colour=(25, 25, 25), width=2.2),
    )
    photo = _chart(
        Axis(0, 150, 25),
        Axis(0, 220, 20),
        ("Tarn 2H, 3600 rpm", "US gal/min", "ft"),
        _curve(pumps["tarn-2h"].head, "gpm", "ft", colour=(165, 70, 30), width=2.8),
    )
    table = Camera(
        corners=np.array([[190.0, 120.0], [1010.0, 55.0], [1060.0, 830.0], [130.0, 760.0]]),
        size=(1200, 900),
        light=lambda x, y: (1.0 - 0.45 / (1.0 + np.exp(-45.0 * (x - 0.62 - 0.2 * y)))) * (1.0 - 0.15 * y),
        blur=0.8,
        noise=3.0,
        quality=72,
    )
    name = "3600 rpm"
    heads = ((name, "head", 150.0), ("NPSHR", "npshr", 200.0))
    return (
        Sheet("ferrow-3", "png", scan, Camera(), flow="gpm", value="ft", curves=heads, clicks=1),
        Sheet(
            "sedge-2",
            "jpg",
            replace(mail, grid_over=True),
            Camera(quality=45),
            flow="L/min",
            value="m",
            curves=((name, "head", 330.0),),
            clicks=2,
        ),
        Sheet("tarn-2h", "jpg", photo, table, flow="gpm", value="ft", curves=((name, "head", 60.0),), clicks=3),
    )


def _chart(flow: Axis, value: Axis, words: tuple[str, str, str], *curves: Curve) -> Chart:
    title, below, beside = words
    labels = (
        Label(title, (230.0, 42.0), size=18),
        Label(f"Flow, {below}", (540.0, 765.0)),
        Label(f"Head, {beside}", (60.0, 42.0)),
        Label(WORDS, (880.0, 785.0), size=11),
    )
    return Chart(flow, value, curves, labels=labels)


def _curve(points: Points | None, flow_unit: str, unit: str, **look: object) -> Curve:
    """A pump's digitised curve as its maker would have drawn it."""
    assert points is not None
    flow = points.flow_m3_s / from_unit(1.0, flow_unit, Quantity.FLOW)
    value = points.values_si / from_unit(1.0, unit, points.QUANTITY)
    return Curve(_through(flow, value), float(flow[0]), float(flow[-1]), **look)  # type: ignore[arg-type]


def _through(x: Floats, y: Floats) -> Callable[[Floats], Floats]:
    table = CurveTable.of([(x, y)])
    return lambda at: table(np.zeros(1, dtype=np.int64), np.atleast_1d(at)[None, :])[0]


def main() -> None:
    PICTURES.mkdir(exist_ok=True)
    for sheet in sheets():
        (PICTURES / f"{sheet.pump}.{sheet.ending}").write_bytes(sheet.picture())
        (PICTURES / f"{sheet.pump}.frame.toml").write_text(sheet.frame(), encoding="utf-8")


if __name__ == "__main__":
    main()
