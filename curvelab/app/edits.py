"""What a control asks for, made into a changed setup. Only here does the page change a setup."""

from __future__ import annotations

import re
from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final

from curvelab.app import leg_edits, pump_edits, water_edits
from curvelab.app.rows import figure
from curvelab.errors import Fault, InputError
from curvelab.model.catalogue import Catalogue
from curvelab.model.fields import field_of, range_of
from curvelab.model.fitting import Fitting
from curvelab.model.hoseline import Leg
from curvelab.model.route import taken_along
from curvelab.model.setup import Setup
from curvelab.units import Quantity, System, display_unit, write

END_FITTING: Final = "suction.end"
"""Path of the control that chooses what stands in the water; a leg holds it among its other fittings."""
BENDS: Final = "suction.bends"
"""Path of the control that counts the bends of the suction hose."""
BEND_FITTING: Final = "elbow-90"
MOST_POINTS: Final = 12
"""Most points of the route that the page's own table makes. [-]"""
_POINT: Final = ("distance", "height")
_NUMBER: Final = re.compile(r"[+\-−]?(\d{1,3}(,\d{3})+|\d+)?(\.\d+)?\s*")
_FITTING: Final = re.compile(r"(suction|discharge)\.leg\.\d{1,2}\.fittings\.[a-z0-9-]+")
_LEG: Final = re.compile(r"(suction|discharge)\.leg\.(\d{1,2})")
_LONGEST: Final = 90


@dataclass(frozen=True, slots=True)
class Edit:
    """One change.

    ``do``: set (a number as shown), type (text), pick (a choice), units, open, add-point, drop-point, add-leg,
    split-leg, drop-leg, move-leg, add-beside, drop-beside, add-booster, drop-booster; and what no browser sends: fields
    (several texts), moved (several numbers as shown), insert-point (place, distance, height).
    """

    do: str
    path: str = ""
    value: Any = None


def read_edit(message: Any) -> Edit | None:
    """An edit from what the browser sent; ``None`` for anything that is none."""
    if not isinstance(message, dict) or message.get("do") not in _CHANGES.keys() - _OWN:
        return None
    path = message.get("path", "")
    value = message.get("number", message.get("text", message.get("value", message.get("place"))))
    if not isinstance(path, str) or len(path) > _LONGEST or not isinstance(value, (str, int, float, type(None))):
        return None
    if isinstance(value, str) and len(value) > 4 * _LONGEST:
        return None
    return Edit(message["do"], path, value)


def change(setup: Setup, edit: Edit, catalogue: Catalogue) -> Setup:
    """The setup with one change made; the same object where nothing changes.

    Raises
    ------
    InputError
        If the value, or what it makes of the setup, is wrong.
    """
    return _CHANGES[edit.do](setup, edit, catalogue)


def _set(setup: Setup, edit: Edit, _catalogue: Catalogue) -> Setup:
    """A number in the unit shown, from a slider."""
    if not isinstance(edit.value, (int, float)) or isinstance(edit.value, bool):
        raise InputError(Fault("", edit.path, "no number came", "move the slider again"))
    field, places = field_of(edit.path)
    if field.page:
        si = range_of(field, setup.units).si(float(edit.value))
        if field.quantity is None and "" in field.page:
            si = round(si)
    else:
        raise InputError(Fault("", edit.path, "is no slider", "type a value"))
    return _reaching(setup, field.set(setup, si, *places, system=setup.units), edit.path)


def _type(setup: Setup, edit: Edit, catalogue: Catalogue) -> Setup:
    """Text from a box: a number in the unit shown, or a number with a unit of its own.

    The very text that is shown changes nothing: the setup may hold more figures than there is room for.
    """
    text = str(edit.value).strip()
    field, places = field_of(edit.path)
    if field.quantity is None and not field.page:
        return setup.with_(field.at(*places), text or None)
    if text and field.get(setup, *places) is not None and text == figure(setup, edit.path)[1]:
        return setup
    if not text:
        emptied = water_edits.emptied(setup, edit.path)
        if emptied is not None:
            return emptied
    if _NUMBER.fullmatch(text) and any(letter.isdigit() for letter in text):
        number = float(text.replace(",", "").replace("−", "-"))
        brim = water_edits.alike(setup, edit.path, number)
        if brim is not None:
            return setup.with_(edit.path, brim)
        if field.page or field.quantity is None:
            return _set(setup, Edit("set", edit.path, number), catalogue)
        si = display_unit(field.quantity, setup.units, field.si(setup, *places)).to_si(number)
        text = write(si, field.quantity, setup.units)
    if field.quantity is None and text.endswith("%"):
        return _type(setup, Edit("type", edit.path, text.removesuffix("%")), catalogue)
    several = water_edits.wanted(setup, edit.path, text)
    if several is not None:
        return several
    changed = setup.with_(field.at(*places), text)
    si = field.si(changed, *places)
    return changed if si is None else _reaching(setup, changed, edit.path)


