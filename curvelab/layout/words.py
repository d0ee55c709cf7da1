"""What the pictures say, already in words: the reports write it, the pictures place it.

A text that may have to give way is a tuple of forms, longest first; an empty tuple says nothing. Numbers in them carry
the unit of the page.
"""

from __future__ import annotations

from dataclasses import dataclass

Forms = tuple[str, ...]


@dataclass(frozen=True, slots=True, kw_only=True)
class PartWords:
    """One part of a ledger or budget column; ``item`` as in the result (also: lost, short)."""

    item: str
    figure: str
    """What stands in the part or beside its name, such as ``27.3``."""
    name: Forms
    note: Forms = ()
    """A second line, such as ``16 ft less than A``."""


@dataclass(frozen=True, slots=True, kw_only=True)
class StackWords:
    """One column: its total, its parts and what stands at its foot."""

    title: Forms
    label: str
    """One sentence that tells what a person would see."""
    total: str
    parts: tuple[PartWords, ...]
    foot: Forms = ()
    """At most two lines under the column: its flow, then what it is."""


@dataclass(frozen=True, slots=True, kw_only=True)
class ChalkWords:
    """What stands at a chalked setup's point and columns."""

    letter: str
    label: Forms
    """At its ring, such as ``A, kept: 2 in hose``, with ``note`` under it."""
    note: Forms
    short: Forms
    """At its ring where two lines have no room, or on a phone."""
    pill: str
    """Its flow on the axis, figure only; empty where nothing comes."""
    foot: Forms
    """Under its columns, below the flow: what it is."""
    ledger: StackWords
    budget: StackWords


@dataclass(frozen=True, slots=True, kw_only=True)
class BenchWords:
    """All words of the bench."""

    chart_title: str
    chart_note: str
    """Right of the title; a narrower page names the unit of the flow axis there."""
    chart_label: str
    strip_title: Forms
    strip_label: str
    axis: str
    """Along the head axis, such as ``head: height the pump must push``."""
    pump: Forms
    pumps: tuple[Forms, ...] = ()
    """Several pumps, each by itself."""
    site: Forms
    ledger: StackWords
    budget: StackWords
    pump_note: str = ""
    site_note: str = ""
    flow: Forms = ()
    """At the operating point, with ``head`` under it; none when nothing flows and nothing would."""
    head: Forms = ()
    pill: str = ""
    """The flow on the axis, figure only."""
    lift: Forms = ()
    rise: Forms = ()
    margin: Forms = ()
    broken: Forms = ()
    """Beside the bar between pump curve and operating point."""
    crossing: Forms = ()
    short: Forms = ()
    """Beside the double arrow when the pump can't lift the water."""
    sentence: str = ""
    air: Forms = ()
    air_note: str = ""
    npsha: Forms = ()
    npshr: Forms = ()
    spare: Forms = ()
    limit: Forms = ()
    """Where the suction gives out, in the strip."""
    prime: Forms = ()
    """What the dry pump can draw, in the strip."""
    chalks: tuple[ChalkWords, ...] = ()
    gain: Forms = ()
    """Between the flow of the first chalked setup and this one's."""


@dataclass(frozen=True, slots=True, kw_only=True)
class PointWords:
    """A named point of the run."""

    name: Forms
    note: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class RunWords:
    """All words of the run."""

    label: str
    water: Forms
    lift: Forms
    vacuum: Forms
    vacuum_note: str = ""
    pressure: Forms
    """Over the pressure line."""
    waypoints: tuple[PointWords, ...]
    """In the order of the run's waypoints."""
    outlet: PointWords
    hardest: Forms
    boosters: tuple[PointWords, ...] = ()
    """Pumps in the line, by distance."""
    over_rated: Forms = ()
    over_rated_note: Forms = ()
    short: Forms = ()
    stands: Forms = ()
    """Where the water stands when it gets no further."""
