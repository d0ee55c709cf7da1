"""Four answers: what is claimed is solved, nothing better was passed over, and all that was taken is said."""

from dataclasses import replace
from functools import cache
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import curvelab
from curvelab.errors import InputError, StudyError
from curvelab.model.catalogue import default_catalogue
from curvelab.model.setup import Setup
from curvelab.report.begin import begun_words, taken, verdict
from curvelab.studies.begin import Begun, From, Wish, begin
from curvelab.studies.kit import kit_of
from curvelab.studies.result import State
from curvelab.units import Quantity, System, parse

CATALOGUE = default_catalogue()
FOOT = 0.3048
GPM = 6.30901964e-5
DANGERS = {"over-rated", "vacuum-over-rated", "short-of-power"}


def wish(source: str = "pond", *, lift: float, rise: float, far: float, gpm: float = 0.0, **more: Any) -> Wish:
    return Wish(
        source=From(source),
        lift_m=lift * FOOT,
        rise_m=rise * FOOT,
        distance_m=far * FOOT,
        flow_m3_s=gpm * GPM,
        altitude_m=640.0,
        temperature_k=286.0,
        **more,
    )


wishes = st.builds(
    wish,
    st.sampled_from([str(source) for source in From]),
    lift=st.integers(-5, 30),
    rise=st.integers(-40, 120),
    far=st.integers(20, 1500),
    gpm=st.sampled_from([0.0, 10.0, 40.0, 100.0, 180.0, 300.0]),
)


def runs_well(setup: Setup) -> bool:
    result = curvelab.solve(setup)
    codes = {warning.code for warning in result.warnings}
    guess = result.cavitation_flow_estimate_m3_s
    starved = guess is not None and guess.low is not None and guess.low < (result.flow_m3_s or 0.0)
    return result.state is State.SOUND and not codes & DANGERS and not starved


@given(wishes)
@settings(max_examples=25, deadline=None)
def test_every_answer_is_as_claimed(asked: Wish):
    begun = begin(asked, CATALOGUE)
    solved = curvelab.solve(begun.setup)
    assert solved == begun.result
    assert begun.well == runs_well(begun.setup)
    if begun.reached:
        assert begun.well
        assert (solved.flow_m3_s or 0.0) >= asked.wanted_m3_s * (1 - 1e-9)
    kit = kit_of(begun.setup, CATALOGUE)
    assert begun.cost_day == pytest.approx(kit.cost_day)


@given(wishes, st.integers(1, 300), st.integers(1, 40))
@settings(max_examples=20, deadline=None)
def test_longer_or_higher_never_takes_less_than_is_asked(asked: Wish, longer: int, higher: int):
    harder = replace(asked, distance_m=asked.distance_m + longer * FOOT, rise_m=asked.rise_m + higher * FOOT)
    for one in (asked, harder):
        begun = begin(one, CATALOGUE)
        short = begun.well and (begun.result.flow_m3_s or 0.0) < one.wanted_m3_s
        assert begun.reached != (short or not begun.well)


@cache
def others() -> list[tuple[str, str, str, str, str]]:
    """A set from every corner of the yard whose hose suits its ports, by another route than the study's."""
    return [
        (pump.id, make, size.size.text, lay, wide.size.text)
        for pump in CATALOGUE.pumps.values()
        for make in ("suction-smooth", "suction-corrugated")
        for size in CATALOGUE.hoses[make].size
        if pump.inlet is not None and 0.99 <= size.size.si / pump.inlet.si <= 1.51
        for lay in ("lay-flat-light", "lay-flat-medium")
        for wide in CATALOGUE.hoses[lay].size
        if pump.outlet is not None and 0.6 <= wide.size.si / pump.outlet.si <= 1.51
    ]


