"""The one table of fields: what sliders, links, sweeps and sentences know of every field of a setup.

Quantity, default and permitted range of a field come from the sections themselves. What stands here is what only people
need: a label, the station of the page, the short key in a link, the span of the slider in each unit, which way a limit
is sought. The spans are the ranges met in the trade (common practice, no source); steps are our own choice.
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from enum import StrEnum
from functools import cache, cached_property
from typing import Any, Final, cast

from curvelab.errors import Fault, UnknownNameError
from curvelab.model.amount import Amount, Leaf
from curvelab.model.section import Section, section_in
from curvelab.model.setup import Setup
from curvelab.model.span import Range, Span
from curvelab.units import Quantity, System, display_unit, write
from curvelab.units.factors import UNITS


class Station(StrEnum):
    """Where the water meets it; the groups of the page."""

    SITE = "site"
    SUCTION = "suction"
    PUMP = "pump"
    DISCHARGE = "discharge"
    OUTLET = "outlet"
    NONE = ""
    """Set elsewhere than in the five groups."""


class Limit(StrEnum):
    """Which end of a field is asked for when a setup is pushed until something gives way."""

    GREATEST = "greatest"
    LEAST = "least"
    NONE = ""


@dataclass(frozen=True, kw_only=True)
class Field:
    """One field of a setup. ``*`` in ``path`` and in ``key`` stands for a place in a list, counted from 0."""

    path: str
    label: str
    key: str
    """Its name in a link."""
    station: Station = Station.NONE
    limit: Limit = Limit.NONE
    page: Mapping[str, Span] = field(default_factory=dict[str, Span], repr=False)
    """What the slider spans, by unit as files spell it; ``%`` also for a ratio, an empty name for a bare number."""
    column: str = ""
    """Column of a Plan that holds the field, such as ``discharge.length_m``; empty where it takes more than one."""

    @cached_property
    def leaf(self) -> Leaf | None:
        """What reads the field's value; ``None`` for a choice of words."""
        return leaf_of(self.path)

    @property
    def quantity(self) -> Quantity | None:
        """What the field measures; ``None`` for text, a ratio, a count, a choice."""
        return getattr(self.leaf, "quantity", None)

    @property
    def default(self) -> Any:
        """Value of a field left out; ``None`` also where a file must state it."""
        owner, name = owner_of(self.path)
        info = owner.model_fields[name]
        return None if info.is_required() else info.get_default(call_default_factory=True)

    def at(self, *places: int) -> str:
        """Its path with the places filled in: ``discharge.leg.0.length``."""
        return _filled(self.path, places)

    def get(self, setup: Setup, *places: int) -> Any:
        """Its value in a setup; ``None`` where it isn't stated or there is no such place."""
        return value_at(setup, self.at(*places))

    def si(self, setup: Setup, *places: int) -> float | None:
        """Its value as an SI number; ``None`` where it isn't stated."""
        value = self.get(setup, *places)
        return value.si if isinstance(value, Amount) else value

    def set(self, setup: Setup, si: float, *places: int, system: System | None = None) -> Setup:
        """A checked copy of the setup with the SI value, written in the units of ``system`` (left out: the setup's).

        Raises
        ------
        InputError
            If the value, or what it makes of the setup, is wrong.
        """
        quantity = self.quantity
        value = si if quantity is None else write(si, quantity, system or setup.units)
        return setup.with_(self.at(*places), value)


def range_of(field: Field, system: System, value_si: float | None = None) -> Range:
    """The slider of a field, widened where ``value_si`` lies outside.

    Raises
    ------
    UnknownNameError
        If the field has no slider.
    """
    quantity = field.quantity
    if not field.page:
        raise UnknownNameError(Fault("", field.path, "has no slider", "set it in a table or in a file"))
    if quantity is None:
        unit = next(iter(field.page))
        shown = Range(field.page[unit], unit, UNITS[Quantity.SHARE][unit].scale if unit else 1.0)
    else:
        display = display_unit(quantity, system)
        shown = Range(field.page[display.written], display.symbol, display.scale, display.offset)
    if value_si is None:
        return shown
    return Range(shown.span.widened(shown.number(value_si)), shown.symbol, shown.scale, shown.offset)


