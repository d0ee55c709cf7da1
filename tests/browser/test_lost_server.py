"""The server dies in the middle of work and comes back: the open page goes on by itself, with all that was made."""

import os
import signal
import socket
import subprocess
import sys
import urllib.request
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from time import monotonic, sleep

import pytest
from playwright.sync_api import Browser, expect

from tests.browser.visit import READY, Visit

PATIENCE_MS = 60_000


@contextmanager
def server(port: int, yard: Path) -> Iterator[subprocess.Popen[bytes]]:
    """The command as a person starts it."""
    asked = [sys.executable, "-m", "curvelab", "serve", "--port", str(port), "--no-show", "--yard", str(yard)]
    process = subprocess.Popen(asked, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, env={**os.environ})
    until = monotonic() + 60
    while monotonic() < until:
        try:
            urllib.request.urlopen(f"http://127.0.0.1:{port}/liveness", timeout=5).close()
            break
        except OSError:
            sleep(0.1)
    try:
        yield process
    finally:
        process.kill()
        process.wait(20)


def free_port() -> int:
    with socket.create_server(("127.0.0.1", 0)) as line:
        return line.getsockname()[1]


def work(one: Visit) -> None:
    """A slider moved, the setup chalked, the chalk named."""
    one.slider("Rise to the outlet").focus()
    one.page.keyboard.press("ArrowRight")
    one.settle()
    one.page.get_by_role("banner").get_by_role("button", name="Keep this").click()
    one.settle()
    one.page.get_by_role("textbox", name="Name of A").fill("as it was")
    one.page.keyboard.press("Enter")
    one.settle()


def work_on(one: Visit) -> None:
    """Without a server: a slider moved, a name typed, the setup to be saved."""
    one.slider("Rise to the outlet").focus()
    one.page.keyboard.press("ArrowRight")
    one.page.get_by_role("textbox", name="Name of A").fill("never entered")
    one.page.get_by_role("button", name="Save setup").click()
    one.page.get_by_role("dialog").get_by_label("Name").fill("Pond in May")
    save(one)


def save(one: Visit) -> None:
    one.page.get_by_role("dialog").get_by_role("button", name="Save", exact=True).click()


@pytest.mark.slow
def test_a_page_whose_server_was_killed_goes_on_with_all_that_was_made(browser: Browser, yard: Path):
    port = free_port()
    with server(port, yard) as first:
        one = Visit(browser, f"http://127.0.0.1:{port}/", "?units=metric", 1440, 900)
        work(one)
        before = one.flow()
        assert "a.name=as+it+was" in one.followed()
        one.page.evaluate("window.old = true")
        first.send_signal(signal.SIGKILL)
        first.wait(20)
        expect(one.page.get_by_role("alert").filter(has_text="The line to the server is lost")).to_be_visible()
        work_on(one)
    with server(port, yard):
        one.page.wait_for_function("() => window.old === undefined", timeout=PATIENCE_MS)
        one.page.wait_for_function(READY)
        expect(one.page.get_by_role("dialog").get_by_label("Name")).to_have_value("Pond in May")
        save(one)
        one.settle()
        expect(one.page.locator("#saved")).to_contain_text("Saved as")
        assert (yard / "setups" / "pond-in-may.toml").exists()
        expect(one.page.get_by_role("textbox", name="Name of A")).to_have_value("never entered")
        after = one.followed()
        assert "a.name=never+entered" in after
        assert "units=metric" in after
        assert one.flow() != before, "the slider moved meanwhile has moved"
        one.slider("Rise to the outlet").focus()
        one.page.keyboard.press("ArrowLeft")
        one.settle()
        assert one.flow() == before
        one.close()
