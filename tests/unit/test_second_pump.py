"""A second pump beside the first or in the line: what the tab says is what ``solve`` finds for each of those setups."""

from __future__ import annotations

import json
import re

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import curvelab
from curvelab.app.state import show
from curvelab.app.studies.pumps import PUMPS
from curvelab.figures.plain import PlainPicture
from curvelab.layout.placing import TYPES
from curvelab.layout.plain import PLAIN, plain_names
from curvelab.layout.second import second_scene
from curvelab.layout.sizes import Width
from curvelab.report.alone import fed_said, siphon_said
from curvelab.report.second import second_said
from curvelab.report.table import item_name
from curvelab.report.words import chip
from curvelab.studies.feeds import feeds
from curvelab.studies.result import State
from curvelab.studies.second import Kind, Second, Way, second
from curvelab.studies.siphon import siphon
from curvelab.units import Quantity, System
from curvelab.units import show as show_units
from tests.unit.slow_cases import GPM, demo

FLEET = ("ferrow-3", "linnet-3", "sedge-3", "ferrow-2")


def way(found: Second, kind: Kind) -> Way:
    there = found.way(kind)
    assert there is not None
    return there


def test_each_way_is_what_solve_says_of_the_setup_that_its_button_makes():
    setup = demo("ridge-tank")
    found = second(setup)
    assert {one.kind for one in found.ways} == {Kind.ALONE, Kind.BESIDE, Kind.SHARED, Kind.LINE}
    for one in found.ways:
        made = setup
        for path, value in one.changes.items():
            made = made.with_(path, value)
        again = curvelab.solve(made)
        assert (again.state, again.flow_m3_s) == (one.result.state, one.result.flow_m3_s)
        assert one.now == (made == setup)
    json.dumps(found.to_dict(), allow_nan=False)


@given(st.sampled_from(FLEET), st.integers(50, 500), st.integers(-20, 60))
@settings(max_examples=12, deadline=None)
def test_two_side_by_side_never_give_double(pump: str, length: int, rise: int):
    legs = {"discharge.leg.0.length": f"{max(length, abs(rise) + 10)} ft", "discharge.rise": f"{rise} ft"}
    setup = demo("mill-pond").with_("discharge.waypoint", None).with_("pump.id", pump)
    for path, text in legs.items():
        setup = setup.with_(path, text)
    found = second(setup)
    alone, pair = way(found, Kind.ALONE).result, way(found, Kind.BESIDE).result
    if alone.state is State.SOUND and pair.state is State.SOUND:
        assert (alone.flow_m3_s or 0.0) * 0.999 <= (pair.flow_m3_s or 0.0) < 2.0 * (alone.flow_m3_s or 0.0)


def test_in_line_two_give_twice_the_head_of_one_at_their_flow():
    one, line = way(second(demo("ridge-tank")), Kind.ALONE), way(second(demo("ridge-tank")), Kind.LINE)
    flow = line.result.flow_m3_s
    assert flow is not None
    single = float(np.interp(flow, one.flow_m3_s, one.head_m))
    assert line.total_head_m == pytest.approx(2.0 * single, rel=1e-3)
    assert float(np.interp(flow, line.flow_m3_s, line.head_m)) == pytest.approx(2.0 * single, rel=1e-3)
    assert float(np.interp(flow, line.flow_m3_s, line.site_m)) == pytest.approx(line.total_head_m, rel=2e-3)


def test_a_pump_that_is_held_at_its_inlet_is_never_said_to_run_well():
    """Of its head it gives what the hose needs over what one pump gives at that flow, no more: sign, words and bar."""
    setup = demo("mill-pond-2in")
    found = second(setup)
    line = way(found, Kind.LINE)
    booster, flow = line.result.boosters[0], line.result.flow_m3_s
    assert flow is not None
    bare = curvelab.curves(setup)
    asked = float(np.interp(flow, bare.flow_m3_s, bare.system_head_m))
    gives = float(np.interp(flow, bare.flow_m3_s, bare.pump_head_m))
    assert booster.adds_m == pytest.approx(asked - gives, abs=0.02)
    assert line.total_head_m == pytest.approx(asked, abs=0.02)
    said = second_said(found)
    row = said.rows[[one.kind for one in found.ways].index(Kind.LINE)]
    assert (row.how, row.state) == ("held back in the line", State.THIN)
    assert [one.how for one in said.rows].count("runs well") == 3
    assert said.picture is not None
    held = show_units(booster.held_back_m or 0.0, Quantity.HEAD, System.US)
    assert said.picture.spots[Kind.LINE][0].endswith(f"{held} held back")
    made = setup
    for path, value in line.changes.items():
        made = made.with_(path, value)
    result = curvelab.solve(made)
    assert result.state is State.SOUND
    assert (chip(result).word, chip(result).shape) == ("Runs, held back in the line", State.THIN)
    (warned,) = [one.text for one in result.warnings if one.code == "held-in-line"]
    assert "Ferrow 3 296 ft along the hose" in warned
    assert {part.item: part.head_m for part in result.ledger}["pressure"] == pytest.approx(result.margin_m)
    assert item_name("pressure", result, made) == "Kept at the second pump"


