"""The table of fields: complete, within what files allow, and true to the ranges met in the trade."""

import math
from collections.abc import Iterator
from dataclasses import fields as names_of
from itertools import pairwise

import pytest

from curvelab.errors import InputError, UnknownNameError
from curvelab.hydraulics.plan import Legs, Plan, Pumps, Waypoints
from curvelab.model.amount import Amount, Count, Kind, Number
from curvelab.model.catalogue import default_catalogue
from curvelab.model.fields import BY_PATH, FIELDS, Field, Limit, Station, field_of, range_of, value_at
from curvelab.model.pairs import key_of, path_of
from curvelab.model.section import Section, section_in
from curvelab.model.setup import Setup
from curvelab.model.span import Span
from curvelab.units import Quantity, System, parse
from curvelab.units.factors import UNITS

SLIDERS = [f for f in FIELDS if f.page]
FOOT, US_GALLON = 0.3048, 3.785411784e-3  # exact by definition


def mill_pond() -> Setup:
    return default_catalogue().setups["mill-pond"]


def leaves(owner: type[Section] = Setup, at: str = "") -> Iterator[str]:
    """Every path of a setup that holds a value, list places as ``*``; a pump's record is data, no field."""
    for name, info in owner.model_fields.items():
        if name in ("format", "record"):
            continue
        inner = section_in(info.annotation)
        path = f"{at}{name}"
        if inner is None or "Amount" in str(info.annotation):
            yield path
        if inner is not None:
            many = "tuple" in str(info.annotation)
            yield from leaves(inner, f"{path}.*." if many else f"{path}.")


def test_every_field_of_a_setup_stands_in_the_table_once():
    assert sorted(f.path for f in FIELDS) == sorted(leaves())


def test_keys_are_apart_and_lead_back():
    assert len({f.key for f in FIELDS}) == len(FIELDS)
    for field in FIELDS:
        path = field.at(*([7] * field.path.count("*")))
        assert path_of(key_of(path)) == path
        assert path_of(path) == path


@pytest.mark.parametrize("key", ["", "x", "s0", "s.len", "lift0", "suction", "suction.lift.deep", "d0.", "d1234.len"])
def test_other_keys_name_nothing_that_is_a_value(key: str):
    path = path_of(key)
    assert path is None or path not in BY_PATH


@pytest.mark.parametrize(
    ("path", "us", "metric"),
    [
        ("suction.lift", (-10, 26), (-3, 8)),
        ("discharge.rise", (-100, 150), (-30, 45)),
        ("discharge.waypoint.*.height", (-100, 150), (-30, 45)),
        ("suction.leg.*.length", (5, 60), (1.5, 18)),
        ("discharge.leg.*.length", (25, 2000), (10, 600)),
        ("site.altitude", (0, 10_000), (0, 3000)),
        ("site.temperature", (33, 140), (1, 60)),
        ("pump.throttle", (40, 105), (40, 105)),
    ],
)
def test_sliders_span_what_is_met_in_the_trade(path: str, us: tuple[float, float], metric: tuple[float, float]):
    field = BY_PATH[path]
    for system, wanted in ((System.US, us), (System.METRIC, metric)):
        shown = range_of(field, system)
        assert (shown.low, shown.high) == wanted


def test_the_lift_goes_in_half_feet_and_tenths_of_a_metre():
    assert {b - a for a, b in neighbours(BY_PATH["suction.lift"], System.US)} == {0.5}
    assert {round(b - a, 9) for a, b in neighbours(BY_PATH["suction.lift"], System.METRIC)} == {0.1}


def neighbours(field: Field, system: System) -> list[tuple[float, float]]:
    stops = range_of(field, system).stops()
    return list(pairwise(stops))


@pytest.mark.parametrize("system", System)
def test_steps_of_the_discharge_length_grow_with_it(system: System):
    steps = [b - a for a, b in neighbours(BY_PATH["discharge.leg.*.length"], system)]
    assert steps == sorted(steps)
    assert steps[-1] >= 10 * steps[0]
    assert len(steps) < 120


