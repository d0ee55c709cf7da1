"""How sure in words: the shares of the states, the band, what to measure first, and a bar for each doubt."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curvelab.layout.doubt import DoubtWords
from curvelab.model.setup import Setup
from curvelab.studies.doubt import Doubt
from curvelab.studies.doubt_words import WHAT, brief, mixed, odds, past_curve
from curvelab.studies.result import Result
from curvelab.units import Quantity, display_unit, gallon_word, show

NAME: Final = "How sure"
STATES: Final = {
    "sound": "runs well",
    "thin": "little suction to spare",
    "off-curve": "past the tested curve",
    "cavitating": "starved at the suction",
    "no-prime": "won’t prime",
    "no-lift": "can’t lift it that high",
}
"""States in the table, those that deliver first."""
_FROM: Final = {True: "you say so", False: "the yard’s list"}
_GRADE: Final = "the pump’s test grade"
_LEAST: Final = 0.0005
"""Least share that the table prints as a number. [-]"""


@dataclass(frozen=True, slots=True)
class Doubted:
    """One doubt: what, how wide and from whom, and its share in the spread, as text and for a bar."""

    what: str
    within: str
    source: str
    share: str
    bar: float


@dataclass(frozen=True, slots=True)
class Ran:
    """One state: its name, its code for the pattern, its share."""

    state: str
    word: str
    share: str


@dataclass(frozen=True, slots=True, kw_only=True)
class DoubtSaid:
    """All that the tab says; ``line`` stands beside the flow of the answer."""

    brief: str
    line: str
    finding: str
    under: tuple[str, ...]
    doubts: tuple[Doubted, ...]
    states: tuple[Ran, ...]
    band: tuple[tuple[str, str], ...]
    """Least, middle and greatest of the band, named."""
    picture: DoubtWords | None


def doubt_said(found: Doubt, setup: Setup, result: Result) -> DoubtSaid:
    """All words of the tab; ``result`` is the setup's own."""
    first = 2 if mixed(found) else 1
    flows = bool(found.histogram.edges_m3_s) and found.blame is not None
    short = brief(found, setup)
    return DoubtSaid(
        brief=short if flows else "nothing changes it",
        line=short if flows else "",
        finding=" ".join(found.sentences[:first]),
        under=found.sentences[first:],
        doubts=_doubts(found, setup),
        states=_states(found, setup),
        band=_band(found, setup),
        picture=_picture(found, setup, result) if flows else None,
    )


def _doubts(found: Doubt, setup: Setup) -> tuple[Doubted, ...]:
    """Those of the blame first, then those that change nothing."""
    taken = {one.doubt: one for one in found.taken}
    shares = {part.doubt: part.share for part in found.blame or ()}
    most = max(shares.values(), default=1.0) or 1.0
    rows: list[Doubted] = []
    for name in (*shares, *(name for name in taken if name not in shares)):
        share = shares.get(name, 0.0)
        said = show(share, Quantity.SHARE, setup.units) if share >= _LEAST else "–"
        source = _GRADE if name == "head" and not taken[name].stated else _FROM[taken[name].stated]
        what = WHAT[name].removeprefix("the ")
        rows.append(Doubted(f"{what[0].upper()}{what[1:]}", taken[name].within, source, said, share / most))
    return tuple(rows)


def _states(found: Doubt, setup: Setup) -> tuple[Ran, ...]:
    return tuple(
        Ran(state, word, show(found.state_share[state], Quantity.SHARE, setup.units))
        for state, word in STATES.items()
        if found.state_share.get(state, 0.0) >= _LEAST
    )


def _band(found: Doubt, setup: Setup) -> tuple[tuple[str, str], ...]:
    band = found.flow_m3_s
    said = [show(flow, Quantity.FLOW, setup.units) for flow in (band.low, band.middle, band.high)]
    if past_curve(found):
        said[2] = "not tested so far"
    return tuple(zip(("9 times in 10 at least", "as often more as less", "9 times in 10 at most"), said, strict=True))


def _picture(found: Doubt, setup: Setup, result: Result) -> DoubtWords:
    system = setup.units
    unit = display_unit(Quantity.FLOW, system, result.flow_m3_s or found.flow_m3_s.middle).symbol
    named = " ".join(word for word in (gallon_word(system), unit) if word)
    now = show(result.flow_m3_s, Quantity.FLOW, system, unit=False) if result.flow_m3_s else ""
    goal = setup.goal.flow_m3_s
    none = odds(found.histogram.none_share)
    short = brief(found, setup)
    return DoubtWords(
        title=(f"How often which flow comes, {named}", f"How often, {named}"),
        label=f"How often which flow comes. {' '.join(found.sentences[: 2 if mixed(found) else 1])}",
        band=(short, short.partition(" (")[0], short.removeprefix("likely ").partition(" (")[0]),
        now=(f"worked out: {now}", now) if now else (),
        goal=(f"wanted: {show(goal, Quantity.FLOW, system, unit=False)}", "wanted") if goal > 0.0 else (),
        none=(f"nothing comes {none}", "nothing") if found.histogram.none_share > 0.0 else (),
    )
