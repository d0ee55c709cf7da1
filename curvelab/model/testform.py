"""Tests of a pump from a form: gauges with the end shut, the vacuum that it holds dry, a drum and a watch."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Any, Final, cast

from curvelab.errors import Fault, InputError
from curvelab.model.pump import ReturnTest
from curvelab.model.typed import moved, with_unit
from curvelab.units import Quantity, System

DRUMS: Final = 2
"""Settings of the valve at which a drum is filled. [-]"""
QUANTITIES: Final[dict[str, Quantity]] = {
    "speed": Quantity.ROTATION,
    "altitude": Quantity.LENGTH,
    "pressure": Quantity.PRESSURE,
    "vacuum": Quantity.VACUUM,
    "dry": Quantity.VACUUM,
    **{f"drum.{place}.volume": Quantity.VOLUME for place in range(DRUMS)},
    **{f"drum.{place}.time": Quantity.TIME for place in range(DRUMS)},
    **{f"drum.{place}.pressure": Quantity.PRESSURE for place in range(DRUMS)},
    **{f"drum.{place}.vacuum": Quantity.VACUUM for place in range(DRUMS)},
}
"""Fields of the form with a unit, by name."""
TEXTS: Final = ("date", "by")


@dataclass(frozen=True, slots=True)
class Read:
    """The tests that a form describes, and what is wrong with it, field by field."""

    tests: tuple[ReturnTest, ...]
    faults: tuple[Fault, ...]


def typed_texts(asked: object) -> dict[str, str]:
    """The form's fields out of what a browser sent."""
    given = cast("dict[str, object]", asked) if isinstance(asked, dict) else {}
    found = {name: given.get(name) for name in (*QUANTITIES, *TEXTS)}
    return {name: text for name, text in found.items() if isinstance(text, str)}


def moved_texts(typed: Mapping[str, str], before: System, after: System) -> dict[str, str]:
    """The form's texts in other units: bare numbers become the same amounts."""
    return {
        name: moved(text, QUANTITIES[name], before, after) if name in QUANTITIES else text
        for name, text in typed.items()
    }


def readings_from(typed: Mapping[str, str], system: System) -> Read:
    """The tests of a form; a part of it that nobody filled in is none.

    Parameters
    ----------
    typed : mapping
        Texts by the names of ``QUANTITIES`` and ``TEXTS``; bare numbers in the units of ``system``.
    """
    tests: list[ReturnTest] = []
    faults: list[Fault] = []
    amounts: dict[str, str] = {}
    for name, quantity in QUANTITIES.items():
        try:
            amounts[name] = with_unit(typed.get(name, ""), quantity, system)
        except InputError as error:
            faults += error.at(field=name).faults
    for kind, fields in _parts():
        own = {field: amounts.get(name, "") for field, name in fields.items()}
        if not any(own.values()):
            continue
        shared = {name: amounts.get(name, "") for name in ("speed", "altitude")}
        shared |= {"by": typed.get("by", "").strip(), "date": typed.get("date", "").strip()}
        table: dict[str, Any] = {name: text for name, text in {**shared, **own}.items() if text}
        try:
            tests.append(ReturnTest.model_validate({"kind": kind, **table}))
        except InputError as error:
            told = {fault.field for fault in faults}
            named = [Fault("", fields.get(f.field, f.field), f.got, f.right) for f in error.faults]
            faults += [fault for fault in named if fault.field not in told]
    return Read(tuple(tests), tuple(faults))


def _parts() -> list[tuple[str, dict[str, str]]]:
    """Kind of each test, and its readings' names in the form by their names in the file."""
    drums = [
        ("drum", {name: f"drum.{n}.{name}" for name in ("volume", "time", "pressure", "vacuum")}) for n in range(DRUMS)
    ]
    return [("shut-off", {"pressure": "pressure", "vacuum": "vacuum"}), ("vacuum", {"vacuum": "dry"}), *drums]