@given(wishes, st.data())
@settings(max_examples=25, deadline=None)
def test_nothing_better_was_passed_over(asked: Wish, data: st.DataObject):
    begun = begin(asked, CATALOGUE)
    pump, make, size, lay, wide = data.draw(st.sampled_from(others()))
    other = begun.setup.with_("pump.id", pump)
    try:
        for side, hose, wanted in (("suction", make, size), ("discharge", lay, wide)):
            other = other.with_(f"{side}.leg.0.hose", hose).with_(f"{side}.leg.0.size", wanted)
        result = curvelab.solve(other)
    except InputError:
        return  # the strainer does not come in that size
    carries = asked.source in (From.POND, From.TANK, From.WELL) or "flood-water" in CATALOGUE.pumps[pump].carries
    record = CATALOGUE.pumps[pump]
    passes = record.solids is None or begun.setup.job.solids is None or record.solids.si >= begun.setup.job.solids.si
    if not (carries and passes and runs_well(other)):
        return
    assert begun.well, "something runs well"
    flow, cost = result.flow_m3_s or 0.0, kit_of(other, CATALOGUE).cost_day or 0.0
    if asked.wanted_m3_s == 0.0:
        assert (begun.result.flow_m3_s or 0.0) >= 0.9 * flow - 1e-12
    elif flow >= asked.wanted_m3_s:
        assert begun.reached
        assert (begun.cost_day or 0.0) <= cost + 1e-9
    elif not begun.reached:
        assert (begun.result.flow_m3_s or 0.0) >= flow - 1e-12


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("source", From)
def test_every_source_in_every_system_of_units_with_its_place(source: From, system: System):
    begun = begin(wish(str(source), lift=8, rise=10, far=200, gpm=40, units=system), CATALOGUE)
    assert begun.reached
    setup = begun.setup
    assert setup.units is system
    assert setup.job.place == {"cellar": "building", "flood": "flood", "well": "pit"}.get(str(source), "open")
    assert setup.suction.lift.si == pytest.approx(8 * FOOT, abs=1e-6)
    assert any(CATALOGUE.fittings[name].at_suction_end for name in setup.suction.leg[0].fittings)
    assert setup.suction.leg[0].length.si >= setup.suction.lift.si
    assert setup.discharge.leg[0].length.si >= 200 * FOOT - 1e-6


def test_a_volume_in_a_time_asks_its_flow_and_stands_as_the_goal():
    volume, time = parse("5000 gal", Quantity.VOLUME), parse("1 h", Quantity.TIME)
    begun = begin(replace(wish(lift=8, rise=10, far=200), volume_m3=volume, time_s=time), CATALOGUE)
    assert (begun.result.flow_m3_s or 0.0) >= volume / time
    assert begun.setup.goal.flow_m3_s == pytest.approx(volume / time)


def test_too_deep_to_draw_is_said_and_the_pump_that_draws_furthest_is_shown():
    begun = begin(wish("well", lift=40, rise=0, far=100, gpm=20), CATALOGUE)
    assert not begun.well
    assert begun.result.state is State.NO_PRIME
    furthest = max(pump.priming_lift.si for pump in CATALOGUE.pumps.values() if pump.priming_lift is not None)
    record = CATALOGUE.pumps[begun.setup.pump.id or ""]
    assert record.priming_lift is not None
    assert record.priming_lift.si == furthest
    assert verdict(begun, CATALOGUE).startswith("No pump here runs well there.")
    assert "won’t prime" in verdict(begun, CATALOGUE)


def test_too_much_asked_is_said_with_the_most_that_runs_well():
    begun = begin(wish("flood", lift=4, rise=4, far=100, gpm=5000), CATALOGUE)
    assert begun.well
    assert not begun.reached
    words = verdict(begun, CATALOGUE)
    assert "No pump here gives 5,000 US gal/min" in words
    assert "Ferrow 4" in words


@pytest.mark.parametrize("field", ["lift_m", "rise_m", "distance_m"])
@pytest.mark.parametrize("value", [1e6, float("nan")])
def test_slips_of_the_pen_are_refused_by_name(field: str, value: float):
    with pytest.raises(InputError) as caught:
        begin(replace(wish(lift=8, rise=10, far=200), **{field: value}), CATALOGUE)
    assert [fault.field for fault in caught.value.faults] == [field.removesuffix("_m")]


def test_a_yard_without_hose_says_so():
    with pytest.raises(StudyError, match="no pump of this yard"):
        begin(wish(lift=8, rise=10, far=200), replace(CATALOGUE, hoses={}))


def test_plain_types_for_json():
    told = begin(wish(lift=8, rise=10, far=200), CATALOGUE).to_dict()
    assert told["format"] == "curvelab-begin/1"
    assert told["wanted_m3_s"] is None
    assert told["reached"] is True


# --- words


@pytest.mark.parametrize("system", System)
def test_all_that_was_taken_is_said_in_the_units_shown(system: System):
    begun = begin(wish("river", lift=8, rise=10, far=200, gpm=40, units=system), CATALOGUE)
    words = taken(begun, CATALOGUE)
    pump = CATALOGUE.pumps[begun.setup.pump.id or ""].label
    for part in (pump, "trash strainer", "lay-flat", "open at its end", "above the sea", "a day", "Change anything."):
        assert part in words
    feet = system is not System.METRIC
    assert ("200 ft of" in words) == feet
    assert ("61 m of" in words) != feet


@given(wishes)
@settings(max_examples=15, deadline=None)
def test_the_verdict_says_the_flow_that_is_claimed_and_no_word_that_is_shunned(asked: Wish):
    begun: Begun = begin(asked, CATALOGUE)
    first, second = begun_words(begun, CATALOGUE)
    assert first.startswith("No pump here") != begun.reached
    assert ("runs well" in first) or not begun.well
    for word in ("optimal", "insufficient", "exceeds", "error", "warning", "nan", "None"):
        assert word not in f"{first} {second}"
