"""The setup column: five stations in the order the water meets them, each a few rows of controls.

``stations`` is their structure, which changes seldom (units, outlet, a hose's own sizes); ``values`` what they show.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from typing import Any, Final

from curvelab.app.edits import BEND_FITTING, BENDS, END_FITTING, stands_in_water
from curvelab.app.leg_rows import first_leg, further_legs, leg_value
from curvelab.app.pump_edits import MORE, SUCTION
from curvelab.app.pump_rows import pump_rows, pump_value
from curvelab.app.rows import STILL, Row, figure, flat, number, row, slider
from curvelab.errors import InputError, UnknownNameError
from curvelab.model.catalogue import Catalogue
from curvelab.model.fields import value_at
from curvelab.model.fitting import Fitting
from curvelab.model.hoseline import Leg
from curvelab.model.setup import Setup
from curvelab.report.answers import Station
from curvelab.units import Quantity, System, display_unit, parse, plain, show

OUTLETS: Final = {
    "open": "open end",
    "submerged": "under water",
    "nozzle": "nozzle",
    "pressure": "pressure",
    "sprinklers": "sprinklers",
}
OUTLET_ROWS: Final = {
    "open": (),
    "submerged": (("outlet.depth", "Water over the end"),),
    "nozzle": (("outlet.bore", "Nozzle bore"), ("outlet.count", "Nozzles")),
    "pressure": (("outlet.pressure", "Pressure asked"),),
    "sprinklers": (
        ("outlet.count", "Sprinklers"),
        ("outlet.flow", "Flow of each"),
        ("outlet.pressure", "at a pressure of"),
    ),
}
PLACES: Final = {"open": "open ground", "building": "building, cellar", "pit": "pit, tank", "flood": "flooded ground"}
MOST_BENDS: Final = 20


def stations(setup: Setup, catalogue: Catalogue) -> list[dict[str, Any]]:
    """Structure of the column for a setup."""
    groups = (
        ("site", "Site", _site(setup)),
        ("suction", "Suction", _suction(setup, catalogue)),
        ("pump", "Pump", pump_rows(setup, catalogue)),
        ("discharge", "Discharge", _discharge(setup, catalogue)),
        ("outlet", "Outlet", _outlet(setup)),
    )
    return [{"key": key, "name": name, "rows": list(rows)} for key, name, rows in groups]


def values(setup: Setup, structure: list[dict[str, Any]], catalogue: Catalogue) -> dict[str, Any]:
    """What each row shows, by its path."""
    return {one["path"]: _value(setup, one, catalogue) for one in flat(structure) if one["kind"] not in STILL}


def ghost_of(setup: Setup, structure: list[dict[str, Any]], catalogue: Catalogue) -> dict[str, Any]:
    """What another setup has in the rows of this column, by path; rows that it lacks are left out."""
    found: dict[str, Any] = {}
    for one in flat(structure):
        if one["kind"] not in ("slider", "number", "choice", "pick", "hose", "count"):
            continue
        try:
            found[one["path"]] = _value(setup, one, catalogue)
        except (InputError, UnknownNameError, AttributeError, IndexError):
            continue
    return found


def by_row(said: Mapping[str, str], structure: list[dict[str, Any]]) -> dict[str, str]:
    """Words by the path of the row they belong under: a table's for its cells, a pair's for its count."""
    rows = {one["path"] for one in flat(structure)}
    placed: dict[str, str] = {}
    for path, words in said.items():
        place = END_FITTING if path == BENDS else path
        while place and place not in rows:
            place = place.rpartition(".")[0]
        if place and words:
            placed[place] = words
    return placed


def costs(stations: dict[str, Station]) -> dict[str, tuple[str, str]]:
    """What each group costs, in words and the strong figure after them."""
    return {key: (station.words, station.strong) for key, station in stations.items()}


def briefs(setup: Setup, catalogue: Catalogue) -> dict[str, str]:
    """One figure or two of each group, for the rail of a phone."""
    system = setup.units
    pump = setup.pump.record or catalogue.pumps.get(setup.pump.id or "")
    return {
        "site": show(setup.site.altitude.si, Quantity.LENGTH, system),
        "suction": _hoses(setup.suction.leg, system),
        "pump": pump.label if pump is not None else "",
        "discharge": _hoses(setup.discharge.leg, system),
        "outlet": OUTLETS[setup.outlet.kind],
    }


# --- rows


def _site(setup: Setup) -> Iterator[Row]:
    if setup.site.barometer is not None:
        yield number(setup, "site.barometer", "Air pressure here")
    else:
        yield slider(setup, "site.altitude", "Ground above sea")
    yield slider(setup, "site.temperature", "Water temperature")
    yield row("pick", "job.place", "Where it stands", options=list(PLACES.items()))


def _suction(setup: Setup, catalogue: Catalogue) -> Iterator[Row]:
    yield slider(setup, "suction.lift", "Lift to the pump")
    yield from first_leg(setup, "suction", catalogue)
    ends = [(fitting.id, name) for fitting, name in _ends(catalogue)]
    bends = row("count", BENDS, "90° bends", most=MOST_BENDS, spoken="90° bends in the suction hose")
    yield row("pair", END_FITTING, "Strainer", options=[*ends, ("", "not stated")], second=bends)
    yield from further_legs(setup, "suction", catalogue)


def _ends(catalogue: Catalogue) -> Iterator[tuple[Fitting, str]]:
    """What may stand in the water, with the shortest name that no other has."""
    ends = [fitting for fitting in catalogue.fittings.values() if fitting.at_suction_end]
    short = [fitting.label.partition(",")[0] for fitting in ends]
    for fitting, name in zip(ends, short, strict=True):
        yield fitting, name if short.count(name) == 1 else fitting.label


def _discharge(setup: Setup, catalogue: Catalogue) -> Iterator[Row]:
    yield slider(setup, "discharge.rise", "Rise to the outlet")
    points = setup.discharge.waypoint
    if points:
        highest = max(range(len(points)), key=lambda place: points[place].height.si)
        yield slider(setup, f"discharge.waypoint.{highest}.height", "Hump on the way")
    unit = display_unit(Quantity.LENGTH, setup.units).symbol
    yield row("points", "discharge.waypoint", f"High and low points ({len(points)})", symbol=unit)
    yield from first_leg(setup, "discharge", catalogue)
    yield from further_legs(setup, "discharge", catalogue)


def _outlet(setup: Setup) -> Iterator[Row]:
    kinds = [(kind, words) for kind, words in OUTLETS.items() if kind != "sprinklers" or setup.outlet.kind == kind]
    yield row("choice", "outlet.kind", "Outlet", options=kinds, shape="bare")
    for path, label in OUTLET_ROWS[setup.outlet.kind]:
        if path == "outlet.count":
            yield row("count", path, label, least=1, most=200)
        else:
            yield slider(setup, path, label)


# --- values


def _value(setup: Setup, of: Row, catalogue: Catalogue) -> Any:
    path: str = of["path"]
    match of["kind"]:
        case "slider" | "number":
            unstated = "empty" in of and value_at(setup, path) is None
            return (0.0, "") if unstated else figure(setup, path)
        case "points":
            return _points(setup)
        case "pair":
            fittings = setup.suction.leg[0].fittings
            end = next((name for name in fittings if stands_in_water(catalogue.fittings.get(name))), "")
            return end, fittings.get(BEND_FITTING, 0)
        case "count":
            return value_at(setup, path) or 1
        case "fold" | "choice" if path in (MORE, SUCTION):
            return pump_value(setup, path)
        case "fold" | "say" | "fitting" as kind:
            return leg_value(kind, setup, path, catalogue)
    if path.endswith(".size"):
        return _size_of(value_at(setup, path.removesuffix(".size")), of)
    found = value_at(setup, path)
    return "" if found is None else str(found)


def _size_of(leg: Leg, of: Row) -> str:
    """The text of the option that is this leg's size."""
    if leg.size is None:
        return ""
    sizes = [option[0] for option in of["options"]]
    return min(sizes, key=lambda text: abs(parse(text, Quantity.BORE) - leg.size.si)) if sizes else ""


