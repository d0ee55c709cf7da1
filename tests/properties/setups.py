"""Any setup that the demo's catalogue can serve, for hypothesis: every section, every unit, any writing of a number."""

import string
from collections.abc import Iterable
from functools import cache
from typing import Any

from hypothesis import strategies as st

from curvelab.errors import InputError
from curvelab.model.amount import Kind
from curvelab.model.catalogue import default_catalogue
from curvelab.model.fields import leaf_of
from curvelab.model.setup import Setup
from curvelab.units.factors import UNITS

CATALOGUE = default_catalogue()
PRINTABLE = st.characters(codec="utf-8", exclude_categories=["Cc", "Cs", "Cf", "Zl", "Zp"])
DIGITS = st.sampled_from(["{:.4g}", "{:.12g}", "{!r}", "{:.3f}"])
GAPS = st.sampled_from(["", " ", "  "])
MINUS = st.sampled_from(["-", "−"])
PIECES = ("½ in", "2½ in", "1 1/2 in", "3/4 in")
POINTS = [[0, 98.0], [60.5, 90.25], [120, 70.0]]


@cache
def words(most: int = 40) -> st.SearchStrategy[str]:
    return st.text(PRINTABLE, max_size=most)


@cache
def amount(path: str, low: float | None = None, high: float | None = None) -> st.SearchStrategy[str]:
    """Text of an amount that the field at ``path`` takes, in any unit of its quantity; limits in SI, both inside."""
    kind = leaf_of(path)
    assert isinstance(kind, Kind)
    bottom, top = max(kind.low, -1e9 if low is None else low), min(kind.high, 1e9 if high is None else high)
    inner = st.floats(bottom + 1e-6 * (top - bottom), top - 1e-6 * (top - bottom))

    def written(si: float, unit: str, digits: str, gap: str, minus: str) -> str:
        number = si / UNITS[kind.quantity][unit].scale - UNITS[kind.quantity][unit].offset
        return f"{digits.format(number)}{gap}{unit}".replace("-", minus, 1)

    def reads(text: str) -> bool:
        try:
            kind.read(text)
        except InputError:
            return False
        return True

    unit = st.sampled_from(sorted(UNITS[kind.quantity]))
    return st.builds(written, inner, unit, DIGITS, GAPS, MINUS).filter(reads)


def table(
    required: dict[str, st.SearchStrategy[Any]], optional: dict[str, st.SearchStrategy[Any]]
) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries(required, optional=optional)


def fitting_names(side: str, place: int, size_m: float) -> list[str]:
    wheres = {"suction": ("suction", "any"), "discharge": ("discharge", "outlet", "any")}[side]
    if side == "suction" and place == 0:
        wheres = (*wheres, "suction-end")
    return sorted(f.id for f in CATALOGUE.fittings.values() if f.where in wheres and f.stocked(size_m))


@cache
@st.composite
def leg(draw: st.DrawFn, side: str, place: int) -> dict[str, Any]:
    at = f"{side}.leg.0"
    more = table(
        {"length": amount(f"{at}.length", 0.0, 1000.0)},
        {"abreast": st.integers(1, 100), "k": st.floats(0.0, 1e6)},
    )
    out = draw(more)
    if draw(st.booleans()):
        hoses = [h for h in CATALOGUE.hoses.values() if h.use in (side, "both")]
        hose = draw(st.sampled_from(sorted(hoses, key=lambda h: h.id)))
        size = draw(st.sampled_from(hose.size)).size
        out |= {"hose": hose.id, "size": size.text}
        names = fitting_names(side, place, size.si)
    else:
        out |= draw(
            table(
                {"bore": amount(f"{at}.bore", 0.01, 1.0), "roughness": amount(f"{at}.roughness", 0.0, 4e-4)},
                {"rigid": st.booleans()},
            )
        )
        names = fitting_names(side, place, 0.0762)
    if names:
        out["fittings"] = draw(st.dictionaries(st.sampled_from(names), st.integers(1, 9), max_size=3))
    return out


def legs(side: str) -> st.SearchStrategy[list[dict[str, Any]]]:
    return st.integers(1, 3).flatmap(lambda count: st.tuples(*(leg(side, place) for place in range(count)))).map(list)


