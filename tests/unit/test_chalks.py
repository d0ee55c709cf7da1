"""Chalk without a browser: what is kept, what the page says of it, and that nothing of it is lost."""

from typing import Any

import pytest

from curvelab.app import chalks
from curvelab.app.chalks import Act, act, ghosts, listed, offered, read_act
from curvelab.app.edits import Edit
from curvelab.app.link import query_of
from curvelab.app.rows import flat
from curvelab.app.setup_column import stations
from curvelab.app.slots import slots
from curvelab.app.state import AppState
from curvelab.model.chalk import Chalk
from curvelab.model.link import LONGEST, decode
from curvelab.report.chalked import CHALK, FULL
from curvelab.studies.solve import solve
from curvelab.units import Quantity, System, show
from tests.unit.test_app import CATALOGUE, POND, page, send

TWO = POND.with_("discharge.leg.0.size", "2 in")


def state(setup: Any = POND) -> AppState:
    return AppState(CATALOGUE, setup)


def do(one: AppState, what: str, at: str = "", value: str = "") -> None:
    act(one, Act(what, at, value))


def edit(one: AppState, path: str, number: float) -> None:
    one.apply([Edit("set", path, number)], held=False)


def letters(one: AppState) -> str:
    return "".join(kept.letter for kept in one.chalks)


def flows(one: AppState) -> list[str]:
    return [row[3] for row in listed(one)]


def test_chalk_keeps_the_present_setup_while_another_is_made():
    one = state()
    do(one, "chalk")
    edit(one, "discharge.rise", 40)
    (kept,) = one.chalks
    assert kept.shown.setup == POND
    assert kept.shown.result.flow_m3_s == solve(POND).flow_m3_s
    assert one.setup.discharge.rise.si == pytest.approx(40 * 0.3048)
    assert listed(one) == [["A", "rise 38 ft", "", "186 gal/min", ""]]


def test_three_are_kept_and_a_fourth_is_refused_in_words():
    one = state()
    for rise in (38, 40, 42):
        edit(one, "discharge.rise", rise)
        do(one, "chalk")
    assert letters(one) == "ABC"
    assert offered(one)["button"] == ["Kept as C", False]
    edit(one, "discharge.rise", 44)
    assert offered(one)["button"] == [FULL, False]
    do(one, "chalk")
    assert letters(one) == "ABC"
    assert offered(one)["said"] == FULL
    assert offered(one)["compare"] == [], "nothing is offered that can't be done"


def test_the_same_setup_is_not_kept_twice():
    one = state()
    assert offered(one)["button"] == [CHALK, True]
    do(one, "chalk")
    do(one, "chalk")
    assert letters(one) == "A"
    assert offered(one)["said"] == "This setup is kept already, as A."


@pytest.mark.parametrize(("way", "size"), [("down", "2½ in"), ("up", "4 in")])
def test_one_click_lays_the_next_size_beside_the_present_one(way: str, size: str):
    one = state()
    texts = dict(offered(one)["compare"])
    assert texts[way] == f"{size} hose"
    do(one, "compare", way)
    assert one.setup == POND.with_("discharge.leg.0.size", size)
    assert [kept.shown.setup for kept in one.chalks] == [POND]
    back = "up" if way == "down" else "down"
    assert back not in {what for what, *_ in offered(one)["compare"]}, "3 in is chalked already"
    assert one.past.back == 1, "the change can be undone"


def test_a_second_click_keeps_what_was_compared_too():
    one = state()
    do(one, "compare", "down")
    do(one, "compare", "down")
    assert one.setup == TWO
    assert flows(one) == ["186 gal/min", "134 gal/min"]


def test_what_is_brought_back_leaves_the_present_one_in_its_place():
    one = state(TWO)
    do(one, "chalk")
    do(one, "rename", "A", "  Old hose ")
    edit(one, "discharge.rise", 60)
    other = one.setup
    do(one, "swap", "A")
    assert (one.setup, one.chalks[0].shown.setup) == (TWO, other)
    assert one.chalks[0].name == ""
    do(one, "swap", "A")
    assert (one.setup, one.chalks[0].shown.setup) == (other, TWO)
    assert one.chalks[0].name == "Old hose", "a name goes with its setup"


