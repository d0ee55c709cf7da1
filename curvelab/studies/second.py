"""What does a second pump give? One alone, a second beside it and one in the line, on the same hose and heights."""

from __future__ import annotations

import math
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from enum import StrEnum
from typing import Any, Final

import numpy as np
from numpy.typing import NDArray

from curvelab.errors import InputError
from curvelab.hydraulics.shut import casing_bounds
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.planning import pump_of
from curvelab.model.setup import Setup
from curvelab.studies.change import Change, Value, next_rating
from curvelab.studies.kit import kit_of
from curvelab.studies.result import Result
from curvelab.studies.several import Relay, relay
from curvelab.studies.solve import Solved, solved
from curvelab.units import Quantity, System, write

FORMAT: Final = "curvelab-second/1"
Floats = NDArray[np.float64]

PLACES: Final = 120
"""Places along the hose that are tried for a pump in the line."""
_POINTS: Final = 80
_STEP_M: Final = {System.METRIC: 1.0, System.US: 10 * 0.3048, System.IMPERIAL: 10 * 0.3048}
"""Places in the line are told in steps that somebody can pace out. [m]"""


class Kind(StrEnum):
    """How the pumps stand."""

    ALONE = "alone"
    BESIDE = "beside"
    """Two alike side by side, each with its own suction hose."""
    SHARED = "shared"
    """Two alike side by side on the suction hose of one."""
    LINE = "line"
    NOW = "now"
    """As the setup has them, where that is none of these."""


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Way:
    """One way to place the pumps, solved."""

    kind: Kind
    now: bool
    """The setup as it is."""
    changes: Mapping[str, Value]
    """Fields that make the setup so; empty for the present one."""
    hose: str
    """Other hose that it takes, such as ``150 psi hose``; empty where the hose stays."""
    place_m: float | None
    """Where the pump in the line stands. [m]"""
    result: Result
    rating_pa: float | None
    """Least rating of the hose; ``None`` where none is stated. [Pa]"""
    casing_over_rated: bool
    starved_in_line: bool
    """What flows is held by the inlet of a pump in the line, not by the outlet."""
    cost_day: float | None
    total_head_m: float | None
    """Of all pumps in line together, at the delivered flow. [m]"""
    flow_m3_s: Floats
    head_m: Floats
    """What the pumps give together: side by side at equal head, in line at equal flow. NaN past what was tested."""
    site_m: Floats
    """What the site asks of all of them together at these flows. [m]"""

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON; without the curves."""
        names = ("kind", "now", "changes", "hose", "place_m", "cost_day", "total_head_m", "casing_over_rated")
        return {**{name: getattr(self, name) for name in names}, "result": self.result.to_dict()}


@dataclass(frozen=True, slots=True, kw_only=True, eq=False)
class Second:
    """Every way that can be solved, ``ALONE`` first."""

    setup: Setup
    pump: str
    """Name of the pump at the water."""
    other: str
    """Name of the one that stands in the line."""
    beside: tuple[str, ...]
    """Names of the pumps beside it as the setup stands."""
    in_line: tuple[str, ...]
    """Names of those in the line."""
    ways: tuple[Way, ...]
    flow_m3_s: Floats
    site_m: Floats
    """What the site asks of one pump alone, at flows to the end of the longest curve. [m]"""
    relay: Relay | None
    """Where a pump may stand in the line, on the hose that lies there; ``None`` for a pump written out in place."""
    currency: str

    def way(self, kind: Kind) -> Way | None:
        """The way of that kind; ``None`` where there is none."""
        return next((way for way in self.ways if way.kind is kind), None)

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {
            "format": FORMAT,
            "pump": self.pump,
            "other": self.other,
            "ways": [way.to_dict() for way in self.ways],
            "relay": None if self.relay is None else self.relay.to_dict(),
        }


def second(setup: Setup, catalogue: Catalogue | None = None) -> Second:
    """One pump alone, a second of its kind beside it, and one in the line where ``relay`` says.

    A setup that has several pumps already is looked at without them first; what it is now is among the ways.

    Raises
    ------
    InputError
        As ``solve``.
    """
    known = catalogue or default_catalogue()
    asked = _Asked(setup, known, solved(setup, known))
    first = _alone(setup)
    boosted = _boosted(setup)
    found = relay(boosted.apply(first.apply(setup)), known, places=PLACES) if boosted.fields else None
    plans = [_Placed(Kind.ALONE, first), *_beside(setup, first)]
    if found is not None:
        plans += _in_line(setup, first, boosted, found, known)
    ways = [way for one in plans if (way := asked.way(one)) is not None]
    if not any(way.now for way in ways):
        ways += [way for way in (asked.way(_Placed(Kind.NOW, Change("", ()))),) if way is not None]
    longest = max(float(way.flow_m3_s[-1]) for way in ways)
    site = solved(first.apply(setup), known).curves(_POINTS, to_flow_m3_s=longest)
    main = pump_of(setup.pump, known)
    beside, in_line = (
        tuple(pump_of(choice, known).label for choice in group) for group in (setup.pump.beside, setup.booster)
    )
    price = known.price(setup.pump.id) if setup.pump.id is not None else None
    return Second(
        setup=setup,
        pump=main.label,
        other=in_line[0] if in_line else main.label,
        beside=beside,
        in_line=in_line,
        ways=tuple(ways),
        flow_m3_s=site.flow_m3_s,
        site_m=site.system_head_m,
        relay=found,
        currency=price.currency if price is not None else "",
    )


@dataclass(frozen=True, slots=True)
class _Placed:
    """A way before it is solved."""

    kind: Kind
    change: Change
    hose: str = ""
    place_m: float | None = None


@dataclass(frozen=True, slots=True)
class _Asked:
    """What every way is solved against."""

    setup: Setup
    catalogue: Catalogue
    now: Solved

    def way(self, one: _Placed) -> Way | None:
        """The way solved; ``None`` where the setup can't take it."""
        try:
            made = one.change.apply(self.setup)
            answer = self.now if made == self.setup else solved(made, self.catalogue)
            flow, head, site = self._curves(answer)
        except InputError:
            return None
        result, plan, same = answer.result, answer.plan, answer is self.now
        rating = plan.discharge.rating_pa[plan.discharge.used]
        given = sum(booster.adds_m or 0.0 for booster in result.boosters)
        return Way(
            kind=one.kind,
            now=same,
            changes={} if same else dict(one.change.fields),
            hose=one.hose,
            place_m=one.place_m,
            result=result,
            rating_pa=float(rating.min()) if np.isfinite(rating).any() else None,
            casing_over_rated=casings_over(answer),
            starved_in_line=result.held_booster is not None,
            cost_day=kit_of(answer.setup, self.catalogue).cost_day,
            total_head_m=None if result.head_m is None else result.head_m + given,
            flow_m3_s=flow,
            head_m=head,
            site_m=site,
        )

    def _curves(self, answer: Solved) -> tuple[Floats, Floats, Floats]:
        """Flow, head of the pumps together, and what the same line asks of all of them together."""
        end = answer.result.end_flow_m3_s
        curves = answer.curves(_POINTS, to_flow_m3_s=end)
        boosters = answer.solution.line.boosters
        if boosters is None:
            return curves.flow_m3_s, curves.pump_head_m, curves.system_head_m
        bare = solved(answer.setup.with_("booster", None), self.catalogue)
        given = boosters.heads(curves.flow_m3_s[None, :])[0].sum(-1)
        site = bare.curves(_POINTS, to_flow_m3_s=end).system_head_m
        return curves.flow_m3_s, curves.pump_head_m + given, site


