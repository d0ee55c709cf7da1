"""From a picture to a pump's points on the Curves page: pictures come in, curves and words go out.

Nothing is kept but the picture, in memory, and what was found in it; marks, seeds and points are the browser's.
"""

from __future__ import annotations

import threading
from collections.abc import Mapping
from http import HTTPStatus
from pathlib import Path
from typing import Any, Final, cast

from jinja2 import Environment, PackageLoader, StrictUndefined
from tornado.web import HTTPError

from curvelab.app.curves.asking import Asked, Shown, faults_of
from curvelab.app.curves.pictures import MOST_BYTES, PICTURES, TYPES, Held, named
from curvelab.errors import Fault, InputError
from curvelab.figures.tracestrip import strip
from curvelab.layout.traced import grid_of, split
from curvelab.model.catalogue import yard_folder
from curvelab.model.writing import write_whole
from curvelab.model.written import to_toml
from curvelab.model.yard import read_file, save_file
from curvelab.report.traced import (
    PRESSURES,
    QUANTITIES,
    UNITS,
    fault_said,
    placed_said,
    point_texts,
    strip_sentence,
    symbol,
)
from curvelab.tracing.axes import axes_of
from curvelab.tracing.curve import TracedCurve
from curvelab.tracing.frame import AXIS_OF, Axis, Frame
from curvelab.tracing.frame import FORMAT as FRAME
from curvelab.tracing.handed import frame_typed, handed
from curvelab.tracing.placed import Placed, placed_by_hand, placed_of
from curvelab.tracing.trace import trace
from curvelab.units import System

AT_ONCE: Final = threading.BoundedSemaphore(2)
"""Traces at once: each takes a core and some hundred megabytes."""
MEGABYTES: Final = MOST_BYTES // 1_000_000
_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_words: Any = _environment.get_template("trace.html").module


def trace_html(system: System) -> str:
    """The editor, empty."""
    metric = system is System.METRIC
    usual = {"flow": "L/min" if metric else "gpm", "head": "m" if metric else "ft", "efficiency": "%"}
    usual |= {"power": "kW" if metric else "hp"} | ({"flow": "imp gpm"} if system is System.IMPERIAL else {})
    more = {"pressures": PRESSURES, "quantities": QUANTITIES, "megabytes": MEGABYTES, "most": MOST_BYTES}
    return str(_words.editor(units=UNITS, usual=usual, **more))


class _InPicture(Asked):
    """A question about a picture. What can't be answered is answered by its faults: half-typed marks are no mishap."""

    def answer(self, asked: Any) -> dict[str, Any]:
        """The answer, or ``faults`` in the page's words, which count marks from 1."""
        try:
            return self.found(asked)
        except InputError as error:
            return {"faults": faults_of(Fault("", fault.field, fault_said(fault), "") for fault in error.faults)}

    def found(self, asked: Any) -> dict[str, Any]:
        """The answer, if there is one."""
        raise NotImplementedError


class PictureAsked(_InPicture):
    """A picture, to be held while it is traced."""

    MOST_BYTES = MOST_BYTES
    KIND = "application/octet-stream"

    def question(self) -> bytes:
        """The file as it is."""
        return bytes(self._body)

    def found(self, asked: bytes) -> dict[str, Any]:
        """``key`` under which it is held, and its size."""
        key, held = PICTURES.take(asked, named(self.get_query_argument("name", "")))
        return {"key": key, "name": held.name, "width": held.size[0], "height": held.size[1]}


class PictureShown(Shown):
    """A picture that is held, for a page that was opened anew."""

    def get(self) -> None:
        """``key`` of the picture."""
        try:
            held = PICTURES.get(self.get_query_argument("key", ""))
        except InputError:
            raise HTTPError(HTTPStatus.NOT_FOUND, "That picture is not held here any more.") from None
        self.set_header("Content-Type", TYPES[held.ending])
        self.finish(held.data)


class AxesAsked(_InPicture):
    """Whether marks tell the axes."""

    def found(self, asked: Any) -> dict[str, Any]:
        """``frame`` without curves, ``axis`` wished: lines at round numbers, to be laid over the picture."""
        axis = _axis(asked)
        axes = axes_of(_frame(asked, [{"seed": [0, 0], "quantity": axis}]), axis)
        misses = axes.paper_map.residual_px.round(1).tolist()
        return {"lines": [line.round(1).tolist() for line in grid_of(axes)], "misses": misses}


class TraceAsked(_InPicture):
    """A curve followed from where it was clicked, or by points that somebody has placed."""

    def found(self, asked: Any) -> dict[str, Any]:
        """``key`` of the picture, ``frame``, ``curve``, ``points`` if placed, ``width`` of the strip in px.

        A point is x, y, and 1 where a person has placed it.
        """
        return _shown(_placed(PICTURES.get(asked.get("key")), asked, asked), asked)


class HandAsked(_InPicture):
    """The curves of a picture as the form of a new pump takes them."""

    def found(self, asked: Any) -> dict[str, Any]:
        """``key``, ``frame``, and ``curves``: each ``curve`` with its ``points``."""
        held = PICTURES.get(asked.get("key"))
        curves = [_placed(held, asked, one) for one in _list(asked.get("curves"))[:4] if isinstance(one, dict)]
        picture, frame = names_of(held)
        own = yard_folder() is not None
        told = handed(curves, picture=picture if own else held.name, frame=frame, own=own)
        marks = to_toml(_clicked_frame(asked))
        return {
            **told,
            "key": asked.get("key"),
            "frame": asked.get("frame"),
            "curves": asked.get("curves"),
            "marks": marks,
        }


