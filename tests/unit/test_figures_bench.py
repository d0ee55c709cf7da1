"""The bench as a document: six frames that meet, columns equal to the result, and no more sent than what changed."""

import dataclasses
import itertools
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any

import numpy as np
import pytest
from bokeh.document import Document
from bokeh.document.events import ColumnDataChangedEvent, DocumentPatchedEvent, ModelChangedEvent
from bokeh.models import ColumnDataSource, Plot
from bokeh.protocol import Protocol

from curvelab.figures import Bench
from curvelab.figures.columns import put, send, short
from curvelab.layout.sizes import BENCH, Width
from curvelab.layout.text import width_px
from curvelab.studies.result import State
from curvelab.units import Quantity, System, display_unit
from tests.unit.picture_cases import NAMES, STATES, SWEEP, THIN, Case, case

FRAMES = ("chart", "ledger", "gutter", "spacer", "strip", "budget")
LINES = ("live_flow", "live_head", "beyond_head", "past_head", "top_rise")
GPM = display_unit(Quantity.FLOW, System.US)
FT = display_unit(Quantity.HEAD, System.US)


def show(bench: Bench, one: Case, *, settled: bool = True) -> None:
    bench.update(one.result, one.curves, one.bench, settled=settled)


def in_document(width: Width = Width.WIDE, system: System = System.US) -> tuple[Document, Bench]:
    document, bench = Document(), Bench(width, system)
    document.add_root(bench.root)
    return document, bench


def plot(document: Document, name: str) -> Any:
    found = document.select_one({"name": name})
    assert isinstance(found, Plot)
    return found


def source_with(document: Document, name: str, column: str) -> Any:
    """The source of a frame that has that column with something in it."""
    sources = {renderer.data_source for renderer in plot(document, name).renderers}
    (found,) = [source for source in sources if len(source.data.get(column, ()))]
    return found


@contextmanager
def events_of(document: Document) -> Iterator[list[DocumentPatchedEvent]]:
    """What one update would send, as one held batch."""
    events: list[DocumentPatchedEvent] = []
    document.hold("combine")
    yield events
    events.extend(event for event in document.callbacks._held_events if isinstance(event, DocumentPatchedEvent))
    document.callbacks._held_events.clear()
    document.unhold()


def size_of(events: list[DocumentPatchedEvent]) -> int:
    """Bytes of the message, buffers included."""
    message = Protocol().create("PATCH-DOC", events)
    text = len(message.header_json) + len(message.metadata_json) + len(message.content_json)
    return text + sum(len(buffer.to_bytes()) for buffer in message._buffers)


def columns_sent(events: list[DocumentPatchedEvent]) -> set[str]:
    return {name for event in events if isinstance(event, ColumnDataChangedEvent) for name in event.cols or ()}


def test_six_frames_meet():
    document, bench = in_document()
    show(bench, case("mill-pond"))
    plots = {name: plot(document, name) for name in FRAMES}
    size = BENCH[Width.WIDE]
    assert plots["chart"].x_range is plots["gutter"].x_range is plots["strip"].x_range
    assert plots["chart"].y_range is plots["ledger"].y_range
    assert plots["strip"].y_range is plots["budget"].y_range
    assert plots["ledger"].x_range is plots["budget"].x_range
    for name, frame in plots.items():
        left = size.axis if name in ("chart", "gutter", "strip") else 0
        right = size.overhang if name == "gutter" else 0
        borders = (frame.min_border_left, frame.min_border_right, frame.min_border_top, frame.min_border_bottom)
        assert borders == (left, right, 0, 0)
        assert frame.toolbar_location is None
        assert frame.outline_line_color is None
    for left, right in (("chart", "ledger"), ("gutter", "spacer"), ("strip", "budget")):
        assert plots[left].height == plots[right].height
        assert plots[left].width + plots[right].width == size.axis + size.plot + size.ledger


