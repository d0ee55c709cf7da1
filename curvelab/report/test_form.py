"""The words of the form for a pump's test, and of what it found."""

from __future__ import annotations

from typing import Final

from curvelab.errors import Fault
from curvelab.model.testform import DRUMS, QUANTITIES
from curvelab.model.typed import symbol_beside
from curvelab.report.pump_form import Field, Said, fault_words
from curvelab.units import System

_GROUPS: Final[tuple[tuple[str, str, tuple[tuple[str, str], ...]], ...]] = (
    (
        "With the end shut",
        "Clean water, full throttle, the valve at the outlet closed for no longer than it takes to read.",
        (
            ("pressure", "Pressure at the outlet"),
            ("vacuum", "Vacuum at the inlet, if there is a gauge"),
            ("speed", "Engine speed"),
        ),
    ),
    (
        "Dry, the suction capped",
        "What the gauge still shows after half a minute.",
        (("dry", "Vacuum held"), ("altitude", "Height above the sea here")),
    ),
    *(
        (
            f"Drum and watch, {setting}",
            "",
            (
                (f"drum.{place}.volume", "Drum holds"),
                (f"drum.{place}.time", "Fills in"),
                (f"drum.{place}.pressure", "Pressure at the outlet meanwhile"),
                (f"drum.{place}.vacuum", "Vacuum at the inlet"),
            ),
        )
        for place, setting in zip(range(DRUMS), ("valve half open", "valve wide open"), strict=True)
    ),
)


def reading_groups(system: System) -> list[tuple[str, str, list[Field]]]:
    """Groups of fields: what is done, how, and what is read."""
    return [(name, how, [_field(path, label, system) for path, label in rows]) for name, how, rows in _GROUPS]


def _field(path: str, label: str, system: System) -> Field:
    return Field(path=path, label=label, unit=symbol_beside(QUANTITIES[path], system))


def reading_units(system: System) -> dict[str, str]:
    """The unit beside every field."""
    return {name: symbol_beside(quantity, system) for name, quantity in QUANTITIES.items()}


def beside_readings(faults: tuple[Fault, ...]) -> dict[str, Said]:
    """What stands beside each field."""
    said: dict[str, Said] = {}
    for fault in reversed(faults):
        missing = fault.got == "is missing"
        words = "This reading is needed too." if missing and fault.field != "date" else fault_words(fault, fault.field)
        said[fault.field] = Said("needed" if missing else "wrong", words)
    return said
