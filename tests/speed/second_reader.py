"""A setup file read a second time with nothing of the package: its own units, water and air from other libraries.

Reads the demo's own files; it judges nothing and refuses nothing. Water is CoolProp's, air that of the fluids library.
"""

from __future__ import annotations

import tomllib
from fractions import Fraction
from functools import cache
from math import pi
from pathlib import Path
from typing import Any

from CoolProp.CoolProp import PropsSI
from fluids.atmosphere import ATMOSPHERE_1976
from fluids.friction import Clamond

from tests.speed.case import Case, Hose, Outlet, Pump
from tests.speed.reference import G

DATA = Path(__file__).parents[2] / "data"
Table = dict[str, Any]

FOOT, GALLON, IMPERIAL_GALLON, PSI = 0.3048, 3.785411784e-3, 4.54609e-3, 6894.757293168361
UNITS = {
    "ft": FOOT,
    "in": FOOT / 12,
    "m": 1.0,
    "mm": 1e-3,
    "cm": 1e-2,
    "mm2/s": 1e-6,
    "gpm": GALLON / 60,
    "imp gpm": IMPERIAL_GALLON / 60,
    "L/min": 1e-3 / 60,
    "m3/h": 1 / 3600,
    "psi": PSI,
    "Pa": 1.0,
    "hPa": 100.0,
    "kPa": 1e3,
    "bar": 1e5,
    "rpm": 1.0,
}
GLYPHS = {"¼": Fraction(1, 4), "½": Fraction(1, 2), "¾": Fraction(3, 4)}
TEST_HOSE_ROUGHNESS = 5e-5  # smooth suction hose
STANDARD_AIR, DENSEST_WATER = 101325.0, 999.97  # kg/m³ at 4 °C


def si(text: str) -> float:
    """A number and its unit, plain, with a fraction behind it or as a fraction."""
    number, unit = "", ""
    for word in text.replace("−", "-").split():
        if word[0].isdigit() or word[0] in "-.¼½¾":
            number += " " + word
        else:
            unit += " " + word
    total = Fraction(0)
    for word in number.split():
        glyph = GLYPHS.get(word[-1])
        total += Fraction(word[:-1] or "0") + glyph if glyph else Fraction(word)
    value, unit = float(total), unit.strip()
    if unit in {"degC", "degF"}:
        return value + 273.15 if unit == "degC" else (value - 32) / 1.8 + 273.15
    return value * UNITS[unit]


@cache
def records(name: str) -> dict[str, Table]:
    """The records of one of the shared files by id: hose, fitting or liquid."""
    plural = {"hose": "hoses", "fitting": "fittings", "liquid": "liquids"}[name]
    table = tomllib.loads((DATA / f"{plural}.toml").read_text(encoding="utf-8"))
    return {record["id"]: record for record in table[name]}


def case_of(path: Path) -> Case:
    """The setup in a file, ready for the second route."""
    setup = tomllib.loads(path.read_text(encoding="utf-8"))
    site, suction, discharge = setup.get("site", {}), setup["suction"], setup["discharge"]
    density_ratio, density, viscosity, vapour = _liquid(site)
    legs = tuple(_hose(leg, rigid=True) for leg in suction["leg"])
    used = [records("fitting")[name] for leg in suction["leg"] for name in leg.get("fittings", {})]
    return Case(
        density=density,
        density_ratio=density_ratio,
        viscosity=viscosity,
        air=si(site["barometer"]) if "barometer" in site else ATMOSPHERE_1976(si(site.get("altitude", "0 m"))).P,
        vapour=vapour,
        lift=si(suction["lift"]),
        margin=si(suction.get("margin", "2 ft")),
        suction=legs,
        discharge=tuple(_hose(leg, rigid=False) for leg in discharge["leg"]),
        outlet=_outlet(setup["outlet"], discharge),
        pump=_pump(setup["pump"]),
        waypoints=tuple((si(w["distance"]), si(w["height"])) for w in discharge.get("waypoint", [])),
        holds_prime=any(fitting.get("holds_prime", False) for fitting in used),
    )


