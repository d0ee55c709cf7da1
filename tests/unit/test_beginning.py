"""The four questions without a browser: answers as typed, what is said of a bad one, and that nothing is lost."""

from html.parser import HTMLParser
from typing import Any

import pytest

import curvelab
from curvelab.app.beginning import SOURCES, Questions, form
from curvelab.app.edits import Edit
from curvelab.app.state import AppState
from curvelab.model.catalogue import default_catalogue
from curvelab.units import Quantity, System, parse

CATALOGUE = default_catalogue()
POND = CATALOGUE.setups["mill-pond"]
GOOD = {"source": "river", "lift": "8", "rise": "10", "distance": "200", "much": "flow", "flow": "40"}


def asked(answers: Any, system: System = System.US) -> tuple[AppState, dict[str, str]]:
    state = AppState(CATALOGUE, POND.with_("units", str(system)))
    questions = Questions(state)
    questions.answer(answers)
    return state, questions.told["wrong"]


@pytest.mark.parametrize(
    ("system", "lift_m", "flow_m3_s"),
    [
        (System.US, parse("3 ft", Quantity.LENGTH), parse("40 gpm", Quantity.FLOW)),
        (System.IMPERIAL, parse("3 ft", Quantity.LENGTH), parse("40 imp gpm", Quantity.FLOW)),
        (System.METRIC, 3.0, parse("40 L/min", Quantity.FLOW)),
    ],
)
def test_numbers_are_taken_in_the_unit_behind_their_box(system: System, lift_m: float, flow_m3_s: float):
    state, wrong = asked(GOOD | {"lift": "3"}, system)
    assert wrong == {}
    setup = state.setup
    assert setup.units is system
    assert setup.suction.lift.si == pytest.approx(lift_m, abs=1e-6)
    assert setup.goal.flow_m3_s == pytest.approx(flow_m3_s, rel=1e-6)
    assert (curvelab.solve(setup).flow_m3_s or 0.0) >= flow_m3_s * (1 - 1e-6)


def test_a_number_may_bring_its_own_unit_and_a_time_is_in_hours():
    state, wrong = asked(GOOD | {"lift": "2.5 m", "much": "volume", "volume": "2,000", "time": "1.5"})
    assert wrong == {}
    assert state.setup.suction.lift.si == pytest.approx(2.5)
    hourly = parse("2000 gal", Quantity.VOLUME) / parse("1.5 h", Quantity.TIME)
    assert state.setup.goal.flow_m3_s == pytest.approx(hourly)


def test_as_much_as_it_gives_needs_no_number():
    state, wrong = asked(GOOD | {"much": "most", "flow": "rubbish"})
    assert wrong == {}
    assert state.setup.goal.flow_m3_s == 0.0


@pytest.mark.parametrize(
    ("changed", "boxes"),
    [
        ({"lift": ""}, {"lift"}),
        ({"lift": "", "rise": "x", "distance": ""}, {"lift", "rise", "distance"}),
        ({"lift": "9 gpm"}, {"lift"}),
        ({"lift": "1e9"}, {"lift"}),
        ({"lift": "9999"}, {"lift"}),
        ({"distance": "0"}, {"distance"}),
        ({"distance": "-5"}, {"distance"}),
        ({"flow": "0"}, {"flow"}),
        ({"flow": "99999999999"}, {"flow"}),
        ({"much": "volume"}, {"volume", "time"}),
        ({"source": "tap"}, {"source"}),
        ({"rise": "9**9"}, {"rise"}),
    ],
)
def test_what_cannot_be_read_is_said_at_its_box_and_the_page_stays(changed: dict[str, str], boxes: set[str]):
    state, wrong = asked(GOOD | changed)
    assert set(wrong) == boxes
    assert all(text for text in wrong.values())
    assert state.setup == POND
    assert state.notices == []


@pytest.mark.parametrize("answers", [None, 4, [], "x", {}, {"lift": ["1"]}])
def test_nonsense_raises_nothing(answers: Any):
    state, wrong = asked(answers)
    assert wrong
    assert state.setup == POND


def test_answers_lose_nothing_and_their_words_go_with_them():
    state = AppState(CATALOGUE, POND)
    state.apply([Edit("set", "suction.lift", 9.0)], held=False)
    mine, questions = state.setup, Questions(state)
    questions.answer(GOOD)
    assert "We took:" in state.notices[-1]
    questions.answer(GOOD | {"source": "cellar"})
    assert len(state.notices) == 2, "words of the answers before are gone"
    state.step(back=True)
    state.step(back=True)
    assert state.setup == mine
    questions.done()
    assert state.notices == []


def test_height_and_temperature_of_the_place_stay():
    state, _ = asked(GOOD)
    assert state.setup.site.altitude.si == pytest.approx(POND.site.altitude.si)
    assert state.setup.site.temperature.si == pytest.approx(POND.site.temperature.si)


class Names(HTMLParser):
    """Names of the boxes, what labels point to, and where faults go."""

    def __init__(self) -> None:
        super().__init__()
        self.names: set[str] = set()
        self.ids: set[str] = set()
        self.labels: set[str] = set()
        self.faults: set[str] = set()

    def handle_starttag(self, tag: str, attrs: list[tuple[str, str | None]]) -> None:
        have = {name: value or "" for name, value in attrs}
        if tag == "input":
            self.names.add(have["name"])
            self.ids.add(have.get("id", ""))
        if tag == "label" and "for" in have:
            self.labels.add(have["for"])
        if "data-fault" in have:
            self.faults.add(have["data-fault"])


def test_every_box_has_its_label_its_unit_and_a_place_for_its_fault():
    found = Names()
    found.feed(form())
    boxes = set(Questions(AppState(CATALOGUE, POND)).told["symbols"])
    assert found.names == {"source", "much", *boxes}
    assert found.labels == {f"begin-{box}" for box in boxes}
    assert found.labels <= found.ids
    assert found.faults == {"source", *boxes}
    assert all(f'value="{source}"' in form() for source, _ in SOURCES)
