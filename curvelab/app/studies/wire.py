"""The studies' words on their way to the browser, and which tab is open on its way back."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

import param

from curvelab.app.studies.cures import KEY
from curvelab.app.studies.tabs import TABS
from curvelab.app.wire import STATIC, Half


def parameter(key: str) -> str:
    """Name of the parameter that carries the words of a tab."""
    return f"said_{key}"


class _StudyWire(Half):
    """Words by tab and place; HTML, escaped where it was made."""

    studied = param.Dict(default={}, doc="Number of the change that the words belong to, by tab.")
    pictured = param.Dict(default={}, doc="Whether there is a picture to show, by tab.")

    _esm = (STATIC / "studies.js").read_text(encoding="utf-8")

    def __init__(self, opened: Callable[[str], None], **params: Any) -> None:
        super().__init__(**params)
        self._opened = opened

    def _handle_msg(self, msg: Any) -> None:
        if isinstance(msg, dict) and isinstance(msg.get("open"), str):
            self._opened(msg["open"])


_SAID: Final = {parameter(key): param.Dict(default={}) for key in (KEY, *(tab.key for tab in TABS))}
StudyWire: Any = type("StudyWire", (_StudyWire,), {"__module__": __name__, **_SAID})
"""With a parameter a tab, so that a tab's answer travels alone."""
