"""Who asks the studies, in which order: quick ones together, the open one first, what is overtaken not at all."""

import asyncio
from collections.abc import Callable, Coroutine
from typing import Any

import pytest

from curvelab.app.edits import Edit
from curvelab.app.state import AppState
from curvelab.app.studies import desk
from curvelab.app.studies.cures import KEY
from curvelab.app.studies.desk import Answer, Studies
from curvelab.app.studies.tabs import TABS
from curvelab.model.catalogue import default_catalogue

CATALOGUE = default_catalogue()
QUICK = {KEY, *(tab.key for tab in TABS if not tab.slow)}
SLOW = [tab.key for tab in TABS if tab.slow and not tab.once_opened]
LATE = [tab.key for tab in TABS if tab.once_opened]


class Document:
    """Runs what a document would on its next tick."""

    def add_next_tick_callback(self, callback: Callable[[], None]) -> None:
        asyncio.get_running_loop().call_soon(callback)


class Watched:
    """The studies of a page without a browser, and the keys that were asked, in order."""

    def __init__(self, monkeypatch: pytest.MonkeyPatch) -> None:
        self.state = AppState(CATALOGUE, CATALOGUE.setups["mill-pond"])
        self.asked: list[str] = []
        self.on_ask: dict[str, Callable[[], None]] = {}
        self.bands: list[Any] = []
        self.studies = Studies(self.state, lambda band, _: self.bands.append(band))
        monkeypatch.setattr(self.studies, "_document", Document())
        monkeypatch.setattr(desk, "QUIET_S", 0.001)
        plain = desk.ask

        def ask(key: str, *arguments: Any) -> Answer:
            self.asked.append(key)
            if key in self.on_ask:
                self.on_ask.pop(key)()
            return plain(key, *arguments)

        monkeypatch.setattr(desk, "ask", ask)

    def lift(self, text: str) -> None:
        self.state.apply([Edit("type", "suction.lift", text)], held=False)

    async def until_told(self, seq: int, keys: list[str]) -> None:
        told = asyncio.Event()

        def look(*_: object) -> None:
            if all(self.studies.wire.studied[key] == seq for key in keys):
                told.set()

        watcher = self.studies.wire.param.watch(look, "studied")
        look()
        await asyncio.wait_for(told.wait(), 20)
        self.studies.wire.param.unwatch(watcher)


@pytest.fixture
def watched(monkeypatch: pytest.MonkeyPatch) -> Watched:
    return Watched(monkeypatch)


def run(work: Coroutine[Any, Any, None]) -> None:
    asyncio.run(work)


def test_a_page_opens_with_the_quick_ones_and_asks_the_slow_ones_after(watched: Watched):
    assert {key for key, seq in watched.studies.wire.studied.items() if seq == 0} == QUICK | set(LATE)

    async def work() -> None:
        watched.studies.due(1)
        await watched.until_told(1, SLOW)

    run(work())
    assert watched.asked == SLOW
    assert set(watched.studies.wire.studied.values()) == {1}


def test_slow_ones_wait_until_the_quick_ones_are_shown_and_the_open_one_is_first(watched: Watched):
    seen: dict[str, int] = {}
    watched.on_ask[SLOW[-1]] = lambda: seen.update(watched.studies.wire.studied)

    async def work() -> None:
        watched.lift("13 ft")
        watched.studies._opened(SLOW[-1])
        watched.studies.due(7)
        await watched.until_told(7, SLOW)

    run(work())
    assert set(watched.asked[: len(QUICK)]) == QUICK
    assert watched.asked[len(QUICK)] == SLOW[-1]
    assert sorted(watched.asked[len(QUICK) :]) == sorted(SLOW)
    assert {key for key, seq in seen.items() if seq == 7} >= QUICK, "those were shown before"


def test_what_is_overtaken_is_not_told_and_the_rest_of_it_not_asked(watched: Watched):
    loop: list[asyncio.AbstractEventLoop] = []

    def overtake() -> None:
        loop[0].call_soon_threadsafe(lambda: (watched.lift("14 ft"), watched.studies.due(9)))

    async def work() -> None:
        loop.append(asyncio.get_running_loop())
        watched.on_ask[SLOW[0]] = overtake
        watched.lift("13 ft")
        watched.studies.due(8)
        await watched.until_told(9, [*QUICK, *SLOW])

    run(work())
    first = watched.asked.index(SLOW[0])
    assert set(watched.asked[:first]) == QUICK
    assert set(watched.asked[first + 1 : first + 1 + len(QUICK)]) == QUICK, "then at once the newest setup"
    told = watched.studies.words("clock")["table"]
    assert ">14<" in told, "the lift at the start is the newest one"


def test_a_change_that_changes_nothing_asks_nothing(watched: Watched):
    async def work() -> None:
        watched.studies.due(1)
        await watched.until_told(1, SLOW)
        watched.asked.clear()
        watched.studies.due(2)
        await asyncio.sleep(0.02)

    run(work())
    assert watched.asked == []
    assert set(watched.studies.wire.studied.values()) == {2}


def test_nothing_is_asked_while_a_slider_is_held(watched: Watched):
    async def work() -> None:
        watched.state.apply([Edit("set", "suction.lift", 13.0)], held=True)
        watched.studies.due(3)
        await asyncio.sleep(0.02)

    run(work())
    assert watched.asked == []


def test_one_that_fails_says_so_and_the_others_go_on(watched: Watched, monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr("curvelab.app.studies.times.times", lambda *_: 1 / 0)

    async def work() -> None:
        watched.lift("13 ft")
        watched.studies.due(4)
        await watched.until_told(4, [key for key in (*QUICK, *SLOW) if key != "clock"])

    run(work())
    assert "(id " in watched.studies.words("clock")["finding"]
    assert watched.studies.wire.studied["clock"] != 4


def test_the_band_of_the_bench_comes_with_the_doubts(watched: Watched):
    async def work() -> None:
        watched.studies.due(1)
        await watched.until_told(1, SLOW)

    assert watched.bands == []
    run(work())
    assert len(watched.bands) == 1
    shown = watched.state.shown
    assert shown is not None
    low, high = watched.bands[0].flow_m3_s
    assert low < (shown.result.flow_m3_s or 0.0) < high


def test_a_tab_that_is_asked_once_opened_is_asked_then(watched: Watched):
    async def work() -> None:
        watched.studies.due(1)
        await watched.until_told(1, SLOW)
        assert not set(LATE) & set(watched.asked)
        watched.studies._opened(LATE[0])
        await watched.until_told(1, [LATE[0]])

    run(work())
    assert watched.asked[-1] == LATE[0]


def test_a_picture_is_made_when_its_tab_is_opened_and_only_the_open_one_follows(
    watched: Watched, monkeypatch: pytest.MonkeyPatch
):
    studies = watched.studies
    first, other = [tab.key for tab in TABS if tab.picture is not None][:2]
    assert not studies.pictures, "no browser is there yet"
    studies._opened(first)
    assert studies.wire.pictured[first] is True
    assert set(studies.pictures) == {first}
    drawn: list[str] = []

    def record(key: str) -> None:
        monkeypatch.setattr(studies.pictures[key], "update", lambda *_: drawn.append(key))

    async def work() -> None:
        studies._opened(other)
        assert studies.places[other].children == [studies.pictures[other].root]
        for key in (first, other):
            record(key)
        watched.lift("13 ft")
        studies.due(1)
        await watched.until_told(1, [*QUICK, *SLOW])

    run(work())
    assert set(drawn) == {other}, "nobody sees the first"
    studies._opened(first)
    assert drawn[-1] == first, "it had fallen behind"
