"""What is emptied, filled, wanted and in doubt, set by the studies' own controls, without a browser."""

from itertools import product
from typing import Any

import pytest

import curvelab
from curvelab.app import setup_column
from curvelab.app.edits import Edit, change
from curvelab.app.state import AppState
from curvelab.app.studies.tabs import study_rows
from curvelab.app.water_edits import SHAPES
from curvelab.app.water_rows import clock_rows, doubt_rows
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import decode, encode
from curvelab.model.setup import Setup
from curvelab.studies.clock import clock
from curvelab.units import System

CATALOGUE = default_catalogue()
JOBS = sorted(CATALOGUE.setups)
BARE = CATALOGUE.setups["box-figure"]
POND = CATALOGUE.setups["mill-pond"]
FT = 0.3048


def typed(setup: Setup, path: str, text: str) -> Setup:
    return change(setup, Edit("type", path, text), CATALOGUE)


def picked(setup: Setup, path: str, value: Any) -> Setup:
    return change(setup, Edit("pick", path, value), CATALOGUE)


def shown(setup: Setup) -> dict[str, Any]:
    groups = [group for groups in study_rows(setup, CATALOGUE).values() for group in groups]
    return setup_column.values(setup, groups, CATALOGUE)


def options(setup: Setup, path: str) -> list[str]:
    rows = [row for group in clock_rows(setup, CATALOGUE) for row in group["rows"] if row["path"] == path]
    return [value for value, _ in rows[0]["options"]]


@pytest.mark.parametrize(("path", "units"), list(product(SHAPES, System)))
def test_every_shape_that_is_offered_is_taken_and_lives_in_the_link(path: str, units: System):
    setup = BARE.with_("units", str(units))
    for shape in options(setup, path):
        setup = picked(setup, path, shape)
        section = getattr(setup, path.partition(".")[0])
        assert (section.shape if section is not None else "") == shape
        assert decode(encode(setup, catalogue=CATALOGUE), CATALOGUE).setup == setup
        if section is not None:
            assert clock(setup, CATALOGUE).duration_s is not None
    assert getattr(picked(setup, path, ""), path.partition(".")[0]) is None


def test_a_new_shape_keeps_all_that_is_no_size():
    before = POND.with_("source.inflow", "15 gpm").with_("source.stop", "1 ft")
    after = picked(before, "source.shape", "box").source
    assert before.source is not None
    assert after is not None
    for name in ("name", "depth", "stop", "inflow", "cover", "fastest"):
        assert getattr(after, name) == getattr(before.source, name)
    again = picked(picked(before, "source.shape", "box"), "source.shape", "pond").source
    assert again is not None
    assert again.depth.si <= again.greatest_level_m


def test_a_shape_too_shallow_for_the_water_is_made_as_deep():
    deep = picked(picked(BARE, "source.shape", "box"), "source.shape", "box").with_("source.depth", "20 ft")
    pit = picked(deep, "source.shape", "frustum").source
    assert pit is not None
    assert pit.full_depth is not None
    assert pit.full_depth.si == pytest.approx(20 * FT)


@pytest.mark.parametrize("job", JOBS)
def test_every_row_shows_what_the_setup_has_and_types_back_as_it_shows(job: str):
    setup = CATALOGUE.setups[job]
    values = shown(setup)
    for group in (*clock_rows(setup, CATALOGUE), *doubt_rows(setup, CATALOGUE)):
        for row in group["rows"]:
            if row["kind"] != "number":
                continue
            number, text = values[row["path"]]
            if text == "":
                assert row["empty"]
                assert number == 0.0
            elif number != 0.0:
                again = typed(setup, row["path"], text)
                assert shown(again)[row["path"]][1] == text


def test_a_number_counts_in_the_unit_that_stands_behind_it():
    setup = typed(POND.with_("units", "metric"), "source.inflow", "60")
    assert setup.source is not None
    assert getattr(setup.source.inflow, "si", None) == pytest.approx(1e-3)
    area = typed(POND, "source.area", "5000")
    own = typed(POND, "source.inflow", "2 L/s")
    assert own.source is not None
    assert getattr(own.source.inflow, "si", None) == pytest.approx(2e-3)
    assert area.source is not None
    assert getattr(area.source.area, "si", None) == pytest.approx(5000 * FT**2)


def test_an_emptied_box_is_no_longer_stated():
    setup = typed(POND, "source.cover", "")
    assert setup.source is not None
    assert setup.source.cover is None
    assert typed(POND, "doubt.rise", "").doubt == POND.with_("doubt.rise", None).doubt
    assert typed(BARE, "doubt.rise", "") is BARE
    assert typed(typed(BARE, "doubt.rise", "3"), "doubt.rise", "").doubt is not None


def test_a_volume_wanted_brings_its_time_and_takes_it_along():
    setup = typed(BARE, "goal.volume", "5000")
    assert setup.goal.volume is not None
    assert setup.goal.time is not None
    assert setup.goal.volume.si == pytest.approx(5000 * 3.785411784e-3)
    assert setup.goal.time.si == 3600.0
    assert typed(setup, "goal.time", "45 min").goal.volume == setup.goal.volume
    gone = typed(setup, "goal.time", "")
    assert (gone.goal.volume, gone.goal.time) == (None, None)
    by_time = typed(POND, "goal.time", "2")
    assert by_time.goal.volume is not None
    assert by_time.goal.flow == POND.goal.flow


def test_a_start_is_one_of_the_half_hours_and_goes_back():
    early = picked(POND, "job.start", "6:30")
    assert early.job.start == "6:30"
    assert "6:30" in options(early, "job.start")
    assert "" not in options(early, "job.start")
    assert "9:00" in options(early, "job.start")
    assert options(POND, "job.start").count("") == 1
    assert picked(early, "job.start", "").job.start is None
    odd = POND.with_("job.start", "7:45")
    assert "7:45" in options(odd, "job.start")


def test_doubts_state_their_own_kind():
    setup = typed(typed(BARE, "doubt.lift", "1.5"), "doubt.bore", "4")
    assert setup.doubt is not None
    assert setup.doubt.lift is not None
    assert setup.doubt.bore is not None
    assert (setup.doubt.lift.si, setup.doubt.bore.si) == (pytest.approx(1.5 * FT), pytest.approx(0.04))


def test_what_is_refused_stands_under_its_row():
    state = AppState(CATALOGUE, POND)
    state.apply([Edit("type", "source.depth", "99")], held=False)
    groups = [group for groups in study_rows(POND, CATALOGUE).values() for group in groups]
    said = setup_column.by_row(state.faults, groups)
    assert "greatest depth" in said["source.depth"]
    assert state.setup == POND


def test_a_picture_of_a_pond_typed_from_nothing():
    """From a bare setup to an answer with three edits, as somebody at the counter would."""
    setup = picked(BARE, "source.shape", "cylinder")
    setup = typed(typed(setup, "source.diameter", "30"), "source.depth", "6")
    found = clock(setup, CATALOGUE)
    assert found.ends in {"target", "strainer"}
    volume = 3.141592653589793 / 4 * (30 * FT) ** 2 * (6 * FT - (found.final_level_m or 0.0))
    assert found.volume_m3 == pytest.approx(volume, rel=1e-6)
    assert curvelab.solve(setup).flow_m3_s == curvelab.solve(BARE).flow_m3_s
