"""What the trace editor asks of the server: pictures in, curves and words out, nothing held that nobody asked for."""

from __future__ import annotations

import json
from pathlib import Path
from typing import Any
from urllib.parse import quote

import numpy as np
import pytest
from tornado.testing import AsyncHTTPTestCase
from tornado.web import Application

from curvelab.app.curves import pictures
from curvelab.app.curves.pictures import Pictures
from curvelab.app.curves.routes import routes
from curvelab.app.curves.tracing import keep_picture
from curvelab.errors import InputError
from curvelab.model.catalogue import default_catalogue, demo_catalogue
from curvelab.tracing.frame import load_frame
from curvelab.tracing.picture import open_picture
from curvelab.tracing.trace import trace
from curvelab.units import Quantity, from_unit
from tests.unit.demo_sheets import PICTURES

SHEET = PICTURES / "sedge-2.jpg"
CORNERS = ((100.0, 714.5), (1060.0, 714.0), (1061.0, 70.5), (100.0, 70.5))
NUMBERS = (("0", "0"), ("700", "0"), ("700", "32"), ("0", "32"))
FRAME = {
    "format": "curvelab-frame/1",
    "flow": "L/min",
    "head": "m",
    "flow_scale": "linear",
    "head_scale": "linear",
    "mark": [{"pixel": list(p), "flow": q, "head": h} for p, (q, h) in zip(CORNERS, NUMBERS, strict=True)],
}
CURVE = {"name": "3600 rpm", "quantity": "head", "seed": [552.6, 275.6]}


def marked(place: int, **changed: Any) -> dict[str, Any]:
    marks = [dict(mark) for mark in FRAME["mark"]]
    marks[place] |= changed
    return {**FRAME, "mark": marks}


