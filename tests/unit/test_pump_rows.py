"""Several pumps set by hand: rows of the column, what each control makes of the setup, and the link that carries it."""

from __future__ import annotations

import pytest

import curvelab
from curvelab.app.edits import Edit, change, moved_along, read_edit
from curvelab.app.pump_edits import MORE, MOST_MORE, OWN, SHARED, SUCTION
from curvelab.app.rows import flat
from curvelab.app.setup_column import by_row, ghost_of, stations, values
from curvelab.errors import InputError
from curvelab.model.link import decode, encode
from tests.unit.slow_cases import demo

CATALOGUE = curvelab.default_catalogue()
POND = demo("mill-pond")


def made(setup: curvelab.Setup, *edits: Edit) -> curvelab.Setup:
    for edit in edits:
        setup = change(setup, edit, CATALOGUE)
    return setup


def shown(setup: curvelab.Setup, path: str) -> object:
    return values(setup, stations(setup, CATALOGUE), CATALOGUE)[path]


def paths(setup: curvelab.Setup) -> set[str]:
    return {row["path"] for row in flat(stations(setup, CATALOGUE))}


def suction_hoses(setup: curvelab.Setup) -> int:
    return setup.suction.leg[0].abreast


BESIDE, BOOSTER = Edit("add-beside", MORE), Edit("add-booster", MORE)


def test_one_pump_has_a_fold_that_says_so_and_nothing_else_in_it_but_what_adds():
    assert shown(POND, MORE) == "1 pump"
    assert {"pump.abreast", f"{MORE}.buttons"} <= paths(POND)
    assert SUCTION not in paths(POND)


@pytest.mark.parametrize("edits", [(Edit("pick", "pump.abreast", "2"),), (BESIDE,)])
def test_a_pump_more_at_the_water_brings_a_suction_hose_of_its_own(edits: tuple[Edit, ...]):
    two = made(POND, *edits)
    assert (shown(two, MORE), shown(two, SUCTION), suction_hoses(two)) == ("2 pumps", OWN, 2)
    shared = made(two, Edit("pick", SUCTION, SHARED))
    assert (shown(shared, SUCTION), suction_hoses(shared)) == (SHARED, 1)
    assert suction_hoses(made(shared, BESIDE)) == 1
    assert suction_hoses(made(shared, Edit("pick", SUCTION, OWN))) == 2
    assert suction_hoses(made(two, BESIDE)) == 3


def test_what_was_added_can_be_taken_out_and_all_is_as_it_was():
    several = made(POND, BESIDE, BOOSTER)
    back = made(several, Edit("drop-beside", MORE, 0), Edit("drop-booster", MORE, 0))
    assert back == POND
    assert made(POND, Edit("drop-beside", MORE, 0), Edit("drop-booster", MORE, 3), Edit("drop-beside", MORE)) == POND
    three = made(POND, Edit("pick", "pump.abreast", "3"))
    assert made(three, Edit("pick", "pump.abreast", "1")) == POND


def test_which_pump_stands_where_is_chosen_from_the_fleet():
    several = made(POND, BESIDE, BOOSTER, Edit("pick", "pump.beside.0.id", "linnet-3"))
    several = made(several, Edit("pick", "booster.0.id", "tarn-2h"), Edit("set", "booster.0.distance", 200))
    assert (several.pump.beside[0].id, several.booster[0].id) == ("linnet-3", "tarn-2h")
    assert shown(several, "booster.0.distance") == (pytest.approx(200.0), "200")
    assert shown(several, MORE) == "3 pumps"
    opened = decode(encode(several)).setup
    assert opened == several
    assert curvelab.solve(opened).flow_m3_s


def test_a_pump_in_the_line_is_put_where_relay_says():
    hill = demo("ridge-tank").with_("discharge.leg.0.hose", "lay-flat-heavy")
    added = made(hill, BOOSTER)
    found = curvelab.relay(hill)
    assert found.best_m is not None
    assert added.booster[0].distance.si == pytest.approx(found.best_m, abs=7.0)  # its own steps are coarser
    light = made(POND, BOOSTER)
    assert light.booster[0].distance.si == pytest.approx(0.5 * 300 * 0.3048, rel=0.01)


def test_its_slider_ends_within_the_hose():
    (row,) = [row for row in flat(stations(made(POND, BOOSTER), CATALOGUE)) if row["path"] == "booster.0.distance"]
    assert 250 <= row["steps"][-1][0] < 300
    short = made(POND.with_("discharge.waypoint", None).with_("discharge.rise", "2 ft"), BOOSTER)
    tiny = made(short, Edit("type", "discharge.leg.0.length", "8"))
    (row,) = [row for row in flat(stations(tiny, CATALOGUE)) if row["path"] == "booster.0.distance"]
    assert row["steps"] == [[5.0, 5.0]]


def test_past_the_hose_it_is_refused_and_a_shortened_hose_takes_it_along():
    added = made(POND.with_("discharge.waypoint", None), BOOSTER, Edit("set", "booster.0.distance", 250))
    edit = Edit("type", "discharge.leg.0.length", "200")
    shorter = made(added, edit)
    assert shorter.booster[0].distance.si == pytest.approx(250 / 300 * 200 * 0.3048)
    assert "pump in the line 167 ft" in moved_along(added, shorter, edit)
    kept = made(added, Edit("type", "discharge.leg.0.length", "260"))
    assert kept.booster[0].distance == added.booster[0].distance
    with pytest.raises(InputError, match="booster"):
        curvelab.solve(made(added, Edit("type", "booster.0.distance", "400")))
    assert by_row({"booster.0.distance": "x"}, stations(added, CATALOGUE)) == {"booster.0.distance": "x"}


def test_there_is_an_end_to_adding():
    full = made(POND, *[BESIDE] * MOST_MORE)
    assert [len(row["buttons"]) for row in flat(stations(full, CATALOGUE)) if row["path"] == f"{MORE}.buttons"] == [1]
    with pytest.raises(InputError):
        made(full, BESIDE)


def test_a_pump_from_a_file_gets_one_of_the_fleet_beside_it():
    record = CATALOGUE.pumps["ferrow-3"]
    own = POND.model_copy(update={"pump": POND.pump.model_copy(update={"id": None, "record": record})})
    assert made(own, BESIDE).pump.beside[0].id in CATALOGUE.pumps
    assert made(own, BOOSTER).booster[0].id in CATALOGUE.pumps


def test_the_browser_may_ask_for_pumps_and_chalked_setups_have_marks_where_there_are_rows():
    assert read_edit({"do": "add-booster", "path": MORE}) == BOOSTER
    assert read_edit({"do": "drop-beside", "path": MORE, "value": 1}) == Edit("drop-beside", MORE, 1)
    several = made(POND, BESIDE, BOOSTER)
    assert ghost_of(POND, stations(several, CATALOGUE), CATALOGUE)["pump.abreast"] == "1"
