"""Legs put in, split, taken out and moved without a browser; fittings counted; lengths in stock."""

import math
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import curvelab
from curvelab.app import setup_column
from curvelab.app.edits import Edit, change, read_edit
from curvelab.app.leg_rows import legs_of
from curvelab.app.rows import flat
from curvelab.app.state import AppState
from curvelab.errors import InputError
from curvelab.model.catalogue import default_catalogue
from curvelab.model.setup import Setup
from curvelab.report.legs import leg_words, stock_words
from curvelab.studies.kit import covering
from curvelab.units import System

CATALOGUE = default_catalogue()
JOBS = sorted(CATALOGUE.setups)
POND = CATALOGUE.setups["mill-pond"]
FOOT = 0.3048
SIDES = ("suction", "discharge")


def edited(setup: Setup, do: str, path: str, value: Any = None) -> Setup:
    return change(setup, Edit(do, path, value), CATALOGUE)


def length_m(setup: Setup, side: str) -> float:
    return sum(leg.length.si for leg in legs_of(setup, side))


def pieces(setup: Setup, side: str) -> dict[str, int]:
    """Fittings of a whole side."""
    found: dict[str, int] = {}
    for leg in legs_of(setup, side):
        for name, count in leg.fittings.items():
            found[name] = found.get(name, 0) + count
    return found


# --- legs


@pytest.mark.parametrize("job", JOBS)
@pytest.mark.parametrize("side", SIDES)
def test_a_split_hose_is_the_same_hose(job: str, side: str):
    setup = CATALOGUE.setups[job]
    split = edited(setup, "split-leg", f"{side}.leg.0")
    assert len(legs_of(split, side)) == len(legs_of(setup, side)) + 1
    assert length_m(split, side) == pytest.approx(length_m(setup, side), abs=1e-9)
    assert pieces(split, side) == pieces(setup, side)
    before, after = curvelab.solve(setup), curvelab.solve(split)
    assert after.state == before.state
    at_outlet = before.governing_point is None or before.governing_point.kind == "outlet"
    # Fittings lie spread along their hose: an odd one that goes to the first half counts a little more up to a hump.
    assert after.flow_m3_s == pytest.approx(before.flow_m3_s, rel=1e-6 if at_outlet else 5e-4)


KNOLL = CATALOGUE.setups["ridge-tank-high-head"]


@given(share=st.floats(0.02, 0.98), steep=st.floats(0.0, 0.6), along=st.floats(0.2, 0.8), k=st.floats(0.0, 20.0))
@settings(max_examples=40, deadline=None)
def test_a_joint_in_a_straight_hose_changes_nothing(share: float, steep: float, along: float, k: float):
    """Whatever point of the route governs. A leg's fittings lie spread along it, so that their sum goes with length."""
    leg = KNOLL.discharge.leg[0].with_("fittings", {}).with_("k", k)
    whole = leg.length.si
    height = steep * min(along, 1.0 - along) * whole
    route = [{"distance": f"{along * whole!r} m", "height": f"{height!r} m"}]
    one = KNOLL.with_("discharge.leg", [leg]).with_("discharge.rise", "2 m").with_("discharge.waypoint", route)
    parts = [leg.with_("length", f"{part * whole!r} m").with_("k", part * k) for part in (share, 1.0 - share)]
    before, after = (curvelab.solve(setup) for setup in (one, one.with_("discharge.leg", parts)))
    assert after.state is before.state
    assert after.flow_m3_s == pytest.approx(before.flow_m3_s, rel=1e-8)
    assert after.governing_point.distance_m == pytest.approx(before.governing_point.distance_m)


@pytest.mark.parametrize("system", System)
def test_split_where_a_person_can_measure_it(system: System):
    setup = edited(POND, "units", "", str(system))
    first, second = legs_of(edited(setup, "split-leg", "discharge.leg.0"), "discharge")
    text = "45.7 m" if system is System.METRIC else "150 ft"
    assert first.length.text == text
    assert first.length.si + second.length.si == pytest.approx(300 * FOOT)


@pytest.mark.parametrize("side", SIDES)
def test_one_more_hose_is_of_the_same_make_and_in_stock(side: str):
    legs = legs_of(edited(POND, "add-leg", f"{side}.leg.0"), side)
    old = legs_of(POND, side)[0]
    assert (legs[1].hose, legs[1].size) == (old.hose, old.size)
    size = CATALOGUE.hoses[old.hose or ""].sized(old.size.si if old.size else 0.0)
    assert size is not None
    assert legs[1].length.si in {length.si for length in size.lengths}
    assert dict(legs[1].fittings) == {"cam-coupling": 1}


@pytest.mark.parametrize("side", SIDES)
def test_a_hose_put_in_and_taken_out_leaves_what_was(side: str):
    there = edited(POND, "add-leg", f"{side}.leg.0")
    assert edited(there, "drop-leg", f"{side}.leg.1") == POND


