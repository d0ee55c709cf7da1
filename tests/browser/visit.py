"""One page in the browser, watched: messages, console, requests. Nothing here waits for a fixed time."""

import asyncio
import json
import threading
from collections.abc import Callable
from dataclasses import dataclass
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Locator, WebSocket, expect

ARGUMENTS = (
    *("--no-sandbox", "--disable-gpu", "--disable-quic", "--no-first-run", "--disable-background-networking"),
    *("--disable-component-update", "--disable-sync"),
)
MOST_BYTES = 16_000
"""Of a message that answers a change."""
READY = """() => {
  const page = document.getElementById("page");
  return page && page.dataset.ready && window.Bokeh && Bokeh.documents.length && Bokeh.documents[0].is_idle;
}"""
DRAWN = "() => document.querySelector('#one h2') && document.getElementById('page').dataset.pending === '0'"
STILL = "() => document.getElementById('page').dataset.ready && Bokeh.documents[0].is_idle"


@dataclass
class Served:
    """A server that runs in its own thread."""

    server: Any
    loop: Any

    @property
    def address(self) -> str:
        return f"http://127.0.0.1:{self.server.port}/"

    def call(self, function: Any) -> Any:
        """Run a function on the server's thread and return what it returns."""

        async def run() -> Any:
            return function()

        return asyncio.run_coroutine_threadsafe(run(), self.loop).result(30)

    def stop(self) -> None:
        self.call(self.server.stop)
        self.loop.call_soon_threadsafe(self.loop.stop)


def in_a_thread(make: Callable[[], Any]) -> tuple[Served, threading.Thread]:
    """Make a server in a thread of its own and start it there."""
    ready: list[Served] = []
    up = threading.Event()

    def run() -> None:
        loop = asyncio.new_event_loop()
        asyncio.set_event_loop(loop)
        server = make()
        server.start()
        ready.append(Served(server, loop))
        up.set()
        loop.run_forever()
        loop.run_until_complete(loop.shutdown_default_executor())  # whoever is asking still is waited for

    thread = threading.Thread(target=run, daemon=True)
    thread.start()
    assert up.wait(60), "the server did not come up"
    return ready[0], thread