class TestTraceAsking(AsyncHTTPTestCase):
    def get_app(self) -> Application:
        app = Application(routes(default_catalogue))  # type: ignore[arg-type]
        app.websocket_origins = {"yard.example:5006"}  # type: ignore[attr-defined]
        return app

    def post(self, path: str, body: bytes, kind: str, **headers: str) -> Any:
        sent = {"Content-Type": kind, "Origin": "http://yard.example:5006", **headers}
        return self.fetch(f"/curves/{path}", method="POST", body=body, headers=sent, request_timeout=60.0)

    def picture(self, data: bytes, name: str = "sheet.jpg") -> Any:
        return self.post(f"picture?name={quote(name)}", data, "application/octet-stream")

    def ask(self, path: str, **question: Any) -> tuple[int, dict[str, Any]]:
        answer = self.post(path, json.dumps(question).encode(), "application/json")
        return answer.code, json.loads(answer.body)

    def held(self) -> str:
        return json.loads(self.picture(SHEET.read_bytes()).body)["key"]

    def test_a_picture_goes_in_and_comes_back_as_it_was(self) -> None:
        told = json.loads(self.picture(SHEET.read_bytes(), "C:\\photos\\Sheet <1>.jpg").body)
        assert (told["width"], told["height"], told["name"]) == (1100, 800, "Sheet <1>.jpg")
        shown = self.fetch(f"/curves/shown?key={told['key']}")
        assert (shown.code, shown.headers["Content-Type"]) == (200, "image/jpeg")
        assert shown.body == SHEET.read_bytes()
        assert self.fetch("/curves/shown?key=guess").code == 404

    def test_what_is_no_picture_is_refused_in_words(self) -> None:
        for data, says in (
            (b"text", "no picture"),
            (SHEET.read_bytes()[:900], "damaged or cut short"),
            (b"", "no picture"),
        ):
            answer = self.picture(data)
            assert says in json.loads(answer.body)["faults"][0]["got"]
        assert self.picture(bytes(pictures.MOST_BYTES + 1)).code in (413, 599)  # the line may be cut

    def test_only_own_pages_bring_pictures(self) -> None:
        there = {"Origin": "http://elsewhere.example"}
        assert self.post("picture", SHEET.read_bytes(), "application/octet-stream", **there).code == 403
        assert self.post("picture", SHEET.read_bytes(), "image/jpeg").code == 415

    def test_marks_become_lines_over_the_picture(self) -> None:
        code, told = self.ask("axes", frame=FRAME, axis="head")
        assert code == 200
        ends = np.array(told["lines"])
        assert ends.shape[1:] == (2, 2)
        assert ends.reshape(-1, 2).min(axis=0).tolist() == pytest.approx([100.0, 70.5], abs=1.5)
        assert ends.reshape(-1, 2).max(axis=0).tolist() == pytest.approx([1060.5, 714.5], abs=1.5)
        level = {round(y) for (_, y), (_, other) in told["lines"] if abs(y - other) < 2}
        assert round(714.5 - 20 / 32 * 644) in {
            y + slip for y in level for slip in (-1, 0, 1)
        }  # 20 m is a round number

    def test_faults_of_marks_are_told_beside_them_counted_from_one(self) -> None:
        for frame, field, says in (
            (marked(1, flow="7oo"), "mark.1.flow", "7oo"),
            (marked(2, flow=""), "mark.2.flow", "is missing"),
            (marked(3, head="0"), "mark.3", "mark 1"),
            (marked(1, flow="1,2,3"), "mark.1.flow", ""),
        ):
            _, told = self.ask("axes", frame=frame, axis="head")
            assert told["faults"][0]["field"] == field
            assert says in told["faults"][0]["got"]
        assert "faults" not in self.ask("axes", frame=marked(1, flow="700,0"), axis="head")[1]  # a decimal comma

    def test_a_click_becomes_a_curve_and_a_pumps_points(self) -> None:
        key = self.held()
        code, told = self.ask("trace", key=key, frame=FRAME, curve=CURVE, points=None, width=600)
        assert code == 200
        assert [kind for kind, _ in told["seen"]] == ["seen"]
        assert told["said"]["doubts"] == []
        assert told["said"]["reach"].startswith("From 29")
        assert "%" in told["said"]["fit"]
        assert told["strip"].startswith("<svg")
        code, given = self.ask("traced", key=key, frame=FRAME, curves=[{"curve": CURVE, "points": None}])
        assert code == 200
        assert given["speed"] == "3600 rpm"
        assert "sheet.jpg" in given["source"]
        points = np.array(given["tables"]["head"]["points"])
        true = demo_catalogue().pumps["sedge-2"].head
        flow = true.flow_m3_s / from_unit(1.0, "L/min", Quantity.FLOW)
        assert np.abs(np.interp(flow, *points.T) - true.values_si).max() < 0.01 * 32
        assert "picture" not in given["tables"]["head"]  # without a yard there is no place where it would lie
        assert load_frame_text(given["marks"]).curve[0].seed == (552.6, 275.6)

    def test_a_point_moved_by_hand_is_told_and_moves_the_curve(self) -> None:
        key = self.held()
        _, told = self.ask("trace", key=key, frame=FRAME, curve=CURVE, points=None)
        points = told["points"]
        points[3][1] -= 30
        points[3][2] = 1
        code, moved = self.ask("trace", key=key, frame=FRAME, curve=CURVE, points=points)
        assert code == 200
        assert f"1 of {len(points)} points placed by hand" in moved["said"]["fit"]
        assert any("px from the line that was seen" in doubt for doubt in moved["said"]["doubts"])
        _, given = self.ask("traced", key=key, frame=FRAME, curves=[{"curve": CURVE, "points": points}])
        assert f"1 of {len(points)} points of head by hand" in given["source"]
        assert given["tables"]["head"]["points"][3][1] == pytest.approx((714.5 - points[3][1]) / 644 * 32, abs=0.1)

    def test_points_alone_make_a_curve_that_says_nobody_knows_how_good(self) -> None:
        key, by_hand = self.held(), {"name": "mine", "quantity": "head", "seed": None}
        points = [[400.0, 300.0, 1], [110.0, 120.0, 1], [700.0, 500.0, 1]]
        code, told = self.ask("trace", key=key, frame=FRAME, curve=by_hand, points=points)
        assert code == 200
        assert [x for x, _, _ in told["points"]] == sorted(x for x, _, _ in points)
        assert "by hand" in told["said"]["fit"]
        _, given = self.ask("traced", key=key, frame=FRAME, curves=[{"curve": by_hand, "points": points}])
        assert given["source"] == "read from sheet.jpg, head by hand"
        assert any("nothing says" in note for note in given["notes"])

    def test_points_that_make_no_curve_are_refused(self) -> None:
        key, by_hand = self.held(), {"name": "mine", "quantity": "head", "seed": None}
        for points, says in (
            ([[400, 300, 1]], "1 of them"),
            ([[400, 300, 1], [400, 500, 1]], "same flow"),
            ([[20, 300, 1], [400, 500, 1]], "below 0"),
            ([[400, 790, 1], [500, 500, 1]], "below 0"),
            ([[400, 300, 1], [99_999, 500, 1]], "too far"),
            ([["x", 300, 1], [400, 500, 1]], "no place"),
            ("many", "0 of them"),
        ):
            _, told = self.ask("trace", key=key, frame=FRAME, curve=by_hand, points=points)
            assert says in told["faults"][0]["got"]

    def test_strange_questions_are_refused_in_words(self) -> None:
        key = self.held()
        for question in (
            {},
            {"key": key},
            {"key": key, "frame": [], "curve": 5},
            {"key": key, "frame": FRAME, "curve": {"seed": [1e9, 2], "quantity": "head"}},
            {"key": key, "frame": FRAME, "curve": {**CURVE, "quantity": "heat"}},
            {"key": key, "frame": {**FRAME, "mark": "x"}, "curve": CURVE},
            {"key": "gone", "frame": FRAME, "curve": CURVE},
        ):
            code, told = self.ask("trace", **question)
            assert code == 200
            assert told["faults"][0]["got"]