def test_the_last_hose_stays():
    assert edited(POND, "drop-leg", "discharge.leg.0") is POND


@pytest.mark.parametrize("side", SIDES)
def test_moved_and_moved_back_is_as_it_was(side: str):
    three = edited(edited(POND, "add-leg", f"{side}.leg.0"), "split-leg", f"{side}.leg.0")
    three = edited(three, "set", f"{side}.leg.2.length", 31.0)
    moved = edited(three, "move-leg", f"{side}.leg.2", -1)
    assert [leg.length.si for leg in legs_of(moved, side)] == pytest.approx(
        [legs_of(three, side)[place].length.si for place in (0, 2, 1)]
    )
    assert edited(moved, "move-leg", f"{side}.leg.1", 1) == three


def test_the_strainer_stays_in_the_water_when_hoses_change_places():
    setup = edited(POND, "add-leg", "suction.leg.0")
    setup = edited(setup, "pick", "suction.leg.1.size", "4 in")
    moved = edited(setup, "move-leg", "suction.leg.1", -1)
    assert moved.suction.leg[0].size == setup.suction.leg[1].size
    assert "basket-strainer" in moved.suction.leg[0].fittings
    assert "basket-strainer" not in moved.suction.leg[1].fittings
    assert curvelab.solve(moved).flow_m3_s is not None


def test_the_strainer_stays_when_the_hose_in_the_water_is_taken_out():
    setup = edited(POND, "add-leg", "suction.leg.0")
    left = edited(setup, "drop-leg", "suction.leg.0")
    assert dict(left.suction.leg[0].fittings) == {"basket-strainer": 1, "cam-coupling": 1}


def test_points_come_along_when_a_hose_is_taken_out_and_undo_brings_all_back():
    made = AppState(CATALOGUE, edited(POND, "split-leg", "discharge.leg.0"))
    before = made.setup
    made.apply([Edit("drop-leg", "discharge.leg.1")], held=False)
    assert made.faults == {}
    assert len(made.setup.discharge.leg) == 1
    assert all(point.distance.si <= 150 * FOOT + 1e-9 for point in made.setup.discharge.waypoint)
    assert "reaches" in made.remarks["discharge.leg.1"]
    made.step(back=True)
    assert made.setup == before


@pytest.mark.parametrize("path", ["discharge.leg.9", "discharge", "pump.leg.0", "discharge.leg.-1", "discharge.leg.x"])
def test_no_such_hose_is_refused(path: str):
    with pytest.raises(InputError):
        edited(POND, "drop-leg", path)


def test_messages_of_the_buttons_are_edits():
    assert read_edit({"do": "move-leg", "path": "suction.leg.1", "value": -1}) == Edit("move-leg", "suction.leg.1", -1)
    assert read_edit({"do": "add-leg", "path": "discharge.leg.0"}) == Edit("add-leg", "discharge.leg.0")


@given(st.data())
@settings(max_examples=40, deadline=None)
def test_whatever_is_pressed_the_line_can_be_solved_or_it_is_refused_and_the_strainer_stands_in_the_water(
    data: st.DataObject,
):
    setup = POND
    for _ in range(data.draw(st.integers(1, 6))):
        side = data.draw(st.sampled_from(SIDES))
        place = data.draw(st.integers(0, len(legs_of(setup, side)) - 1))
        do = data.draw(st.sampled_from(("add-leg", "split-leg", "drop-leg", "move-leg")))
        value = data.draw(st.sampled_from((-1, 1))) if do == "move-leg" else None
        try:
            changed = edited(setup, do, f"{side}.leg.{place}", value)
            assert curvelab.solve(changed).state is not None
        except InputError:  # too short to split, or what is left no longer reaches: the page stays as it was
            assert do in ("split-leg", "drop-leg")
            continue
        setup = changed
    strained = [place for place, leg in enumerate(setup.suction.leg) if "basket-strainer" in leg.fittings]
    assert strained == [0]


# --- fittings


@pytest.mark.parametrize("side", SIDES)
@pytest.mark.parametrize("size", ["1 in", "1½ in", "2 in", "3 in", "6 in"])
def test_every_fitting_offered_can_be_had_there_and_none_that_can_is_missing(side: str, size: str):
    bare = POND.with_("suction.leg.0.fittings", {}).with_("discharge.leg.0.fittings", {})
    setup = edited(bare, "add-leg", f"{side}.leg.0").with_(f"{side}.leg.1.size", size)
    path = f"{side}.leg.1.fittings"
    adder = next((row for row in flat(setup_column.stations(setup, CATALOGUE)) if row["path"] == path), None)
    offered = {name for name, _ in adder["options"]} if adder else set()
    taken: set[str] = set()
    for name in CATALOGUE.fittings:
        try:
            curvelab.solve(edited(setup, "pick", f"{path}.{name}", 1))
        except InputError:
            continue
        taken.add(name)
    assert offered == taken


