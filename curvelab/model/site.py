"""Sections of a setup about the place and the wish: job, site, outlet, goal."""

from __future__ import annotations

import datetime as dt
from collections.abc import Iterator
from typing import Annotated, ClassVar, Final, Literal

from curvelab.errors import Fault
from curvelab.model.amount import Amount
from curvelab.model.kinds import (
    AIR_TEMPERATURE,
    ALTITUDE,
    BAROMETER,
    COUNT,
    DISCHARGE_COEFFICIENT,
    ID,
    SOME_FLOW,
    SOME_TIME,
    TEMPERATURE,
    TIME_OF_DAY,
    VOLUME,
    MaybeBore,
    MaybeDepth,
    MaybePressure,
    MaybeSolids,
    amount,
)
from curvelab.model.section import Section

JobKind = Literal["drain", "hold", "fill", "move", "irrigate", "wash", "chemical", "over-hill"]
Place = Literal["open", "building", "pit", "flood"]
OutletWord = Literal["open", "submerged", "nozzle", "pressure", "sprinklers"]


class Job(Section):
    """What the customer wants done, and where; opens questions and cautions."""

    kind: JobKind | None = None
    place: Place = "open"
    solids: MaybeSolids = None
    """Largest thing in the water."""
    start: Annotated[str | None, TIME_OF_DAY] = None
    """When pumping begins, by the wall clock: the clock then says when it is done."""

    @property
    def starts(self) -> dt.time | None:
        """That time of day; ``None`` where it isn't stated."""
        if self.start is None:
            return None
        hour, minute = self.start.split(":")
        return dt.time(int(hour), int(minute))


class Site(Section):
    """Air and liquid. A barometer's reading takes the place of the altitude's standard air."""

    altitude: Annotated[Amount, ALTITUDE] = amount("0 m", ALTITUDE)
    barometer: Annotated[Amount | None, BAROMETER] = None
    """Station pressure, not reduced to sea level."""
    temperature: Annotated[Amount, TEMPERATURE] = amount("15 degC", TEMPERATURE)
    air_temperature: Annotated[Amount, AIR_TEMPERATURE] = amount("25 degC", AIR_TEMPERATURE)
    """Of the air that the engines breathe; nothing else reads it. Left out: a warm day, our own choice."""
    liquid: Annotated[str, ID] = "water"
    """Id in the catalogue."""

    INSTEAD: ClassVar = {"altitude": ("barometer",)}


_BELONGS: Final[dict[str, tuple[str, ...]]] = {
    "open": (),
    "submerged": ("depth",),
    "nozzle": ("bore", "count", "cd"),
    "pressure": ("pressure",),
    "sprinklers": ("count", "flow", "pressure"),
}
_NEEDED: Final[dict[str, tuple[str, ...]]] = {
    "nozzle": ("bore",),
    "pressure": ("pressure",),
    "sprinklers": ("count", "flow", "pressure"),
}


class Outlet(Section):
    """What the water leaves through. Each kind has its own keys; another kind's key is a fault."""

    kind: OutletWord = "open"
    depth: MaybeDepth = None
    """Submerged: water over the end of the hose."""
    bore: MaybeBore = None
    """Nozzle: bore of its tip."""
    count: Annotated[int | None, COUNT] = None
    """Nozzles (one where left out) or sprinklers."""
    cd: Annotated[float | None, DISCHARGE_COEFFICIENT] = None
    """Nozzle: discharge coefficient, 0.995 where left out."""
    flow: Annotated[Amount | None, SOME_FLOW] = None
    """Sprinklers: flow of each at ``pressure``."""
    pressure: MaybePressure = None

    def rules(self) -> Iterator[Fault]:
        """What its kind needs, and no other kind's keys."""
        belongs, needed = _BELONGS[self.kind], _NEEDED.get(self.kind, ())
        for name in ("depth", "bore", "count", "cd", "flow", "pressure"):
            stated = getattr(self, name) is not None
            if stated and name not in belongs:
                keys = ", ".join(belongs) or "none"
                yield Fault(
                    "", name, f'doesn\'t belong to an outlet of kind "{self.kind}"', f"keys of that kind: {keys}"
                )
            elif not stated and name in needed:
                yield Fault("", name, "is missing", f'an outlet of kind "{self.kind}" needs {" and ".join(needed)}')


class Goal(Section):
    """What is wanted: a flow, or a volume within a time."""

    flow: Annotated[Amount | None, SOME_FLOW] = None
    volume: Annotated[Amount | None, VOLUME] = None
    time: Annotated[Amount | None, SOME_TIME] = None

    def rules(self) -> Iterator[Fault]:
        """A volume and its time stand together."""
        if (self.volume is None) != (self.time is None):
            missing, other = ("time", "volume") if self.time is None else ("volume", "time")
            yield Fault("", missing, "is missing", f"a goal with a {other} needs a {missing} too")

    @property
    def flow_m3_s(self) -> float:
        """Flow wanted [m³/s], stated or as volume over time; 0 without a goal."""
        if self.flow is not None:
            return self.flow.si
        return self.volume.si / self.time.si if self.volume is not None and self.time is not None else 0.0
