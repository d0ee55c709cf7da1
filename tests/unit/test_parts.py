"""Parts of the pictures: where they lie is where they are drawn, and what is said of them is what the sums say."""

import math
import re
from functools import lru_cache

import numpy as np
import pytest

from curvelab import load_setup, solve
from curvelab.layout.bench_grips import Bearings
from curvelab.layout.chart_names import chart_names
from curvelab.layout.ledger import columns
from curvelab.layout.run import drawing
from curvelab.layout.run_names import run_names
from curvelab.layout.shapes import Shape, bench_shapes, run_shapes
from curvelab.layout.sizes import BENCH, RUN, Width
from curvelab.layout.strip_names import strip_names
from curvelab.model.catalogue import default_catalogue
from curvelab.report.parts import bench_list, part_said, run_list
from curvelab.report.pointed import PartSaid, Seen
from curvelab.report.rounded import rounded
from curvelab.studies.solve import solved
from curvelab.units import System
from tests.unit.picture_cases import NAMES, SETUPS, STATES, case, scene_of

CATALOGUE = default_catalogue()


@lru_cache
def seen(name: str, system: System = System.US) -> Seen:
    setup = load_setup(SETUPS / f"{name}.toml").with_("units", str(system))
    one = solved(setup, CATALOGUE)
    return Seen(rounded(one.result, system), setup, one.run, "Ferrow 3", CATALOGUE)


def said(key: str, name: str, system: System = System.US) -> PartSaid:
    found = part_said(key, seen(name, system))
    assert found is not None
    return found


@lru_cache
def shapes(name: str, width: Width) -> tuple[tuple[Shape, ...], tuple[Shape, ...]]:
    """Of bench and run."""
    one, size, room = case(name), BENCH[width], RUN[width]
    at = Bearings(scene_of(one, width=width), size, float(size.plot))
    named = [names(at.scene, one.bench, size=size, plot_px=at.plot_px) for names in (chart_names, strip_names)]
    bench = bench_shapes(at, one.bench.ledger, one.bench.budget, (named[0].places, named[1].places))
    shown = drawing(one.result, one.run, size=room, width_px=float(room.width), system=System.US)
    words = run_names(shown, one.words, width_px=float(room.width), height_px=float(room.height))
    return bench, run_shapes(shown, float(room.height), words.places)


def box(shape: Shape) -> tuple[float, float, float, float]:
    x, y = np.array(shape.corners[::2]), np.array(shape.corners[1::2])
    return float(x.min()), float(y.min()), float(x.max()), float(y.max())


# --- where they lie


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("width", Width)
def test_every_shape_lies_on_its_picture_and_has_words(name: str, width: Width):
    size, room = BENCH[width], RUN[width]
    high = size.heading + size.cap + size.chart + size.foot + size.gutter + size.strip
    bench, run = shapes(name, width)
    for found, right, bottom, titled in (
        (bench, size.axis + size.plot + size.ledger, high, bench_list),
        (run, room.width, room.height, run_list),
    ):
        known = {key for key, _ in titled(seen(name))}
        assert {shape.key for shape in found} & known
        for shape in found:
            left, top, far, low = box(shape)
            assert -1.0 <= left <= far <= right + 1.0, shape
            assert -8.0 <= top <= low <= bottom + 8.0, shape


@pytest.mark.parametrize("width", Width)
def test_a_slab_is_where_its_column_stands_and_as_high_as_its_head(width: Width):
    one, size = case("mill-pond"), BENCH[width]
    scene = scene_of(one, width=width)
    live = columns(size, 0)[-1]
    left = size.axis + size.plot + live.left
    slabs = {s.key: box(s) for s in shapes("mill-pond", width)[0] if box(s)[0] == pytest.approx(left)}
    axis = scene.axes.head
    for part in one.result.ledger:
        _, top, right, bottom = slabs[part.item]
        assert right == pytest.approx(size.axis + size.plot + live.right)
        if part.item not in ("lift", "suction"):  # the budget's stand in the same place further down
            tall = scene.units.head.from_si(part.head_m) * size.chart / (axis.end - axis.low)
            assert bottom - top == pytest.approx(tall, abs=0.01)


def test_a_band_ends_at_the_operating_point():
    one = case("mill-pond")
    size = BENCH[Width.WIDE]
    scene = scene_of(one)
    assert scene.point is not None
    x = size.axis + scene.point[0] * size.plot / scene.axes.flow.end
    bands = [s for s in shapes("mill-pond", Width.WIDE)[0] if s.kind == "area" and len(s.corners) == 36]
    ends = [box(band)[2] for band in bands if band.key in ("rise", "discharge")]
    assert ends == pytest.approx([x] * len(ends))
    assert len(ends) == 2


