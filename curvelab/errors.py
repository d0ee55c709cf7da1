"""Everything that can go wrong, as a small tree.

::

    CurvelabError
    ├── InputError (ValueError)         what a file, a link or a caller gave: one Fault a line
    │   ├── UnitError                   text that is no number with the unit meant
    │   └── UnknownNameError (KeyError) a name that nothing has
    ├── DomainError (ValueError)        a number outside the range that a formula holds for
    └── StudyError                      a question that this setup can't be asked

A message says where, what was found and what would be right. Whatever it repeats is clipped, and control characters are
written out, so that a hostile file can't write to a terminal.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, replace
from difflib import get_close_matches
from math import isinf
from typing import TYPE_CHECKING, Self

if TYPE_CHECKING:
    from numpy.typing import ArrayLike

ECHO_LIMIT = 60
"""Most characters of anything repeated from the outside. [-]"""
_LINE_PART = 240
_MOST_NAMED = 3
"""Most names that a refusal lists. [-]"""


def echo(value: object, limit: int = ECHO_LIMIT) -> str:
    """Something from the outside, safe to print: unprintable characters escaped, clipped to ``limit`` characters."""
    if isinstance(value, int) and not isinstance(value, bool) and abs(value) >= 10**limit:
        return "a huge whole number"  # Python refuses to write out more than some thousand digits
    text = value if isinstance(value, str) else str(value)
    clipped = text[: limit - 1] + "…" if len(text) > limit else text
    return "".join(c if c.isprintable() else c.encode("unicode_escape", "backslashreplace").decode() for c in clipped)


def near(word: str, options: Iterable[str]) -> str:
    """The option that ``word`` was probably meant to be, or an empty text when none is near."""
    names = list(options)
    found = get_close_matches(word[:ECHO_LIMIT], names, n=1, cutoff=0.6)
    if found:
        return found[0]
    folded = {name.casefold(): name for name in names}
    return folded.get(word[:ECHO_LIMIT].casefold(), "")


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing wrong with what was given.

    ``where`` is a file or a link, ``field`` a path such as ``suction.lift``; both may be empty until known.
    ``got`` says what was found, ``right`` what would be right.
    """

    where: str
    field: str
    got: str
    right: str

    def line(self) -> str:
        """One line: ``mill-pond.toml: suction.lift: 12 has no unit; write a length such as "12 ft" or "3.7 m"``."""
        place = [echo(part, limit) for part, limit in ((self.where, _LINE_PART), (self.field, ECHO_LIMIT)) if part]
        says = "; ".join(echo(part, _LINE_PART) for part in (self.got, self.right) if part)
        return ": ".join([*place, says])


class CurvelabError(Exception):
    """Anything that curvelab raises on purpose."""


class InputError(CurvelabError, ValueError):
    """Bad input, as one or more faults."""

    def __init__(self, faults: Fault | Iterable[Fault]) -> None:
        self.faults: tuple[Fault, ...] = (faults,) if isinstance(faults, Fault) else tuple(faults)
        super().__init__(self.faults)

    def __str__(self) -> str:
        return "\n".join(fault.line() for fault in self.faults)

    def at(self, where: str = "", field: str = "") -> Self:
        """The same error with its place filled in wherever a fault does not know its own."""
        return type(self)(replace(f, where=f.where or where, field=f.field or field) for f in self.faults)


class UnitError(InputError):
    """Text that isn't a number with a unit of the quantity meant."""


class UnknownNameError(InputError, KeyError):
    """A name that nothing has: an id in the catalogue, a field, a key."""

    @classmethod
    def among(cls, kind: str, name: object, options: Iterable[str], *, where: str = "", field: str = "") -> Self:
        """The error for ``name``, which is no ``kind`` (``"pump"``) among ``options``; names the near one."""
        names = sorted(options)
        close = near(name, names) if isinstance(name, str) else ""
        if close:
            right = f'did you mean "{close}"?'
        else:
            more = len(names) - _MOST_NAMED
            listed = ", ".join(names) if more < 2 else f"{', '.join(names[:_MOST_NAMED])} and {more} more"
            right = f"there is {listed}" if names else "there is none to choose from"
        return cls(Fault(where, field, f'no {kind} is called "{echo(name)}"', right))


class DomainError(CurvelabError, ValueError):
    """A number outside the range that a formula or a table holds for.

    ``value``, ``index`` (flat, ``None`` for a scalar), ``limits`` and ``hint`` are there when a limit was broken.
    """

    def __init__(
        self,
        message: str,
        *,
        value: float | None = None,
        index: int | None = None,
        limits: tuple[float, float] | None = None,
        hint: str = "",
    ) -> None:
        super().__init__(message)
        self.value = value
        self.index = index
        self.limits = limits
        self.hint = hint


class StudyError(CurvelabError):
    """A study that can't be done on this setup, and why."""


def require(name: str, values: ArrayLike, low: float, high: float, *, hint: str = "") -> None:
    """Raise ``DomainError`` unless every value is finite and from ``low`` to ``high``, both allowed.

    Parameters
    ----------
    name : str
        What the values are, unit included, as the message shall say it: ``temperature_k``.
    values : float or array, any shape
        What is checked.
    low, high : float
        Limits, in the unit of ``values``; may be infinite (an infinite value is refused all the same).
    hint : str
        What to do instead.
    """
    import numpy as np  # here, so that a command line can complain without loading it

    array = np.asarray(values, dtype=np.float64)
    bad = ~((array >= low) & (array <= high) & np.isfinite(array))
    if not bad.any():
        return
    index = int(np.argmax(bad))
    value = float(array.ravel()[index])
    place = f" at index {index}" if array.ndim else ""
    message = f"{name} must {_limits_in_words(low, high)} (got {value:g}{place})" + (f"; {hint}" if hint else "")
    raise DomainError(message, value=value, index=index if array.ndim else None, limits=(low, high), hint=hint)


def _limits_in_words(low: float, high: float) -> str:
    if isinf(low) and isinf(high):
        return "be finite"
    if isinf(high):
        return f"be {low:g} or more"
    if isinf(low):
        return f"be {high:g} or less"
    return f"lie between {low:g} and {high:g}"
