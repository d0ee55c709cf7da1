"""What stands before every address: headers on each answer, and what is turned away before it costs anything."""

from __future__ import annotations

import asyncio
from collections.abc import Callable, Collection
from http import HTTPStatus
from typing import Any, Final

from bokeh.server.views.metadata_handler import MetadataHandler
from bokeh.util.token import get_session_id
from panel.io.server import AutoloadJsHandler, ComponentResourceHandler, DocHandler, WSHandler
from tornado.httputil import HTTPHeaders, HTTPServerRequest
from tornado.routing import Matcher, Rule
from tornado.web import Application, OutputTransform, RequestHandler, stream_request_body

from curvelab.app.ahead import Asked
from curvelab.app.plain import Careful, say

# Bokeh hands its document over in a script within the page, compiles small functions from text, and loads components
# from blobs; styles come in the same way. Everything comes from this host, and only its own pages may talk to it.
_POLICY: Final = (
    "default-src 'none'; script-src 'self' 'unsafe-inline' 'unsafe-eval' blob:; "
    "style-src 'self' 'unsafe-inline' blob:; "
    "img-src 'self' data: blob:; font-src 'self' data:; connect-src 'self' blob: ws://{host} wss://{host}; "
    "base-uri 'none'; form-action 'none'; frame-ancestors 'none'"
)
HEADERS: Final = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "no-referrer",
    "Permissions-Policy": "camera=(), geolocation=(), microphone=()",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
}
"""Besides the policy of what a page may load."""
WAIT_S: Final = 60
"""After so long somebody who was turned away may come back. [s]"""
_PAGES: Final = ("", "/", "/ws")
"""Where a visitor's page is built."""
_UNUSED: Final = (AutoloadJsHandler, MetadataHandler, ComponentResourceHandler)
"""What Panel and Bokeh answer besides, and this page never asks: the first builds a page, the last imports modules."""
_SAID: Final = {
    HTTPStatus.BAD_REQUEST: ("That can’t be read", "What was asked here is cut short or garbled."),
    HTTPStatus.NOT_FOUND: ("There is no page here", "Look at the address again, or start from the setup page."),
    HTTPStatus.REQUEST_ENTITY_TOO_LARGE: ("That is too much", "More was sent than this address takes."),
    HTTPStatus.SERVICE_UNAVAILABLE: (
        "Come back in a minute",
        "As many pages are open here as this server holds. Your link keeps the setup: try it again in a minute.",
    ),
}


class Headers(OutputTransform):
    """Sets the headers above on every answer, pages and files alike."""

    def __init__(self, request: HTTPServerRequest) -> None:
        self._policy = _POLICY.format(host=request.host)

    def transform_first_chunk(
        self,
        status_code: int,
        headers: HTTPHeaders,
        chunk: bytes,
        finishing: bool,  # noqa: ARG002, FBT001 - Tornado's signature
    ) -> tuple[int, HTTPHeaders, bytes]:
        """Add them before anything is sent."""
        headers["Content-Security-Policy"] = self._policy
        for name, value in HEADERS.items():
            headers[name] = value
        headers.pop("Server", None)
        Asked.at = asyncio.get_running_loop().time()
        return status_code, headers, chunk


class Alive(RequestHandler):
    """Says that the server answers, and nothing more: whatever is asked along, no page is built for it."""

    def get(self) -> None:
        """What a watching proxy, and a page whose line broke, wait for."""
        self.set_header("Cache-Control", "no-store")
        self.finish({"alive": True})

    head = get


@stream_request_body
class Turned(RequestHandler):
    """Turns away in words, before anything of a body is read. ``status`` says why."""

    def initialize(self, status: HTTPStatus) -> None:
        """``status`` of the answer."""
        self._turned = status

    def prepare(self) -> None:
        """Answer at once, whatever the method."""
        title, text = _SAID[self._turned]
        again = self._turned is HTTPStatus.SERVICE_UNAVAILABLE
        self.set_status(self._turned)
        if again:
            self.set_header("Retry-After", str(WAIT_S))
        to, press = (f"?{self.request.query}", "Try again") if again else ("/", "Setup page")
        say(self, title, text, to=to, press=press)

    def data_received(self, chunk: bytes) -> None:
        """What comes all the same is dropped."""


class Opened(Careful, DocHandler):
    """A visitor's page."""


class Line(WSHandler):
    """A page's line: each part of a message goes at once, and none waits until the browser has said it has the last."""

    async def on_message(self, fragment: str | bytes) -> None:
        """Take a part of a message; the end of the request that opened the line had taken the flag back."""
        self.set_nodelay(value=True)
        await super().on_message(fragment)


class Gate(Matcher):
    """Matches what is turned away: bodies where none is taken, and pages beyond those that the server holds."""

    def __init__(self, taking: Collection[str], held: Callable[[], Collection[str]], most: int) -> None:
        self._taking, self._held, self._most = taking, held, most

    def match(self, request: HTTPServerRequest) -> dict[str, Any] | None:
        """What ``Turned`` is made with; ``None`` for what may pass."""
        status = self._body(request) or self._page(request)
        return {"target_kwargs": {"status": status}} if status else None

    def _body(self, request: HTTPServerRequest) -> HTTPStatus | None:
        length = request.headers.get("Content-Length", "0")
        if not (length.isascii() and length.isdigit() and len(length) < 16):
            return HTTPStatus.BAD_REQUEST
        body = int(length) > 0 or "Transfer-Encoding" in request.headers
        return HTTPStatus.REQUEST_ENTITY_TOO_LARGE if body and request.path not in self._taking else None

    def _page(self, request: HTTPServerRequest) -> HTTPStatus | None:
        if request.path not in _PAGES:
            return None
        held = self._held()
        full = len(held) >= self._most and not (request.path == "/ws" and _session(request) in held)
        return HTTPStatus.SERVICE_UNAVAILABLE if full else None


def _session(request: HTTPServerRequest) -> str:
    """Id of the session that a line is asked for; empty where none can be read."""
    token = request.headers.get("Sec-WebSocket-Protocol", "").rpartition(",")[2].strip()
    try:
        return str(get_session_id(token))
    except Exception:  # noqa: BLE001 - Bokeh says it in many ways that this is no token
        return ""


def guard(application: Application, taking: Collection[str], held: Callable[[], Collection[str]], most: int) -> None:
    """Put the gate before a server's addresses, and take away those that are never asked.

    Parameters
    ----------
    taking : collection of str
        Addresses that take a body; each bounds it itself before it is read.
    held : callable
        Ids of the sessions that the server holds now.
    most : int
        So many sessions at once. [-]
    """
    router = application.wildcard_router
    router.rules[:] = [rule for rule in router.rules if rule.target not in _UNUSED]
    for rule in router.rules:
        rule.target = {DocHandler: Opened, WSHandler: Line}.get(rule.target, rule.target)
    router.rules.insert(0, Rule(Gate(taking, held, most), Turned))
