"""A sweep is nothing but single solves side by side, and a value that a file would refuse is refused."""

from __future__ import annotations

import json
import math

import numpy as np
import pytest

from curvelab.errors import InputError
from curvelab.model.fields import FIELDS, field_of
from curvelab.model.setup import Setup
from curvelab.studies.columns import Columns
from curvelab.studies.solve import solve_many
from curvelab.studies.vary import spread, vary
from curvelab.units import Quantity, parse, write
from tests.unit.study_cases import FOOT, NAMES, assert_sentence, demo, try_solve

NUMBERS = [name for name in Columns.__dataclass_fields__ if name != "state"]

WRITTEN_OUT = {"bore": "3 in", "roughness": "0.1 mm", "length": "40 ft", "fittings": {"basket-strainer": 1}, "k": 0.7}
"""A suction hose written out, with fittings and a further loss."""


def written_out() -> Setup:
    return demo("mill-pond").with_("suction.leg.0", WRITTEN_OUT)


SWEEPS = [
    ("mill-pond", "suction.lift", ("-3 ft", "24 ft")),
    ("mill-pond", "suction.margin", ("0 ft", "8 ft")),
    ("mill-pond", "suction.leg.0.length", ("5 ft", "60 ft")),
    ("mill-pond", "suction.leg.0.abreast", ("1", "4")),
    ("mill-pond", "suction.leg.0.k", ("0", "8")),
    ("mill-pond", "discharge.rise", ("-40 ft", "90 ft")),
    ("mill-pond", "discharge.leg.0.length", ("200 ft", "1500 ft")),
    ("mill-pond", "discharge.leg.0.k", ("0", "30")),
    ("mill-pond", "discharge.valve_k", ("0", "40")),
    ("mill-pond", "discharge.waypoint.2.distance", ("105 ft", "280 ft")),
    ("mill-pond", "discharge.waypoint.2.height", ("-20 ft", "80 ft")),
    ("wash-down", "discharge.leg.1.length", ("10 ft", "200 ft")),
    ("written out", "suction.leg.0.bore", ("1.2 in", "4 in")),
    ("written out", "suction.leg.0.roughness", ("0 mm", "5 mm")),
    ("written out", "suction.leg.0.k", ("0", "8")),
    ("mill-pond", "site.altitude", ("0 ft", "10000 ft")),
    ("mill-pond", "site.temperature", ("33 degF", "140 degF")),
    ("mill-pond", "pump.throttle", ("40 %", "105 %")),
    ("mill-pond", "pump.wear", ("60 %", "100 %")),
    ("mill-pond", "pump.speed", ("1200 rpm", "4000 rpm")),
    ("wash-down", "outlet.bore", ("0.3 in", "1 in")),
    ("drip-block", "outlet.pressure", ("0.2 bar", "3 bar")),
    ("young-trees", "outlet.count", ("1", "13")),
]


@pytest.mark.parametrize(("name", "field", "ends"), SWEEPS, ids=str)
def test_rows_are_single_solves(name: str, field: str, ends: tuple[str, str]):
    """Whether a column of the Plan is overridden or a setup is read anew, each row is what a file would give."""
    setup = written_out() if name == "written out" else demo(name)
    values = spread(field, *ends, 13)
    found = vary(setup, field, values)
    one, places = field_of(field)
    for at, value in enumerate(values):
        text = repr(value) if one.quantity is None else write(value, one.quantity, setup.units)
        try:
            result = try_solve(setup.with_(one.at(*places), text))
        except InputError:
            result = None
        if result is None:
            assert found.columns.state[at] == "refused"
            assert all(math.isnan(getattr(found.columns, number)[at]) for number in NUMBERS)
            continue
        assert found.columns.state[at] == str(result.state)
        for number in NUMBERS:
            alone, row = getattr(result, number), getattr(found.columns, number)[at]
            assert (alone is None) == math.isnan(row), number
            assert alone is None or row == pytest.approx(alone, rel=1e-7, abs=1e-9), number


def test_every_column_of_the_plan_is_swept_above():
    """A field that is overridden in the Plan has its own row in the list of sweeps."""
    columns = {field.path for field in FIELDS if field.column}
    swept = {field_of(field)[0].path for _, field, _ in SWEEPS}
    twins = {path.replace("discharge", "suction"): path for path in columns if path.startswith("discharge.leg")}
    assert {path for path in columns - swept if twins.get(path) not in swept} <= {
        "discharge.leg.*.bore",
        "discharge.leg.*.roughness",
        "discharge.leg.*.abreast",
    }


def test_a_hose_shorter_than_its_climb_or_a_waypoints_place_is_refused():
    found = vary(demo("mill-pond"), "discharge.leg.0.length", ["30 ft", "250 ft", "300 ft"])
    assert found.columns.state.tolist() == ["refused", "refused", "sound"]
    printed = found.to_dict()
    assert printed["flow_m3_s"][:2] == [None, None]
    assert printed["state"][0] == "refused"


