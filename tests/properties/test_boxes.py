"""What a box shows is taken when it is typed back, and a level that looks like the brim is the brim: in any units."""

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from curvelab.app import setup_column
from curvelab.app.edits import Edit, change
from curvelab.app.rows import figure, flat
from curvelab.app.studies.tabs import study_rows
from curvelab.model.fields import field_of
from curvelab.model.setup import Setup
from curvelab.units import Quantity, System, parse
from tests.properties.setups import CATALOGUE, setups

POND = CATALOGUE.setups["mill-pond"]
MANY = settings(deadline=None, suppress_health_check=[HealthCheck.too_slow])
depths = st.tuples(st.floats(1.5, 9.0), st.sampled_from(["m", "ft"])).map(lambda n: f"{n[0]:.4f} {n[1]}")


def typed(setup: Setup, path: str, text: str) -> Setup:
    return change(setup, Edit("type", path, text), CATALOGUE)


def boxes(setup: Setup) -> list[str]:
    """Paths of every slider and box of the page that states something."""
    groups = [
        *setup_column.stations(setup, CATALOGUE),
        *[g for all_ in study_rows(setup, CATALOGUE).values() for g in all_],
    ]
    shown = setup_column.values(setup, groups, CATALOGUE)
    rows = [row["path"] for row in flat(groups) if row["kind"] in ("slider", "number")]
    points = [
        f"discharge.waypoint.{n}.{name}"
        for n in range(len(setup.discharge.waypoint))
        for name in ("distance", "height")
    ]
    return [*(path for path in rows if shown[path][1] != ""), *points]


@MANY
@given(setups(), st.sampled_from(System))
def test_whatever_is_shown_is_taken_when_it_is_typed_back(setup: Setup, system: System):
    setup = setup.with_("units", str(system))
    for path in boxes(setup):
        field, places = field_of(path)
        if field.get(setup, *places) is None:
            continue
        text = figure(setup, path)[1]
        again = typed(setup, path, text)
        assert figure(again, path)[1] == text, path
        assert again == setup, path


@MANY
@given(depths, st.sampled_from(System), st.sampled_from(["source", "receiver"]))
def test_brim_full_can_be_typed_as_it_is_shown(deep: str, system: System, at: str):
    name = "depth" if at == "source" else "full"
    shape = {"shape": "pond", "area": "5000 ft2", "power": 1.0, "full_depth": deep, name: "0.1 ft"}
    setup = POND.with_(at, shape).with_("units", str(system))
    shown = figure(setup, f"{at}.full_depth")[1]
    full = typed(setup, f"{at}.{name}", shown)
    assert figure(full, f"{at}.{name}")[1] == shown
    section = getattr(full, at)
    assert getattr(section, name).si == pytest.approx(parse(deep, Quantity.LENGTH), rel=1e-9)
    assert typed(full, f"{at}.{name}", "0.3") != full
    if at == "source":
        assert typed(full, "source.stop", shown).source == full.with_("source.stop", deep).source


@MANY
@given(depths, st.sampled_from(System))
def test_a_brim_lowered_to_what_the_water_shows_stands_at_the_water(deep: str, system: System):
    water = parse(deep, Quantity.LENGTH)
    shape = {"shape": "pond", "area": "5000 ft2", "power": 1.0, "full_depth": "40 ft", "depth": deep}
    setup = POND.with_("source", shape).with_("units", str(system))
    lowered = typed(setup, "source.full_depth", figure(setup, "source.depth")[1])
    assert lowered.source is not None
    assert lowered.source.greatest_level_m == pytest.approx(water, rel=1e-9)


def test_three_figures_that_somebody_stated_stand_as_stated():
    assert figure(POND, "source.depth")[1] == figure(POND, "source.full_depth")[1] == "4.25"
    assert figure(POND.with_("units", "metric"), "source.depth")[1] == "1.3"
    assert figure(POND.with_("site.temperature", "15.5 degC").with_("units", "metric"), "site.temperature")[1] == "15.5"
    assert figure(POND.with_("suction.lift", "12.04 ft"), "suction.lift")[1] == "12"
    assert typed(POND.with_("suction.lift", "12.04 ft"), "suction.lift", "12.0") == POND.with_("suction.lift", "12 ft")
