"""Where to start: four answers (from where, how high, how far, how much) become a whole setup.

Every pump of the yard that may carry the water is tried on every hose that suits its ports, and the cheapest that runs
well and gives what is asked is taken. The rest is assumed, as a careful counter would (common practice, no source);
``report.begin`` says what.
"""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from typing import Any, Final, NamedTuple

from curvelab.errors import Fault, InputError, StudyError
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.hose import Hose, HoseSize
from curvelab.model.hoseline import Leg
from curvelab.model.legfacts import Side, belongs
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.studies.change import pump_change
from curvelab.studies.find import Found, find
from curvelab.studies.kit import covering
from curvelab.studies.result import Result, State
from curvelab.studies.solve import solve
from curvelab.units import Quantity, System, write

FORMAT: Final = "curvelab-begin/1"


class From(StrEnum):
    """Where the water is."""

    POND = "pond"
    RIVER = "river"
    TANK = "tank"
    CELLAR = "cellar"
    FLOOD = "flood"
    WELL = "well"


class _Water(NamedTuple):
    """What is assumed of the water there, in the words of a setup."""

    place: str
    kind: str
    liquid: str
    solids: str
    strainer: str


_WATERS: Final = {
    From.POND: _Water("open", "move", "water", "1/4 in", "basket-strainer"),
    From.RIVER: _Water("open", "move", "flood-water", "1/2 in", "trash-strainer"),
    From.TANK: _Water("open", "move", "water", "1/8 in", "basket-strainer"),
    From.CELLAR: _Water("building", "drain", "flood-water", "1/2 in", "trash-strainer"),
    From.FLOOD: _Water("flood", "drain", "flood-water", "1/2 in", "trash-strainer"),
    From.WELL: _Water("pit", "move", "water", "1/4 in", "basket-strainer"),
}
_COUPLING: Final = "cam-coupling"
_SLOPE: Final = 1.25
_BANK_M: Final = 1.524
"""Suction hose for a lift: a quarter more than it for the slope of the bank, and 5 ft under water."""
_SUCTION: Final = (0.99, 1.51)
"""Suction hose over the pump's inlet: as wide, or a size wider. [-]"""
_DISCHARGE: Final = (0.6, 1.51)
"""Discharge hose over the pump's outlet: from two sizes under it to one over. [-]"""
_NEARLY: Final = 0.9
"""Where no flow is asked: a cheaper set that gives this much of the most will do. [-]"""
_TROUBLES: Final = ("sound", "off-curve", "thin", "cavitating", "no-lift", "no-prime")


@dataclass(frozen=True, slots=True, kw_only=True)
class Wish:
    """The four answers, and where the yard lies."""

    source: From
    lift_m: float
    """Water surface up to the pump; negative when the pump is below the water."""
    rise_m: float
    """Pump up to the end of the hose; negative downhill."""
    distance_m: float
    """Along the ground from the pump to the end."""
    flow_m3_s: float = 0.0
    """0: as much as it gives."""
    volume_m3: float = 0.0
    """With ``time_s`` in place of a flow."""
    time_s: float = 0.0
    altitude_m: float = 0.0
    temperature_k: float = 288.15
    units: System = System.US

    @property
    def wanted_m3_s(self) -> float:
        """Flow asked [m³/s]; 0 for as much as it gives."""
        return self.volume_m3 / self.time_s if self.time_s > 0.0 else self.flow_m3_s


@dataclass(frozen=True, slots=True, kw_only=True)
class Begun:
    """A setup that answers the wish, or the nearest that the yard has."""

    wish: Wish
    setup: Setup
    result: Result
    cost_day: float | None
    """Hire for a day, in the price list's currency."""
    well: bool
    """It runs well, no hose could burst, and no guess speaks against it."""

    @property
    def reached(self) -> bool:
        """It runs well and gives what is asked."""
        return self.well and (self.result.flow_m3_s or 0.0) >= self.wish.wanted_m3_s * (1.0 - 1e-9)

    def to_dict(self) -> dict[str, Any]:
        """Plain types for JSON, ``format`` first."""
        return {
            "format": FORMAT,
            "wanted_m3_s": self.wish.wanted_m3_s or None,
            "reached": self.reached,
            "well": self.well,
            "state": str(self.result.state),
            "flow_m3_s": self.result.flow_m3_s,
            "cost_day": self.cost_day,
            "setup": self.setup.to_si(),
        }