def test_a_fraction_of_a_hose_is_refused():
    found = vary(demo("mill-pond"), "discharge.leg.0.abreast", [1.0, 1.5, 2.0])
    assert found.columns.state[1] == "refused"
    assert found.columns.state[2] != "refused"


@pytest.mark.parametrize(
    "field",
    [
        "discharge.leg.0.bore",  # a catalogue's hose has its own
        "suction.leg.0.roughness",
        "discharge.leg.7.length",
        "discharge.waypoint.4.height",
        "outlet.bore",  # an open end has none
        "no.such.field",
    ],
)
def test_a_field_that_the_setup_has_not_is_an_error_and_no_empty_table(field: str):
    with pytest.raises(InputError):
        vary(demo("mill-pond"), field, [0.05, 0.06])


def test_values_are_evenly_spaced_ends_included():
    values = spread("discharge.leg.0.length", "50 ft", "600 ft", 12)
    assert values[0] == pytest.approx(50 * FOOT)
    assert values[-1] == pytest.approx(600 * FOOT)
    assert np.diff(values) == pytest.approx(np.full(11, 50 * FOOT))
    with pytest.raises(InputError):
        spread("pump.id", "ferrow-3", "linnet-3", 2)


SIZES = ("1½ in", "2 in", "2½ in", "3 in", "4 in")


def test_one_curve_for_each_value_of_a_second_field():
    setup = demo("mill-pond-2in")
    values = spread("discharge.leg.0.length", "100 ft", "1000 ft", 10)
    found = vary(setup, "discharge.leg.0.length", values, for_each={"discharge.leg.0.size": SIZES})
    assert [curve.label for curve in found.curves] == list(SIZES)
    for size, curve in zip(SIZES, found.curves, strict=True):
        alone = vary(setup.with_("discharge.leg.0.size", size), "discharge.leg.0.length", values)
        assert curve.columns.state.tolist() == alone.columns.state.tolist()
        np.testing.assert_array_equal(curve.columns.flow_m3_s, alone.columns.flow_m3_s)
    printed = found.to_dict()
    assert {"label", "flow_m3_s", "state", "values"} <= set(printed["curves"][0])
    assert_sentence(found.sentence)


def test_a_size_that_the_fittings_do_not_come_in_is_refused_and_the_others_are_not():
    setup = demo("cellar")
    found = vary(setup, "suction.leg.0.length", ["20 ft", "25 ft"], for_each={"suction.leg.0.size": ["1 in", "3 in"]})
    assert found.curves[0].columns.state.tolist() == ["refused"] * 2
    assert "refused" not in found.curves[1].columns.state.tolist()
    assert_sentence(found.sentence)


def test_columns_equal_solve_many():
    setup = demo("mill-pond")
    setups = [setup.with_("suction.lift", f"{lift} ft") for lift in range(4, 20)]
    many = solve_many(setups)
    swept = vary(setup, "suction.lift", [f"{lift} ft" for lift in range(4, 20)]).columns
    for number in NUMBERS:
        np.testing.assert_allclose(getattr(many, number), getattr(swept, number), rtol=1e-9, atol=1e-12)
    assert many.state.tolist() == swept.state.tolist()


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("units", ["us", "metric", "imperial"])
def test_sentence_and_json(name: str, units: str):
    setup = demo(name, units)
    ends = {"metric": ("10 m", "600 m")}.get(units, ("25 ft", "2000 ft"))
    for count, each in ((9, None), (4, {"discharge.leg.0.size": ["2 in", "3 in", "4 in"]})):
        found = vary(setup, "discharge.leg.0.length", spread("discharge.leg.0.length", *ends, count), for_each=each)
        assert_sentence(found.sentence)
        printed = json.loads(json.dumps(found.to_dict(), allow_nan=False))
        assert printed["format"] == "curvelab-columns/1"
        assert printed["field"] == "discharge.leg.0.length"
        assert len(printed["values"]) == count
        table = printed["curves"][0] if each else printed
        assert set(NUMBERS) <= set(table)
        assert all(len(table[number]) == count for number in (*NUMBERS, "state"))


def test_a_choice_of_words_is_swept_too():
    found = vary(demo("mill-pond"), "pump.id", ["ferrow-3", "linnet-3", "no-such-pump"])
    assert found.values == ("ferrow-3", "linnet-3", "no-such-pump")
    assert found.columns.state.tolist()[2] == "refused"
    assert found.columns.flow_m3_s[0] != found.columns.flow_m3_s[1]


def test_texts_and_numbers_mean_the_same():
    setup = demo("mill-pond")
    by_text = vary(setup, "pump.throttle", ["80 %", "0.9"])
    by_number = vary(setup, "pump.throttle", [0.8, 0.9])
    assert by_text.values == by_number.values
    np.testing.assert_array_equal(by_text.columns.flow_m3_s, by_number.columns.flow_m3_s)
    with pytest.raises(InputError):
        vary(setup, "suction.lift", ["12"])
    assert parse("12 ft", Quantity.LENGTH) == pytest.approx(12 * FOOT)
