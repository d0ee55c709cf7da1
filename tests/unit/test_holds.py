"""What a handle that is moved by hand makes of the setup, from the message to the answer, without a browser."""

from typing import Any

import pytest

from curvelab.app.page import Page
from curvelab.model.fields import field_of, range_of
from tests.unit.test_app import in_a_loop, page, send

FT = 0.3048


def place(made: Page, key: str, picture: str = "run") -> tuple[float, float]:
    x, y, *_ = rows(made, picture)[key]
    return x, y


def rows(made: Page, picture: str = "run") -> dict[str, Any]:
    keys = [kind["key"] for kind in made.wire.kinds[picture]]
    return dict(zip(keys, made.wire.now["holds"][picture], strict=True))


def drag(
    made: Page,
    key: str,
    dx: float | None,
    dy: float | None,
    *,
    held: bool = True,
    fine: bool = False,
    picture: str = "run",
) -> None:
    message = {"do": "drag", "path": f"{picture}:{key}", "off": [dx, dy], "fine": fine}
    send(made, message, held=held, seq=made._seq + 1)


def feet(made: Page, path: str) -> float:
    field, places = field_of(path)
    si = field.si(made.state.setup, *places)
    assert si is not None
    return si / FT


def flow_of(made: Page) -> float:
    shown = made.state.shown
    assert shown is not None
    assert shown.result.flow_m3_s is not None
    return shown.result.flow_m3_s


def test_a_handle_is_there_for_everything_that_can_be_moved():
    made = page()
    kinds = {kind["key"]: kind for kind in made.wire.kinds["run"]}
    assert kinds["point.2"]["name"] == "hump"
    assert kinds["outlet"]["name"] == "Outlet"
    assert rows(made)["outlet"][3] == "rise 38 ft, 300 ft of hose"
    for key, (_, _, number, _) in rows(made).items():
        low, high = kinds[key]["ends"]
        assert low <= number <= high


@pytest.mark.parametrize("fine", [False, True])
def test_a_dragged_value_lands_on_a_stop_of_its_slider(fine: bool):  # noqa: FBT001
    made = page()
    for key, path in (
        ("water", "suction.lift"),
        ("pump", "suction.lift"),
        ("point.2", "discharge.waypoint.2.height"),
        ("outlet", "discharge.rise"),
    ):
        before = feet(made, path)
        drag(made, key, None, -2.3, held=False, fine=fine)
        field, _ = field_of(path)
        shown = range_of(field, made.state.system)
        stops = shown.span.finer.stops() if fine else shown.stops()
        assert min(abs(feet(made, path) - stop) for stop in stops) < 1e-6
        assert feet(made, path) != pytest.approx(before)


def test_a_pump_in_the_line_is_moved_by_its_handle_and_by_keys():
    made = page()
    send(made, {"do": "add-booster", "value": 0}, seq=1)
    kinds = {kind["key"]: kind for kind in made.wire.kinds["run"]}
    assert kinds["booster.0"]["name"] == "Pump in the line"
    assert (kinds["booster.0"]["drop"], kinds["booster.0"]["ways"], kinds["booster.0"]["hose"]) == (None, "x", True)
    before = feet(made, "booster.0.distance")
    _, _, number, said = rows(made)["booster.0"]
    assert kinds["booster.0"]["ends"] == (0.0, 300.0)
    assert number == pytest.approx(before)
    assert said == f"{before:g} ft along, 300 ft of hose"
    drag(made, "booster.0", 30.0, None, held=False)
    there = feet(made, "booster.0.distance")
    assert there > before
    send(made, {"do": "nudge", "path": "run:booster.0", "by": [-1, 0]}, seq=9)
    assert feet(made, "booster.0.distance") < there
    assert f"at={feet(made, 'booster.0.distance'):g}" in made.wire.now["query"].replace("+ft", "")


def test_a_drag_there_and_back_gives_the_setup_back():
    made = page()
    before = made.state.setup
    for dy in (-30.0, -60.0, 20.0, 0.0):
        drag(made, "outlet", None, dy)
    send(made, {"do": "release"}, seq=made._seq + 1)
    assert made.state.setup == before


