"""More than one pump in words: what a second one gives beside the first and in the line, as finding, table, picture."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from curvelab.layout.second import SecondWords
from curvelab.model.setup import Setup
from curvelab.report.bores import Bar, how_it_runs
from curvelab.report.money import money
from curvelab.report.second_words import NONE, SecondFigures, brief, finding, signed, under
from curvelab.report.study_tables import columns
from curvelab.report.words import chip, delivers
from curvelab.studies.change import Value, in_words
from curvelab.studies.result import Result, State
from curvelab.studies.say import capital
from curvelab.studies.second import Kind, Second, Way
from curvelab.units import Quantity, display_unit, gallon_word, show

NAME: Final = "More than one pump"


@dataclass(frozen=True, slots=True, kw_only=True)
class WayRow:
    """One way to place the pumps."""

    name: str
    under: str
    """A second line: other hose that it takes, or each pump's flow; empty for none."""
    now: bool
    state: State
    """Whose sign stands before ``how``: never that of a pump that runs well where one in the line is held back."""
    how: str
    weak: str
    """What could burst; empty where nothing could."""
    flow: Bar
    gain: str
    head: str
    water: tuple[str, ...]
    """Gauges at the pump by the water, a line each."""
    line: tuple[str, ...]
    """Gauges at the pump in the line."""
    shut: tuple[str, ...]
    """What hose could see at most with the end shut, and what it is rated."""
    over: bool
    hire: str
    button: str
    """Key of the button that makes it so; empty where none is offered."""


@dataclass(frozen=True, slots=True, kw_only=True)
class SecondSaid:
    """All that the study says."""

    brief: str
    finding: str
    under: str
    heads: tuple[str, ...]
    """Of the table's columns from the flow on; the first head is ``Pumps``."""
    rows: tuple[WayRow, ...]
    picture: SecondWords | None
    """``None`` where no way brings water."""
    buttons: Mapping[str, Mapping[str, Value]]
    """Fields that each button sets."""


def second_said(found: Second) -> SecondSaid:
    """The study in words."""
    figures = SecondFigures(found)
    rows = tuple(_row(figures, way) for way in found.ways)
    flows = any(delivers(way.result) for way in found.ways)
    return SecondSaid(
        brief=brief(figures),
        finding=finding(figures),
        under=under(figures),
        heads=_heads(figures),
        rows=rows,
        picture=_picture(figures) if flows else None,
        buttons={row.button: way.changes for row, way in zip(rows, found.ways, strict=True) if row.button},
    )


def second_text(found: Second, _setup: Setup) -> str:
    """The study as text: the finding, then a row for each way."""
    said = second_said(found)
    rows = [
        (
            f"{row.name}{f' {row.under}' if row.under else ''}{' (now)' if row.now else ''}",
            row.flow.text,
            row.gain,
            row.head,
            " / ".join(row.water),
            " / ".join(row.line),
            " / ".join(row.shut),
            row.hire,
            f"{row.how}{f', {row.weak}' if row.weak else ''}",
        )
        for row in said.rows
    ]
    return "\n\n".join((said.finding, said.under, columns(("Pumps", *said.heads), rows, "<")))


# --- the table


def _heads(figures: SecondFigures) -> tuple[str, ...]:
    word = gallon_word(figures.system)
    flow = f"{word} {figures.unit.symbol}" if word else figures.unit.symbol
    head = display_unit(Quantity.HEAD, figures.system).symbol
    shut = "End shut, hose could see"
    gauges = ("At the water: vacuum, pressure", "In the line: in, out")
    return (f"Flow, {flow}", "Against one", f"Head together, {head}", *gauges, shut, "Hire a day", "How it runs")


def _row(figures: SecondFigures, way: Way) -> WayRow:
    result = way.result
    comes = delivers(result)
    flow = figures.flow(way)
    most = max(figures.flow(other).number for other in figures.found.ways)
    kind = "held" if result.state is State.CAVITATING else "now" if way.now else ""
    before = {State.CAVITATING: "about ", State.OFF_CURVE: "at least "}.get(result.state, "") if comes else ""
    over = bool(result.over_rated) or way.casing_over_rated
    gain = figures.gain(way)
    praised = result.state is not State.CAVITATING or figures.alone.result.state is State.CAVITATING
    relative = comes and praised and delivers(figures.alone.result) and way.kind is not Kind.ALONE
    return WayRow(
        name=_name(figures, way),
        under=_second_line(figures, way),
        now=way.now,
        state=chip(result).shape,
        how=how_it_runs(result.state, result),
        weak="hose rated too low" if result.over_rated else "casing rated too low" if way.casing_over_rated else "",
        flow=Bar(f"{before}{flow.text}" if comes else "none", flow.number / most if most else 0.0, kind),
        gain=(signed(gain).split(" ")[0] if gain.number else "no more") if relative else NONE,
        head=NONE if way.total_head_m is None else show(way.total_head_m, Quantity.HEAD, figures.system, unit=False),
        water=_at_water(figures, result),
        line=_at_line(figures, result),
        shut=_shut(figures, way),
        over=over,
        hire=NONE if way.cost_day is None else money(way.cost_day, figures.found.currency),
        button=str(way.kind) if _offered(way, figures) else "",
    )