def _reaching(before: Setup, after: Setup, path: str) -> Setup:
    """The changed setup with the points of its route taken along where the hose would no longer reach them."""
    parts = path.split(".")
    if path == "discharge.rise" or (parts[:2] == ["discharge", "leg"] and parts[-1] == "length"):
        return taken_along(before, after)
    if parts[:2] == ["discharge", "waypoint"] and parts[-1] == "height":
        return taken_along(before, after, int(parts[2]))
    return after


def moved_along(before: Setup, after: Setup, edit: Edit) -> str:
    """Which points of the route moved along with an edit of something else, in words; empty where none did."""
    if edit.do not in ("set", "type", "moved", *leg_edits.CHANGES) or not edit.path.startswith("discharge."):
        return ""
    pairs = zip(before.discharge.waypoint, after.discharge.waypoint, strict=False)
    own = {path.rpartition(".")[0] for path in (edit.value if isinstance(edit.value, Mapping) else [edit.path])}
    moved = [
        f"{new.name or f'point {place + 1}'} {new.height.show(after.units)}"
        for place, (old, new) in enumerate(pairs)
        if old != new and f"discharge.waypoint.{place}" not in own
    ]
    lines = zip(before.booster, after.booster, strict=False)
    moved += [f"pump in the line {new.distance.show(after.units)}" for old, new in lines if old != new]
    if not moved:
        return ""
    return (
        f"So that the hose reaches: {moved[0]}."
        if len(moved) == 1
        else "So that the hose reaches, points of the run moved along."
    )


def _pick(setup: Setup, edit: Edit, catalogue: Catalogue) -> Setup:
    """A choice from a list."""
    path, value = edit.path, edit.value
    if path == END_FITTING:
        return _end_fitting(setup, str(value), catalogue)
    if path == BENDS:
        return setup.with_(
            f"suction.leg.0.fittings.{BEND_FITTING}", int(value) if isinstance(value, (int, float)) else 0
        )
    if _FITTING.fullmatch(path):
        return setup.with_(path, int(value) if isinstance(value, (int, float)) else 0)
    several = pump_edits.picked(setup, path, value) or water_edits.picked(setup, path, value)
    if several is not None:
        return several
    if path == "outlet.kind":
        return _outlet(setup, str(value))
    if path.endswith(".hose"):
        return _hose(setup, path, str(value), catalogue)
    if path.endswith((".abreast", ".count")):
        value = int(value)
    field, places = field_of(path)
    return setup.with_(field.at(*places), value)


def _end_fitting(setup: Setup, chosen: str, catalogue: Catalogue) -> Setup:
    counts = {
        name: n
        for name, n in setup.suction.leg[0].fittings.items()
        if not stands_in_water(catalogue.fittings.get(name))
    }
    if chosen:
        counts = {chosen: 1, **counts}
    return setup.with_("suction.leg.0.fittings", counts)


def stands_in_water(fitting: Fitting | None) -> bool:
    """It belongs at the end of the suction hose."""
    return fitting is not None and fitting.at_suction_end


def _hose(setup: Setup, path: str, chosen: str, catalogue: Catalogue) -> Setup:
    """Another make of hose, in the size nearest to the one that lies there."""
    hose = catalogue.hoses.get(chosen)
    if hose is None:
        raise InputError(Fault("", path, "no such hose", "choose one of the list"))
    at = path.removesuffix(".hose")
    side, _, place = at.split(".")
    leg: Leg = getattr(setup, side).leg[int(place)]
    bore = leg.size or leg.bore
    size = min(hose.size, key=lambda s: abs(s.size.si - bore.si)) if bore is not None else hose.size[0]
    changed = {"hose": chosen, "size": size.size.text, "length": leg.length.text, "abreast": leg.abreast}
    return setup.with_(at, {**changed, "fittings": dict(leg.fittings), "k": leg.k})


_OUTLETS: Final[dict[str, dict[str, tuple[Quantity, float] | int]]] = {
    "open": {},
    "submerged": {"depth": (Quantity.LENGTH, 0.3048)},
    "nozzle": {"bore": (Quantity.BORE, 0.0254), "count": 1},
    "pressure": {"pressure": (Quantity.PRESSURE, 206_842.72)},
    "sprinklers": {"count": 6, "flow": (Quantity.FLOW, 3.785411784e-4), "pressure": (Quantity.PRESSURE, 275_790.29)},
}
"""What an outlet starts with when it is chosen, SI. Our own choice: 1 ft, 1 in, 30 psi, six of 6 gal/min at 40 psi."""


def _outlet(setup: Setup, kind: str) -> Setup:
    if kind == setup.outlet.kind:
        return setup
    start = _OUTLETS.get(kind)
    if start is None:
        raise InputError(Fault("", "outlet.kind", "no such outlet", "choose one of the list"))
    written = {name: what if isinstance(what, int) else _tidy(*what, setup.units) for name, what in start.items()}
    return setup.with_("outlet", {"kind": kind, **written})


