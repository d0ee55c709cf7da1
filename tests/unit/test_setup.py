"""A Setup: what it takes, what it refuses and in which words, how it changes, and that it reads back."""

import math
import tomllib
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st
from pydantic import ValidationError

from curvelab.errors import InputError, UnknownNameError
from curvelab.model.amount import Amount
from curvelab.model.setup import Setup
from curvelab.units import Quantity, System
from tests.unit.model_cases import PUMP, setup_table

FOOT, INCH, GPM = 0.3048, 0.0254, 231 * 0.0254**3 / 60


def lines(table: Any) -> list[str]:
    with pytest.raises(InputError) as caught:
        Setup.model_validate(table)
    return [fault.line() for fault in caught.value.faults]


class TestReading:
    def test_text_is_kept_and_si_beside_it(self):
        setup = Setup.model_validate(setup_table())
        assert setup.suction.lift.text == "12 ft"
        assert setup.suction.lift.si == pytest.approx(12 * FOOT)
        assert setup.discharge.leg[0].size == Amount.of_si(3 * INCH, Quantity.BORE, System.US)
        assert dict(setup.suction.leg[0].fittings) == {"sieve": 1, "bend": 2}

    def test_what_is_left_out(self):
        small = {
            "pump": {"id": "moor-3"},
            "suction": {"lift": "1 m", "leg": [{"hose": "reed", "size": "3 in", "length": "5 m"}]},
            "discharge": {"rise": "1 m", "leg": [{"hose": "ribbon", "size": "3 in", "length": "5 m"}]},
        }
        setup = Setup.model_validate(small)
        assert setup.site.altitude.si == 0.0
        assert setup.site.temperature.si == 288.15
        assert setup.site.liquid == "water"
        assert (setup.pump.throttle, setup.pump.wear, setup.pump.abreast) == (1.0, 1.0, 1)
        assert setup.suction.margin.si == pytest.approx(2 * FOOT)
        leg = setup.suction.leg[0]
        assert (leg.abreast, leg.k, dict(leg.fittings)) == (1, 0.0, {})
        assert setup.outlet.kind == "open"
        assert (setup.source, setup.receiver, setup.doubt) == (None, None, None)

    def test_whole_numbers_do_for_ratios(self):
        assert Setup.model_validate(setup_table(**{"pump.throttle": 1})).pump.throttle == 1.0

    def test_goal_as_volume_within_a_time(self):
        setup = Setup.model_validate(setup_table(goal={"volume": "3000 gal", "time": "20 min"}))
        assert setup.goal.flow_m3_s == pytest.approx(150 * GPM)

    def test_what_only_later_studies_read(self):
        table = setup_table(
            source={
                "shape": "pond",
                "area": "1.1 acre",
                "full_depth": "8 ft",
                "power": 1.5,
                "depth": "6 ft",
                "stop": "0.5 ft",
                "inflow": {"time": ["0 h", "2 h"], "flow": ["40 gpm", "10 gpm"]},
                "cover": "18 in",
                "fastest": "1 ft/day",
            },
            receiver={"shape": "cylinder", "diameter": "8 ft", "level": "1 ft", "full": "5 ft"},
            doubt={"lift": "2 ft", "length": "5 %", "npshr": "20 %"},
            booster=[{"id": "moor-3", "distance": "150 ft"}],
        ) | {"pump": {"id": "moor-3", "beside": [{"id": "moor-3"}]}}
        inputs = Setup.model_validate(table).to_si()
        assert inputs["source"]["inflow"]["flow_m3_s"][1] == pytest.approx(10 * GPM)
        assert inputs["receiver"]["level_m"] == pytest.approx(FOOT)
        assert inputs["doubt"]["length_share"] == pytest.approx(0.05)
        assert inputs["booster"][0]["distance_m"] == pytest.approx(150 * FOOT)

    def test_a_receiver_of_a_table_says_its_level_with_now(self):
        shape = {"shape": "table", "level": ["0 m", "2 m"], "area": ["3 m2", "9 m2"], "full": "2 m", "now": "0.5 m"}
        receiver = Setup.model_validate(setup_table(receiver=shape)).receiver
        assert receiver is not None
        assert receiver.level_m == 0.5

    def test_equal_by_value_and_hashable(self):
        one = Setup.model_validate(setup_table())
        same = Setup.model_validate(setup_table(**{"suction.lift": "144 in"}))
        other = Setup.model_validate(setup_table(**{"suction.lift": "12.1 ft"}))
        assert one == same
        assert hash(one) == hash(same)
        assert one != other

    def test_frozen(self):
        setup = Setup.model_validate(setup_table())
        with pytest.raises(ValidationError):
            setup.title = "other"  # type: ignore[misc]


