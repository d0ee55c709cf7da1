"""What the doubts come to, in words: how often it works, the band, what to measure, and what was taken to be unsure."""

from __future__ import annotations

from fractions import Fraction
from typing import TYPE_CHECKING, Final

from curvelab.model.setup import Setup
from curvelab.studies.doubt_draws import Doubts
from curvelab.units import Quantity, System, display_unit, plain, show

if TYPE_CHECKING:
    from curvelab.studies.doubt import Doubt, Spread

_PAST: Final = 0.1
"""Share of the samples past their tested curve from which on the upper end of a band isn't known. [-]"""
MENTION: Final = 0.01
"""Least share of the samples of a state that the sentence speaks of. [-]"""
WHAT: Final = {
    "lift": "the lift",
    "rise": "the rise",
    "length": "the length of hose",
    "bore": "the bore of the hose",
    "roughness": "the roughness of the hose",
    "k": "the loss in the fittings",
    "head": "the pump's head",
    "npshr": "what the pump's suction needs",
}
"""Doubts as the subject of a sentence."""
HOW: Final = {
    "lift": "Measure down from the pump to the water with a tape.",
    "rise": "Measure the heights along the hose with a level, or with water in a clear hose.",
    "length": "Count the lengths of hose, and measure one.",
    "bore": "Measure round the filled hose with a tape: a third of that, less its walls, is the bore.",
    "roughness": "It can't be measured on the spot: fill a drum by the watch instead.",
    "k": "Read the vacuum gauge: it shows what strainer and fittings take.",
    "head": "Read the gauge at the pump and fill a drum by the watch: they show what the pump still gives.",
    "npshr": "Read the vacuum gauge where the flow begins to fall.",
}
"""How somebody at the job shrinks a doubt: common practice, no source."""
_SHORT: Final = {"k": "fittings", "npshr": "NPSHR"}
"""Doubts in a list, where their own name is no word."""
_LISTED: Final = {"hose": ("bore", "roughness"), "fittings": ("k",)}
"""Doubts that the catalogue brings along, as people call what they are of."""
_DOES: Final = {
    "no-lift": "it won't lift at all",
    "no-prime": "it won't prime",
    "cavitating": "its suction is starved",
    "thin": "it runs with little suction to spare",
    "off-curve": "it runs past its tested curve",
    "sound": "it runs well",
}
"""States as half a sentence, the worst first."""


def parts(found: Doubt, setup: Setup, doubts: Doubts) -> tuple[str, ...]:
    """The shares of the states where there is more than one, the band, the goal, what to measure, what was taken."""
    said = [_mixed(found), _band(found, setup), _goal(found, setup), _first(found, setup), _taken(setup, doubts)]
    return tuple(part for part in said if part)


def mixed(found: Doubt) -> bool:
    """More than one state is worth speaking of: the sentences begin with their shares."""
    return bool(_mixed(found))


def brief(found: Doubt, setup: Setup) -> str:
    """For a tab: ``likely 173 to 199 (8 in 10)``."""
    often = _often(found).replace(" times", "")
    return f"likely {_span(found, found.flow_m3_s, setup.units, unit=False)} ({often})"


def past_curve(found: Doubt) -> bool:
    """The upper end of the band is no more than the end of the tested curve: it may well be more."""
    return found.state_share.get("off-curve", 0.0) > _PAST


def _often(found: Doubt) -> str:
    """How often the flow lies within the band that is said: with no upper end, all but the least tenth."""
    return "9 times in 10" if past_curve(found) else "8 times in 10"


def odds(share: float) -> str:
    """A share as people say it: one time in 5, 3 times in 10, one time in 40."""
    if share >= 0.95:
        return "nearly always"
    if share < 0.1:
        return f"one time in {round(1.0 / share)}" if share > 0.0 else "never"
    tenths = Fraction(min(round(share * 10), 9), 10)
    times = "one time" if tenths.numerator == 1 else f"{tenths.numerator} times"
    return f"{times} in {tenths.denominator}"