@cache
def waypoint() -> st.SearchStrategy[dict[str, Any]]:
    at = "discharge.waypoint.0"
    return table(
        {"distance": amount(f"{at}.distance", 0.0, 900.0), "height": amount(f"{at}.height", -90.0, 90.0)},
        {"name": words(20)},
    )


def outlet() -> st.SearchStrategy[dict[str, Any]]:
    count = st.integers(1, 10_000)
    flow, pressure = amount("outlet.flow", 1e-5, 0.1), amount("outlet.pressure", 1e3, 1e6)
    cd = st.floats(0.01, 1.0)
    kinds = (
        table({"kind": st.just("open")}, {}),
        table({"kind": st.just("submerged")}, {"depth": amount("outlet.depth")}),
        table({"kind": st.just("nozzle"), "bore": st.sampled_from(PIECES)}, {"count": count, "cd": cd}),
        table({"kind": st.just("pressure"), "pressure": pressure}, {}),
        table({"kind": st.just("sprinklers"), "count": count, "flow": flow, "pressure": pressure}, {}),
    )
    return st.one_of(kinds)


@cache
def record() -> st.SearchStrategy[dict[str, Any]]:
    """A pump written out."""
    name = st.text(string.ascii_lowercase + string.digits, min_size=1, max_size=12)
    fixed = {"flow": st.just("gpm"), "head": st.just("ft"), "points": st.just(POINTS)}
    return table(
        {
            "id": name,
            "kind": st.sampled_from(["trash", "clear-water"]),
            "source": words().filter(bool),
            "speed": amount("pump.record.speed", 10.0, 100.0),
            "head": st.fixed_dictionaries(fixed),
        },
        {
            "name": words(),
            "estimate": st.booleans(),
            "npshr": st.fixed_dictionaries({**fixed, "points": st.lists(st.floats(0.1, 90.0), min_size=2).map(rising)}),
            "carries": st.lists(st.sampled_from(["water", "sea-water", "7"]), max_size=3, unique=True),
            "housing": st.sampled_from(["cast iron", "polymer"]),
            "engine": table(
                {"power": amount("pump.record.engine.power", 1e3, 1e5)}, {"continuous": st.floats(0.1, 1.0)}
            ),
            "test": st.just([{"date": "2026-05-04", "kind": "vacuum", "vacuum": "25 inHg"}]),
            "suction_test": st.just([]),
        },
    )


def rising(values: Iterable[float]) -> list[list[float]]:
    return [[place * 20.5, min(value, 30.0)] for place, value in enumerate(values)]


@cache
@st.composite
def pump(draw: st.DrawFn, at: str = "pump") -> dict[str, Any]:
    out: dict[str, Any] = {"wear": draw(st.floats(0.05, 1.5))} if draw(st.booleans()) else {}
    match draw(st.integers(0, 2)):
        case 0:
            out["throttle"] = draw(st.floats(0.4, 1.05))
        case 1:
            out["speed"] = draw(amount(f"{at}.speed", 30.0, 60.0))
        case _:
            pass
    if draw(st.integers(0, 3)):
        return out | {"id": draw(st.sampled_from(sorted(CATALOGUE.pumps)))}
    return out | {"record": draw(record())}


@cache
@st.composite
def main_pump(draw: st.DrawFn) -> dict[str, Any]:
    out = draw(pump())
    if draw(st.booleans()):
        out["abreast"] = draw(st.integers(1, 100))
        out["beside"] = draw(st.lists(pump("pump.beside.0"), max_size=2))
    return out


@cache
@st.composite
def booster(draw: st.DrawFn) -> dict[str, Any]:
    return draw(pump("booster.0")) | {"distance": draw(amount("booster.0.distance", 0.0, 900.0))}