def load_frame_text(text: str) -> Any:
    import tomllib

    from curvelab.tracing.frame import frame_from

    return frame_from(tomllib.loads(text))


def test_pictures_are_held_up_to_a_bound_the_oldest_goes_first(monkeypatch: pytest.MonkeyPatch):
    monkeypatch.setattr(pictures, "MOST_HELD", 3)
    shelf, data = Pictures(), SHEET.read_bytes()
    keys = [shelf.take(data, "a.jpg")[0] for _ in range(3)]
    shelf.get(keys[0])
    keys.append(shelf.take(data, "b.jpg")[0])
    with pytest.raises(InputError, match="not held here any more"):
        shelf.get(keys[1])
    assert shelf.get(keys[0]).name == "a.jpg"
    monkeypatch.setattr(pictures, "MOST_HELD_BYTES", len(data))
    last, _ = shelf.take(data, "c.jpg")
    assert shelf.get(last).name == "c.jpg"
    with pytest.raises(InputError):
        shelf.get(keys[0])


def test_picture_and_marks_are_kept_in_the_yard_so_that_it_can_be_traced_again(tmp_path: Path):
    key, held = pictures.PICTURES.take(SHEET.read_bytes(), "My Sheet.JPG")
    told = {"key": key, "frame": FRAME, "curves": [{"curve": CURVE, "points": None}]}
    (tmp_path / "pumps").mkdir()
    assert keep_picture(tmp_path, told) == ""
    picture, marks = tmp_path / "pictures" / f"{held.stem}.jpg", tmp_path / "pictures" / f"{held.stem}.frame.toml"
    assert picture.read_bytes() == SHEET.read_bytes()
    assert open_picture(picture).image.size == (1100, 800)
    first = trace(picture, load_frame(marks))
    assert first.name == "3600 rpm"
    again = {**told, "frame": marked(0, flow="10")}
    assert keep_picture(tmp_path, again) == ""  # other marks: those before are kept
    assert load_frame(marks).mark[0].flow == 10.0
    assert len(list((tmp_path / "pictures" / "earlier").iterdir())) == 1
    assert "not held here" in keep_picture(tmp_path, {**told, "key": "gone"})
    assert keep_picture(tmp_path, {}) == ""
