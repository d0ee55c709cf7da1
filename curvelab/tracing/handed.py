"""Curves placed in a picture as the form of a new pump takes them: points, where they are from, what is unsure."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from pathlib import PurePath
from typing import Any

from curvelab.errors import Fault, InputError, echo
from curvelab.model.amount import Number
from curvelab.model.sheet import with_points
from curvelab.tracing.frame import AXIS_OF, Frame, frame_from
from curvelab.tracing.placed import Placed
from curvelab.tracing.pumpfile import doubt_lines, speed_named, stated_errors, stated_water


def handed(curves: Sequence[Placed], *, picture: str, frame: str = "", own: bool) -> dict[str, Any]:
    """A trace as a pump's form takes it: ``source``, ``speed``, ``tables`` by quantity, ``notes``.

    Parameters
    ----------
    curves : sequence of Placed
        One of head, at most one of each other.
    picture, frame : str
        As the pump's file shall name them.
    own : bool
        They will lie in the yard's folder, so that the file may name them.
    """
    tables: dict[str, Any] = {}
    for curve in curves:
        measure = curve.axes.measure
        table: dict[str, Any] = {"flow": curve.axes.flow_unit, AXIS_OF[curve.quantity]: measure.written}
        table["points"] = [list(pair) for pair in measure.in_file(curve.numbers)]
        tables[curve.quantity] = table | ({"picture": picture, "frame": frame} if own else {})
    speed = next((speed_named(curve.name) for curve in curves if curve.quantity == "head"), "")
    return {"source": _source(curves, picture), "speed": speed, "tables": tables, "notes": list(_notes(curves))}


def _source(curves: Sequence[Placed], picture: str) -> str:
    name = PurePath(picture).name
    traced = [curve.traced for curve in curves if curve.traced is not None]
    hand = [f"{curve.quantity} by hand" for curve in curves if curve.traced is None]
    hand += [
        f"{sum(curve.by_hand)} of {len(curve.by_hand)} points of {curve.quantity} by hand"
        for curve in curves
        if curve.traced is not None and any(curve.by_hand)
    ]
    told = ", ".join([*([stated_errors(traced)] if traced else []), *hand])
    return f"{'traced' if traced else 'read'} from {name}, {told}{stated_water([curve.axes for curve in curves])}"


def _notes(curves: Sequence[Placed]) -> Iterator[str]:
    yield from doubt_lines([curve.traced for curve in curves if curve.traced is not None])
    for curve in curves:
        if curve.traced is None:
            yield f"The points of {curve.quantity} were placed by hand: nothing says how far out they may be."


def frame_typed(table: Mapping[str, Any]) -> Frame:
    """A frame whose marks carry numbers as somebody typed them; an empty text stands for none.

    Raises
    ------
    InputError
        With every fault, under ``mark.2.flow`` and the like.
    """
    faults: list[Fault] = []
    marks = table.get("mark")
    rows = [_numbers(place, mark, faults) for place, mark in enumerate(marks)] if isinstance(marks, list) else marks
    if faults:
        raise InputError(faults)
    return frame_from({**table, "mark": rows})


def _numbers(place: int, mark: object, faults: list[Fault]) -> object:
    if not isinstance(mark, dict):
        return mark
    out: dict[str, object] = {}
    for name, value in mark.items():
        if not isinstance(value, str):
            out[name] = value
        elif value.strip():
            try:
                out[name] = _ANY.typed(with_points(value.strip().rstrip("% "), commas=False))
            except InputError:
                faults.append(Fault("", f"mark.{place}.{name}", f'"{echo(value)}"', "write the number printed there"))
    return out


_ANY = Number(-1e9, 1e9)
