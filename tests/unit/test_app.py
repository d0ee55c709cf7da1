"""The page without a browser: what an edit makes of a setup, what the column shows, what a message is answered with."""

import asyncio
import re
from collections.abc import Callable, Coroutine
from concurrent.futures import ThreadPoolExecutor
from typing import Any

import pytest
from bokeh.document import Document

from curvelab.app import setup_column
from curvelab.app.edits import Edit, change, read_edit
from curvelab.app.link import query_from, query_of
from curvelab.app.page import _TEMPLATE, Page, guess_width
from curvelab.app.rows import STILL, figure, flat
from curvelab.app.slots import slots
from curvelab.app.state import AppState
from curvelab.errors import InputError
from curvelab.layout.sizes import Width
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import decode, encode
from curvelab.report.words import LOCAL_CODES
from curvelab.units import System

CATALOGUE = default_catalogue()
JOBS = sorted(CATALOGUE.setups)
POND = CATALOGUE.setups["mill-pond"]


def edited(setup: Any, do: str, path: str = "", value: Any = None) -> Any:
    return change(setup, Edit(do, path, value), CATALOGUE)


def page(query: str = "") -> Page:
    made = Page(CATALOGUE, query)
    made.template()._init_doc(Document())
    return made


def in_a_loop(received: Callable[[], Coroutine[Any, Any, None]]) -> None:
    """Run it in a thread of its own: while a browser is open, its tools keep a loop running in this one."""
    with ThreadPoolExecutor(1) as pool:
        pool.submit(lambda: asyncio.run(received())).result()


def send(
    made: Page, *edits: dict[str, Any], held: bool = False, seq: int = 1, has: int | None = None
) -> dict[str, Any]:
    async def received() -> None:  # what is asked once it has been quiet needs a loop to wait in
        made._receive({"seq": seq, "has": has, "held": held, "edits": list(edits)})

    in_a_loop(received)
    return made.wire.now


# --- edits


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("job", JOBS)
def test_units_move_no_physical_value(job: str, system: System):
    setup = CATALOGUE.setups[job]
    there = edited(setup, "units", value=str(system))
    assert there.with_("units", str(setup.units)) == setup


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("job", JOBS)
def test_setting_a_slider_to_the_number_it_shows_changes_nothing(job: str, system: System):
    setup = edited(CATALOGUE.setups[job], "units", value=str(system))
    structure = setup_column.stations(setup, CATALOGUE)
    shown = setup_column.values(setup, structure, CATALOGUE)
    for row in (row for row in flat(structure) if row["kind"] == "slider"):
        number, _ = shown[row["path"]]
        again = edited(setup, "set", row["path"], number)
        field = row["path"]
        was, now = (figure(each, field)[0] for each in (setup, again))
        assert now == pytest.approx(was, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "metres"), [("12", 3.6576), ("1,200", 365.76), ("−3", -0.9144), ("4 m", 4.0), ("½ ft", 0.1524)]
)
def test_box_reads_a_number_as_shown_or_with_a_unit(text: str, metres: float):
    assert edited(POND, "type", "suction.lift", text).suction.lift.si == pytest.approx(metres)


@pytest.mark.parametrize("text", ["", "twelve", "12 gpm", "9**9", "nan", "1e999", "12 ft; 13 ft"])
def test_box_refuses_anything_else(text: str):
    with pytest.raises(InputError):
        edited(POND, "type", "suction.lift", text)


def test_throttle_is_a_share_shown_in_percent():
    assert edited(POND, "set", "pump.throttle", 88).pump.throttle == pytest.approx(0.88)
    assert edited(POND, "type", "pump.throttle", "88 %").pump.throttle == pytest.approx(0.88)


def test_strainer_takes_the_place_of_the_other_and_leaves_the_couplings():
    legs = edited(POND, "pick", "suction.end", "foot-valve").suction.leg
    assert dict(legs[0].fittings) == {"foot-valve": 1, "cam-coupling": 1}


def test_another_make_of_hose_keeps_the_size_where_it_has_it():
    changed = edited(POND, "pick", "discharge.leg.0.hose", "lay-flat-medium").discharge.leg[0]
    old = POND.discharge.leg[0]
    assert (changed.size, changed.length, changed.fittings) == (old.size, old.length, old.fittings)


