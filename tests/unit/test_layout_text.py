"""Widths of text and line breaks: against the fonts themselves, and by what a break must keep."""

import shutil
import subprocess

import pytest
from hypothesis import given
from hypothesis import strategies as st
from PIL import ImageFont

from curvelab.layout.text import ADVANCE, ADVANCE_BOLD, SLACK, UNITS_PER_EM, block_px, fitting, width_px, wrap

SENTENCE = (
    "Past 230 gal/min the air can’t push water in fast enough: it boils in the pump, "
    "which growls, loses flow and wears."
)
WORDS = st.lists(st.text("abcdefghij,.½", min_size=1, max_size=9), min_size=1, max_size=24)


def font_file(style: str) -> str:
    """Where the fonts lie that the table was read from."""
    if not shutil.which("fc-match"):
        pytest.skip("no fontconfig here")
    pattern = f"Liberation Sans:style={style}"
    found = subprocess.run(["fc-match", "-f", "%{family}|%{file}", pattern], capture_output=True, text=True, check=True)
    family, _, path = found.stdout.partition("|")
    if "Liberation Sans" not in family:
        pytest.skip("Liberation Sans is not installed")
    return path


@pytest.mark.parametrize(("style", "table"), [("Regular", ADVANCE), ("Bold", ADVANCE_BOLD)])
def test_the_table_is_the_font_s(style: str, table: dict[str, int]):
    font = ImageFont.truetype(font_file(style), UNITS_PER_EM, layout_engine=ImageFont.Layout.BASIC)
    assert {letter: round(font.getlength(letter)) for letter in table} == table


def test_digits_are_all_of_one_width():
    assert len({ADVANCE[digit] for digit in "0123456789"}) == 1


def test_width_grows_with_size_and_weight():
    assert width_px("water", 24.0) == pytest.approx(2.0 * width_px("water", 12.0))
    assert width_px("water", 12.0, bold=True) > width_px("water", 12.0)
    assert width_px("00", 10.0) == pytest.approx(2 * 1139 / 2048 * 10.0 * SLACK)


def test_an_unknown_letter_is_never_too_narrow():
    assert width_px("水", 10.0) >= width_px("W", 10.0)


@given(WORDS, st.integers(1, 6))
def test_a_break_loses_no_word_and_makes_no_line_too_many(words: list[str], lines: int):
    text = " ".join(words)
    broken = wrap(text, lines, 12.0)
    assert broken.split() == words
    assert 1 <= broken.count("\n") + 1 <= lines


def test_lines_are_drawn_in_so_that_no_word_is_left_alone():
    for lines in (2, 3, 4, 5):
        made = wrap(SENTENCE, lines, 12.5).split("\n")
        assert len(made) == lines
        widths = [width_px(line, 12.5) for line in made]
        assert min(widths) > 0.5 * max(widths)


def test_narrower_by_a_pixel_would_need_another_line():
    broken = wrap(SENTENCE, 4, 12.5)
    widest = max(width_px(line, 12.5) for line in broken.split("\n"))
    lines, room = 1, widest - 1.0
    line = ""
    for word in SENTENCE.split():
        longer = f"{line} {word}".strip()
        if line and width_px(longer, 12.5) > room:
            lines, line = lines + 1, word
        else:
            line = longer
    assert lines > 4 or max(width_px(word, 12.5) for word in SENTENCE.split()) > room


def test_a_block_is_as_wide_as_its_widest_line():
    width, height = block_px("a\nlonger line", 12.0)
    assert width == width_px("longer line", 12.0)
    assert height == pytest.approx(2 * block_px("a", 12.0)[1])


def test_the_longest_form_that_fits():
    forms = ("the air pushes with 31.4 ft", "air 31.4 ft", "air")
    assert fitting(forms, 1000.0, 12.0) == forms[0]
    assert fitting(forms, width_px(forms[1], 12.0), 12.0) == forms[1]
    assert fitting(forms, 1.0, 12.0) == forms[-1]
    assert fitting((), 100.0, 12.0) == ""