def _offered(way: Way, figures: SecondFigures) -> bool:
    """A button for what brings water and no new danger."""
    now = next(way for way in figures.found.ways if way.now)
    danger = (way.result.over_rated and not now.result.over_rated) or (
        way.casing_over_rated and not now.casing_over_rated
    )
    return not way.now and bool(way.changes) and not danger and (delivers(way.result) or way.kind is Kind.ALONE)


def _name(figures: SecondFigures, way: Way) -> str:
    found = figures.found
    match way.kind:
        case Kind.ALONE:
            return f"One {found.pump}"
        case Kind.BESIDE:
            return "Two side by side, a suction hose each"
        case Kind.SHARED:
            return "Two on one suction hose"
        case Kind.LINE:
            return f"{found.other} in the line at {figures.place(way)}"
        case Kind.NOW:
            return "As it stands"


def _second_line(figures: SecondFigures, way: Way) -> str:
    if way.hose:
        return f"on {way.hose.split(' (')[0]}"
    if way.kind is not Kind.NOW:
        return ""
    return pumps_listed(figures.found)


def pumps_listed(found: Second) -> str:
    """What stands where: ``two Ferrow 3, Linnet 2 beside, Ferrow 3 at 200 ft``."""
    setup = found.setup
    count = setup.pump.abreast
    parts = [f"{in_words(count)} {found.pump}" if count > 1 else found.pump]
    parts += [f"{name} beside" for name in found.beside]
    in_line = zip(found.in_line, setup.booster, strict=True)
    parts += [f"{name} at {booster.distance.show(setup.units)}" for name, booster in in_line]
    return capital(", ".join(parts))


def _at_water(figures: SecondFigures, result: Result) -> tuple[str, ...]:
    if not delivers(result) or result.inlet_gauge_pa is None:
        return (NONE,)
    gauge = result.inlet_gauge_pa
    quantity = Quantity.PRESSURE if gauge > 0.0 else Quantity.VACUUM
    return figures.shown(abs(gauge), quantity), figures.shown(result.pump_outlet_gauge_pa, Quantity.PRESSURE)


def _at_line(figures: SecondFigures, result: Result) -> tuple[str, ...]:
    gauges = [
        (
            figures.shown(booster.inlet_gauge_pa, Quantity.PRESSURE),
            figures.shown(booster.outlet_gauge_pa, Quantity.PRESSURE),
        )
        for booster in result.boosters
        if booster.inlet_gauge_pa is not None
    ]
    return tuple(line for pair in gauges for line in pair) or (NONE,)


def _shut(figures: SecondFigures, way: Way) -> tuple[str, ...]:
    could = way.result.dead_head_gauge_pa
    if could is None:
        return (NONE,)
    rated = () if way.rating_pa is None else (f"rated {figures.shown(way.rating_pa, Quantity.PRESSURE)}",)
    return figures.shown(could, Quantity.PRESSURE), *rated


# --- the picture


def _picture(figures: SecondFigures) -> SecondWords:
    found = figures.found
    word = gallon_word(figures.system)
    unit = f"{word} {figures.unit.symbol}" if word else figures.unit.symbol
    spots = {way.kind: _spot(figures, way) for way in found.ways}
    alike = found.other == found.pump
    names = {
        Kind.ALONE: (f"one {found.pump} gives", f"one {found.pump}", "one"),
        Kind.BESIDE: ("two side by side", "side by side"),
        Kind.LINE: ("two in line" if alike else f"with {found.other} in line", "in line"),
        Kind.NOW: ("as it stands",),
    }
    said = " ".join(
        f"{_SPOKEN[way.kind]}: {figures.flow(way)}{', starved' if way.result.state is State.CAVITATING else ''}."
        for way in found.ways
        if delivers(way.result)
    )
    return SecondWords(
        title=(f"Head against flow, {unit}: one pump, two side by side, two in line", f"Head against flow, {unit}"),
        label=f"Curves of one pump and of two, and what the site asks. {said}",
        site=("this site asks", "asked"),
        names=names,
        spots=spots,
    )


_SPOKEN: Final[Mapping[Kind, str]] = {
    Kind.ALONE: "One alone",
    Kind.BESIDE: "Two side by side",
    Kind.SHARED: "Two on one suction hose",
    Kind.LINE: "One in the line",
    Kind.NOW: "As it stands",
}


def _spot(figures: SecondFigures, way: Way) -> tuple[str, ...]:
    flow = figures.flow(way)
    before = {State.CAVITATING: "starved at ", State.OFF_CURVE: "at least "}.get(way.result.state, "")
    if way.kind is Kind.SHARED:
        return (f"{before}{flow.text} on one suction hose", f"{before}{flow.text}", flow.text)
    held = way.result.held_booster
    if held is not None:
        back = show(held.held_back_m or 0.0, Quantity.HEAD, figures.system)
        return (f"{flow}: {back} held back", f"{back} held back", flow.text)
    return (f"{before}{flow}", f"{before}{flow.text}", flow.text)