def test_a_pump_in_the_line_that_has_all_it_needs_runs_well():
    line = way(second(demo("ridge-tank")), Kind.LINE)
    assert line.result.boosters[0].held_back_m == pytest.approx(0.0, abs=1e-9)
    assert chip(line.result).word == "Runs well"
    assert "held-in-line" not in [one.code for one in line.result.warnings]


def test_side_by_side_close_to_shut_off_a_weaker_one_gives_nothing_and_that_is_said():
    """As many per cent weaker as the words say it gives nothing; two fewer, and it gives some. Elsewhere no word."""
    setup = demo("mill-pond-2in")
    words = second_said(second(setup)).under
    (said,) = re.findall(r"one (\d+) % weaker gives nothing\. A check valve on each.*common practice", words)
    flows = [
        curvelab.solve(setup.with_("pump.beside.0", {"id": "ferrow-3", "wear": 1.0 - less / 100.0})).pumps[1].flow_m3_s
        for less in (int(said), int(said) - 2)
    ]
    assert flows[0] == 0.0 < flows[1]
    for name in ("mill-pond", "mill-pond-long-way", "ridge-tank"):
        assert "weaker" not in second_said(second(demo(name))).under


def test_what_is_offered_in_the_line_could_burst_nothing():
    for name in ("ridge-tank", "mill-pond", "over-the-levee", "mill-pond-long-way"):
        line = way(second(demo(name)), Kind.LINE)
        assert not line.result.over_rated
        assert not line.casing_over_rated
        assert line.rating_pa is not None


def test_a_setup_with_several_pumps_is_looked_at_without_them_too():
    setup = demo("mill-pond").with_("pump.abreast", 2).with_("suction.leg.0.abreast", 2)
    found = second(setup)
    assert [one.kind for one in found.ways if one.now] == [Kind.BESIDE]
    assert way(found, Kind.ALONE).result.flow_m3_s == curvelab.solve(demo("mill-pond")).flow_m3_s
    mixed = second(demo("mill-pond").with_("pump.beside", [{"id": "damson-2d"}]))
    assert [one.kind for one in mixed.ways if one.now] == [Kind.NOW]
    said = second_said(mixed)
    assert "As it stands: 186 gal/min." in said.finding
    assert "Damson 2D is pushed back" in said.finding


def test_the_finding_takes_its_gains_from_printed_figures():
    found = second(demo("over-the-levee"))
    said = second_said(found)
    one, beside, line = (
        round((way(found, kind).result.flow_m3_s or 0.0) / GPM) for kind in (Kind.ALONE, Kind.BESIDE, Kind.LINE)
    )
    assert f": +{beside - one} gal/min, not double." in said.finding
    assert f"150 psi hose: +{line - one} gal/min" in said.finding
    assert said.brief == f"a second: +{beside - one}, in line: +{line - one}"
    assert {row.name: row.gain for row in said.rows}["Two side by side, a suction hose each"] == f"+{beside - one}"


def test_a_flow_that_the_suction_cannot_feed_is_no_gain():
    said = second_said(second(demo("mill-pond")))
    assert "the first pump’s suction gives out" in said.finding
    assert said.brief.endswith("in line: starved")
    line = said.rows[-1]
    assert (line.flow.kind, line.gain) == ("held", "–")
    shared = second_said(second(demo("long-ditch-small-pump")))
    assert "On one suction hose two starve each other" in shared.under