# --- what is said


@pytest.mark.parametrize("name", NAMES)
@pytest.mark.parametrize("system", System)
def test_everything_that_is_listed_is_explained_in_few_words(name: str, system: System):
    for listed in (bench_list, run_list):
        rows = list(listed(seen(name, system)))
        assert len({key for key, _ in rows}) == len(rows)
        for key, title in rows:
            part = said(key, name, system)
            assert part.title == title
            assert 10 < len(part.sentence) <= 160, part.sentence
            assert part.source


def test_titles_carry_the_figures_of_the_ledger():
    one = seen("mill-pond")
    titles = dict(bench_list(one))
    for item, figure in one.figures.ledger.items():
        assert titles[item].endswith(f" {figure}")
    assert titles["flow"] == "186 gal/min at 82.6 ft"
    assert titles["limit"].endswith("230 gal/min")


def reckoned(numbers: str) -> float:
    """A line of the sums, as a pocket calculator would have it."""
    text = numbers.replace("×", "*").replace("−", "-").replace("^", "**")
    assert re.fullmatch(r"[-+*/().\d\s]+", text), text
    return float(eval(text, {"__builtins__": {}}))  # noqa: S307 - digits and signs alone, as has just been seen


@pytest.mark.parametrize("name", STATES.values())
def test_numbers_come_to_what_stands_behind_them(name: str):
    count = 0
    for listed in (bench_list, run_list):
        for key, _ in listed(seen(name)):
            for line in said(key, name).formulas:
                if line.numbers and not re.search("[a-z]", line.numbers):
                    value = float(line.value.split(" ")[0].replace("−", "-"))
                    assert reckoned(line.numbers) == pytest.approx(value, rel=1e-4, abs=1e-5), (key, line)
                    count += 1
    assert count > 5


def test_the_loss_of_a_hose_follows_from_what_is_given_beside_it():
    """Darcy and Weisbach by hand, from the printed figures alone: f, L, D, K and v in feet and inches."""
    part = said("discharge", "mill-pond")
    given = {symbol: float(text.split(" ")[0]) for symbol, text in part.given}
    assert set(given) == {"f", "L", "D", "K", "v"}
    loss = (given["f"] * given["L"] / (given["D"] / 12.0) + given["K"]) * given["v"] ** 2 / (2 * 32.174)
    shown = float(part.title.rsplit(" ", 2)[1])
    assert loss == pytest.approx(shown, rel=0.03)


def test_a_fluid_at_rest_loses_nothing_that_needs_a_word():
    keys = dict(bench_list(seen("ridge-tank")))
    assert "discharge" not in keys
    assert keys["short"].startswith("Short ")
    result = solve(load_setup(SETUPS / "ridge-tank.toml"))
    assert result.shutoff_head_m is not None
    missing = (result.start_head_m - result.shutoff_head_m) / 0.3048
    assert float(keys["short"].split(" ")[1]) == pytest.approx(missing, abs=0.6)


def test_units_are_those_of_the_page():
    for key, _ in bench_list(seen("mill-pond", System.METRIC)):
        part = said(key, "mill-pond", System.METRIC)
        text = " ".join([part.title, part.sentence, *(value for _, value in part.given)])
        assert not re.search(r"\d (ft|gal|psi|inHg|in)\b", text), text


@pytest.mark.parametrize("key", ["moon", "point.99", "point.", "", "flow.x"])
def test_of_what_is_not_there_nothing_is_said(key: str):
    assert part_said(key, seen("mill-pond")) is None
    assert math.isfinite(seen("mill-pond").figures.total.number)


def test_what_hose_could_see_is_said_to_leave_the_lift_out():
    """By hand: 98 ft held with no flow, and the dip 24 ft under the pump; 12 ft of lift would take 5 psi off."""
    result = seen("mill-pond").figures.result
    worst = max(stretch.pressure_pa for stretch in result.over_rated)
    assert worst == pytest.approx(999.4 * 9.80665 * (98 + 24) * 0.3048, rel=1e-3)
    said_of = said("over", "mill-pond")
    assert "full throttle" in said_of.sentence
    assert "lift up to the pump isn’t counted" in said_of.sentence
    assert "lift" not in said_of.formulas[0].formula
    assert "not counted: the lift" in CATALOGUE.cautions["rating"].text