def begin(wish: Wish, catalogue: Catalogue | None = None) -> Begun:
    """The cheapest set of the yard that runs well and gives what is asked, on the site described.

    Without a flow asked: the most that runs well, or the cheapest that gives nine tenths of it. Where nothing reaches
    what is asked: what runs well and gives most; where nothing runs well: what comes nearest to it.

    Raises
    ------
    InputError
        If an answer is out of range; fields are those of ``Wish`` without their unit, such as ``lift``.
    StudyError
        If no pump of the yard may carry the water, or it has no hose.
    """
    known = catalogue or default_catalogue()
    _check(wish)
    tried = [
        (site, row)
        for shelf in _shelves(known)
        if (site := _site(wish, shelf)) is not None
        for row in find(site, shelf).rows
        if row.refused is None
    ]
    if not tried:
        raise StudyError("no pump of this yard may carry this water, or there is no hose for it")
    best = _best([row for _, row in tried], wish.wanted_m3_s, known)
    site = next(site for site, row in tried if row is best)
    setup = _with_row(site, best, known)
    return Begun(wish=wish, setup=setup, result=solve(setup, known), cost_day=best.cost, well=_well(best))


# --- what is assumed


_MOST_HEIGHT_M: Final = 200.0
_MOST_DISTANCE_M: Final = 5000.0


def _check(wish: Wish) -> None:
    """Refuse what only a slip of the pen would write, before any hose is laid for it."""
    heights = [("lift", wish.lift_m), ("rise", wish.rise_m)]
    faults = [
        Fault("", name, f"{value:.0f} m", "write a height of at most 200 m (650 ft)")
        for name, value in heights
        if not abs(value) <= _MOST_HEIGHT_M
    ]
    if not 0.0 < wish.distance_m <= _MOST_DISTANCE_M:
        got = f"{wish.distance_m:.0f} m"
        faults.append(Fault("", "distance", got, "write a length of more than 0, at most 5000 m (3 miles)"))
    if faults:
        raise InputError(faults)


def _site(wish: Wish, catalogue: Catalogue) -> Setup | None:
    """Everything but the choice of pump and hose; ``None`` where the shelf has none."""
    water = _WATERS[wish.source]
    reach = max(wish.lift_m, 0.0) * _SLOPE + _BANK_M
    run = max(wish.distance_m, abs(wish.rise_m))
    suction = _leg("suction", reach, water.strainer, wish.units, catalogue)
    discharge = _leg("discharge", run, "", wish.units, catalogue)
    if suction is None or discharge is None:
        return None
    table: dict[str, Any] = {
        "title": f"From a {'flooded place' if wish.source is From.FLOOD else wish.source}, first try",
        "units": str(wish.units),
        "job": {"kind": water.kind, "place": water.place, "solids": water.solids},
        "site": {
            "altitude": write(wish.altitude_m, Quantity.LENGTH, wish.units),
            "temperature": write(wish.temperature_k, Quantity.TEMPERATURE, wish.units),
            "liquid": water.liquid if water.liquid in catalogue.liquids else "water",
        },
        "pump": {"id": next(iter(catalogue.pumps))},
        "suction": {"lift": write(wish.lift_m, Quantity.LENGTH, wish.units), "leg": [suction]},
        "discharge": {"rise": write(wish.rise_m, Quantity.LENGTH, wish.units), "leg": [discharge]},
        "goal": _goal(wish),
    }
    return Setup.model_validate(table)


def _goal(wish: Wish) -> dict[str, str]:
    if wish.time_s > 0.0:
        volume = write(wish.volume_m3, Quantity.VOLUME, wish.units)
        return {"volume": volume, "time": write(wish.time_s, Quantity.TIME, wish.units)}
    return {"flow": write(wish.flow_m3_s, Quantity.FLOW, wish.units)} if wish.flow_m3_s > 0.0 else {}