REFUSED = {
    "bare number": ({"suction.lift": 12}, "suction.lift: 12 has no unit"),
    "number as text": ({"suction.lift": "12"}, "suction.lift: 12 has no unit"),
    "another quantity": ({"suction.lift": "12 psi"}, "suction.lift: psi is a pressure"),
    "an expression": ({"discharge.leg.0.length": "9**9**9 ft"}, "discharge.leg.0.length: "),
    "a key one letter off": ({"suction.lfit": "12 ft"}, 'suction.lfit: unknown key; did you mean "lift"?'),
    "a key of a leg": (
        {"discharge.leg.1.lenght": "1 ft"},
        'discharge.leg.1.lenght: unknown key; did you mean "length"?',
    ),
    "missing": ({"discharge.rise": None}, "discharge.rise: is missing"),
    "no pump": ({"pump": None}, "pump: is missing"),
    "no legs": ({"suction.leg": []}, "suction.leg: 0 of them"),
    "a table for a list": ({"suction.leg": {"length": "3 ft"}}, "suction.leg: a table"),
    "nan": ({"pump.wear": math.nan}, "pump.wear: nan is out of range"),
    "inf": ({"discharge.valve_k": math.inf}, "discharge.valve_k: inf is out of range"),
    "nan as text": ({"suction.lift": "nan ft"}, "suction.lift: "),
    "true for a number": ({"pump.throttle": True}, "pump.throttle: true or false"),
    "text for a ratio": ({"pump.throttle": "1.0"}, 'pump.throttle: "1.0" is text'),
    "a huge integer": ({"pump.throttle": 10**5000}, "pump.throttle: a huge whole number is out of range"),
    "a throttle under the affinity laws": ({"pump.throttle": 0.3}, "pump.throttle: 0.3 is out of range"),
    "a bore in metres meant in inches": (
        {"discharge.leg.0": {"bore": "3 m", "roughness": "0.1 mm", "length": "3 m"}},
        'discharge.leg.0.bore: "3 m" is out of range',
    ),
    "a hose of 200 km": ({"discharge.leg.0.length": "200 km"}, 'discharge.leg.0.length: "200 km" is out of range'),
    "ice": ({"site.temperature": "-4 degC"}, 'site.temperature: "-4 degC" is out of range'),
    "sea-level pressure of a storm on Jupiter": ({"site.barometer": "5 bar"}, "site.barometer: "),
    "a unit system": ({"units": "metrc"}, 'units: "metrc" is not known here; did you mean "metric"?'),
    "an outlet": ({"outlet": {"kind": "nozle"}}, 'outlet.kind: "nozle" is not known here; did you mean "nozzle"?'),
    "a nozzle without a bore": ({"outlet": {"kind": "nozzle"}}, "outlet.bore: is missing"),
    "a depth on an open end": ({"outlet": {"depth": "1 ft"}}, "outlet.depth: doesn't belong"),
    "half a goal": ({"goal": {"volume": "10 gal"}}, "goal.time: is missing"),
    "two pumps' names": ({"pump": {"id": "a", "record": {}}}, "pump.record"),
    "speed beside throttle": ({"pump": {"id": "a", "throttle": 0.9, "speed": "3000 rpm"}}, "pump.speed: stands beside"),
    "no size": ({"discharge.leg.0.size": None}, "discharge.leg.0.size: is missing"),
    "half written out": (
        {"discharge.leg.0": {"bore": "3 in", "length": "3 ft"}},
        "discharge.leg.0.roughness: is missing",
    ),
    "bore of a catalogue hose": ({"discharge.leg.0.bore": "3 in"}, "discharge.leg.0.bore: comes from the catalogue"),
    "roughness as wide as the hose": (
        {"discharge.leg.0": {"bore": "20 mm", "roughness": "2 mm", "length": "3 m"}},
        'discharge.leg.0.roughness: "2 mm" is too rough',
    ),
    "no fitting": ({"discharge.leg.0.fittings": {"clip": 0}}, "discharge.leg.0.fittings.clip: 0; write a whole number"),
    "half a fitting": ({"discharge.leg.0.fittings": {"clip": 0.5}}, "discharge.leg.0.fittings.clip: 0.5"),
    "abreast": ({"discharge.leg.0.abreast": 0}, "discharge.leg.0.abreast: 0; write a whole number from 1"),
    "a date": ({"title": __import__("datetime").date(2026, 5, 4)}, "title: 2026-05-04"),
    "a control character": ({"title": "a\x1b[31mb"}, 'title: "a\\x1b[31mb" has a control character'),
    "a mark that turns text": ({"title": "a\u202eb"}, 'title: "a\\u202eb" has a control character'),
    "stop over the water": (
        {"source": {"shape": "cylinder", "diameter": "1 m", "depth": "1 m", "stop": "2 m"}},
        'source.stop: "2 m" is deeper',
    ),
    "another shape's size": (
        {"source": {"shape": "cylinder", "diameter": "1 m", "width": "1 m", "depth": "1 m"}},
        "source.width: doesn't belong",
    ),
    "deeper than the table": (
        {"source": {"shape": "table", "level": ["0 m", "1 m"], "area": ["1 m2", "2 m2"], "depth": "3 m"}},
        'source.depth: "3 m" is over',
    ),
    "levels that fall": (
        {"source": {"shape": "table", "level": ["1 m", "0 m"], "area": ["1 m2", "2 m2"], "depth": "1 m"}},
        'source.level.1: "0 m" does not rise',
    ),
    "a bad inflow": (
        {
            "source": {
                "shape": "cylinder",
                "diameter": "1 m",
                "depth": "1 m",
                "inflow": {"time": ["0 h"], "flow": ["2 ft"]},
            }
        },
        "source.inflow.flow.0: ft is a length",
    ),
}