@pytest.mark.parametrize("name", NAMES)
def test_columns_are_those_of_the_result(name: str):
    one = case(name)
    document, bench = in_document()
    show(bench, one)
    data = source_with(document, "chart", "live_head").data
    curves, result = one.curves, one.result
    known = np.isfinite(curves.pump_head_m)
    flow = np.asarray(data["past_flow"], float) * GPM.scale
    written = 1e-4 * float(flow[-1])  # five digits of the largest
    assert flow[0] == pytest.approx(curves.flow_m3_s[known][0], abs=written)
    assert flow[-1] == pytest.approx(min(result.end_flow_m3_s, curves.flow_m3_s[-1]), abs=written)
    inside = flow <= curves.flow_m3_s[known][-1]
    expected = np.interp(flow, curves.flow_m3_s[known], curves.pump_head_m[known]) / FT.scale
    assert np.asarray(data["past_head"], float)[inside] == pytest.approx(expected[inside], abs=1e-4 * expected.max())
    live = (
        np.interp(np.asarray(data["live_flow"], float) * GPM.scale, curves.flow_m3_s, curves.system_head_m) / FT.scale
    )
    assert np.asarray(data["live_head"], float) == pytest.approx(live, abs=1e-4 * np.abs(live).max())


def test_the_operating_point_stands_where_the_result_says():
    one = case("mill-pond")
    document, bench = in_document()
    show(bench, one)
    dots = source_with(document, "chart", "marker").data
    assert one.result.flow_m3_s is not None
    assert one.result.head_m is not None
    assert dots["x"][0] == pytest.approx(one.result.flow_m3_s / GPM.scale, abs=1e-3)
    assert dots["y"][0] == pytest.approx(one.result.head_m / FT.scale, abs=1e-3)


def test_the_ledger_s_quads_are_the_result_s_parts():
    one = case("mill-pond")
    document, bench = in_document()
    show(bench, one)
    quads = source_with(document, "ledger", "fill").data
    drawn = np.array(quads["top"]) - np.array(quads["bottom"])
    assert drawn == pytest.approx([part.head_m / FT.scale for part in one.result.ledger if part.head_m > 0.0], abs=1e-3)


def test_the_same_result_again_sends_nothing():
    document, bench = in_document()
    show(bench, case("mill-pond"))
    with events_of(document) as events:
        show(bench, case("mill-pond"))
    assert events == []


def test_a_longer_hose_sends_no_pump_curve_and_no_suction_curve():
    document, bench = in_document()
    show(bench, case("mill-pond"))
    with events_of(document) as events:
        show(bench, case("mill-pond", ("discharge.leg.0.length", "310 ft")), settled=False)
    sent = columns_sent(events)
    assert {"live_flow", "live_head", "top_discharge"} <= sent
    assert not sent & {"pump_flow", "pump_head", "past_flow", "past_head", "strip_flow", "npsha", "npshr", "foot"}
    assert not [event for event in events if isinstance(event, ModelChangedEvent) and event.attr == "ticks"]


def test_more_lift_sends_npsha_but_not_npshr():
    document, bench = in_document()
    show(bench, case("mill-pond"))
    with events_of(document) as events:
        show(bench, case("mill-pond", ("suction.lift", "12.5 ft")), settled=False)
    sent = columns_sent(events)
    assert {"npsha", "left", "live_head"} <= sent
    assert not sent & {"npshr", "past_head", "past_flow"}