@pytest.mark.parametrize("kind", ["open", "submerged", "nozzle", "pressure", "sprinklers"])
@pytest.mark.parametrize("system", System)
def test_every_outlet_can_be_chosen_in_every_system_of_units(kind: str, system: System):
    setup = edited(POND, "units", value=str(system))
    chosen = edited(setup, "pick", "outlet.kind", kind)
    assert chosen.outlet.kind == kind
    rows = [row["path"] for row in setup_column.stations(chosen, CATALOGUE)[-1]["rows"]]
    assert rows == ["outlet.kind", *(path for path, _ in setup_column.OUTLET_ROWS[kind])]


def test_a_job_is_opened_in_the_visitors_units():
    metric = edited(POND, "units", value="metric")
    assert edited(metric, "open", value="cellar").units is System.METRIC


@pytest.mark.parametrize(
    "message",
    [
        *(None, 5, {}, {"do": "eval"}, {"do": "set", "path": 3}, {"do": "set", "path": "x" * 99}),
        *({"do": "type", "path": "suction.lift", "text": "1" * 9999}, {"do": "set", "path": "a", "number": [1]}),
    ],
)
def test_messages_that_no_control_sends_are_no_edits(message: Any):
    assert read_edit(message) is None


# --- the column


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("job", JOBS)
def test_every_row_has_a_value_that_it_can_show(job: str, system: System):
    setup = edited(CATALOGUE.setups[job], "units", value=str(system))
    structure = setup_column.stations(setup, CATALOGUE)
    shown = setup_column.values(setup, structure, CATALOGUE)
    rows = list(flat(structure))
    assert len({row["path"] for row in rows}) == len(rows)
    for row in rows:
        if row["kind"] in STILL:
            continue
        value = shown[row["path"]]
        if row["kind"] == "slider":
            assert row["low"] - 1e-9 <= value[0] <= row["steps"][-1][0] + 1e-9
        elif row["kind"] in ("choice", "pick", "hose"):
            assert value in [option[0] for option in row["options"]], row["path"]


def test_words_of_a_cell_stand_under_its_table():
    structure = setup_column.stations(POND, CATALOGUE)
    said = {"discharge.waypoint.1.height": "too high", "suction.bends": "too many", "nowhere": "x", "suction.lift": "y"}
    placed = setup_column.by_row(said, structure)
    assert placed == {"discharge.waypoint": "too high", "suction.end": "too many", "suction.lift": "y"}


# --- words


def shown_cautions(state: AppState) -> tuple[str, str]:
    """The list in view, and the fold."""
    before, _, rest = slots(state, 1)["cautions"].partition("<details>")
    fold, _, after = rest.partition("</details>")
    return before + after, fold


@pytest.mark.parametrize("job", JOBS)
def test_fumes_pressure_and_fuel_stand_in_view_and_can_not_be_waved_away(job: str):
    state = AppState(CATALOGUE, CATALOGUE.setups[job])
    for name in ("exhaust", "pressure", "fuel"):
        state.wave({"hide": {"value": name}})
        before, fold = shown_cautions(state)
        assert str(CATALOGUE.cautions[name].short) in before
        assert f'data-hide="{name}"' not in before + fold
    assert state.hidden == []
    assert before.endswith(f"{LOCAL_CODES}</p>")


def test_a_caution_waved_away_stays_so_and_comes_back_and_is_printed_all_the_same():
    made = page()
    noise = 'data-hide="noise"'
    assert noise in made.words["cautions"]
    send(made, {"do": "hide", "value": "noise"})
    send(made, {"do": "set", "path": "suction.lift", "number": 14.0}, seq=2)
    assert noise not in made.words["cautions"]
    assert f'<div class="waved"><dt>{CATALOGUE.cautions["noise"].short}' in made.words["cautions"]
    assert "1 hidden: show it again" in made.words["cautions"]
    send(made, {"do": "unhide"}, seq=3)
    assert noise in made.words["cautions"]
    for nonsense in ("exhaust", "nobody", None, 4, ["noise"]):
        send(made, {"do": "hide", "value": nonsense}, seq=4)
    assert made.state.hidden == []


