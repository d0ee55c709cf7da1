"""Serves the page: one process, its own files only, nothing asked of any other host."""

from __future__ import annotations

import logging
import os
import secrets
from http import HTTPStatus
from pathlib import Path
from typing import Any, Final

import panel as pn
from bokeh.settings import settings

from curvelab.app.curves.routes import MOST_BODY_BYTES, routes
from curvelab.app.gate import Alive, Headers, Turned, guard
from curvelab.app.packing import Packed
from curvelab.app.page import ASSETS, opener
from curvelab.app.studies.lane import end_beside, start_beside
from curvelab.errors import Fault, InputError, echo
from curvelab.model.catalogue import Catalogue, default_catalogue

PORT: Final = 5006
ADDRESS: Final = "127.0.0.1"
MOST_MESSAGE_BYTES: Final = 262_144
"""Longest message from a browser. [B] A message of edits has a few hundred."""
MOST_SESSIONS: Final = 200
"""Most pages open at once. [-]"""
SESSION_KEPT_MS: Final = 60_000
"""How long a page that lost its line is kept for it to come back. [ms]"""
ORIGINS: Final = "CURVELAB_ORIGINS"
"""Environment variable that names the hosts whose pages may talk to the server, commas between them."""
_STATIC: Final = Path(__file__).parent / "static"
_LOOPBACK: Final = ("127.0.0.1", "localhost", "::1")
_OWN_NAMES: Final = ("127.0.0.1", "localhost")
_log = logging.getLogger(__name__)


def make_server(
    port: int = PORT,
    address: str = ADDRESS,
    *,
    origins: tuple[str, ...] = (),
    show: bool = False,
    catalogue: Catalogue | None = None,
    kept_ms: int = SESSION_KEPT_MS,
    most_sessions: int = MOST_SESSIONS,
) -> Any:
    """A server that is ready and not started.

    Parameters
    ----------
    port : int
        0 takes a free one.
    address : str
        What it listens on; only this machine where left out.
    origins : tuple of str
        Hosts (``host:port``, as a browser shows them) whose pages may talk to it; none a pattern. This machine's own
        names where left out.
    kept_ms : int
        How long a page that lost its line is kept for it to come back. [ms]
    most_sessions : int
        Pages open at once; who comes when there are as many is asked to come back. [-]

    Raises
    ------
    InputError
        If an origin is a pattern, or it listens on other than loopback and no origin is named.
    """
    latest = default_catalogue if catalogue is None else lambda: catalogue
    latest()  # what is wrong with a yard's files is said before anybody opens a page
    allowed = _origins(port, address, origins)
    pn.config.exception_handler = _on_exception
    settings.perform_document_validation = False  # type: ignore[assignment] - Bokeh's own way; a fifth of opening a page
    server = pn.io.server.get_server(
        {"/": opener(latest)},
        port=port,
        address=address,
        websocket_origin=list(allowed),
        title="curvelab",
        location=False,
        show=show,
        start=False,
        static_dirs={ASSETS: str(_STATIC)},
        ico_path=str(_STATIC / "mark.svg"),
        http_server_kwargs={"max_body_size": max(MOST_BODY_BYTES.values())},
        websocket_max_message_size=MOST_MESSAGE_BYTES,
        unused_session_lifetime_milliseconds=kept_ms,
        check_unused_sessions_milliseconds=max(kept_ms // 6, 50),
        use_index=False,
        redirect_root=False,
        extra_patterns=[("/liveness", Alive), *routes(latest)],
        default_handler_class=Turned,
        default_handler_args={"status": HTTPStatus.NOT_FOUND},
        sign_sessions=True,
        secret_key=secrets.token_urlsafe(48).encode(),  # no session outlives the process, and no key needs to
    )
    application = server._tornado  # noqa: SLF001 - Bokeh offers no other way to these three
    for transform in (Packed, Headers):
        application.add_transform(transform)
    guard(application, MOST_BODY_BYTES, lambda: {session.id for session in server.get_sessions()}, most_sessions)
    if port == 0 and not origins:
        application.websocket_origins.clear()
        application.websocket_origins.update(f"{host}:{server.port}" for host in _OWN_NAMES)
    return server


def serve(port: int = PORT, address: str = ADDRESS, *, show: bool = False) -> None:
    """Serve the page until interrupted. Parameters as for ``make_server``; ``CURVELAB_ORIGINS`` names the origins."""
    named = tuple(origin.strip() for origin in os.environ.get(ORIGINS, "").split(",") if origin.strip())
    start_beside()
    try:
        server = make_server(port, address, origins=named, show=show)
        print(f"curvelab: http://{address}:{server.port}/", flush=True)  # noqa: T201 - where to look
        server.run_until_shutdown()
    finally:
        end_beside()


def _origins(port: int, address: str, origins: tuple[str, ...]) -> tuple[str, ...]:
    for origin in origins:
        if "*" in origin or "/" in origin:
            right = f"name hosts such as yard.example:443 in {ORIGINS}, no pattern"
            raise InputError(Fault("serve", "origin", f'"{echo(origin)}"', right))
    if origins:
        return origins
    if address not in _LOOPBACK:
        right = f"name the host that browsers will show in {ORIGINS}, such as yard.example:{port}"
        raise InputError(Fault("serve", "address", f"{echo(address)} is open to others and no origin is named", right))
    return tuple(f"{host}:{port}" for host in _OWN_NAMES)


def _on_exception(error: Exception) -> None:
    """What went wrong outside an edit goes to the log under an id; the page goes on."""
    _log.error("a callback failed, id %s", secrets.token_hex(3), exc_info=error)
