"""The handles on the pictures: where they stand now, and what moving one makes of the setup."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any, Final

from curvelab.app.edits import MOST_POINTS, Edit
from curvelab.figures.bench import Bench
from curvelab.figures.run import RunDrawing
from curvelab.layout import bench_grips, grips
from curvelab.layout.bench_grips import FLOW, LENGTH, Bearings
from curvelab.layout.grips import Grip
from curvelab.layout.run import Drawing
from curvelab.model.catalogue import Catalogue
from curvelab.model.fields import field_of, range_of
from curvelab.model.setup import Setup
from curvelab.model.stops import Stops
from curvelab.report.held import grip_ends, grip_name, grip_number, grip_said
from curvelab.report.rounded import Rounded
from curvelab.studies.aim import Aim, aim

HANDLED: Final = ("drag", "nudge", "add-at")
"""What handles send: so far off from where they were grasped, so many steps with the keys, a click on the hose."""
RUN, BENCH = "run", "bench"
_FARTHEST_PX: Final = 20_000.0
"""Pixels beyond which no pointer goes."""
_MOST_STEPS: Final = 100_000


class Holds:
    """The handles of one visitor's pictures."""

    def __init__(self, catalogue: Catalogue) -> None:
        self._catalogue = catalogue
        self._shown: tuple[Drawing, Bearings] | None = None
        self._grasped: tuple[Drawing, Bearings] | None = None
        self._height = 0.0
        self._aims: tuple[Setup, bool, Aim] | None = None

    def look(self, run: RunDrawing, bench: Bench, *, settled: bool) -> None:
        """The pictures have been drawn; settled ones are those on which the next pointer means places."""
        drawing, scene = run.shown, bench.scene
        if drawing is None or scene is None:
            return
        self._shown, self._height = (drawing, Bearings(scene, bench.size, bench.plot_px)), float(run.size.height)
        if settled:
            self._grasped, self._aims = self._shown, None

    # --- to the browser

    def kinds(self, setup: Setup) -> dict[str, list[dict[str, Any]]]:
        """What handles there are, by picture: seldom other ones."""
        if self._shown is None:
            return {}
        greatest = self._shown[1].scene.axes.flow.end
        return {
            picture: [
                {
                    "key": grip.key,
                    "name": grip_name(grip.key, setup),
                    "ways": grip.ways,
                    "ends": grip_ends(grip.key, setup, greatest),
                    "drop": grips.place_of(grip.key),
                    "hose": picture == RUN and grip.key != grips.WATER,
                }
                for grip in found
            ]
            for picture, found in self._grips(setup, self._shown).items()
        }

    def places(self, setup: Setup, figures: Rounded) -> dict[str, list[list[Any]]]:
        """A row for each handle of ``kinds``, in that order.

        Where it stands, right and down from the upper left corner of its picture [px], its number, its words.
        """
        return {
            picture: [
                [
                    round(grip.x),
                    round(self._height - grip.y if picture == RUN else grip.y),
                    grip_number(grip.key, setup, figures),
                    grip_said(grip.key, setup, figures),
                ]
                for grip in found
            ]
            for picture, found in self._grips(setup, self._shown).items()
        }

    @staticmethod
    def _grips(setup: Setup, shown: tuple[Drawing, Bearings] | None) -> dict[str, tuple[Grip, ...]]:
        if shown is None:
            return {}
        return {RUN: grips.run_grips(shown[0], setup), BENCH: bench_grips.bench_grips(shown[1])}

    # --- from the browser

    def edit(self, message: Mapping[str, Any], setup: Setup) -> Edit | None:
        """The edit that a message about a handle stands for; ``None`` for anything that is none.

        ``setup`` is the one in which the handle was grasped.
        """
        picture, _, key = str(message.get("path", "")).partition(":")
        if picture not in (RUN, BENCH) or self._grasped is None:
            return None
        drawing, bench = self._grasped
        grip = next((grip for grip in self._grips(setup, self._grasped)[picture] if grip.key == key), None)
        stops = Stops(setup, message.get("fine") is True)
        if message.get("do") == "nudge":
            across, up = _counts(message.get("by"))
            nudged = grips.nudged if picture == RUN else bench_grips.bench_nudged
            return _moved(key, nudged(setup, key, across, up, stops.step), setup)
        if message.get("do") == "add-at":
            x, y = _pair(message.get("at"))
            return None if x is None or y is None else _added(drawing, setup, x, self._height - y)
        if grip is None:
            return None
        right, down = _pair(message.get("off"))
        x = None if right is None else grip.x + right
        if picture == RUN:
            y = None if down is None else grip.y - down
            return _moved(key, grips.dragged(drawing.scale, setup, key, x, y, stops.land), setup)
        if key == FLOW:
            return _moved(key, self._aimed(bench, stops, x), setup)
        y = None if down is None else grip.y + down
        return _moved(key, bench_grips.bench_dragged(bench, setup, key, y, stops.land), setup)

    def _aimed(self, bench: Bearings, stops: Stops, x: float | None) -> Mapping[str, float] | None:
        """The length of hose whose flow is nearest to the one under the pointer; all of them once in a drag."""
        if x is None:
            return None
        if self._aims is None or self._aims[0] is not stops.setup or self._aims[1] is not stops.fine:
            self._aims = (stops.setup, stops.fine, aim(stops.setup, self._catalogue, stops.all_of(LENGTH)))
        length = self._aims[2].nearest(bench.scene.units.flow.to_si(bench.flow(x)))
        return None if length is None else {LENGTH: length}


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


def _added(shown: Drawing, setup: Setup, x: float, y: float) -> Edit | None:
    """A point where the hose was clicked."""
    if len(setup.discharge.waypoint) >= MOST_POINTS:
        return None
    found = grips.point_on_hose(shown.scale, setup, x, y, Stops(setup).land)
    return None if found is None else Edit("insert-point", "discharge.waypoint", found)


def _pair(value: Any) -> tuple[float | None, float | None]:
    """Two lengths in pixels, right and down; ``None`` for each that is none."""
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
