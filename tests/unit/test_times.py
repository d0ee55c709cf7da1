"""How long it takes, as the page says and draws it: words, tables, marks on the levels, labels that lie on nothing."""

import re
from functools import cache
from itertools import product

import numpy as np
import pytest

import curvelab
from curvelab.app.state import show
from curvelab.app.studies.times import CLOCK
from curvelab.figures.times import TimesPicture
from curvelab.layout.sizes import Width
from curvelab.layout.times import TIMES, TimesScene, TimesWords, drawable, times_names, times_scene
from curvelab.report.slow_tables import clocks_text, power_text
from curvelab.report.times import TimesSaid, times_said
from curvelab.studies.clock import clock
from curvelab.studies.clock_words import duration
from curvelab.studies.power import power_of
from curvelab.studies.times import Times, clocks, times
from curvelab.units import System
from tests.unit.slow_cases import GAL, deep, demo

CATALOGUE = curvelab.default_catalogue()
STEPS = {"time": ["0 h", "1 h", "2 h"], "flow": ["0 gpm", "90 gpm", "10 gpm"]}
OVER = {"time": ["0 h", "1 h", "2 h", "3 h"], "flow": ["0 gpm", "0 gpm", "900 gpm", "0 gpm"]}
CASES = {
    "pond and tank": demo("mill-pond"),
    "days": demo("cellar"),
    "many refuels": demo("lower-pond"),
    "tank alone": demo("fertiliser"),
    "starved on the way": deep(),
    "steps of the inflow": demo("mill-pond").with_("receiver", None).with_("source.inflow", STEPS),
    "runs over": demo("mill-pond").with_("receiver", None).with_("source.inflow", OVER),
    "held back later": demo("mill-pond").with_("receiver", None).with_("source.fastest", "10 ft/day"),
    "settles": deep().with_("source.inflow", "100 gpm"),
    "pit": demo("seepage-pit"),
    "pool": demo("swimming-pool"),
    "starved all the way": demo("mill-pond-august"),
}
EACH = list(product(CASES, (System.US, System.METRIC), Width))


def said_of(setup: curvelab.Setup) -> tuple[Times, TimesSaid]:
    found = times(setup, CATALOGUE)
    return found, times_said(found, curvelab.solve(setup))


@cache
def _case(case: str, system: System) -> tuple[Times, TimesSaid]:
    return said_of(CASES[case].with_("units", str(system)))


def frame(width: Width) -> tuple[float, float]:
    return float(TIMES[width].width), float(TIMES[width].height)


def scene_of(case: str, system: System, width: Width) -> tuple[TimesScene, TimesWords]:
    found, said = _case(case, system)
    assert drawable(found)
    assert said.picture is not None
    return times_scene(found, width, frame(width)), said.picture


@pytest.mark.parametrize(("case", "system", "width"), EACH)
def test_words_lie_in_the_frame_on_no_other_and_on_no_line(case: str, system: System, width: Width):
    scene, words = scene_of(case, system, width)
    named = times_names(scene, words, frame(width))
    boxes = [place.box for place in named.places.values()]
    across, up = frame(width)
    for at, box in enumerate(boxes):
        assert 0.0 <= box.left < box.right <= across
        assert 0.0 <= box.bottom < box.top <= up
        assert not any(box.overlaps(other) for other in boxes[:at])
        for line in scene.lines:
            fine = np.linspace(0.0, 1.0, 3000)
            x = np.interp(fine, np.linspace(0.0, 1.0, line.time.size), line.time) / scene.across.end * across
            y = np.interp(fine, np.linspace(0.0, 1.0, line.time.size), line.level) / scene.up.end * up
            assert not ((x > box.left + 1) & (x < box.right - 1) & (y > box.bottom + 1) & (y < box.top - 1)).any()
    last = f"event{max(at for at, mark in enumerate(scene.marks) if mark.code != 'full' or len(scene.lines) == 1)}"
    assert last in named.places, "how it ends always has its words"


