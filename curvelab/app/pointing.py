"""Pointing at parts of the pictures: where they lie and what is said of them, only when somebody asks."""

from __future__ import annotations

from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from curvelab.app.holds import BENCH, RUN
from curvelab.app.state import Shown
from curvelab.figures.bench import Bench
from curvelab.figures.run import RunDrawing
from curvelab.layout.bench_grips import Bearings
from curvelab.layout.shapes import Shape, bench_shapes, run_shapes
from curvelab.report.parts import bench_list, part_said, run_list
from curvelab.report.pointed import Seen

_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_words: Any = _environment.get_template("parts.html").module
_LISTS: Final = {BENCH: bench_list, RUN: run_list}


def seen_of(shown: Shown, pump: str) -> Seen:
    """What somebody points at."""
    return Seen(shown.figures, shown.setup, shown.solved.run, pump, shown.solved.catalogue)


def parts_of(picture: object, seen: Seen, run: RunDrawing, bench: Bench) -> dict[str, Any]:
    """Shapes of a picture's parts, their titles in order, and what a card should leave free; empty for none of ours.

    A shape is key, kind and corners; pixels as in ``layout.shapes``.
    """
    if (
        not isinstance(picture, str)
        or picture not in _LISTS
        or run.shown is None
        or bench.scene is None
        or bench.words is None
    ):
        return {}
    titles = list(_LISTS[picture](seen))
    known = {key for key, _ in titles}
    at = Bearings(bench.scene, bench.size, bench.plot_px)
    if picture == BENCH:
        shapes: tuple[Shape, ...] = bench_shapes(at, bench.words.ledger, bench.words.budget, bench.labelled)
    else:
        shapes = run_shapes(run.shown, float(run.size.height), run.labelled)
    rows = [[s.key, s.kind, [round(corner) for corner in s.corners]] for s in shapes if s.key in known]
    return {"picture": picture, "shapes": rows, "titles": titles, "free": _free(at, bench) if picture == BENCH else []}


def said_html(key: object, seen: Seen) -> str:
    """Words of a part as HTML; empty for a part that isn't there."""
    said = part_said(key, seen) if isinstance(key, str) else None
    return "" if said is None else str(_words.said(said))


def _free(at: Bearings, bench: Bench) -> list[int]:
    """The operating point and its words: left, top, right, bottom."""
    label = bench.labelled[0].get("point")
    if label is None or at.scene.point is None:
        return []
    foot = at.y(at.scene.axes.head.low)
    x, y = at.x(at.scene.point[0]), at.y(at.scene.point[1])
    box = label.box
    sides = (
        min(x - 10.0, at.size.axis + box.left),
        min(y - 10.0, foot - box.top),
        max(x + 10.0, at.size.axis + box.right),
        max(y + 10.0, foot - box.bottom),
    )
    return [round(side) for side in sides]
