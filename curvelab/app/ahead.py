"""What a browser will ask for next, made ready while it reads its scripts."""

from __future__ import annotations

import asyncio
from typing import Any, Final

from bokeh.document import Document

QUIET_S: Final = 0.07
"""Without a question for so long, the browsers have their files and read them. [s]"""
LONG_S: Final = 2.0
"""After so long no browser comes that would soon pull it. [s]"""


class Asked:
    """When the server was last asked for anything."""

    at = 0.0
    """By the loop's clock. [s]"""


class Ahead:
    """A document written out before it is pulled; as it is then, should anything have changed since.

    Bokeh tells of changes those that listen, but not of one that is held back or that Panel drops: the two calls that
    every change and every pull go through are taken instead, until the document was pulled.
    """

    def __init__(self, document: Document) -> None:
        self._document = document
        self._plain, self._notify = document.to_json, document.callbacks.notify_change
        self._written: Any = None
        self._timer: asyncio.TimerHandle | None = None
        document.to_json = self._to_json
        document.callbacks.notify_change = self._changed
        document.on_session_destroyed(lambda session_context: self._end())  # noqa: ARG005 - Bokeh's signature

    def start(self) -> None:
        """Write it out as soon as the page's own HTML and files are on their way."""
        loop = asyncio.get_running_loop()
        self._timer = loop.call_later(QUIET_S, self._write, loop, loop.time())

    def _write(self, loop: asyncio.AbstractEventLoop, since: float) -> None:
        if since < Asked.at < loop.time() - QUIET_S:
            self._written = self._plain()
        elif loop.time() < since + LONG_S:
            self._timer = loop.call_later(QUIET_S, self._write, loop, since)

    def _changed(self, *what: Any, **named: Any) -> None:
        self._written = None
        self._notify(*what, **named)

    def _to_json(self, **named: Any) -> Any:
        """As Bokeh's own, once."""
        written = self._written
        self._end()
        return self._plain(**named) if written is None or named else written

    def _end(self) -> None:
        """Nothing is taken any more."""
        if self._timer is not None:
            self._timer.cancel()
        self._written = None
        vars(self._document).pop("to_json", None)
        vars(self._document.callbacks).pop("notify_change", None)