def test_the_sliders_follow_and_the_link_comes_when_it_is_let_go():
    made = page()
    query = made.query
    drag(made, "outlet", None, -10.0)
    number, text = made.wire.now["values"]["discharge.rise"]
    assert number == pytest.approx(feet(made, "discharge.rise"))
    assert text == f"{number:g}"
    assert made.query == query
    send(made, {"do": "release"}, seq=9)
    assert made.query != query


def test_an_outlet_pulled_away_takes_more_hose_and_pushed_back_less():
    made = page()
    drag(made, "outlet", 40.0, None, held=False)
    far = feet(made, "discharge.leg.0.length")
    assert far > 300
    drag(made, "outlet", -90.0, None, held=False)
    assert feet(made, "discharge.leg.0.length") < far


def test_a_click_on_the_hose_puts_a_point_there_and_the_answer_stays():
    made = page()
    flow = flow_of(made)
    before = made.state.setup.discharge.waypoint
    (ax, ay), (bx, by) = place(made, "point.1"), place(made, "point.2")
    send(made, {"do": "add-at", "path": "run:hose", "at": [0.5 * (ax + bx), 0.5 * (ay + by)]})
    points = made.state.setup.discharge.waypoint
    assert len(points) == len(before) + 1
    assert [point.distance.si for point in points] == sorted(point.distance.si for point in points)
    assert points[2].distance.si == pytest.approx(150 * FT)
    assert flow_of(made) == pytest.approx(flow, rel=1e-3)


def test_keys_step_from_stop_to_stop_and_back():
    made = page()
    for by, rise in (([0, 1], 39), ([0, 10], 49), ([0, -11], 38)):
        send(made, {"do": "nudge", "path": "run:outlet", "by": by}, seq=made._seq + 1)
        assert feet(made, "discharge.rise") == pytest.approx(rise)
    send(made, {"do": "nudge", "path": "run:point.2", "by": [1, 0]}, seq=made._seq + 1)
    assert feet(made, "discharge.waypoint.2.distance") == pytest.approx(210)
    send(made, {"do": "nudge", "path": "run:point.2", "by": [0, 1], "fine": True}, seq=made._seq + 1)
    assert feet(made, "discharge.waypoint.2.height") == pytest.approx(34.1)


def test_water_lower_than_the_hose_reaches_is_refused_in_words():
    made = page()
    send(made, {"do": "nudge", "path": "run:water", "by": [0, -99999]})
    assert feet(made, "suction.lift") == pytest.approx(12)
    assert "the hose must reach" in made.wire.now["faults"]["suction.lift"]


NONSENSE: list[dict[str, Any]] = [
    {"do": "drag"},
    {"do": "drag", "path": "run:outlet"},
    {"do": "drag", "path": "run:outlet", "off": [1]},
    {"do": "drag", "path": "run:outlet", "off": ["1", None]},
    {"do": "drag", "path": "run:outlet", "off": [float("nan"), float("inf")]},
    {"do": "drag", "path": "run:outlet", "off": [None, 1e300]},
    {"do": "drag", "path": "run:point.99", "off": [1, 2]},
    {"do": "drag", "path": "moon:outlet", "off": [1, 2]},
    {"do": "drag", "path": 7, "off": [1, 2]},
    {"do": "nudge", "path": "run:outlet", "by": [0.5, "x"]},
    {"do": "nudge", "path": "run:outlet", "by": None},
    {"do": "add-at", "path": "run:hose", "at": [None, None]},
    {"do": "moved", "path": "discharge.rise", "value": {"discharge.rise": 4}},
    {"do": "insert-point", "path": "discharge.waypoint", "value": "x"},
]


def test_messages_that_no_handle_sends_change_nothing():
    made = page()
    before = made.state.setup
    for seq, message in enumerate(NONSENSE, 1):
        now = send(made, message, seq=seq)
        assert made.state.setup == before, message
        assert made.state.notices == [], message
        assert now["seq"] == seq


def test_no_more_points_than_the_table_holds():
    made = page()
    for _ in range(12):
        x, y = place(made, "outlet")
        px, py = place(made, "pump")
        send(made, {"do": "add-at", "path": "run:hose", "at": [0.5 * (x + px), 0.5 * (y + py)]}, seq=made._seq + 1)
    assert len(made.state.setup.discharge.waypoint) <= 12
    assert made.state.notices == []


