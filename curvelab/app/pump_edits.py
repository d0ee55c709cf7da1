"""Pumps put beside the first and into the line, and taken out; each pump at the water keeps a suction hose of its own.

Two pumps on one hose starve: where each had its own, a pump more brings a hose more.
"""

from __future__ import annotations

from collections.abc import Callable, Mapping
from typing import Any, Final

from curvelab.errors import Fault, InputError
from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import PumpChoice, Setup
from curvelab.studies.several import relay
from curvelab.units import Quantity, display_unit, write

SUCTION: Final = "pump.suction"
"""Path of the control that says whether each pump has a suction hose of its own."""
MORE: Final = "pump.more"
"""Path of what the further pumps stand under."""
OWN: Final = "own"
SHARED: Final = "shared"
MOST_MORE: Final = 4
"""Most pumps beside the first, and most in the line, that the page adds. [-]"""
_PLACES: Final = 60


def at_water(setup: Setup) -> int:
    """Pumps at the water."""
    return setup.pump.abreast + len(setup.pump.beside)


def own_hoses(setup: Setup) -> bool:
    """Whether each pump at the water has a suction hose of its own."""
    return all(leg.abreast % at_water(setup) == 0 for leg in setup.suction.leg)


def set_abreast(setup: Setup, count: object) -> Setup:
    """So many equal pumps side by side."""
    if not isinstance(count, (int, float, str)):
        raise InputError(Fault("", "pump.abreast", "no number came", "choose one of the list"))
    return _hosed(setup, setup.with_("pump.abreast", int(count)))


def set_suction(setup: Setup, chosen: object) -> Setup:
    """A suction hose each, or one for all."""
    pumps, after = at_water(setup), setup
    for place, leg in enumerate(setup.suction.leg):
        each = leg.abreast // pumps if leg.abreast % pumps == 0 else leg.abreast
        after = after.with_(f"suction.leg.{place}.abreast", pumps * each if chosen == OWN else each)
    return after


def add_beside(setup: Setup, _place: int, catalogue: Catalogue) -> Setup:
    """One more pump beside it: of the same kind where the fleet has it."""
    count = len(setup.pump.beside)
    _room(count, MORE)
    return _hosed(setup, setup.with_(f"pump.beside.{count}", {"id": _like(setup, catalogue)}))


def drop_beside(setup: Setup, place: int, _catalogue: Catalogue) -> Setup:
    """Without one of the pumps beside it."""
    if not 0 <= place < len(setup.pump.beside):
        return setup
    return _hosed(setup, setup.with_(f"pump.beside.{place}", None))


def add_booster(setup: Setup, _place: int, catalogue: Catalogue) -> Setup:
    """One more pump in the line: the first where it does most and nothing could burst, else half way to the end."""
    count = len(setup.booster)
    _room(count, MORE)
    length = sum(leg.length.si for leg in setup.discharge.leg)
    start = max((booster.distance.si for booster in setup.booster), default=0.0)
    place = 0.5 * (start + length)
    name = _like(setup, catalogue)
    if count == 0:
        tried = setup.with_("booster.0", {"id": name, "distance": write(place, Quantity.LENGTH, setup.units)})
        place = relay(tried, catalogue, places=_PLACES).best_m or place
    unit = display_unit(Quantity.LENGTH, setup.units)
    tidy = unit.to_si(unit.round(unit.from_si(place)))
    place = tidy if start < tidy < length else place
    return setup.with_(f"booster.{count}", {"id": name, "distance": write(place, Quantity.LENGTH, setup.units)})


def drop_booster(setup: Setup, place: int, _catalogue: Catalogue) -> Setup:
    """Without one of the pumps in the line."""
    return setup.with_(f"booster.{place}", None) if 0 <= place < len(setup.booster) else setup


CHANGES: Final[Mapping[str, Callable[[Setup, int, Catalogue], Setup]]] = {
    "add-beside": add_beside,
    "drop-beside": drop_beside,
    "add-booster": add_booster,
    "drop-booster": drop_booster,
}


def picked(setup: Setup, path: str, value: Any) -> Setup | None:
    """What a choice among the pumps makes of a setup; ``None`` for any other path."""
    if path == "pump.abreast":
        return set_abreast(setup, value)
    return set_suction(setup, value) if path == SUCTION else None


def _hosed(before: Setup, after: Setup) -> Setup:
    """With as many more suction hoses as pumps, where each pump had its own."""
    was, now = at_water(before), at_water(after)
    if was == now or not own_hoses(before):
        return after
    for place, leg in enumerate(before.suction.leg):
        after = after.with_(f"suction.leg.{place}.abreast", leg.abreast // was * now)
    return after


def _like(setup: Setup, catalogue: Catalogue) -> str:
    others: tuple[PumpChoice, ...] = (setup.pump, *setup.pump.beside, *setup.booster)
    return next((other.id for other in others if other.id in catalogue.pumps), None) or next(iter(catalogue.pumps))


def _room(count: int, path: str) -> None:
    if count >= MOST_MORE:
        raise InputError(Fault("", path, f"{count} more pumps", "more of them only in a file"))
