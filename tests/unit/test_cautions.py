"""Every rule of the cautions: what opens each one, said a second time in plain Python, and held to the data's own."""

import re
from collections.abc import Callable
from functools import cache

import pytest

from curvelab.model.setup import Setup
from curvelab.report.cautions import open_cautions, what_can_hurt
from curvelab.report.words import LOCAL_CODES
from curvelab.studies.result import Result, State
from curvelab.studies.solve import solve
from curvelab.units import System
from tests.unit.corpus import CATALOGUE

POND = CATALOGUE.setups["mill-pond"]
NATURE, WATERS = ("water", "flood-water", "sea-water"), ("water", "flood-water", "sea-water", "pool-water")
MOVING = ("fill", "move", "irrigate", "wash")
STAY = ("exhaust", "exhaust-indoors", "electricity", "flood-water", "pressure", "rating", "fuel", "chemicals")
"""What nobody may wave away."""
CASES: dict[str, Setup] = {
    **CATALOGUE.setups,
    "flood": POND.with_("job.place", "flood").with_("site.liquid", "flood-water").with_("job.kind", "drain"),
    "no job": POND.with_("job.kind", None),
    "winter": POND.with_("site.temperature", "35 degF"),
    "pit": POND.with_("job.place", "pit"),
    "holding": POND.with_("job.kind", "hold"),
    "nozzle": POND.with_("outlet", {"kind": "nozzle", "bore": "1 in", "count": 1}),
    "nitrogen": POND.with_("site.liquid", "urea-ammonium-nitrate"),
    "sea": POND.with_("site.liquid", "sea-water"),
    "high": POND.with_("suction.lift", "15.5 ft"),
    "not so high": POND.with_("suction.lift", "15 ft"),
}


def at(*places: str) -> Callable[[Setup, Result], bool]:
    return lambda setup, _: setup.job.place in places


def always(_setup: Setup, _result: Result) -> bool:
    return True


def _drains_nature(setup: Setup, _: Result) -> bool:
    return setup.job.place == "open" and setup.job.kind in ("drain", "over-hill") and setup.site.liquid in NATURE


OPENS: dict[str, Callable[[Setup, Result], bool]] = {
    **dict.fromkeys(("exhaust", "pressure", "fuel", "not-for-fuel", "hot-pump", "noise", "lifting"), always),
    "exhaust-indoors": at("building", "pit", "flood"),
    "electricity": at("building", "flood"),
    "flood-water": at("building", "flood"),
    "confined-space": at("pit"),
    "cellar-walls": at("building"),
    "rating": lambda _, result: bool(result.over_rated),
    "chemicals": lambda s, _: s.job.kind == "chemical" or s.site.liquid not in WATERS,
    "no-flow": lambda _, result: result.state in (State.NO_LIFT, State.NO_PRIME),
    "starved": lambda _, result: result.state in (State.CAVITATING, State.THIN),
    "suction-end": lambda s, _: s.job.place in ("open", "flood") and s.site.liquid in WATERS,
    "drinking-water": lambda s, _: s.job.kind in (*MOVING, "chemical"),
    "taking-water": lambda s, _: (
        s.job.place == "open" and s.job.kind in MOVING and s.site.liquid in ("water", "sea-water")
    ),
    "discharge-water": lambda s, _: s.job.kind in ("drain", "hold", "over-hill") or s.site.liquid == "pool-water",
    "invasive-species": lambda s, _: (
        s.job.place in ("open", "flood") and s.job.kind not in (None, "chemical") and s.site.liquid in NATURE
    ),
    "drawdown": _drains_nature,
    "roads": lambda s, _: s.job.place in ("open", "flood") and s.job.kind in ("move", "irrigate", "drain"),
    "nozzle": lambda s, _: s.job.kind == "wash" or s.outlet.kind == "nozzle",
    "freezing": lambda s, _: s.site.temperature.si < 273.15 + 7.0,
    "high-lift": lambda s, _: s.suction.lift.si > 15 * 0.3048,
}


@cache
def opened(case: str) -> frozenset[str]:
    shown = open_cautions(CATALOGUE.cautions.values(), solve(CASES[case]), CASES[case], System.US)
    assert shown[-1].text == LOCAL_CODES
    return frozenset(one.id for one in shown[:-1])


def test_each_caution_has_its_rule():
    assert set(OPENS) == set(CATALOGUE.cautions)


@pytest.mark.parametrize("case", sorted(CASES))
def test_just_those_open_that_should(case: str):
    result = solve(CASES[case])
    assert opened(case) == {name for name, opens in OPENS.items() if opens(CASES[case], result)}


@pytest.mark.parametrize("name", sorted(OPENS))
def test_each_opens_somewhere_and_not_everywhere(name: str):
    where = [case for case in CASES if name in opened(case)]
    assert where
    assert (len(where) == len(CASES)) == (OPENS[name] is always)


def test_what_may_kill_stays_and_the_rest_can_be_waved_away():
    assert not any(CATALOGUE.cautions[name].dismissible for name in STAY)
    assert sum(caution.dismissible for caution in CATALOGUE.cautions.values()) >= 10


@pytest.mark.parametrize(
    ("case", "dangers"),
    [
        ("mill-pond", "engine fumes, pressure, fuel"),
        ("cellar", "engine fumes, live water, pressure, fuel, foul water"),
        ("flood", "engine fumes, live water, pressure, fuel, foul water"),
        ("fertiliser", "chemicals, engine fumes, pressure, fuel"),
        ("ridge-tank", "hot pump, engine fumes, pressure, fuel"),
    ],
)
def test_what_may_kill_is_named_beside_the_answer(case: str, dangers: str):
    shown = open_cautions(CATALOGUE.cautions.values(), solve(CASES[case]), CASES[case], System.US)
    assert what_can_hurt(shown) == dangers


def test_what_can_be_waved_away_is_not_named_there():
    shown = open_cautions(CATALOGUE.cautions.values(), solve(POND), POND, System.US)
    assert what_can_hurt([one for one in shown if one.dismissible]) == ""
    assert not any(caution.danger and caution.dismissible for caution in CATALOGUE.cautions.values())


def test_the_hose_under_its_rating_gives_its_own_figures():
    result = solve(POND)
    shown = open_cautions(CATALOGUE.cautions.values(), result, POND, System.US)[0]
    found = re.search(r"(\d+) ft of hose could see up to (\d+) psi .* rated (\d+)", shown.short)
    assert found is not None
    length, could, rated = found.groups()
    over = result.over_rated
    assert int(length) - 5 < sum(part.to_m - part.from_m for part in over) / 0.3048 <= int(length)
    assert int(could) == pytest.approx(max(part.pressure_pa for part in over) / 6894.757, abs=0.5)
    assert int(rated) == pytest.approx(over[0].rating_pa / 6894.757, abs=0.5)
