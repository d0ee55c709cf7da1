"""The fleet: every pump small on common axes and as a row of the table, and one of them large."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import Markup

from curvelab.errors import InputError, UnknownNameError
from curvelab.figures.pumpcurves import large, small
from curvelab.layout.axes import flow_unit
from curvelab.layout.multiples import common_axes, shape_of
from curvelab.model.catalogue import Catalogue, yard_folder
from curvelab.model.link import Decoded, decode, encode
from curvelab.model.pump import Pump, ReturnTest
from curvelab.model.setup import Setup
from curvelab.model.yard import pump_place
from curvelab.report.fleet import curve_sentence, facts, heads, points_table, read_words, row_of
from curvelab.report.pump_tests import reading_line
from curvelab.studies.pumptest import PumpTest, latest_visit, wear_of
from curvelab.units import Quantity, System, display_unit

LINKED: Final = "@link"
"""Key of a pump that stands nowhere but in the setup's own link."""
WIDTHS: Final = (300.0, 900.0)
"""Least and greatest width of a large picture. [px]"""
_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_words: Any = _environment.get_template("fleet.html").module


@dataclass(frozen=True, slots=True)
class Fleet:
    """The pumps as the page knows them: those of the yard, and the present setup's own where it stands in no list."""

    opened: Decoded
    catalogue: Catalogue

    @classmethod
    def of(cls, query: str, catalogue: Catalogue) -> Fleet:
        """For a link's query; never raises."""
        return cls(decode(query, catalogue), catalogue)

    @property
    def setup(self) -> Setup:
        """The present setup."""
        return self.opened.setup

    @property
    def system(self) -> System:
        """Units shown."""
        return self.setup.units

    @property
    def now(self) -> str:
        """Key of the present setup's pump."""
        return self.setup.pump.id or LINKED

    @property
    def pumps(self) -> Mapping[str, Pump]:
        """By key, in the order of their names."""
        own = {LINKED: self.setup.pump.record} if self.setup.pump.record is not None else {}
        ordered = sorted(self.catalogue.pumps.items(), key=lambda item: item[1].label.casefold())
        return {**own, **dict(ordered)}

    def pump(self, key: str) -> Pump:
        """The pump of that key; ``UnknownNameError`` where there is none."""
        pumps = self.pumps
        if key not in pumps:
            raise UnknownNameError.among("pump", key, self.catalogue.pumps)
        return pumps[key]

    def query_with(self, key: str, *, wear: float | None = None) -> str:
        """The link's query with that pump in the setup; chalked setups stay.

        What the last pump had lost by wear is not carried over to another one.
        """
        setup = self.setup
        if key not in (LINKED, setup.pump.id):
            setup = setup.with_("pump.id", key).with_("pump.wear", None)
        if wear is not None:
            setup = setup.with_("pump.wear", f"{wear:.3g}")
        return encode(setup, self.opened.chalks, self.catalogue)

    def query_with_own(self, pump: Pump) -> str:
        """The link's query with a pump that stands in no list, and so goes along with its points."""
        setup = self.setup.with_("pump.record", pump).with_("pump.wear", None)
        return encode(setup, self.opened.chalks, self.catalogue)


def fleet_html(fleet: Fleet) -> str:
    """Pictures and table of the fleet."""
    system, pumps = fleet.system, fleet.pumps
    shapes = {key: shape_of(pump, system) for key, pump in pumps.items()}
    axes = common_axes(list(shapes.values()), system)
    rows = [row_of(key, pump, fleet.catalogue, system, now=key == fleet.now) for key, pump in pumps.items()]
    pictures = {row.key: Markup(small(shapes[row.key], axes, row.sentence)) for row in rows}  # noqa: S704 - escaped there
    head, flow, bore, mass = (
        display_unit(quantity, system) for quantity in (Quantity.HEAD, Quantity.FLOW, Quantity.BORE, Quantity.MASS)
    )
    ends = f"head up to {axes[1].end:g} {head.symbol}, flow up to {axes[0].end:g} {flow_unit(flow.symbol, system)}"
    return str(
        _words.fleet(
            rows=rows,
            pictures=pictures,
            columns=heads(system),
            kinds=sorted({row.kind for row in rows}),
            ports=_ports(fleet),
            solids=bore,
            mass=mass,
            axes=f"All on the same axes: {ends}.",
        )
    )


def pump_html(fleet: Fleet, key: str, width_px: object) -> str:
    """One pump large, with its data, its tests and what can be done with it."""
    pump, system, yard = fleet.pump(key), fleet.system, yard_folder()
    tests = latest_visit(pump.test)
    found = wear_of(pump, system=system) if pump.test else None
    sentence = curve_sentence(pump, system)
    picture = drawn(pump, system, width_px, tests=tests, found=found)
    columns, points = points_table(pump, system)
    return str(
        _words.pump(
            key=key,
            pump=pump,
            now=key == fleet.now,
            linked=key == LINKED,
            own=yard is not None and pump_place(yard, key) is not None,
            picture=Markup(picture),  # noqa: S704 - escaped where it was made
            sentence=sentence,
            facts=list(facts(pump, fleet.catalogue, system)),
            columns=columns,
            points=points,
            tests=[read_words(test, system) for test in sorted(pump.test, key=lambda test: test.date, reverse=True)],
            found=found,
            readings=[reading_line(reading, system) for reading in found.readings] if found else [],
            use=use_of(fleet, key, None),
            worn=use_of(fleet, key, found.wear) if found is not None and found.wear is not None else None,
            wear=f"{found.wear:.2f}" if found is not None and found.wear is not None else "",
        )
    )


def drawn(
    pump: Pump,
    system: System,
    width_px: object,
    *,
    tests: Sequence[ReturnTest] = (),
    found: PumpTest | None = None,
    measured: Sequence[tuple[float, float]] = (),
) -> str:
    """A pump's large picture as SVG, so wide as the browser has room for. [px]"""
    shape = shape_of(pump, system, tests=tests, found=found, measured=measured)
    flow, head = (display_unit(quantity, system).symbol for quantity in (Quantity.FLOW, Quantity.HEAD))
    width = float(width_px) if isinstance(width_px, (int, float)) else 0.0
    return large(
        shape,
        common_axes([shape], system),
        curve_sentence(pump, system),
        width=min(max(width, WIDTHS[0]), WIDTHS[1]),
        units=(flow_unit(flow, system), head),
    )


def use_of(fleet: Fleet, key: str, wear: float | None) -> tuple[str, str]:
    """Query of the setup with that pump, and what to say where there is none."""
    try:
        return fleet.query_with(key, wear=wear), ""
    except InputError as error:
        return "", "; ".join(fault.got for fault in error.faults)


def _ports(fleet: Fleet) -> list[str]:
    """Sizes of ports that the fleet has, the smallest first."""
    system = fleet.system
    sizes = {port.si: port for pump in fleet.pumps.values() for port in (pump.inlet, pump.outlet) if port is not None}
    return list(dict.fromkeys(sizes[si].show(system) for si in sorted(sizes)))
