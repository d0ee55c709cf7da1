"""Power and fuel as the page says it: figures of the studies, the job's fuel, loads, and the picture."""

from __future__ import annotations

import numpy as np
import pytest

import curvelab
from curvelab.app.state import show
from curvelab.app.studies.power import POWER
from curvelab.figures.plain import PlainPicture
from curvelab.layout.engine import engine_scene
from curvelab.layout.plain import PLAIN, plain_names
from curvelab.layout.sizes import Width
from curvelab.report.times import times_said
from curvelab.report.work import work_said
from curvelab.studies.carry import carry
from curvelab.studies.clock import clock
from curvelab.studies.power import power_of
from curvelab.studies.times import times
from curvelab.studies.work import work
from tests.unit.slow_cases import demo

CATALOGUE = curvelab.default_catalogue()
HP = 745.69987158
HEAVY = demo("ridge-tank").with_("discharge.leg.0.hose", "lay-flat-heavy")
RELAY = HEAVY.with_("booster.0", {"id": "ferrow-3", "distance": "190 ft"})


def test_what_the_engine_holds_is_told_with_what_it_loses_and_who_says_so():
    """10 hp, 0.85 for hours, 3 % a 1000 ft at 2100 ft, 1 % a 10 °F from 60 to 77."""
    found = work(demo("mill-pond"))
    available = found.power.engine_available_w
    assert available == pytest.approx(10 * HP * 0.85 * (1 - 0.063) * (1 - 0.017), rel=1e-3)
    said = work_said(found)
    assert said.under == (
        "Rated 10 hp, less 15 % for hours on end, 6.3 % for the height, 1.7 % for air at 77 °F: "
        "after Oklahoma State BAE-1204."
    )
    cool = work_said(work(demo("mill-pond").with_("site.air_temperature", "50 degF").with_("site.altitude", "0 ft")))
    assert cool.under == "Rated 10 hp, less 15 % for hours on end: after Oklahoma State BAE-1204."
    assert said.rows[0].cells[:3] == ("7.1", "7.8", "10")
    assert said.brief.startswith("91 % of the engine")
    assert said.finding.startswith("This uses 91 % of the power that the engine can hold here for hours.")


def test_the_job_takes_the_fuel_that_the_clock_says():
    setup = demo("lower-pond")
    found, timed = work(setup), clock(setup)
    assert timed.fuel_m3 is not None
    assert found.job_fuel_m3 == timed.fuel_m3
    assert "To bring Lower pond down to 18 in it runs" in work_said(found).finding
    assert "Ten hours take" in work_said(work(demo("over-the-levee"))).finding


def test_of_several_pumps_the_job_takes_the_fuel_of_all_of_them():
    """Its levels hardly move, so that the rate of now holds all the way."""
    found = work(RELAY)
    assert found.job_s is not None
    assert found.power.fuel_m3_s is not None
    assert found.job_fuel_m3 == pytest.approx(found.job_s * found.power.fuel_m3_s, rel=1e-3)
    assert "To fill the ridge tank it runs " in work_said(found).finding


def test_two_tabs_that_give_the_fuel_of_two_jobs_name_both():
    """The tank is full long before the pond is down: each figure by its own clock, and each says which."""
    setup = demo("mill-pond")
    tank, pond = clock(setup), clock(setup.with_("receiver", None))
    assert tank.fuel_m3 is not None
    assert pond.fuel_m3 is not None
    gallons = [round(fuel / 3.785411784e-3, 1) for fuel in (tank.fuel_m3, pond.fuel_m3)]
    assert gallons[1] > 5 * gallons[0]
    finding = work_said(work(setup)).finding
    assert f"To fill the orchard tank it runs 27 min and burns {gallons[0]} gal." in finding
    said = times_said(times(setup), curvelab.solve(setup))
    facts = [row for table in said.others for row in table.rows if row[0].startswith("Fuel")]
    assert facts == [("Fuel to bring Mill pond down to 18 in", f"{gallons[1]} gal")]


@pytest.mark.parametrize("name", ["seepage-pit", "swimming-pool", "campground-tank"])
def test_where_one_thing_is_done_both_tabs_name_it_alike(name: str):
    setup = demo(name)
    said = times_said(times(setup), curvelab.solve(setup))
    ((head, fuel),) = (row for table in said.others for row in table.rows if row[0].startswith("Fuel"))
    job = head.removeprefix("Fuel to ")
    finding = work_said(work(setup)).finding
    assert f"To {job} it runs " in finding
    assert f" and burns {fuel}." in finding