def field_of(path: str) -> tuple[Field, tuple[int, ...]]:
    """The field that a path with its places names, and the places: ``discharge.leg.0.length``.

    Raises
    ------
    UnknownNameError
        If there is none; names the near one.
    """
    parts = path.split(".")
    places = tuple(int(part) for part in parts if part.isdecimal() and len(part) < 6)
    pattern = ".".join("*" if part.isdecimal() and len(part) < 6 else part for part in parts)
    found = BY_PATH.get(pattern)
    if found is None:
        raise UnknownNameError.among("field", path, [f.path.replace("*", "0") for f in FIELDS])
    return found, places


def value_at(setup: Setup, path: str) -> Any:
    """The value at a path with its places filled in; ``None`` where nothing is."""
    value: Any = setup
    for part in path.split("."):
        if isinstance(value, tuple):
            items, place = cast("tuple[Any, ...]", value), int(part)
            value = items[place] if place < len(items) else None
        else:
            value = getattr(value, part, None)
        if value is None:
            return None
    return value


@cache
def owner_of(path: str) -> tuple[type[Section], str]:
    """The section that holds a path's last name, and that name; list places as ``*`` or numbers.

    Raises
    ------
    UnknownNameError
        If no setup has such a path.
    """
    owner: type[Section] = Setup
    names = [part for part in path.split(".") if part != "*" and not part.isdecimal()]
    for place, name in enumerate(names):
        info = owner.model_fields.get(name)
        if info is None:
            raise UnknownNameError.among("field", name, owner.model_fields)
        if place == len(names) - 1:
            return owner, name
        inner = section_in(info.annotation)
        if inner is None:
            raise UnknownNameError(Fault("", path, f"{name} has nothing below it", "it is a single value"))
        owner = inner
    raise UnknownNameError(Fault("", path, "names no field", "write a path such as suction.lift"))


def leaf_of(path: str) -> Leaf | None:
    """What reads the value at a path; ``None`` for a choice of words, a list or a table."""
    owner, name = owner_of(path)
    return next((m for m in owner.model_fields[name].metadata if isinstance(m, Leaf)), None)


def _filled(pattern: str, places: tuple[int, ...]) -> str:
    numbers: Iterator[int] = iter(places)
    parts = [str(next(numbers, 0)) if part == "*" else part for part in pattern.split(".")]
    return ".".join(parts)


# --- spans ---


def _even(low: float, high: float, step: float) -> Span:
    return Span(low, ((high, step),))


_LIFT = {"ft": _even(-10, 26, 0.5), "m": _even(-3, 8, 0.1)}
_HEIGHT = {"ft": _even(-100, 150, 1), "m": _even(-30, 45, 0.5)}
_SUCTION_LENGTH = {"ft": _even(5, 60, 1), "m": _even(1.5, 18, 0.5)}
_RUN_FT, _RUN_M = ((100, 5), (300, 10), (600, 25), (1000, 50), (2000, 100)), ((30, 2), (100, 5), (300, 10), (600, 20))
_DISCHARGE_LENGTH = {"ft": Span(25, _RUN_FT), "m": Span(10, _RUN_M)}
_DISTANCE = {"ft": Span(0, _RUN_FT), "m": Span(0, _RUN_M)}
_DEPTH = {"ft": _even(0, 30, 0.5), "m": _even(0, 9, 0.1)}
_MARGIN = {"ft": _even(0, 10, 0.5), "m": _even(0, 3, 0.1)}
_SIDE = {"ft": Span(1, ((50, 1), (200, 5), (1000, 25))), "m": Span(0.5, ((15, 0.5), (60, 2), (300, 10)))}
_BORE = {"in": _even(0.75, 6, 0.05), "mm": _even(19, 152, 1)}
_TIP = {"in": _even(0.25, 2, 0.05), "mm": _even(6, 50, 1)}
_ROUGHNESS = {"in": _even(0, 0.06, 0.001), "mm": _even(0, 1.5, 0.01)}
_SOLIDS = {"in": _even(0, 2, 0.125), "mm": _even(0, 50, 1)}
_ALTITUDE = {"ft": _even(0, 10_000, 100), "m": _even(0, 3000, 50)}
_TEMPERATURE = {"degF": _even(33, 140, 1), "degC": _even(1, 60, 1)}
_AIR_TEMPERATURE = {"degF": _even(-20, 125, 1), "degC": _even(-30, 50, 1)}
_PRESSURE = {"psi": _even(5, 150, 1), "bar": _even(0.3, 10, 0.1)}
_SPRINKLER = {"gpm": _even(0.5, 20, 0.1), "L/min": _even(2, 75, 0.5), "imp gpm": _even(0.5, 17, 0.1)}
_FLOW = {
    "gpm": Span(5, ((100, 5), (600, 10))),
    "L/min": Span(20, ((400, 20), (2400, 40))),
    "imp gpm": Span(5, ((100, 5), (500, 10))),
}
_ROTATION = {"rpm": _even(1200, 4000, 50)}
_THROTTLE = {"%": _even(40, 105, 1)}
_WEAR = {"%": _even(50, 110, 1)}
_LOSS = {"": Span(0, ((5, 0.1), (50, 1)))}
_ABREAST = {"": _even(1, 4, 1)}
_OUTLETS = {"": _even(1, 60, 1)}
_CD = {"": _even(0.6, 1, 0.005)}
_HEIGHT_DOUBT = {"ft": _even(0, 10, 0.5), "m": _even(0, 3, 0.1)}
_SHARE_DOUBT = {"%": _even(0, 50, 1)}


