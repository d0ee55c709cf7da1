"""Chalked setups on the bench: at every setting each has its place, lies on the axes, and is sent only once."""

import itertools
from dataclasses import dataclass
from functools import lru_cache
from typing import Any

import numpy as np
import pytest

from curvelab import load_setup
from curvelab.figures import Bench
from curvelab.figures.theme import CHALK
from curvelab.layout.chart_names import chart_names
from curvelab.layout.ghosts import Chalked
from curvelab.layout.gutter import PILL_AWAY_PX, PILL_PX, pill_places
from curvelab.layout.labels import Box
from curvelab.layout.ledger import columns, ribbons
from curvelab.layout.placing import Frame
from curvelab.layout.scene import Scene, scene
from curvelab.layout.sizes import BENCH, Width
from curvelab.layout.stacking import GHOST_TYPE_PX, NAME_TYPE_PX, TOTAL_TYPE_PX, column_names, ghost_texts
from curvelab.layout.text import width_px
from curvelab.layout.words import BenchWords
from curvelab.model.chalk import LETTERS
from curvelab.report.against import Seen, see
from curvelab.report.chalk_pictures import with_chalk
from curvelab.studies.result import State
from curvelab.studies.solve import solve
from curvelab.units import Quantity, System, display_unit
from tests.unit.picture_cases import NAMES, SETUPS, STATES, SWEEP, case, frames_of
from tests.unit.test_figures_bench import columns_sent, events_of, in_document, plot, rows_of, size_of
from tests.unit.test_layout_names import chart_lines, no_box_on_a_line, no_two_overlap

Spec = tuple[str, tuple[tuple[str, str], ...]]

SIZES: tuple[Spec, ...] = tuple(("mill-pond", (("discharge.leg.0.size", size),)) for size in ("2 in", "2½ in", "4 in"))
TROUBLED: tuple[Spec, ...] = tuple((STATES[name], ()) for name in ("no-lift", "no-prime", "cavitating"))
NEAR: tuple[Spec, ...] = tuple(("mill-pond", (("discharge.leg.0.fittings.elbow-90", n),)) for n in (1, 2, 3))  # type: ignore[misc] - a count
OTHERS: tuple[Spec, ...] = (("hill-pond", ()), ("two-hoses", ()), ("siphon", ()))
SETS = {"sizes": SIZES, "troubled": TROUBLED, "near": NEAR, "others": OTHERS}
CASES: list[Spec] = [*((name, ()) for name in NAMES), *SWEEP]
FT, GPM = display_unit(Quantity.HEAD, System.US), display_unit(Quantity.FLOW, System.US)


@dataclass(frozen=True)
class Compared:
    """A setup with others chalked beside it."""

    result: Any
    curves: Any
    words: BenchWords
    chalked: list[Chalked]


@lru_cache(maxsize=512)
def seen(spec: Spec, system: System) -> Seen:
    setup = load_setup(SETUPS / f"{spec[0]}.toml").with_("units", str(system))
    for field, value in spec[1]:
        setup = setup.with_(field, value)
    return see(setup, case(spec[0], *spec[1], system=system).result, system)


def compared(now: Spec, others: tuple[Spec, ...], system: System = System.US) -> Compared:
    one = case(now[0], *now[1], system=system)
    kept = [
        (letter, seen(other, system), case(other[0], *other[1], system=system).curves)
        for letter, other in zip(LETTERS, others, strict=False)
    ]
    words = with_chalk(one.bench, seen(now, system), kept)
    return Compared(one.result, one.curves, words, [Chalked(x, then.result, curves) for x, then, curves in kept])


def shown(one: Compared, width: Width, system: System = System.US) -> Scene:
    size = BENCH[width]
    return scene(
        one.result,
        one.curves,
        system=system,
        width=width,
        size=size,
        plot_px=float(size.plot),
        chalked=one.chalked,
    )