def _leg(side: Side, reach_m: float, strainer: str, units: System, catalogue: Catalogue) -> dict[str, Any] | None:
    """Hose in whole lengths of the rack, a coupling a length; the make is only there until one is chosen."""
    wanted = [name for name in (strainer, _COUPLING) if name in catalogue.fittings]
    found = [(hose, size) for hose in catalogue.hoses.values() for size in hose.size if hose.use == side]
    if not found:
        return None
    hose, size = next((one for one in found if _takes(*one, wanted, side, catalogue)), found[0])
    pieces = covering(reach_m, [length.si for length in size.lengths]) or [(reach_m, 1)]
    counts = dict.fromkeys(wanted, 1)
    if _COUPLING in counts:
        counts[_COUPLING] = sum(count for _, count in pieces)
    length = write(sum(piece * count for piece, count in pieces), Quantity.LENGTH, units)
    return {"hose": hose.id, "size": size.size.text, "length": length, "fittings": counts}


def _takes(hose: Hose, size: HoseSize, fittings: Sequence[str], side: Side, catalogue: Catalogue) -> bool:
    """All those fittings come in that size."""
    leg = Leg.model_validate({"hose": hose.id, "size": size.size.text, "length": "1 m"})
    return all(belongs(name, leg, side=side, in_water=side == "suction", catalogue=catalogue) for name in fittings)


# --- what is chosen


def _shelves(catalogue: Catalogue) -> Iterator[Catalogue]:
    """The yard by the ports of its pumps: each time those of one size, with the hose that suits it."""
    ports: dict[tuple[float, float], dict[str, Pump]] = {}
    for pump in catalogue.pumps.values():
        inlet, outlet = (port.si if port is not None else 0.0 for port in (pump.inlet, pump.outlet))
        ports.setdefault((inlet, outlet), {})[pump.id] = pump
    for (inlet, outlet), pumps in ports.items():
        hoses: dict[str, Hose] = {}
        for hose in catalogue.hoses.values():
            port, low, high = (inlet, *_SUCTION) if hose.use == "suction" else (outlet, *_DISCHARGE)
            sizes = tuple(size for size in hose.size if port == 0.0 or low <= size.size.si / port <= high)
            if sizes:
                hoses[hose.id] = hose.model_copy(update={"size": sizes})
        yield replace(catalogue, pumps=pumps, hoses=hoses)


def _best(rows: Sequence[Found], wanted_m3_s: float, catalogue: Catalogue) -> Found:
    well = [row for row in rows if _well(row)]
    most = max((row.flow_m3_s or 0.0 for row in well), default=0.0)
    enough = wanted_m3_s if 0.0 < wanted_m3_s <= most else _NEARLY * most if wanted_m3_s == 0.0 else most
    reach = [row for row in well if (row.flow_m3_s or 0.0) >= enough]
    if reach and most > 0.0:
        return min(reach, key=_money)
    return min(rows, key=_trouble(wanted_m3_s, catalogue))


def _well(row: Found) -> bool:
    return row.state == State.SOUND and not row.dangers and not row.perhaps_starved


def _money(row: Found) -> tuple[float, float, float]:
    inf = float("inf")
    cost = row.cost if row.cost is not None else inf
    return cost, row.mass_kg if row.mass_kg is not None else inf, -(row.flow_m3_s or 0.0)


def _trouble(wanted_m3_s: float, catalogue: Catalogue) -> Callable[[Found], tuple[float, ...]]:
    """Small is near: first by what is wrong, then enough, then by how much comes or how far the pump reaches."""

    def key(row: Found) -> tuple[float, ...]:
        pump = catalogue.pumps[row.pump]
        flow = row.flow_m3_s or 0.0
        wrong = _TROUBLES.index(row.state or "no-prime")
        reach = 0.0 if flow > 0.0 else _draws_m(pump) if row.state == State.NO_PRIME else _pushes_m(pump)
        return (wrong, len(row.dangers), row.perhaps_starved, flow < wanted_m3_s, -flow, -reach, *_money(row))

    return key


def _draws_m(pump: Pump) -> float:
    """How far a pump draws water up dry. [m]"""
    return pump.priming_lift.si if pump.priming_lift is not None else 0.0


def _pushes_m(pump: Pump) -> float:
    """Its greatest head. [m]"""
    return float(pump.head.values_si.max())


def _with_row(site: Setup, row: Found, catalogue: Catalogue) -> Setup:
    setup = pump_change(catalogue.pumps[row.pump], site, catalogue).apply(site)
    for side, text in (("suction", row.suction), ("discharge", row.discharge)):
        hose, _, size = text.partition(" ")
        setup = setup.with_(f"{side}.leg.0.hose", hose).with_(f"{side}.leg.0.size", size)
    return setup
