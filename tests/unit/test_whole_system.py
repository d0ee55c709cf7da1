"""Two routes to one answer: the kernel, and a scalar route with SciPy's root finder and another library's friction.

The aim is 0.1 %. Both routes solve to better than a millionth, so that a larger difference is a difference in physics.
"""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import hypothesis.strategies as st
import numpy as np
import pytest
from hypothesis import given, settings

import curvelab
from curvelab.hydraulics.kernel import solve
from curvelab.hydraulics.solution import Outcome, Solution
from tests.speed import reference, second_reader
from tests.speed.bridge import plan_of_cases
from tests.speed.case import Answer, Case, Hose, Outlet, Pump

PORTS = (0.0381, 0.0508, 0.0635, 0.0762, 0.1016)
ALIKE = {  # what the other route calls it: name in a Solution, least difference worth a word
    "flow": ("flow_m3_s", 1e-9),
    "head": ("head_m", 1e-6),
    "crossing_flow": ("crossing_flow_m3_s", 1e-9),
    "crossing_head": ("crossing_head_m", 1e-6),
    "static_head": ("static_head_m", 1e-9),
    "cavitation_flow": ("cavitation_flow_m3_s", 1e-9),
    "margin_flow": ("margin_flow_m3_s", 1e-9),
    "npsha": ("npsha_m", 1e-6),
    "npshr": ("npshr_m", 1e-6),
    "inlet_gauge": ("inlet_gauge_pa", 0.1),
    "outlet_gauge": ("pump_outlet_gauge_pa", 0.1),
    "dead_head": ("dead_head_gauge_pa", 0.1),
    "shut_end": ("shut_end_gauge_pa", 0.1),
}


def between(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_subnormal=False)


def hoses(longest: float, *, rigid: st.SearchStrategy[bool]) -> st.SearchStrategy[Hose]:
    return st.builds(
        Hose,
        length=between(1.0, longest),
        bore=st.sampled_from(PORTS),
        roughness=between(0.0, 5e-4),
        k=between(0.0, 8.0),
        abreast=st.sampled_from([1, 1, 2, 3]),
        rigid=rigid,
    )


outlets = st.builds(
    Outlet,
    kind=st.sampled_from(["open", "open", "submerged", "nozzle", "pressure", "sprinklers"]),
    rise=between(-20.0, 25.0),
    bore=between(0.01, 0.03),
    count=st.integers(1, 3),
    flow=between(2e-4, 2e-3),
    pressure=between(1e4, 2e5),
    valve_k=st.sampled_from([0.0, 0.0, 3.0]),
)


@st.composite
def pumps(draw: st.DrawFn) -> Pump:
    """Falling or drooping head points, with or without a point at zero flow, with or without NPSHR."""
    greatest, shut = draw(between(0.004, 0.03)), draw(between(20.0, 80.0))
    droop, start = draw(st.sampled_from([0.0, 0.0, 0.1, 0.25])), draw(st.sampled_from([0.0, 0.0, 0.0, 0.1]))
    share = np.linspace(start, 1.0, draw(st.integers(4, 9)))
    head = shut * (1.0 - 0.95 * share**1.8 + 4.0 * droop * share * (1.0 - share))
    tested = greatest * np.array([0.1, 0.3, 0.5, 0.7, draw(st.sampled_from([0.85, 1.0]))])
    npshr = 2.0 + draw(between(0.0, 6.0)) * (tested / greatest) ** 2
    told = draw(st.booleans())
    return Pump(
        flow=tuple((greatest * share).tolist()),
        head=tuple(head.tolist()),
        npshr_flow=tuple(tested.tolist()) if told else (),
        npshr=tuple(npshr.tolist()) if told else (),
        speed=draw(between(0.6, 1.05)),
        wear=draw(between(0.7, 1.0)),
        abreast=draw(st.sampled_from([1, 1, 1, 2, 3])),
        inlet=draw(st.sampled_from([None, *PORTS])),
        outlet=draw(st.sampled_from([None, *PORTS])),
        priming_lift=draw(st.sampled_from([None, 7.9])),
    )


