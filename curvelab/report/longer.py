"""Longer hose in words: the finding, the table, the saying about ten feet, and the words of the picture."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curvelab.layout.longer import LongerWords
from curvelab.report.answers import length_in_trouble
from curvelab.report.rounded import Figure
from curvelab.report.words import Said
from curvelab.studies.bores import FEEDS
from curvelab.studies.longer import Longer
from curvelab.studies.result import State
from curvelab.units import DisplayUnit, Quantity, System, display_unit, gallon_word, show

NAME: Final = "Longer hose"
MOST_NARROW: Final = 4
"""Lengths of the table that a phone has room for. [-]"""
_NO_FLOW: Final = {
    State.NO_PRIME: "No flow at any length: the pump can’t draw the water up, whatever hose lies past it.",
    State.NO_LIFT: "No flow at any length: the pump can’t push the water that high. Bigger hose won’t help.",
    State.CAVITATING: "No flow at any length: the suction gives out before the first drop.",
    State.OFF_CURVE: "Nobody has tested this pump at so little flow, at any length of hose.",
}
_COUNTS: Final = {2: "two", 3: "three", 4: "four"}
_WORTH: Final = 0.02
"""Share of the flow that a difference needs to be drawn. [-]"""
_HELD, _LEAST, _PERHAPS, _UNKNOWN = "held", "least", "perhaps", "unknown"


@dataclass(frozen=True, slots=True)
class Cell:
    """A figure of the table. ``kind``: held, least, perhaps, unknown, or empty for a plain one."""

    text: str
    kind: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """A size of hose."""

    size: str
    now: bool
    cells: tuple[Cell, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class LengthTable:
    """Flow by size and length."""

    caption: str
    lengths: tuple[str, ...]
    now: int
    """Column of the present length."""
    spare: frozenset[int]
    """Columns that a phone leaves out."""
    rows: tuple[Row, ...]
    notes: tuple[tuple[str, str], ...]
    """What the kinds of cells mean: (kind, words); an empty kind for a plain remark."""


@dataclass(frozen=True, slots=True, kw_only=True)
class LongerSaid:
    """All that the study says. Without flow there is the finding alone."""

    brief: str
    finding: str
    under: str = ""
    table: LengthTable | None = None
    saying: Said | None = None
    picture: LongerWords | None = None


class _Figures:
    """The one set of figures: every flow in the unit of the present one."""

    def __init__(self, found: Longer) -> None:
        self.found = found
        self.system: System = found.setup.units
        flow, self.state = found.at(found.now, found.now_m)
        self.unit: DisplayUnit = display_unit(Quantity.FLOW, self.system, flow or 0.0)
        self.flow = None if flow is None else self.of(flow)
        self.size = self.bore(found.now)
        self.length = self.long(found.now_m)

    def of(self, flow_m3_s: float) -> Figure:
        return Figure(self.unit.round(self.unit.from_si(flow_m3_s)) + 0.0, self.unit.symbol)

    def at(self, row: int, length_m: float) -> Figure | None:
        flow, _ = self.found.at(row, length_m)
        return None if flow is None else self.of(flow)

    def bore(self, row: int) -> str:
        return show(self.found.sizes[row].size_m, Quantity.BORE, self.system)

    def long(self, length_m: float) -> str:
        return show(length_m, Quantity.LENGTH, self.system)

    @property
    def unit_named(self) -> str:
        """With the kind of gallon before it."""
        word = gallon_word(self.system)
        return f"{word} {self.unit.symbol}" if word else self.unit.symbol


def longer_said(found: Longer) -> LongerSaid:
    """The study in words."""
    figures = _Figures(found)
    if not found.flows:
        brief = "lower than anybody tested" if figures.flow is None else "no flow at any length"
        return LongerSaid(brief=brief, finding=_NO_FLOW.get(figures.state, _NO_FLOW[State.OFF_CURVE]))
    return LongerSaid(
        brief=_brief(figures),
        finding=_finding(figures),
        under=_under(found),
        table=_table(figures),
        saying=_saying(figures),
        picture=_picture(figures),
    )


def _brief(figures: _Figures) -> str:
    found, flow = figures.found, figures.flow
    more = figures.at(found.now, found.now_m + found.step_m)
    if flow is None or more is None:
        return "lower than anybody tested"
    change = more.minus(flow)
    step = f"for {figures.long(found.step_m)} more"
    if change.number < 0:
        return f"{change.text} {step}"
    if figures.state is State.CAVITATING:
        return "no change: suction rules"
    return "past the tested curve" if figures.state is State.OFF_CURVE else f"no change {step}"


def _finding(figures: _Figures) -> str:
    found, flow = figures.found, figures.flow
    if flow is None:
        return (
            f"{figures.length} of {figures.size}: less flow than anybody has tested. Wider or shorter hose gives more."
        )
    twice = figures.at(found.now, 2.0 * found.now_m)
    if twice is None:
        return f"{flow} at {figures.length}. With twice the hose, less than anybody has tested."
    if figures.state is State.OFF_CURVE:
        _, then = found.at(found.now, 2.0 * found.now_m)
        least = "at least " if then is State.OFF_CURVE else ""
        return (
            f"At {figures.length}, at least {flow}: nobody has measured more. At twice the length, {least}{twice.text}."
        )
    loss = flow.minus(twice)
    if loss.number <= 0 and figures.state is State.CAVITATING:
        first = f"Twice the hose costs nothing in {figures.size}: the suction holds the flow at about {flow}."
    elif loss.number <= 0:
        first = f"Twice the hose costs next to nothing in {figures.size}."
    else:
        first = f"Twice the hose costs {loss} in {figures.size}."
    return f"{first} {_other(figures, flow, loss)}".strip()


def _other(figures: _Figures, flow: Figure, loss: Figure) -> str:
    """What half the bore, else the next smaller size, takes; for the smallest, what the next larger gives."""
    found, now = figures.found, figures.found.now
    size = found.sizes[now].size_m
    half = next((row for row in range(now) if abs(2.0 * found.sizes[row].size_m / size - 1.0) < 0.03), None)
    row = half if half is not None else now - 1 if now > 0 else None
    if row is None:
        return _larger(figures, flow, now + 1) if now + 1 < len(found.sizes) else ""
    less = figures.at(row, found.now_m)
    if less is None:
        return ""
    name = "Half the bore" if half is not None else figures.bore(row)
    cost = flow.minus(less)
    if cost.number <= 0:
        return f"{name} costs nothing either."
    over = f"{name} over the same {figures.length} costs"
    if loss.number <= 0:
        return f"{over} {cost}."
    if cost.number >= 2.0 * loss.number:
        return f"{over} far more: {cost.text}."
    return f"{over} more: {cost.text}." if cost.number > loss.number else f"{over} {cost.text}."


def _larger(figures: _Figures, flow: Figure, row: int) -> str:
    found = figures.found
    more, (_, state) = figures.at(row, found.now_m), found.at(row, found.now_m)
    if state is State.CAVITATING:
        return f"In {figures.bore(row)} the suction gives out."
    if more is None or state not in FEEDS or more.number <= flow.number:
        return ""
    if _perhaps(found, row, found.now_m):
        return f"In {figures.bore(row)} the suction may give out."
    return f"{figures.bore(row)} over the same {figures.length} gives {more.minus(flow).text} more."


def _under(found: Longer) -> str:
    legs, points = found.setup.discharge.leg, found.setup.discharge.waypoint
    which = "only the first discharge hose changes" if len(legs) > 1 else "only the discharge hose changes"
    along = " A shorter one takes its high and low points along." if points else ""
    return f"Same pump, same heights: {which}.{along} Thicker line, bigger bore."


def _perhaps(found: Longer, row: int, length_m: float) -> bool:
    flow, _ = found.at(row, length_m)
    return found.guess_m3_s is not None and flow is not None and flow > found.guess_m3_s[0]


def _table(figures: _Figures) -> LengthTable:
    found = figures.found
    lengths = sorted(found.marks_m)
    spare = frozenset(lengths.index(mark) for mark in found.marks_m[MOST_NARROW:])
    rows = tuple(
        Row(figures.bore(row), row == found.now, tuple(_cell(figures, row, length) for length in lengths))
        for row in range(len(found.sizes))
    )
    kinds = {cell.kind for row in rows for cell in row.cells}
    return LengthTable(
        caption=f"Flow in {figures.unit_named}",
        lengths=tuple(figures.long(length) for length in lengths),
        now=lengths.index(found.now_m),
        spare=spare,
        rows=rows,
        notes=tuple(_notes(figures, kinds)),
    )


def _cell(figures: _Figures, row: int, length_m: float) -> Cell:
    figure, (_, state) = figures.at(row, length_m), figures.found.at(row, length_m)
    if figure is None:
        return Cell("–", _UNKNOWN)
    if state is State.CAVITATING:
        return Cell(figure.text, _HELD)
    if state is State.OFF_CURVE:
        return Cell(f"{figure.text}+", _LEAST)
    return Cell(f"{figure.text}?", _PERHAPS) if _perhaps(figures.found, row, length_m) else Cell(figure.text)


def _notes(figures: _Figures, kinds: set[str]) -> list[tuple[str, str]]:
    found = figures.found
    notes: list[tuple[str, str]] = []
    if _HELD in kinds:
        notes.append((_HELD, "about this much: held there by the suction, whatever the hose"))
    if _PERHAPS in kinds:
        notes.append((_PERHAPS, f"? perhaps less: at a guess the suction gives out {_guess(figures)}"))
    if _LEAST in kinds:
        notes.append((_LEAST, "+ at least this much: the pump’s tested curve ends here"))
    if _UNKNOWN in kinds:
        notes.append((_UNKNOWN, "– less flow than anybody has tested"))
    if found.reach_m > 0.0:
        least = length_in_trouble(found.reach_m, figures.system)
        notes.append(("", f"Less than {least} of hose can’t lie over these heights."))
    return notes


def _guess(figures: _Figures) -> str:
    low, high = figures.found.guess_m3_s or (0.0, None)
    first = figures.of(low)
    return f"past {first}" if high is None else f"between {first.text} and {figures.of(high)}"


def _saying(figures: _Figures) -> Said:
    """“Ten feet of hose is a foot of lift”, and the one flow at which it is so."""
    metric = figures.system is System.METRIC
    lead = "“Ten metres of hose is a metre of lift”" if metric else "“Ten feet of hose is a foot of lift”"
    hoses = figures.found.setup.discharge.leg[0].abreast
    places: list[str] = []
    for tenth in figures.found.tenths:
        flow = figures.of(tenth.flow_m3_s)
        size = show(tenth.size_m, Quantity.BORE, figures.system)
        hose = f"{size} hose" if hoses == 1 else f"{_COUNTS.get(hoses, hoses)} {size} hoses"
        places.append(f"{flow} in {hose}" if not places else f"{flow.text} in {size}")
    faster = "Faster than that, hose costs more than the saying allows"
    return Said(lead, f"is true at one flow only: {', '.join(places)}. {faster}: at twice the flow, {_times(figures)}.")


def _times(figures: _Figures) -> str:
    twice = figures.found.tenths[0].twice
    if twice >= 3.95:
        return "four times"
    return "nearly four times" if twice >= 3.6 else "more than three times"


def _picture(figures: _Figures) -> LongerWords:
    found, flow = figures.found, figures.flow
    twice = figures.at(found.now, 2.0 * found.now_m)
    loss = twice.minus(flow) if flow is not None and twice is not None else None
    worth = loss is not None and flow is not None and -loss.number > _WORTH * flow.number
    limit = None if found.limit_m3_s is None else figures.of(found.limit_m3_s)
    before = {State.CAVITATING: "about ", State.OFF_CURVE: "at least "}.get(figures.state, "")
    shown = [figures.at(found.now, length) for length in (found.now_m, 2.0 * found.now_m)]
    gives = " and ".join(
        f"{figure} at {figures.long(length)}"
        for figure, length in zip(shown, (found.now_m, 2.0 * found.now_m), strict=True)
        if figure is not None
    )
    held = f" The suction lets no more than {limit} through." if limit is not None else ""
    return LongerWords(
        title=(
            f"Flow, {figures.unit_named}, against length of discharge hose",
            f"Flow, {figures.unit_named}, by hose length",
        ),
        label=f"Flow against length of hose, a curve a size. {figures.size} gives {gives}.{held}",
        sizes=tuple(figures.bore(row) for row in range(len(found.sizes))),
        now=() if flow is None else (f"now: {before}{flow.text} at {figures.length}", f"{before}{flow.text}"),
        twice=(f"{loss.text} for twice the hose", loss.text) if loss is not None and worth else (),
        limit=()
        if limit is None
        else (f"the suction lets no more than {limit.text} through", f"suction’s limit {limit.text}"),
        guess=() if found.guess_m3_s is None else (f"at a guess the suction gives out {_guess(figures)}", "a guess"),
        reach=("too short for these heights", "too short"),
    )