def names_of(held: Held) -> tuple[str, str]:
    """Where a picture and its frame lie in a yard's folder."""
    return f"pictures/{held.stem}.{held.ending}", f"pictures/{held.stem}.frame.toml"


def keep_picture(folder: Path, traced: object) -> str:
    """Put the picture and the marks of what was handed over into a yard's folder; a sentence where that failed."""
    told = cast("dict[str, Any]", traced) if isinstance(traced, dict) else {}
    if "key" not in told:
        return ""
    try:
        held = PICTURES.get(told["key"])
        frame = _clicked_frame(told)
        picture, marks = (folder / name for name in names_of(held))
        picture.parent.mkdir(exist_ok=True)
        if not picture.exists():
            write_whole(picture, held.data)
        before = read_file(marks)
        save_file(folder, marks, FRAME, to_toml(frame), mark=before.mark if before else None)
    except InputError as error:
        return f"Its picture is not kept: {fault_said(error.faults[0])}."
    except OSError as error:
        return f"Its picture is not kept: {(error.strerror or 'the folder can’t be written').lower()}."
    return ""


def _clicked(one: Mapping[str, Any]) -> dict[str, Any]:
    """A curve of a frame: by its seed, else by the middle one of the points that were placed on it."""
    curve, points = dict(one.get("curve") or {}), _points(one.get("points"))
    if curve.get("seed") is None and points:
        curve["seed"] = list(points[len(points) // 2][:2])
    return curve


def _clicked_frame(asked: Mapping[str, Any]) -> Frame:
    return _frame(asked, [_clicked(one) for one in _list(asked.get("curves")) if isinstance(one, dict)])


def _frame(asked: Mapping[str, Any], curves: list[Any]) -> Frame:
    table = asked.get("frame")
    return frame_typed({**(cast("dict[str, Any]", table) if isinstance(table, dict) else {}), "curve": curves})


def _axis(asked: Mapping[str, Any]) -> Axis:
    axis = asked.get("axis")
    return cast("Axis", axis) if axis in set(AXIS_OF.values()) else "head"


def _traced(held: Held, frame: Frame) -> TracedCurve:
    """The frame's only curve; found before, where the same was asked."""
    asked = frame.model_dump_json()
    known = PICTURES.recall(held, asked)
    if known is None:
        known = trace(held.data, frame)
        PICTURES.remember(held, asked, known)
    return known


def _placed(held: Held, asked: Mapping[str, Any], one: Mapping[str, Any]) -> Placed:
    """A curve by its points; on the axes of its trace, where it was traced."""
    given = one.get("curve")
    curve = dict(cast("dict[str, Any]", given)) if isinstance(given, dict) else {}
    points = _points(one.get("points"))
    by_hand = curve.get("seed") is None
    frame = _frame(asked, [{**curve, "seed": [0, 0]} if by_hand else curve])
    only = frame.curve[0]
    if by_hand:
        axes, traced = axes_of(frame, AXIS_OF[only.quantity]), None
    else:
        with AT_ONCE:
            traced = _traced(held, frame)
        axes = traced.axes
        if not points:
            return placed_of(traced)
    at, flags = [(x, y) for x, y, _ in points], [by_hand or bool(hand) for _, _, hand in points]
    return placed_by_hand(axes, at, flags, name=only.label, quantity=only.quantity, traced=traced)


def _shown(placed: Placed, asked: Mapping[str, Any]) -> dict[str, Any]:
    """A curve for the page: what is laid over the picture, and its words."""
    said = placed_said(placed)
    points = zip(placed.pixels.tolist(), placed.by_hand, strict=True)
    answer: dict[str, Any] = {
        "points": [[round(x, 2), round(y, 2), int(hand)] for (x, y), hand in points],
        "texts": point_texts(placed),
        "line": placed.line.round(1).tolist(),
        "said": {"reach": said.reach, "fit": said.fit, "doubts": list(said.doubts)},
        "seen": [],
        "strip": "",
        "strip_said": "",
    }
    if placed.traced is not None:
        width = asked.get("width")
        wide = float(width) if isinstance(width, (int, float)) else 600.0
        answer["seen"] = [[kind, piece.round(1).tolist()] for kind, piece in split(placed.traced)]
        answer["strip_said"] = strip_sentence(placed.traced)
        flow_unit = symbol("flow", placed.traced.flow_unit)
        answer["strip"] = strip(placed.traced, answer["strip_said"], width=wide, flow_unit=flow_unit)
    return answer


def _points(value: object) -> list[tuple[float, float, int]]:
    found: list[tuple[float, float, int]] = []
    for place, row in enumerate(_list(value)[:1000]):
        pair = _list(row)
        if len(pair) != 3 or not all(isinstance(v, (int, float)) and abs(v) < 1e6 for v in pair):
            raise InputError(Fault("", f"points.{place}", "is no place in the picture", "place it again"))
        found.append((float(cast("float", pair[0])), float(cast("float", pair[1])), int(bool(pair[2]))))
    return found


def _list(value: object) -> list[object]:
    return cast("list[object]", value) if isinstance(value, list) else []
