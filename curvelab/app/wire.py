"""The line to the browser: one component that carries controls, words and the link, and brings back edits."""

from __future__ import annotations

import hashlib
from collections.abc import Callable
from pathlib import Path
from typing import Any, Final

import param
from bokeh.document import Document
from panel.custom import JSComponent

STATIC: Final = Path(__file__).parent / "static"
_PARTS: Final = (
    "dom.js",
    "slots.js",
    "live.js",
    "rows.js",
    "legs.js",
    "pumps.js",
    "ghosts.js",
    "column.js",
    "chalks.js",
    "panels.js",
    "steps.js",
    "jobs.js",
    "begin.js",
    "hold.js",
    "point.js",
    "unanswered.js",
    "page.js",
)


class Half(JSComponent):
    """A part of the page that has one half here and one in the browser, in plain JavaScript.

    Panel has the browser translate every component from another language at every opening, unless it came as a bundle.
    """

    def _get_properties(self, doc: Document | None) -> dict[str, Any]:
        properties = super()._get_properties(doc)
        return {**properties, "bundle": hashlib.sha256(properties["esm"].encode()).hexdigest()}


class Wire(Half):
    """The page's half on the server.

    A message from the browser is answered at once (messages are not debounced, as changes of properties are) and by
    exactly one message: ``now`` carries its number back, and the browser sends no further edits before it has come.
    """

    panels = param.Dict(default={}, doc="Groups of rows in the studies' panels, by tab.")
    begun = param.Dict(default={}, doc="What came of the four questions, and the units of their boxes.")
    kinds = param.Dict(default={}, doc="What handles stand on each picture.")
    parts = param.Dict(default={}, doc="Parts of the picture that somebody points at.")
    said = param.Dict(default={}, doc="What is said of one of them.")
    trouble = param.Dict(default={}, doc="Number of a message that could not be answered, and what to say instead.")
    now = param.Dict(default={}, doc="What column and words show, the link, the number of the message answered.")

    _esm = "\n".join((STATIC / part).read_text(encoding="utf-8") for part in _PARTS)

    def __init__(self, receive: Callable[[Any], None], **params: Any) -> None:
        super().__init__(**params)
        self._receive = receive

    def _handle_msg(self, msg: Any) -> None:
        self._receive(msg)
