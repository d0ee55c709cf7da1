"""Names and how many of each: the fittings of a leg."""

from __future__ import annotations

from collections.abc import Iterable, Iterator, Mapping
from typing import cast

from curvelab.errors import Fault, InputError, echo
from curvelab.model.amount import Leaf, shown, wrong
from curvelab.model.kinds import ID, PIECES


class Counts(Mapping[str, int]):
    """Names and how many of each, frozen and hashable: the fittings of a leg."""

    __slots__ = ("_counts", "_hash")

    def __init__(self, counts: Mapping[str, int] | Iterable[tuple[str, int]] = ()) -> None:
        self._counts = dict(counts)
        self._hash = hash(frozenset(self._counts.items()))

    def __getitem__(self, name: str) -> int:
        return self._counts[name]

    def __iter__(self) -> Iterator[str]:
        return iter(self._counts)

    def __len__(self) -> int:
        return len(self._counts)

    def __hash__(self) -> int:
        return self._hash

    def __eq__(self, other: object) -> bool:
        if isinstance(other, Counts):
            return self._counts == other._counts
        return isinstance(other, Mapping) and self._counts == dict(cast("Mapping[str, int]", other))

    def __repr__(self) -> str:
        return f"Counts({self._counts!r})"


class CountTable(Leaf):
    """A table of ids, each with how many of it."""

    def __init__(self) -> None:
        super().__init__("a table such as { basket-strainer = 1, elbow-90 = 2 }")

    def read(self, value: object) -> Counts:
        """Names and whole numbers, every bad one reported."""
        if not isinstance(value, Mapping):
            raise self.wrong(shown(value))
        table = cast("Mapping[object, object]", value)
        if len(table) > _MOST:
            raise wrong(f"{len(table)} fittings", f"write at most {_MOST}")
        faults: list[Fault] = []
        counts: dict[str, int] = {}
        for name, count in table.items():
            try:
                counts[ID.read(name)] = PIECES.read(count)
            except InputError as error:
                faults += error.at(field=echo(name)).faults
        if faults:
            raise InputError(faults)
        return Counts(counts)


_MOST = 100