def test_a_wiped_one_comes_back_under_its_letter_or_the_next_free_one():
    one = state()
    for rise in (38, 40, 42):
        edit(one, "discharge.rise", rise)
        do(one, "chalk")
    do(one, "rename", "B", "Ridge")
    do(one, "wipe", "B")
    do(one, "wipe", "A")
    assert letters(one) == "C"
    assert offered(one)["wiped"] == "A"
    do(one, "unwipe")
    assert letters(one) == "AC"
    edit(one, "discharge.rise", 50)
    do(one, "chalk")
    assert letters(one) == "ABC"
    assert offered(one)["wiped"] == "", "there is no room for it"
    do(one, "wipe", "A")
    do(one, "wipe", "C")
    do(one, "unwipe")
    do(one, "unwipe")
    assert letters(one) == "ABC"
    assert offered(one)["wiped"] == ""
    assert [kept.name for kept in one.chalks] == ["", "", ""]
    do(one, "wipe", "A")
    do(one, "unwipe")
    do(one, "wipe", "A")
    assert [kept.name for kept in one.wiped] == ["Ridge", ""], "what had no room is still there"


def test_a_name_too_long_is_refused_in_words():
    one = state()
    do(one, "chalk")
    do(one, "rename", "A", "x" * 41)
    assert one.chalks[0].name == ""
    assert offered(one)["said"].startswith("The name stays as it was")
    do(one, "rename", "A", "a\nb")
    assert one.chalks[0].name == ""


def test_units_turn_the_chalked_ones_too():
    one = state()
    do(one, "chalk")
    one.apply([Edit("units", value="metric")], held=False)
    assert flows(one) == [show(solve(POND).flow_m3_s or 0.0, Quantity.FLOW, System.METRIC)]
    do(one, "wipe", "A")
    one.apply([Edit("units", value="us")], held=False)
    do(one, "unwipe")
    assert flows(one) == ["186 gal/min"]


def test_all_of_it_is_in_the_link_and_comes_back_from_there():
    one = state()
    do(one, "compare", "down")
    do(one, "rename", "A", "As it lay")
    do(one, "compare", "down")
    query, refusal = query_of(one.setup, CATALOGUE, [kept.chalk for kept in one.chalks])
    assert refusal == ""
    again = page(query or "").state
    assert again.setup == one.setup
    assert [kept.chalk for kept in again.chalks] == [kept.chalk for kept in one.chalks]
    assert again.chalks[0].name == "As it lay"


def test_a_link_too_long_leaves_out_what_is_chalked_and_says_so():
    long = POND.with_(
        "discharge.waypoint", [{"distance": f"{n + 1} ft", "height": "1 ft", "name": "水" * 40} for n in range(8)]
    )
    query, refusal = query_of(POND, CATALOGUE, [Chalk("A", long), Chalk("B", long)])
    assert query is not None
    assert len(query) <= LONGEST
    assert decode(query, CATALOGUE).setup == POND
    assert decode(query, CATALOGUE).chalks == ()
    assert refusal.startswith("What is kept to compare is not in the link: ")


def test_one_whose_pump_is_gone_is_told():
    query, _ = query_of(POND, CATALOGUE, [Chalk("A", TWO)])
    made = page(f"{query}&a.pump=sparrow-9")
    assert any("sparrow-9" in line and "chalked setup A" in line for line in made.state.notices)
    assert made.words["notice"] != ""


def test_one_that_cannot_be_worked_out_is_told_and_the_others_stay():
    """Its hose would have to be longer than the way along it."""
    bad = TWO.with_("discharge.leg.0.length", "310 ft")
    object.__setattr__(
        bad.discharge.leg[0],
        "length",
        TWO.discharge.leg[0].length.__class__("1 ft", 0.3048, TWO.discharge.leg[0].length.quantity),
    )
    kept, problems = chalks.opened([Chalk("A", bad), Chalk("B", TWO)], System.US, CATALOGUE)
    assert [one.letter for one in kept] == ["B"]
    (problem,) = problems
    assert problem.startswith("Setup A, kept to compare, can’t be worked out: ")


