"""The words on bench and run: figures from ``rounded``, sentences from ``words``; the layout places them."""

from __future__ import annotations

from typing import Final

import numpy as np

from curvelab.layout.words import BenchWords, Forms, PartWords, PointWords, RunWords, StackWords
from curvelab.model.setup import Setup
from curvelab.report.answers import over_rated_parts
from curvelab.report.pump_pictures import booster_words, line_words, pumps_in_line, together
from curvelab.report.rounded import Figure, Rounded
from curvelab.report.table import item_name
from curvelab.report.words import chip, delivers, flow_words, hardest_point, highest_point, on_chart
from curvelab.studies.curves import Curves
from curvelab.studies.result import Result, State
from curvelab.studies.run import Mark, Run
from curvelab.studies.say import capital
from curvelab.units import Quantity, gallon_word, show

_SHORT_NAMES: Final = {
    "lift": "Lift",
    "rise": "Rise",
    "suction": "Suction hose",
    "discharge": "Discharge",
    "leaving": "Leaving",
    "pressure": "Pressure",
    "boosters": "In the line",
}
_CUT_NAMES: Final = {"lift": "lift", "rise": "rise", "pressure": "asked at the outlet"}
_AT_REST: Final = (State.NO_LIFT, State.NO_PRIME)
_NO_PRESSURE_PA: Final = 500.0
"""Gauge pressure that prints as nothing. [Pa]"""
_LEDGER_TITLES: Final = {
    State.NO_LIFT: "Head ledger: what is asked of the pump",
    State.NO_PRIME: "Head ledger: what is asked at rest",
}
_PUMP_NEEDS: Final = ("the pump needs (NPSHR)", "needs (NPSHR)", "needs")
_GUESSED_NEEDS: Final = ("a guess at what the pump needs", "needs, a guess")


def bench_words(figures: Rounded, setup: Setup, curves: Curves, pump: str) -> BenchWords:
    """Words of the bench for one result.

    Parameters
    ----------
    curves : Curves
        Of the same setup: the head that a starved pump loses is read off its curve.
    pump : str
        The pump's name.
    """
    result = figures.result
    at_water = together(result, pump)
    lost = _lost(figures, curves)
    limit = figures.limit if not delivers(result) or figures.limit is None or figures.limit.number > 0 else None
    guessed = result.npshr_estimate_m is not None
    return BenchWords(
        chart_title="What the pump gives, what the site asks",
        chart_note="pump curve, system curve",
        chart_label=_chart_label(figures, at_water),
        strip_title=("Suction: what is left of the air’s push", "Suction: the air’s push"),
        strip_label=_strip_label(figures),
        axis="head: height the pump must push",
        pump=(f"{at_water} give", at_water, "together") if result.pumps else (f"{pump} gives", pump),
        pumps=line_words(figures, curves),
        pump_note=_pump_note(figures, curves),
        site=("this site asks",),
        site_note=_site_note(figures),
        ledger=ledger_words(figures, setup, curves),
        budget=budget_words(figures, setup),
        flow=_flow(figures),
        head=_head(figures),
        pill=figures.flow.text if figures.flow is not None and delivers(result) else "",
        lift=_band(figures, "lift"),
        rise=_band(figures, "rise"),
        margin=(f"little to spare: under {figures.head(result.margin_m)}", "little to spare", "thin"),
        broken=("curve breaks off", "breaks off") if lost is not None else (),
        crossing=_crossing(figures),
        short=(f"{short} short",) if (short := _short(figures)) is not None else (),
        sentence=on_chart(figures),
        air=(f"the air pushes with {figures.air}", f"air pushes with {figures.air}", f"air {figures.air}"),
        air_note=f"lift {figures.lift}, vapour {figures.budget['vapour']}",
        npsha=("left at the pump (NPSHA)", "left (NPSHA)", "left"),
        npshr=_GUESSED_NEEDS if guessed else _PUMP_NEEDS,
        spare=_spare(figures),
        limit=() if limit is None else (f"suction gives out at {limit.text}", f"gives out at {limit.text}"),
        prime=_prime(figures),
    )


def _pump_note(figures: Rounded, curves: Curves) -> str:
    if _short(figures) is not None:
        return f"{figures.shutoff} with no flow, then less"
    return "somewhere in the band" if np.isfinite(curves.pump_low_m).any() else ""


