"""Which bore in words: the largest hose that the suction can feed, what its neighbours save and lose, and the table."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final, Protocol

from curvelab.report.answers import drum, vessel
from curvelab.report.money import money
from curvelab.report.rounded import Figure
from curvelab.studies.bores import Bore, Bores
from curvelab.studies.result import State
from curvelab.studies.say import capital
from curvelab.studies.warn import FAST_SUCTION_M_S
from curvelab.units import DisplayUnit, Quantity, System, display_unit, gallon_word, show

NAME: Final = "Which hose size"
HELD: Final = "held back in the line"
STATES: Final = {
    State.SOUND: "runs well",
    State.THIN: "little to spare",
    State.CAVITATING: "starved",
    State.NO_LIFT: "can’t lift it",
    State.NO_PRIME: "won’t prime",
    State.OFF_CURVE: "past the tested curve",
}
"""How a size runs, in a cell of the table."""
_RUNS: Final = (State.SOUND, State.THIN, State.OFF_CURVE)
_NO_FLOW: Final = {
    State.NO_PRIME: "No bore helps: the pump can’t draw the water up, whatever hose lies past it.",
    State.NO_LIFT: "No bore helps: at no flow at all the site asks for more height than this pump gives.",
    State.CAVITATING: "No bore helps: the suction gives out before the first drop.",
    State.OFF_CURVE: "Nobody has tested this pump at so little flow, with any of these hoses.",
}
_LITTLE: Final = 0.03
"""Share of the flow under which a gain is hardly one. [-]"""
_UNDER_RATED: Final = "hose rated too low"
_NONE: Final = "–"


@dataclass(frozen=True, slots=True)
class Bar:
    """A figure with a bar: ``share`` of the full width. ``kind``: held, now or empty."""

    text: str
    share: float
    kind: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreRow:
    """One size."""

    size: str
    now: bool
    state: State
    how: str
    under_rated: str
    """Empty, or that the hose is under its rating."""
    flow: Bar
    lost: Bar
    speed: str
    suction_speed: str
    fast: bool
    """Whether the water is fast in the suction hose."""
    time: str
    empty: str
    full: str
    hire: str


@dataclass(frozen=True, slots=True, kw_only=True)
class BoreTable:
    """Sizes side by side."""

    heads: tuple[str, ...]
    """Of the columns from the flow on; the first head is ``Hose``."""
    rows: tuple[BoreRow, ...]
    note: str
    """What the star means; empty where there is none."""


@dataclass(frozen=True, slots=True, kw_only=True)
class BoresSaid:
    """All that the study says. Without flow there is the finding alone."""

    brief: str
    finding: str
    under: str = ""
    table: BoreTable | None = None


class _Figures:
    """The one set of figures: every flow in the unit of the present one."""

    def __init__(self, found: Bores) -> None:
        self.found = found
        self.system: System = found.setup.units
        self.now: Bore = found.rows[found.now]
        self.unit: DisplayUnit = display_unit(Quantity.FLOW, self.system, self.now.flow_m3_s or 0.0)

    def flow(self, row: Bore) -> Figure:
        return Figure(self.unit.round(self.unit.from_si(row.flow_m3_s or 0.0)) + 0.0, self.unit.symbol)

    def size(self, row: Bore) -> str:
        return show(row.size.size_m, Quantity.BORE, self.system)

    def money(self, row: Bore) -> str:
        return money(row.cost_day, self.found.currency) if row.cost_day is not None else _NONE

    def saved(self, row: Bore) -> str:
        """What a size costs less than the present one, as printed; empty where that is nothing or not known."""
        if row.cost_day is None or self.now.cost_day is None:
            return ""
        less = round(self.now.cost_day) - round(row.cost_day)
        return f"{money(less, self.found.currency)} a day" if less > 0 else ""


def bores_said(found: Bores) -> BoresSaid:
    """The study in words."""
    figures = _Figures(found)
    if not found.flows:
        state = figures.now.state
        brief = "lower than anybody tested" if figures.now.flow_m3_s is None else "no bore helps"
        return BoresSaid(brief=brief, finding=_NO_FLOW.get(state, _NO_FLOW[State.OFF_CURVE]))
    return BoresSaid(brief=_brief(figures), finding=_finding(figures), under=_under(figures), table=_table(figures))


class _Unsure(Protocol):
    """Whatever knows what isn't known of its suction."""

    @property
    def perhaps_starved(self) -> bool:
        """More than its suction may let through, at a guess."""
        ...

    @property
    def suction_unknown(self) -> bool:
        """More than anybody has tested its suction for."""
        ...

    @property
    def held_in_line(self) -> bool:
        """A pump in the line uses up what reaches it."""
        ...


