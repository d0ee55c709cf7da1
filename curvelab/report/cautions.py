"""Which cautions a setup opens.

A caution's ``when`` has four lists. Empty everywhere: it always shows. Place and job say where it belongs, and each
that is not empty must hold the setup's; a state or a warning that the solve found opens a caution by itself. A job that
nobody named opens none by its job.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass

from curvelab.model.caution import Caution
from curvelab.model.setup import Setup
from curvelab.report.answers import keep_open
from curvelab.report.words import LOCAL_CODES
from curvelab.studies.result import Result
from curvelab.units import System


@dataclass(frozen=True, slots=True)
class Shown:
    """A caution as it is shown. The last of every list is the line that local codes come first; it has no source."""

    id: str
    text: str
    source: str
    defer_to: str
    dismissible: bool


LAST = Shown("local-codes", LOCAL_CODES, "", "", dismissible=False)


def open_cautions(cautions: Iterable[Caution], result: Result, setup: Setup, system: System) -> tuple[Shown, ...]:
    """The cautions that this setup and what it does open, the most pressing first, ``LAST`` always last.

    What the solve found comes first, then what cannot be dismissed, then the rest, each in the catalogue's order. The
    caution about a hose under its rating gives its figures.
    """
    codes = {warn.code for warn in result.warnings}
    opened = [caution for caution in cautions if _opens(caution, result, setup, codes)]
    opened.sort(key=lambda caution: (not _found(caution, result, codes), caution.dismissible))
    return (*(_shown(caution, result, system) for caution in opened), LAST)


def _opens(caution: Caution, result: Result, setup: Setup, codes: set[str]) -> bool:
    when = caution.when
    if not (when.place or when.job or when.state or when.warning):
        return True
    if _found(caution, result, codes):
        return True
    if not (when.place or when.job):
        return False
    here = not when.place or setup.job.place in when.place
    return here and (not when.job or setup.job.kind in when.job)


def _found(caution: Caution, result: Result, codes: set[str]) -> bool:
    return result.state in caution.when.state or not codes.isdisjoint(caution.when.warning)


def _shown(caution: Caution, result: Result, system: System) -> Shown:
    figures = keep_open(result, system) if "over-rated" in caution.when.warning else ""
    return Shown(
        caution.id, figures or caution.text, caution.source or "estimate", caution.defer_to or "", caution.dismissible
    )
