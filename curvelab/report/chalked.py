"""The list of what is chalked, and the buttons that chalk, in words."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Final

from curvelab.model.chalk import LETTERS
from curvelab.model.setup import Setup
from curvelab.report.against import AND_MORE, Seen, chalk_name
from curvelab.report.changed import alike, hose_words
from curvelab.report.words import chip, delivers
from curvelab.studies.result import State

CHALK: Final = "Keep this, to compare"
"""On the button that chalks."""
FULL: Final = "Three kept: wipe one"
_SHORT: Final = 8
"""Letters of a name over a narrow column. [-]"""
AS_NOW: Final = "as it is now"
HINT: Final = "in chalk: ↩ brings back, × wipes"
"""Over the list."""
FIRST: Final = "Compare this with"
"""Before the buttons that lay another size beside the present one, while nothing is kept."""
TIP: Final = "It stays in the picture, dashed as if in chalk, while you change things. Up to three."
"""What the button does, for whoever rests on it."""


@dataclass(frozen=True, slots=True)
class Row:
    """One chalked setup in the list. ``name`` is the given one or, failing that, what marks it."""

    letter: str
    name: str
    given: str
    flow: str
    trouble: str
    """Its state where that is not sound."""


def rows(now: Seen, chalked: Sequence[tuple[str, Seen]]) -> tuple[Row, ...]:
    """The list, a row each."""
    return tuple(_row(now, letter, seen) for letter, seen in chalked)


def button(now: Seen, chalked: Sequence[tuple[str, Seen]]) -> tuple[str, bool]:
    """What the button says, and whether there is anything to chalk."""
    like = chalked_as(now, chalked)
    if like:
        return f"Kept as {like}", False
    return (CHALK, True) if len(chalked) < len(LETTERS) else (FULL, False)


def chalked_as(now: Seen, chalked: Sequence[tuple[str, Seen]]) -> str:
    """Letter of the chalked setup that is as the present one; empty where none is."""
    return next((letter for letter, seen in chalked if alike(now.setup, seen.setup)), "")


def compare_words(setup: Setup) -> str:
    """On the button that lays another size beside the present one."""
    return hose_words(setup.discharge.leg[:1], setup.units)


def kept_words(letter: str, seen: Seen) -> str:
    """Said when a setup was chalked."""
    return f"Kept as {letter}: {_flow(seen)}. Now change something: it stays in the picture, in chalk."


def column_head(letter: str, then: Seen, now: Seen) -> str:
    """Over its column of a narrow table: ``A: 2 in``; the letter alone where its name is long."""
    name = chalk_name(then, now).removesuffix(AND_MORE).removesuffix(" hose").removesuffix(" hoses")
    return f"{letter}: {name}" if 0 < len(name) <= _SHORT else letter


def _row(now: Seen, letter: str, seen: Seen) -> Row:
    trouble = chip(seen.result).word if seen.result.state is not State.SOUND else ""
    marked = Seen(seen.setup, seen.result, seen.figures, pumps=seen.pumps)
    return Row(letter, chalk_name(marked, now) or AS_NOW, seen.name, _flow(seen), trouble)


def _flow(seen: Seen) -> str:
    return str(seen.figures.flow) if delivers(seen.result) and seen.figures.flow is not None else "none"
