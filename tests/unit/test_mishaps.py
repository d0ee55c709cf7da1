"""Whatever fails while the page works: the message is answered, an id shown that the log has, and the page goes on."""

import asyncio
import re
from collections.abc import Callable
from concurrent.futures import ThreadPoolExecutor
from dataclasses import replace
from typing import Any

import pytest

from curvelab.app import page as page_module
from curvelab.app.page import Page
from curvelab.app.studies import desk
from curvelab.app.studies.tabs import TABS
from curvelab.figures.bench import Bench
from curvelab.figures.run import RunDrawing
from curvelab.layout.sizes import Width
from curvelab.model.catalogue import default_catalogue

CATALOGUE = default_catalogue()
MARK = re.compile(r"\(id ([0-9a-f]{6})\)")
RISE = {"do": "set", "path": "discharge.rise", "number": 50.0}
WIDTH = {"do": "width", "value": 390}


def breaks(*_: object, **__: object) -> None:
    raise RuntimeError("inner secret")


def breaks_once(real: Callable[..., Any]) -> Callable[..., Any]:
    """Fails the first time only."""
    left = [breaks]

    def work(*given: Any, **named: Any) -> Any:
        return left.pop()() if left else real(*given, **named)

    return work


def send(made: Page, *edits: dict[str, Any], seq: int, held: bool = False) -> dict[str, Any]:
    async def received() -> None:
        made._receive({"seq": seq, "held": held, "edits": list(edits)})

    with ThreadPoolExecutor(1) as pool:  # a loop of its own, whatever loop runs here
        pool.submit(lambda: asyncio.run(received())).result()
    return made.wire.now


def noticed(made: Page, caplog: pytest.LogCaptureFixture) -> str:
    """The notice, whose id the log has."""
    (notice,) = made.state.notices
    mark = MARK.search(notice)
    assert mark
    assert mark[1] in caplog.text
    assert "secret" not in notice
    return notice


@pytest.mark.parametrize(
    ("place", "name", "edit"),
    [
        (page_module, "slots", RISE),
        (page_module, "said", RISE),
        (page_module.link, "query_of", RISE),
        (Bench, "update", RISE),
        (RunDrawing, "update", RISE),
        (page_module, "RunDrawing", WIDTH),
        (page_module, "Bench", WIDTH),
        (page_module.chalks, "act", {"do": "chalk"}),
    ],
    ids=lambda part: part if isinstance(part, str) else "",
)
def test_what_fails_half_way_is_answered_and_leaves_the_page_as_it_was(
    place: Any, name: str, edit: dict[str, Any], monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    made = Page(CATALOGUE)
    before, query = made.state.standing(), made.wire.now["query"]
    with monkeypatch.context() as broken:
        broken.setattr(place, name, breaks_once(getattr(place, name)))
        now = send(made, edit, seq=7)
    assert now["seq"] == 7
    assert noticed(made, caplog).endswith("The page goes on as it was before.")
    assert made.state.standing() == before
    assert now["query"] == query
    assert (made.bench.width, made.state.width) == (Width.WIDE, Width.WIDE)
    assert made.wire.trouble == {}
    assert send(made, {"do": "dismiss"}, RISE, seq=8)["seq"] == 8
    assert made.state.setup.discharge.rise.text == "50 ft"
    assert made.state.notices == []


def test_a_drag_that_fails_lets_go(monkeypatch: pytest.MonkeyPatch):
    made = Page(CATALOGUE)
    rise = made.state.setup.discharge.rise
    with monkeypatch.context() as broken:
        broken.setattr(Bench, "update", breaks_once(Bench.update))
        send(made, RISE, seq=1, held=True)
    assert made.state.setup.discharge.rise == rise
    assert made.state.settled
    send(made, {**RISE, "number": 60.0}, seq=2, held=True)
    send(made, {"do": "release", "path": "discharge.rise"}, seq=3)
    assert made.state.setup.discharge.rise.text == "60 ft"


def test_when_nothing_can_be_told_the_message_is_answered_all_the_same(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    made = Page(CATALOGUE)
    with monkeypatch.context() as broken:
        broken.setattr(page_module, "slots", breaks)
        now = send(made, RISE, seq=7)
    assert now["seq"] < 7
    assert made.wire.trouble["seq"] == 7
    mark = MARK.search(made.wire.trouble["said"])
    assert mark
    assert mark[1] in caplog.text
    assert send(made, RISE, seq=8)["seq"] == 8
    assert made.state.setup.discharge.rise.text == "50 ft"


@pytest.mark.parametrize("work", ["_measured", "_renewed"])
def test_what_the_server_does_by_itself_may_fail_too(
    work: str, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    made = Page(CATALOGUE)
    with monkeypatch.context() as broken:
        broken.setattr(Bench, "update", breaks_once(Bench.update))
        broken.setattr(made.studies, "due", lambda _: None)
        getattr(made, work)()
    noticed(made, caplog)


def test_a_study_that_can_not_be_drawn_says_so_and_the_others_are_told(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    made = Page(CATALOGUE)
    key = next(tab.key for tab in TABS if tab.picture is not None and not tab.slow)
    made.studies._opened(key)
    with monkeypatch.context() as broken:
        broken.setattr(type(made.studies.pictures[key]), "update", breaks)
        answers = {one.key: made.studies._told[one.key] for one in TABS if not one.slow}
        shown = made.state.shown
        assert shown is not None
        made.studies._take(answers, shown, 5)
    mark = MARK.search(made.studies.words(key)["finding"])
    assert mark
    assert mark[1] in caplog.text
    assert all(made.studies.wire.studied[one] == 5 for one in answers if one != key)


def test_when_no_study_can_be_asked_each_says_so(monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture):
    made = Page(CATALOGUE)
    monkeypatch.setattr(desk, "_ask_beside", breaks)

    async def asked() -> dict[str, Any]:
        return await made.studies._asked(["longer", "doubt"], made.state.shown)  # type: ignore[arg-type]

    with ThreadPoolExecutor(1) as pool:
        answers = pool.submit(lambda: asyncio.run(asked())).result()
    made.studies._take(answers, made.state.shown, 5)  # type: ignore[arg-type]
    for key in ("longer", "doubt"):
        mark = MARK.search(made.studies.words(key)["finding"])
        assert mark
        assert mark[1] in caplog.text


def test_new_lists_that_can_not_be_taken_are_said_and_the_page_keeps_its_own(
    monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    made = Page(CATALOGUE)
    monkeypatch.setattr("curvelab.app.keeper.news", breaks)
    monkeypatch.setattr(made.studies, "due", lambda _: None)
    before = made.state.shown
    made.keeper._do(lambda: made.keeper.renew(replace(CATALOGUE)))
    assert "the yard’s folder" in noticed(made, caplog)
    assert made.state.shown is before
    assert made.state.catalogue is CATALOGUE
    assert "the yard’s folder" in made.words["notice"]
