"""A caution's record: what can hurt someone, who says so, who has the last word, and when it shows."""

from __future__ import annotations

from typing import Annotated, Literal

from curvelab.model.amount import Amount
from curvelab.model.kinds import HEIGHT, SENTENCES, TEMPERATURE, Id, MaybeWords, YesNo
from curvelab.model.record import Sourced
from curvelab.model.section import Section
from curvelab.model.site import JobKind, OutletWord, Place

States = Literal["sound", "thin", "cavitating", "no-lift", "no-prime", "off-curve"]


class When(Section):
    """What opens a caution; empty everywhere: always.

    Place, job and liquid, where not empty, must all hold the case at hand. Any of the others opens it by itself.
    """

    place: tuple[Place, ...] = ()
    job: tuple[JobKind, ...] = ()
    liquid: tuple[Id, ...] = ()
    """Ids of the catalogue."""
    state: tuple[States, ...] = ()
    warning: tuple[Id, ...] = ()
    outlet: tuple[OutletWord, ...] = ()
    carrying: tuple[Id, ...] = ()
    """Ids of liquids that open it whatever the place and the job."""
    lift_over: Annotated[Amount | None, HEIGHT] = None
    """Lift from the water up to the pump, more than this."""
    colder_than: Annotated[Amount | None, TEMPERATURE] = None
    """Water colder than this: frost may be near."""


class Caution(Sourced):
    """A caution."""

    id: Id
    danger: MaybeWords = None
    """What can hurt, in a word or two, for the line beside the answer."""
    short: MaybeWords = None
    """One line for the page; the whole text where left out."""
    text: Annotated[str, SENTENCES]
    defer_to: MaybeWords = None
    when: When = When()
    dismissible: YesNo = False
