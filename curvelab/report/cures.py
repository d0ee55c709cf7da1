"""What would help, as the words of buttons: each change with where it leads, what would still not run well last."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.report.bores import HELD
from curvelab.report.money import money
from curvelab.report.rounded import Rounded
from curvelab.studies.change import Value
from curvelab.studies.mend import Cure, Mend
from curvelab.studies.result import State
from curvelab.studies.say import capital
from curvelab.units import Quantity, display_unit, show

TITLE: Final = "What would help"
_LEADS_TO: Final = {
    State.SOUND: "runs well",
    State.THIN: "little to spare",
    State.CAVITATING: "starved",
    State.OFF_CURVE: "past the tested curve",
}


_ALIKE: Final = 0.03
"""Share of a starved pump's flow within which another is called about the same: our own choice. [-]"""
_HOSE_NAME: Final = re.compile(r" \([^)]*\)")
"""Make of a hose behind its rating: a button has no room for it, nor for what a height is counted from."""


@dataclass(frozen=True, slots=True)
class CureWords:
    """One button. ``grey``: it would still not run well."""

    change: str
    leads: str
    grey: bool
    changes: Mapping[str, Value]
    """The fields that it sets."""


@dataclass(frozen=True, slots=True)
class Help:
    """The buttons, or the sentence that says why there are none; both empty where nothing needs help."""

    buttons: tuple[CureWords, ...]
    sentence: str


def help_words(found: Mend, figures: Rounded) -> Help:
    """What would help a setup in trouble. A setup that runs well needs none, whatever its hose is rated."""
    if not figures.result.in_trouble:
        return Help((), "")
    starved = [cure for cure in found.rows if _still_starved(cure, figures)]
    mended = any(cure.state in (State.SOUND, State.THIN) for cure in found.rows)
    buttons = tuple(_button(cure, figures) for cure in found.rows if not (mended and cure in starved))
    ordered = sorted(buttons, key=lambda button: button.grey)
    return Help(tuple(ordered), "" if ordered else found.sentence)


def _button(cure: Cure, figures: Rounded) -> CureWords:
    state = State(cure.state)
    still = "still " if _still_starved(cure, figures) else ""
    leads = _LEADS_TO.get(state, "")
    if state in (State.SOUND, State.THIN) and cure.perhaps_starved:
        leads = "perhaps starved"
    elif cure.suction_unknown:
        leads = "suction not known"
    elif cure.held_in_line:
        leads = HELD
    grey = state not in (State.SOUND, State.THIN) or cure.perhaps_starved or cure.suction_unknown or cure.held_in_line
    change = _HOSE_NAME.sub("", capital(cure.change)).replace(" over the pump", " up")
    return CureWords(change, f"{_flow(cure, figures)}, {still}{leads}", grey, cure.changes)


def _still_starved(cure: Cure, figures: Rounded) -> bool:
    return figures.result.state is State.CAVITATING and cure.state == State.CAVITATING


def _flow(cure: Cure, figures: Rounded) -> str:
    """The flow as the page will then give it: with its unit where that is another one than now.

    What a starved pump gives is known no better than "about": a figure that is hardly another is not made one.
    """
    unit = display_unit(Quantity.FLOW, figures.system, cure.flow_m3_s)
    if unit.symbol == figures.flow_unit.symbol:
        then, now = figures.flow_of(cure.flow_m3_s), figures.flow
        starved = figures.result.state is State.CAVITATING
        if now is not None and starved and abs(then.number - now.number) < _ALIKE * now.number:
            return "about the same"
        return then.text
    return show(cure.flow_m3_s, Quantity.FLOW, figures.system)


def hose_words(found: Mend, figures: Rounded, setup: Setup, catalogue: Catalogue) -> CureWords | None:
    """The hose that stands the pressure, on the button under that sentence: ``Fix: 75 psi lay-flat, +$6 a day``.

    Not where the setup is in trouble: what would help comes first there.
    """
    cure = found.hose
    if cure is None or figures.result.state not in (State.SOUND, State.THIN):
        return None
    path, hose_id = next(((path, text) for path, text in cure.changes.items() if path.endswith(".hose")), ("", ""))
    hose = catalogue.hoses.get(str(hose_id))
    if hose is None:
        return CureWords(f"Fix: {cure.change}", _dearer(cure, setup, catalogue), grey=False, changes=cure.changes)
    leg = setup.discharge.leg[int(path.split(".")[2])]
    size = hose.sized(leg.size.si) if leg.size is not None else None
    rating = size.working_pressure if size is not None else None
    name = (hose.name or hose.id).split(",")[0]
    rated = f"{show(rating.si, Quantity.PRESSURE, figures.system)} {name}" if rating is not None else name
    return CureWords(f"Fix: {rated}", _dearer(cure, setup, catalogue), grey=False, changes=cure.changes)


def _dearer(cure: Cure, setup: Setup, catalogue: Catalogue) -> str:
    """What it costs more for a day; empty where nobody knows."""
    if cure.cost is None:
        return ""
    leg = setup.discharge.leg[0]
    price = catalogue.price(leg.hose or "", leg.size.si if leg.size is not None else None)
    if price is None:
        return ""
    more = money(cure.cost, price.currency)
    return f"+{more} a day" if round(cure.cost) > 0 else f"{more} a day" if round(cure.cost) < 0 else "same hire"