def _liquid(site: Table) -> tuple[float, float, float, float]:
    """Density ratio, density, kinematic viscosity and vapour pressure."""
    record = records("liquid")[site.get("liquid", "water")]
    if record["id"] != "water":
        ratio = record["density_ratio"]
        return ratio, ratio * DENSEST_WATER, si(record["kinematic_viscosity"]), si(record["vapour_pressure"])
    kelvin = si(site.get("temperature", "15 degC"))
    density = PropsSI("D", "T", kelvin, "P", 1e5, "Water")
    viscosity = PropsSI("V", "T", kelvin, "P", 1e5, "Water") / density
    return 1.0, density, viscosity, PropsSI("P", "T", kelvin, "Q", 0, "Water")


def _hose(leg: Table, *, rigid: bool) -> Hose:
    size = leg.get("size")
    if "hose" in leg:
        record = records("hose")[leg["hose"]]
        made = next(s for s in record["size"] if s["size"] == size)
        bore = si(made.get("charged_bore", made["bore"]))
        roughness, rigid = si(record["roughness"]), record["rigid"]
    else:
        bore, roughness = si(leg["bore"]), si(leg["roughness"])
    k = leg.get("k", 0.0) + sum(count * _k(name, size) for name, count in leg.get("fittings", {}).items())
    return Hose(
        length=si(leg["length"]),
        bore=bore,
        roughness=roughness,
        k=k,
        abreast=leg.get("abreast", 1),
        rigid=leg.get("rigid", rigid),
    )


def _k(name: str, size: str | None) -> float:
    record = records("fitting")[name]
    own = [entry["k"] for entry in record.get("size", []) if entry["size"] == size]
    return own[0] if own else record["k"]


def _outlet(outlet: Table, discharge: Table) -> Outlet:
    return Outlet(
        kind=outlet["kind"],
        rise=si(discharge["rise"]),
        bore=si(outlet.get("bore", "0 m")),
        count=outlet.get("count", 1),
        flow=si(outlet.get("flow", "0 gpm")),
        pressure=si(outlet.get("pressure", "0 Pa")),
        valve_k=discharge.get("valve_k", 0.0),
    )


def _pump(used: Table) -> Pump:
    sheet = tomllib.loads((DATA / "pumps" / f"{used['id']}.toml").read_text(encoding="utf-8"))
    flow, head = _points(sheet["head"], "head")
    npshr_flow, npshr = _points(sheet["npshr"], "head") if "npshr" in sheet else _from_lifts(sheet)
    speed = si(used["speed"]) / si(sheet["speed"]) if "speed" in used else used.get("throttle", 1.0)
    return Pump(
        flow=flow,
        head=head,
        npshr_flow=npshr_flow,
        npshr=npshr,
        speed=speed,
        wear=used.get("wear", 1.0),
        inlet=si(sheet["inlet"]),
        outlet=si(sheet["outlet"]),
        priming_lift=si(sheet["priming_lift"]) if "priming_lift" in sheet else None,
    )


def _points(curve: Table, quantity: str) -> tuple[tuple[float, ...], tuple[float, ...]]:
    x, y = UNITS[curve["flow"]], UNITS[curve[quantity]]
    return tuple(q * x for q, _ in curve["points"]), tuple(h * y for _, h in curve["points"])


def _from_lifts(sheet: Table) -> tuple[tuple[float, ...], tuple[float, ...]]:
    """NPSHR at the flow where each lift's curve drops away: NPSHA there, tested at sea level in water at 20 °C."""
    density = PropsSI("D", "T", 293.15, "P", 1e5, "Water")
    viscosity = PropsSI("V", "T", 293.15, "P", 1e5, "Water") / density
    push = (STANDARD_AIR - PropsSI("P", "T", 293.15, "Q", 0, "Water")) / (density * G)
    found: list[tuple[float, float]] = []
    for test in sheet.get("suction_test", []):
        flow, bore = si(test["flow"]), si(test["hose_bore"])
        velocity = flow / (pi * bore**2 / 4)
        factor = Clamond(velocity * bore / viscosity, TEST_HOSE_ROUGHNESS / bore)
        loss = factor * si(test["hose_length"]) / bore * velocity**2 / (2 * G)
        found.append((flow, push - si(test["lift"]) - loss))
    found.sort()
    return tuple(q for q, _ in found), tuple(h for _, h in found)
