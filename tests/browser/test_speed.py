"""What a change costs, key press to last paint; beside it, in the same run, a page of one slider and one figure.

Times are printed, since they are those of this machine in this minute. Held are one message, its bytes, and how many
times the plain page's time the page may take, wide enough for a busy machine.
"""

import statistics
from collections.abc import Callable, Iterator
from typing import Any

import numpy as np
import pytest
from playwright.sync_api import Browser, Page, WebSocket

from tests.browser.visit import MOST_BYTES, Served, Visit, in_a_thread

PRESSES = 24
WARM_UP = 4
MOST_TIMES = 12.0
# A frame counts as painted when the task after it runs: a message posted while something draws arrives then.
WATCH = """(() => {
  const seen = window.seen = { key: 0, paint: 0, first: 0, frames: 0 };
  const { port1, port2 } = new MessageChannel();
  let posted = false;
  port1.onmessage = () => {
    posted = false;
    seen.paint = performance.now();
    seen.first ||= seen.paint;
    seen.frames += 1;
  };
  const drawing = CanvasRenderingContext2D.prototype;
  for (const name of ["stroke", "fill", "fillRect", "clearRect", "drawImage", "fillText", "putImageData"]) {
    const own = drawing[name];
    drawing[name] = function (...given) {
      if (!posted) { posted = true; port2.postMessage(0); }
      return own.apply(this, given);
    };
  }
  addEventListener("keydown", () => { seen.key = performance.now(); seen.frames = 0; }, true);
})();"""


def one_slider_and_one_figure(document: Any) -> None:
    """The least that a page of this kind can be: Bokeh alone, nothing solved."""
    from bokeh.layouts import row
    from bokeh.models import ColumnDataSource, Range1d, Slider
    from bokeh.plotting import figure

    flow = np.linspace(0, 400, 200, dtype="f4")
    source = ColumnDataSource({"flow": flow, "head": 50 + flow**2 / 1000})
    plot = figure(width=684, height=268, toolbar_location=None, y_range=Range1d(start=0, end=110))
    plot.line("flow", "head", source=source)
    slider = Slider(start=-100, end=150, value=38, step=1, title="rise")
    slider.on_change("value", lambda _attr, _old, new: source.data.update({"head": 12 + new + flow**2 / 1000}))
    document.add_root(row(slider, plot))


@pytest.fixture(scope="module")
def plain() -> Iterator[Served]:
    def make() -> Any:
        from bokeh.server.server import Server
        from tornado.ioloop import IOLoop

        return Server({"/": one_slider_and_one_figure}, port=0, io_loop=IOLoop.current(), address="127.0.0.1")

    server, thread = in_a_thread(make)
    server.server._tornado.websocket_origins.add(f"127.0.0.1:{server.server.port}")
    yield server
    server.stop()
    thread.join(20)


def presses(page: Page, drawn: Callable[[], None], over: Callable[[], tuple[int, int]]) -> dict[str, Any]:
    """Press an arrow key again and again on what has the focus.

    ``drawn`` waits until the change is drawn, ``over`` until nothing more comes of it, and says how many messages and
    bytes it took.
    """
    times, answers, sizes, painted = [], set(), [], []
    for press in range(PRESSES):
        page.keyboard.press("ArrowRight" if press % 2 else "ArrowLeft")
        drawn()
        seen = page.evaluate("({ time: seen.paint - seen.key, frames: seen.frames })")
        messages, size = over()
        if press < WARM_UP:
            continue
        times.append(seen["time"])
        painted.append(seen["frames"])
        answers.add(messages)
        sizes.append(size)
    low, *_, high = statistics.quantiles(times, n=10)
    return {
        "first": page.evaluate("seen.first"),
        "median": statistics.median(times),
        "low": low,
        "high": high,
        "frames": statistics.median(painted),
        "messages": answers,
        "bytes": max(sizes),
    }


def line(name: str, found: dict[str, Any]) -> str:
    spread = f"{found['low']:.0f} / {found['median']:.0f} / {found['high']:.0f}"
    messages = "".join(map(str, sorted(found["messages"])))
    size = f"{found['bytes'] / 1000:.1f}"
    return f"| {name} | {found['first']:.0f} | {spread} | {found['frames']:.0f} | {messages} | {size} |"


@pytest.mark.slow
def test_a_change_costs_one_message_and_a_few_times_the_plain_page(browser: Browser, served: Served, plain: Served):
    context = browser.new_context(viewport={"width": 1440, "height": 900})
    page = context.new_page()
    page.add_init_script(WATCH)
    frames: list[str | bytes] = []

    def received(frame: str | bytes) -> None:
        frames.append(frame)

    def listen(socket: WebSocket) -> None:
        socket.on("framereceived", received)

    def over_there() -> tuple[int, int]:
        page.wait_for_timeout(50)
        came = sum(isinstance(frame, str) and '"PATCH-DOC"' in frame for frame in frames), sum(map(len, frames))
        frames.clear()
        return came

    page.on("websocket", listen)
    page.goto(plain.address)
    page.wait_for_function("() => window.Bokeh && Bokeh.documents.length && Bokeh.documents[0].is_idle && seen.first")
    page.locator(".noUi-handle").focus()
    least = presses(page, lambda: page.wait_for_timeout(200), over_there)
    context.close()
    one = Visit(browser, served.address, "", 1440, 900, script=WATCH)

    def over_here() -> tuple[int, int]:
        one.studied()
        came = len(one.messages()), one.bytes()
        one.listen()
        return came

    over_here()
    one.slider("Rise to the outlet").focus()
    whole = presses(one.page, one.settle, over_here)
    one.close()
    print("\n| page | first chart, ms | key to last paint, ms: tenth / median / tenth | frames | messages | kB |")
    print("|---|---|---|---|---|---|")
    print(line("one slider, one figure", least))
    print(line("the page", whole))
    assert whole["messages"] == {1}
    assert whole["bytes"] <= MOST_BYTES
    assert whole["median"] <= MOST_TIMES * least["median"]
