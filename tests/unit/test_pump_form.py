"""A pump from a form: units beside boxes, each way a curve comes, and what is said beside each field."""

from typing import Any

import numpy as np
import pytest

from curvelab.errors import InputError
from curvelab.hydraulics.curve import CurveTable
from curvelab.model.catalogue import default_catalogue, demo_folder
from curvelab.model.pumpform import Form, drafted, id_of, typed_of
from curvelab.model.reading import read_table
from curvelab.model.typed import moved, with_unit
from curvelab.model.written import to_toml
from curvelab.report.pump_form import beside, groups, unsure
from curvelab.units import Quantity, System, parse

CATALOGUE = default_catalogue()
FIELDS = {"name": "Heron 3", "kind": "trash", "speed": "3600"}
BOX: dict[str, Any] = {
    "units": "us",
    "way": "box",
    "fields": FIELDS,
    "box": {"greatest_head": "98", "greatest_flow": "275"},
}
TABLE: dict[str, Any] = {
    "units": "us",
    "way": "table",
    "fields": {**FIELDS, "source": "its sheet"},
    "tables": {"head": "0\t98,5\n100\t90\n200\t70,0\n"},
}


def made(asked: dict[str, Any], **base: Any) -> Any:
    return drafted(Form.read(asked), **base)


def said(asked: dict[str, Any]) -> dict[str, Any]:
    form = Form.read(asked)
    return beside(form, drafted(form))


class TestTyping:
    @pytest.mark.parametrize(
        ("text", "written"),
        [("12", "12 ft"), (" 3 m ", "3 m"), ("12,5", "12.5 ft"), ("", ""), ("1 1/2", "1 1/2 ft"), ("−3", "−3 ft")],
    )
    def test_a_bare_number_takes_the_unit_beside_the_box(self, text: str, written: str):
        assert with_unit(text, Quantity.LENGTH, System.US) == written

    def test_a_comma_that_may_mean_two_things_is_refused(self):
        with pytest.raises(InputError, match="two things"):
            with_unit("1,200", Quantity.FLOW, System.METRIC)

    @pytest.mark.parametrize(
        "quantity", [Quantity.HEAD, Quantity.FLOW, Quantity.MASS, Quantity.PRESSURE, Quantity.BORE]
    )
    @pytest.mark.parametrize("after", System)
    def test_other_units_are_the_same_amount(self, quantity: Quantity, after: System):
        there = moved("12.5", quantity, System.US, after)
        was, now = with_unit("12.5", quantity, System.US), with_unit(there, quantity, after)
        assert parse(now, quantity) == pytest.approx(parse(was, quantity), rel=1e-5)

    @pytest.mark.parametrize("text", ["61 kg", "", "twelve", "1,200"])
    def test_what_is_no_bare_number_stays_as_it_was_typed(self, text: str):
        assert moved(text, Quantity.MASS, System.US, System.METRIC) == text


