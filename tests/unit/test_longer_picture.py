"""The picture of the longer hose: geometry, words that lie on nothing, and the figure that shows them."""

from itertools import pairwise, product
from typing import Any

import numpy as np
import pytest

from curvelab.figures import theme
from curvelab.figures.longer import LongerPicture
from curvelab.layout.labels import Box
from curvelab.layout.longer import (
    LONGER,
    NAME_PX,
    LongerScene,
    LongerWords,
    end_names,
    longer_names,
    longer_scene,
)
from curvelab.layout.sizes import Width
from curvelab.layout.text import width_px
from curvelab.model.catalogue import default_catalogue
from curvelab.report.against import see
from curvelab.report.chalk_pictures import kept_points
from curvelab.report.longer import longer_said
from curvelab.studies.longer import Longer, longer
from curvelab.studies.sizes import in_sizes
from curvelab.studies.solve import solve
from curvelab.units import System

CATALOGUE = default_catalogue()
GPM = 3.785411784e-3 / 60
FLOWING = sorted(name for name, setup in CATALOGUE.setups.items() if longer(setup).flows)
EACH = list(product(FLOWING, (System.US, System.METRIC), Width))


def studied(job: str, system: System = System.US) -> tuple[Longer, LongerWords]:
    found = longer(CATALOGUE.setups[job].with_("units", str(system)))
    words = longer_said(found).picture
    assert words is not None
    return found, words


def frame(width: Width) -> tuple[float, float]:
    return float(LONGER[width].width), float(LONGER[width].height)


def scene_of(job: str, system: System, width: Width) -> tuple[LongerScene, LongerWords]:
    found, words = studied(job, system)
    return longer_scene(found, width, frame(width)), words


@pytest.mark.parametrize(("job", "system", "width"), EACH)
def test_words_lie_in_the_frame_and_on_no_other(job: str, system: System, width: Width):
    scene, words = scene_of(job, system, width)
    named = longer_names(scene, words, frame(width))
    boxes = [place.box for place in named.places.values()]
    across, up = frame(width)
    for at, box in enumerate(boxes):
        assert 0.0 <= box.left < box.right <= across
        assert 0.0 <= box.bottom < box.top <= up
        assert not any(box.overlaps(other) for other in boxes[:at])
    assert set(named.omitted) <= {"reach", "twice", "guess"}, "these stand in the table too; the rest must have a place"


@pytest.mark.parametrize(("job", "system", "width"), EACH)
def test_words_lie_on_no_curve(job: str, system: System, width: Width):
    scene, words = scene_of(job, system, width)
    across, up = frame(width)
    for name, place in longer_names(scene, words, frame(width)).places.items():
        if name == "reach":
            continue
        for line in scene.lines:
            x, y = line.length / scene.across.end * across, line.flow / scene.up.end * up
            fine = np.linspace(x[0], x[-1], 2000)
            on = np.interp(fine, x[np.isfinite(y)], y[np.isfinite(y)], right=np.nan)
            inside = (fine > place.box.left + 1) & (fine < place.box.right - 1)
            inside &= (on > place.box.bottom + 1) & (on < place.box.top - 1)
            assert not inside.any(), name


@pytest.mark.parametrize(("job", "system", "width"), EACH)
def test_sizes_at_the_right_end_stand_apart_and_in_the_border(job: str, system: System, width: Width):
    scene, words = scene_of(job, system, width)
    names = end_names(scene, words, frame(width)[1])
    heights = sorted(name.stands for name in names)
    assert all(high - low >= NAME_PX - 1e-6 for low, high in pairwise(heights))
    assert all(0.0 < name.stands < frame(width)[1] for name in names)
    assert all(width_px(name.text, 12.5, bold=name.now) + 8.0 <= LONGER[width].names + 2.0 for name in names)
    assert [name.text for name in names if name.now] == [
        text for line, text in zip(scene.lines, words.sizes, strict=True) if line.now and np.isfinite(line.flow[-1])
    ]