def ghost_lines(there: Scene, frame: Frame) -> list[tuple[Any, Any]]:
    lines = [(ghost.flow, ghost.head) for ghost in there.ghosts]
    lines += [(ghost.pump_flow, ghost.pump_head) for ghost in there.ghosts if ghost.pump_flow.size]
    return [(frame.x(flow), frame.y(head)) for flow, head in lines]


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize(("width", "system"), [*((width, System.US) for width in Width), (Width.WIDE, System.METRIC)])
def test_no_label_lies_on_a_curve_a_ring_or_another_label(name: str, width: Width, system: System):
    size = BENCH[width]
    for number, now in enumerate(CASES):
        for count in (1, 2, 3) if number % 5 == 0 else (3,):
            one = compared(now, SETS[name][:count], system)
            there = shown(one, width, system)
            chart, _ = frames_of(there, width)
            where = f"{now} with {count} of {name}, {width} {system}"
            named = chart_names(there, one.words, size=size, plot_px=float(size.plot))
            no_two_overlap(named, chart.box, where)
            no_box_on_a_line(named, [*chart_lines(there, chart), *ghost_lines(there, chart)], where)
            for ghost in there.ghosts:
                x, y = float(chart.x(ghost.ring[0])), float(chart.y(ghost.ring[1]))
                ring = Box(x - 8.0, y - 8.0, x + 8.0, y + 8.0)
                assert not any(placed.box.overlaps(ring) for placed in named.places.values()), where


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize("width", Width)
def test_all_that_is_chalked_lies_on_the_axes(name: str, width: Width):
    for now in CASES:
        there = shown(compared(now, SETS[name]), width)
        axes = there.axes
        assert [ghost.letter for ghost in there.ghosts] == list(LETTERS)
        for ghost in there.ghosts:
            for flow, head in (ghost.ring, *((ghost.point,) if ghost.point else ())):
                assert 0.0 <= flow <= axes.flow.end, now
                assert axes.head.low <= head <= axes.head.end, now
            for slab in ghost.ledger:
                assert axes.head.low - 1e-9 <= slab.bottom <= slab.top <= axes.head.end * (1.0 + 1e-9), now
            for slab in ghost.budget:
                assert slab.top <= axes.suction.end * (1.0 + 1e-9), now
            assert np.isfinite(ghost.flow).all()
            assert np.isfinite(ghost.head).all()
            assert np.isfinite(ghost.pump_head).all()


@pytest.mark.parametrize("name", SETS)
@pytest.mark.parametrize(("width", "system"), [*((width, System.US) for width in Width), (Width.MEDIUM, System.METRIC)])
def test_columns_and_their_words_stay_in_their_frame(name: str, width: Width, system: System):
    size = BENCH[width]
    for now in CASES[::3]:
        for count in (1, 2, 3):
            one = compared(now, SETS[name][:count], system)
            there = shown(one, width, system)
            *places, live = columns(size, count)
            axis, height = there.axes.head, float(size.chart)

            def to_px(value: float, axis: Any = axis, height: float = height) -> float:
                return (value - axis.low) / (axis.end - axis.low) * height

            room = live.right - places[-1].right
            live_words = column_names(
                there.ledger, one.words.ledger, column=live, size=size, to_px=to_px, height=height, room=room
            )
            for text in live_words.texts:
                sizes = {"total": (TOTAL_TYPE_PX, True), "note": (NAME_TYPE_PX, True)}
                type_px, bold = sizes.get(text.kind, (NAME_TYPE_PX, False))
                wide = width_px(text.text, type_px, bold=bold)
                left = text.x - (0.5 * wide if text.align == "center" else 0.0)
                assert left + wide <= size.ledger + 10.0, f"{text} with {count} of {name} beside {now}, {width}"
            for place, ghost, said in zip(places, there.ghosts, one.words.chalks, strict=True):
                for text in ghost_texts(
                    ghost.ledger, said.ledger, column=place, room=place.right - place.left, to_px=to_px, height=height
                ):
                    half = 0.5 * width_px(text.text, GHOST_TYPE_PX, bold=text.kind == "total")
                    assert place.left - 1.0 <= text.x - half
                    assert text.x + half <= place.right + 1.0
                    assert 0.0 <= text.y <= height


def test_the_mill_pond_beside_two_inches_says_all_there_is_to_say():
    one = compared(("mill-pond", ()), SIZES[:1])
    size = BENCH[Width.WIDE]
    named = chart_names(shown(one, Width.WIDE), one.words, size=size, plot_px=float(size.plot))
    assert named.omitted == ()
    texts = {text.text for text in named.texts}
    assert {"186 gal/min", "A: 2 in hose", "+105 gal/min"} <= texts
    assert one.words.chalks[0].note[0].startswith("81 gal/min at ")
    assert one.words.chalks[0].pill == "81"
    assert one.words.ledger.foot == ("186 gal/min", "now: 3 in")
    (noted,) = [part for part in one.words.ledger.parts if part.note]
    assert (noted.item, noted.note[0].endswith(" ft less than A")) == ("discharge", True)
    assert "Kept, in chalk: A, 2 in, 81 gal/min at" in one.words.chart_label


