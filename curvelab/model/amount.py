"""Leaves of a file: a number with its unit, a bare number, a count, a yes or no, a line of text, a date.

Each kind of leaf is one object that reads a value and knows its range, so that a message says what to write and a table
of fields can ask. Bad values raise ``InputError`` with one fault and no place: whoever knows the place fills it in.
"""

from __future__ import annotations

import math
import re
import unicodedata
from abc import ABC, abstractmethod
from dataclasses import dataclass
from datetime import date, datetime
from functools import lru_cache
from typing import Any, Final, get_args

from pydantic_core import CoreSchema, core_schema

from curvelab.errors import Fault, InputError, echo
from curvelab.units import Quantity, System, parse, show, write

SI_SUFFIX: Final[dict[Quantity, str]] = {
    Quantity.FLOW: "m3_s",
    Quantity.VOLUME: "m3",
    Quantity.LENGTH: "m",
    Quantity.BORE: "m",
    Quantity.ROUGHNESS: "m",
    Quantity.HEAD: "m",
    Quantity.PRESSURE: "pa",
    Quantity.VACUUM: "pa",
    Quantity.SPEED: "m_s",
    Quantity.TEMPERATURE: "k",
    Quantity.MASS: "kg",
    Quantity.POWER: "w",
    Quantity.FUEL: "m3",
    Quantity.TIME: "s",
    Quantity.ROTATION: "per_s",
    Quantity.VISCOSITY: "m2_s",
    Quantity.DENSITY: "kg_m3",
    Quantity.SHARE: "share",
    Quantity.LEVEL_RATE: "m_s",
    Quantity.AREA: "m2",
    Quantity.SPECIFIC_FUEL: "m3_j",
    Quantity.LINE_MASS: "kg_m",
}
"""What follows a field's name where its SI value leaves as a bare number."""


@dataclass(frozen=True, slots=True, eq=False)
class Amount:
    """A number with its unit as somebody wrote it, and its SI value.

    Two are equal when their SI values are: "12 ft" is "144 in".
    """

    text: str
    si: float
    quantity: Quantity

    def __eq__(self, other: object) -> bool:
        return isinstance(other, Amount) and self.si == other.si and self.quantity is other.quantity

    def __hash__(self) -> int:
        return hash(self.si)

    def __str__(self) -> str:
        return self.text

    def show(self, system: System) -> str:
        """For people, in the units of ``system``."""
        return show(self.si, self.quantity, system)

    @classmethod
    def of_si(cls, si: float, quantity: Quantity, system: System = System.METRIC) -> Amount:
        """Amount of an SI value, with text in the units of ``system`` that reads back as the same value."""
        return cls(write(si, quantity, system), _clean(si), quantity)


def wrong(got: str, right: str, field: str = "") -> InputError:
    """An error of one fault without a file."""
    return InputError(Fault("", field, got, right))


class Leaf(ABC):
    """One kind of value: the validator of a field that stands in its ``Annotated[...]``; a field may be ``... | None``.

    ``right`` is what to write, after the word "write": ``a length from 0 to 100 km``.
    """

    def __init__(self, right: str) -> None:
        self.right: Final = right

    @abstractmethod
    def read(self, value: object) -> Any:
        """The value as a file or a caller gives it, checked."""

    def typed(self, value: object) -> Any:
        """The value as somebody types it or a link carries it: text, also where a file holds a bare number."""
        return self.read(value)

    def wrong(self, got: str) -> InputError:
        """The error of a value that was found instead."""
        return wrong(got, f"write {self.right}")

    def __get_pydantic_core_schema__(self, source: Any, handler: Any) -> CoreSchema:
        del handler  # the leaf does all the reading
        schema = core_schema.no_info_plain_validator_function(self.read)
        return core_schema.nullable_schema(schema) if type(None) in get_args(source) else schema


class Kind(Leaf):
    """A number with a unit, from ``low`` to ``high`` in SI (``low`` itself not, where ``above``)."""

    def __init__(self, quantity: Quantity, low: float, high: float, right: str, *, above: bool = False) -> None:
        super().__init__(right)
        self.quantity: Final = quantity
        self.low: Final = low
        self.high: Final = high
        self.above: Final = above

    def read(self, value: object) -> Amount:
        """The amount that text, or an amount of the same quantity, stands for."""
        if isinstance(value, str):
            return _read_amount(self, value)
        if isinstance(value, Amount) and value.quantity is self.quantity:
            return self.checked(value)
        if isinstance(value, (int, float)):
            parse(value, self.quantity)  # raises, and says that the unit is missing
        raise self.wrong(shown(value))

    def checked(self, amount: Amount) -> Amount:
        """The amount if it lies in the range; one that misses an end by rounding alone is put on it."""
        si = amount.si
        if self.low < si <= self.high or (si == self.low and not self.above):
            return amount
        for end in (self.low, self.high):
            if math.isclose(si, end, rel_tol=1e-9) and not (self.above and end == self.low):
                return Amount(amount.text, end, amount.quantity)
        raise self.wrong(f'"{echo(amount.text)}" is out of range')


@lru_cache(maxsize=8192)
def _read_amount(kind: Kind, text: str) -> Amount:
    return kind.checked(Amount(text.strip(), _clean(parse(text, kind.quantity)), kind.quantity))


