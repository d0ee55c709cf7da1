"""Edits of what is emptied, what is filled and what is wanted: sections that a setup may lack, made whole at once."""

from __future__ import annotations

from typing import Any, Final

from curvelab.app.rows import figure
from curvelab.errors import Fault, InputError
from curvelab.model.amount import Amount
from curvelab.model.setup import Setup
from curvelab.model.water import Body
from curvelab.studies.doubt_draws import NAMES
from curvelab.units import Quantity, display_unit, plain, write

SHAPES: Final = ("source.shape", "receiver.shape")
"""Paths of the controls that choose a shape, or none."""
_GOAL: Final = ("goal.volume", "goal.time")
_SIZES: Final[dict[str, dict[str, tuple[Quantity, float]]]] = {
    "box": {"length": (Quantity.LENGTH, 6.096), "width": (Quantity.LENGTH, 3.048)},
    "cylinder": {"diameter": (Quantity.LENGTH, 3.048)},
    "pond": {"area": (Quantity.AREA, 371.6), "full_depth": (Quantity.LENGTH, 1.2192)},
    "frustum": {
        "top_length": (Quantity.LENGTH, 6.096),
        "top_width": (Quantity.LENGTH, 3.048),
        "bottom_length": (Quantity.LENGTH, 3.048),
        "bottom_width": (Quantity.LENGTH, 1.524),
        "full_depth": (Quantity.LENGTH, 1.2192),
    },
}
"""What a shape starts with when it is chosen, SI. Our own choice: 20 by 10 ft, 10 ft across, 4000 ft², 4 ft deep."""
_POND_POWER: Final = 1.0
"""A pond's area grows as its depth: a bowl. Our own choice."""
_MAYBE: Final = {
    "source": ("inflow", "cover", "fastest"),
    "receiver": ("level",),
    "doubt": NAMES,
}
"""Fields whose box may be emptied."""
_LEVELS: Final = {"source": ("full_depth", "depth", "stop"), "receiver": ("full_depth", "full", "level")}
"""Levels of a body of water, none over the one before it."""
_DEEP_M: Final = 1.2192
_KEPT: Final = {
    "source": ("name", "depth", "stop", "inflow", "cover", "fastest"),
    "receiver": ("name", "full"),
}
_WITHIN: Final = 3600.0
_WANTED: Final = 18.9
"""A volume wanted starts as 5000 gal within an hour: our own choice. [m³, s]"""


def picked(setup: Setup, path: str, value: Any) -> Setup | None:
    """The setup with a shape or a start chosen; ``None`` for any other path."""
    if path in SHAPES:
        return _shaped(setup, path.partition(".")[0], str(value))
    if path == "job.start":
        return setup.with_(path, str(value) or None)
    return None


def emptied(setup: Setup, path: str) -> Setup | None:
    """The setup after a box was emptied: the field is no longer stated. ``None`` where it must be."""
    if path in _GOAL:
        return setup.with_("goal", {**_goal(setup), "volume": None, "time": None})
    section, _, name = path.partition(".")
    if name not in _MAYBE.get(section, ()):
        return None
    return setup if getattr(setup, section) is None else setup.with_(path, None)


def alike(setup: Setup, path: str, number: float) -> str | None:
    """The text of another level of the same water that is shown as the number typed: brim-full is full to the brim.

    ``None`` where there is none, or the path is no level.
    """
    at, _, name = path.partition(".")
    if name not in _LEVELS.get(at, ()):
        return None
    section, shown = getattr(setup, at), plain(number)
    others = [other for other in _LEVELS[at] if other != name and isinstance(getattr(section, other, None), Amount)]
    return next((getattr(section, other).text for other in others if figure(setup, f"{at}.{other}")[1] == shown), None)


def wanted(setup: Setup, path: str, text: str) -> Setup | None:
    """A volume or a time wanted, with the other one where it was missing; ``None`` for any other path."""
    if path not in _GOAL:
        return None
    name, other = ("volume", "time") if path == "goal.volume" else ("time", "volume")
    stated = getattr(setup.goal, other)
    start = (Quantity.TIME, _WITHIN) if other == "time" else (Quantity.VOLUME, _WANTED)
    kept = stated.text if stated is not None else tidy(*start, setup)
    return setup.with_("goal", {**_goal(setup), name: text, other: kept})


def tidy(quantity: Quantity, si: float, setup: Setup) -> str:
    """An amount as a person would write it in the setup's units."""
    unit = display_unit(quantity, setup.units, si)
    return write(unit.to_si(unit.round(unit.from_si(si))), quantity, setup.units)


def _goal(setup: Setup) -> dict[str, Any]:
    return {"flow": setup.goal.flow.text} if setup.goal.flow is not None else {}


def _shaped(setup: Setup, at: str, shape: str) -> Setup:
    """Another shape, with the sizes that both have, and all that is no size, as they were."""
    old: Body | None = getattr(setup, at)
    if not shape or (old is not None and old.shape == shape):
        return setup if shape else setup.with_(at, None)
    if shape not in _SIZES:
        raise InputError(Fault("", f"{at}.shape", "no such shape", "choose one of the list"))
    table: dict[str, Any] = {"shape": shape}
    for name in _KEPT[at]:
        value = getattr(old, name, None) if old is not None else None
        if value is not None:
            table[name] = value.text if isinstance(value, Amount) else value
    deepest = _DEEP_M
    now = "depth" if at == "source" else "full"
    if now in table and old is not None:
        deepest = max(deepest, getattr(old, now).si)
    else:
        table[now] = tidy(Quantity.LENGTH, _DEEP_M, setup)
    if at == "receiver" and old is not None and old.shape != "table" and isinstance(old.level, Amount):
        table["level"] = old.level.text
    for name, start in _SIZES[shape].items():
        table[name] = _size(setup, old, name, start, deepest)
    if shape == "pond":
        table["power"] = _POND_POWER
    return setup.with_(at, table)


def _size(setup: Setup, old: Body | None, name: str, start: tuple[Quantity, float], deepest_m: float) -> str:
    stated = getattr(old, name, None) if old is not None else None
    if isinstance(stated, Amount):
        return stated.text
    if name == "full_depth" and deepest_m > start[1]:
        return write(deepest_m, start[0], setup.units)
    return tidy(*start, setup)
