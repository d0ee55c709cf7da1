"""How wide a text will be, before a browser has drawn it.

The advance widths were read from the Liberation Sans fonts, regular and bold, version 1.07.4, in units of 1/2048 em
(with Pillow, ``ImageFont.getlength`` at 2048 px, no kerning). Those fonts were made to the metrics of Arial, so that
the table serves both. The other faces of the page's font stack differ by a few percent: ``SLACK`` allows for them.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache

UNITS_PER_EM = 2048
SLACK = 1.08
"""Room for a face that is wider than the one measured (an estimate). [-]"""
LINE_HEIGHT = 1.22
"""Distance between two lines over the size of the type. [-]"""

_ASCII = tuple(chr(code) for code in range(32, 127))
_FURTHER = "½¼¾−×°·’‘“”–—±²³…"  # noqa: RUF001
_REGULAR = (
    "569 569 727 1139 1139 1821 1366 391 682 682 797 1196 569 682 569 569 1139 1139 1139 1139 1139 1139 1139 1139"
    " 1139 1139 569 569 1196 1196 1196 1139 2079 1366 1366 1479 1479 1366 1251 1593 1479 569 1024 1366 1139 1706"
    " 1479 1593 1366 1593 1479 1366 1251 1479 1366 1933 1366 1366 1251 569 569 569 961 1139 682 1139 1139 1024"
    " 1139 1139 569 1139 1139 455 455 1024 455 1706 1139 1139 1139 1139 682 1024 569 1139 1024 1479 1024 1024 1024"
    " 684 532 684 1196 1708 1708 1708 1196 1196 819 569 455 455 682 682 1139 2048 1124 682 682 2048"
)
_BOLD = (
    "569 682 971 1139 1139 1821 1479 487 682 682 797 1196 569 682 569 569 1139 1139 1139 1139 1139 1139 1139 1139"
    " 1139 1139 682 682 1196 1196 1196 1251 1997 1479 1479 1479 1479 1366 1251 1593 1479 569 1139 1479 1251 1706"
    " 1479 1593 1366 1593 1479 1366 1251 1479 1366 1933 1366 1366 1251 682 569 682 1196 1139 682 1139 1251 1139"
    " 1251 1139 682 1251 1251 569 569 1139 569 1821 1251 1251 1251 1251 797 1139 682 1251 1139 1593 1139 1139 1024"
    " 797 573 797 1196 1708 1708 1708 1196 1196 819 569 569 569 1024 1024 1139 2048 1124 682 682 2048"
)


def _table(widths: str) -> dict[str, int]:
    return dict(zip((*_ASCII, *_FURTHER), map(int, widths.split()), strict=True))


ADVANCE = _table(_REGULAR)
ADVANCE_BOLD = _table(_BOLD)
_WIDEST = 2048  # a letter that is not in the table counts as a whole em: never too little


@lru_cache(maxsize=2048)
def width_px(text: str, size_px: float, *, bold: bool = False) -> float:
    """Width of one line with ``SLACK`` in it. [px]"""
    table = ADVANCE_BOLD if bold else ADVANCE
    return sum(table.get(letter, _WIDEST) for letter in text) / UNITS_PER_EM * size_px * SLACK


def block_px(text: str, size_px: float, *, bold: bool = False) -> tuple[float, float]:
    """Width and height of a text that may hold line breaks. [px]"""
    lines = text.split("\n")
    width = max(width_px(line, size_px, bold=bold) for line in lines)
    return width, len(lines) * size_px * LINE_HEIGHT


def _breaks(widths: list[float], space: float, limit: float) -> list[int]:
    """Number of words on each line when lines are filled one after another."""
    counts: list[int] = []
    room = -1.0
    for width in widths:
        if counts and width + space <= room:
            counts[-1] += 1
            room -= width + space
        else:
            counts.append(1)
            room = limit - width
    return counts


@lru_cache(maxsize=512)
def wrap(text: str, lines: int, size_px: float, *, bold: bool = False) -> str:
    """Break ``text`` into at most ``lines`` lines, drawn in to the least width that needs no more: no orphan words."""
    words = text.split()
    if not words:
        return ""
    widths = [width_px(word, size_px, bold=bold) for word in words]
    space = width_px(" ", size_px, bold=bold)
    low, high = max(widths), sum(widths) + space * (len(words) - 1) + 0.01
    while high - low > 1.0:
        middle = 0.5 * (low + high)
        if len(_breaks(widths, space, middle)) <= lines:
            high = middle
        else:
            low = middle
    made: list[str] = []
    start = 0
    for count in _breaks(widths, space, high):
        made.append(" ".join(words[start : start + count]))
        start += count
    return "\n".join(made)


def fitting(forms: Sequence[str], room_px: float, size_px: float, *, bold: bool = False) -> str:
    """The first of the forms that has room in one line; the last where none has; empty where there are none."""
    for form in forms:
        if width_px(form, size_px, bold=bold) <= room_px:
            return form
    return forms[-1] if forms else ""