@pytest.mark.parametrize(
    ("name", "words"),
    [
        ("ridge-tank", "beside it lifts no higher"),
        ("mill-pond-september", "can’t draw the water up either"),
        ("hill-pond", "In the line: nowhere."),
    ],
)
def test_what_a_second_pump_cannot_do_is_said(name: str, words: str):
    assert words in second_said(second(demo(name))).finding


def test_no_button_brings_a_danger_or_no_water():
    said = second_said(second(demo("ridge-tank")))
    assert set(said.buttons) == {"line"}
    now = second_said(second(demo("mill-pond").with_("booster.0", {"id": "linnet-3", "distance": "200 ft"})))
    assert "line" in now.buttons
    assert next(row for row in now.rows if row.now).under == "Ferrow 3, Linnet 3 at 200 ft"


@pytest.mark.parametrize("width", Width)
@pytest.mark.parametrize("units", ["us", "metric"])
def test_the_picture_names_its_curves_and_its_points(width: Width, units: str):
    found = second(demo("over-the-levee").with_("units", units))
    said = second_said(found)
    assert said.picture is not None
    scene = second_scene(found, said.picture, width)
    size = PLAIN[width]
    named = plain_names(scene, (float(size.width), float(size.height)))
    assert named.omitted == ()
    assert all(text.kind in TYPES for text in named.texts)
    assert sum(spot.now for spot in scene.spots) == 1
    assert all(0.0 <= spot.x <= scene.across.end and 0.0 <= spot.y <= scene.up.end for spot in scene.spots)
    site = scene.curves[0]
    now = next(spot for spot in scene.spots if spot.now)
    assert np.interp(now.x, site.x, site.y) == pytest.approx(now.y, rel=2e-3)


def test_a_pump_written_out_in_the_file_may_stand_beside_but_nobody_knows_where_in_the_line():
    setup = demo("mill-pond")
    record = curvelab.default_catalogue().pumps["ferrow-3"]
    own = setup.model_copy(update={"pump": setup.pump.model_copy(update={"id": None, "record": record})})
    found = second(own)
    assert found.relay is None
    assert "written out in the file" in second_said(found).finding


def test_a_siphon_in_pipe_is_told_where_the_hose_lies_downhill():
    bank = [{"distance": "130 ft", "height": "12 ft"}]
    setup = demo("siphon").with_("discharge.waypoint", bank).with_("discharge.leg.0.hose", "lay-flat-light")
    found = siphon(setup)
    assert (found.runs, found.because) == (False, "shape")
    pipe = {"bore": "3 in", "roughness": "0.05 mm", "rigid": True, "length": setup.discharge.leg[0].length.text}
    held = siphon(setup.with_("discharge.leg.0", pipe))
    assert held.runs
    assert found.in_pipe_m3_s == pytest.approx(held.flow_m3_s, rel=0.15)  # its bore and roughness differ a little
    assert "In pipe of this size it would run by itself" in siphon_said(found)
    assert siphon_said(siphon(demo("mill-pond"))) == ""


def test_nozzles_are_told_with_their_push_and_its_caution():
    setup = demo("wash-down")
    found = feeds(setup)
    said = fed_said(found, 1, setup.units)
    assert said.caution
    assert said.heads[-2] == "Pushes back"
    assert [row.now for row in said.rows].index(True) == 0
    (push,) = [warn.text for warn in curvelab.solve(setup).warnings if warn.code == "nozzle-push"]
    assert said.rows[0].cells[-2] in push
    sprinklers = demo("young-trees")
    assert fed_said(feeds(sprinklers), sprinklers.outlet.count or 1, sprinklers.units).caution == ""


def test_the_tab_has_a_button_for_each_way_that_is_offered_and_escapes_what_a_file_wrote():
    setup = demo("over-the-levee")
    record = curvelab.default_catalogue().pumps["ferrow-3"].model_copy(update={"name": "<b>Ferrow</b>"})
    own = setup.model_copy(update={"pump": setup.pump.model_copy(update={"id": None, "record": record})})
    for one in (setup, own):
        shown = show(one, curvelab.default_catalogue())
        told = PUMPS.ask(shown, curvelab.default_catalogue())
        assert "<b>Ferrow" not in told.words["table"] + told.words["finding"]
        for key in told.buttons:
            assert f'data-cure="{key}"' in told.words["table"]
            assert key.startswith(f"{PUMPS.key}.")
        assert told.drawn is not None
        for width in Width:
            picture = PlainPicture("pumps", second_scene, width)
            picture.update(*told.drawn)
            assert picture.omitted == ()