def _span(found: Doubt, band: Spread, system: System, *, unit: bool = True) -> str:
    """Both ends of a band, or the one figure that they come to.

    Where one draw in ten or more runs past its tested curve, nobody knows the upper end.
    """
    if past_curve(found):
        return f"{show(band.low, Quantity.FLOW, system, unit=unit)} or more"
    chosen = display_unit(Quantity.FLOW, system, band.high)  # one unit for both, said where it isn't the usual one
    low, high = (plain(chosen.round(chosen.from_si(flow))) for flow in (band.low, band.high))
    last = f"{high} {chosen.symbol}" if unit or chosen != display_unit(Quantity.FLOW, system) else high
    return last if low == high else f"{low} to {last}"


def _mixed(found: Doubt) -> str:
    seen = [state for state in _DOES if found.state_share.get(state, 0.0) >= MENTION]
    if len(seen) < 2:
        return ""
    said = "; ".join(f"{odds(found.state_share[state])} {_DOES[state]}" for state in seen)
    return f"{said[0].upper()}{said[1:]}."


def _band(found: Doubt, setup: Setup) -> str:
    if found.blame is None:
        state = next(iter(found.state_share))
        alike = _span(found, found.flow_m3_s, setup.units) if found.flow_m3_s.high > 0.0 else "No flow"
        return f"{alike}, and {_DOES[state]}: nothing that is in doubt changes it."
    return f"{_often(found)}: {_span(found, found.flow_m3_s, setup.units)}."


def _goal(found: Doubt, setup: Setup) -> str:
    if found.goal_share is None or found.blame is None:
        return ""
    wanted = show(setup.goal.flow_m3_s, Quantity.FLOW, setup.units)
    often = odds(found.goal_share)
    return f"It never reaches {wanted}." if often == "never" else f"It reaches {wanted} {often}."


def _first(found: Doubt, setup: Setup) -> str:
    if found.measure is None or found.blame is None:
        return ""
    what, left = WHAT[found.measure.doubt], _span(found, found.measure.flow_m3_s, setup.units)
    share = show(found.blame[0].share, Quantity.SHARE, setup.units)
    how = HOW[found.measure.doubt]
    alike = left == _span(found, found.flow_m3_s, setup.units)
    then = "hardly shrinks" if alike else f"shrinks to {left}"
    return f"{what[0].upper()}{what[1:]} matters most ({share}): once you know it, the spread {then}. {how}"


def within(name: str, setup: Setup, doubts: Doubts) -> str:
    """How wide a doubt was taken: ``± 2 ft``, ``half to twice``, ``as each is listed``."""
    if name in doubts.stated and setup.doubt is not None:
        return f"± {getattr(setup.doubt, name).show(setup.units)}"
    if name not in doubts.usual:
        return "as each is listed"
    low, high = doubts.usual[name]
    if name == "roughness":
        return "half to twice" if round(high, 2) == 2.0 else f"÷ {1.0 / low:.2g} to × {high:.2g}"
    below, above = (show(abs(factor - 1.0), Quantity.SHARE, setup.units) for factor in (low, high))
    return f"± {above}" if below == above else f"−{below} to +{above}"


def _taken(setup: Setup, doubts: Doubts) -> str:
    """Which doubts these are: a band is worth no more than what was let vary."""
    stated = [
        f"{_SHORT.get(name, name)} {within(name, setup, doubts)}" for name in doubts.names if name in doubts.stated
    ]
    usual = [name for name in doubts.names if name not in doubts.stated]
    hoses = [words for words, names in _LISTED.items() if any(name in usual for name in names)]
    parts = [f"the catalogue's spread of {' and '.join(hoses)}"] if hoses else []
    if "head" in usual:
        graded = f"a curve of ISO 9906 grade {doubts.grade} (pump test tolerance)"
        parts.append(graded if doubts.grade else "the band of the estimated curve")
    if not stated:
        known = "heights and lengths as stated"
        return f"Taken: {' and '.join(parts)}; {known}." if parts else "Taken: no doubt at all."
    said = f"Taken: {', '.join(stated)}"
    return f"{said}. Besides: {' and '.join(parts)}." if parts else f"{said}; nothing else."
