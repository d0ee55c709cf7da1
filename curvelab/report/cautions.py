"""Which cautions a setup opens.

A caution's ``when`` says it. Empty everywhere: it always shows. Place, job and liquid say where it belongs, and each
that is not empty must hold the setup's; a state or a warning that the solve found, an outlet, a liquid carried, a high
lift or cold water open a caution by themselves. A job that nobody named opens none by its job.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from curvelab.model.caution import Caution, When
from curvelab.model.setup import Setup
from curvelab.report.answers import keep_open
from curvelab.report.words import LOCAL_CODES
from curvelab.studies.result import Result
from curvelab.units import System


@dataclass(frozen=True, slots=True, kw_only=True)
class Shown:
    """A caution as it is shown. The last of every list is the line that local codes come first; it has no source."""

    id: str
    short: str
    """One line; of a hose under its rating the figures."""
    text: str
    source: str = ""
    defer_to: str = ""
    danger: str = ""
    """What can hurt, in a word or two."""
    dismissible: bool = False
    pressing: bool = False
    """This very setup opens it, not just its kind of job or place."""


LAST = Shown(id="local-codes", short=LOCAL_CODES, text=LOCAL_CODES)


def open_cautions(cautions: Iterable[Caution], result: Result, setup: Setup, system: System) -> tuple[Shown, ...]:
    """The cautions that this setup and what it does open, the most pressing first, ``LAST`` always last.

    What this very setup opens comes first, then what cannot be dismissed, then the rest, each in the catalogue's order.
    The caution about a hose under its rating gives its figures.
    """
    opened = [
        _shown(caution, result, system, pressing=pressing)
        for caution in cautions
        if (pressing := _by_itself(caution.when, result, setup)) or _belongs(caution.when, setup)
    ]
    opened.sort(key=lambda shown: (not shown.pressing, shown.dismissible))
    return (*opened, LAST)


def what_can_hurt(opened: Iterable[Shown]) -> str:
    """What can't be waved away, a word or two each, for a line that leads to the cautions; empty where nothing is."""
    return ", ".join(one.danger for one in opened if one.danger and not one.dismissible)


def _by_itself(when: When, result: Result, setup: Setup) -> bool:
    """Something about this very setup opens it."""
    found = result.state in when.state or not {warn.code for warn in result.warnings}.isdisjoint(when.warning)
    high = when.lift_over is not None and setup.suction.lift.si > when.lift_over.si
    cold = when.colder_than is not None and setup.site.temperature.si < when.colder_than.si
    return found or high or cold or setup.outlet.kind in when.outlet or setup.site.liquid in when.carrying


def _belongs(when: When, setup: Setup) -> bool:
    """Place, job and liquid are its own, or it always shows."""
    lists = ((when.place, setup.job.place), (when.job, setup.job.kind), (when.liquid, setup.site.liquid))
    if not any(own for own, _ in lists):
        return when == When()
    return all(not own or here in own for own, here in lists)


def _shown(caution: Caution, result: Result, system: System, *, pressing: bool) -> Shown:
    figures = keep_open(result, system) if "over-rated" in caution.when.warning else ""
    return Shown(
        id=caution.id,
        short=figures or caution.short or caution.text,
        text=caution.text,
        source=caution.source or "estimate",
        defer_to=caution.defer_to or "",
        danger=caution.danger or "",
        dismissible=caution.dismissible,
        pressing=pressing,
    )