def test_marks_lie_on_their_line_and_at_their_time():
    found, _ = said_of(CASES["pond and tank"])
    scene, _ = scene_of("pond and tank", System.US, Width.WIDE)
    pond, tank = scene.lines
    assert scene.time_unit == "h"
    assert [mark.code for mark in scene.marks] == ["water", "refuel", "refuel", "refuel", "strainer", "full"]
    for mark in scene.marks[:-1]:
        assert mark.level == pytest.approx(float(np.interp(mark.time, pond.time, pond.level)))
    assert found.filled is not None
    assert scene.marks[-1].time == pytest.approx((found.filled.duration_s or 0.0) / 3600.0)
    assert scene.marks[-1].level == pytest.approx(8.51, abs=0.01)
    assert scene.low == pytest.approx(1.5)
    assert (float(tank.level[0]), float(pond.level[0])) == (pytest.approx(0.0), pytest.approx(4.25))


def test_time_axis_takes_minutes_hours_and_days():
    units = {
        case: scene_of(case, System.US, Width.WIDE)[0].time_unit for case in ("tank alone", "pond and tank", "days")
    }
    assert units == {"tank alone": "min", "pond and tank": "h", "days": "days"}


def test_many_refuels_share_one_name():
    scene, words = scene_of("many refuels", System.US, Width.WIDE)
    assert sum(mark.code == "refuel" for mark in scene.marks) == 61
    assert words.refuels[0].startswith("61 refuels, one every ")
    assert not any(code == "refuel" for code, _, _ in words.events)


def test_finding_table_and_picture_tell_the_same():
    found, said = said_of(CASES["pond and tank"])
    assert found.emptied is not None
    assert said.finding == found.emptied.sentences[0]
    assert said.brief == "pond 5 h 15 min"
    assert said.line is not None
    assert said.line.text == "5 h 15 min pond down to 18 in, 3 refuels"
    pool = said_of(CASES["pool"])[1].line
    assert pool is not None
    assert pool.text == "14 h 25 min empties the pool, 2 refuels"
    assert said_of(CASES["tank alone"])[1].line is None
    assert "The orchard tank is full in about 27 min" in said.under[0]
    table = said.course[0]
    assert table.heads == ("After", "What happens", "At", "Pond, ft", "Lift, ft", "Flow, US gal/min")
    happens = {row[1]: row for row in table.rows if row[1]}
    assert happens["start"][3:] == ("4.2", "12", "186")
    assert happens["least over the strainer"][:3] == ("5 h 15 min", "least over the strainer", "2:15 pm")
    assert happens["The orchard tank is full"][0] == "27 min"
    assert sum(row[1] == "refuel" for row in table.rows) == found.emptied.refuels


def test_first_water_with_and_without_a_foot_valve():
    dry = next(table for table in said_of(demo("mill-pond"))[1].others if table.caption.startswith("First water"))
    wet = next(table for table in said_of(demo("mill-pond-foot-valve"))[1].others if table.caption.startswith("First"))
    assert [row[2] for row in dry.rows] == ["at once", "35 s"]
    assert dry.rows[0][1].endswith(" s")
    assert wet.rows[0][1:] == ("too high to draw", "at once")
    assert "(estimate)" in dry.caption


@pytest.mark.parametrize("name", ["mill-pond", "mill-pond-2in", "mill-pond-august", "campground-tank", "lower-pond"])
def test_first_water_is_one_figure_wherever_it_is_printed(name: str):
    """Table, the way's rows, the picture, the command's sentence and list: none rounded in a way of its own."""
    setup = demo(name)
    found, said = said_of(setup)
    table = next(table for table in said.others if table.caption.startswith("First water"))
    after = table.rows[1][1]
    assert [row[0] for row in said.course[0].rows if row[1].startswith("water comes out")] == [after]
    assert said.picture is not None
    names = {words for code, _, words in said.picture.events if code == "water"}
    assert names == {(f"first water: {after}", "first water")}
    power = power_of(setup)
    assert f"after about {after} (estimate)" in power.sentence
    listed = power_text(power, setup)
    assert re.search(rf"draws the water up dry in +{re.escape(table.rows[0][1])}\n", listed)
    assert re.search(rf"fills the hose in \(estimate\) +{re.escape(table.rows[1][2])}\n?", listed)
    if after.endswith(" s"):  # by hand: no more than half a second off
        seconds = (found.prime_dry_s or 0.0) + (found.hose_s or 0.0)
        assert abs(float(after.removesuffix(" s")) - seconds) <= 0.5


