"""Words can be read on every ground they stand on: contrast by WCAG 2.2's own formula, 4.5 for text and 3 for marks."""

import re
from collections.abc import Iterator
from pathlib import Path

import pytest

import curvelab.app
from curvelab.app.theme import custom_properties
from curvelab.figures import theme
from curvelab.layout.placing import TYPES

TEXT, MARK = 4.5, 3.0
"""WCAG 2.2, 1.4.3 (text under 18 pt, or 14 pt bold) and 1.4.11 (parts of controls and pictures)."""
STATIC = Path(curvelab.app.__file__).parent / "static"
PRINTED = {
    "INK": (14.4, 13.1),
    "INK_2": (7.5, 6.8),
    "PIPE": (6.0, 5.5),
    "PUMP": (6.9, 6.3),
    "SUCT": (7.0, 6.4),
    "ALERT": (7.7, 7.0),
    "CHALK": (6.6, 6.0),
}
"""Contrast on sheet and on paper, as the design's table of colours prints it."""
BANDS = ("BAND_LIFT", "BAND_RISE", "BAND_SUCTION", "BAND_DISCHARGE", "BAND_LEAVING", "BAND_PRESSURE")
GROUNDS = {
    "chart": ("SHEET", "MARGIN", "HATCH_GROUND", *BANDS),
    "strip": ("SHEET", "MARGIN", "HATCH_GROUND", "BAND_LIFT", "BAND_SUCTION"),
    "run": ("SHEET", "EARTH", "WATER", "PRESSURE_TINT", "HATCH_GROUND"),
}
"""What is drawn under the words of each picture."""
ON_STRIP = {"air", "air-note", "npsha", "npshr", "spare", "limit", "prime"}
ON_RUN = {
    *("over", "over-note", "hardest", "pressure", "place", "place-note", "vacuum", "vacuum-note", "lift", "water"),
    "stands",
}
MARKS = {
    "SHEET": ("PIPE", "PUMP", "SUCT", "ALERT", "CHALK", "INK", "INK_2", "OTHER_HOSE", "WATER_LINE", "EARTH_LINE"),
    "PAPER": ("PIPE", "PUMP", "SUCT", "ALERT", "CHALK", "OTHER_HOSE", "WATER_LINE"),
    "HATCH_GROUND": ("PIPE", "PUMP", "SUCT", "CHALK", "OTHER_HOSE", "INK"),
    "MARGIN": ("PIPE", "PUMP", "SUCT", "CHALK", "INK"),
    "BAND_LIFT": ("PIPE", "PUMP", "SUCT", "CHALK", "INK"),
    "BAND_SUCTION": ("PIPE", "PUMP", "SUCT", "CHALK", "INK"),
    "EARTH": ("PIPE", "SUCT", "ALERT", "PUMP", "INK", "EARTH_LINE"),
    "WATER": ("PIPE", "SUCT", "INK", "WATER_LINE"),
    "ESTIMATE": ("PUMP", "ALERT", "INK_2"),
}
"""Lines, points and the ring of focus (pipe), by what they are drawn on."""


def luminance(colour: str) -> float:
    """Relative luminance of sRGB, WCAG 2.2's definition of it."""
    digits = colour.lstrip("#")
    digits = "".join(2 * digit for digit in digits) if len(digits) == 3 else digits
    shares = [int(digits[at : at + 2], 16) / 255.0 for at in (0, 2, 4)]
    red, green, blue = (s / 12.92 if s <= 0.04045 else ((s + 0.055) / 1.055) ** 2.4 for s in shares)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    dark, light = sorted((luminance(one), luminance(other)))
    return (light + 0.05) / (dark + 0.05)


def token(name: str) -> str:
    return getattr(theme, name)


# --- the formula


def test_black_on_white_is_the_greatest_there_is():
    assert contrast("#000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777", "#777777") == pytest.approx(1.0)


@pytest.mark.parametrize("name", PRINTED)
def test_the_colours_have_the_contrast_that_the_design_prints(name: str):
    for ground, printed in zip(("SHEET", "PAPER"), PRINTED[name], strict=True):
        assert contrast(token(name), token(ground)) == pytest.approx(printed, abs=0.06)


# --- the pictures


@pytest.mark.parametrize("kind", sorted(theme.TEXT_COLOUR))
def test_words_of_a_picture_on_all_that_is_drawn_under_them(kind: str):
    picture = "strip" if kind in ON_STRIP else "run" if kind in ON_RUN else "chart"
    for ground in GROUNDS[picture]:
        assert contrast(theme.TEXT_COLOUR[kind], token(ground)) >= TEXT, f"{kind} on {ground}"


def test_every_kind_of_words_has_its_colour():
    assert set(theme.TEXT_COLOUR) == set(TYPES) - {"scale"}, "the scale's figures are in ink-2"
    assert set(theme.TEXT_COLOUR) >= ON_STRIP | ON_RUN
    assert contrast(theme.INK_2, theme.EARTH) >= TEXT