class TestRefusing:
    @pytest.mark.parametrize("case", REFUSED)
    def test_one_fault_names_field_and_remedy(self, case: str):
        changes, expected = REFUSED[case]
        found = lines(setup_table(**changes))
        assert any(line.startswith(expected) for line in found), found
        assert all("; " in line for line in found), "says what would be right"

    def test_all_faults_at_once(self):
        changes: dict[str, Any] = {
            "suction.lift": 12,
            "discharge.rse": "1 ft",
            "discharge.leg.1.length": "3",
            "units": "x",
        }
        fields = [line.split(":")[0] for line in lines(setup_table(**changes))]
        assert sorted(fields) == ["discharge.leg.1.length", "discharge.rse", "suction.lift", "units"]

    def test_thousands_of_faults_are_counted_not_printed(self):
        found = lines(setup_table(site={f"key{n}": n for n in range(3000)}))
        assert len(found) == 51
        assert "2950 more faults" in found[-1]

    @pytest.mark.parametrize("table", [None, [], "x", 3, math.nan])
    def test_no_table(self, table: Any):
        assert lines(table)

    @given(
        st.recursive(
            st.none() | st.booleans() | st.floats() | st.integers() | st.text(),
            lambda inner: (
                st.lists(inner, max_size=3)
                | st.dictionaries(
                    st.sampled_from([*setup_table(), "leg", "lift", "id", "shape", "source"]), inner, max_size=4
                )
            ),
            max_leaves=12,
        )
    )
    def test_nothing_but_input_errors(self, junk: Any):
        table = setup_table() | junk if isinstance(junk, dict) else junk
        said = ""
        try:
            Setup.model_validate(table)
        except InputError as error:
            said = str(error)
        assert said.replace("\n", "").isprintable()


CHANGES = [
    ("suction.lift", "9 ft", {"suction.lift": "9 ft"}),
    ("suction.lift", "−3 m", {"suction.lift": "-3 m"}),
    ("discharge.leg.1.length", "350 ft", {"discharge.leg.1.length": "350 ft"}),
    ("discharge.leg.0.fittings.clip", "3", {"discharge.leg.0.fittings": {"clip": 3}}),
    ("discharge.leg.0.fittings.bend", 1, {"discharge.leg.0.fittings": {"clip": 2, "bend": 1}}),
    ("discharge.leg.0.fittings.clip", "0", {"discharge.leg.0.fittings": {}}),
    ("discharge.waypoint.0.height", "10 ft", {"discharge.waypoint.0.height": "10 ft"}),
    ("discharge.waypoint.0", None, {"discharge.waypoint": []}),
    (
        "discharge.waypoint.1",
        {"distance": "250 ft", "height": "1 ft"},
        {"discharge.waypoint.1": {"distance": "250 ft", "height": "1 ft"}},
    ),
    ("pump.throttle", "0.8", {"pump.throttle": 0.8}),
    ("pump.throttle", "80 %", {"pump.throttle": 0.8}),
    ("discharge.leg.0.abreast", "2", {"discharge.leg.0.abreast": 2}),
    ("site.barometer", "940 hPa", {"site.barometer": "940 hPa"}),
    ("site.altitude", None, {"site.altitude": None}),
    ("outlet.kind", "submerged", {"outlet": {"kind": "submerged"}}),
    ("outlet", {"kind": "nozzle", "bore": "1 in"}, {"outlet": {"kind": "nozzle", "bore": "1 in"}}),
    ("goal.flow", "100 gpm", {"goal": {"flow": "100 gpm"}}),
    ("doubt.lift", "1 ft", {"doubt": {"lift": "1 ft"}}),
    ("units", "metric", {"units": "metric"}),
    ("title", "x", {"title": "x"}),
]


