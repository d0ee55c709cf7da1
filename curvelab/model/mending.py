"""A setup from values that may not make one: what is wrong is left out, what is missing comes from another setup."""

from __future__ import annotations

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from copy import deepcopy
from dataclasses import dataclass, field
from typing import Any, Final, cast

from curvelab.errors import Fault, InputError, echo
from curvelab.model.catalogue import Catalogue
from curvelab.model.counts import Counts
from curvelab.model.fields import BY_PATH
from curvelab.model.pairs import document_of, pairs_of, path_of, pattern_of, value_of
from curvelab.model.planning import unknown_in
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup

Document = dict[str, Any]

_MOST_ROUNDS: Final = 60
_MOST_SAID: Final = 12
_MISSING: Final = "is missing"


def mended(values: Mapping[str, Any], standing: Setup, catalogue: Catalogue, problems: Problems) -> Setup:
    """The setup that comes nearest to ``values``.

    Parameters
    ----------
    values : mapping
        Values by path, each good in itself.
    standing : Setup
        Where whatever is missing comes from, and what stands when nothing can be made of ``values``.
    catalogue : Catalogue
        Where names are looked up.
    problems : Problems
        Where it is told what had to be left out or filled in.
    """
    document = document_of(values)
    _choose_pumps(document, catalogue, problems)
    spare = document_of({path: value_of(path, text) for path, text in _paths(standing)})
    seen: Counter[str] = Counter()
    for _ in range(_MOST_ROUNDS):
        try:
            setup = Setup.model_validate(document)
            faults = tuple(unknown_in(setup, catalogue))
        except InputError as error:
            faults = error.faults
        else:
            if not faults:
                return setup
        for fault in reversed(faults):  # so that places in lists before it keep their numbers
            seen[fault.field] += 1
            filled = _mend(document, fault.field.split("."), spare, again=seen[fault.field] > 2)
            if filled and fault.got == _MISSING:
                problems.filled(filled)
            elif fault.field not in problems.told:
                problems.wrong(fault.field, fault)
    problems.say(f"Nothing could be made of {problems.whose}.")
    return standing


@dataclass(slots=True)
class Problems:
    """What couldn't be read, in plain sentences, a few of them.

    ``whose`` is what was read, for the words: ``the link``; ``spare`` where missing things come from, nothing where
    that need not be told.
    """

    whose: str
    spare: str = ""
    said: list[str] = field(default_factory=list[str])
    told: set[str] = field(default_factory=set[str])
    """Fields that a sentence speaks of."""
    _filled: list[str] = field(default_factory=list[str])

    def say(self, sentence: str) -> None:
        """A sentence of its own."""
        self.said.append(sentence)

    def wrong(self, path: str, fault: Fault) -> None:
        """Something at a path was left out."""
        self.told.add(path)
        line = Fault("", "", fault.got, fault.right).line()
        self.say(f"{label_of(path).capitalize()} in {self.whose}: {line}{'' if line.endswith('?') else '.'}")

    def filled(self, path: str) -> None:
        """Something that a setup must have came from elsewhere."""
        self._filled.append(label_of(path))

    def sentences(self) -> tuple[str, ...]:
        """All of them; beyond the first few they are counted."""
        said = self.said[:_MOST_SAID]
        if len(self.said) > _MOST_SAID:
            said.append(f"And {len(self.said) - _MOST_SAID} more like these.")
        if self._filled and self.spare:
            said.append(f"Not in {self.whose}, so taken from {self.spare}: {', '.join(self._filled[:_MOST_SAID])}.")
        return tuple(said)

    @property
    def many(self) -> bool:
        """No more sentences will be shown."""
        return len(self.said) >= _MOST_SAID


def label_of(path: str) -> str:
    """What people call a field; its path where the table of fields has none."""
    found = BY_PATH.get(pattern_of(path))
    return found.label if found else echo(path.replace(".", " "))


def _paths(setup: Setup) -> Iterator[tuple[str, str]]:
    for key, text in pairs_of(setup).items():
        yield cast("str", path_of(key)), text


def _mend(document: Document, parts: Sequence[str], spare: Document, *, again: bool) -> str:
    """Change the document so that a fault at a path goes; the path of what was filled in, or nothing.

    ``again``: it has come back, so that all of its section is taken from the spare document.
    """
    if again:
        parts = parts[:1]
        document.pop(parts[0], None)
    elif _remove(document, parts):
        return ""
    while parts:
        if _fill(document, parts, spare):
            return ".".join(parts)
        parts = parts[:-1]
        if parts and _remove(document, parts):
            return ""
    return ""


def _remove(document: Document, parts: Sequence[str]) -> bool:
    """Take out what lies at a path, or the value that the path leads into; False where there is nothing."""
    node: dict[Any, Any] | list[Any] = document
    for place, part in enumerate(parts):
        inner = _below(node, part)
        if inner is None:
            return False
        if isinstance(inner, Counts) and isinstance(node, dict) and place == len(parts) - 2:
            node[part] = Counts((name, count) for name, count in inner.items() if name != parts[-1])
            return True
        if place == len(parts) - 1 or not isinstance(inner, (dict, list)):
            del node[int(part) if isinstance(node, list) else part]  # type: ignore[arg-type] - a list gets a number
            return True
        node = cast("dict[Any, Any] | list[Any]", inner)
    return False


def _fill(document: Document, parts: Sequence[str], spare: Document) -> bool:
    """Put in what the spare document has at a path; False where it has nothing there, or nothing stands above."""
    value: Any = spare
    for part in parts:
        value = _below(value, part)
    node: Any = document
    for part in parts[:-1]:
        node = _below(node, part)
    if value is None or not isinstance(node, dict):
        return False
    node[parts[-1]] = deepcopy(value)
    return True


def _below(node: Any, part: str) -> Any:
    if isinstance(node, dict):
        return cast("Document", node).get(part)
    if isinstance(node, list) and part.isdecimal():
        items = cast("list[Any]", node)
        return items[int(part)] if int(part) < len(items) else None
    return None


def _choose_pumps(document: Document, catalogue: Catalogue, problems: Problems) -> None:
    """Where both an id and a record came: the id if the catalogue has that very pump, else the record."""
    for choice in _choices(document):
        name, written = choice.get("id"), choice.get("record")
        if not isinstance(name, str) or not isinstance(written, dict):
            continue
        try:
            record = Pump.model_validate(written)
        except InputError:
            del choice["record"]  # its id may still be known
            problems.say(f"The points of pump {echo(name)} in {problems.whose} can't be read.")
            continue
        known = catalogue.pumps.get(name)
        if known == record:
            del choice["record"]
        else:
            del choice["id"]
            if known is not None:
                problems.say(f"Pump {echo(name)} is another one here; the points in {problems.whose} are used.")


def _choices(document: Document) -> Iterator[Document]:
    pump = document.get("pump")
    found: list[Any] = [pump]
    if isinstance(pump, dict):
        beside = cast("Document", pump).get("beside")
        found += cast("list[Any]", beside) if isinstance(beside, list) else []
    boosters = document.get("booster")
    found += cast("list[Any]", boosters) if isinstance(boosters, list) else []
    yield from (cast("Document", choice) for choice in found if isinstance(choice, dict))