@pytest.mark.parametrize("field", SLIDERS, ids=lambda f: f.path)
@pytest.mark.parametrize("system", System)
def test_every_stop_is_a_value_that_a_file_may_hold(field: Field, system: System):
    shown = range_of(field, system)
    stops = shown.stops()
    assert (stops[0], stops[-1]) == (shown.low, shown.high)
    assert all(a < b for a, b in pairwise(stops))
    assert len(stops) <= 400
    leaf = field.leaf
    assert isinstance(leaf, (Kind, Number, Count))
    for stop in (stops[0], stops[len(stops) // 2], stops[-1]):
        if isinstance(leaf, Kind):
            leaf.read(Amount.of_si(shown.si(stop), leaf.quantity, system))
        else:
            leaf.typed(str(shown.si(stop)))
        assert math.isclose(shown.number(shown.si(stop)), stop, abs_tol=1e-9)


@pytest.mark.parametrize("field", [f for f in SLIDERS if f.path.startswith(("suction", "discharge", "site", "pump."))])
def test_each_span_is_a_whole_number_of_steps(field: Field):
    for span in field.page.values():
        start = span.low
        for up_to, step in span.steps:
            assert math.isclose((up_to - start) / step, round((up_to - start) / step), abs_tol=1e-9), field.path
            start = up_to


def test_a_value_from_a_file_widens_the_slider_and_keeps_its_place():
    rise = BY_PATH["discharge.rise"]
    shown = range_of(rise, System.US, 212.3 * FOOT)
    assert (shown.low, shown.high) == (-100, 213)
    number = shown.number(212.3 * FOOT)
    assert number in shown.stops(number)
    assert math.isclose(shown.si(number), 212.3 * FOOT)
    low = range_of(rise, System.US, -120.2 * FOOT)
    assert (low.low, low.high) == (-121, 150)
    assert range_of(rise, System.US, 150 * FOOT) == range_of(rise, System.US)
    assert len(range_of(BY_PATH["discharge.leg.*.length"], System.METRIC, 90_000.0).stops()) < 400


def test_a_number_on_a_stop_is_not_shown_twice():
    shown = range_of(BY_PATH["suction.lift"], System.METRIC)
    assert shown.stops(shown.number(parse("3.3 m", Quantity.LENGTH))) == shown.stops()


def test_temperature_is_shown_in_its_own_degrees():
    shown = {system: range_of(BY_PATH["site.temperature"], system) for system in System}
    assert shown[System.US].number(288.15) == pytest.approx(59.0)
    assert shown[System.METRIC].number(288.15) == pytest.approx(15.0)
    assert shown[System.IMPERIAL].symbol == "°C"
    assert shown[System.US].si(59.0) == pytest.approx(288.15)


def test_a_ratio_is_shown_in_percent():
    shown = range_of(BY_PATH["pump.throttle"], System.US, 0.873)
    assert (shown.symbol, shown.number(0.873)) == ("%", 87.3)
    assert shown.si(88.0) == pytest.approx(0.88)


def test_gallons_are_told_apart():
    goal = BY_PATH["goal.flow"]
    one = range_of(goal, System.US).si(100.0)
    assert one == pytest.approx(100 * US_GALLON / 60)
    assert range_of(goal, System.IMPERIAL).si(100.0) == pytest.approx(100 * 4.54609e-3 / 60)


def test_a_choice_has_no_slider():
    with pytest.raises(UnknownNameError, match=r"outlet\.kind: has no slider"):
        range_of(BY_PATH["outlet.kind"], System.US)


def test_fields_are_found_by_path():
    field, places = field_of("discharge.leg.1.length")
    assert (field.path, places, field.at(*places)) == ("discharge.leg.*.length", (1,), "discharge.leg.1.length")
    with pytest.raises(UnknownNameError, match=r'did you mean "suction\.lift"'):
        field_of("suction.lfit")


def test_values_are_read_and_set():
    setup = mill_pond()
    length = BY_PATH["discharge.leg.*.length"]
    assert length.si(setup, 0) == pytest.approx(300 * FOOT)
    assert length.si(setup, 5) is None
    longer = length.set(setup, 400 * FOOT, 0)
    assert value_at(longer, "discharge.leg.0.length").text == "400 ft"
    assert longer.discharge.rise == setup.discharge.rise
    assert length.set(setup, 120.0, 0, system=System.METRIC).discharge.leg[0].length.text == "120 m"
    assert BY_PATH["pump.throttle"].set(setup, 0.9).pump.throttle == 0.9
    assert BY_PATH["site.barometer"].si(setup) is None
    with pytest.raises(InputError, match=r"discharge\.leg\.0\.length"):
        length.set(setup, -1.0, 0)


def test_defaults_come_from_the_sections():
    assert BY_PATH["suction.margin"].default.text == "2 ft"
    assert BY_PATH["pump.wear"].default == 1.0
    assert BY_PATH["suction.lift"].default is None
    assert BY_PATH["units"].default is System.US


@pytest.mark.parametrize(
    ("path", "end"),
    [
        ("discharge.leg.*.length", Limit.GREATEST),
        ("suction.leg.*.length", Limit.GREATEST),
        ("suction.lift", Limit.GREATEST),
        ("discharge.rise", Limit.GREATEST),
        ("site.altitude", Limit.GREATEST),
        ("site.temperature", Limit.GREATEST),
        ("discharge.leg.*.bore", Limit.LEAST),
        ("discharge.leg.*.size", Limit.LEAST),
        ("pump.throttle", Limit.LEAST),
        ("outlet.kind", Limit.NONE),
    ],
)
def test_limits_are_sought_at_the_hard_end(path: str, end: Limit):
    assert BY_PATH[path].limit is end


def test_columns_are_columns_of_a_plan():
    tables = {"suction": Legs, "discharge": Legs, "waypoints": Waypoints, "pumps": Pumps}
    for field in FIELDS:
        table, _, column = field.column.rpartition(".")
        if field.column:
            assert column in {f.name for f in names_of(tables[table] if table else Plan)}, field.path


def test_what_is_in_view_belongs_to_a_station():
    assert {f.station for f in FIELDS} == set(Station)
    for field in FIELDS:
        first = field.path.partition(".")[0]
        if field.station in (Station.SITE, Station.SUCTION, Station.PUMP) and first in ("site", "suction", "pump"):
            assert field.station == first


def test_units_of_spans_are_units_that_files_know():
    for field in FIELDS:
        known = UNITS[field.quantity or Quantity.SHARE]
        assert all(unit in known or unit == "" for unit in field.page), field.path


def test_a_span_knows_its_step():
    span = Span(0, ((10, 1), (50, 5)))
    assert [span.step_at(x) for x in (0, 9, 10, 49, 50)] == [1, 1, 5, 5, 5]
    assert span.stops() == (*map(float, range(11)), 15, 20, 25, 30, 35, 40, 45, 50)


@pytest.mark.parametrize(
    ("number", "between", "stop"),
    [
        (3.4, (), 3),
        (12.6, (), 15),
        (-4, (), 0),
        (99, (), 50),
        (9.6, (12, 30), 15),
        (41, (12, 30), 30),
        (13, (10.2, 14.9), 13),
        (3, (10.2, 14.9), 10.2),
    ],
)
def test_the_nearest_stop_is_one_between_the_bounds(number: float, between: tuple[float, ...], stop: float):
    assert Span(0, ((10, 1), (50, 5))).nearest(number, *between) == stop


@pytest.mark.parametrize(
    ("number", "count", "found"),
    [
        (9, 1, 10),
        (9, 2, 15),
        (9.5, 1, 10),
        (9.5, -1, 9),
        (12, -1, 10),
        (15, -2, 9),
        (48, 9, 50),
        (3, -9, 0),
        (50, 1, 50),
        (4, 0, 4),
    ],
)
def test_keys_go_from_stop_to_stop(number: float, count: int, found: float):
    assert Span(0, ((10, 1), (50, 5))).stepped(number, count) == found


def test_fine_stops_are_ten_to_a_step():
    fine = Span(0, ((10, 1), (50, 5))).finer
    assert fine.nearest(3.14) == 3.1
    assert fine.stepped(10, 1) == 10.5
    assert set(Span(0, ((10, 1), (50, 5))).stops()) <= set(fine.stops())
