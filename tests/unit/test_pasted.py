"""Tables of points typed or pasted: each way of writing that can mean one thing only, and faults with their line."""

from __future__ import annotations

import pytest

from curvelab.errors import InputError
from curvelab.model.pasted import LONGEST, points_from_text
from curvelab.model.points import EfficiencyPoints, NpshrPoints, Points

THREE = ((0.0, 98.0), (60.0, 96.5), (120.0, 91.0))

GOOD = {
    "tabs": "flow gpm\thead ft\n0\t98\n60\t96.5\n120\t91",
    "tabs and decimal commas": "flow gpm\thead ft\n0\t98,0\n60\t96,5\n120\t91,0",
    "semicolons": "flow gpm;head ft\n0;98\n60;96.5\n120;91",
    "semicolons and decimal commas": "flow gpm; head ft\n0,0; 98,0\n60; 96,5\n120; 91",
    "commas": "flow gpm,head ft\n0,98\n60,96.5\n120,91",
    "commas and blanks": "flow gpm, head ft\n0, 98\n60, 96.5\n120, 91",
    "blanks": "gpm ft\n0 98\n60 96.5\n120 91",
    "blanks and decimal commas": "gpm ft\n0 98,0\n60 96,5\n120 91,0",
    "columns of blanks": "Flow (gpm)      Head (ft)\n  0      98.0\n 60      96.5\n120      91.0",
    "units in brackets": "Q [gpm]\tH [ft]\n0\t98\n60\t96.5\n120\t91",
    "units in a line of their own": "Flow\tHead\ngpm\tft\n0\t98\n60\t96.5\n120\t91",
    "head first": "Head ft;Flow gpm\n98;0\n96.5;60\n91;120",
    "falling flows": "gpm;ft\n120;91\n60;96.5\n0;98",
    "capitals": "FLOW GPM;HEAD FT\n0;98\n60;96.5\n120;91",
    "empty lines, blanks at the end, remarks": "# from the label\n\ngpm;ft  \n0;98\n\n60;96.5 \r\n120;91\r\n\n",
    "a title before": "Our trash pump\nflow gpm;head ft\n0;98\n60;96.5\n120;91",
    "a byte order mark": "\ufeffgpm;ft\n0;98\n60;96.5\n120;91",
    "more columns": "flow gpm;power kW;head ft;remark\n0;2;98;a\n60;3;96.5;\n120;4;91;b",
}

BAD = {
    "thousands or decimals?": ("gpm\tft\n1,200\t98\n1,300\t90", "line 2", '"1,200" has a comma, which may mean two'),
    "points as thousands": ("gpm;ft\n1.200;98,5\n1300;90", "line 2", '"1.200" has a point, which may mean two things'),
    "two marks": ("gpm;ft\n0;98\n1.200,5;90", "line 3", '"1.200,5" has a comma'),
    "a word": ("gpm;ft\n0;98\n60;about 90", "line 3", '"about 90" is no plain number'),
    "a unit beside the number": ("gpm;ft\n0;98\n60;90 ft", "line 3", '"90 ft" is no plain number'),
    "a sum": ("gpm;ft\n0;98\n60;9**9", "line 3", '"9**9" is no plain number'),
    "one number": ("gpm;ft\n0;98\n60", "line 3", "has one number only"),
    "a flow twice": ("gpm;ft\n0;98\n60;90\n60;91", "line 4", "flow 60 stands in line 3 too"),
    "a negative flow": ("gpm;ft\n10;98\n-5;99\n20;90", "line 3", "a flow of -5"),
    "a negative head": ("gpm;ft\n0;98\n60;-2\n90;4", "line 3", "-2 ft"),
    "pressure for a head": ("flow gpm;head psi\n0;40\n60;38", "line 1", "psi is no unit of head"),
    "no unit": ("flow;head\n0;98\n60;90", "line 1", "no unit stands over the column of flow"),
    "three columns without names": ("0;98;5\n60;90;6", "line 1", "3 columns"),
    "commas for both": ("60,5,96,2\n70,5,90,1", "line 1", "put semicolons between numbers with commas"),
    "no numbers": ("hello\nthere", "", "no line that starts with a number"),
    "nothing": ("", "", "no line that starts with a number"),
    "one point": ("gpm;ft\n0;98", "points", "1 points"),
    "too much": ("0;1\n" * LONGEST, "", "characters"),
}


@pytest.mark.parametrize("case", GOOD)
def test_ways_of_writing_the_same_table(case: str):
    points = points_from_text(GOOD[case])
    assert (points.flow, points.head, points.points) == ("gpm", "ft", THREE)


@pytest.mark.parametrize("case", BAD)
def test_a_fault_names_its_line(case: str):
    text, field, says = BAD[case]
    with pytest.raises(InputError) as caught:
        points_from_text(text)
    (first, *_) = caught.value.faults
    assert first.field == field
    assert says in f"{first.got}; {first.right}"


def test_every_bad_line_is_told():
    with pytest.raises(InputError) as caught:
        points_from_text("gpm;ft\n0;x\n60;90\n70;y")
    assert [fault.field for fault in caught.value.faults] == ["line 2", "line 4"]


def test_units_given_stand_where_the_table_has_none_and_give_way_where_it_has():
    bare = points_from_text("0;30\n10;28", flow_unit="m3/h", value_unit="m")
    assert (bare.flow, bare.head) == ("m3/h", "m")
    told = points_from_text("L/min;ft\n0;30\n10;28", flow_unit="m3/h", value_unit="m")
    assert (told.flow, told.head) == ("L/min", "ft")


@pytest.mark.parametrize(
    ("spelled", "read"),
    [("m³/h", "m3/h"), ("imp gpm", "imp gpm"), ("US gal/min", "US gal/min"), ("l/min", "L/min"), ("L/s", "L/s")],
)
def test_units_of_flow(spelled: str, read: str):
    assert points_from_text(f"Q [{spelled}]\tH [m]\n0\t30\n10\t28").flow == read


def test_other_curves_are_found_by_name_and_empty_cells_are_no_points():
    text = "flow gpm;head ft;NPSHR ft;efficiency %\n0;98;;\n60;96.5;6,2;31\n120;91;8,1;45"
    npshr = points_from_text(text, NpshrPoints)
    efficiency = points_from_text(text, EfficiencyPoints)
    assert (npshr.head, npshr.points) == ("ft", ((60.0, 6.2), (120.0, 8.1)))
    assert (efficiency.efficiency, efficiency.points) == ("%", ((60.0, 31.0), (120.0, 45.0)))
    assert efficiency.values_si == pytest.approx([0.31, 0.45])
    assert points_from_text(text).points == ((0.0, 98.0), (60.0, 96.5), (120.0, 91.0))


@pytest.mark.parametrize("of", [NpshrPoints, EfficiencyPoints])
def test_their_own_rules_hold(of: type[Points]):
    with pytest.raises(InputError) as caught:
        points_from_text("0;5\n10;900\n20;6", of, flow_unit="gpm", value_unit="%" if of is EfficiencyPoints else "ft")
    assert caught.value.faults[0].field == "line 2"