def test_a_volume_in_a_time_says_the_flow_it_takes_and_whether_this_does_it():
    setup = demo("box-figure").with_("goal", {"volume": "5000 gal", "time": "45 min"})
    _, said = said_of(setup)
    assert any(
        "5,000 gal in 45 min takes 111 gal/min; this gives 117 gal/min: it does it." in line for line in said.under
    )
    rows = next(table for table in said.others if table.caption == "All in all").rows
    facts = {row[0]: row[1] for row in rows}
    assert facts["That takes"] == "111 gal/min"
    slow = said_of(setup.with_("goal.time", "30 min"))[1]
    assert any("takes 167 gal/min" in line and "it does not do it" in line for line in slow.under)


def test_without_pond_or_tank_an_hour_and_a_drum_are_said():
    found, said = said_of(demo("box-figure"))
    assert found.course is None
    assert said.picture is None
    assert said.finding.startswith("An hour gives 7,010 US gal; a 55 gal drum fills in 28 s.")
    assert said.brief == "drum 28 s"


@pytest.mark.parametrize("job", sorted(CATALOGUE.setups))
def test_the_tab_answers_for_every_job_in_some_unit(job: str):
    units = list(System)[len(job) % len(System)]
    setup = CATALOGUE.setups[job].with_("units", str(units))
    told = CLOCK.ask(show(setup, CATALOGUE), CATALOGUE)
    assert told.words["brief"]
    assert "finding" in told.words["finding"]
    assert "nan" not in " ".join(told.words.values())
    assert len(told.words["brief"]) <= 34
    if told.drawn is not None:
        picture = TimesPicture(Width.WIDE)
        picture.update(*told.drawn)
        assert picture.plot.html_attributes["role"] == "img"


def test_a_pump_that_does_not_prime_says_only_that():
    _, said = said_of(demo("mill-pond-september"))
    assert said.finding == clock(demo("mill-pond-september")).sentence
    assert said.under == ()
    assert said.picture is None


@pytest.mark.parametrize("case", ["pond and tank", "days", "tank alone"])
@pytest.mark.parametrize("rest", [{}, {"discharge.leg.0.size": "2 in"}])
def test_the_command_says_of_pond_and_tank_what_the_page_says(case: str, rest: dict[str, str]):
    setup = CASES[case]
    for path, value in rest.items():
        setup = setup.with_(path, value)
    found, said = said_of(setup)
    text = clocks_text(clocks(setup), setup)
    for clock_found in (found.emptied, found.filled):
        if clock_found is not None and clock_found.duration_s:
            assert duration(clock_found.duration_s) in text
    assert text.count("through the pump") == (2 if case == "pond and tank" else 1)
    named = [sentence for sentence in (said.finding, *said.under) if sentence.startswith(("Mill pond", "The orchard"))]
    assert len(named) == 2 if case == "pond and tank" else len(named) < 2
    assert all(sentence.split(":")[0] in text for sentence in map(_untimed, named))


def _untimed(sentence: str) -> str:
    """Less the time of day at which it is done, which the command doesn't say."""
    return re.sub(r": about [^,.]+ if you start at [^,.]+", "", sentence)


def test_a_tank_that_the_pond_does_not_fill_gets_what_there_is():
    large = demo("mill-pond").with_("receiver", {"shape": "box", "length": "40 m", "width": "40 m", "full": "3 m"})
    text = clocks_text(clocks(large), large)
    assert "The tank gets no more than 58,400 gal of it" in text
    assert text.startswith("Mill pond is down to 18 in")
    both = clocks(large).to_dict()
    assert both["emptied"]["format"] == both["format"] == "curvelab-clock/1"
    assert both["emptied"]["receiver_level_m"][0] is None
    assert both["receiver_level_m"][-1] == pytest.approx(58400 * GAL / 1600.0, rel=1e-3)


def test_what_does_not_prime_is_said_once():
    setup = demo("mill-pond-september")
    assert clocks_text(clocks(setup), setup).count("Won't prime") == 1
