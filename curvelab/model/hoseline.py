"""Sections of a setup about the hose: legs, suction, discharge, waypoints."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated

from pydantic import Field

from curvelab.errors import Fault
from curvelab.hydraulics.rules import GREATEST_ROUGHNESS
from curvelab.model.amount import Amount
from curvelab.model.counts import Counts, CountTable
from curvelab.model.kinds import (
    ABREAST,
    DEPTH,
    ID,
    ROUGHNESS,
    YES_NO,
    Factor,
    Height,
    Length,
    MaybeBore,
    MaybeWords,
    amount,
)
from curvelab.model.section import Section


class Leg(Section):
    """One length or make of hose: of the catalogue (``hose``, ``size``) or written out (``bore``, ``roughness``)."""

    hose: Annotated[str | None, ID] = None
    size: MaybeBore = None
    """Nominal size of a catalogue hose."""
    bore: MaybeBore = None
    """True bore of a hose written out."""
    roughness: Annotated[Amount | None, ROUGHNESS] = None
    rigid: Annotated[bool | None, YES_NO] = None
    """A hose written out holds its shape; where left out: on the suction yes, on the discharge no."""
    length: Length
    abreast: Annotated[int, ABREAST] = 1
    fittings: Annotated[Counts, CountTable()] = Counts()
    k: Factor = 0.0
    """Any further loss coefficient."""

    def rules(self) -> Iterator[Fault]:
        """Named by id, or written out, whole either way."""
        if self.hose is not None:
            if self.size is None:
                yield Fault("", "size", "is missing", 'a catalogue hose needs its nominal size, such as "3 in"')
            for name in ("bore", "roughness", "rigid"):
                if getattr(self, name) is not None:
                    right = (
                        f"leave it out, or leave out hose and size and write bore and roughness (hose is {self.hose})"
                    )
                    yield Fault("", name, "comes from the catalogue for a hose named by id", right)
            return
        if self.size is not None:
            yield Fault("", "size", "is a catalogue hose's", "write hose with its id too, or bore instead of size")
        elif self.bore is None and self.roughness is None:
            right = "write hose and size, or bore and roughness"
            yield Fault("", "hose", "is missing", right)
        elif self.bore is None or self.roughness is None:
            missing = "bore" if self.bore is None else "roughness"
            yield Fault("", missing, "is missing", "a hose written out needs both bore and roughness")
        elif self.roughness.si > GREATEST_ROUGHNESS * self.bore.si:
            right = f"write at most {GREATEST_ROUGHNESS:.0%} of the bore {self.bore.text}; is the unit right?"
            yield Fault("", "roughness", f'"{self.roughness.text}" is too rough', right)


class Waypoint(Section):
    """A point of the discharge route: the hump, a dip."""

    distance: Length
    """Along the hose from the pump's outlet."""
    height: Height
    """Above the pump."""
    name: MaybeWords = None


_LEGS = "write [[suction.leg]] or [[discharge.leg]] with hose, size and length, 1 to 30 of them"
_LegList = Annotated[tuple[Leg, ...], Field(min_length=1, max_length=30, description=_LEGS)]


class Suction(Section):
    """From the water up to the pump. Leg 0 stands in the water."""

    lift: Height
    """Water surface up to the pump; negative when the pump is below the water."""
    margin: Annotated[Amount, DEPTH] = amount("2 ft", DEPTH)
    """Head to keep in hand above NPSHR."""
    strainer_height: Annotated[Amount | None, DEPTH] = None
    """Strainer above the bottom."""
    leg: _LegList


class Discharge(Section):
    """From the pump to the outlet."""

    rise: Height
    """Pump up to the outlet, or to the receiving surface where the outlet is submerged; negative downhill."""
    valve_k: Factor = 0.0
    """A valve at the outlet, its loss coefficient."""
    leg: _LegList
    waypoint: Annotated[
        tuple[Waypoint, ...],
        Field(max_length=200, description="write [[discharge.waypoint]] with distance and height, at most 200 of them"),
    ] = ()
