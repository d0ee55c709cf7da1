"""What an answer tells: what differs, so that the browser has the whole of it, in a message that stays small."""

import re
from collections.abc import Sequence
from typing import Any

import pytest
from bokeh.document import Document
from hypothesis import given
from hypothesis import strategies as st

from curvelab.app.page import Page
from curvelab.app.telling import patch, spliced
from curvelab.model.chalk import Chalk
from curvelab.model.link import encode
from curvelab.studies.sizes import next_sizes
from tests.unit.test_app import CATALOGUE, page, send
from tests.unit.test_figures_bench import events_of, size_of

MOST_BYTES = 16_000
HTML = st.lists(st.sampled_from(["<p>", "</p>", "<td>", "</td>", "5", "12 ft", "a &lt; b"]), max_size=12)


def pieced(html: str, told: str | Sequence[int | str]) -> str:
    """What the browser makes of it."""
    if isinstance(told, str):
        return told
    pieces = re.split("(<[^>]*>)", html)
    for at in range(len(told) - 3, -1, -3):
        where, many, other = told[at : at + 3]
        pieces[int(where) : int(where) + int(many)] = [str(other)]
    return "".join(pieces)


def joined(query: str, told: Any) -> str:
    start, end, between = told
    return query[:start] + between + query[len(query) - end :]


class Browser:
    """What a browser has after each answer."""

    def __init__(self) -> None:
        self.words: dict[str, str] = {}
        self.values: dict[str, Any] = {}
        self.costs: dict[str, Any] = {}
        self.rows: dict[str, list[Any]] = {}
        self.ghosts: dict[str, Any] = {}
        self.chalks: list[list[str]] = []
        self.offers: dict[str, Any] = {}
        self.query = ""

    def take(self, now: dict[str, Any]) -> None:
        if now["whole"]:
            self.values, self.costs, self.ghosts = {}, {}, {}
        self.values |= now["values"]
        self.costs |= now["costs"]
        self.words |= {name: pieced(self.words.get(name, ""), told) for name, told in now["words"].items()}
        self.ghosts |= now["ghosts"]
        self.chalks = self.chalks if now["chalks"] is None else now["chalks"]
        self.offers |= now["offers"]
        for station in now["stations"]:
            had, others = self.rows.get(station["key"], []), station["rows"]
            self.rows[station["key"]] = [others.get(str(at)) or had[at] for at in range(station["count"])]
        self.query = now["query"] if isinstance(now["query"], str) else joined(self.query, now["query"])


@given(st.text("abc&=%", max_size=30), st.text("abc&=%", max_size=30))
def test_a_link_put_together_from_what_is_different(before: str, after: str):
    assert joined(before, spliced(before, after)) == after


@given(HTML, HTML)
def test_words_put_together_from_what_is_different(before: list[str], after: list[str]):
    old, new = "".join(before), "".join(after)
    assert pieced(old, patch(old, new)) == new


def test_a_figure_in_a_table_goes_alone():
    table = "<table><tr><td>12</td><td>{}</td></tr></table>"
    assert patch(table.format(4), table.format(5)) == [10, 1, "5"]


def test_after_a_run_of_changes_a_browser_has_what_a_fresh_page_shows():
    made, browser = page(), Browser()
    browser.take(made.wire.now)
    edits: list[tuple[dict[str, Any], bool]] = [
        ({"do": "set", "path": "discharge.rise", "number": 60}, True),
        ({"do": "set", "path": "discharge.rise", "number": 85}, True),
        ({"do": "release", "path": "discharge.rise"}, False),
        ({"do": "chalk"}, False),
        ({"do": "compare", "path": "up"}, False),
        ({"do": "set", "path": "suction.lift", "number": 24}, False),
        ({"do": "units", "value": "metric"}, False),
        ({"do": "rename", "path": "A", "value": "old"}, False),
        ({"do": "undo"}, False),
        ({"do": "units", "value": "us"}, False),
        ({"do": "pick", "path": "outlet.kind", "value": "nozzle"}, False),
        ({"do": "wipe", "path": "B"}, False),
        ({"do": "set", "path": "discharge.rise", "number": 40}, False),
    ]
    for seq, (edit, held) in enumerate(edits, 1):
        browser.take(send(made, edit, held=held, seq=seq, has=seq - 1))
    fresh = page(browser.query)
    assert browser.words == fresh.words
    assert browser.costs == fresh.wire.now["costs"]
    assert {path: browser.values[path] for path in fresh.wire.now["values"]} == fresh.wire.now["values"]
    assert browser.query == fresh.query
    assert [browser.rows[station["key"]] for station in fresh.stations] == [one["rows"] for one in fresh.stations]
    assert browser.chalks == (fresh.wire.now["chalks"] or [])
    assert browser.offers["button"] == fresh.wire.now["offers"]["button"]
    assert {path: marks for path, marks in browser.ghosts.items() if marks} == fresh.wire.now["ghosts"]


@pytest.mark.parametrize("job", ["mill-pond", "long-ditch-small-pump", "fertiliser"])
def test_with_three_chalked_an_answer_stays_small(job: str):
    """All of it, words and pictures, in one message."""
    setup = CATALOGUE.setups[job]
    others = [sized.setup for sized in next_sizes(setup, CATALOGUE) if sized is not None]
    others += [setup.with_("discharge.rise", text) for text in ("30 ft", "25 ft")]
    chalks = [Chalk(letter, other) for letter, other in zip("ABC", others, strict=False)]
    made = Page(CATALOGUE, encode(setup, chalks, CATALOGUE))
    document = Document()
    made.template()._init_doc(document)
    rise, _ = made.wire.now["values"]["discharge.rise"]
    sizes: dict[bool, list[int]] = {True: [], False: []}
    for seq in range(1, 9):
        held = seq <= 4
        with events_of(document) as events:
            edit = {"do": "set", "path": "discharge.rise", "number": rise + seq}
            send(made, edit, held=held, seq=seq, has=seq - 1)
        sizes[held].append(size_of(events))
    print(job, "bytes while dragged:", sizes[True], "settled:", sizes[False])
    assert max(sizes[True] + sizes[False]) <= MOST_BYTES
