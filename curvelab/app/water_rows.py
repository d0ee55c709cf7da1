"""Rows of the studies' own controls: what is emptied and filled, when it starts, what is wanted, what is in doubt."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any, Final

from curvelab.app.rows import Row, number, row
from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.model.water import Body, InflowTable
from curvelab.studies.clock_words import hour_of
from curvelab.studies.times import START
from curvelab.units import System

Group = dict[str, Any]
_SHAPES: Final = {
    "": "nothing",
    "pond": "pond, sloping sides",
    "box": "square corners, upright",
    "cylinder": "round, upright",
    "frustum": "pit, sloping sides",
}
_SIZES: Final = {
    "box": (("length", "Length"), ("width", "Width")),
    "cylinder": (("diameter", "Across"),),
    "pond": (("area", "Area when full"), ("full_depth", "Deep when full")),
    "frustum": (
        ("top_length", "Length at the top"),
        ("top_width", "Width at the top"),
        ("bottom_length", "Length at the bottom"),
        ("bottom_width", "Width at the bottom"),
        ("full_depth", "Deep when full"),
    ),
    "table": (),
}
_HALF_HOURS: Final = range(2 * 5, 2 * 20 + 1)
"""Starts that are offered: from 5 to 20 o'clock."""


def clock_rows(setup: Setup, _catalogue: Catalogue) -> list[Group]:
    """What the clock is asked about."""
    return [
        _group("What is emptied", _source(setup)),
        _group("What is filled", _receiver(setup)),
        _group("When, and a volume wanted", _wanted(setup)),
    ]


def doubt_rows(setup: Setup, _catalogue: Catalogue) -> list[Group]:
    """Widths of the doubts; one left empty is the yard's own."""
    return [
        _group("Give or take: heights and length", (_doubt(setup, name, label, "none") for name, label in _LAID)),
        _group("Give or take: hose and fittings", (_doubt(setup, name, label, "as listed") for name, label in _HOSE)),
        _group("Give or take: the pump", (_doubt(setup, name, label, usual) for name, label, usual in _PUMP)),
    ]


_LAID: Final = (("lift", "Lift"), ("rise", "Rise"), ("length", "Length of hose"))
_HOSE: Final = (("bore", "Bore"), ("roughness", "Roughness"), ("k", "Loss in fittings"))
_PUMP: Final = (("head", "Head", "as graded"), ("npshr", "What its suction needs", "none"))


def _group(name: str, rows: Iterator[Row]) -> Group:
    return {"name": name, "rows": list(rows)}


def _doubt(setup: Setup, name: str, label: str, usual: str) -> Row:
    return {**number(setup, f"doubt.{name}", label), "empty": usual, "spoken": f"{label}, give or take"}


def _source(setup: Setup) -> Iterator[Row]:
    source = setup.source
    yield _shape("source", "Shape", source)
    if source is None:
        return
    yield from _sizes(setup, "source", source)
    yield number(setup, "source.depth", "Water now")
    yield number(setup, "source.stop", "Stop at")
    if isinstance(source.inflow, InflowTable):
        yield row("note", "source.inflow.note", "Water runs in against time, as in the file.")
    else:
        yield {**number(setup, "source.inflow", "Runs in"), "empty": "nothing"}
    yield {**number(setup, "source.cover", "Least over the strainer"), "empty": "none"}
    yield {**number(setup, "source.fastest", "Falls at most"), "empty": "any"}


def _receiver(setup: Setup) -> Iterator[Row]:
    receiver = setup.receiver
    yield _shape("receiver", "Shape", receiver)
    if receiver is None:
        return
    yield from _sizes(setup, "receiver", receiver)
    if receiver.shape != "table":
        yield {**number(setup, "receiver.level", "Water in it now"), "empty": "none"}
    yield number(setup, "receiver.full", "Full at")


def _wanted(setup: Setup) -> Iterator[Row]:
    yield row("pick", "job.start", "Start at", options=_starts(setup))
    yield {**number(setup, "goal.volume", "Volume wanted"), "empty": "none"}
    yield {**number(setup, "goal.time", "Within"), "empty": "any"}


def _shape(at: str, label: str, body: Body | None) -> Row:
    spoken = f"{label} of what is {'emptied' if at == 'source' else 'filled'}"
    own = [("table", "levels and areas, as in the file")] if body is not None and body.shape == "table" else []
    return row("pick", f"{at}.shape", label, options=[*own, *_SHAPES.items()], spoken=spoken)


def _sizes(setup: Setup, at: str, body: Body) -> Iterator[Row]:
    what = "emptied" if at == "source" else "filled"
    for name, label in _SIZES[body.shape]:
        yield {**number(setup, f"{at}.{name}", label), "spoken": f"{label}, of what is {what}"}


def _starts(setup: Setup) -> list[tuple[str, str]]:
    """Half hours of a day; the one that holds where nothing is stated goes by no name."""
    stated = setup.job.start
    times = [f"{half // 2}:{30 * (half % 2):02d}" for half in _HALF_HOURS]
    if stated is not None and stated not in times:
        times.append(stated)
    units: System = setup.units
    shown = {text: START.replace(hour=int(text.split(":")[0]), minute=int(text.split(":")[1])) for text in times}
    usual = f"{START.hour}:{START.minute:02d}"
    ordered = sorted(shown.items(), key=lambda item: item[1])
    return [("" if text == usual and stated is None else text, hour_of(time, units)) for text, time in ordered]
