"""The setup column: five stations in the order the water meets them, each a few rows of controls.

``stations`` is their structure, which changes seldom (units, outlet, a hose's own sizes); ``values`` what they show.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import Any, Final

from curvelab.app.edits import BEND_FITTING, BENDS, END_FITTING, stands_in_water
from curvelab.errors import InputError, UnknownNameError
from curvelab.model.catalogue import Catalogue
from curvelab.model.fields import Field, field_of, range_of, value_at
from curvelab.model.hoseline import Leg
from curvelab.model.setup import Setup
from curvelab.report.answers import Station
from curvelab.units import Quantity, System, display_unit, parse, plain, show

Row = dict[str, Any]

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
MOST_ABREAST: Final = 3
MOST_BENDS: Final = 20


def stations(setup: Setup, catalogue: Catalogue) -> list[dict[str, Any]]:
    """Structure of the column for a setup."""
    groups = (
        ("site", "Site", _site(setup)),
        ("suction", "Suction", _suction(setup, catalogue)),
        ("pump", "Pump", _pump(setup, catalogue)),
        ("discharge", "Discharge", _discharge(setup, catalogue)),
        ("outlet", "Outlet", _outlet(setup)),
    )
    return [{"key": key, "name": name, "rows": list(rows)} for key, name, rows in groups]


def values(setup: Setup, structure: list[dict[str, Any]], catalogue: Catalogue) -> dict[str, Any]:
    """What each row shows, by its path."""
    return {
        row["path"]: _value(setup, row, catalogue)
        for group in structure
        for row in group["rows"]
        if row["kind"] != "note"
    }


def ghost_of(setup: Setup, structure: list[dict[str, Any]], catalogue: Catalogue) -> dict[str, Any]:
    """What another setup has in the rows of this column, by path; rows that it lacks are left out."""
    found: dict[str, Any] = {}
    for row in (row for group in structure for row in group["rows"]):
        if row["kind"] not in ("slider", "number", "choice", "pick", "count"):
            continue
        try:
            found[row["path"]] = _value(setup, row, catalogue)
        except (InputError, UnknownNameError, AttributeError, IndexError):
            continue
    return found


def by_row(said: Mapping[str, str], structure: list[dict[str, Any]]) -> dict[str, str]:
    """Words by the path of the row they belong under: a table's for its cells, a pair's for its count."""
    rows = {row["path"] for group in structure for row in group["rows"]}
    placed: dict[str, str] = {}
    for path, words in said.items():
        row = END_FITTING if path == BENDS else path
        while row and row not in rows:
            row = row.rpartition(".")[0]
        if row and words:
            placed[row] = words
    return placed


def costs(stations: dict[str, Station]) -> dict[str, tuple[str, str]]:
    """What each group costs, in words and the strong figure after them."""
    return {key: (station.words, station.strong) for key, station in stations.items()}


def briefs(setup: Setup, catalogue: Catalogue) -> dict[str, str]:
    """One figure or two of each group, for the rail of a phone."""
    system = setup.units
    suction, discharge = setup.suction.leg[0], setup.discharge.leg[0]
    pump = setup.pump.record or catalogue.pumps.get(setup.pump.id or "")
    return {
        "site": show(setup.site.altitude.si, Quantity.LENGTH, system),
        "suction": f"{_size(suction, system)}, {show(suction.length.si, Quantity.LENGTH, system)}",
        "pump": (pump.name or pump.id) if pump is not None else "",
        "discharge": f"{_size(discharge, system)}, {show(discharge.length.si, Quantity.LENGTH, system)}",
        "outlet": OUTLETS[setup.outlet.kind],
    }


# --- rows


def _site(setup: Setup) -> Iterator[Row]:
    if setup.site.barometer is not None:
        yield _number(setup, "site.barometer", "Air pressure here")
    else:
        yield _slider(setup, "site.altitude", "Ground above sea")
    yield _slider(setup, "site.temperature", "Water temperature")
    yield _row("pick", "job.place", "Where it stands", options=list(PLACES.items()))


def _suction(setup: Setup, catalogue: Catalogue) -> Iterator[Row]:
    yield _slider(setup, "suction.lift", "Lift to the pump")
    yield from _leg(setup, "suction", catalogue)
    ends = [(f.id, f.name.split(",")[0]) for f in catalogue.fittings.values() if f.at_suction_end]
    bends = _row("count", BENDS, "90° bends", most=MOST_BENDS, spoken="90° bends in the suction hose")
    yield _row("pair", END_FITTING, "Strainer", options=[*ends, ("", "not stated")], second=bends)
    yield from _more_legs(setup, "suction")


def _pump(setup: Setup, catalogue: Catalogue) -> Iterator[Row]:
    fleet = [(pump.id, f"{pump.name or pump.id}, {pump.kind.replace('-', ' ')}") for pump in catalogue.pumps.values()]
    own = setup.pump.record
    if own is not None:
        fleet.insert(0, ("", f"{own.name or own.id}, {own.kind.replace('-', ' ')}"))
    yield _row("pick", "pump.id", "From the fleet", options=fleet)
    if setup.pump.speed is not None:
        yield _slider(setup, "pump.speed", "Engine speed")
    else:
        yield _slider(setup, "pump.throttle", "Throttle")


def _discharge(setup: Setup, catalogue: Catalogue) -> Iterator[Row]:
    yield _slider(setup, "discharge.rise", "Rise to the outlet")
    points = setup.discharge.waypoint
    if points:
        highest = max(range(len(points)), key=lambda place: points[place].height.si)
        yield _slider(setup, f"discharge.waypoint.{highest}.height", "Hump on the way")
    unit = display_unit(Quantity.LENGTH, setup.units).symbol
    yield _row("points", "discharge.waypoint", f"High and low points ({len(points)})", symbol=unit)
    yield from _leg(setup, "discharge", catalogue)
    abreast = max(MOST_ABREAST, setup.discharge.leg[0].abreast)
    counts = [(str(n), str(n), f"{n} side by side") for n in range(1, abreast + 1)]
    yield _row("choice", "discharge.leg.0.abreast", "Side by side", options=counts, symbol="hoses")
    yield from _more_legs(setup, "discharge")


def _outlet(setup: Setup) -> Iterator[Row]:
    kinds = [(kind, words) for kind, words in OUTLETS.items() if kind != "sprinklers" or setup.outlet.kind == kind]
    yield _row("choice", "outlet.kind", "Outlet", options=kinds, shape="bare")
    for path, label in OUTLET_ROWS[setup.outlet.kind]:
        if path == "outlet.count":
            yield _row("count", path, label, least=1, most=200)
        else:
            yield _slider(setup, path, label)


def _leg(setup: Setup, side: str, catalogue: Catalogue) -> Iterator[Row]:
    leg: Leg = getattr(setup, side).leg[0]
    at = f"{side}.leg.0"
    hoses = [hose for hose in catalogue.hoses.values() if hose.use in (side, "both") or hose.id == leg.hose]
    own = [] if leg.hose is not None else [("", "as written in the file")]
    yield _row(
        "pick", f"{at}.hose", "Hose", options=[*own, *((hose.id, hose.name) for hose in hoses)], spoken=f"{side} hose"
    )
    hose = catalogue.hoses.get(leg.hose or "")
    if hose is not None:
        unit = display_unit(Quantity.BORE, setup.units).symbol
        sizes = [(s.size.text, show(s.size.si, Quantity.BORE, setup.units, unit=False)) for s in hose.size]
        options = [(value, text, f"{text} {unit}") for value, text in sizes]
        yield _row(
            "choice", f"{at}.size", "Hose size", options=options, symbol=unit, shape="sizes", spoken=f"{side} hose size"
        )
    else:
        yield _slider(setup, f"{at}.bore", "Hose bore")
    yield _slider(setup, f"{at}.length", "Hose length")


def _more_legs(setup: Setup, side: str) -> Iterator[Row]:
    more = len(getattr(setup, side).leg) - 1
    if more:
        hoses = "one more hose" if more == 1 else f"{more} more hoses"
        yield {"kind": "note", "path": f"{side}.more", "label": f"Then {hoses}, as in the file."}


def _row(kind: str, path: str, label: str, **more: Any) -> Row:
    return {"kind": kind, "path": path, "label": label, **more}


def _number(setup: Setup, path: str, label: str) -> Row:
    field, places = field_of(path)
    quantity = field.quantity
    symbol = display_unit(quantity, setup.units, field.si(setup, *places)).symbol if quantity is not None else ""
    return _row("number", path, label, symbol=symbol)


def _slider(setup: Setup, path: str, label: str) -> Row:
    field, places = field_of(path)
    shown = range_of(field, setup.units, _si(field, setup, places))
    span = shown.span
    return _row("slider", path, label, low=span.low, steps=[list(step) for step in span.steps], symbol=shown.symbol)


# --- values


def _value(setup: Setup, row: Row, catalogue: Catalogue) -> Any:
    path: str = row["path"]
    match row["kind"]:
        case "slider" | "number":
            return _figure(setup, path)
        case "points":
            return _points(setup)
        case "pair":
            fittings = setup.suction.leg[0].fittings
            end = next((name for name in fittings if stands_in_water(catalogue.fittings.get(name))), "")
            return end, fittings.get(BEND_FITTING, 0)
        case "count":
            return value_at(setup, path) or 1
    if path.endswith(".size"):
        return _size_of(value_at(setup, path.removesuffix(".size")), row)
    found = value_at(setup, path)
    return "" if found is None else str(found)


def _size_of(leg: Leg, row: Row) -> str:
    """The text of the option that is this leg's size."""
    if leg.size is None:
        return ""
    sizes = [option[0] for option in row["options"]]
    return min(sizes, key=lambda text: abs(parse(text, Quantity.BORE) - leg.size.si)) if sizes else ""


def _figure(setup: Setup, path: str) -> tuple[float, str]:
    """Number of a slider in the unit shown, and how it is printed."""
    field, places = field_of(path)
    si = _si(field, setup, places) or 0.0
    quantity = field.quantity
    if not field.page:
        return si, show(si, quantity, setup.units, unit=False) if quantity is not None else plain(si)
    shown = range_of(field, setup.units)
    number = shown.number(si)
    if quantity is None:
        return number, plain(round(number, 1))
    unit = display_unit(quantity, setup.units)
    return number, plain(unit.round(number))


def _si(field: Field, setup: Setup, places: tuple[int, ...]) -> float | None:
    return field.si(setup, *places)


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


def _size(leg: Leg, system: System) -> str:
    bore = leg.size or leg.bore
    return show(bore.si, Quantity.BORE, system) if bore is not None else ""