# --- the table ---


def _pump(at: str, key: str, of: str, station: Station = Station.NONE) -> Iterator[Field]:
    def one(name: str, label: str, limit: Limit = Limit.NONE, page: Mapping[str, Span] | None = None) -> Field:
        short = key if name == "id" else f"{key}.{name}"
        return Field(path=f"{at}.{name}", label=label + of, key=short, station=station, limit=limit, page=page or {})

    yield one("id", "pump")
    yield one("file", "pump file")
    yield one("throttle", "throttle", Limit.LEAST, _THROTTLE)
    yield one("speed", "speed", Limit.LEAST, _ROTATION)
    yield one("wear", "wear", Limit.LEAST, _WEAR)


def _leg(side: str, station: Station, length: Mapping[str, Span]) -> Iterator[Field]:
    def one(
        name: str, label: str, short: str = "", limit: Limit = Limit.NONE, page: Mapping[str, Span] | None = None
    ) -> Field:
        column = f"{side}.{_LEG_COLUMNS[name]}" if name in _LEG_COLUMNS else ""
        return Field(
            path=f"{side}.leg.*.{name}",
            label=f"{side} {label}",
            key=f"{side[0]}*.{short or name}",
            station=station,
            limit=limit,
            page=page or {},
            column=column,
        )

    yield one("hose", "hose")
    yield one("size", "hose size", limit=Limit.LEAST)
    yield one("bore", "bore", limit=Limit.LEAST, page=_BORE)
    yield one("roughness", "roughness", limit=Limit.GREATEST, page=_ROUGHNESS)
    yield one("rigid", "hose holds its shape")
    yield one("length", "hose length", "len", Limit.GREATEST, length)
    yield one("abreast", "hoses abreast", limit=Limit.LEAST, page=_ABREAST)
    yield one("fittings", "fittings", "fit")
    yield one("k", "further loss", limit=Limit.GREATEST, page=_LOSS)


_LEG_COLUMNS: Final = {
    "bore": "bore_m",
    "roughness": "roughness_m",
    "length": "length_m",
    "abreast": "abreast",
    "k": "k",
}


def _own(*entries: tuple[str, str] | tuple[str, str, Mapping[str, Span]]) -> Iterator[Field]:
    """Fields without a station that a link names by their path."""
    for path, label, *page in entries:
        yield Field(path=path, label=label, key=path, page=page[0] if page else {})


def _body(at: str, of: str) -> Iterator[Field]:
    sizes = ("length", "width", "diameter", "top_length", "top_width", "bottom_length", "bottom_width")
    yield from _own((f"{at}.shape", f"shape of the {of}"), (f"{at}.name", f"name of the {of}"))
    yield from _own(*((f"{at}.{size}", f"{of} {size.replace('_', ' ')}", _SIDE) for size in sizes))
    yield from _own(
        (f"{at}.full_depth", f"{of} depth when full", _DEPTH),
        (f"{at}.power", f"{of} shape exponent"),
        (f"{at}.area", f"{of} area"),
        (f"{at}.level", f"{of} level"),
    )


_S, _L = Station, Limit