def _tidy(quantity: Quantity, si: float, system: System) -> str:
    """An amount as a person would write it in those units."""
    unit = display_unit(quantity, system)
    return write(unit.to_si(unit.round(unit.from_si(si))), quantity, system)


def _fields(setup: Setup, edit: Edit, _catalogue: Catalogue) -> Setup:
    """Several fields at once, path to text, as a study found them; nothing that a browser could send."""
    if not isinstance(edit.value, Mapping):
        raise InputError(Fault("", "", "no fields came", "press the button again"))
    for path, text in edit.value.items():
        setup = setup.with_(path, text)
    return setup


def _moved(setup: Setup, edit: Edit, _catalogue: Catalogue) -> Setup:
    """Numbers in the units shown by path, as a handle on a picture was moved; ``path`` is what it holds."""
    after = setup
    for path, number in edit.value.items():
        field, places = field_of(path)
        after = field.set(after, range_of(field, setup.units).si(number), *places, system=setup.units)
    parts = edit.path.split(".")
    return taken_along(setup, after, int(parts[2]) if parts[:2] == ["discharge", "waypoint"] else None)


def _insert_point(setup: Setup, edit: Edit, _catalogue: Catalogue) -> Setup:
    """A point of the route between two others, lying on the hose."""
    at, *lengths = edit.value
    made = {name: _tidy(Quantity.LENGTH, si, setup.units) for name, si in zip(_POINT, lengths, strict=True)}
    points: list[Any] = list(setup.discharge.waypoint)
    points.insert(at, made)
    return taken_along(setup, setup.with_("discharge.waypoint", points), at)


def _units(setup: Setup, edit: Edit, _catalogue: Catalogue) -> Setup:
    return setup if edit.value == setup.units else setup.with_("units", edit.value)


def _open(setup: Setup, edit: Edit, catalogue: Catalogue) -> Setup:
    """A ready setup in place of this one; the units stay those of the visitor."""
    ready = catalogue.setups.get(str(edit.value))
    if ready is None:
        raise InputError(Fault("", "", "no such job", "choose one of the list"))
    return ready if ready.units == setup.units else ready.with_("units", str(setup.units))


def _add_point(setup: Setup, _edit: Edit, _catalogue: Catalogue) -> Setup:
    """A point half way along the last stretch of hose, at the height the hose has there."""
    points = setup.discharge.waypoint
    if len(points) >= MOST_POINTS:
        raise InputError(Fault("", "discharge.waypoint", f"{len(points)} points", "more of them only in a file"))
    length = sum(leg.length.si for leg in setup.discharge.leg)
    start, foot = (points[-1].distance.si, points[-1].height.si) if points else (0.0, 0.0)
    half = (0.5 * (start + length), 0.5 * (foot + setup.discharge.rise.si))
    table = {name: _tidy(Quantity.LENGTH, si, setup.units) for name, si in zip(_POINT, half, strict=True)}
    return setup.with_(f"discharge.waypoint.{len(points)}", table)


def _drop_point(setup: Setup, edit: Edit, _catalogue: Catalogue) -> Setup:
    if not isinstance(edit.value, int) or not 0 <= edit.value < len(setup.discharge.waypoint):
        return setup
    return setup.with_(f"discharge.waypoint.{edit.value}", None)


def _leg(setup: Setup, edit: Edit, catalogue: Catalogue) -> Setup:
    """A whole leg put in, split, taken out or moved."""
    found = _LEG.fullmatch(edit.path)
    if found is None or int(found[2]) >= len(getattr(setup, found[1]).leg):
        raise InputError(Fault("", edit.path, "no such hose", "choose one that lies there"))
    side, place = found[1], int(found[2])
    if edit.do == "move-leg":
        by = edit.value if isinstance(edit.value, int) else 0
        return leg_edits.move_leg(setup, side, place, by, catalogue)
    return leg_edits.CHANGES[edit.do](setup, side, place, catalogue)


def _pumps(setup: Setup, edit: Edit, catalogue: Catalogue) -> Setup:
    """A pump put beside the first or into the line, or taken out."""
    place = edit.value if isinstance(edit.value, int) else -1
    return pump_edits.CHANGES[edit.do](setup, place, catalogue)


_CHANGES: Final = {
    "set": _set,
    "type": _type,
    "pick": _pick,
    "fields": _fields,
    "moved": _moved,
    "insert-point": _insert_point,
    "units": _units,
    "open": _open,
    "add-point": _add_point,
    "drop-point": _drop_point,
    "move-leg": _leg,
    **dict.fromkeys(leg_edits.CHANGES, _leg),
    **dict.fromkeys(pump_edits.CHANGES, _pumps),
}
_OWN: Final = {"fields", "moved", "insert-point"}
"""Edits that come of buttons and handles, through the page's own hands."""