def _flow(figures: Rounded) -> Forms:
    result = figures.result
    if result.state is State.NO_PRIME:
        return (
            () if figures.crossing is None else (f"once primed: {figures.crossing}", f"primed: {figures.crossing.text}")
        )
    if figures.flow is None or not delivers(result):
        return ()
    words = flow_words(figures)
    before = f"{words.before} " if words.before else ""
    return f"{before}{words.number} {words.unit}", f"{before}{words.number}"


def _head(figures: Rounded) -> Forms:
    result = figures.result
    if result.state is State.NO_PRIME and result.crossing_head_m is not None:
        head = figures.head(result.crossing_head_m)
        return f"at {head}; as it stands, none", f"at {head}"
    if not delivers(result):
        return ()
    return f"at {figures.total} of head", f"at {figures.total}"


def _site_note(figures: Rounded) -> str:
    if figures.result.state is State.NO_LIFT and figures.result.crossing_flow_m3_s is not None:
        return f"{figures.static} once full, {figures.start} to fill it"
    if figures.result.state is State.NO_LIFT:
        return f"{figures.start}, and more the faster it flows"
    if figures.result.boosters:
        return f"{figures.static} with no flow; the pump in the line adds the rest"
    return f"{figures.static} with no flow"


def _band(figures: Rounded, item: str) -> Forms:
    figure = figures.ledger.get(item)
    return (f"{item} {figure}", item) if figure is not None and figure.number > 0 else ()


def _crossing(figures: Rounded) -> Forms:
    if figures.result.state is not State.CAVITATING or figures.crossing is None:
        return ()
    return f"cross at {figures.crossing.text}", figures.crossing.text


def _short(figures: Rounded) -> Figure | None:
    """How much head the pump lacks; ``None`` where it lifts the water or nobody knows its greatest head."""
    if figures.result.state is not State.NO_LIFT or figures.shutoff is None:
        return None
    short = figures.start.minus(figures.shutoff)
    return short if short.number > 0 else None


def _spare(figures: Rounded) -> Forms:
    if figures.result.state not in (State.SOUND, State.THIN, State.OFF_CURVE) or "spare" not in figures.budget:
        return ()
    return f"{figures.budget['spare']} to spare", str(figures.budget["spare"])


def _prime(figures: Rounded) -> Forms:
    if figures.result.state is not State.NO_PRIME or figures.reach is None:
        return ()
    over = figures.lift.minus(figures.reach)
    draws = f"draws water up {figures.reach} dry"
    return f"this pump {draws}: {over} too little", f"{draws}: {over} too little", draws


def _lost(figures: Rounded, curves: Curves) -> Figure | None:
    """Head that the starved pump loses at the delivered flow."""
    result = figures.result
    if result.state is not State.CAVITATING or not delivers(result) or result.flow_m3_s is None:
        return None
    known = np.isfinite(curves.pump_head_m)
    head = float(np.interp(result.flow_m3_s, curves.flow_m3_s[known], curves.pump_head_m[known]))
    lost = figures.lost(head)
    return lost if lost.number > 0 else None


# --- the columns


def ledger_words(figures: Rounded, setup: Setup, curves: Curves) -> StackWords:
    """Words of the head ledger."""
    result, short, lost = figures.result, _short(figures), _lost(figures, curves)
    parts = [_part(figures, setup, item, figure) for item, figure in figures.ledger.items() if figure.number]
    total = str(figures.total)
    if result.state in _AT_REST:
        total = f"{figures.start if result.state is State.NO_LIFT else figures.static} asked"
    if lost is not None:
        total = str(figures.total.plus(lost))
        parts.append(
            PartWords(item="lost", figure=lost.text, name=("lost: the pump is starved", "lost: starved", "lost"))
        )
    if short is not None and figures.shutoff is not None:
        parts = _cut(figures, setup, figures.shutoff, short)
    foot = (f"{figures.flow}",) if figures.flow is not None and delivers(result) else ("no flow",)
    return StackWords(
        title=(_LEDGER_TITLES.get(result.state, "Head ledger: how the pump’s effort is spent"), "Head ledger"),
        label=f"Head ledger, {total} in all. {_listed(parts)}",
        total=total,
        parts=tuple(parts),
        foot=foot,
    )