FIELDS: Final[tuple[Field, ...]] = (
    *_own(("title", "title"), ("units", "units")),
    *_own(
        ("job.kind", "job"), ("job.place", "place"), ("job.solids", "largest solids", _SOLIDS), ("job.start", "start")
    ),
    Field(path="site.altitude", label="altitude", key="alt", station=_S.SITE, limit=_L.GREATEST, page=_ALTITUDE),
    Field(path="site.barometer", label="barometer", key="baro", station=_S.SITE),
    Field(
        path="site.temperature",
        label="water temperature",
        key="temp",
        station=_S.SITE,
        limit=_L.GREATEST,
        page=_TEMPERATURE,
    ),
    Field(path="site.air_temperature", label="air temperature", key="air", page=_AIR_TEMPERATURE),
    Field(path="site.liquid", label="liquid", key="liquid", station=_S.SITE),
    Field(
        path="suction.lift",
        label="lift",
        key="lift",
        station=_S.SUCTION,
        limit=_L.GREATEST,
        page=_LIFT,
        column="lift_m",
    ),
    Field(path="suction.margin", label="margin", key="margin", station=_S.SUCTION, page=_MARGIN, column="margin_m"),
    Field(path="suction.strainer_height", label="strainer above the bottom", key="strainer_height", page=_DEPTH),
    *_leg("suction", _S.SUCTION, _SUCTION_LENGTH),
    *_pump("pump", "pump", "", _S.PUMP),
    Field(path="pump.abreast", label="pumps abreast", key="pump.abreast", station=_S.PUMP, page=_ABREAST),
    *_pump("pump.beside.*", "beside*", " beside"),
    *_pump("booster.*", "booster*", " in the line"),
    Field(path="booster.*.distance", label="booster distance", key="booster*.at", page=_DISTANCE),
    Field(
        path="discharge.rise",
        label="rise",
        key="rise",
        station=_S.DISCHARGE,
        limit=_L.GREATEST,
        page=_HEIGHT,
        column="rise_m",
    ),
    *_leg("discharge", _S.DISCHARGE, _DISCHARGE_LENGTH),
    Field(
        path="discharge.waypoint.*.distance",
        label="point distance",
        key="w*.at",
        station=_S.DISCHARGE,
        page=_DISTANCE,
        column="waypoints.distance_m",
    ),
    Field(
        path="discharge.waypoint.*.height",
        label="point height",
        key="w*.height",
        station=_S.DISCHARGE,
        limit=_L.GREATEST,
        page=_HEIGHT,
        column="waypoints.height_m",
    ),
    Field(path="discharge.waypoint.*.name", label="point name", key="w*.name", station=_S.DISCHARGE),
    Field(path="discharge.valve_k", label="valve loss", key="valve", station=_S.OUTLET, page=_LOSS, column="valve_k"),
    Field(path="outlet.kind", label="outlet", key="outlet", station=_S.OUTLET),
    Field(path="outlet.depth", label="outlet depth", key="outlet.depth", station=_S.OUTLET, page=_DEPTH),
    Field(path="outlet.bore", label="nozzle bore", key="outlet.bore", station=_S.OUTLET, limit=_L.LEAST, page=_TIP),
    Field(path="outlet.count", label="outlets", key="outlet.count", station=_S.OUTLET, page=_OUTLETS),
    Field(path="outlet.cd", label="nozzle coefficient", key="outlet.cd", station=_S.OUTLET, page=_CD),
    Field(path="outlet.flow", label="flow of each", key="outlet.flow", station=_S.OUTLET, page=_SPRINKLER),
    Field(
        path="outlet.pressure",
        label="outlet pressure",
        key="outlet.pressure",
        station=_S.OUTLET,
        limit=_L.GREATEST,
        page=_PRESSURE,
    ),
    *_own(("goal.flow", "flow wanted", _FLOW), ("goal.volume", "volume wanted"), ("goal.time", "time wanted")),
    *_body("source", "source"),
    *_own(
        ("source.depth", "source depth", _DEPTH),
        ("source.stop", "depth to stop at", _DEPTH),
        ("source.inflow", "inflow"),
        ("source.inflow.time", "inflow times"),
        ("source.inflow.flow", "inflow flows"),
        ("source.cover", "cover over the strainer", _DEPTH),
        ("source.fastest", "fastest fall"),
    ),
    *_body("receiver", "receiver"),
    *_own(("receiver.full", "full level", _DEPTH), ("receiver.now", "receiver level now", _DEPTH)),
    *_own(*((f"doubt.{name}", f"doubt of {name}", _HEIGHT_DOUBT) for name in ("lift", "rise"))),
    *_own(*((f"doubt.{name}", f"doubt of {name}", _SHARE_DOUBT) for name in ("length", "bore", "roughness", "k"))),
    *_own(("doubt.head", "doubt of head", _SHARE_DOUBT), ("doubt.npshr", "doubt of NPSHR", _SHARE_DOUBT)),
)
"""Every field, in the order of a setup file."""

BY_PATH: Final[Mapping[str, Field]] = {f.path: f for f in FIELDS}
"""Fields by path, list places as ``*``."""
