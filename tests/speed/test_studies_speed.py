"""How long the studies take: printed against what was aimed for, asserted only against another time of the same run.

The aims, on a machine with nothing else to do: choose and mend 40 ms, 5 bores × 40 lengths 40 ms, thousands of
combinations 0.5 s.
"""

from __future__ import annotations

import time
from collections.abc import Callable

from curvelab.studies.choose import choose
from curvelab.studies.compare import compare
from curvelab.studies.find import find
from curvelab.studies.limit import limit
from curvelab.studies.mend import mend
from curvelab.studies.solve import solve
from curvelab.studies.sums import sums
from curvelab.studies.vary import spread, vary
from tests.unit.study_cases import NAMES, demo

POND, STARVED, RIDGE = demo("mill-pond"), demo("mill-pond-august"), demo("ridge-tank")
LENGTHS = spread("discharge.leg.0.length", "300 ft", "1000 ft", 40)
BORES = {"discharge.leg.0.size": ["1½ in", "2 in", "2½ in", "3 in", "4 in"]}


def best_ms(work: Callable[[], object], rounds: int = 7) -> float:
    """Least processor time of some rounds: what others do meanwhile does not count. [ms]"""
    work()
    times: list[float] = []
    for _ in range(rounds):
        begun = time.process_time()
        work()
        times.append(time.process_time() - begun)
    return 1e3 * min(times)


def two_hundred() -> object:
    return vary(POND, "discharge.leg.0.length", LENGTHS, for_each=BORES)


CASES: dict[str, tuple[Callable[[], object], float]] = {
    "one solve": (lambda: solve(POND), 0.0),
    "choose, mill pond": (lambda: choose(POND), 40.0),
    "choose, starved": (lambda: choose(STARVED), 40.0),
    "mend, hose rated too low": (lambda: mend(POND), 40.0),
    "mend, starved": (lambda: mend(STARVED), 40.0),
    "mend, too high": (lambda: mend(RIDGE), 40.0),
    "vary, 5 bores × 40 lengths": (two_hundred, 40.0),
    "limit, longest hose": (lambda: limit(POND, "discharge.leg.0.length"), 0.0),
    "limit, greatest altitude": (lambda: limit(POND, "site.altitude"), 0.0),
    "find, 3,900 combinations": (lambda: find(POND), 500.0),
    "compare, three": (lambda: compare([POND, STARVED, RIDGE]), 0.0),
    "sums": (lambda: sums(POND), 0.0),
}


def test_times_are_printed():
    print()  # each on a line of its own
    for name, (work, aim) in CASES.items():
        took = best_ms(work, 3 if name.startswith("find") else 7)
        aimed = f", aimed for {aim:.0f} ms" if aim else ""
        print(f"{name}: {took:.1f} ms of processor time{aimed}")
        assert took > 0.0


def test_a_sweep_is_far_cheaper_than_its_solves():
    """A row of a sweep costs less than a twentieth of a solve; with the solves timed in the same run."""
    values = spread("discharge.leg.0.length", "300 ft", "1000 ft", 200)
    swept = best_ms(lambda: vary(POND, "discharge.leg.0.length", values))
    single = best_ms(lambda: [solve(POND) for _ in range(10)]) / 10.0
    print(f"\n200 rows: {swept:.1f} ms, 200 solves: {200 * single:.0f} ms")
    assert 20.0 * swept < 200.0 * single


def test_a_ranking_is_far_cheaper_than_its_solves():
    """Each of thousands of combinations costs less than a twentieth of a solve."""
    found = find(POND)
    each = best_ms(lambda: find(POND), 2) / len(found.rows)
    single = best_ms(lambda: [solve(POND) for _ in range(10)]) / 10.0
    print(f"\na combination: {1e3 * each:.0f} µs, a solve: {1e3 * single:.0f} µs")
    assert 20.0 * each < single


def test_choose_and_mend_take_a_few_solves():
    """A dozen neighbours, and cures made to measure, in the time of twenty solves."""
    single = best_ms(lambda: [solve(POND) for _ in range(10)]) / 10.0
    for name in NAMES:
        setup = demo(name)
        for study in (choose, mend):
            took = best_ms(lambda setup=setup, study=study: study(setup), 2)
            assert took < 25.0 * single, f"{name}: {study.__name__} takes {took / single:.0f} solves"
