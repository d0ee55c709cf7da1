"""A caution's record: what can hurt someone, who says so, who has the last word, and when it shows."""

from __future__ import annotations

from typing import Annotated, Literal

from curvelab.model.kinds import SENTENCES, Id, MaybeWords, YesNo
from curvelab.model.record import Sourced
from curvelab.model.section import Section
from curvelab.model.site import JobKind, Place

States = Literal["sound", "thin", "cavitating", "no-lift", "no-prime", "off-curve"]


class When(Section):
    """What opens a caution; empty everywhere: always.

    Place and job, where not empty, must both hold the case at hand. A state or a warning opens it by itself.
    """

    place: tuple[Place, ...] = ()
    job: tuple[JobKind, ...] = ()
    state: tuple[States, ...] = ()
    warning: tuple[Id, ...] = ()


class Caution(Sourced):
    """A caution."""

    id: Id
    text: Annotated[str, SENTENCES]
    defer_to: MaybeWords = None
    when: When = When()
    dismissible: YesNo = False
