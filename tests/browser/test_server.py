"""What the server tells a browser, whom it lets in, and what it holds when everyone has gone."""

import asyncio
import gc
import gzip
import http.client
import json
import logging
import re
import socket
import threading
import urllib.request
from collections.abc import Callable, Coroutine, Iterator
from typing import Any, TypeVar
from urllib.parse import urljoin

import pytest
from bokeh.util.token import generate_jwt_token, generate_session_id, get_session_id
from playwright.sync_api import Browser, expect
from tornado.httpclient import AsyncHTTPClient, HTTPRequest
from tornado.httputil import HTTPConnection as Connection
from tornado.httputil import HTTPHeaders, HTTPServerRequest, RequestStartLine
from tornado.websocket import WebSocketClosedError, websocket_connect

from curvelab.app import page as page_module
from curvelab.app.curves.asking import Asked
from curvelab.app.curves.routes import MOST_BODY_BYTES
from curvelab.app.gate import Gate
from curvelab.app.page import Page
from curvelab.app.server import MOST_MESSAGE_BYTES, make_server
from curvelab.app.state import AppState
from curvelab.errors import InputError
from curvelab.figures.bench import Bench
from curvelab.model.link import Decoded, decode
from tests.browser.visit import Served, Visit

Open = Callable[..., Visit]
Result = TypeVar("Result")
UPGRADE = (
    "Connection: Upgrade",
    "Upgrade: websocket",
    "Sec-WebSocket-Version: 13",
    "Sec-WebSocket-Key: AQIDBAUGBwgJCgsMDQ4PEA==",
)
WILD = (
    "curvelab.css",
    "mark.svg",
    "js/bokeh.min.js",
    "panel/panel.min.js",
    "panel/nothing.js",
    "nothing",
    "..%2fpage.py",
)
"""What stands for the open end of an address: files that are there, in one folder or another, and some that aren't."""
LEFT_OUT = ("/autoload.js", "/metadata", "/components/this/Any/css/x", "/rest/session_info", "/admin", "/nothing")


def answered(
    served: Served, method: str, path: str, body: bytes | None = None, **headers: str
) -> tuple[int, dict[str, str], bytes]:
    """Status, headers and body of an answer, whatever it is; headers by lower-case name."""
    line = http.client.HTTPConnection("127.0.0.1", served.server.port, timeout=30)
    try:
        line.request(method, path, body, headers)
        answer = line.getresponse()
        return answer.status, {name.lower(): text for name, text in answer.getheaders()}, answer.read()
    finally:
        line.close()


def has_headers(headers: dict[str, str]) -> bool:
    """The headers that stand on every answer."""
    policy = headers.get("content-security-policy", "")
    return (
        "default-src 'none'" in policy
        and "frame-ancestors 'none'" in policy
        and "http:" not in policy
        and headers.get("x-content-type-options") == "nosniff"
        and headers.get("referrer-policy") == "no-referrer"
        and headers.get("x-frame-options") == "DENY"
        and headers.get("cross-origin-opener-policy") == "same-origin"
        and headers.get("cross-origin-resource-policy") == "same-origin"
        and "geolocation=()" in headers.get("permissions-policy", "")
        and "server" not in headers
    )


def addresses(served: Served) -> Iterator[str]:
    """Of every route that the server has, whoever put it there, one address at least that leads to it."""
    for rule in served.server._tornado.wildcard_router.rules:
        if isinstance(rule.matcher, Gate):
            continue
        pattern = rule.matcher.regex.pattern.removesuffix("$").replace("(?!extensions/)", "")
        found = [pattern.replace("(.*)", end) for end in WILD] if "(.*)" in pattern else [pattern.removesuffix("/?")]
        found = [path or "/" for path in found if rule.matcher.regex.match(path or "/")]
        assert found, f"no address is known for {pattern}"
        yield from found