def test_a_message_chalks_what_stood_there_then():
    made = page()
    send(
        made,
        {"do": "set", "path": "discharge.rise", "number": 50},
        {"do": "chalk"},
        {"do": "set", "path": "discharge.rise", "number": 60},
    )
    assert made.state.chalks[0].shown.setup.discharge.rise.si == pytest.approx(50 * 0.3048)
    assert made.state.setup.discharge.rise.si == pytest.approx(60 * 0.3048)
    assert "&a.rise=50+ft" in (made.query or "")


@pytest.mark.parametrize("message", [None, {"do": "chalky"}, {"do": "wipe", "path": 3}, {"do": "rename", "value": [1]}])
def test_messages_that_no_button_sends_are_no_acts(message: Any):
    assert read_act(message) is None


@pytest.mark.parametrize(
    "what", [Act("wipe", "Z"), Act("swap", "B"), Act("compare", "left"), Act("unwipe"), Act("rename", "C", "x")]
)
def test_acts_on_what_is_not_there_change_nothing(what: Act):
    one = state()
    act(one, what)
    assert one.setup == POND
    assert one.chalks == []


def test_the_column_is_told_what_the_chalked_ones_have():
    one = state()
    do(one, "compare", "down")
    marks = ghosts(one, stations(one.setup, CATALOGUE))
    assert marks["discharge.leg.0.size"] == [["A", "3 in"]]
    assert marks["discharge.rise"] == [["A", (38.0, "38")]]


@pytest.mark.parametrize(
    "job", ["ridge-tank", "mill-pond-september", "overflowing-pond", "cellar", "siphon", "wash-down"]
)
def test_a_job_beside_another_has_marks_only_where_it_has_rows(job: str):
    one = state()
    do(one, "chalk")
    one.apply([Edit("open", value=job)], held=False)
    rows = {row["path"] for row in flat(stations(one.setup, CATALOGUE))}
    assert set(ghosts(one, stations(one.setup, CATALOGUE))) <= rows
    assert listed(one)[0][1].endswith("Mill pond to orchard tank")


def test_words_against_it_take_the_place_of_what_else_to_mind():
    one = state()
    before = slots(one, 1)
    assert "Mind too" in before["also"]
    assert before["against"] == ""
    do(one, "compare", "down")
    edit(one, "discharge.rise", 38)
    filled = slots(one, 1)
    assert filled["also"] == ""
    assert "Against A, 3 in hose" in filled["against"]
    assert "52 gal/min less than A." in filled["against"]
    assert "<b>−52 gal/min</b> against 3 in" in filled["over"]
    assert "6 ft/s" in filled["cautions"], "what else to mind is among the cautions then"


def test_a_name_is_escaped():
    one = state()
    do(one, "compare", "down")
    do(one, "rename", "A", "<script>x</script>")
    assert "<script>" not in slots(one, 1)["against"]
    assert "&lt;script&gt;" in slots(one, 1)["against"]


def test_one_that_gives_nothing_says_so():
    one = state(CATALOGUE.setups["ridge-tank"])
    do(one, "chalk")
    edit(one, "discharge.rise", 60)
    assert listed(one)[0][3:] == ["none", "Can’t lift it that high"]
    assert "A gives none: it couldn’t lift that high." in slots(one, 1)["against"]


def test_a_name_outlives_a_page_opened_anew_while_its_setup_is_the_present_one():
    made = page()
    send(made, {"do": "chalk"}, {"do": "rename", "path": "A", "value": "Old & low"})
    send(made, {"do": "set", "path": "discharge.rise", "number": 60}, seq=2)
    send(made, {"do": "swap", "path": "A"}, seq=3)
    assert [kept.name for kept in made.state.chalks] == [""]
    again = page(made.query or "")
    send(again, {"do": "swap", "path": "A"})
    send(again, {"do": "swap", "path": "A"}, seq=2)
    assert [kept.name for kept in again.state.chalks] == [""]
    send(again, {"do": "swap", "path": "A"}, seq=3)
    assert [kept.name for kept in again.state.chalks] == ["Old & low"]
    send(made, {"do": "set", "path": "discharge.rise", "number": 61}, seq=4)
    assert "Old" not in (made.query or ""), "it is another setup now"