@cache
def shapes(at: str) -> st.SearchStrategy[dict[str, Any]]:
    def some(name: str) -> st.SearchStrategy[str]:
        return amount(f"{at}.{name}", 5.0, 500.0)

    sizes = {
        "box": ("length", "width"),
        "cylinder": ("diameter",),
        "frustum": ("top_length", "top_width", "bottom_length", "bottom_width", "full_depth"),
    }
    plain = [
        st.fixed_dictionaries({"shape": st.just(shape), **{name: some(name) for name in names}})
        for shape, names in sizes.items()
    ]
    pond = {"shape": st.just("pond"), "full_depth": some("full_depth"), "power": st.floats(0.0, 10.0)}
    by_level = {"shape": st.just("table"), "level": st.just(["5 m"]), "area": st.just(["70 m2"])}
    by_levels = {**by_level, "level": st.just(["1 ft", "40 ft"]), "area": st.just(["1 acre", "2 ha"])}
    return st.one_of(
        *plain,
        st.fixed_dictionaries({**pond, "area": st.sampled_from(["70 m²", "0.5 acre"])}),
        st.fixed_dictionaries(by_level),
        st.fixed_dictionaries(by_levels),
    )


@cache
@st.composite
def source(draw: st.DrawFn) -> dict[str, Any]:
    rest = table(
        {"depth": amount("source.depth", 2.0, 4.5)},
        {
            "name": words(20),
            "stop": amount("source.stop", 0.0, 1.5),
            "inflow": st.one_of(
                st.sampled_from(["15 gpm", "0 L/min"]),
                st.just({"time": ["0 h", "2 h"], "flow": ["40 gpm", "10 gpm"]}),
                st.just({"time": ["0 h"], "flow": ["1e-05 m3/s"]}),
            ),
            "cover": amount("source.cover"),
            "fastest": amount("source.fastest", 1e-7, 1e-3),
        },
    )
    return draw(shapes("source")) | draw(rest)


@cache
@st.composite
def receiver(draw: st.DrawFn) -> dict[str, Any]:
    out = draw(shapes("receiver")) | {"full": draw(amount("receiver.full", 2.0, 4.5))}
    if draw(st.booleans()):
        out["now" if out["shape"] == "table" else "level"] = draw(amount("receiver.now", 0.0, 1.5))
    return out


def doubt() -> st.SearchStrategy[dict[str, Any]]:
    names = ("lift", "rise", "length", "bore", "roughness", "k", "head", "npshr")
    return table({}, {name: amount(f"doubt.{name}") for name in names})


@cache
def documents() -> st.SearchStrategy[dict[str, Any]]:
    """What a setup file may hold."""
    suction = table(
        {"lift": amount("suction.lift", -90.0, 90.0), "leg": legs("suction")},
        {"margin": amount("suction.margin"), "strainer_height": amount("suction.strainer_height")},
    )
    discharge = table(
        {"rise": amount("discharge.rise", -90.0, 90.0), "leg": legs("discharge")},
        {"valve_k": st.floats(0.0, 1e6), "waypoint": st.lists(waypoint(), max_size=4)},
    )
    site = table(
        {},
        {
            "altitude": amount("site.altitude"),
            "barometer": amount("site.barometer"),
            "temperature": amount("site.temperature"),
            "air_temperature": amount("site.air_temperature"),
            "liquid": st.sampled_from(sorted(CATALOGUE.liquids)),
        },
    )
    goal = st.one_of(
        table({}, {"flow": amount("goal.flow", 1e-4, 1.0)}),
        table({"volume": amount("goal.volume", 1.0, 1e6), "time": amount("goal.time", 1.0, 1e6)}, {}),
    )
    job = table(
        {},
        {
            "kind": st.sampled_from(["drain", "over-hill"]),
            "place": st.sampled_from(["open", "pit"]),
            "solids": st.sampled_from(PIECES),
        },
    )
    return table(
        {"pump": main_pump(), "suction": suction, "discharge": discharge},
        {
            "title": words(200),
            "units": st.sampled_from(["us", "metric", "imperial"]),
            "job": job,
            "site": site,
            "booster": st.lists(booster(), max_size=2),
            "outlet": outlet(),
            "goal": goal,
            "source": source(),
            "receiver": receiver(),
            "doubt": doubt(),
        },
    )


def setups() -> st.SearchStrategy[Setup]:
    """Setups of every kind."""
    return documents().map(Setup.model_validate)
