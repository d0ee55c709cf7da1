"""Pages that were closed are gone, with a yard's folder too: no browser, only sessions that open and are left."""

from __future__ import annotations

import gc
import logging
import time
import urllib.request
from collections.abc import Callable, Iterator
from functools import partial
from pathlib import Path
from typing import Any
from weakref import WeakSet

import pytest

from curvelab.app.page import Page
from curvelab.app.server import make_server
from curvelab.app.state import AppState
from curvelab.figures.bench import Bench
from curvelab.model.catalogue import YARD, look_again
from curvelab.model.yard import make_yard
from tests.browser.visit import Served, in_a_thread

KINDS = (Page, AppState, Bench)
WAIT_S = 20.0


@pytest.fixture
def served(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Served]:
    """A server with a yard; a page that nobody looks at is left at once."""
    make_yard(tmp_path / "yard")
    monkeypatch.setenv(YARD, str(tmp_path / "yard"))
    server, thread = in_a_thread(lambda: make_server(0, kept_ms=200))
    yield server
    server.stop()
    thread.join(20)
    look_again()


@pytest.fixture
def made(monkeypatch: pytest.MonkeyPatch) -> dict[type, WeakSet[Any]]:
    """All that is made of each kind, as long as anybody holds it."""
    found: dict[type, WeakSet[Any]] = {kind: WeakSet() for kind in KINDS}

    def counted(kind: type, plain: Callable[..., None]) -> Callable[..., None]:
        def init(self: Any, *given: Any, **named: Any) -> None:
            found[kind].add(self)
            plain(self, *given, **named)

        return init

    for kind in KINDS:
        monkeypatch.setattr(kind, "__init__", counted(kind, kind.__init__))
    return found


def move_a_slider(served: Served, pages: WeakSet[Page]) -> None:
    """In every page that is open, so that some are left while their studies are being asked."""
    edit = {"do": "set", "path": "suction.lift", "number": 11.0}

    def act() -> None:
        for session in served.server.get_sessions():
            for page in [each for each in pages if each.keeper._document is session.document]:
                session.document.add_next_tick_callback(partial(page._receive, {"seq": 1, "edits": [edit]}))

    served.call(act)


def until(what: str, found: Callable[[], object], wanted: object) -> None:
    end = time.monotonic() + WAIT_S
    while found() != wanted:
        assert time.monotonic() < end, f"{what}: {found()} instead of {wanted}"
        time.sleep(0.3)


@pytest.mark.slow
def test_eight_sessions_on_a_yard_leave_nothing_behind(
    served: Served, made: dict[type, WeakSet[Any]], caplog: pytest.LogCaptureFixture
):
    def held() -> list[int]:
        gc.collect()
        return [len(things) for things in made.values()]

    with caplog.at_level(logging.ERROR):
        for visit in range(8):
            urllib.request.urlopen(served.address, timeout=30).close()
            if visit % 3 == 2:
                move_a_slider(served, made[Page])
        assert 0 < len(made[Page]) <= 8
        until("sessions", lambda: served.call(lambda: len(served.server.get_sessions())), 0)
        until("held", lambda: served.call(held), [0, 0, 0])
    assert not [record.getMessage() for record in caplog.records]
