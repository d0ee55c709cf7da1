"""What the server tells a browser, whom it lets in, and what it holds when everyone has gone."""

import gc
import gzip
import socket
import urllib.error
import urllib.request
from collections.abc import Callable
from urllib.parse import urljoin

import pytest
from playwright.sync_api import Browser

from curvelab.app.page import Page
from curvelab.app.server import make_server
from curvelab.app.state import AppState
from curvelab.errors import InputError
from curvelab.figures.bench import Bench
from tests.browser.visit import Served, Visit

Open = Callable[..., Visit]
UPGRADE = (
    "Connection: Upgrade",
    "Upgrade: websocket",
    "Sec-WebSocket-Version: 13",
    "Sec-WebSocket-Key: AQIDBAUGBwgJCgsMDQ4PEA==",
)
ROUTES = ("", "assets/curvelab.css", "assets/mark.svg", "static/js/bokeh.min.js", "liveness")


@pytest.mark.parametrize("route", ROUTES)
def test_every_answer_carries_the_headers(served: Served, route: str):
    with urllib.request.urlopen(urljoin(served.address, route), timeout=30) as answer:
        assert answer.status == 200
        policy = answer.headers["Content-Security-Policy"]
        assert "default-src 'none'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "http:" not in policy
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Referrer-Policy"] == "no-referrer"
        assert answer.headers["X-Frame-Options"] == "DENY"


def test_scripts_go_out_packed(served: Served):
    request = urllib.request.Request(
        urljoin(served.address, "static/js/bokeh.min.js"), headers={"Accept-Encoding": "gzip"}
    )
    with urllib.request.urlopen(request, timeout=30) as answer:
        assert answer.headers["Content-Encoding"] == "gzip"
        packed = answer.read()
    assert len(packed) < 0.4 * len(gzip.decompress(packed))


def test_a_page_of_another_host_gets_no_line(served: Served):
    host = f"127.0.0.1:{served.server.port}"
    for origin, status in (("http://evil.example", b"403"), (f"http://{host}", b"101")):
        wish = "\r\n".join(UPGRADE)
        with socket.create_connection(("127.0.0.1", served.server.port), timeout=10) as line:
            line.sendall(f"GET /ws HTTP/1.1\r\nHost: {host}\r\nOrigin: {origin}\r\n{wish}\r\n\r\n".encode())
            assert line.recv(4096).split(b"\r\n", 1)[0].split()[1] == status, origin


@pytest.mark.parametrize(
    ("address", "origins"),
    [("0.0.0.0", ()), ("127.0.0.1", ("*",)), ("127.0.0.1", ("*.example",))],  # noqa: S104
)
def test_server_refuses_to_be_open_to_anybody(address: str, origins: tuple[str, ...]):
    with pytest.raises(InputError):
        make_server(0, address, origins=origins)


def test_it_listens_on_this_machine_only(served: Served):
    assert served.server.address == "127.0.0.1"


def test_files_outside_the_assets_stay_unread(served: Served):
    for path in ("assets/../page.py", "assets/..%2fpage.py", "assets/%2e%2e/page.py"):
        with socket.create_connection(("127.0.0.1", served.server.port), timeout=10) as line:
            line.sendall(
                f"GET /{path} HTTP/1.1\r\nHost: 127.0.0.1:{served.server.port}\r\nConnection: close\r\n\r\n".encode()
            )
            answer = b"".join(iter(lambda: line.recv(65536), b""))
        assert b"class Page" not in answer
        assert answer.split(b"\r\n", 1)[0].split()[1] in (b"403", b"404")


def held(kind: type) -> int:
    gc.collect()
    return sum(isinstance(thing, kind) for thing in gc.get_objects())


@pytest.mark.slow
def test_twenty_visits_leave_nothing_behind(browser: Browser, served: Served):
    visits = [Visit(browser, served.address, "", 1440, 900) for _ in range(2)]
    for one in visits:
        one.close()
    watch = browser.new_page()

    def wait_for_none() -> None:
        for _ in range(400):
            if served.call(lambda: len(served.server.get_sessions())) == 0:
                return
            watch.wait_for_timeout(100)
        pytest.fail("sessions stay")

    wait_for_none()
    before = {kind: served.call(lambda kind=kind: held(kind)) for kind in (Page, AppState, Bench)}
    for _ in range(20):
        one = Visit(browser, served.address, "", 1440, 900)
        one.slider("Rise to the outlet").focus()
        one.page.keyboard.press("ArrowRight")
        one.settle()
        one.close()
    wait_for_none()
    after = before
    for _ in range(50):
        after = {kind: served.call(lambda kind=kind: held(kind)) for kind in before}
        if after == before:
            break
        watch.wait_for_timeout(100)
    watch.close()
    assert after == before == dict.fromkeys(before, 0)


@pytest.mark.slow
def test_a_page_whose_line_broke_opens_again_as_it_was(visit: Open, served: Served):
    one = visit()
    one.slider("Rise to the outlet").focus()
    one.page.keyboard.press("ArrowRight")
    one.settle()
    flow, query = one.flow(), one.page.locator("#page").get_attribute("data-address")
    one.page.evaluate("window.old = true")
    served.call(lambda: [line._socket.close() for line in list(served.server._tornado._clients)])
    one.page.wait_for_function("() => window.old === undefined")
    one.ready()
    assert one.flow() == flow
    assert one.query() == query
    one.slider("Rise to the outlet").focus()
    one.page.keyboard.press("ArrowRight")
    one.settle()
    assert one.flow() != flow