@pytest.mark.parametrize("name", SETS)
def test_each_ghost_is_the_setup_s_own_picture(name: str):
    """What is drawn of a chalked setup is what would be drawn of it alone."""
    for other in SETS[name]:
        one = case(other[0], *other[1])
        (ghost,) = shown(compared(("mill-pond", ()), (other,)), Width.WIDE).ghosts
        alone = scene(one.result, one.curves, system=System.US, width=Width.WIDE, size=BENCH[Width.WIDE], plot_px=632.0)
        known = FT.from_si(np.interp(GPM.to_si(ghost.flow), one.curves.flow_m3_s, one.curves.system_head_m))
        assert ghost.head == pytest.approx(known, rel=1e-6)
        result = solve(seen(other, System.US).setup)
        if result.flow_m3_s:
            assert result.head_m is not None
            assert ghost.point == pytest.approx((GPM.from_si(result.flow_m3_s), FT.from_si(result.head_m)), rel=1e-6)
        else:
            assert ghost.point is None
        for mine, theirs in ((ghost.ledger, alone.ledger), (ghost.budget, alone.budget)):
            assert [(s.item, s.helps) for s in mine] == [(s.item, s.helps) for s in theirs]
            assert [s.top for s in mine] == pytest.approx([s.top for s in theirs])


def test_another_pump_is_drawn_with_its_curve_and_the_same_pump_is_not():
    slower = ("mill-pond", (("pump.throttle", "0.8"),))
    there = shown(compared(("mill-pond", ()), (*SIZES[:1], slower)), Width.WIDE)
    assert there.ghosts[0].pump_flow.size == 0
    assert there.ghosts[1].pump_head[0] == pytest.approx(0.64 * float(there.lines.past_head[0]), rel=1e-3)


def test_the_gain_goes_from_the_first_that_gives_any():
    there = shown(compared(("mill-pond", ()), (TROUBLED[0], *SIZES[:1])), Width.WIDE)
    assert there.point is not None
    assert there.ghosts[1].point is not None
    assert there.gain == (there.ghosts[1].point[0], there.point[0])
    for state in ("no-lift", "no-prime"):
        assert shown(compared((STATES[state], ()), SIZES[:1]), Width.WIDE).gain is None


def test_one_that_gives_nothing_has_a_ring_and_says_so():
    one = compared(("mill-pond", ()), TROUBLED[:1])
    (ghost,) = shown(one, Width.WIDE).ghosts
    assert ghost.point is None
    assert one.words.chalks[0].note == ("gives none",)
    assert one.words.chalks[0].pill == ""
    assert one.words.gain == ()


def test_ribbons_join_like_parts():
    there = shown(compared(("mill-pond", ()), SIZES[:1]), Width.WIDE)
    then, now = columns(BENCH[Width.WIDE], 1)
    made = {row.item: row for row in ribbons((then, there.ghosts[0].ledger), (now, there.ledger))}
    assert set(made) == {slab.item for slab in there.ledger}
    for slab in there.ledger:
        assert made[slab.item].ys[1:3] == (slab.bottom, slab.top)
        assert made[slab.item].xs == (then.right, now.left, now.left, then.right)


@pytest.mark.parametrize(
    "flows", [(300.0, 310.0, 305.0), (300.0, 300.0, 300.0), (2.0, 300.0, 620.0), (280.0, 330.0, 305.0)]
)
def test_pills_never_lie_on_each_other(flows: tuple[float, ...]):
    live = [(305.0, "186")]
    chalked = [(flow, "134") for flow in flows]
    places = pill_places(live, chalked, 632.0)
    half = 0.5 * width_px("186", PILL_PX, bold=True) + 8.0  # the pill's own padding
    kept = [305.0, *(place for place in places if place is not None)]
    assert all(abs(a - b) >= 2.0 * half for a, b in itertools.combinations(kept, 2))
    assert all(place is None or abs(place - flow) <= PILL_AWAY_PX for place, flow in zip(places, flows, strict=True))


