"""The run as a document: what it shows is the drawing's, and no more is sent than what changed."""

from typing import Any

import numpy as np
import pytest
from bokeh.document import Document

from curvelab.figures import RunDrawing, theme
from curvelab.layout.sizes import RUN, Width
from curvelab.units import System
from tests.unit.picture_cases import NAMES, STATES, Case, case
from tests.unit.test_figures_bench import rows_seen


def made(width: Width = Width.WIDE, system: System = System.US) -> tuple[Document, RunDrawing]:
    document, run = Document(), RunDrawing(width, system)
    document.add_root(run.root)
    return document, run


def show(run: RunDrawing, one: Case, *, settled: bool = True) -> None:
    run.update(one.result, one.run, one.words, settled=settled)


def source_with(run: RunDrawing, *columns: str) -> Any:
    sources = {renderer.data_source.id: renderer.data_source for renderer in run.plot.renderers}
    (found,) = [source for source in sources.values() if set(columns) <= set(source.data)]
    return found


@pytest.mark.parametrize("width", Width)
def test_a_pixel_is_a_pixel(width: Width):
    _, run = made(width)
    size = RUN[width]
    for name in NAMES:
        show(run, case(name))
        assert (run.plot.x_range.start, run.plot.x_range.end) == (0, size.width)
        assert (run.plot.y_range.start, run.plot.y_range.end) == (0, size.height)
    assert (run.plot.width, run.plot.height) == (size.width, size.height)


def test_hose_that_could_burst_is_red_and_ticked():
    _, run = made()
    show(run, case("mill-pond"))
    hoses = source_with(run, "xs", "dash").data
    red = [index for index, colour in enumerate(hoses["colour"]) if colour == theme.ALERT]
    assert len(red) == 2
    assert hoses["dash"][red[1]]
    assert hoses["xs"][red[0]] == hoses["xs"][red[1]]


def test_the_same_again_sends_nothing():
    document, run = made()
    show(run, case("mill-pond"))
    seen: list[object] = []
    document.on_change(seen.append)
    show(run, case("mill-pond"))
    assert seen == []


def test_another_state_leaves_nothing_behind():
    _, run = made()
    for state in (*STATES, *reversed(STATES)):
        show(run, case(STATES[state]))
        _, fresh = made()
        show(fresh, case(STATES[state]))
        for old, new in zip(run.plot.renderers, fresh.plot.renderers, strict=True):
            assert rows_seen(old.data_source.data) == rows_seen(new.data_source.data)


def test_the_label_tells_the_settled_run():
    _, run = made()
    show(run, case("mill-pond"))
    told = run.plot.html_attributes
    assert told["role"] == "img"
    assert "300 ft of hose" in told["aria-label"]
    show(run, case("mill-pond", ("discharge.leg.0.length", "600 ft")), settled=False)
    assert run.plot.html_attributes == told
    show(run, case("mill-pond", ("discharge.leg.0.length", "600 ft")))
    assert "600 ft of hose" in run.plot.html_attributes["aria-label"]


def test_the_page_can_say_how_heights_are_drawn():
    _, run = made(Width.NARROW)
    show(run, case("mill-pond"))
    assert run.factor == 2


def test_a_wider_frame_is_drawn_for():
    _, run = made()
    show(run, case("mill-pond-long-way"))
    ground = source_with(run, "xs", "fill")
    assert max(max(xs) for xs in ground.data["xs"]) == RUN[Width.WIDE].width
    run._measured("inner_width", RUN[Width.WIDE].width, 1000)
    assert max(max(xs) for xs in ground.data["xs"]) == 1000
    assert run.plot.x_range.end == 1000


def test_numbers_in_lists_are_finite():
    _, run = made()
    for name in NAMES:
        show(run, case(name))
        for renderer in run.plot.renderers:
            for column in renderer.data_source.data.values():
                for item in column:
                    for value in item if isinstance(item, list) else [item]:
                        assert not isinstance(value, float) or np.isfinite(value)
