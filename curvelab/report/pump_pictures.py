"""Several pumps on bench and run, in words: what each is called, what it gives there, what its gauges show."""

from __future__ import annotations

from curvelab.layout.words import Forms, PointWords
from curvelab.report.rounded import Rounded
from curvelab.studies.change import in_words
from curvelab.studies.curves import Curves
from curvelab.studies.pump_lines import PumpLine
from curvelab.studies.result import Result
from curvelab.studies.say import capital
from curvelab.units import Quantity, show


def booster_words(figures: Rounded) -> tuple[PointWords, ...]:
    """Each pump in the line with its gauges, suction side first."""
    found: list[PointWords] = []
    for booster in figures.result.boosters:
        note = ""
        if booster.inlet_gauge_pa is not None and booster.outlet_gauge_pa is not None:
            ports = ((booster.inlet_gauge_pa, "in"), (booster.outlet_gauge_pa, "out"))
            note = ", ".join(f"{show(gauge, Quantity.PRESSURE, figures.system)} {way}" for gauge, way in ports)
        found.append(PointWords(name=(booster.name, "second pump"), note=note))
    return tuple(found)


def together(result: Result, pump: str) -> str:
    """What stands at the water: the pump's name, or those of all of them."""
    if not result.pumps:
        return pump
    listed = [f"{in_words(one.count)} {one.name}" if one.count > 1 else one.name for one in result.pumps]
    return capital(" + ".join(listed))


def line_words(figures: Rounded, curves: Curves) -> tuple[Forms, ...]:
    """A name for each of several pumps by itself: what it gives of the flow, or adds in the line."""
    return tuple(_line(line, figures) for line in curves.pumps)


def _line(line: PumpLine, figures: Rounded) -> Forms:
    if line.in_line:
        if line.at_head_m is None:
            return f"{line.name} in the line", line.name
        adds = show(max(line.at_head_m, 0.0), Quantity.HEAD, figures.system)
        return f"{line.name} in the line adds {adds}", f"in the line: +{adds}", f"+{adds}"
    if line.at_flow_m3_s is None:
        return f"one {line.name}", line.name
    if line.at_head_m is None:
        return f"{line.name}: pushed back, gives none", f"{line.name}: pushed back", line.name
    gives = figures.flow_of(line.at_flow_m3_s)
    who = f"each {line.name}" if line.count > 1 else line.name
    return f"{who} gives {gives}", f"{who}: {gives.text}", f"{gives.text} each" if line.count > 1 else gives.text


def pumps_in_line(result: Result, figures: Rounded) -> str:
    """Where they stand, as a sentence for those who can't see the picture; empty without any."""
    if not result.boosters:
        return ""
    places = (f"{one.name} at {show(one.distance_m, Quantity.LENGTH, figures.system)}" for one in result.boosters)
    return f" In the line: {', '.join(places)}."