def _points(setup: Setup) -> dict[str, Any]:
    unit = display_unit(Quantity.LENGTH, setup.units)

    def text(si: float) -> str:
        return plain(unit.round(unit.from_si(si)))

    points = setup.discharge.waypoint
    rows = [[p.name or f"point {n}", text(p.distance.si), text(p.height.si)] for n, p in enumerate(points, 1)]
    heights = [p.height.si for p in points]
    if not points:
        words = "none"
    elif len(points) == 1:
        words = f"{_signed(text(heights[0]))} {unit.symbol}"
    else:
        words = f"{_signed(text(min(heights)))} to {_signed(text(max(heights)))} {unit.symbol}"
    return {"points": rows, "text": words}


def _signed(text: str) -> str:
    return text if text.startswith("−") or text == "0" else f"+{text}"


def _hoses(legs: Sequence[Leg], system: System) -> str:
    """``3 in, 300 ft``, ``3 + 2 in, 400 ft``."""
    bores = [bore for leg in legs if (bore := leg.size or leg.bore) is not None]
    sizes = list(dict.fromkeys(show(bore.si, Quantity.BORE, system, unit=False) for bore in bores))
    length = show(sum(leg.length.si for leg in legs), Quantity.LENGTH, system)
    return f"{' + '.join(sizes)} {display_unit(Quantity.BORE, system).symbol}, {length}"