def test_the_operating_point_pulled_left_takes_hose_until_there_is_no_more():
    made = page()
    start = flow_of(made)
    drag(made, "flow", -60.0, None, picture="bench")
    assert flow_of(made) < start
    assert feet(made, "discharge.leg.0.length") > 300
    drag(made, "flow", -5000.0, None, picture="bench")
    assert rows(made, "bench")["flow"][3].endswith("with 2,000 ft of hose, the longest here")
    drag(made, "flow", 9999.0, None, picture="bench")
    assert rows(made, "bench")["flow"][3].endswith("the suction lets no more in")
    send(made, {"do": "release"}, seq=made._seq + 1)


def test_heights_on_the_bench_are_those_of_the_sliders():
    made = page()
    drag(made, "foot", None, -10.0, held=False, picture="bench")
    assert feet(made, "discharge.rise") > 38
    drag(made, "level", None, 3.0, held=False, picture="bench")
    assert feet(made, "suction.lift") > 12
    assert rows(made, "bench")["level"][3] == f"lift {feet(made, 'suction.lift'):g} ft"


def test_where_a_point_is_the_highest_its_height_is_what_the_curve_starts_from():
    made = page()
    send(made, {"do": "set", "path": "discharge.rise", "number": 10})
    assert rows(made, "bench")["foot"][3] == "hump: 34 ft"
    send(made, {"do": "nudge", "path": "bench:foot", "by": [0, 2]}, seq=2)
    assert feet(made, "discharge.waypoint.2.height") == pytest.approx(36)


def test_without_water_there_is_no_operating_point_to_hold():
    made = page()
    send(made, {"do": "open", "value": "ridge-tank"})
    assert [kind["key"] for kind in made.wire.kinds["bench"]] == ["foot", "level"]
    send(made, {"do": "drag", "path": "bench:flow", "off": [300, None]}, seq=2)
    assert made.state.notices == []


def test_parts_and_words_come_only_when_somebody_points():
    made = page()
    assert made.wire.parts == {}
    send(made, {"do": "parts", "path": "bench"})
    parts = made.wire.parts
    assert parts["revision"] == made.wire.now["revision"]
    assert {key for key, *_ in parts["shapes"]} <= {key for key, _ in parts["titles"]}
    left, top, right, bottom = parts["free"]
    x, y, *_ = rows(made, "bench")["flow"]
    assert left <= x <= right
    assert top <= y <= bottom
    send(made, {"do": "point", "path": "discharge"}, seq=2)
    assert "Discharge hose 27.3 ft" in made.wire.said["html"]
    assert "L = 300 ft" in made.wire.said["html"]
    assert made.wire.said["revision"] == parts["revision"], "pointing changes nothing"
    send(made, {"do": "set", "path": "discharge.rise", "number": 40}, seq=3)
    assert made.wire.now["revision"] > parts["revision"]
    assert made.wire.parts is parts, "shapes are sent when they are asked for"


def test_what_a_file_calls_a_point_stays_text():
    made = page("?v=1&w0.at=50+ft&w0.height=5+ft&w0.name=%3Cimg+src%3Dx%3E&pump=ferrow-3&d0.len=300+ft")
    send(made, {"do": "point", "path": "point.0"})
    assert "<img" not in made.wire.said["html"]


def test_pointing_at_nothing_says_nothing():
    made = page()
    for seq, path in enumerate(["moon", None, 7, ["lift"], "point.99"], 1):
        send(made, {"do": "point", "path": path}, seq=seq)
        assert made.wire.said.get("html") == ""
        send(made, {"do": "parts", "path": path}, seq=seq)
        assert made.wire.parts == {}
        assert made.state.notices == []


def test_a_browser_that_has_the_last_answer_is_told_only_what_differs():
    made = page()
    whole = send(made, {"do": "release"})["values"]

    async def received(seq: int, has: int, rise: float) -> None:
        edit = {"do": "set", "path": "discharge.rise", "number": rise}
        made._receive({"seq": seq, "has": has, "held": False, "edits": [edit]})

    in_a_loop(lambda: received(2, 1, 40))
    assert made.wire.now["whole"] is False
    assert made.wire.now["values"] == {"discharge.rise": (pytest.approx(40), "40")}
    in_a_loop(lambda: received(3, 1, 41))  # it missed the second answer
    assert made.wire.now["whole"] is True
    assert made.wire.now["values"].keys() == whole.keys()