def _cut(figures: Rounded, setup: Setup, reach: Figure, short: Figure) -> list[PartWords]:
    """The column of a pump that can't lift it: what it reaches, cut where its reach ends, and what lies beyond."""
    parts: list[PartWords] = []
    left = reach
    for item, figure in _asked(figures).items():
        if not figure.number:
            continue
        if figure.number <= left.number:
            parts.append(_part(figures, setup, item, figure))
            left = left.minus(figure)
            continue
        if left.number > 0:
            whole = _CUT_NAMES.get(item, item)
            point = f" to the {highest_point(figures.result, setup)}" if item == "rise" else ""
            names = (f"of the {figure} {whole}{point}", f"of the {figure} {whole}", f"of {figure}")
            parts.append(PartWords(item=item, figure=left.text, name=names))
        break
    parts.append(PartWords(item="short", figure=short.text, name=("out of this pump’s reach", "out of reach")))
    return parts


def _asked(figures: Rounded) -> dict[str, Figure]:
    """The ledger at rest, with the rise up to the highest point where that asks more than the outlet does."""
    counts = {part.item for part in figures.result.start_parts}
    asked = {item: figure for item, figure in figures.ledger.items() if item in counts}
    total = Figure(round(sum(figure.number for figure in asked.values()), 6), figures.total.unit)
    over = figures.start.minus(total)
    if "rise" in asked and over.number > 0:
        asked["rise"] = asked["rise"].plus(over)
    return asked


def budget_words(figures: Rounded, setup: Setup) -> StackWords:
    """Words of the suction budget."""
    result = figures.result
    parts = [_part(figures, setup, item, figure) for item, figure in figures.budget.items() if _named(item, figure)]
    if result.state is State.NO_PRIME and figures.reach is not None and figures.npsha is not None:
        over = figures.lift.minus(figures.reach)
        parts = [
            PartWords(item="lift", figure=figures.reach.text, name=(f"of {figures.lift} lift: drawn so far", "drawn")),
            PartWords(item="short", figure=str(over), name=("too high to draw", "too high")),
            *(part for part in parts if part.item in ("left", "needs", "spare")),
        ]
    return StackWords(
        title=("Suction budget: how the push is spent", "Suction budget"),
        label=f"Suction budget. The air pushes with {figures.air}. {_listed(parts)}",
        total="",
        parts=tuple(parts),
    )


def _named(item: str, figure: Figure) -> bool:
    """The vapour's thin part is named once it is over a foot; what is nothing never is."""
    if item == "vapour":
        return figure.number > (1.0 if figure.unit == "ft" else 0.3)
    return figure.number > 0 or (item == "lift" and figure.number != 0)


def _part(figures: Rounded, setup: Setup, item: str, figure: Figure) -> PartWords:
    name = item_name(item, figures.result, setup)
    if figure.number < 0:
        name = f"{name}, helps"
    short = _SHORT_NAMES.get(item)
    names = (name, *((short,) if short else ()), *(("Suction",) if item == "suction" else ()))
    return PartWords(item=item, figure=figure.text, name=names)


def _listed(parts: list[PartWords]) -> str:
    """A short sentence a part: read out, it needs its pauses."""
    return " ".join(f"{capital(part.name[0])} {part.figure}." for part in parts)


# --- one sentence for those who can't see the picture


def _chart_label(figures: Rounded, pump: str) -> str:
    result, words, kind = figures.result, flow_words(figures), gallon_word(figures.system)
    at = f" at {figures.total} of head" if delivers(result) and result.head_m is not None else ""
    beside = f" {capital(words.beside)}." if words.beside else ""
    asks = f"The site asks {figures.static} with no flow."
    return f"Chart of head against flow for {pump}. {chip(result).word}: {words.with_kind(kind)}{at}.{beside} {asks}"


def _strip_label(figures: Rounded) -> str:
    spare = figures.budget.get("spare")
    left = f"{figures.npsha} is left at the pump" if figures.npsha is not None else "nobody knows what is left"
    more = f", {spare} more than it needs" if spare is not None and spare.number > 0 else ""
    limit = f" The suction gives out at {figures.limit}." if figures.limit is not None else ""
    return f"Of the air’s {figures.air}, {left}{more}.{limit}"


# --- the run


