"""What is said of a tested pump: a verdict that a counter understands, and what to do."""

from __future__ import annotations

from typing import TYPE_CHECKING, Final

from curvelab.units import Quantity, System, show

if TYPE_CHECKING:
    from curvelab.studies.pumptest import Suction

_ADVICE: Final[dict[str, str]] = {
    "as-new": "Back on the shelf.",
    "tired": (
        "Quote it with this wear and for low heads first; at the next service look at strainer, impeller clearance "
        "and gaskets."
    ),
    "worn": (
        "Not out again before someone has opened it: impeller, its clearance, the casing, the seal. Check first that "
        "the engine reaches its speed."
    ),
    "unclear": "Test again with the speed measured and a gauge whose scale ends just above the reading.",
    "too-good": "No pump gives more than that: check the gauge, the speed, and whether this is the right sheet.",
    "unknown": "Read the pressure with the end shut, in clean water, at a measured speed.",
}
_AIR: Final = "For the air that gets in: suction seal, gaskets, drain plug, filler cap, and the flap at the inlet."


def sentence_of(verdict: str, wear: float | None, doubt: float | None, *, agree: bool, sheet: str) -> str:
    """The verdict on the head."""
    if wear is None or doubt is None:
        return "Nothing is known of its head."
    less, width = round(100.0 * (1.0 - wear)), max(round(100.0 * doubt), 1)
    off = f"{abs(less)} % {'less' if less > 0 else 'more'} head than {sheet}" if less else f"the head of {sheet}"
    said = {
        "as-new": f"As new: {off}, give or take {width} %.",
        "tired": f"Tired: {off}, give or take {width} %.",
        "worn": f"Worn: {off}, give or take {width} %.",
        "unclear": f"Perhaps {off}, but the readings may be {width} % off: nobody can tell it from new.",
        "too-good": f"Hard to believe: {off}, give or take {width} %.",
    }[verdict]
    return said if agree else f"{said} The readings don't agree."


def drawn(suction: Suction | None, system: System) -> str:
    """The verdict on the dry pump's vacuum; empty where none was read."""
    if suction is None:
        return ""
    held, draws = show(suction.vacuum_pa, Quantity.VACUUM, system), show(suction.draws_m, Quantity.HEAD, system)
    should = show(suction.should_draw_m, Quantity.HEAD, system)
    by = "its sheet says" if suction.by_sheet else "a sound one draws"
    start = "Dry it held" if suction.tight else "It draws air: dry it held only"
    return f"{start} {held}, which lifts water {draws}; {by} {should} there."


def advice_of(verdict: str, *, tight: bool) -> str:
    """What to do."""
    return _ADVICE[verdict] if tight else f"{_AIR} {_ADVICE[verdict] if verdict != 'as-new' else ''}".strip()