def test_scene_is_in_the_units_of_the_page():
    scene, _ = scene_of("mill-pond", System.US, Width.WIDE)
    assert (scene.across.end, scene.unit) == (pytest.approx(1000.0), "ft")
    assert scene.point == (pytest.approx(300.0), pytest.approx(186.2, abs=0.5))
    assert scene.limit == pytest.approx(230, abs=1)
    metric, _ = scene_of("mill-pond", System.METRIC, Width.WIDE)
    assert (metric.across.end, metric.unit) == (pytest.approx(300.0), "m")
    assert metric.point is not None
    assert metric.point == (pytest.approx(91.44), pytest.approx(186.2 * 3.785411784, rel=0.003))


def test_thicker_line_is_the_bigger_bore():
    scene, _ = scene_of("mill-pond", System.US, Width.WIDE)
    widths = [line.width_px for line in scene.lines]
    assert widths == sorted(widths)
    assert len(set(widths)) == len(widths)


def test_limit_far_above_every_flow_is_left_out():
    """So that small flows are not pressed flat under an empty picture."""
    found = longer(CATALOGUE.setups["mill-pond"].with_("pump.throttle", "0.72"))
    most = float(np.nanmax(found.flow_m3_s))
    assert found.limit_m3_s is not None
    assert found.limit_m3_s > 2.0 * most
    scene = longer_scene(found, Width.WIDE, frame(Width.WIDE))
    assert (scene.limit, scene.held) == (None, None)
    assert scene.up.end <= 1.3 * most / GPM


def drawn(picture: LongerPicture) -> dict[str, tuple[float, str]]:
    """Width and colour of every curve that is drawn, by the length of what its source holds."""
    source = picture._source.data
    return {
        renderer.glyph.y: (renderer.glyph.line_width, renderer.glyph.line_color)
        for renderer in picture._lines
        if np.isfinite(source[renderer.glyph.y]).any()
    }


@pytest.mark.parametrize("width", Width)
def test_figure_holds_the_curves_and_says_what_they_show(width: Width):
    found, words = studied("mill-pond")
    picture = LongerPicture(width)
    picture.update(found, words)
    columns: Any = picture._source.data
    assert len({len(column) for column in columns.values()}) == 1
    colours = [colour for _, colour in drawn(picture).values()]
    assert colours == [theme.OTHER_HOSE] * 4 + [theme.PIPE], "the present one lies over the others"
    assert picture.plot.html_attributes["aria-label"] == words.label
    assert picture.plot.html_attributes["role"] == "img"
    assert picture._held.visible
    assert picture._held.bottom == pytest.approx(230, abs=1)
    assert not picture._guess.visible


def test_figure_changes_in_place_between_all_setups():
    picture = LongerPicture(Width.MEDIUM)
    renderers = list(picture.plot.renderers)
    for job, system in product(FLOWING, System):
        picture.update(*studied(job, system))
        sizes = len(longer(CATALOGUE.setups[job]).sizes)
        assert len(drawn(picture)) <= sizes
    assert picture.plot.renderers == renderers


def test_guess_is_a_band_and_past_it_hatch():
    picture = LongerPicture(Width.WIDE)
    picture.update(*studied("cellar"))
    assert picture._guess.visible
    assert picture._held.visible
    assert picture._held.bottom == pytest.approx(picture._guess.top)


def test_browser_tells_the_width_and_words_find_new_places():
    picture = LongerPicture(Width.WIDE)
    picture.update(*studied("mill-pond"))
    before = list(picture._texts._rows)
    picture._measured("inner_width", 748, 500)
    assert picture.width_px == 500.0
    assert picture._across.end == pytest.approx(1000.0)
    assert list(picture._texts._rows) != before


def kept_of(job: str, system: System, *lengths: str) -> Any:
    """The neighbouring sizes, kept to compare, at several lengths of hose."""
    setup = CATALOGUE.setups[job].with_("units", str(system))
    others = [sized.setup for sized in in_sizes(setup, CATALOGUE).sized if not sized.now][:3]
    others = [
        other.with_("discharge.leg.0.length", length) for other, length in zip(others, lengths, strict=False)
    ] or others
    seen = [see(other, solve(other, CATALOGUE), system) for other in others]
    return kept_points(see(setup, solve(setup, CATALOGUE), system), list(zip("ABC", seen, strict=False)))