class Visit:
    """A page with its listeners."""

    def __init__(
        self, browser: Browser, address: str, query: str, width: int, height: int, *, script: str = "", **context: Any
    ) -> None:
        self.address, self.host = address, urlsplit(address).netloc
        self.complaints: list[str] = []
        self.asked_elsewhere: list[str] = []
        self.frames: list[str | bytes] = []
        self.context = browser.new_context(viewport={"width": width, "height": height}, **context)
        self.page = self.context.new_page()
        self.page.set_default_timeout(30_000)
        self.page.on("console", lambda said: self.complaints.append(said.text) if said.type == "error" else None)
        self.page.on("pageerror", lambda error: self.complaints.append(str(error)))
        self.page.on("request", lambda request: self._asked(request.url))
        self.page.on("websocket", self._listen)
        if script:
            self.page.add_init_script(script)
        self.page.goto(address + query)
        self.ready()

    def _asked(self, url: str) -> None:
        parts = urlsplit(url)
        if parts.scheme not in ("data", "blob") and parts.netloc != self.host:
            self.asked_elsewhere.append(url)

    def _listen(self, socket: WebSocket) -> None:
        self._asked(socket.url)
        socket.on("framereceived", self._received)

    def _received(self, frame: str | bytes) -> None:
        self.frames.append(frame)

    def ready(self) -> None:
        """Until the page is drawn and has told the server how wide it is."""
        self.page.wait_for_function(READY)
        self.settle()

    def settle(self) -> None:
        """Until every change was answered and drawn."""
        self.page.wait_for_function("() => document.getElementById('page').dataset.pending === '0'")
        self.page.wait_for_function(STILL)

    def start(self, job: str) -> None:
        """Start from a ready setup."""
        self.page.get_by_role("combobox", name="Start from a job").select_option(job)

    def tab_to(self, wanted: Callable[[str], bool], most: int = 160) -> None:
        """Press Tab until what has the focus is called as wanted."""
        for _ in range(most):
            self.page.keyboard.press("Tab")
            if wanted(
                self.page.evaluate(
                    "(document.activeElement.ariaLabel || document.activeElement.innerText || '').trim()"
                )
            ):
                return
        raise AssertionError("no stop of the Tab key is called so")

    def slider(self, name: str) -> Locator:
        return self.page.get_by_role("slider", name=name, exact=True)

    def grasp(self, slider: Locator, share: float) -> Callable[..., None]:
        """Press the mouse on a slider at a share of its length; what comes back drags it to another, in steps."""
        box = slider.bounding_box()
        assert box is not None

        def to(share: float, steps: int = 1) -> None:
            self.page.mouse.move(box["x"] + box["width"] * share, box["y"] + box["height"] / 2, steps=steps)

        to(share)
        self.page.mouse.down()
        return to

    def box(self, name: str) -> Locator:
        return self.page.get_by_role("textbox", name=name)

    def station(self, name: str) -> Locator:
        return self.page.get_by_role("region", name=name, exact=True)

    def flow(self) -> str:
        return self.page.locator("#answer .figure").inner_text().replace("\n", " ")

    def query(self) -> str:
        return self.page.evaluate("location.search")

    def followed(self) -> str:
        """The query once the address has followed the last change."""
        self.page.wait_for_function("() => document.getElementById('page').dataset.address === location.search")
        return self.query()

    def studied(self) -> None:
        """Until the studies speak of the setup that is shown."""
        self.settle()
        self.page.wait_for_function("() => document.getElementById('page').dataset.stale === 'no'")
        self.page.wait_for_function(STILL)

    def listen(self) -> None:
        """Count frames from here on, once the studies have said what they had still to say."""
        self.studied()
        self.frames.clear()

    def live(self) -> list[str | bytes]:
        """Frames since they were last cleared, up to what the studies say when a change has settled."""
        for index, frame in enumerate(self.frames):
            if isinstance(frame, str) and '"PATCH-DOC"' in frame:
                content = str(self.frames[index + 2 : index + 3])
                if '"studied"' in content and '"now"' not in content:
                    return self.frames[:index]
        return self.frames

    def messages(self) -> list[dict[str, Any]]:
        """Live messages that changed the document, since the frames were last cleared."""
        texts = [frame for frame in self.live() if isinstance(frame, str)]
        heads = [index for index, text in enumerate(texts) if text.startswith("{") and '"PATCH-DOC"' in text]
        return [json.loads(texts[index]) for index in heads]

    def told_once(self, key: str, box: str, shows: str) -> None:
        """Press a key: the box shows that, and what came of it at once is one message of at most 16 kB."""
        self.listen()
        self.page.keyboard.press(key)
        expect(self.box(box)).to_have_value(shows)
        self.followed()
        self.studied()  # so that whatever else would come has come
        assert len(self.messages()) == 1
        print("bytes:", self.bytes())
        assert self.bytes() <= MOST_BYTES

    def bytes(self) -> int:
        return sum(len(frame) for frame in self.live())

    def expect_flow(self, text: str) -> None:
        expect(self.page.locator("#answer .figure b")).to_have_text(text)

    def close(self) -> None:
        self.context.close()


class Curves(Visit):
    """The Curves page; it keeps no line open to the server, so that nothing of Bokeh is waited for."""

    def ready(self) -> None:
        self.settle()

    def settle(self) -> None:
        self.page.wait_for_function(DRAWN)

    def tab(self, name: str) -> None:
        self.page.get_by_role("tab", name=name).click()
        self.settle()

    def fill(self, **texts: str) -> None:
        """Fields of the tab that is open, by their label."""
        panel = self.page.get_by_role("tabpanel")
        for label, text in texts.items():
            panel.get_by_label(label, exact=True).first.fill(text)
        self.settle()

    def on_setup_page(self) -> None:
        """Until the setup page stands there instead."""
        self.page.wait_for_function(READY)
        Visit.settle(self)