class TestWays:
    def test_two_figures_make_an_estimate_that_says_so(self):
        pump = made(BOX).pump
        assert pump.estimate
        assert pump.label == "Heron 3 (estimate)"
        assert pump.head.low
        assert "98 ft" in pump.source

    def test_a_measured_point_narrows_the_band(self):
        wide = made(BOX).pump.head
        narrow = made({**BOX, "measured": [{"flow": "150", "head": "66"}]}).pump.head

        def width_at(points: Any, flow: float) -> float:
            low, high = (
                CurveTable.of([(points.flow_m3_s, edge)])(np.zeros(1, np.int64), np.array([[flow]]))[0, 0]
                for edge in (points.low_m, points.high_m)
            )
            return high - low

        at = 150 * 3.785411784e-3 / 60
        assert width_at(narrow, at) < 0.7 * width_at(wide, at)

    def test_a_point_that_the_box_can_not_mean_is_told(self):
        draft = made({**BOX, "measured": [{"flow": "150", "head": "20"}]})
        assert "check gauge, drum and speed" in " ".join(unsure(draft))

    def test_a_pasted_table_is_read_in_the_units_beside_it(self):
        us = made(TABLE).pump
        metric = made({**TABLE, "tables_units": "metric"}).pump
        assert us.head.values_si[0] == pytest.approx(98.5 * 0.3048)
        assert metric.head.values_si[0] == pytest.approx(98.5)
        assert metric.head.flow_m3_s[-1] == pytest.approx(200 / 60_000)
        assert not us.estimate

    def test_units_over_the_table_stand_above_those_beside_it(self):
        head = made({**TABLE, "tables": {"head": "flow m3/h; head m\n0;30\n20;25\n"}}).pump.head
        assert head.flow_m3_s[-1] == pytest.approx(20 / 3600)

    def test_a_trace_brings_its_source_and_its_doubts(self):
        traced = {
            "source": "traced from sheet.png, head to 0.4 % of its axis",
            "notes": ["Not sure of head from 0 to 20 gpm."],
            "tables": {"head": {"flow": "gpm", "head": "ft", "points": [[0, 98], [400, 20]]}},
        }
        draft = made({**BOX, "way": "trace", "traced": traced})
        assert draft.pump.source == traced["source"]
        assert draft.notes == ("Not sure of head from 0 to 20 gpm.",)
        assert not draft.pump.head.low

    @pytest.mark.parametrize("traced", [None, {}, {"tables": {"head": 5}}, {"tables": {"head": {"points": []}}}, []])
    def test_a_trace_that_is_none(self, traced: Any):
        draft = made({**BOX, "way": "trace", "traced": traced})
        assert draft.pump is None
        assert draft.faults

    @pytest.mark.parametrize("pump_id", sorted(CATALOGUE.pumps))
    def test_a_pump_that_nobody_changed_stays_the_same(self, pump_id: str):
        pump = CATALOGUE.pumps[pump_id]
        base = read_table(demo_folder() / "pumps" / f"{pump_id}.toml")
        liquids = {**dict.fromkeys(pump.carries, "carries"), **dict.fromkeys(pump.never, "never")}
        form = {"units": "us", "way": "kept", "fields": typed_of(pump), "estimate": pump.estimate, "liquids": liquids}
        assert made(form, base=base).pump == pump

    def test_changing_one_field_leaves_the_rest_of_the_file(self):
        pump = CATALOGUE.pumps["ferrow-2"]
        base = read_table(demo_folder() / "pumps" / "ferrow-2.toml")
        form = {"units": "us", "way": "kept", "fields": {**typed_of(pump), "mass": "47 kg"}}
        changed = made(form, base=base).pump
        assert changed.mass.si == 47.0
        assert (changed.test, changed.suction_test, changed.engine) == (pump.test, pump.suction_test, pump.engine)

    def test_an_emptied_field_is_taken_out(self):
        pump = CATALOGUE.pumps["ferrow-2"]
        base = read_table(demo_folder() / "pumps" / "ferrow-2.toml")
        fields = {**typed_of(pump), "mass": "", "engine.power": "", "engine.fuel": "", "engine.tank": ""}
        changed = made({"units": "us", "way": "kept", "fields": fields}, base=base).pump
        assert changed.mass is None
        assert changed.engine is None

    def test_what_is_written_reads_back_the_same(self):
        from curvelab.model.pump import pump_from
        from curvelab.model.reading import parse_table

        for asked in (BOX, TABLE):
            pump = made(asked).pump
            assert pump_from(parse_table(to_toml(pump)), where="") == pump


class TestBeside:
    def test_an_empty_form_says_what_is_needed_and_what_stays_unknown(self):
        words = said({"way": "box"})
        needed = {path for path, words in words.items() if words.tone == "needed"}
        assert needed == {"name", "kind", "speed", "greatest_head", "greatest_flow"}
        assert words["priming_lift"].tone == "without"

    def test_every_fault_at_once_each_beside_its_field(self):
        asked = {**BOX, "fields": {"name": "", "kind": "trash", "speed": "fast", "mass": "61 gpm", "inlet": "1,200"}}
        wrong = {path for path, words in said(asked).items() if words.tone == "wrong"}
        assert wrong == {"speed", "mass", "inlet"}

    def test_the_curve_is_drawn_before_the_rest_is_filled_in(self):
        draft = made({"units": "us", "way": "box", "box": BOX["box"]})
        assert draft.pump is None
        assert draft.sketch is not None

    def test_a_line_of_a_table_is_named(self):
        words = said({**TABLE, "tables": {"head": "0;98\n100;x\n"}})
        assert words["tables.head"].tone == "wrong"
        assert words["tables.head"].text.startswith("line 2")

    def test_a_table_without_a_source_is_asked_for_one_unless_it_is_an_estimate(self):
        bare = {**TABLE, "fields": FIELDS}
        assert said(bare)["source"].tone == "needed"
        assert made({**bare, "estimate": True}).pump.estimate

    @pytest.mark.parametrize("asked", [{}, {"way": 5}, {"fields": []}, {"measured": "x", "way": "box"}, {"units": "x"}])
    def test_strange_forms_are_forms_with_faults(self, asked: Any):
        assert made(asked).pump is None

    @pytest.mark.parametrize("system", System)
    def test_every_field_with_an_amount_has_its_unit_beside_it(self, system: System):
        fields = {field.path: field for _, group in groups(system) for field in group}
        assert all(fields[path].unit for path in ("mass", "inlet", "speed", "engine.power"))


@pytest.mark.parametrize(
    ("name", "wanted"),
    [("Heron 3", "heron-3"), ('  Käfer--3 / 2" ', "kafer-3-2"), ("../../etc", "etc"), ("水", ""), ("A" * 99, "a" * 60)],
)
def test_a_name_becomes_an_id_that_is_a_good_file_name(name: str, wanted: str):
    assert id_of(name) == wanted