def run_words(figures: Rounded, setup: Setup, run: Run) -> RunWords:
    """Words of the run for one result."""
    result, system = figures.result, figures.system
    over = over_rated_parts(result, system)
    source = setup.source
    hardest = hardest_point(result, setup)
    on_way = result.governing_point.kind == "waypoint"
    return RunWords(
        label=_run_label(figures, setup, hardest),
        water=((source.name if source is not None else "") or "water",),
        lift=(f"lift {figures.lift}",) if figures.lift.number >= 0 else (f"water {figures.lift.size} above",),
        vacuum=_vacuum(result, figures),
        vacuum_note=_vacuum_note(result),
        pressure=_pressure(figures, run),
        waypoints=tuple(_waypoint(mark, figures, run) for mark in run.waypoints),
        outlet=_outlet(figures, setup),
        hardest=(f"the {hardest} is the hardest point", "hardest point") if on_way else ("hardest point",),
        boosters=booster_words(figures),
        over_rated=over[:1],
        over_rated_note=over[1:],
        short=(f"{short} short",) if (short := _short(figures)) is not None else (),
        stands=_stands(figures),
    )


def _outlet(figures: Rounded, setup: Setup) -> PointWords:
    height = f"outlet {_signed(figures.head(setup.discharge.rise.si))}"
    name = setup.receiver.name if setup.receiver is not None else ""
    return PointWords(name=(name, "outlet"), note=height) if name else PointWords(name=(height, "outlet"))


def _vacuum(result: Result, figures: Rounded) -> Forms:
    gauge = result.inlet_gauge_pa
    if gauge is None:
        return ()
    if gauge > 0:
        return (show(gauge, Quantity.PRESSURE, figures.system),)
    return (show(-gauge + 0.0, Quantity.VACUUM, figures.system),)


def _vacuum_note(result: Result) -> str:
    if result.inlet_gauge_pa is None:
        return ""
    if result.inlet_gauge_pa > 0:
        return "pressure"
    return "vacuum, and no more" if result.state is State.NO_PRIME else "vacuum"


def _pressure(figures: Rounded, run: Run) -> Forms:
    """What the gauge shows, and what becomes of it: an open end has none left, unless the outlet keeps pressure."""
    result = figures.result
    if result.pump_outlet_gauge_pa is None or result.state in _AT_REST:
        return ()
    gauge = show(result.pump_outlet_gauge_pa, Quantity.PRESSURE, figures.system)
    end = float(run.gauge_pa[-1])
    if abs(end) > _NO_PRESSURE_PA:
        at_end = show(end, Quantity.PRESSURE, figures.system)
        return (f"{gauge} at the pump, {at_end} at the outlet", f"{gauge}, then {at_end}", f"{gauge} at the pump")
    where = "before the outlet" if float(run.gauge_pa[:-1].min()) <= _NO_PRESSURE_PA else "on the way to the outlet"
    return (
        f"{gauge} at the pump, all used up {where}",
        f"{gauge}, used up on the way",
        f"{gauge} at the pump",
    )


def _waypoint(mark: Mark, figures: Rounded, run: Run) -> PointWords:
    name = mark.name or ("hump" if mark.height_m > 0 else "dip")
    height = _signed(figures.head(mark.height_m))
    gauge = float(np.interp(mark.distance_m, run.distance_m, run.gauge_pa))
    note = ""
    if mark.height_m > 0 and delivers(figures.result) and np.isfinite(gauge):
        quantity = Quantity.PRESSURE if gauge >= 0 else Quantity.VACUUM
        note = f"{show(abs(gauge), quantity, figures.system)} {'here' if gauge >= 0 else 'vacuum here'}"
    return PointWords(name=(f"{name} {height}", name), note=note)


def _stands(figures: Rounded) -> Forms:
    result = figures.result
    if result.state is State.NO_LIFT and figures.shutoff is not None:
        return f"water stands here: {figures.shutoff}", f"stands at {figures.shutoff}"
    if result.state is State.NO_PRIME and figures.reach is not None:
        over = figures.lift.minus(figures.reach)
        return f"stands {figures.reach} up, {over} short", f"stands {figures.reach} up"
    return ()


def _run_label(figures: Rounded, setup: Setup, hardest: str) -> str:
    length = sum(leg.length.si for leg in setup.discharge.leg)
    hose = show(length, Quantity.LENGTH, figures.system)
    rise = figures.head(setup.discharge.rise.si)
    said = f"The run: lift {figures.lift}, {hose} of hose, outlet {_signed(rise)}. The {hardest} is the hardest point."
    return said + pumps_in_line(figures.result, figures)


def _signed(figure: Figure) -> str:
    return f"+{figure}" if figure.number > 0 else str(figure)
