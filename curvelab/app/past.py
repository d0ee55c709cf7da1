"""Steps back and forth: settled setups, so that nothing a visitor made is ever lost."""

from __future__ import annotations

import time
from collections.abc import Callable, Sequence
from typing import Final

from curvelab.app.edits import Edit
from curvelab.model.setup import Setup
from curvelab.units import System

MOST_STEPS: Final = 50
"""Steps kept. [-]"""
ONE_GO_S: Final = 1.0
"""Changes of one control that follow so soon are one step: an arrow key held down. [s] Our own choice."""
_GRADUAL: Final = ("set", "moved")


class Past:
    """What was set before, and what was undone. Units are no step: they are the visitor's, whatever is shown."""

    def __init__(self, now_s: Callable[[], float] = time.monotonic) -> None:
        self._now_s = now_s
        self._back: list[Setup] = []
        self._forth: list[Setup] = []
        self._last: tuple[tuple[tuple[str, str], ...], float] = ((), 0.0)

    @property
    def back(self) -> int:
        """Steps that can be undone."""
        return len(self._back)

    @property
    def forth(self) -> int:
        """Steps that can be done again."""
        return len(self._forth)

    def passed(self, before: Setup, after: Setup, edits: Sequence[Edit]) -> None:
        """Keep what was set before some edits, where they changed anything."""
        if in_units(before, after.units) == after:
            return
        what = tuple((edit.do, edit.path) for edit in edits)
        gradual = bool(what) and all(edit.do in _GRADUAL for edit in edits)
        same, at = self._last[0] == what, self._last[1]
        now = self._now_s()
        self._last = (what if gradual else (), now)
        self._forth.clear()
        if gradual and same and self._back and now - at <= ONE_GO_S:
            return
        self._back.append(before)
        del self._back[:-MOST_STEPS]

    def undo(self, now: Setup) -> Setup | None:
        """The setup before the last step; ``None`` where there is none."""
        return self._step(now, self._back, self._forth)

    def redo(self, now: Setup) -> Setup | None:
        """The setup that was undone last; ``None`` where there is none."""
        return self._step(now, self._forth, self._back)

    def _step(self, now: Setup, source: list[Setup], target: list[Setup]) -> Setup | None:
        if not source:
            return None
        self._last = ((), 0.0)
        target.append(now)
        return in_units(source.pop(), now.units)


def in_units(setup: Setup, units: System) -> Setup:
    """The same setup, shown in those units."""
    return setup if setup.units == units else setup.with_("units", str(units))