def test_an_engine_that_is_short_is_told_with_the_speed_it_holds_and_drawn_there():
    found = work(demo("high-camp"))
    said = work_said(found)
    assert said.rows[0].short
    assert "short of power" in said.finding
    assert said.picture is not None
    scene = engine_scene(found, said.picture, Width.WIDE)
    held, level = scene.spots[-1], scene.levels[0]
    assert held.y < level.y
    slowed = scene.curves[-1]
    assert np.interp(held.x, slowed.x, slowed.y) == pytest.approx(held.y, rel=5e-3)
    level_here = found.power.held
    assert level_here is not None
    assert held.y == pytest.approx(level.y * level_here.throttle, rel=2e-3)


def test_every_pump_has_its_row_and_what_is_alike_is_carried_together():
    several = RELAY.with_("pump.abreast", 2).with_("suction.leg.0.abreast", 2)
    said = work_said(work(several.with_("site.air_temperature", "100 degF")))
    assert [(row.name, row.where) for row in said.rows] == [
        ("2 × Ferrow 3", "at the water"),
        ("Ferrow 3", "in the line at 190 ft"),
    ]
    assert said.rows[1].short
    assert [row.cells[0] for row in said.loads if row.what == "Ferrow 3"] == ["3"]
    assert "it will slow down" in said.finding
    loads = carry(RELAY).loads
    assert loads[0].count == 2


@pytest.mark.parametrize(
    ("name", "words"),
    [("mill-pond-september", "Nothing flows here"), ("ridge-tank", "Nothing flows here")],
)
def test_where_nothing_flows_nobody_can_tell(name: str, words: str):
    said = work_said(work(demo(name)))
    assert said.finding.startswith(words)
    assert said.brief == "nothing flows"
    assert said.rows[0].cells[0] == "–"


def test_what_nobody_tested_is_said():
    """Two of them share so little flow that each runs under the first efficiency on its sheet, 60 gal/min."""
    low = demo("mill-pond").with_("pump.abreast", 2).with_("discharge.leg.0.size", "2 in")
    found = work(low)
    assert found.power.pumps[0].flow_m3_s / 2 < 60 * 6.309e-5
    assert "Nobody tested what the Ferrow 3 asks at this flow." in work_said(found).finding


@pytest.mark.parametrize("width", Width)
@pytest.mark.parametrize("units", ["us", "metric"])
@pytest.mark.parametrize("setup", [demo("mill-pond"), demo("high-camp"), RELAY, demo("seepage-pit")])
def test_the_picture_has_room_for_its_words(setup: curvelab.Setup, units: str, width: Width):
    one = setup.with_("units", units)
    told = POWER.ask(show(one, CATALOGUE), CATALOGUE)
    assert told.drawn is not None
    picture = PlainPicture("power", engine_scene, width)
    picture.update(*told.drawn)
    assert picture.omitted == ()
    found, words = told.drawn
    scene = engine_scene(found, words, width)
    size = PLAIN[width]
    assert plain_names(scene, (float(size.width), float(size.height))).omitted == ()
    for spot in scene.spots:
        assert 0.0 < spot.x <= scene.across.end
        assert 0.0 < spot.y <= scene.up.end


def test_the_point_lies_on_the_curve():
    found = work(demo("mill-pond"))
    said = work_said(found)
    assert said.picture is not None
    scene = engine_scene(found, said.picture, Width.WIDE)
    curve, (spot,) = scene.curves[0], scene.spots
    assert np.interp(spot.x, curve.x, curve.y) == pytest.approx(spot.y, rel=1e-3)
    asked = power_of(demo("mill-pond")).shaft_power_w
    assert asked is not None
    assert spot.y == pytest.approx(asked / HP, rel=1e-6)


def test_the_tab_has_the_airs_slider():
    assert POWER.rows is not None
    ((group,),) = ([*POWER.rows(demo("mill-pond"), CATALOGUE)],)
    assert [row["path"] for row in group["rows"]] == ["site.air_temperature"]