def test_a_fitting_is_counted_and_at_none_it_is_gone():
    path = "discharge.leg.0.fittings.elbow-90"
    two = edited(POND, "pick", path, 2)
    assert two.discharge.leg[0].fittings["elbow-90"] == 2
    assert (curvelab.solve(two).flow_m3_s or 0.0) < (curvelab.solve(POND).flow_m3_s or 0.0)
    assert edited(two, "pick", path, 0) == POND


def test_rows_of_fittings_hold_all_that_are_there_but_what_has_its_own_control():
    setup = edited(POND, "pick", "suction.bends", 2)
    paths = {row["path"] for row in flat(setup_column.stations(setup, CATALOGUE))}
    assert "suction.leg.0.fittings.cam-coupling" in paths
    assert "suction.leg.0.fittings.elbow-90" not in paths
    assert "suction.leg.0.fittings.basket-strainer" not in paths
    assert "discharge.leg.0.fittings.cam-coupling" in paths


def test_further_loss_of_a_file_can_be_seen_and_stays_when_the_hose_is_split():
    setup = POND.with_("discharge.leg.0.k", 2.5)
    paths = {row["path"] for row in flat(setup_column.stations(setup, CATALOGUE))}
    assert "discharge.leg.0.k" in paths
    assert [leg.k for leg in edited(setup, "split-leg", "discharge.leg.0").discharge.leg] == [1.25, 1.25]


def test_two_foot_valves_have_two_names():
    ends = next(row for row in flat(setup_column.stations(POND, CATALOGUE)) if row["path"] == "suction.end")
    names = [name for _, name in ends["options"]]
    assert len(set(names)) == len(names)


# --- waypoints


def test_a_point_can_be_named_and_the_name_taken_away():
    named = edited(POND, "type", "discharge.waypoint.2.name", "levee 2")
    assert named.discharge.waypoint[2].name == "levee 2"
    assert edited(named, "type", "discharge.waypoint.2.name", " ").discharge.waypoint[2].name is None
    assert edited(POND, "type", "discharge.waypoint.2.name", "12").discharge.waypoint[2].name == "12"


# --- words


@given(st.floats(1.0, 700.0), st.lists(st.sampled_from([15, 20, 25, 30, 50, 100]), min_size=1, max_size=3, unique=True))
@settings(max_examples=200, deadline=None)
def test_lengths_in_stock_reach_with_the_fewest_pieces(feet: float, stock: list[int]):
    found = covering(feet, [float(piece) for piece in stock])
    count, total = sum(n for _, n in found), sum(piece * n for piece, n in found)
    assert total >= feet * (1 - 1e-5)
    assert count == max(1, math.ceil(feet / max(stock) - 1e-6))
    for piece, _ in found:
        for shorter in (size for size in stock if size < piece):
            assert total - piece + shorter < feet


@pytest.mark.parametrize(
    ("feet", "stock", "pieces"),
    [
        (300, (50, 100), [(100, 3)]),
        (320, (50, 100), [(100, 3), (50, 1)]),
        (320, (25, 50, 100), [(100, 3), (25, 1)]),
        (33, (15, 20, 25), [(20, 1), (15, 1)]),
        (5, (15, 20, 25), [(15, 1)]),
        (50, (), []),
    ],
)
def test_lengths_in_stock_by_hand(feet: float, stock: tuple[float, ...], pieces: list[tuple[float, int]]):
    assert covering(feet, stock) == pieces


@pytest.mark.parametrize(
    ("feet", "abreast", "words"),
    [
        (300, 1, "Comes in 50, 100 ft lengths. This takes 3 lengths of 100 ft."),
        (320, 1, "Comes in 50, 100 ft lengths. This takes 3 lengths of 100 ft and one of 50 ft, 30 ft to spare."),
        (300, 2, "Comes in 50, 100 ft lengths. This takes 3 lengths of 100 ft for each of the 2."),
    ],
)
def test_words_of_the_stock(feet: int, abreast: int, words: str):
    leg = POND.discharge.leg[0].with_("length", f"{feet} ft").with_("abreast", abreast)
    assert stock_words(leg, CATALOGUE, System.US) == words


def test_a_leg_in_one_line():
    leg = POND.discharge.leg[0].with_("length", "100 ft").with_("size", "2 in").with_("fittings", {"elbow-90": 2})
    assert leg_words(leg, CATALOGUE, System.US) == "100 ft of 2 in lay-flat, 2 fittings"
    assert leg_words(leg.with_("abreast", 2), CATALOGUE, System.METRIC) == ("2 × 30.5 m of 51 mm lay-flat, 2 fittings")
    own = POND.with_("discharge.leg.0", {"bore": "50 mm", "roughness": "0.1 mm", "length": "20 m"}).discharge.leg[0]
    assert leg_words(own, CATALOGUE, System.METRIC) == "20 m of 50 mm hose, no fittings"
    assert "any length" in stock_words(own, CATALOGUE, System.METRIC)
