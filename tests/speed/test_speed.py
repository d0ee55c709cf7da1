"""How fast: seconds printed, only ratios asserted, since a ratio in one run means the same on any machine."""

from __future__ import annotations

import subprocess
import sys
import tomllib
from collections.abc import Callable
from dataclasses import replace
from pathlib import Path
from time import process_time

import numpy as np
import pytest

import curvelab
from curvelab.hydraulics.kernel import solve
from curvelab.studies.solve import solved
from tests.speed import reference
from tests.speed.bridge import plan_of_cases
from tests.speed.case import Case, Hose, Outlet, Pump

SETUPS = Path(__file__).parents[2] / "data" / "setups"
ROWS = 20_000
SCALAR_ROWS = 100

FALLING = np.linspace(0.0, 1.0, 8)
SITE = Case(
    density=999.1,
    density_ratio=1.0,
    viscosity=1.14e-6,
    air=101325.0,
    vapour=1706.0,
    lift=3.0,
    margin=0.6,
    suction=(Hose(length=6.0, bore=0.0762, roughness=3e-4, k=2.0, rigid=True),),
    discharge=(
        Hose(length=60.0, bore=0.0762, roughness=3e-5, k=0.5),
        Hose(length=40.0, bore=0.0508, roughness=3e-5),
    ),
    outlet=Outlet(rise=8.0),
    pump=Pump(
        flow=tuple((0.017 * FALLING).tolist()),
        head=tuple((27.0 * (1.0 - 0.95 * FALLING**1.8)).tolist()),
        npshr_flow=(0.002, 0.006, 0.010, 0.014),
        npshr=(2.0, 2.4, 3.2, 4.6),
        inlet=0.0762,
        outlet=0.0762,
        priming_lift=7.9,
    ),
    waypoints=((30.0, 10.0), (80.0, 6.0)),
)


def rows_of(count: int) -> list[Case]:
    """A suction leg, two discharge legs, two waypoints; lift, lengths and rise differ from row to row."""
    draw = np.random.default_rng(1)
    lift, rise, length = draw.uniform(0, 7, count), draw.uniform(0, 12, count), draw.uniform(20, 150, count)
    return [
        replace(
            SITE,
            lift=float(lift[i]),
            outlet=Outlet(rise=float(rise[i])),
            discharge=(
                replace(SITE.discharge[0], length=float(length[i]) + 31.0),
                replace(SITE.discharge[1], length=50.0),
            ),
            waypoints=((30.0, float(rise[i]) + 2.0), (float(length[i]) + 60.0, float(rise[i]) - 1.0)),
        )
        for i in range(count)
    ]


def best_of(times: int, work: Callable[[], object]) -> float:
    """Least processor time of several runs, so that it counts for little what else the machine does. [s]"""
    best = float("inf")
    for _ in range(times):
        began = process_time()
        work()
        best = min(best, process_time() - began)
    return best


@pytest.mark.slow
def test_a_batch_beats_the_scalar_loop_fifty_times():
    cases = rows_of(ROWS)
    plan = plan_of_cases(cases)
    batch = best_of(3, lambda: solve(plan)) / ROWS
    scalar = best_of(2, lambda: [reference.solve(case) for case in cases[:SCALAR_ROWS]]) / SCALAR_ROWS
    print(f"\n{ROWS} rows: {batch * ROWS:.2f} s; a row {batch * 1e6:.1f} us, scalar {scalar * 1e6:.0f} us: ", end="")
    print(f"{scalar / batch:.0f} times faster")
    assert scalar / batch >= 50


@pytest.mark.slow
def test_solving_many_setups_costs_little_more_than_their_plan():
    """Twenty thousand Setups in one call cost well under a hundredth of as many single calls."""
    table = tomllib.loads((SETUPS / "mill-pond.toml").read_text(encoding="utf-8"))
    setup = curvelab.Setup.model_validate(table)
    setups = [setup.with_("suction.lift", f"{lift:.6f} m") for lift in np.linspace(0.0, 5.0, ROWS)]
    apart = [curvelab.Setup.model_validate(table) for _ in range(ROWS // 10)]  # nothing shared between two rows
    many = best_of(2, lambda: curvelab.solve_many(setups)) / ROWS
    strangers = best_of(2, lambda: curvelab.solve_many(apart)) / len(apart)
    single = best_of(3, lambda: [curvelab.solve(one) for one in setups[:50]]) / 50
    drawn = best_of(20, lambda: with_curves(setup))
    print(f"\nsolve_many of {ROWS} that differ in one field: {many * ROWS:.2f} s; a row {many * 1e6:.0f} us")
    print(f"of setups read one by one a row {strangers * 1e6:.0f} us; one solve {single * 1e3:.2f} ms, ", end="")
    print(f"{single / strangers:.0f} times as much; with its curves {drawn * 1e3:.2f} ms")
    assert single / strangers >= 20


def with_curves(setup: curvelab.Setup) -> tuple[object, object]:
    """What the page needs while a slider moves."""
    done = solved(setup)
    return done.result, done.curves()


def imported(module: str) -> tuple[float, set[str]]:
    """Seconds that importing a module adds to a bare interpreter, and the packages it brings along."""
    code = f"import sys, time; t = time.perf_counter(); import {module}; print(time.perf_counter() - t, *sys.modules)"
    runs = [subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True) for _ in range(5)]
    words = [run.stdout.split() for run in runs]
    return min(float(line[0]) for line in words), set(words[0][1:])


def test_importing_curvelab_is_light():
    seconds, modules = imported("curvelab")
    numpy_seconds, _ = imported("numpy")
    print(f"\nimport curvelab: {seconds:.3f} s (NumPy alone {numpy_seconds:.3f} s)")
    heavy = {
        "panel",
        "bokeh",
        "param",
        "pydantic",
        "PIL",
        "jinja2",
        "scipy.optimize",
        "scipy.interpolate",
        "scipy.stats",
    }
    assert not heavy & modules
    assert seconds < 3 * numpy_seconds