def test_what_an_engine_short_of_suction_must_hear_stands_first():
    before, _ = shown_cautions(AppState(CATALOGUE, CATALOGUE.setups["mill-pond-august"]))
    assert before.index("More throttle") < before.index("Engine fumes")


def test_words_from_a_link_are_escaped_everywhere():
    evil = '<img src=x onerror="hit()">'
    setup = POND.with_("title", evil).with_("receiver.name", evil).with_("source.name", evil)
    for name, html in slots(AppState(CATALOGUE, setup), 1).items():
        assert "<img" not in html, name


# --- messages


def test_a_message_is_answered_with_its_number_and_the_link_of_what_is_shown():
    made = page()
    now = send(made, {"do": "set", "path": "suction.lift", "number": 14.0}, seq=7)
    assert now["seq"] == 7
    assert decode(made.query or "").setup == made.state.setup
    assert made.state.setup.suction.lift.text == "14 ft"


def test_while_a_slider_is_held_the_link_and_the_rows_stay():
    made = page()
    before, rows = made.query, made.stations
    send(made, {"do": "set", "path": "discharge.rise", "number": 140.0}, held=True)
    assert made.query == before
    assert made.stations == rows
    assert not made.state.settled
    send(made, {"do": "release", "path": "discharge.rise"}, seq=2)
    assert made.state.settled
    assert decode(made.query or "").setup.discharge.rise.text == "140 ft"


def test_what_is_refused_is_said_at_its_row_and_the_picture_stays():
    made = page()
    shown = made.state.shown
    now = send(made, {"do": "type", "path": "suction.lift", "text": "twelve"})
    assert made.state.shown is shown
    assert "length" in now["faults"]["suction.lift"]
    assert send(made, {"do": "set", "path": "suction.lift", "number": 12.0}, seq=2)["faults"] == {}


@pytest.mark.parametrize("message", [None, "x", {}, {"edits": 3}, {"seq": "a", "edits": [None, 4, {"do": "set"}]}])
def test_nonsense_on_the_line_changes_nothing_and_raises_nothing(message: Any):
    made = page()
    shown = made.state.shown

    async def received() -> None:
        made._receive(message)

    in_a_loop(received)
    assert made.state.shown is shown
    assert made.state.notices == []


def test_another_width_or_other_units_make_other_pictures():
    made = page()
    send(made, {"do": "width", "value": 390})
    assert (made.bench.width, made.state.width) == (Width.NARROW, Width.NARROW)
    send(made, {"do": "units", "value": "metric"}, seq=2)
    assert made.bench.system is System.METRIC
    assert made._bench_place.children == [made.bench.root]


@pytest.mark.parametrize("job", JOBS)
def test_every_job_opens_from_its_link(job: str):
    setup = CATALOGUE.setups[job]
    made = Page(CATALOGUE, encode(setup, catalogue=CATALOGUE))
    assert made.state.setup == setup
    assert made.state.notices == []


def test_query_is_put_together_again_as_it_came():
    query, refusal = query_of(POND, CATALOGUE)
    assert refusal == ""
    assert query is not None
    pairs = [pair.split("=", 1) for pair in query[1:].split("&")]
    arguments = {name: [re.sub(r"\+", " ", text).replace("%25", "%").encode()] for name, text in pairs}
    assert decode(query_from(arguments)).setup == POND


def test_a_point_that_has_a_name_gets_another():
    made = page()
    send(made, {"do": "type", "path": "discharge.waypoint.2.name", "text": "levee"})
    assert made.state.notices == []
    assert made.state.setup.discharge.waypoint[2].name == "levee"


def test_width_is_guessed_until_the_browser_says():
    assert guess_width({"User-Agent": "Something Mobile"}) is Width.NARROW
    assert guess_width({"User-Agent": "iPad"}) is Width.MEDIUM
    assert guess_width({}) is Width.WIDE


def test_every_place_of_the_page_is_filled():
    filled = slots(AppState(CATALOGUE, POND), 2)
    assert set(filled) == set(re.findall(r'data-slot="(\w+)"', _TEMPLATE))
    assert "×2" in filled["run_note"]
