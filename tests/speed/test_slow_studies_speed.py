"""How fast the slow studies are: processor seconds printed, only ratios asserted."""

from __future__ import annotations

import subprocess
import sys
from collections.abc import Callable
from time import process_time

import pytest

import curvelab
from curvelab.hydraulics import kernel
from curvelab.model.planning import plan_of
from curvelab.studies.carry import carry
from curvelab.studies.clock import clock
from curvelab.studies.doubt import SAMPLES, doubt
from curvelab.studies.doubt_draws import doubts_of, draws_of
from curvelab.studies.feeds import feeds
from curvelab.studies.power import power_of
from curvelab.studies.siphon import siphon
from tests.unit.slow_cases import deep, demo

TWO_POINTS = demo("mill-pond").with_("discharge.waypoint.0", None).with_("discharge.waypoint.0", None)
"""A suction leg, a discharge leg and two waypoints."""
TABLE = {"time": ["0 h", "2 h"], "flow": ["120 gpm", "20 gpm"]}


def best_of(times: int, work: Callable[[], object]) -> float:
    """Least processor seconds of several runs, which what else runs on the machine hardly touches."""
    best = float("inf")
    for _ in range(times):
        began = process_time()
        work()
        best = min(best, process_time() - began)
    return best


@pytest.mark.parametrize(
    ("what", "setup"),
    [
        ("lift, rise, length", TWO_POINTS),
        ("hose, fittings, head", TWO_POINTS.with_("doubt", None)),
        ("lift, rise, length, npshr", TWO_POINTS.with_("doubt.npshr", "10 %")),
    ],
)
def test_a_doubt_costs_little_more_than_one_call_of_the_kernel(what: str, setup: curvelab.Setup):
    catalogue = curvelab.default_catalogue()
    plan = plan_of([setup], catalogue)
    rows = doubts_of(setup, plan, catalogue).rows(plan, draws_of(SAMPLES, 1))
    bare = best_of(4, lambda: kernel.solve(rows))
    whole = best_of(4, lambda: doubt(setup))
    print(f"\ndoubt of {what}, {SAMPLES} samples: {whole:.3f} s; the kernel alone {bare:.3f} s")
    assert whole < 2.5 * bare


def test_a_clock_costs_a_few_solves():
    one = best_of(20, lambda: curvelab.solve(demo("mill-pond")))
    cases = {
        "empties": demo("mill-pond").with_("receiver", None),
        "fills": demo("mill-pond"),
        "fills under water": demo("mill-pond").with_("outlet", {"kind": "submerged"}),
        "gives out": deep(),
        "settles": deep().with_("source.inflow", "100 gpm"),
    }
    took = {what: best_of(8, lambda setup=setup: clock(setup)) for what, setup in cases.items()}
    print(f"\none solve {one * 1e3:.1f} ms; clock: ", end="")
    print(", ".join(f"{what} {seconds * 1e3:.1f} ms" for what, seconds in took.items()))
    assert max(took.values()) < 40 * one


def test_an_inflow_against_time_costs_more_but_not_the_earth():
    setup = demo("mill-pond").with_("receiver", None)
    clock(setup.with_("source.inflow", TABLE))  # loads the integrator
    plain = best_of(4, lambda: clock(setup))
    alone = best_of(4, lambda: clock(setup.with_("source.inflow", TABLE)))
    coupled = demo("mill-pond").with_("outlet", {"kind": "submerged"}).with_("source.inflow", TABLE)
    both = best_of(4, lambda: clock(coupled))
    print(f"\nclock {plain * 1e3:.1f} ms; with an inflow table {alone * 1e3:.1f} ms, both levels {both * 1e3:.1f} ms")
    assert max(alone, both) < 40 * plain


def test_the_small_ones():
    works = {
        "power": lambda: power_of(demo("mill-pond")),
        "power, short": lambda: power_of(demo("high-camp")),
        "carry": lambda: carry(demo("mill-pond")),
        "siphon": lambda: siphon(demo("siphon")),
        "feeds": lambda: feeds(demo("young-trees")),
    }
    one = best_of(20, lambda: curvelab.solve(demo("mill-pond")))
    took = {what: best_of(8, work) for what, work in works.items()}
    print("\n" + ", ".join(f"{what} {seconds * 1e3:.1f} ms" for what, seconds in took.items()))
    assert max(took.values()) < 40 * one


def test_the_integrator_is_loaded_only_for_what_needs_it():
    code = (
        "import sys; from tests.unit.slow_cases import demo; from curvelab.studies.clock import clock;"
        "from curvelab.studies.doubt import doubt; clock(demo('mill-pond')); doubt(demo('mill-pond'), samples=200);"
        "print('scipy.integrate' in sys.modules)"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, env=None)
    assert done.stdout.strip() == "False"