def how_it_runs(state: State, of: _Unsure) -> str:
    """In a cell of a table: the state, or what nobody knows of the suction."""
    if of.perhaps_starved and state in _RUNS:
        return "perhaps starved"
    if of.suction_unknown:
        return "suction not known"
    return HELD if of.held_in_line else STATES[state]


# --- the finding


def _brief(figures: _Figures) -> str:
    """In a word: what the next larger hose does, else what a smaller one does."""
    found, now = figures.found, figures.now
    if now.state is State.CAVITATING:
        fed = _largest_fed(found)
        return (
            f"{figures.size(fed)}: {figures.flow(fed).text}, {how_it_runs(fed.state, fed)}"
            if fed
            else "starved in every bore"
        )
    if found.now + 1 < len(found.rows):
        row = found.rows[found.now + 1]
        return f"{figures.size(row)}: {_brief_of_larger(figures, row)}"
    if found.now == 0:
        return "no other size"
    smaller = found.rows[found.now - 1]
    return f"{figures.size(smaller)}: {_change(figures, smaller)}"


def _brief_of_larger(figures: _Figures, row: Bore) -> str:
    if row.state is State.CAVITATING:
        return "suction gives out"
    if row.perhaps_starved and not figures.now.perhaps_starved:
        return "suction may give out"
    if row.state is State.OFF_CURVE:
        return "past the curve"
    return _UNDER_RATED if row.over_rated and not figures.now.over_rated else _change(figures, row)


def _change(figures: _Figures, row: Bore) -> str:
    change = figures.flow(row).minus(figures.flow(figures.now))
    if not change.number:
        return "no change"
    return f"+{change}" if change.number > 0 else str(change)


def _largest_fed(found: Bores) -> Bore | None:
    return next((row for row in reversed(found.rows) if row.fed and row.comes), None)


def _finding(figures: _Figures) -> str:
    now = figures.now
    if now.state is State.CAVITATING:
        return _starved(figures)
    if not now.comes:
        return f"In {figures.size(now)} less flow than anybody has tested. A larger bore gives more."
    return f"{_larger(figures)} {_smaller(figures)}".strip()


def _starved(figures: _Figures) -> str:
    """Of a starved pump: the largest hose that its suction can feed, which slows the water enough."""
    name, flow = figures.size(figures.now), figures.flow(figures.now)
    fed = _largest_fed(figures.found)
    held = f"In {name} it is starved at about {flow}"
    if fed is None:
        return f"{held}, and no smaller hose here helps."
    return f"{figures.size(fed)} is the largest hose this suction can feed: {figures.flow(fed)}. {held}."


def _larger(figures: _Figures) -> str:
    """What the next larger size does; no praise where the suction can't feed it."""
    found, now = figures.found, figures.now
    name = figures.size(now)
    if found.now + 1 == len(found.rows):
        return f"{name} is the largest of this hose on the rack."
    row = found.rows[found.now + 1]
    wider = figures.size(row)
    if row.state is State.CAVITATING:
        return f"{name} is the largest hose this suction can feed."
    if row.perhaps_starved:
        if now.perhaps_starved:
            return f"{name} may be starved already: nobody states what this pump’s suction needs."
        return f"{name} is the largest hose this suction can surely feed; past that it’s a guess."
    if row.state is State.OFF_CURVE:
        return f"With {wider} the pump runs past its tested curve."
    gain = figures.flow(row).minus(figures.flow(now))
    more = _dearer(figures, row)
    if gain.number <= _LITTLE * figures.flow(now).number:
        return f"{wider} gives hardly more{f', for {more} more' if more else ''}."
    spare = " with little suction to spare" if row.state is State.THIN and now.state is not State.THIN else ""
    weak = ", but that hose is rated too low here" if row.over_rated and not now.over_rated else ""
    return f"{wider} gives {gain} more{f' for {more}' if more else ''}{spare}{weak}."


def _dearer(figures: _Figures, row: Bore) -> str:
    if row.cost_day is None or figures.now.cost_day is None:
        return ""
    more = round(row.cost_day) - round(figures.now.cost_day)
    return f"{money(more, figures.found.currency)} a day" if more > 0 else ""


def _smaller(figures: _Figures) -> str:
    """What the next smaller size saves and loses."""
    found = figures.found
    if found.now == 0:
        return ""
    row = found.rows[found.now - 1]
    name, saved = figures.size(row), figures.saved(row)
    if not row.comes:
        return ""
    loss = figures.flow(figures.now).minus(figures.flow(row))
    if loss.number <= 0:
        return f"{name} gives as much{f' and saves {saved}' if saved else ''}."
    return f"{name} saves {saved} and loses {loss}." if saved else f"{name} loses {loss}."


