"""Sizes of the page's pictures for its three widths. All in CSS pixels."""

from __future__ import annotations

from dataclasses import dataclass
from enum import StrEnum


class Width(StrEnum):
    """How the page is laid out."""

    WIDE = "wide"
    MEDIUM = "medium"
    NARROW = "narrow"


def width_of(page_px: float) -> Width:
    """The layout of a page that is ``page_px`` wide."""
    if page_px >= 1200:
        return Width.WIDE
    return Width.MEDIUM if page_px >= 760 else Width.NARROW


@dataclass(frozen=True, slots=True)
class Columns:
    """Widths of the live and of a chalked column; what lies before the live one, and between two chalked ones."""

    live: int
    chalk: int = 0
    between: int = 0
    apart: int = 0


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchSize:
    """Frames of the bench: chart | ledger, gutter | spacer, strip | budget."""

    axis: int
    """Left of the three left frames, for the numbers of their axes."""
    plot: int
    """Width of the left frames as designed; the browser may give more or less."""
    chart: int
    """Height of the chart above its axis."""
    foot: int
    """Below the axes of chart and strip, so that the number 0 is whole."""
    cap: int
    """Above the chart's axis, so that a number at its end is whole."""
    gutter: int
    overhang: int
    """Of the gutter under the ledger, for the unit after the last number."""
    strip: int
    gap: int
    """From the chart's edge to the first column."""
    columns: tuple[Columns, ...]
    """With none chalked, with one, two and three."""
    ledger: int
    """Width of the right frames."""
    names: bool
    """Whether names stand beside the columns (else they are in a table below)."""
    heading: int
    flow_tick: int
    """Least distance of two numbers on the flow axis."""
    sentence: int
    """Height kept for the sentence under the chart; 0 where it stands on the chart."""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunSize:
    """Frame of the run."""

    width: int
    height: int
    pump_x: int
    """Where the pump stands, from the left."""
    base: int
    """Earth below the lowest of it, for words."""
    right: int
    """Left free at the right for the tank's name and the flag's."""
    least: int
    """Below this height the heights are drawn larger than the lengths."""


BENCH: dict[Width, BenchSize] = {
    Width.WIDE: BenchSize(
        axis=52,
        plot=632,
        chart=268,
        foot=8,
        cap=6,
        gutter=46,
        overhang=34,
        strip=94,
        gap=40,
        columns=(Columns(66), Columns(66, 62, 30), Columns(62, 40, 14, 8), Columns(56, 34, 12, 6)),
        ledger=390,
        names=True,
        heading=28,
        flow_tick=55,
        sentence=0,
    ),
    Width.MEDIUM: BenchSize(
        axis=52,
        plot=392,
        chart=330,
        foot=8,
        cap=6,
        gutter=46,
        overhang=14,
        strip=118,
        gap=24,
        columns=(Columns(52), Columns(52, 46, 18), Columns(46, 32, 10, 5), Columns(42, 26, 8, 4)),
        ledger=262,
        names=True,
        heading=42,
        flow_tick=50,
        sentence=42,
    ),
    Width.NARROW: BenchSize(
        axis=50,
        plot=210,
        chart=270,
        foot=8,
        cap=6,
        gutter=46,
        overhang=14,
        strip=104,
        gap=14,
        columns=(Columns(42), Columns(42, 32, 12), Columns(34, 22, 6, 3), Columns(30, 16, 5, 2)),
        ledger=102,
        names=False,
        heading=28,
        flow_tick=55,
        sentence=58,
    ),
}
RUN: dict[Width, RunSize] = {
    Width.WIDE: RunSize(width=832, height=150, pump_x=166, base=24, right=140, least=90),
    Width.MEDIUM: RunSize(width=692, height=196, pump_x=138, base=30, right=120, least=90),
    Width.NARROW: RunSize(width=350, height=216, pump_x=94, base=46, right=56, least=90),
}