@pytest.mark.parametrize("system", System)
def test_what_is_kept_lies_on_the_curve_of_its_size(system: System):
    found, _ = studied("mill-pond", system)
    kept = kept_of("mill-pond", system)
    scene = longer_scene(found, Width.WIDE, frame(Width.WIDE), kept)
    assert [one.letter for one, _, _ in scene.kept] == ["A", "B", "C"]
    others = [line for line, sized in zip(scene.lines, found.sizes, strict=True) if not sized.now]
    for (_, x, y), line in zip(scene.kept, others, strict=False):
        assert y == pytest.approx(np.interp(x, line.length, line.flow), rel=0.01)


@pytest.mark.parametrize(("job", "system", "width"), EACH)
def test_names_of_what_is_kept_lie_on_nothing(job: str, system: System, width: Width):
    found, words = studied(job, system)
    scene = longer_scene(found, width, frame(width), kept_of(job, system))
    boxes = [place.box for place in longer_names(scene, words, frame(width)).places.values()]
    across, up = frame(width)
    for at, box in enumerate(boxes):
        assert 0.0 <= box.left < box.right <= across
        assert 0.0 <= box.bottom < box.top <= up
        assert not any(box.overlaps(other) for other in boxes[:at])
        for _, x, y in scene.kept:
            ring = Box(x / scene.across.end * across - 8.0, y / scene.up.end * up - 8.0, 0.0, 0.0)
            ring = Box(ring.left, ring.bottom, ring.left + 16.0, ring.bottom + 16.0)
            assert not box.overlaps(ring)


@pytest.mark.parametrize(("size", "system", "width"), list(product(("2 in", "2½ in"), System, Width)))
def test_no_name_stands_beside_the_dot_of_another_and_farther_from_its_own(size: str, system: System, width: Width):
    setup = CATALOGUE.setups["mill-pond"].with_("units", str(system))
    now = setup.with_("discharge.leg.0.size", size)
    found = longer(now)
    words = longer_said(found).picture
    assert words is not None
    sizes = [other for other in ("3 in", "2½ in") if other != size]
    others = [setup.with_("discharge.leg.0.size", other) for other in sizes]
    seen = [see(other, solve(other, CATALOGUE), system) for other in others]
    kept = kept_points(see(now, solve(now, CATALOGUE), system), list(zip("AB", seen, strict=False)))
    scene = longer_scene(found, width, frame(width), kept)
    across, up = frame(width)
    dots = {f"kept-{one.letter}": (x, y) for one, x, y in scene.kept}
    if scene.point is not None:
        dots["now"] = scene.point
    dots = {name: (x / scene.across.end * across, y / scene.up.end * up) for name, (x, y) in dots.items()}
    places = longer_names(scene, words, frame(width)).places
    for name in dots.keys() & places.keys():
        away = {other: _away(places[name].box, *dot) for other, dot in dots.items()}
        assert away[name] <= min(away.values()) + 1.0 or min(away.values()) > 40.0, (name, away)


def _away(box: Box, x: float, y: float) -> float:
    """From a box to a dot. [px]"""
    return float(np.hypot(max(box.left - x, 0.0, x - box.right), max(box.bottom - y, 0.0, y - box.top)))


def test_what_is_kept_beyond_the_axes_is_left_out_and_heard_where_it_is_in():
    found, words = studied("mill-pond")
    near, far = (kept_of("mill-pond", System.US, length)[0] for length in ("300 ft", "1500 ft"))
    assert longer_scene(found, Width.WIDE, frame(Width.WIDE), [near, far]).kept[0][0] == near
    assert len(longer_scene(found, Width.WIDE, frame(Width.WIDE), [near, far]).kept) == 1
    picture = LongerPicture(Width.WIDE)
    picture.keep([near])
    picture.update(found, words)
    assert "Kept, in chalk: A, 1½ in, 39 gal/min at 300 ft." in picture.plot.html_attributes["aria-label"]
    picture.keep([])
    assert "Kept" not in picture.plot.html_attributes["aria-label"]