def test_pills_make_room_for_one_another_where_there_is_any():
    places = pill_places([(58.0, "81")], [(134.0, "186"), (96.0, "134")], 216.0)
    assert None not in places
    assert pill_places([(105.0, "122")], [(105.0, "134")], 216.0) == [None]


# --- the document


def test_a_pill_that_is_no_longer_shown_leaves_no_empty_edge():
    document, bench = in_document()
    show(bench, compared(("mill-pond", ()), SIZES[:2]))
    renderers = plot(document, "gutter").renderers
    (made,) = [each for each in renderers if getattr(each.glyph, "border_line_color", "") == CHALK]
    glyph, source = made.glyph, made.data_source
    assert [text for text in source.data["text"] if text] == ["81", "134"]
    show(bench, compared(("mill-pond", ()), ()))
    edges = source.data[glyph.border_line_alpha]
    assert [text for text in source.data["text"] if text] == []
    assert list(edges) == [0.0] * len(source.data["text"])


def show(bench: Bench, one: Compared, *, settled: bool = True) -> None:
    bench.update(one.result, one.curves, one.words, one.chalked, settled=settled)


def test_what_is_chalked_is_not_sent_again_with_a_change_of_the_present_setup():
    document, bench = in_document()
    show(bench, compared(("mill-pond", ()), SIZES[:2]))
    held = {id(source) for source in _chalk_sources(bench)}
    sent: set[int] = set()
    for length in ("310 ft", "320 ft", "330 ft"):
        other = compared(("mill-pond", (("discharge.leg.0.length", length),)), SIZES[:2])
        with events_of(document) as events:
            show(bench, other, settled=False)
        for event in events:
            sent |= {id(getattr(event, name, None)) for name in ("model", "column_source")}
        assert "live_head" in columns_sent(events)
    assert not sent & held


def _chalk_sources(bench: Bench) -> list[Any]:
    chart, sources = bench.chart._chalk, []
    sources += chart._curves.values()
    sources += [part._source for part in (chart._strokes, chart._rings, chart._letters)]
    for stack in (bench.ledger, bench.budget):
        sources += [stack._ghosts, stack._between._source, stack._chalk_texts._source, stack._chalk_strokes._source]
    return sources


def test_with_two_chalked_a_drag_is_a_small_message():
    sizes: list[int] = []
    document, bench = in_document()
    show(bench, compared(("mill-pond", ()), SIZES[:2]))
    for step in range(1, 30):
        one = compared(("mill-pond", (("suction.lift", f"{12 + 0.1 * step:.1f} ft"),)), SIZES[:2])
        with events_of(document) as events:
            show(bench, one, settled=False)
        sizes.append(size_of(events))
    print("bytes a step:", sorted(sizes)[len(sizes) // 2], "at most", max(sizes))
    assert sorted(sizes)[len(sizes) // 2] <= 11_000
    assert max(sizes) <= 14_500


@pytest.mark.parametrize("width", Width)
def test_wiping_leaves_nothing_behind(width: Width):
    document, bench = in_document(width)
    show(bench, compared(("mill-pond", ()), ()))
    before = rows_of(document)
    for count in (1, 3, 2):
        show(bench, compared(("mill-pond", ()), SIZES[:count]))
        show(bench, compared(("mill-pond", ()), TROUBLED[:count]))
    bench._places = ({}, {})
    show(bench, compared(("mill-pond", ()), ()))
    assert rows_of(document) == before


def test_every_source_keeps_columns_of_one_length():
    document, bench = in_document()
    for now, others in itertools.product(CASES[::6], SETS.values()):
        show(bench, compared(now, others), settled=False)
        for frame in ("chart", "ledger", "budget", "gutter", "spacer"):
            for renderer in plot(document, frame).renderers:
                data = renderer.data_source.data
                assert len({len(column) for column in data.values()}) == 1
                for column in data.values():
                    if isinstance(column, list):
                        assert all(not isinstance(item, float) or np.isfinite(item) for item in column)


@pytest.mark.parametrize("state", [State.NO_LIFT, State.NO_PRIME, State.CAVITATING])
def test_a_troubled_present_setup_beside_a_sound_one(state: State):
    one = compared((STATES[state.value], ()), (("mill-pond", ()),))
    there = shown(one, Width.WIDE)
    assert there.state is state
    assert there.ghosts[0].point is not None
    assert (there.gain is None) == (state is not State.CAVITATING)
