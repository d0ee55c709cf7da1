"""Published numbers as records: how one is read, computed and held to its tolerance.

A record names a check (``checks``), gives its inputs as printed, and what the source prints. Text is a number with its
unit, a bare number has no unit, ``{ values = [...], unit = "gpm" }`` is a column of points.
"""

from __future__ import annotations

import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any, TypeVar

from curvelab.units import Quantity, from_unit, parse

HERE = Path(__file__).parent
STATUS = {
    "P": "printed output of a public textbook-companion notebook, whose page is given",
    "S": "seen in the source named or in a quotation of it",
    "M": "from memory, never the only ground for pass or fail",
    "C": "the source gives the inputs only; the answer was computed from them on another route",
    "own": "not published: an exact closed form, or computed by libraries that share nothing with the package",
    "practice": "common practice, no source",
}
"""What the mark of a record means."""

_NEEDED = {"id", "what", "check", "inputs", "printed", "tolerance", "because", "source", "page", "status"}
_OPTIONAL = {"recomputed", "disagreement", "wrong", "slip"}
CHECKS: dict[str, Check] = {}
F = TypeVar("F", bound=Callable[..., Any])


@dataclass(frozen=True)
class Check:
    """One kind of check: what it takes, what it gives (``None`` for a pure number), and how."""

    compute: Callable[..., Any]
    gives: Quantity | None
    takes: dict[str, Quantity | None]


def check(gives: Quantity | None, **takes: Quantity | None) -> Callable[[F], F]:
    """Enter a function of SI numbers under its own name."""

    def enter(function: F) -> F:
        CHECKS[function.__name__] = Check(function, gives, takes)
        return function

    return enter


@dataclass(frozen=True)
class Record:
    """One published number."""

    file: str
    entry: dict

    def __post_init__(self) -> None:
        keys = set(self.entry)
        if missing := _NEEDED - keys:
            raise ValueError(f"{self.name}: {', '.join(sorted(missing))} is missing")
        if stray := keys - _NEEDED - _OPTIONAL:
            raise ValueError(f"{self.name}: {', '.join(sorted(stray))} is no key of a record")

    @property
    def name(self) -> str:
        """File and id."""
        return f"{self.file}:{self.entry.get('id', '?')}"

    @property
    def check(self) -> Check:
        """Its kind of check."""
        return CHECKS[self.entry["check"]]

    def computed(self) -> float:
        """What the package makes of the inputs. SI."""
        inputs = self.entry["inputs"]
        if stray := set(inputs) - set(self.check.takes):
            raise ValueError(f"{self.name}: {', '.join(sorted(stray))} is no input of {self.entry['check']}")
        values = {key: _read(value, self.check.takes[key]) for key, value in inputs.items()}
        return float(self.check.compute(**values))

    def value(self, key: str) -> float:
        """A printed, recomputed or wrong value. SI."""
        return float(_read(self.entry[key], self.check.gives))

    def target(self) -> float:
        """What to hold the package to: the recomputed value where the source rounds or misprints. SI."""
        return self.value("recomputed" if "recomputed" in self.entry else "printed")

    def allowance(self) -> float:
        """How far off is still right. SI."""
        tolerance = self.entry["tolerance"]
        if isinstance(tolerance, str) and tolerance.endswith("%"):
            return abs(self.target()) * parse(tolerance, Quantity.SHARE)
        return float(_read(tolerance, self.check.gives))


def _read(value: Any, quantity: Quantity | None) -> Any:
    if isinstance(value, dict):
        return from_unit(value["values"], value["unit"], quantity) if quantity else value["values"]
    if isinstance(value, str):
        return parse(value, quantity) if quantity else value
    if quantity not in (None, Quantity.SHARE):
        raise ValueError(f"{value!r} has no unit")
    return value


def records() -> list[Record]:
    """All of them, in the order of the files."""
    return [
        Record(path.stem, entry)
        for path in sorted(HERE.glob("*.toml"))
        for entry in tomllib.loads(path.read_text(encoding="utf-8"))["record"]
    ]