def test_a_drag_is_a_small_message():
    sizes: list[int] = []
    document, bench = in_document()
    show(bench, case("mill-pond"))
    for step in range(1, 30):
        one = case("mill-pond", ("suction.lift", f"{12 + 0.1 * step:.1f} ft"))
        with events_of(document) as events:
            show(bench, one, settled=False)
        sizes.append(size_of(events))
    print("bytes a step:", sorted(sizes)[len(sizes) // 2], "at most", max(sizes))
    assert sorted(sizes)[len(sizes) // 2] <= 10_000
    assert max(sizes) <= 14_000


def test_a_screen_reader_hears_the_settled_result_only():
    document, bench = in_document()
    show(bench, case("mill-pond"))
    before = plot(document, "chart").html_attributes
    assert before["role"] == "img"
    assert "186 US gal/min" in before["aria-label"]
    other = case("mill-pond", ("suction.lift", "15 ft"))
    show(bench, other, settled=False)
    assert plot(document, "chart").html_attributes == before
    show(bench, other)
    assert plot(document, "chart").html_attributes != before
    for name in ("chart", "strip", "ledger", "budget"):
        assert plot(document, name).html_attributes["aria-label"]


@pytest.mark.parametrize(("width", "system"), [(Width.WIDE, System.US), (Width.NARROW, System.METRIC)])
def test_every_state_follows_every_other_in_place(width: Width, system: System):
    """From state to state and back the picture is that of a bench made anew: nothing stays behind."""
    cases = [case(setup, system=system) for setup in STATES.values()]
    cases.append(case("mill-pond", *THIN, system=system))
    made_anew: list[list[int]] = []
    for one in cases:
        document, bench = in_document(width, system)
        show(bench, one)
        made_anew.append(rows_of(document))
    document, bench = in_document(width, system)
    for first, second in itertools.permutations(range(len(cases)), 2):
        show(bench, cases[first])
        bench._places = ({}, {})  # labels keep their places, and one that stands far off has a pointer
        show(bench, cases[second])
        assert rows_of(document) == made_anew[second], (cases[first].result.state, cases[second].result.state)


def rows_seen(data: dict[str, Any]) -> int:
    """Rows with a text, with a size, with a length: sources keep their rows, and some have nothing to show."""
    if "text" in data:
        return sum(text != "" for text in data["text"])
    if "marker" in data:
        return sum(size > 0.0 for size in data["size"])
    if {"x0", "y0", "x1", "y1"} <= data.keys():
        ends = zip(data["x0"], data["y0"], data["x1"], data["y1"], strict=True)
        return sum((x0, y0) != (x1, y1) for x0, y0, x1, y1 in ends)
    return len(next(iter(data.values())))


def rows_of(document: Document) -> list[int]:
    """Rows of every source that can be seen, frame by frame."""
    return [rows_seen(renderer.data_source.data) for frame in FRAMES for renderer in plot(document, frame).renderers]


def test_sources_keep_one_length_through_every_slider():
    document, bench = in_document()
    for name, changes in SWEEP:
        show(bench, case(name, *changes), settled=False)
        for frame in FRAMES:
            for renderer in plot(document, frame).renderers:
                assert len({len(column) for column in renderer.data_source.data.values()}) == 1


def test_no_null_goes_out_as_text():
    """Not a number may stand in a float32 column, never in a list: the browser would read it as a word."""
    document, bench = in_document()
    for setup in (*STATES.values(), "cellar", "seepage-pit"):
        show(bench, case(setup))
        for frame in FRAMES:
            for renderer in plot(document, frame).renderers:
                for column in renderer.data_source.data.values():
                    if isinstance(column, list):
                        assert all(not isinstance(item, float) or np.isfinite(item) for item in column)


def test_every_glyph_has_a_view_of_its_own():
    """A view shared by two sources shows both with the rows of one."""
    document, _ = in_document()
    views = [renderer.view.id for frame in FRAMES for renderer in plot(document, frame).renderers]
    assert len(set(views)) == len(views)


def test_states_that_do_not_flow_have_no_bands():
    document, bench = in_document()
    for state in (State.NO_LIFT, State.NO_PRIME, State.SOUND):
        show(bench, case(STATES[state.value]))
        bands = [
            renderer.visible
            for renderer in plot(document, "chart").renderers
            if renderer.glyph.__class__.__name__ == "VArea"
        ]
        assert any(bands) == (state is State.SOUND)


def test_the_hatch_begins_at_the_limit_in_chart_and_strip():
    one = case("mill-pond")
    document, bench = in_document()
    show(bench, one)
    strips = source_with(document, "chart", "hatch")
    assert strips is source_with(document, "strip", "hatch")
    assert one.result.cavitation_flow_m3_s is not None
    assert one.result.margin_flow_m3_s is not None
    limit = one.result.cavitation_flow_m3_s / GPM.scale
    assert strips.data["x0"] == pytest.approx([one.result.margin_flow_m3_s / GPM.scale, limit], abs=1e-3)
    assert strips.data["x1"] == pytest.approx([limit, plot(document, "chart").x_range.end], abs=1e-3)


def test_a_wider_frame_places_the_labels_anew():
    document, bench = in_document()
    show(bench, case("mill-pond"))
    texts = source_with(document, "chart", "live_head")
    before = bench.omitted
    bench._measured("inner_width", 632, 900)
    assert bench.plot_px == 900.0
    assert bench.omitted == before == ()
    assert texts.data["live_head"][0] == pytest.approx(50.0, abs=0.1)


def test_on_a_narrow_page_the_sentence_stands_below():
    _, bench = in_document(Width.NARROW)
    one = case("mill-pond")
    show(bench, one)
    sentence = bench.root.children[-1]
    assert one.bench.sentence.split(" ")[0] in sentence.text
    assert sentence.height == BENCH[Width.NARROW].sentence
    assert "sentence" not in bench.omitted


@pytest.mark.parametrize("width", Width)
def test_what_the_pump_needs_is_named_at_its_line(width: Width):
    """Elsewhere in the strip it would name another line."""
    _, bench = in_document(width)
    named = 0
    for setup in NAMES:
        show(bench, case(setup))
        label, scene = bench.labelled[1].get("npshr"), bench.scene
        if label is None or scene is None:
            continue
        up = bench.size.strip / scene.axes.suction.end
        across = np.linspace(label.box.left, label.box.right, 50) * scene.axes.flow.end / bench.plot_px
        lines = scene.lines
        low, high = (lines.npshr_low, lines.npshr_high) if scene.estimate else (lines.npshr, lines.npshr)
        under = np.interp(across, lines.npshr_flow, low) * up - label.box.top
        over = label.box.bottom - np.interp(across, lines.npshr_flow, high) * up
        assert np.maximum(under, over).min() <= 24.0, setup
        named += 1
    assert named >= len(NAMES) // 2


def test_words_from_a_file_are_escaped():
    _, bench = in_document(Width.MEDIUM)
    one = case("mill-pond")
    evil = dataclasses.replace(one.bench, sentence="<script>x</script>", chart_title="<b>")
    bench.update(one.result, one.curves, evil)
    assert "<script>" not in bench.root.children[-1].text
    assert "<b>" not in bench.root.children[0].children[0].text


def test_send_replaces_only_what_changed():
    source = ColumnDataSource({"x": [1.0, 2.0], "y": short(np.array([1.0, 2.0]))})
    seen: list[set[str]] = []
    document = Document()
    document.add_root(Plot())
    document.models._models[source.id] = source
    source._attach_document(document)
    document.on_change(
        lambda event: seen.append(set(event.cols or ())) if isinstance(event, ColumnDataChangedEvent) else None
    )
    send(source, x=[1.0, 2.0], y=short(np.array([1.0, 3.0])))
    assert seen == [{"y"}]
    send(source, x=[1.0, 2.0], y=short(np.array([1.0, 3.0])))
    assert len(seen) == 1
    send(source, x=[1.0], y=short(np.array([1.0])))
    assert len(source.data["x"]) == len(source.data["y"]) == 1


def test_a_column_is_written_out_to_five_digits_of_its_largest_and_one_with_gaps_is_an_array():
    assert short(np.array([0.0, 0.123456, 123.456])) == [0.0, 0.12, 123.46]
    assert short(np.array([1.234567e-3])) == [1.2346e-3]
    assert short(np.zeros(2)) == [0.0, 0.0]
    gaps = short(np.array([np.nan, 1.0]))
    assert isinstance(gaps, np.ndarray)
    assert gaps.dtype == np.dtype("float32")


def test_null_equals_null():
    source = ColumnDataSource({"y": short(np.array([np.nan, 1.0]))})
    kept = source.data["y"]
    send(source, y=short(np.array([np.nan, 1.0])))
    assert source.data["y"] is kept


def test_put_sets_only_what_differs():
    frame = Plot(width=10)
    changes: list[str] = []
    frame.on_change("width", lambda attr, _old, _new: changes.append(attr))
    put(frame, width=10)
    put(frame, width=11)
    assert changes == ["width"]


@pytest.mark.parametrize("system", System)
@pytest.mark.parametrize("state", STATES)
def test_on_a_phone_nothing_at_a_column_s_foot_is_wider_than_it(state: str, system: System):
    """The flow's pill may end right beside it."""
    document, bench = in_document(Width.NARROW, system)
    show(bench, case(STATES[state], system=system))
    written = source_with(document, "spacer", "text").data
    for text, size in zip(written["text"], written["size"], strict=True):
        wide = width_px(text, float(str(size).removesuffix("px")), bold=True)
        assert wide <= 1.12 * BENCH[Width.NARROW].columns[0].live, text