@pytest.mark.parametrize("item", sorted(theme.SLAB_FILL))
def test_figures_in_the_columns(item: str):
    assert contrast(theme.SLAB_TEXT.get(item, theme.INK), theme.SLAB_FILL[item]) >= TEXT


@pytest.mark.parametrize("fill", sorted({*theme.CHALK_FILL.values(), theme.SHEET}))
def test_figures_in_chalked_columns(fill: str):
    assert contrast(theme.CHALK, fill) >= TEXT


def test_names_beside_the_columns():
    for colour in (theme.PIPE, theme.INK, *theme.NAME_COLOUR.values(), *theme.FIGURE_COLOUR.values()):
        assert contrast(colour, theme.SHEET) >= TEXT


@pytest.mark.parametrize(("words", "ground"), [("INK_2", "PAPER"), ("SUCT_TEXT", "HATCH_GROUND"), ("SHEET", "INK")])
def test_other_words_of_the_pictures(words: str, ground: str):
    """Ticks, what stands past the suction's limit, and the flow's pill."""
    assert contrast(token(words), token(ground)) >= TEXT


@pytest.mark.parametrize("ground", sorted(MARKS))
def test_lines_and_the_ring_of_focus_part_from_what_is_under_them(ground: str):
    for mark in MARKS[ground]:
        assert contrast(token(mark), token(ground)) >= MARK, f"{mark} on {ground}"


def test_neighbours_in_a_column_part_without_hue():
    """Lift and rise, suction and discharge stand on each other: light between dark, or an edge in the sheet's white."""
    assert contrast(theme.LIFT, theme.RISE) >= MARK
    for item in ("lift", "suction", "discharge", "pressure", "needs", "vapour"):
        assert contrast(theme.SLAB_FILL[item], theme.SHEET) >= MARK, item


# --- the page


def names() -> dict[str, str]:
    """Custom properties of the page, those of the stylesheets included."""
    text = custom_properties() + sheet("curvelab.css")
    return dict(re.findall(r"--([\w-]+):\s*(#[0-9a-f]{3,6})\b", text))


def sheet(name: str) -> str:
    return re.sub(r"/\*.*?\*/", "", (STATIC / name).read_text(encoding="utf-8"), flags=re.DOTALL)


def colours_in(value: str) -> list[str]:
    known = names()
    found = re.findall(r"#[0-9a-f]{3,6}\b|var\(--[\w-]+\)", value)
    return [one if one.startswith("#") else known[one[6:-1]] for one in found if one[0] == "#" or one[6:-1] in known]


def rules() -> Iterator[tuple[str, str, dict[str, str]]]:
    """File, selector and declarations of every rule."""
    for path in sorted(STATIC.glob("*.css")):
        for selector, body in re.findall(r"([^{}]+)\{([^{}]*)\}", sheet(path.name)):
            declared = dict(re.findall(r"(?:^|;)\s*([\w-]+)\s*:\s*([^;]+)", body))
            yield path.name, " ".join(selector.split()), declared


PAGE = [
    pytest.param(declared["color"], declared.get("background", declared.get("background-color", "")), id=f"{selector}")
    for _, selector, declared in rules()
    if colours_in(declared.get("color", ""))
]


@pytest.mark.parametrize(("words", "ground"), PAGE)
def test_words_of_the_page_on_their_ground(words: str, ground: str):
    """On their own ground where a rule gives one, else on sheet and on paper; white words always have their own."""
    [colour] = colours_in(words)
    white = contrast(colour, theme.SHEET) < 1.5
    grounds = colours_in(ground) or ([theme.INK] if white else [theme.SHEET, theme.PAPER])
    assert all(contrast(colour, under) >= TEXT for under in grounds)


def test_ink_on_every_ground_that_a_rule_gives():
    """Words take ink, or ink-2 in notes, where nothing else is said. Bars and thumbs hold none."""
    for name, selector, declared in rules():
        grounds = colours_in(declared.get("background", declared.get("background-color", "")))
        if "color" in declared or re.search(r"::|\bi\b|\.bar|\.pattern|track|backdrop", selector):
            continue
        for ground in grounds:
            if luminance(ground) > 0.5:
                assert contrast(theme.INK_2, ground) >= TEXT, f"{selector} in {name}"


def test_edges_of_controls_and_the_ring_of_focus():
    known = names()
    for ground in (theme.SHEET, theme.PAPER, known["ground"]):
        assert contrast(known["edge"], ground) >= MARK
        assert contrast(theme.PIPE, ground) >= MARK
    rings = [declared["outline"] for _, selector, declared in rules() if ":focus" in selector and "outline" in declared]
    assert rings
    for ring in rings:
        for colour in colours_in(ring):
            assert contrast(colour, theme.SHEET) >= MARK


@pytest.mark.parametrize("tone", ["WATER_LINE", "SUCT", "PUMP", "PIPE"])
def test_sliders_and_stations_in_their_tone(tone: str):
    """A slider's thumb is white in its tone, on paper, on sheet and on the track's own hairline."""
    for ground in (theme.SHEET, theme.PAPER, theme.HAIRLINE):
        assert contrast(token(tone), ground) >= MARK
