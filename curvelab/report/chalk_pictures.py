"""The words on the bench about what is chalked: labels, columns, the gain, and what a screen reader says of it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from curvelab.layout.longer import Kept
from curvelab.layout.words import BenchWords, ChalkWords, Forms, StackWords
from curvelab.report.against import AND_MORE, Seen, chalk_name, gain, ledger_note
from curvelab.report.changed import hose_words
from curvelab.report.pictures import budget_words, ledger_words
from curvelab.report.words import delivers
from curvelab.studies.curves import Curves
from curvelab.units import Quantity, show

_NONE = "gives none"
_LONGEST = 22
"""Most characters of a name on the chart; a longer one is in the list. [-]"""


def with_chalk(words: BenchWords, now: Seen, chalked: Sequence[tuple[str, Seen, Curves]]) -> BenchWords:
    """The bench's words with those about the chalked setups; ``chalked``: letter, setup, its curves."""
    if not chalked:
        return words
    said = tuple(_chalk(now, letter, then, curves) for letter, then, curves in chalked)
    first = next(((letter, then) for letter, then, _ in chalked if delivers(then.result)), None)
    grown = gain(now, first[1]) if first is not None and delivers(now.result) else ""
    noted = {"ledger": words.ledger, "budget": words.budget}
    note = ledger_note(now, first[1], first[0]) if first is not None else None
    if note is not None:
        noted[note[0]] = _noted(noted[note[0]], note[1], note[2], now.figures.total.unit)
    ledger = replace(noted["ledger"], foot=(*words.ledger.foot[:1], _now(now, [then for _, then, _ in chalked])))
    heard = "; ".join(f"{one.letter}, {_heard(one)}" for one in said)
    return replace(
        words,
        chalks=said,
        gain=(grown, grown.partition(" ")[0]) if grown else (),
        ledger=ledger,
        budget=noted["budget"],
        chart_label=f"{words.chart_label} Kept, in chalk: {heard}.",
    )


def _chalk(now: Seen, letter: str, then: Seen, curves: Curves) -> ChalkWords:
    figures, result = then.figures, then.result
    name, short = _names(then, now)
    flow = now.figures.flow_of(result.flow_m3_s) if delivers(result) and result.flow_m3_s is not None else None
    label: Forms = (f"{letter}: {name}", f"{letter}: {short}") if name else (f"{letter}: as now",)
    return ChalkWords(
        letter=letter,
        label=(f"{letter}, kept: {name}", *label) if name else label,
        note=(f"{flow} at {figures.total}", f"{flow}") if flow is not None else (_NONE,),
        short=label if flow is not None else (f"{letter} {_NONE}",),
        pill=flow.text if flow is not None else "",
        foot=(*label, letter),
        ledger=ledger_words(figures, then.setup, curves),
        budget=budget_words(figures, then.setup),
    )


def kept_points(now: Seen, chalked: Sequence[tuple[str, Seen]]) -> tuple[Kept, ...]:
    """Those that give water, as points of the picture "longer hose"."""
    return tuple(_point(now, letter, then) for letter, then in chalked if delivers(then.result))


def _point(now: Seen, letter: str, then: Seen) -> Kept:
    (name, short), length = _names(then, now), then.setup.discharge.leg[0].length.si
    flow = then.result.flow_m3_s or 0.0
    return Kept(
        letter=letter,
        length_m=length,
        flow_m3_s=flow,
        forms=(f"{letter}: {name}", f"{letter}: {short}") if name else (f"{letter}: as now",),
        heard=f"{letter}, {short or 'as now'}, {now.figures.flow_of(flow)} at "
        f"{show(length, Quantity.LENGTH, now.figures.system)}",
    )


def _names(then: Seen, now: Seen) -> tuple[str, str]:
    """What a chalked setup is called on a picture, and shorter."""
    name = chalk_name(then, now).removesuffix(AND_MORE)
    name = f"{name[: _LONGEST - 1].rstrip()}…" if len(name) > _LONGEST else name
    return name, name.removesuffix(" hose").removesuffix(" hoses")


def _now(now: Seen, chalked: Sequence[Seen]) -> str:
    """What stands under the live column: its hose, where another is chalked."""
    mine = hose_words(now.setup.discharge.leg, now.figures.system)
    others = {hose_words(then.setup.discharge.leg, now.figures.system) for then in chalked}
    return f"now: {mine.removesuffix(' hose').removesuffix(' hoses')}" if others - {mine} else "now"


def _noted(words: StackWords, item: str, note: str, unit: str) -> StackWords:
    forms = (note, note.replace(f" {unit}", ""), note.replace(f" {unit}", "").partition(" than ")[0])
    return replace(words, parts=tuple(replace(p, note=forms) if p.item == item else p for p in words.parts))


def _heard(one: ChalkWords) -> str:
    return f"{one.label[-1].partition(': ')[2]}, {one.note[0]}"