def _alone(setup: Setup) -> Change:
    """What leaves one pump at the water; each pump's own suction hose goes with it."""
    count = setup.pump.abreast + len(setup.pump.beside)
    fields: list[tuple[str, Value]] = []
    if setup.pump.abreast > 1:
        fields.append(("pump.abreast", None))
    if setup.pump.beside:
        fields.append(("pump.beside", None))
    if setup.booster:
        fields.append(("booster", None))
    if count > 1:
        fields += [
            (f"suction.leg.{at}.abreast", str(leg.abreast // count))
            for at, leg in enumerate(setup.suction.leg)
            if leg.abreast % count == 0
        ]
    return Change("", tuple(fields))


def _beside(setup: Setup, first: Change) -> Iterator[_Placed]:
    single = first.apply(setup)
    own = tuple((f"suction.leg.{at}.abreast", str(2 * leg.abreast)) for at, leg in enumerate(single.suction.leg))
    pair = ("pump.abreast", "2")
    yield _Placed(Kind.BESIDE, Change("", (*first.fields, pair, *own)))
    yield _Placed(Kind.SHARED, Change("", (*first.fields, pair)))


def _boosted(setup: Setup) -> Change:
    """A pump in the line of a single pump, half way: the setup's own first one, else one like that at the water."""
    other = setup.booster[0] if setup.booster else setup.pump
    if other.id is None:
        return Change("", ())
    half = write(0.5 * sum(leg.length.si for leg in setup.discharge.leg), Quantity.LENGTH, setup.units)
    fields: list[tuple[str, Value]] = [("booster.0", {"id": other.id, "distance": half})]
    if other.speed is not None:
        fields.append(("booster.0.speed", other.speed.text))
    elif other.throttle != 1.0:
        fields.append(("booster.0.throttle", f"{other.throttle:g}"))
    return Change("", tuple(fields))


def _in_line(setup: Setup, first: Change, boosted: Change, found: Relay, catalogue: Catalogue) -> Iterator[_Placed]:
    """In the line on the hose that lies there, else on the first that stands two pumps."""
    single = first.apply(setup)
    for hose in (Change("", ()), *next_rating(single, catalogue)):
        try:
            made = boosted.apply(hose.apply(single))
            there = found if not hose.fields else relay(made, catalogue, places=PLACES)
        except InputError:
            continue
        if there.best_m is not None:
            text, place = _paced(there.best_m, made, catalogue)
            fields = (*first.fields, *hose.fields, *boosted.fields, ("booster.0.distance", text))
            yield _Placed(Kind.LINE, Change("", fields), hose.label, place)
            return


def _paced(best_m: float, made: Setup, catalogue: Catalogue) -> tuple[str, float]:
    """A place in whole steps beside the best one at which hose and casing stand both pumps; else the best one. [m]"""
    step = _STEP_M[made.units]
    length = sum(leg.length.si for leg in made.discharge.leg)
    near = (step * math.floor(best_m / step), step * math.ceil(best_m / step))
    for place in sorted(near, key=lambda place: abs(place - best_m)):
        text = write(place, Quantity.LENGTH, made.units)
        if 0.0 < place < length and stands(solved(made.with_("booster.0.distance", text), catalogue)):
            return text, place
    return write(best_m, Quantity.LENGTH, made.units), best_m


def stands(answer: Solved) -> bool:
    """Whether hose and casings stand what they could see with the end shut."""
    return not answer.result.over_rated and not casings_over(answer)


def casings_over(answer: Solved) -> bool:
    """Whether a pump's casing could see more than its rating with the end shut."""
    return bool((casing_bounds(answer.plan) > answer.plan.pumps.casing_rating_pa).any())
