"""A price's record."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Annotated, Literal

from curvelab.errors import Fault
from curvelab.model.amount import Number
from curvelab.model.kinds import Id, MaybeBore, Words
from curvelab.model.record import Sourced

_MONEY = Number(0.0, 1e7)


class Price(Sourced):
    """What an item costs to hire. Currency and source are the file's."""

    item: Id
    """Id of a pump, a hose or a fitting."""
    size: MaybeBore = None
    per: Literal["each", "length", "ft", "m"] = "each"
    day: Annotated[float | None, _MONEY] = None
    week: Annotated[float | None, _MONEY] = None
    currency: Words = ""

    def rules(self) -> Iterator[Fault]:
        """A price for some time."""
        yield from super().rules()
        if self.day is None and self.week is None:
            yield Fault("", "day", "is missing", "write day or week, a bare number in the file's currency")

    @property
    def key(self) -> str:
        """What no two prices share."""
        return self.item if self.size is None else self.key_of(self.item, self.size.si)

    @staticmethod
    def key_of(item: str, size_m: float) -> str:
        """Key of an item in a nominal size [m]."""
        return f"{item} {size_m * 1e3:.1f} mm"
