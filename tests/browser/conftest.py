"""The page on a free port of this machine, in a thread, and Debian's browser in front of it."""

from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any, TypeVar

import pytest
from playwright.sync_api import Browser, expect, sync_playwright

from curvelab.model.catalogue import YARD, look_again
from curvelab.model.yard import make_yard
from tests.browser.visit import ARGUMENTS, Curves, Served, Visit, in_a_thread
from tests.conftest import chromium_path

KEPT_MS = 5000
Page = TypeVar("Page", bound=Visit)
expect.set_options(timeout=30_000)  # as patient as a Visit: a busy machine is slow, not wrong


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    """One for each file: while it is open its loop runs, and a test of another file that needs one can't have it."""
    with sync_playwright() as playwright:
        browser = playwright.chromium.launch(executable_path=chromium_path(), args=list(ARGUMENTS))
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def served() -> Iterator[Served]:
    """The server in a thread of its own, so that a test can count what it holds; it ends before other files' tests."""

    def make() -> Any:
        from curvelab.app.server import make_server

        return make_server(0, kept_ms=KEPT_MS)

    server, thread = in_a_thread(make)
    yield server
    server.stop()
    thread.join(20)


@pytest.fixture
def visit(browser: Browser, served: Served) -> Iterator[Callable[..., Visit]]:
    """Open the page; what its console complains of and whom it asks is looked at when the test is over."""
    yield from _opening(Visit, browser, served.address)


@pytest.fixture
def curves(browser: Browser, served: Served) -> Iterator[Callable[..., Curves]]:
    """The same for the Curves page."""
    yield from _opening(Curves, browser, f"{served.address}curves")


def _opening(kind: type[Page], browser: Browser, address: str) -> Iterator[Callable[..., Page]]:
    visits: list[Page] = []

    def open_page(query: str = "", *, width: int = 1440, height: int = 900, **context: Any) -> Page:
        visits.append(kind(browser, address, query, width, height, **context))
        return visits[-1]

    yield open_page
    for one in visits:
        one.close()
    for one in visits:
        assert one.complaints == []
        assert one.asked_elsewhere == []


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    make_yard(tmp_path / "yard")
    monkeypatch.setenv(YARD, str(tmp_path / "yard"))
    yield tmp_path / "yard"
    monkeypatch.undo()
    look_again()