def _under(figures: _Figures) -> str:
    legs = figures.found.setup.discharge.leg
    length = show(legs[0].length.si, Quantity.LENGTH, figures.system)
    what = f"{length} of each" if len(legs) == 1 else f"the first {length} of hose in each"
    weights = "Weights are estimates" if figures.found.estimate else ""
    prices = f"prices {figures.found.prices}" if figures.found.prices else ""
    said = ", ".join(part for part in (weights, prices) if part)
    return f"Same pump, same heights, {what}. {f'{capital(said)}.' if said else ''}".strip()


# --- the table


def _table(figures: _Figures) -> BoreTable:
    found, system = figures.found, figures.system
    volume, wanted = _volume(figures)
    most = max(figures.flow(row).number for row in found.rows)
    rows = tuple(_row(figures, row, volume, most) for row in found.rows)
    speed, mass = display_unit(Quantity.SPEED, system).symbol, display_unit(Quantity.MASS, system).symbol
    word = gallon_word(system)
    flow = f"{word} {figures.unit.symbol}" if word else figures.unit.symbol
    lost = (
        "Share of the head lost in it" if len(found.setup.discharge.leg) == 1 else "Share of the head lost in the hose"
    )
    heads = (f"Flow, {flow}", lost, f"Speed in it, {speed}", f"In the suction, {speed}", wanted, f"Empty, {mass}")
    return BoreTable(
        heads=(*heads, f"Full, {mass}", "Hire a day", "How it runs"),
        rows=rows,
        note=_note(figures) if any(row.fast for row in rows) else "",
    )


def _volume(figures: _Figures) -> tuple[float, str]:
    """What is filled, and the head of its column. [m³]"""
    setup = figures.found.setup
    volume, _ = vessel(setup, figures.system)
    if setup.receiver is None and setup.goal.volume is None:
        name, volume = drum(figures.system)
        return volume, name
    return volume, show(volume, Quantity.VOLUME, figures.system)


def _row(figures: _Figures, row: Bore, volume_m3: float, most: float) -> BoreRow:
    system, flow = figures.system, figures.flow(row)
    comes = row.comes and row.flow_m3_s is not None
    kind = "held" if row.state is State.CAVITATING else "now" if row.size.now else ""
    how = how_it_runs(row.state, row)
    before = {State.CAVITATING: "about ", State.OFF_CURVE: "at least "}.get(row.state, "")

    def number(value: float | None, quantity: Quantity) -> str:
        return _NONE if value is None else show(value, quantity, system, unit=False)

    return BoreRow(
        size=figures.size(row),
        now=row.size.now,
        state=row.state,
        how=how,
        under_rated=_UNDER_RATED if row.over_rated else "",
        flow=Bar(f"{before}{flow.text}" if row.flow_m3_s is not None else _NONE, flow.number / most, kind),
        lost=_lost(row),
        speed=number(row.speed_m_s, Quantity.SPEED),
        suction_speed=number(row.suction_speed_m_s, Quantity.SPEED),
        fast=(row.suction_speed_m_s or 0.0) > FAST_SUCTION_M_S,
        time=show(volume_m3 / row.flow_m3_s, Quantity.TIME, system) if comes and row.flow_m3_s else _NONE,
        empty=number(row.empty_kg, Quantity.MASS),
        full=number(row.full_kg, Quantity.MASS),
        hire=figures.money(row),
    )


def _lost(row: Bore) -> Bar:
    text = _NONE if row.share is None else f"{round(100.0 * row.share)}%"
    return Bar(text, row.share or 0.0, "now" if row.size.now else "")


def _note(figures: _Figures) -> str:
    """What the star says, and what a larger suction hose would do about it."""
    system, calmer = figures.system, figures.found.calmer
    limit = show(FAST_SUCTION_M_S, Quantity.SPEED, system)
    note = f"Over {limit} in the suction hose is fast: a clogging strainer tells sooner and any leak draws air."
    speed = figures.now.suction_speed_m_s
    if calmer is None or speed is None or calmer.speed_m_s > 0.9 * speed:
        return note
    size = show(calmer.size_m, Quantity.BORE, system)
    fast, slow = show(speed, Quantity.SPEED, system), show(calmer.speed_m_s, Quantity.SPEED, system, unit=False)
    return f"{note} A {size} suction hose brings {fast} down to {slow}."
