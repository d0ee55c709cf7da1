"""Rows of the pumps: the first in view; those beside it and in the line behind a button that says how many."""

from __future__ import annotations

from collections.abc import Iterator, Sequence
from typing import Any, Final

from curvelab.app.pump_edits import MORE, MOST_MORE, OWN, SHARED, SUCTION, at_water, own_hoses
from curvelab.app.rows import Row, row, slider
from curvelab.model.catalogue import Catalogue
from curvelab.model.pump import Pump
from curvelab.model.setup import PumpChoice, Setup
from curvelab.units import Quantity, display_unit

MOST_ABREAST: Final = 3


def pump_rows(setup: Setup, catalogue: Catalogue) -> Iterator[Row]:
    """The pump at the water, and behind its button the others."""
    more = row("fold", MORE, "", spoken="more pumps", rows=list(_more(setup, catalogue)))
    first = row("pick", "pump.id", "Pump", spoken="Pump from the fleet", options=_fleet(setup.pump, catalogue))
    yield {**first, "kind": "hose", "more": more}
    if setup.pump.speed is not None:
        yield slider(setup, "pump.speed", "Engine speed")
    else:
        yield slider(setup, "pump.throttle", "Throttle")


def pump_value(setup: Setup, path: str) -> str:
    """What the fold and the choice of suction hoses show."""
    if path == SUCTION:
        return OWN if own_hoses(setup) else SHARED
    count = at_water(setup) + len(setup.booster)
    return f"{count} pump{'s' if count > 1 else ''}"


def _fleet(choice: PumpChoice, catalogue: Catalogue) -> list[tuple[str, str]]:
    def said(pump: Pump) -> str:
        return f"{pump.label}, {pump.kind.replace('-', ' ')}"

    own = [] if choice.record is None else [("", said(choice.record))]
    return [*own, *((pump.id, said(pump)) for pump in catalogue.pumps.values())]


def _more(setup: Setup, catalogue: Catalogue) -> Iterator[Row]:
    most = max(MOST_ABREAST, setup.pump.abreast)
    counts = [(str(n), str(n), f"{n} of this pump side by side") for n in range(1, most + 1)]
    yield row("choice", "pump.abreast", "Side by side", options=counts, symbol="pumps", spoken="Pumps side by side")
    for place, beside in enumerate(setup.pump.beside):
        yield _other(f"pump.beside.{place}", "Beside it", beside, catalogue, place)
    if at_water(setup) > 1:
        hoses = [(OWN, "one each", "each pump has its own"), (SHARED, "shared", "one for all pumps")]
        yield row("choice", SUCTION, "Suction hose", options=hoses, spoken="Suction hoses of the pumps")
    for place, booster in enumerate(setup.booster):
        yield _other(f"booster.{place}", "In the line", booster, catalogue, place)
        yield _along(setup, place)
    yield from _adders(setup)


def _other(at: str, label: str, choice: PumpChoice, catalogue: Catalogue, place: int) -> Row:
    """A pump more, and what takes it out again."""
    beside = at.startswith("pump.")
    return row(
        "other",
        f"{at}.id",
        label,
        options=_fleet(choice, catalogue),
        spoken=f"pump {'beside' if beside else 'in the line'} {place + 1}",
        drop={"do": "drop-beside" if beside else "drop-booster", "value": place},
        about=MORE,
    )


def _adders(setup: Setup) -> Iterator[Row]:
    wanted: list[dict[str, Any]] = []
    if len(setup.pump.beside) < MOST_MORE:
        wanted.append({"do": "add-beside", "label": "Another pump beside", "then": MORE})
    if len(setup.booster) < MOST_MORE:
        wanted.append({"do": "add-booster", "label": "A pump in the line", "then": MORE})
    yield row("buttons", f"{MORE}.buttons", "", buttons=wanted, about=MORE, spoken="add")


def _along(setup: Setup, place: int) -> Row:
    """Where a pump stands in the line: as far as the hose lies."""
    spoken = f"Along the hose, pump in the line {place + 1}"
    made = slider(setup, f"booster.{place}.distance", "Along the hose", spoken=spoken)
    length = sum(leg.length.si for leg in setup.discharge.leg)
    unit = display_unit(Quantity.LENGTH, setup.units)
    return {**made, "steps": _within(made["low"], made["steps"], unit.from_si(length))}


def _within(low: float, steps: Sequence[Sequence[float]], end: float) -> list[list[float]]:
    """Steps of a slider, those that lie under ``end``; one at least."""
    found: list[list[float]] = []
    start = low
    for to, step in steps:
        reach = min(to, start + step * max(int((end - start) / step - 1e-9), 0))
        if reach > start:
            found.append([reach, step])
        if reach < to:
            break
        start = to
    return found or [list(steps[0])]
