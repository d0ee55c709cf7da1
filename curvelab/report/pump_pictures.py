"""Several pumps on bench and run, in words: what each is called, what it gives there, what its gauges show."""

from __future__ import annotations

from curvelab.layout.words import PointWords
from curvelab.report.rounded import Rounded
from curvelab.studies.result import Result
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


def pumps_in_line(result: Result, figures: Rounded) -> str:
    """Where they stand, as a sentence for those who can't see the picture; empty without any."""
    if not result.boosters:
        return ""
    places = (f"{one.name} at {show(one.distance_m, Quantity.LENGTH, figures.system)}" for one in result.boosters)
    return f" In the line: {', '.join(places)}."
