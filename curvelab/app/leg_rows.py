"""Rows of the hose: the first leg in view; fittings and further legs behind a button that says what is there."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from curvelab.app.edits import BEND_FITTING, stands_in_water
from curvelab.app.rows import Row, row, sizes, slider
from curvelab.model.catalogue import Catalogue
from curvelab.model.hoseline import Leg
from curvelab.model.legfacts import Side, belongs
from curvelab.model.setup import Setup
from curvelab.report.legs import fittings_words, leg_words, stock_words

MOST_ABREAST: Final = 3
MOST_FITTINGS: Final = 50
"""Most of one fitting that a leg's count goes to. [-]"""


def first_leg(setup: Setup, side: Side, catalogue: Catalogue) -> Iterator[Row]:
    """The leg at the water, or at the pump's outlet: make, size and length in view."""
    leg = legs_of(setup, side)[0]
    more = row("fold", f"{side}.leg.0", "", spoken=f"fittings and more hose, {side}")
    more["rows"] = [*_fittings(setup, side, 0, catalogue), _buttons(setup, side, 0)]
    yield {**_make(leg, side, 0, catalogue), "kind": "hose", "more": more}
    yield from _lying(setup, side, 0, catalogue)
    if side == "discharge":
        yield _abreast(setup, side, 0)


def further_legs(setup: Setup, side: Side, catalogue: Catalogue) -> Iterator[Row]:
    """Every leg after the first, each in a fold of its own."""
    for place in range(1, len(legs_of(setup, side))):
        rows = [
            _make(legs_of(setup, side)[place], side, place, catalogue),
            *_lying(setup, side, place, catalogue),
            _abreast(setup, side, place),
            *_fittings(setup, side, place, catalogue),
            _buttons(setup, side, place),
        ]
        yield row("fold", f"{side}.leg.{place}", "then", spoken=named(side, place), rows=rows)


def leg_value(kind: str, setup: Setup, path: str, catalogue: Catalogue) -> str | int:
    """What a row of a leg shows: what its fold holds, what is in stock, how many of a fitting."""
    side, place = side_of(path), int(path.split(".")[2])
    leg = legs_of(setup, side)[place]
    if kind == "fitting":
        return leg.fittings.get(path.partition(".fittings.")[2], 0)
    if kind == "say":
        return stock_words(leg, catalogue, setup.units)
    if place == 0:
        return f"{fittings_words(leg, _shown_elsewhere(leg, side, 0, catalogue))}, more"
    return leg_words(leg, catalogue, setup.units)


def legs_of(setup: Setup, side: str) -> tuple[Leg, ...]:
    """Legs of a side."""
    return (setup.suction if side == "suction" else setup.discharge).leg


def side_of(path: str) -> Side:
    """The side that a leg's path belongs to."""
    return "suction" if path.startswith("suction.") else "discharge"


def named(side: str, place: int) -> str:
    """What a leg is called where its station isn't seen: ``discharge hose 2``."""
    return f"{side} hose" if place == 0 else f"{side} hose {place + 1}"


def _make(leg: Leg, side: Side, place: int, catalogue: Catalogue) -> Row:
    own = [] if leg.hose is not None else [("", "as written in the file")]
    hoses = [hose for hose in catalogue.hoses.values() if hose.use in (side, "both") or hose.id == leg.hose]
    names = [(hose.id, hose.label.removeprefix(f"{side} hose, ")) for hose in hoses]
    return row("pick", f"{side}.leg.{place}.hose", "Hose", options=[*own, *names], spoken=named(side, place))


def _lying(setup: Setup, side: Side, place: int, catalogue: Catalogue) -> Iterator[Row]:
    """Size or bore, and length."""
    leg, at, name = legs_of(setup, side)[place], f"{side}.leg.{place}", named(side, place)
    further = {"spoken": f"Hose length, {name}"} if place else {}
    hose = catalogue.hoses.get(leg.hose or "")
    if hose is not None:
        texts = [(size.size.text, size.size.si) for size in hose.size]
        yield sizes(setup, f"{at}.size", texts, spoken=f"{name} size")
    else:
        yield slider(setup, f"{at}.bore", "Hose bore", **({"spoken": f"Hose bore, {name}"} if place else {}))
    yield slider(setup, f"{at}.length", "Hose length", **further)


def _abreast(setup: Setup, side: Side, place: int) -> Row:
    most = max(MOST_ABREAST, legs_of(setup, side)[place].abreast)
    counts = [(str(n), str(n), f"{n} side by side") for n in range(1, most + 1)]
    further = {"spoken": f"Side by side, {named(side, place)}"} if place else {}
    return row("choice", f"{side}.leg.{place}.abreast", "Side by side", options=counts, symbol="hoses", **further)


def _fittings(setup: Setup, side: Side, place: int, catalogue: Catalogue) -> Iterator[Row]:
    """What the yard has of the hose, the leg's fittings with a count each, and what else may sit there."""
    leg, at, name = legs_of(setup, side)[place], f"{side}.leg.{place}", named(side, place)
    yield row("say", f"{at}.stock", "")
    elsewhere = _shown_elsewhere(leg, side, place, catalogue)
    for fitting in leg.fittings:
        if fitting not in elsewhere:
            label = catalogue.fittings[fitting].label
            yield row(
                "fitting", f"{at}.fittings.{fitting}", label, least=0, most=MOST_FITTINGS, spoken=f"{label}, {name}"
            )
    if leg.k > 0.0:
        yield slider(setup, f"{at}.k", "Further loss K", spoken=f"Further loss K, {name}")
    more = [
        (fitting.id, fitting.label)
        for fitting in catalogue.fittings.values()
        if fitting.id not in {*leg.fittings, *elsewhere}
        and not fitting.at_suction_end
        and belongs(fitting.id, leg, side=side, in_water=False, catalogue=catalogue)
    ]
    if more:
        yield row("adder", f"{at}.fittings", "Add a fitting", options=more, spoken=f"Add a fitting to {name}")


def _shown_elsewhere(leg: Leg, side: Side, place: int, catalogue: Catalogue) -> tuple[str, ...]:
    """Fittings that have a control of their own above: what stands in the water, and the bends after it."""
    if side != "suction" or place != 0:
        return ()
    ends = (fitting for fitting in leg.fittings if stands_in_water(catalogue.fittings.get(fitting)))
    return *ends, BEND_FITTING


def _buttons(setup: Setup, side: Side, place: int) -> Row:
    """What can be done with a leg as a whole."""
    count, path = len(legs_of(setup, side)), f"{side}.leg.{place}"
    wanted: list[dict[str, Any]] = [
        {"do": "add-leg", "label": "Add a hose after it", "then": f"{side}.leg.{place + 1}"},
        {"do": "split-leg", "label": "Split in two", "then": f"{side}.leg.{place + 1}"},
    ]
    if place > 0:
        wanted.append({"do": "move-leg", "value": -1, "label": "Move earlier", "then": f"{side}.leg.{place - 1}"})
    if place < count - 1:
        wanted.append({"do": "move-leg", "value": 1, "label": "Move later", "then": f"{side}.leg.{place + 1}"})
    if count > 1:
        left = f"{side}.leg.{min(place, count - 2)}"
        wanted.append({"do": "drop-leg", "label": "Take out", "then": left})
    return row("buttons", f"{path}.buttons", "", buttons=wanted, about=path, spoken=named(side, place))
