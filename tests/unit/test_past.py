"""Steps back and forth: what they give back, what counts as one, and that units are none."""

from typing import Any

import pytest

from curvelab.app.edits import Edit, change
from curvelab.app.past import MOST_STEPS, ONE_GO_S, Past
from curvelab.app.state import AppState
from curvelab.model.catalogue import default_catalogue
from curvelab.units import System

CATALOGUE = default_catalogue()
POND = CATALOGUE.setups["mill-pond"]


def lifted(feet: float, setup: Any = POND) -> Any:
    return setup.with_("suction.lift", f"{feet} ft")


def state() -> AppState:
    return AppState(CATALOGUE, POND)


def test_undo_gives_back_each_setup_in_turn_and_redo_all_of_them_again():
    made, seen = state(), [POND]
    edits = [Edit("set", "suction.lift", 14.0), Edit("pick", "pump.id", "sedge-3"), Edit("open", value="cellar")]
    for edit in edits:
        made.apply([edit], held=False)
        seen.append(made.setup)
    for expected in reversed(seen[:-1]):
        made.step(back=True)
        assert made.setup == expected
    made.step(back=True)
    assert made.setup == POND
    for expected in seen[1:]:
        made.step(back=False)
        assert made.setup == expected
    assert made.past.forth == 0


def test_a_drag_is_one_step_whatever_it_passed():
    made = state()
    for number in (13.0, 15.0, 17.0):
        made.apply([Edit("set", "suction.lift", number)], held=True)
    made.apply([], held=False)
    assert made.setup.suction.lift.text == "17 ft"
    assert made.past.back == 1
    made.step(back=True)
    assert made.setup == POND


def test_a_drag_that_ends_where_it_began_is_no_step():
    made = state()
    for number in (13.0, 12.0):
        made.apply([Edit("set", "suction.lift", number)], held=True)
    made.apply([], held=False)
    assert made.past.back == 0


@pytest.mark.parametrize(("apart_s", "steps"), [(0.5 * ONE_GO_S, 1), (2.0 * ONE_GO_S, 3)])
def test_presses_of_one_key_are_one_step_while_they_follow_at_once(apart_s: float, steps: int):
    clock = [0.0]
    past = Past(lambda: clock[0])
    for feet in (12, 13, 14):
        clock[0] += apart_s
        past.passed(lifted(feet), lifted(feet + 1), [Edit("set", "suction.lift", feet + 1.0)])
    assert past.back == steps
    found = past.undo(lifted(15))
    assert found == lifted(12 if steps == 1 else 14)


def test_another_control_is_another_step_however_soon():
    past = Past(lambda: 0.0)
    past.passed(POND, lifted(13), [Edit("set", "suction.lift", 13.0)])
    past.passed(lifted(13), lifted(13).with_("discharge.rise", "9 ft"), [Edit("set", "discharge.rise", 9.0)])
    assert past.back == 2


def test_units_are_no_step_and_stay_what_they_are():
    made = state()
    made.apply([Edit("set", "suction.lift", 14.0)], held=False)
    made.apply([Edit("units", value="metric")], held=False)
    assert made.past.back == 1
    made.step(back=True)
    assert made.setup.units is System.METRIC
    assert made.setup.with_("units", "us") == POND


def test_a_new_change_ends_what_could_be_done_again():
    made = state()
    made.apply([Edit("set", "suction.lift", 14.0)], held=False)
    made.step(back=True)
    made.apply([Edit("pick", "pump.id", "sedge-3")], held=False)
    before = made.setup
    made.step(back=False)
    assert made.setup == before


def test_what_is_refused_is_no_step():
    made = state()
    made.apply([Edit("type", "suction.lift", "twelve")], held=False)
    assert made.past.back == 0


def test_while_a_slider_is_held_nothing_steps():
    made = state()
    made.apply([Edit("pick", "pump.id", "sedge-3")], held=False)
    made.apply([Edit("set", "suction.lift", 15.0)], held=True)
    made.step(back=True)
    assert made.setup.suction.lift.text == "15 ft"


def test_the_oldest_steps_give_way():
    past = Past(lambda: 0.0)
    setups = [lifted(feet / 10) for feet in range(MOST_STEPS + 11)]
    for at in range(MOST_STEPS + 10):
        past.passed(setups[at], setups[at + 1], [Edit("open", value=str(at))])
    assert past.back == MOST_STEPS
    now = setups[-1]
    while (before := past.undo(now)) is not None:
        now = before
    assert now == setups[10]


def test_undo_after_changes_by_edits_alone():
    setup = change(POND, Edit("pick", "outlet.kind", "nozzle"), CATALOGUE)
    made = AppState(CATALOGUE, setup)
    made.apply([Edit("fields", value={"suction.lift": "9 ft", "pump.id": "sedge-3"})], held=False)
    made.step(back=True)
    assert made.setup == setup
