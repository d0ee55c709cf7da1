"""What changed against a chalked setup. Differences are those of the printed figures."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field
from typing import Final

from curvelab.model.setup import Setup
from curvelab.report.changed import Change, changes, hose_words
from curvelab.report.rounded import Figure, Rounded, rounded
from curvelab.report.words import LONGEST, Said, delivers
from curvelab.studies.result import Result, State
from curvelab.units import System

NOTHING_CHALKED: Final = "Keep this, then change something: it stays in the picture, in chalk, beside the new one."
AND_MORE: Final = " and more"
"""Ends the name of a chalked setup that differs in more than it says."""
_LEGS: Final = ("suction.leg.", "discharge.leg.")
_SIZE: Final = ("size", "bore", "abreast")
_HOSE: Final = (*_SIZE, "hose", "roughness")
_FRICTION: Final = ("suction", "discharge", "leaving", "pressure")
_WHY_NONE: Final = {State.NO_LIFT: "it couldn’t lift that high", State.NO_PRIME: "it wouldn’t prime"}
_LONGEST_NAMES: Final = 28
"""Most letters of the chalked setups' names in the head over the words against them. [-]"""
_CARRIES: Final = (
    (0.93, "less water"),
    (1.08, "as much water"),
    (1.35, "more water"),
    (1.7, "half as much water again"),
    (2.0, "nearly twice the water"),
)
"""How much the now hose carries, up to a ratio of flows; beyond the last, more than twice the water."""


@dataclass(frozen=True, slots=True)
class Seen:
    """A setup with its result and figures; ``name`` is what somebody called it, ``pumps`` are pumps' names by id."""

    setup: Setup
    result: Result
    figures: Rounded
    name: str = ""
    pumps: Mapping[str, str] = field(default_factory=dict[str, str])


def see(setup: Setup, result: Result, system: System) -> Seen:
    """The three together."""
    return Seen(setup, result, rounded(result, system))


def against(now: Seen, chalked: Sequence[Seen], letters: str = "ABC") -> Said:
    """What changed against what is chalked, in one block of words."""
    if not chalked:
        return Said("", NOTHING_CHALKED)
    if len(chalked) > 1:
        return _against_several(now, chalked, letters)
    then = chalked[0]
    lead = f"{_difference(now, then, unit=True)} than {letters[0]}."
    if not delivers(then.result):
        why = _WHY_NONE.get(then.result.state)
        return Said(lead, f"{letters[0]} gives none: {why}." if why else f"{letters[0]} gives none.")
    if not delivers(now.result):
        return Said(lead, "Now nothing comes.")
    changed = changes(now.setup, then.setup, now.figures.system, now.pumps)
    if _is_hose(changed):
        return Said(lead, _hoses(now, then, letters[0]))
    return Said(lead, _fields(changed, len(lead)))


def title(now: Seen, chalked: Sequence[Seen], letters: str = "ABC") -> str:
    """Head over those words: ``Against A, 2 in hose``."""
    if not chalked:
        return "To compare"
    if len(chalked) > 1:
        names = [_lettered(then, now, letter) for then, letter in zip(chalked, letters, strict=False)]
        if len("".join(names)) > _LONGEST_NAMES:
            names = list(letters[: len(chalked)])
        return f"Against {', '.join(names[:-1])} and {names[-1]}"
    name = chalk_name(chalked[0], now)
    return f"Against {letters[0]}, {name}" if name else f"Against {letters[0]}"


def _lettered(then: Seen, now: Seen, letter: str) -> str:
    """``A (3 in)``; the letter alone where more than a hose differs."""
    if not _is_hose(changes(now.setup, then.setup, now.figures.system)):
        return letter
    return f"{letter} ({hose_words(then.setup.discharge.leg, now.figures.system).removesuffix(' hose')})"