@st.composite
def cases(draw: st.DrawFn) -> Case:
    discharge = tuple(draw(st.lists(hoses(300.0, rigid=st.booleans()), min_size=1, max_size=3)))
    total = sum(hose.length for hose in discharge)
    marks = draw(st.lists(between(0.01, 0.99), max_size=3, unique=True))
    if len(discharge) > 1 and draw(st.booleans()):
        marks.append(discharge[0].length / total)  # a hump where two hoses meet
    waypoints = tuple((total * mark, draw(between(-10.0, 20.0))) for mark in sorted(set(marks)))
    density_ratio = draw(between(0.9, 1.35))
    return Case(
        density=density_ratio * 999.97,
        density_ratio=density_ratio,
        viscosity=draw(between(3e-7, 9e-6)),
        air=draw(between(70e3, 104e3)),
        vapour=draw(between(600.0, 8000.0)),
        lift=draw(between(-3.0, 8.0)),
        margin=draw(between(0.0, 1.0)),
        suction=tuple(draw(st.lists(hoses(15.0, rigid=st.just(value=True)), min_size=1, max_size=2))),
        discharge=discharge,
        outlet=draw(outlets),
        pump=draw(pumps()),
        waypoints=waypoints,
        holds_prime=draw(st.booleans()),
    )


def state_of(solution: Solution, row: int) -> str:
    return Outcome(int(solution.outcome[row])).name.lower().replace("_", "-")


def on_the_edge(case: Case, state: str) -> bool:
    """Whether a hair's breadth of lift or margin turns the other route's answer into this state."""
    hair = 1e-6
    nearly = [replace(case, lift=case.lift + by, margin=case.margin + by) for by in (-hair, hair)]
    return state in {reference.solve(c).state for c in nearly}


def differences(solution: Solution, row: int, answer: Answer) -> list[str]:
    found: list[str] = []
    for theirs, (ours, least) in ALIKE.items():
        expected, got = getattr(answer, theirs), float(getattr(solution, ours)[row])
        if expected is None or math.isnan(got):
            same = expected is None and math.isnan(got)
        else:
            same = math.isclose(got, expected, rel_tol=1e-6, abs_tol=least)
        if not same:
            found.append(f"{ours}: {got!r}, by the other route {expected!r}")
    return found


@settings(max_examples=100)
@given(st.lists(cases(), min_size=1, max_size=12))
def test_drawn_setups_by_two_routes(drawn: list[Case]):
    solution = solve(plan_of_cases(drawn))
    for row, case in enumerate(drawn):
        answer = reference.solve(case)
        state = state_of(solution, row)
        if state != answer.state:
            assert on_the_edge(case, state), f"{state}, by the other route {answer.state}: {case}"
            continue
        assert not differences(solution, row, answer), case
        if answer.governs is not None and answer.flow:  # at rest several points may ask the same
            at = int(solution.point[row])
            assert math.isclose(solution.route.distance_m[row, at], answer.governs.distance, abs_tol=1e-9), case
            assert math.isclose(solution.route.height_m[row, at], answer.governs.height, abs_tol=1e-9), case


SETUPS = sorted((second_reader.DATA / "setups").glob("*.toml"))


@pytest.mark.parametrize("path", SETUPS, ids=lambda path: path.stem)
def test_the_demo_by_two_routes(path: Path):
    """From the file to the answer with nothing shared: other reader, other water, other friction, other root finder."""
    result = curvelab.solve(curvelab.load_setup(path))
    answer = reference.solve(second_reader.case_of(path))
    assert result.state == answer.state
    for theirs, (ours, _) in ALIKE.items():
        expected = getattr(answer, theirs)
        wanted = None if expected is None else pytest.approx(expected, rel=1e-3, abs=1e-6)
        assert getattr(result, ours) == wanted, ours
    assert answer.governs is None or result.governing_point.height_m == pytest.approx(answer.governs.height)