def _clean(si: float) -> float:
    """The value without the dust of conversion: 12 ft and 144 in are both 3.6576 m."""
    return float(f"{si:.15g}")


class Number(Leaf):
    """A bare finite number from ``low`` to ``high`` (``low`` itself not, where ``above``)."""

    def __init__(self, low: float, high: float, *, above: bool = False) -> None:
        limits = f"of more than {low:g}, at most {high:g}" if above else f"from {low:g} to {high:g}"
        super().__init__(f"a bare number {limits}")
        self.low: Final = low
        self.high: Final = high
        self.above: Final = above

    def read(self, value: object) -> float:
        """A number that is no text and no true or false."""
        if isinstance(value, bool) or not isinstance(value, (int, float)):
            raise self.wrong(shown(value))
        if not (self.low < value <= self.high or (value == self.low and not self.above)):
            raise self.wrong(f"{echo(value)} is out of range")
        return float(value)

    def typed(self, value: object) -> float:
        """Also ``"0.8"`` and ``"80 %"``."""
        if not isinstance(value, str):
            return self.read(value)
        return self.read(parse(value, Quantity.SHARE) if value.strip().endswith("%") else _bare(value))


class Count(Leaf):
    """A whole number from ``low`` to ``high``."""

    def __init__(self, low: int, high: int) -> None:
        super().__init__(f"a whole number from {low} to {high}")
        self.low: Final = low
        self.high: Final = high

    def read(self, value: object) -> int:
        """A whole number that is no text and no true or false."""
        if not isinstance(value, int) or isinstance(value, bool) or not self.low <= value <= self.high:
            raise self.wrong(shown(value))
        return value

    def typed(self, value: object) -> int:
        """Also ``"2"``."""
        if not isinstance(value, str):
            return self.read(value)
        number = _bare(value)
        return self.read(int(number) if number.is_integer() else number)


class Flag(Leaf):
    """Yes or no, as TOML has it."""

    def __init__(self) -> None:
        super().__init__("true or false")

    def read(self, value: object) -> bool:
        """True or false and nothing that merely counts as such."""
        if not isinstance(value, bool):
            raise self.wrong(shown(value))
        return value

    def typed(self, value: object) -> bool:
        """Also the words ``"true"`` and ``"false"``."""
        return self.read({"true": True, "false": False}.get(value, value) if isinstance(value, str) else value)


class Text(Leaf):
    """One line of text without control characters, ``least`` to ``longest`` of them; ``pattern`` where it is a name."""

    def __init__(
        self, right: str = "text in quotes", *, longest: int = 200, least: int = 0, pattern: str | None = None
    ) -> None:
        super().__init__(right)
        self.longest: Final = longest
        self.least: Final = least
        self._pattern: Final = None if pattern is None else re.compile(pattern)

    def read(self, value: object) -> str:
        """The text itself."""
        if not isinstance(value, str):
            raise self.wrong(shown(value))
        if not self.least <= len(value) <= self.longest:
            raise wrong(f"text of {len(value)} characters", f"write {self.least} to {self.longest} characters")
        if any(unicodedata.category(c) in _UNSAFE for c in value):
            raise wrong(f'"{echo(value)}" has a control character', "write one line of plain text")
        if self._pattern is not None and self._pattern.fullmatch(value) is None:
            raise self.wrong(f'"{echo(value)}" is none')
        return value


class Day(Leaf):
    """A date, as TOML has it or as text."""

    def __init__(self) -> None:
        super().__init__("a date such as 2026-05-04")

    def read(self, value: object) -> date:
        """A date without a time."""
        if isinstance(value, str) and _DATE.fullmatch(value):
            try:
                return date.fromisoformat(value)
            except ValueError:
                raise self.wrong(f'"{value}" is no day of the calendar') from None
        if isinstance(value, datetime) or not isinstance(value, date):
            raise self.wrong(shown(value))
        return value


_UNSAFE: Final = frozenset({"Cc", "Cs", "Cf", "Zl", "Zp"})  # Cf: marks that turn the order of what is printed
_IN_WORDS: Final[dict[type, str]] = {
    list: "a list",
    tuple: "a list",
    dict: "a table",
    bool: "true or false",
    type(None): "nothing",
}
_DATE: Final = re.compile(r"[0-9]{4}-[0-9]{2}-[0-9]{2}")
_BARE: Final = re.compile(r"[+\-−]?(?:[0-9]{1,18}\.?[0-9]{0,18}|\.[0-9]{1,18})(?:[eE][+\-]?[0-9]{1,3})?")


def _bare(text: str) -> float:
    """A plain decimal number, nothing evaluated."""
    stripped = text.strip()
    if _BARE.fullmatch(stripped) is None:
        raise wrong(f'"{echo(text)}" is no plain number', "write digits with a point, such as 0.9")
    return float(stripped.replace("−", "-"))


def shown(value: object) -> str:
    """What was found where something else was meant, safe to print: ``"12" is text``, ``a list``, ``7``."""
    if isinstance(value, str):
        return f'"{echo(value)}" is text'
    return next((words for kind, words in _IN_WORDS.items() if isinstance(value, kind)), "") or echo(value)