def chalk_name(then: Seen, now: Seen) -> str:
    """A chalked setup's name: the given one, else what marks it beside the present one; empty where nothing does.

    ``2 in hose``, ``lift 12 ft``, ``Ferrow 3 and more``; the title of a setup that is another job altogether.
    """
    if then.name:
        return then.name
    changed = changes(then.setup, now.setup, then.figures.system, then.pumps)
    if not changed:
        return ""
    first, sized = changed[0], any(_is_size(change.path) for change in changed)
    hose = hose_words(then.setup.discharge.leg, then.figures.system)
    if then.setup.title and then.setup.title != now.setup.title:
        return f"{hose}, {then.setup.title}" if sized else then.setup.title
    if _is_hose(changed):
        return hose
    if sized:
        name = hose
    elif first.path == "pump.id" and first.now:
        name = first.now
    elif first.now and first.path.startswith(_LEGS) and first.path.endswith(".length"):
        name = f"{first.now} of suction hose" if first.path.startswith("suction") else f"{first.now} of hose"
    else:
        name = f"{first.label} {first.now or 'none'}"
    return name if len(changed) == 1 else f"{name}{AND_MORE}"


def over(now: Seen, then: Seen, letter: str = "A") -> tuple[str, str]:
    """The gain and over what, in a few words: ``+105 gal/min`` · ``over 2 in``; empty where there is none."""
    found = gain(now, then)
    hose = _is_hose(changes(now.setup, then.setup, now.figures.system))
    size = hose_words(then.setup.discharge.leg, now.figures.system).removesuffix(" hose")
    word = "over" if found.startswith("+") else "against"
    return (found, f"{word} {size if hose and size != 'hose' else letter}") if found else ("", "")


def gain(now: Seen, then: Seen) -> str:
    """The gain drawn along the foot of the chart: ``+105 gal/min``; empty where there is none."""
    difference = _flow_difference(now, then)
    if not difference.number:
        return ""
    return f"+{difference}" if difference.number > 0 else str(difference)


def ledger_note(now: Seen, then: Seen, letter: str = "A") -> tuple[str, str, str] | None:
    """Where the columns differ most: (``ledger`` or ``budget``, item, ``16 ft less than A``).

    The friction part of the ledger that differs most; of the budget, lift among it, when the suction is starved.
    """
    starved = now.result.state is State.CAVITATING
    mine, theirs = (now.figures.budget, then.figures.budget) if starved else (now.figures.ledger, then.figures.ledger)
    items = ("lift", "suction") if starved else _FRICTION
    zero = Figure(0.0, now.figures.total.unit)
    found = {item: mine.get(item, zero).minus(theirs.get(item, zero)) for item in items if item in mine}
    if not found or not (delivers(now.result) and delivers(then.result)):
        return None
    item = max(found, key=lambda name: abs(found[name].number))
    if not found[item].number:
        return None
    return ("budget" if starved else "ledger"), item, f"{found[item].size} {_more(found[item])} than {letter}"


def _flow_difference(now: Seen, then: Seen) -> Figure:
    mine, theirs = (now.figures.flow_of(seen.result.flow_m3_s or 0.0) for seen in (now, then))
    return mine.minus(theirs)


def _more(difference: Figure) -> str:
    return "more" if difference.number > 0 else "less"


def _difference(now: Seen, then: Seen, *, unit: bool) -> str:
    difference = _flow_difference(now, then)
    if not difference.number:
        return "No more, no less"
    about = "About " if State.CAVITATING in (now.result.state, then.result.state) and unit else ""
    size = str(difference.size) if unit else difference.size.text
    return f"{about}{size} {_more(difference)}"


def _is_hose(changed: Sequence[Change]) -> bool:
    parts = [change.path.split(".") for change in changed]
    lies = all(part[:2] == ["discharge", "leg"] and part[-1] in _HOSE for part in parts)
    return lies and any(_is_size(change.path) for change in changed)


def _is_size(path: str) -> bool:
    return path.startswith("discharge.leg.") and path.rpartition(".")[2] in _SIZE


def _hoses(now: Seen, then: Seen, letter: str) -> str:
    """What the hoses take: of the wider one that it rubs less, where one is wider and does."""
    took, takes, unit = _discharge(then), _discharge(now), now.figures.total.unit
    wider = _wider(now, then)
    if wider < 0 and took.number < takes.number:
        return f"{letter}’s wider hose rubs less: {took.text} {unit} of push lost, not {takes.text}."
    if wider > 0 and takes.number < took.number:
        return f"This wider hose rubs less: {takes.text} {unit} of push lost, not {took.text}."
    return _hoses_take(now, then, letter)


