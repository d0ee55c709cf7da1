"""A liquid's record: what differs from water."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Final

from curvelab.errors import Fault
from curvelab.model.amount import Amount, Kind, Number
from curvelab.model.kinds import TEMPERATURE, VISCOSITY
from curvelab.model.record import Record
from curvelab.units import Quantity

WATER: Final = "water"
"""Id of the liquid whose properties are computed."""

_DENSITY_RATIO = Number(0.5, 3.0)
_VAPOUR = Kind(Quantity.PRESSURE, 0.0, 1.01e5, "an absolute pressure from 0 to 1010 mbar")
_PROPERTIES = ("density_ratio", "kinematic_viscosity", "vapour_pressure", "temperature")


class Liquid(Record):
    """A liquid. All but water carry their own properties at the temperature they state."""

    density_ratio: Annotated[float | None, _DENSITY_RATIO] = None
    """Density over that of water at 4 °C."""
    kinematic_viscosity: Annotated[Amount | None, VISCOSITY] = None
    vapour_pressure: Annotated[Amount | None, _VAPOUR] = None
    """Absolute."""
    temperature: Annotated[Amount | None, TEMPERATURE] = None

    def rules(self) -> Iterator[Fault]:
        """All properties, or none for water."""
        yield from super().rules()
        for name in _PROPERTIES:
            stated = getattr(self, name) is not None
            if stated and self.id == WATER:
                yield Fault("", name, "is computed for water", "leave it out")
            elif not stated and self.id != WATER:
                yield Fault("", name, "is missing", f"a liquid other than water has {', '.join(_PROPERTIES)}")
