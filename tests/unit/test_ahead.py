"""A document written out ahead is what it would be when pulled, whatever happened meanwhile."""

import asyncio
from collections.abc import Callable
from functools import partial
from typing import Any, cast

import pytest
from bokeh.document import Document
from bokeh.models import ColumnDataSource, Div

from curvelab.app import ahead
from curvelab.app.ahead import Ahead, Asked


@pytest.fixture(autouse=True)
def _hurried(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(ahead, "QUIET_S", 0.01)
    monkeypatch.setattr(ahead, "LONG_S", 0.2)


def document() -> Document:
    made = Document()
    made.add_root(Div(text="first"))
    made.add_root(ColumnDataSource({"x": [1.0]}))
    return made


def text(written: Any) -> str:
    return next(root["attributes"]["text"] for root in written.content["roots"] if root["name"] == "Div")


def pulled(made: Document) -> Any:
    """As Bokeh pulls it: what stands there as ``to_json`` by then."""
    return made.to_json()


def waited(made: Document, then: Callable[[], Any], *, asked: bool = True) -> Any:
    """What ``then`` gives a while after the page's files were asked for."""

    async def work() -> Any:
        Ahead(made).start()
        await asyncio.sleep(0.002)
        if asked:
            Asked.at = asyncio.get_running_loop().time()
        await asyncio.sleep(0.05)
        return then()

    return asyncio.run(work())


def test_what_is_pulled_was_written_before(monkeypatch: pytest.MonkeyPatch):
    calls: list[int] = []
    plain = Document.to_json

    def counted(self: Document, **named: Any) -> Any:
        calls.append(1)
        return plain(self, **named)

    monkeypatch.setattr(Document, "to_json", counted)
    made = document()

    def pull() -> tuple[int, Any]:
        before = len(calls)
        return before, made.to_json()

    before, written = waited(made, pull)
    assert before == len(calls) == 1
    assert text(written) == "first"


@pytest.mark.parametrize("policy", [None, "combine"])
def test_a_change_meanwhile_is_in_what_is_pulled(policy: Any):
    made = document()

    def pull() -> Any:
        if policy:
            made.hold(policy)  # what is held back, and perhaps dropped, is told to nobody
        cast("Any", made.roots[0]).text = "second"
        return made.to_json()

    assert text(waited(made, pull)) == "second"


def test_a_column_replaced_meanwhile_is_in_what_is_pulled():
    made = document()

    def pull() -> Any:
        cast("Any", made.roots[1]).data["x"] = [2.0]
        return made.to_json()

    roots = waited(made, pull).content["roots"]
    assert dict(
        next(root for root in roots if root["name"] == "ColumnDataSource")["attributes"]["data"]["entries"]
    ) == {"x": [2.0]}


def test_it_is_pulled_as_ever_where_no_browser_asked_for_its_files():
    made = document()
    assert text(waited(made, partial(pulled, made), asked=False)) == "first"


def test_once_pulled_nothing_is_left_behind():
    made = document()
    waited(made, partial(pulled, made))
    assert "to_json" not in vars(made)
    assert "notify_change" not in vars(made.callbacks)