class TestChanging:
    @pytest.mark.parametrize(("field", "value", "changes"), CHANGES)
    def test_as_if_the_file_had_said_so(self, field: str, value: object, changes: dict[str, Any]):
        setup = Setup.model_validate(setup_table())
        changed = setup.with_(field, value)
        assert changed == Setup.model_validate(setup_table(**changes))
        assert setup == Setup.model_validate(setup_table()), "the one changed from stays as it was"
        assert Setup.model_validate(tomllib.loads(changed.to_toml())) == changed

    @pytest.mark.parametrize(
        ("field", "value", "start"),
        [
            ("suction.lift", "12", "suction.lift: 12 has no unit"),
            ("suction.lift", "1e9 ft", "suction.lift: "),
            ("suction.lfit", "1 ft", 'suction: no field is called "lfit"'),
            ("suction.leg.1.length", "1 ft", 'suction.leg: there is no "1"'),
            ("suction.leg.x.length", "1 ft", 'suction.leg: there is no "x"'),
            ("suction.leg.-1.length", "1 ft", 'suction.leg: there is no "-1"'),
            ("suction.lift.x", "1 ft", 'suction.lift: "x" names nothing'),
            ("suction.leg", "1 ft", "suction.leg: "),
            ("suction.leg.0", None, "suction.leg: 0 of them"),
            ("goal.volume", "3 gal", "goal.time: is missing"),
            ("discharge.leg.0.bore", "3 in", "discharge.leg.0.bore: comes from the catalogue"),
            ("pump.throttle", "2 ** 3", "pump.throttle: "),
            ("pump.throttle", "1e999", "pump.throttle: "),
            ("discharge.leg.0.abreast", "1.5", "discharge.leg.0.abreast: 1.5"),
            ("", "x", 'no field is called ""'),
            ("." * 50_000, "x", ""),
        ],
    )
    def test_refused_with_the_place(self, field: str, value: object, start: str):
        setup = Setup.model_validate(setup_table())
        with pytest.raises(InputError) as caught:
            setup.with_(field, value)
        assert caught.value.faults[0].line().startswith(start)

    def test_an_unknown_field_is_a_key_error_too(self):
        with pytest.raises(UnknownNameError):
            Setup.model_validate(setup_table()).with_("suction.lfit", "1 ft")

    def test_one_of_two_that_exclude_each_other(self):
        setup = Setup.model_validate(setup_table(**{"site.barometer": "940 hPa", "pump.throttle": 0.9}))
        assert setup.with_("site.altitude", "100 ft").site.barometer is None
        turned = setup.with_("pump.speed", "3000 rpm")
        assert turned.pump.throttle == 1.0
        assert turned.with_("pump.throttle", "0.9") == setup

    def test_what_is_not_changed_is_shared(self):
        setup = Setup.model_validate(setup_table())
        assert setup.with_("suction.lift", "1 ft").discharge is setup.discharge

    def test_an_amount_of_another_quantity_is_refused(self):
        setup = Setup.model_validate(setup_table())
        lift = Amount.of_si(2.0, Quantity.LENGTH, System.US)
        assert setup.with_("suction.lift", lift).suction.lift.si == 2.0
        with pytest.raises(InputError):
            setup.with_("suction.lift", Amount.of_si(2.0, Quantity.PRESSURE, System.US))


class TestToSi:
    def test_numbers_carry_their_unit_in_the_name(self):
        inputs = Setup.model_validate(setup_table(**{"site.barometer": "940 hPa"})).to_si()
        assert inputs["suction"]["lift_m"] == pytest.approx(12 * FOOT)
        assert inputs["site"]["barometer_pa"] == pytest.approx(94_000)
        assert inputs["site"]["temperature_k"] == pytest.approx((55 - 32) / 1.8 + 273.15)
        leg = inputs["discharge"]["leg"][1]
        assert (leg["size_m"], leg["length_m"], leg["abreast"]) == (pytest.approx(2 * INCH), pytest.approx(30.48), 2)

    def test_plain_types_only(self):
        table = setup_table(
            pump={"record": tomllib.loads(PUMP)},
            source={"shape": "table", "level": ["0 m", "1 m"], "area": ["1 m2", "2 m2"], "depth": "1 m"},
        )
        plain = (bool, int, float, str)

        def walk(value: Any) -> None:
            if isinstance(value, dict):
                for key, item in value.items():
                    assert isinstance(key, str)
                    walk(item)
            elif isinstance(value, list):
                for item in value:
                    walk(item)
            else:
                assert type(value) in plain, value

        inputs = Setup.model_validate(table).to_si()
        walk(inputs)
        assert inputs["source"]["level_m"] == [0.0, 1.0]
        assert inputs["pump"]["record"]["head"]["flow_m3_s"][1] == pytest.approx(100 * GPM)