def test_every_answer_of_every_route_carries_the_headers(served: Served):
    paths = sorted({*addresses(served), *LEFT_OUT})
    assert {"/", "/ws", "/curves", "/curves/trace", "/liveness", "/assets/curvelab.css", "/favicon.ico"} <= {*paths}
    seen: dict[int, int] = {}
    for path in paths:
        for method in ("GET", "HEAD", "POST", "PUT", "OPTIONS"):
            status, headers, _ = answered(served, method, path)
            assert has_headers(headers), (method, path, status)
            seen[status] = seen.get(status, 0) + 1
    assert {200, 403, 404, 405} <= {*seen}, "all kinds of answer were seen"
    assert not {status for status in seen if status >= 500}


def test_errors_carry_the_headers_and_an_id(
    served: Served, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    def breaks(*_: object, **__: object) -> None:
        raise RuntimeError("inner secret")

    monkeypatch.setattr("curvelab.app.curves.page.Fleet.of", breaks)
    monkeypatch.setattr("curvelab.app.page.Page.template", breaks)
    for path, wanted in (("/curves", 500), ("/", 200)):  # the second is a page all the same, of a few words
        status, headers, body = answered(served, "GET", path)
        assert status == wanted
        assert has_headers(headers)
        mark = re.search(rb"under the id ([0-9a-f]{6})\.", body)
        assert mark, path
        assert mark[1].decode() in caplog.text
        assert b"secret" not in body
        assert headers["content-type"].startswith("text/html")


@pytest.mark.parametrize(
    ("query", "said"),
    [
        ("?title=" + "x" * 20_000, "longer than 6000 characters"),
        ("?lift=12+gpm&temp=hot&d0.len=&pump.count=two", "gpm is a flow"),
        ("?title=%ff%fe%00&name=%F0%9F%92%A7&%E2%80%AE=1", "is the name of nothing here"),
        ("?lift=12+ft&lift=13+ft&lift=14+ft", "stands twice"),
        ("?lift=" + "9" * 400 + "+ft&d0.len=1e308+ft&rise=nan&temp=-1e999", "is far too large"),
        ("?a.lift=x&b.without=s0.,d0.,pump&c.d9.len=4+ft&a.name=%0a", "chalked setup"),
        ("?<script>alert(1)</script>=1&title=<img src=x onerror=y>", "&lt;script&gt;"),
    ],
    ids=["long", "types", "bytes", "twice", "huge", "chalk", "markup"],
)
def test_a_bad_link_opens_the_page_and_says_what_it_could_not_read(
    served: Served, caplog: pytest.LogCaptureFixture, query: str, said: str
):
    status, _, body = answered(served, "GET", f"/{query.replace(' ', '+')}")
    text = body.decode()
    assert status == 200
    notice = text.partition('<div id="notice"')[2].partition("</div>")[0]
    assert said in notice, notice
    assert 'id="answer"' in text
    assert "<script>alert" not in text
    assert "<img src" not in text
    assert [record for record in caplog.records if record.levelno > logging.WARNING or record.exc_info] == []


def test_a_link_that_breaks_the_page_opens_the_first_setup_under_an_id(
    served: Served, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
):
    def breaks(query: str, *rest: object) -> Decoded:
        if "lift" in query:
            raise RuntimeError("inner secret")
        return decode(query, *rest)  # type: ignore[arg-type] - whatever the page gives

    monkeypatch.setattr("curvelab.app.page.decode", breaks)
    status, _, body = answered(served, "GET", "/?v=1&lift=12+ft")
    assert status == 200
    mark = re.search(rb"Something went wrong with this link \(id ([0-9a-f]{6})\)", body)
    assert mark
    assert mark[1].decode() in caplog.text
    assert b'id="answer"' in body


def test_a_watching_proxy_builds_no_page(served: Served):
    before = served.call(lambda: {session.id for session in served.server.get_sessions()})
    for path in ("/liveness", "/liveness?endpoint=/", "/liveness?endpoint=/nothing"):
        status, headers, body = answered(served, "GET", path)
        assert (status, json.loads(body), headers["cache-control"]) == (200, {"alive": True}, "no-store")
    assert answered(served, "HEAD", "/liveness")[0] == 200
    for path in LEFT_OUT:
        assert answered(served, "GET", path)[0] == 404
    assert served.call(lambda: {session.id for session in served.server.get_sessions()}) <= before


def test_a_body_is_refused_before_it_is_read(served: Served):
    """Only what is said of the body is sent, and none of it: whoever wanted to read it would wait."""
    own = f"http://127.0.0.1:{served.server.port}"
    for path, length, status in (
        ("/", "1", 413),
        ("/", "99999999999999999999", 400),
        ("/", "many", 400),
        ("/curves", "300000000", 413),
        ("/liveness", "5", 413),
        ("/nothing", "5", 413),
        ("/assets/curvelab.css", "5", 413),
        ("/curves/draft", "262145", 413),
        ("/curves/picture", "20000001", 413),
        ("/curves/picture", "300000000", 413),
    ):
        kind = "octet-stream" if path.endswith("picture") else "json"
        head = (
            f"POST {path} HTTP/1.1\r\nHost: x\r\nOrigin: {own}\r\nContent-Type: application/{kind}\r\n"
            f"Content-Length: {length}\r\n\r\n"
        )
        with socket.create_connection(("127.0.0.1", served.server.port), timeout=10) as line:
            line.sendall(head.encode())
            assert line.recv(4096).split(b"\r\n", 1)[0].split()[1] == str(status).encode(), (path, length)
    with socket.create_connection(("127.0.0.1", served.server.port), timeout=10) as line:
        line.sendall(b"GET / HTTP/1.1\r\nHost: x\r\nTransfer-Encoding: chunked\r\n\r\n")
        assert line.recv(4096).split()[1] == b"413"


def test_every_address_that_takes_a_body_bounds_it(served: Served):
    handlers = {rule.target for rule in served.server._tornado.wildcard_router.rules if hasattr(rule.target, "post")}
    streamed = {handler for handler in handlers if issubclass(handler, Asked)}
    for rule in served.server._tornado.wildcard_router.rules:
        if rule.target in streamed:
            address = rule.matcher.regex.pattern.removesuffix("$")
            assert 0 < MOST_BODY_BYTES[address] <= 20_000_000
    assert served.server._http.conn_params.max_body_size == max(MOST_BODY_BYTES.values())


def test_one_page_too_many_is_asked_to_come_back(served: Served, monkeypatch: pytest.MonkeyPatch):
    gate = next(rule.matcher for rule in served.server._tornado.wildcard_router.rules if isinstance(rule.matcher, Gate))
    monkeypatch.setattr(gate, "_most", 0)
    before = served.call(lambda: len(served.server.get_sessions()))
    status, headers, body = answered(served, "GET", "/?v=1&lift=12+ft")
    assert (status, headers["retry-after"], headers["cache-control"]) == (503, "60", "no-store")
    assert has_headers(headers)
    text = body.decode()
    assert "<h1>Come back in a minute</h1>" in text
    assert 'href="?v=1&amp;lift=12+ft"' in text, "the way back keeps the setup"
    assert answered(served, "GET", "/ws")[0] == 503
    assert answered(served, "GET", "/curves")[0] == answered(served, "GET", "/liveness")[0] == 200
    assert served.call(lambda: len(served.server.get_sessions())) <= before, "what was turned away is no session"


def test_whoever_has_a_page_keeps_its_line_when_the_server_is_full():
    key = b"k" * 40
    mine = generate_jwt_token(generate_session_id(secret_key=key, signed=True), secret_key=key, signed=True)
    gate = Gate((), lambda: {get_session_id(mine)}, 1)
    for token, passes in ((mine, True), ("nonsense", False), ("", False), ("e30", False)):
        head = HTTPHeaders({"Host": "x", "Sec-WebSocket-Protocol": f"bokeh, {token}"})
        start = RequestStartLine("GET", "/ws", "HTTP/1.1")
        request = HTTPServerRequest(headers=head, connection=Connection(), start_line=start)
        assert (gate.match(request) is None) is passes, token


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


def test_a_message_longer_than_any_edit_closes_the_line(served: Served):
    async def sends(length: int) -> str:
        page = await AsyncHTTPClient().fetch(served.address, request_timeout=60)
        token = re.search(r'"token":"([^"]+)"', page.body.decode())
        assert token
        asked = HTTPRequest(served.address.replace("http", "ws") + "ws", headers={"Origin": served.address.strip("/")})
        line = await websocket_connect(asked, subprotocols=["bokeh", token[1]])
        assert "ACK" in str(await line.read_message())
        try:
            for part in ('{"msgid":"1","msgtype":"SERVER-INFO-REQ"}', "{}", "{" + " " * (length - 2) + "}"):
                await line.write_message(part)
            answers = [await line.read_message() for _ in range(3)]  # the rest of the first, then an answer or the end
        except WebSocketClosedError:
            return "closed"
        line.close()
        return "closed" if answers[-1] is None else str(answers[-1])

    assert "SERVER-INFO-REPLY" in in_a_loop(sends(MOST_MESSAGE_BYTES))
    assert in_a_loop(sends(MOST_MESSAGE_BYTES + 1)) == "closed"


def test_no_part_of_a_message_waits_for_the_browser_to_have_the_last(visit: Open, served: Served):
    visit()

    def at_once() -> list[int]:
        lines = [line for session in served.server.get_sessions() for line in session._subscribed_connections]
        streams = [line._socket.ws_connection.stream.socket for line in lines]
        return [stream.getsockopt(socket.IPPROTO_TCP, socket.TCP_NODELAY) for stream in streams]

    found = served.call(at_once)
    assert found
    assert all(found)


def in_a_loop(work: Coroutine[Any, Any, Result]) -> Result:
    """Run it in a thread of its own: while a browser is open, its tools keep a loop running in this one."""
    found: list[Result] = []
    thread = threading.Thread(target=lambda: found.append(asyncio.run(asyncio.wait_for(work, 60))), daemon=True)
    thread.start()
    thread.join(90)
    assert found, "no answer within a minute"
    return found[0]


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
    for _ in range(100):
        after = {kind: served.call(lambda kind=kind: held(kind)) for kind in before}
        if after == before:
            break
        watch.wait_for_timeout(100)
    watch.close()
    # Those of servers that ended before this one are there both times; a line that broke in the middle of a write can
    # hold its page for longer. What a page itself held would be there twenty times.
    assert all(after[kind] - before[kind] <= 2 for kind in before), (before, after)


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


def test_what_goes_wrong_is_said_under_an_id_and_the_page_goes_on(visit: Open, monkeypatch: pytest.MonkeyPatch):
    one = visit()
    rise = one.slider("Rise to the outlet")
    before = one.flow()
    rise.focus()

    def breaks(*_: object) -> None:
        raise RuntimeError("inner secret")

    def breaks_once(*given: Any) -> Any:
        return (left.pop() if left else real)(*given)

    left, real = [breaks], page_module.slots
    for failing, where in ((breaks_once, "#notice"), (breaks, "#trouble")):
        with monkeypatch.context() as broken:
            broken.setattr(page_module, "slots", failing)
            one.page.keyboard.press("ArrowRight")
            one.settle()
        place = one.page.locator(where)
        expect(place).to_contain_text(re.compile(r"Something went wrong with a change \(id [0-9a-f]{6}\)\."))
        assert one.flow() == before
    one.page.keyboard.press("ArrowRight")
    one.settle()
    assert one.flow() != before
    expect(one.page.locator("#trouble")).to_be_hidden()
