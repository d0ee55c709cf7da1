"""What differs between two setups, field by field, in words."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from itertools import zip_longest
from typing import Any, Final, cast

from curvelab.errors import UnknownNameError
from curvelab.model.amount import Amount
from curvelab.model.fields import Field, field_of
from curvelab.model.hoseline import Leg
from curvelab.model.section import Section
from curvelab.model.setup import Setup
from curvelab.units import System, plain

_NOT_COUNTED: Final = ("format", "title", "units", "name", "source", "estimate")
"""Last names of paths that change nothing about the water."""
_NUMBERS: Final = ("no", "one", "two", "three", "four", "five", "six")


@dataclass(frozen=True, slots=True)
class Change:
    """One field that differs. ``now`` and ``was`` carry their units; empty where the field isn't there."""

    path: str
    label: str
    now: str
    was: str

    @property
    def text(self) -> str:
        """``Lift is 21 ft, was 12``."""
        label = self.label[:1].upper() + self.label[1:]
        was, _, unit = self.was.partition(" ")
        short = was if unit and self.now.endswith(f" {unit}") else self.was
        return f"{label} is {self.now or 'none'}, was {short or 'none'}"


def changes(now: Setup, then: Setup, system: System, pumps: Mapping[str, str] | None = None) -> tuple[Change, ...]:
    """Every field of ``now`` that is not as in ``then``, in the order of a file. ``pumps`` gives pumps' names by id."""
    here, there = dict(_leaves("", now)), dict(_leaves("", then))
    paths = [*here, *(path for path in there if path not in here)]
    found: list[Change] = []
    for path in paths:
        new, old = here.get(path), there.get(path)
        if new != old:
            texts = (_text(path, value, system, pumps or {}) for value in (new, old))
            found.append(Change(path, label_of(path), *texts))
    return tuple(found)


def alike(one: Setup, other: Setup) -> bool:
    """Nothing that the water could tell differs."""
    return one is other or all(a == b for a, b in zip_longest(_leaves("", one), _leaves("", other)))


def label_of(path: str) -> str:
    """Label of a field from the table of fields; what no table names is called by its own name."""
    field = _field(path)
    if field is not None:
        return field.label
    return path.rsplit(".", 1)[-1].replace("_", " ").replace("-", " ")


def hose_words(legs: Sequence[Leg], system: System) -> str:
    """``3 in hose``, ``two 3 in hoses``; plain ``hose`` where the legs differ."""
    kinds = {((leg.size or leg.bore), leg.abreast) for leg in legs}
    if len(kinds) != 1:
        return "hose"
    size, abreast = next(iter(kinds))
    if size is None:
        return "hose"
    if abreast == 1:
        return f"{size.show(system)} hose"
    count = _NUMBERS[abreast] if abreast < len(_NUMBERS) else str(abreast)
    return f"{count} {size.show(system)} hoses"


def _leaves(path: str, value: Any) -> Iterator[tuple[str, Any]]:
    if isinstance(value, Section) and path != "pump.record":
        for name in type(value).model_fields:
            if name not in _NOT_COUNTED:
                yield from _leaves(f"{path}.{name}" if path else name, getattr(value, name))
    elif isinstance(value, Mapping):
        for name, count in cast("Mapping[str, Any]", value).items():
            yield f"{path}.{name}", count
    elif isinstance(value, tuple):
        for place, item in enumerate(cast("tuple[Any, ...]", value)):
            yield from _leaves(f"{path}.{place}", item)
    elif value is not None:
        yield path, value


def _field(path: str) -> Field | None:
    try:
        return field_of(path)[0]
    except UnknownNameError:
        return None


def _text(path: str, value: Any, system: System, pumps: Mapping[str, str]) -> str:
    if value is None:
        return ""
    if isinstance(value, Amount):
        return value.show(system)
    if isinstance(value, bool):
        return "yes" if value else "no"
    field = _field(path)
    if isinstance(value, (int, float)):
        if field is not None and "%" in field.page:
            return f"{plain(round(value * 100, 1))} %"
        return plain(round(value, 3))
    if path.endswith("pump.id") or path == "pump.id":
        return pumps.get(str(value), str(value))
    return str(getattr(value, "label", value)).replace("-", " ")
