"""The handles on the pictures: where they stand now, and what moving one makes of the setup."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from curvelab.app.edits import MOST_POINTS, Edit
from curvelab.figures.run import RunDrawing
from curvelab.layout import grips
from curvelab.layout.run import Drawing
from curvelab.model.fields import field_of, range_of
from curvelab.model.setup import Setup
from curvelab.report.held import grip_name, grip_number, grip_said

HANDLED: Final = ("drag", "nudge", "add-at")
"""What handles send: held at a place, so many steps with the keys, a click on the hose."""
_FARTHEST_PX: Final = 20_000.0
"""Pixels beyond which no pointer is."""
_MOST_STEPS: Final = 100_000


class Holds:
    """The handles of one visitor's pictures."""

    def __init__(self) -> None:
        self._run: Drawing | None = None
        self._grasped: Drawing | None = None
        self._height = 0.0

    def look(self, run: RunDrawing, *, settled: bool) -> None:
        """The pictures have been drawn: from here on a pointer means places on these."""
        self._run, self._height = run.shown, float(run.size.height)
        if settled:
            self._grasped = run.shown

    # --- to the browser

    def kinds(self, setup: Setup) -> dict[str, list[dict[str, Any]]]:
        """What handles there are, by picture: seldom other ones."""
        if self._run is None:
            return {}
        run = [
            {
                "key": grip.key,
                "name": grip_name(grip.key, setup),
                "ways": grip.ways,
                "ends": _ends(grip.key, setup),
                "drop": grips.place_of(grip.key),
                "hose": grip.key != grips.WATER,
            }
            for grip in grips.run_grips(self._run, setup)
        ]
        return {"run": run}

    def places(self, setup: Setup) -> dict[str, list[list[Any]]]:
        """A row for each handle of ``kinds``, in that order.

        Where it stands, right and down from the upper left corner of its picture [px], its number, its words.
        """
        if self._run is None:
            return {}
        rows: list[list[Any]] = [
            [
                round(grip.x, 1),
                round(self._height - grip.y, 1),
                grip_number(grip.key, setup),
                grip_said(grip.key, setup),
            ]
            for grip in grips.run_grips(self._run, setup)
        ]
        return {"run": rows}

    # --- from the browser

    def edit(self, message: Mapping[str, Any], setup: Setup) -> Edit | None:
        """The edit that a message about a handle stands for; ``None`` for anything that is none.

        ``setup`` is the one in which the handle was grasped.
        """
        picture, _, key = str(message.get("path", "")).partition(":")
        shown = self._grasped
        if picture != "run" or shown is None:
            return None
        fine = message.get("fine") is True
        if message.get("do") == "nudge":
            across, up = _counts(message.get("by"))
            changed = grips.nudged(setup, key, across, up, _Step(setup, fine=fine))
            return _moved(key, changed, setup)
        x, y = _pair(message.get("pair"))
        y = None if y is None else self._height - y
        if message.get("do") == "add-at":
            return _added(shown, setup, x, y)
        changed = grips.dragged(shown.scale, setup, key, x, y, _Land(setup, fine=fine))
        return _moved(key, changed, setup)


class _Land:
    """Moved values on the stops of their sliders."""

    def __init__(self, setup: Setup, *, fine: bool) -> None:
        self._setup, self._fine = setup, fine

    def __call__(self, path: str, si: float, low: float = -math.inf, high: float = math.inf) -> float:
        """The stop next to ``si`` from ``low`` to ``high``."""
        field, places = field_of(path)
        shown = range_of(field, self._setup.units, field.si(self._setup, *places))
        span = shown.span.finer if self._fine else shown.span
        return shown.si(span.nearest(shown.number(si), shown.number(low), shown.number(high)))


class _Step:
    """Values so many stops further on."""

    def __init__(self, setup: Setup, *, fine: bool) -> None:
        self._setup, self._fine = setup, fine

    def __call__(self, path: str, si: float, count: int) -> float:
        """The value ``count`` stops on."""
        field, places = field_of(path)
        shown = range_of(field, self._setup.units, field.si(self._setup, *places))
        span = shown.span.finer if self._fine else shown.span
        return shown.si(span.stepped(shown.number(si), count))


def _moved(key: str, changed: Mapping[str, float] | None, setup: Setup) -> Edit | None:
    """The edit; values in the unit shown, those left out that stay as they are."""
    if not changed:
        return None
    values: dict[str, float] = {}
    for path, si in changed.items():
        field, places = field_of(path)
        shown = range_of(field, setup.units)
        old = field.si(setup, *places)
        if old is None or not math.isclose(shown.number(old), shown.number(si), rel_tol=1e-9, abs_tol=1e-6):
            values[path] = shown.number(si)
    place = grips.place_of(key)
    leading = next(iter(changed)) if place is None else f"discharge.waypoint.{place}.height"
    return Edit("moved", leading, values)


def _added(shown: Drawing, setup: Setup, x: float | None, y: float | None) -> Edit | None:
    """A point where the hose was clicked."""
    if x is None or y is None or len(setup.discharge.waypoint) >= MOST_POINTS:
        return None
    found = grips.point_on_hose(shown.scale, setup, x, y, _Land(setup, fine=False))
    return None if found is None else Edit("insert-point", "discharge.waypoint", found)


def _ends(key: str, setup: Setup) -> tuple[float, float]:
    """Least and greatest number of a handle, as ``grip_number`` counts."""
    field, places = field_of(grips.LIFT if key in (grips.WATER, grips.PUMP) else grips.RISE)
    shown = range_of(field, setup.units, field.si(setup, *places))
    return (-shown.high, -shown.low) if key == grips.WATER else (shown.low, shown.high)


def _pair(value: Any) -> tuple[float | None, float | None]:
    """Two places that a pointer may have; ``None`` for each that is none."""
    if not isinstance(value, list) or len(value) != 2:
        return None, None
    first, second = (float(v) if isinstance(v, (int, float)) and abs(v) < _FARTHEST_PX else None for v in value)
    return first, second


def _counts(value: Any) -> tuple[int, int]:
    """Two numbers of steps."""
    if not isinstance(value, list) or len(value) != 2:
        return 0, 0
    first, second = (max(-_MOST_STEPS, min(_MOST_STEPS, v)) if isinstance(v, int) else 0 for v in value)
    return first, second
