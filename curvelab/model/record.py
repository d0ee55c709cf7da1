"""What every record of the catalogue has: an id, a name, and where its numbers are from."""

from __future__ import annotations

from collections.abc import Iterator

from curvelab.errors import Fault
from curvelab.model.kinds import Id, MaybeWords, YesNo
from curvelab.model.section import Section


class Sourced(Section):
    """Numbers that say where they are from. One of the two must stand."""

    source: MaybeWords = None
    """Where the numbers are from."""
    estimate: YesNo = False
    """They are an estimate; whatever is printed from them says so."""

    def rules(self) -> Iterator[Fault]:
        """A source, or the word estimate."""
        if not self.source and not self.estimate:
            yield Fault("", "source", "is missing", "say where the numbers are from, or write estimate = true")


class Record(Sourced):
    """A record of the catalogue."""

    id: Id
    name: MaybeWords = None

    def __hash__(self) -> int:
        return hash((type(self), self.id))

    @property
    def label(self) -> str:
        """Name for people; the id where there is none."""
        return self.name or self.id
