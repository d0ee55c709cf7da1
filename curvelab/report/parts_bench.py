"""Parts of the bench explained: the ledger, the suction budget, the curves."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from dataclasses import replace
from typing import Final

from curvelab.report.pointed import Formula, PartSaid, Seen, made
from curvelab.report.words import delivers, flow_words, hardest_point, on_chart
from curvelab.studies.result import State
from curvelab.studies.sumline import COLEBROOK, WEISBACH, Line
from curvelab.units import Quantity

_HEADS, _PUSH, _AIR = "What the site asks", "What is left", "Air and water"
_HOSES: Final = {
    "suction": ("Suction hose", "the suction hose, its strainer and fittings"),
    "discharge": ("Discharge hose", "the hose and its fittings"),
}
"""Part of the calculation by side, and what takes the head."""
_SYMBOLS: Final[dict[str, tuple[str, Quantity | None]]] = {
    "friction factor": ("f", None),
    "length": ("L", Quantity.LENGTH),
    "bore": ("D", Quantity.BORE),
    "fittings": ("K", None),
    "speed": ("v", Quantity.SPEED),
}
"""Lines of a hose whose values stand in the formula of its loss, by the end of their title."""


# --- the ledger


def _lift(seen: Seen) -> PartSaid:
    lift = seen.figures.lift
    where = "It costs the same at every flow."
    sentence = f"The pump stands {lift} over the water, and the water has to be drawn up to it. {where}"
    if lift.number < 0:
        sentence = f"The water stands {lift.size} over the pump and helps to push. It helps the same at every flow."
    return made(seen.title("lift", lift), sentence, seen.lines(_HEADS, "Lift"))


def _rise(seen: Seen) -> PartSaid | None:
    number = seen.figure("rise")
    if number is None:
        return None
    point = hardest_point(seen.figures.result, seen.setup)
    sentence = f"The {point} lies {number.size} {'over' if number.number >= 0 else 'under'} the pump. "
    sentence += (
        "It costs the same at every flow." if number.number >= 0 else "Going down helps, the same at every flow."
    )
    return made(seen.title("rise", number), sentence, seen.lines(_HEADS, "Rise"))


def _hose(seen: Seen, side: str) -> PartSaid | None:
    number = seen.figure(side)
    if number is None or not delivers(seen.figures.result):
        return None
    part, name = _HOSES[side]
    lines = seen.lines(part)
    shown = [line for line in lines if line.title.endswith(": loss")]
    given = tuple(_given(seen, lines)) if len(shown) == 1 else ()
    if len(shown) > 1:
        shown += seen.lines(part, "Lost on")
    sentence = f"What {name} take from the water. Twice the flow loses nearly four times as much here."
    said = made(seen.title(side, number), sentence, shown, given)
    return replace(said, source=f"{WEISBACH}; f: {COLEBROOK}")


def _given(seen: Seen, lines: list[Line]) -> Iterator[tuple[str, str]]:
    for end, (symbol, quantity) in _SYMBOLS.items():
        for line in lines:
            if line.title.endswith(f": {end}"):
                text = f"{line.value:.3g}" if quantity is None else seen.shown(line.value, quantity)
                yield symbol, text


def _leaving(seen: Seen) -> PartSaid | None:
    number = seen.figure("leaving")
    if number is None or not delivers(seen.figures.result):
        return None
    speed = [line for line in seen.lines(_HOSES["discharge"][0]) if line.title.endswith(": speed")][-1:]
    given = tuple(("v", seen.shown(line.value, Quantity.SPEED)) for line in speed)
    sentence = "The water leaves with speed, and that speed had to be paid for with head."
    return made(seen.title("leaving", number), sentence, seen.lines(_HEADS, "Leaving", "Head at"), given)


def _pressure(seen: Seen) -> PartSaid | None:
    number = seen.figure("pressure")
    if number is None:
        return None
    sentence = f"What is asked at the {hardest_point(seen.figures.result, seen.setup)}, as height of water."
    if number.number < 0:
        sentence = "The hose runs down from here and pulls: that helps, as far as a siphon can."
    return made(seen.title("pressure", number), sentence, seen.lines(_HEADS, "Pressure kept"))


def _of_heads(item: str, line: str, sentence: str) -> Callable[[Seen], PartSaid | None]:
    """What says of a part no more than this sentence and its line among the heads."""

    def said(seen: Seen) -> PartSaid | None:
        number = seen.figure(item)
        return None if number is None else made(seen.title(item, number), sentence, seen.lines(_HEADS, line))

    return said


def _lost(seen: Seen) -> PartSaid | None:
    lines = seen.lines(_HEADS, "Lost:")
    if not lines:
        return None
    lost = seen.figures.head(lines[0].value)
    sentence = "The pump could give this much more head, but it is starved: the air pushes no more water in."
    return made(f"Lost, the pump is starved {lost}", sentence, lines)


def _short(seen: Seen) -> PartSaid | None:
    figures = seen.figures
    if figures.result.state is not State.NO_LIFT or figures.shutoff is None:
        return None
    sentence = f"The pump holds water up {figures.shutoff} with no flow. The first drop asks {figures.start}."
    return made(
        f"Short {figures.start.minus(figures.shutoff)}",
        sentence,
        seen.lines(_HEADS, "Head that starting", "Greatest", "Short"),
    )


# --- the suction


def _air(seen: Seen) -> PartSaid:
    sentence = "Nothing pulls water up a suction hose: the air pushes it, and this is all the push there is here."
    return made(f"The air’s push {seen.figures.air}", sentence, seen.lines(_AIR, "Air pressure", "The air's push"))


def _vapour(seen: Seen) -> PartSaid | None:
    number = seen.figure("vapour")
    if number is None:
        return None
    sentence = "Part of the push that can’t be used: with less the water boils. Warm water takes more."
    return made(seen.title("vapour", number), sentence, seen.lines(_AIR, "Vapour", "What vapour"))


def _left(seen: Seen) -> PartSaid | None:
    npsha = seen.figures.npsha
    if npsha is None:
        return None
    sentence = "What is left of the air’s push at the pump, when lift, hose and vapour have taken theirs."
    return made(f"Left at the pump, NPSHA {npsha}", sentence, seen.lines(_PUSH, "Left"))


def _needs(seen: Seen) -> PartSaid | None:
    number = seen.figure("needs")
    if number is None or not delivers(seen.figures.result):
        return None
    sentence = "What must be left of the push at this flow, so that the water doesn’t boil in the pump."
    return made(f"The pump needs, NPSHR {number}", sentence, seen.lines(_PUSH, "What the pump needs (NPSHR)"))


def _spare(seen: Seen) -> PartSaid | None:
    number = seen.figure("spare")
    if number is None or not delivers(seen.figures.result):
        return None
    asked = seen.figures.head(seen.figures.result.margin_m)
    sentence = f"What is left over when the pump has what it needs. {asked} is asked: strainers clog and ponds fall."
    return made(seen.title("spare", number), sentence, seen.lines(_PUSH, "Suction to spare"))


def _limit(seen: Seen) -> PartSaid | None:
    limit = seen.figures.limit
    if limit is None or not delivers(seen.figures.result):
        return None
    formula = Formula("NPSHA = NPSHR", "", str(limit))
    return PartSaid(
        f"The suction gives out at {limit}", on_chart(seen.figures), (formula,), source="definition of NPSH"
    )


# --- the curves


def _flow(seen: Seen) -> PartSaid | None:
    if not delivers(seen.figures.result):
        return None
    sentence = "Here the curves meet: the pump gives just the head that the site asks."
    if seen.figures.result.state is State.CAVITATING:
        sentence = "The curves meet further on, but no more water gets into the pump than this."
    lines = [
        line
        for line in seen.lines(_HEADS, "Head that the site asks", "Head that the pump gives")
        if ": past" not in line.title
    ]
    return made(f"{flow_words(seen.figures).text} at {seen.figures.total}", sentence, lines)


def _curve(seen: Seen) -> PartSaid:
    sentence = "The more water a pump passes, the less head it gives. This is its sheet, at this throttle and wear."
    return PartSaid(f"{seen.pump} gives", sentence, source="the pump’s file")


def _asks(seen: Seen) -> PartSaid:
    sentence = "What the site asks at each flow: heights first, then what hose takes, more and more as the flow grows."
    lines = seen.lines(_HEADS, "Head that the site asks")
    return made(f"This site asks, {seen.figures.static} with no flow", sentence, lines)


BENCH: Final[dict[str, Callable[[Seen], PartSaid | None]]] = {
    "lift": _lift,
    "rise": _rise,
    "suction": lambda seen: _hose(seen, "suction"),
    "discharge": lambda seen: _hose(seen, "discharge"),
    "leaving": _leaving,
    "pressure": _pressure,
    "boosters": _of_heads(
        "boosters", "Head of the pumps", "What pumps in the line add, so that the one at the water has less to do."
    ),
    "surplus": _of_heads(
        "surplus",
        "Given beyond",
        "The pump still gives more than is asked where its tested curve ends: more water comes than is shown.",
    ),
    "lost": _lost,
    "short": _short,
    "air": _air,
    "vapour": _vapour,
    "left": _left,
    "needs": _needs,
    "spare": _spare,
    "limit": _limit,
    "flow": _flow,
    "curve": _curve,
    "asks": _asks,
}
"""What is said of each part of the bench; ``None`` where a setup has none."""