def _wider(now: Seen, then: Seen) -> int:
    """1 where the present hose is wider, -1 where the chalked one is; 0 where neither is or there are others."""
    mine, theirs = (seen.setup.discharge.leg for seen in (now, then))
    if [leg.abreast for leg in mine] != [leg.abreast for leg in theirs]:
        return 0
    bores = [[bore.si if (bore := leg.size or leg.bore) else 0.0 for leg in legs] for legs in (mine, theirs)]
    ways = {(a > b) - (a < b) for a, b in zip(*bores, strict=True) if a and b} - {0}
    return ways.pop() if len(ways) == 1 else 0


def _hoses_take(now: Seen, then: Seen, letter: str) -> str:
    mine, theirs = (hose_words(seen.setup.discharge.leg, now.figures.system) for seen in (now, then))
    several, several_then = ("hoses" in name for name in (mine, theirs))
    took, takes = (_discharge(seen).text for seen in (then, now))
    these = f"these {mine}" if several else f"this {mine.removesuffix(' hose')}"
    if mine in (theirs, "hose"):
        these = "these" if several else "this one"
    ratio = (now.result.flow_m3_s or 0.0) / (then.result.flow_m3_s or 1.0)
    carries = next((words for up_to, words in _CARRIES if ratio <= up_to), "more than twice the water")
    took = f"{'hoses take' if several_then else 'hose takes'} {took} {now.figures.total.unit}"
    takes = f"{'take' if several else 'takes'} {takes}, and {'carry' if several else 'carries'} {carries}"
    return f"{letter}’s {took} of the pump’s push; {these} {takes}."


def _discharge(seen: Seen) -> Figure:
    return seen.figures.ledger.get("discharge", Figure(0.0, seen.figures.total.unit))


def _fields(changed: Sequence[Change], used: int) -> str:
    if not changed:
        return "Nothing in the setup has changed."
    if len(changed) == 1:
        return f"{changed[0].text}."
    labels = [change.label for change in changed]
    for count in range(len(labels), 0, -1):
        more = f" and {len(labels) - count} more" if count < len(labels) else ""
        text = f"Changed: {', '.join(labels[:count])}{more}."
        if len(text) + used + 1 <= LONGEST:
            return text
    return f"{len(labels)} things have changed."


def _against_several(now: Seen, chalked: Sequence[Seen], letters: str) -> Said:
    leads = [
        f"{_difference(now, then, unit=place == 0)} than {letter}"
        if _flow_difference(now, then).number
        else f"as much as {letter}"
        for place, (then, letter) in enumerate(zip(chalked, letters, strict=False))
    ]
    lead = ", ".join(leads)
    lead = f"{lead[:1].upper()}{lead[1:]}."
    dry = [
        f"{letter} gives none: {_WHY_NONE[then.result.state]}."
        if then.result.state in _WHY_NONE
        else f"{letter} gives none."
        for then, letter in zip(chalked, letters, strict=False)
        if not delivers(then.result)
    ]
    if dry or not delivers(now.result):
        return _said(lead, dry or ["Now nothing comes."])
    if not all(_is_hose(changes(now.setup, then.setup, now.figures.system)) for then in chalked):
        names = [(letter, chalk_name(then, now)) for then, letter in zip(chalked, letters, strict=False)]
        return _said(lead, [f"{letter}: {name}." for letter, name in names if name])
    took = [f"{_discharge(then).text} in {letter}" for then, letter in zip(chalked, letters, strict=False)]
    here = f"{_discharge(now).text} {now.figures.total.unit} of the pump’s push here"
    return Said(lead, f"The hose takes {here}, {', '.join(took)}.")


def _said(lead: str, sentences: Sequence[str]) -> Said:
    """The lead with as many of the sentences as there is room for."""
    rest = ""
    for sentence in sentences:
        longer = f"{rest} {sentence}".strip()
        if len(lead) + 1 + len(longer) > LONGEST:
            break
        rest = longer
    return Said(lead, rest)
