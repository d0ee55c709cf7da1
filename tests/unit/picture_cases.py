"""Demo setups solved and put into words, for the tests of pictures."""

from dataclasses import dataclass
from functools import lru_cache
from pathlib import Path

import numpy as np

from curvelab import load_setup
from curvelab.layout.placing import Frame, framed
from curvelab.layout.scene import Scene, scene
from curvelab.layout.sizes import BENCH, Width
from curvelab.layout.words import BenchWords, RunWords
from curvelab.report.pictures import bench_words, run_words
from curvelab.report.rounded import rounded
from curvelab.studies.curves import Curves
from curvelab.studies.result import Result
from curvelab.studies.run import Run
from curvelab.studies.solve import solved
from curvelab.units import System

SETUPS = Path(__file__).parents[2] / "data" / "setups"
NAMES = sorted(path.stem for path in SETUPS.glob("*.toml"))
STATES = {
    "sound": "mill-pond",
    "cavitating": "mill-pond-august",
    "no-lift": "ridge-tank",
    "no-prime": "mill-pond-september",
    "off-curve": "overflowing-pond",
}
"""A setup of the demo data in each state (thin: the mill pond with more lift)."""
THIN = (("suction.lift", "15 ft"),)
SWEEP = [
    (name, ((field, value),))
    for name, field, values in (
        ("mill-pond", "suction.lift", ["-8 ft", "0 ft", "4 ft", "9 ft", "14 ft", "18 ft"]),
        ("high-camp", "suction.lift", ["0 ft", "8 ft", "18 ft"]),
        ("high-camp", "discharge.rise", ["-60 ft", "-10 ft", "0 ft", "40 ft", "70 ft", "95 ft"]),
        ("mill-pond", "discharge.leg.0.length", ["310 ft", "600 ft", "1500 ft"]),
        ("high-camp", "discharge.leg.0.length", ["40 ft", "1000 ft", "2000 ft"]),
        ("mill-pond", "pump.throttle", ["0.55", "0.8", "1.05"]),
        ("mill-pond", "site.altitude", ["0 ft", "9000 ft"]),
        ("mill-pond", "site.temperature", ["135 degF"]),
    )
    for value in values
]
"""Every slider through its range, with a hose that can lie like that."""


@dataclass(frozen=True)
class Case:
    """One setup with all that a picture of it needs."""

    result: Result
    curves: Curves
    run: Run
    bench: BenchWords
    words: RunWords


@lru_cache(maxsize=256)
def case(name: str, *changes: tuple[str, str], system: System = System.US) -> Case:
    setup = load_setup(SETUPS / f"{name}.toml")
    for field, value in changes:
        setup = setup.with_(field, value)
    answer = solved(setup)
    figures = rounded(answer.result, system)
    curves = answer.curves(220, to_flow_m3_s=1.1 * answer.result.end_flow_m3_s)
    return Case(
        answer.result,
        curves,
        answer.run,
        bench_words(figures, setup, curves, "Ferrow 3"),
        run_words(figures, setup, answer.run),
    )


def scene_of(one: Case, *, system: System = System.US, width: Width = Width.WIDE, held: Scene | None = None) -> Scene:
    size = BENCH[width]
    return scene(one.result, one.curves, system=system, width=width, size=size, plot_px=float(size.plot), held=held)


def frames_of(shown: Scene, width: Width) -> tuple[Frame, Frame]:
    """Of chart and strip."""
    size, end = BENCH[width], shown.axes.flow.end
    return (
        framed(end, shown.axes.head.low, shown.axes.head.end, size.plot, size.chart),
        framed(end, 0.0, shown.axes.suction.end, size.plot, size.strip),
    )


def dense(x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Points of a line, half a pixel apart at most, shape (n, 2)."""
    known = np.isfinite(x) & np.isfinite(y)
    x, y = x[known], y[known]
    if x.size == 0:
        return np.empty((0, 2))
    along = np.concatenate(([0.0], np.cumsum(np.hypot(np.diff(x), np.diff(y)))))
    at = np.unique(np.concatenate((along, np.arange(0.0, along[-1], 0.5))))
    return np.stack((np.interp(at, along, x), np.interp(at, along, y)), axis=1)
