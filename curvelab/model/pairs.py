"""A setup as flat pairs of key and text, and back: what a link carries.

A key is the short one of the table of fields (``lift``, ``d0.len``), or the whole path where the table has none, as for
the points of a pump written out (``pump.record.head.points``). A text is what a person would write in a file; lists are
joined by commas, points by semicolons, a fitting that stands more than once has its count: ``elbow-90:2``.
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator, Mapping
from datetime import date
from typing import Any, Final, cast, get_args, get_origin

from curvelab.errors import Fault, InputError, UnknownNameError, echo
from curvelab.model.amount import Amount, Count, Kind, Leaf, Number
from curvelab.model.counts import Counts, CountTable
from curvelab.model.fields import BY_PATH, FIELDS, leaf_of, owner_of
from curvelab.model.points import PointList
from curvelab.model.section import Section, section_in
from curvelab.model.water import OneOrMany
from curvelab.units import Quantity
from curvelab.units.factors import UNITS, Unit

_BY_KEY: Final = {f.key: f.path for f in FIELDS}
_INDEXED: Final = re.compile(r"([a-z]+)([0-9]{1,3})(\.[a-z_]+)?")
_PATH: Final = re.compile(r"[a-z_]+(?:\.(?:[a-z_]+|[0-9]{1,3})){0,6}")
_PLACES: Final = re.compile(r"(?<=\.)[0-9]+(?=\.|$)")
_COUNT: Final = Count(0, 10_000)
_NUMBER: Final = Number(-1e9, 1e9)
_ANY: Final = {quantity: Kind(quantity, -math.inf, math.inf, "an amount") for quantity in Quantity}
_SI_UNITS: Final = {
    quantity: next(name for name, unit in units.items() if unit == Unit(1.0)) for quantity, units in UNITS.items()
}


def pattern_of(path: str) -> str:
    """The path with ``*`` for its places: ``discharge.leg.*.length``."""
    return _PLACES.sub("*", path)


def pairs_of(section: Section, at: str = "") -> dict[str, str]:
    """Key and text of every field that isn't at its default, and of those that have none, in the order of the file.

    ``at`` is the path from the setup to the section, with a point at its end; empty for the setup itself.
    """
    return {key_of(path): text for path, text in _stated(section, at)}


def key_of(path: str) -> str:
    """The key of a path with its places filled in."""
    pattern = pattern_of(path)
    found = BY_PATH.get(pattern)
    if found is None:
        return path
    places = iter(_PLACES.findall(path))
    return re.sub(r"\*", lambda _: next(places), found.key)


def path_of(key: str) -> str | None:
    """The path that a key names, places filled in; ``None`` where it names none. Whole paths are keys too."""
    if key in _BY_KEY and "*" not in key:
        return _BY_KEY[key]
    indexed = _INDEXED.fullmatch(key)
    if indexed is not None:
        pattern = _BY_KEY.get(f"{indexed[1]}*{indexed[3] or ''}")
        return pattern.replace("*", str(int(indexed[2]))) if pattern else None
    if _PATH.fullmatch(key) is None:
        return None
    try:
        owner_of(pattern_of(key))
    except UnknownNameError:
        return None
    return key


def value_of(path: str, text: str) -> Any:
    """The value that a text stands for at a path, checked as far as one field alone can be.

    Raises
    ------
    InputError
        If the text is no value of this field.
    """
    pattern = pattern_of(path)
    leaf = leaf_of(pattern)
    if isinstance(leaf, CountTable):
        return leaf.read(_counts(text))
    if isinstance(leaf, PointList):
        return leaf.read([[_NUMBER.typed(number) for number in pair.split(",")] for pair in text.split(";")])
    if isinstance(leaf, OneOrMany) and "," in text:
        return leaf.read(_listed(text))
    if isinstance(leaf, Leaf):
        return leaf.typed(text)
    owner, name = owner_of(pattern)
    annotation = owner.model_fields[name].annotation
    if get_origin(annotation) is tuple and not _of_sections(annotation):
        return _listed(text)
    if section_in(annotation) is None:
        return text
    if text:
        raise InputError(Fault("", "", f'"{echo(text)}" stands for a whole table', "write one of its fields"))
    return {}


def document_of(values: Mapping[str, Any]) -> dict[str, Any]:
    """Nested tables and lists, as a file would hold them, of values by path. A value in another's way gives way."""
    root: dict[str, Any] = {}
    for path, value in values.items():
        *above, last = path.split(".")
        table = root
        for part in above:
            inner = table.get(part)
            if not isinstance(inner, dict):
                inner = table[part] = {}
            table = cast("dict[str, Any]", inner)
        if value != {} or last not in table:
            table[last] = value
    return cast("dict[str, Any]", _lists(root))


def _stated(section: Section, at: str) -> Iterator[tuple[str, str]]:
    for name, info in type(section).model_fields.items():
        value, path = getattr(section, name), f"{at}{name}"
        if name == "format" or value is None:
            continue
        if not info.is_required() and value == info.get_default(call_default_factory=True):
            continue
        if isinstance(value, Section):
            below = list(_stated(value, f"{path}."))
            yield from below or [(path, "")]
        elif isinstance(value, tuple) and value and isinstance(value[0], Section):
            for place, item in enumerate(cast("tuple[Section, ...]", value)):
                yield from _stated(item, f"{path}.{place}.")
        else:
            yield path, _text(value)


def _text(value: Any) -> str:
    if isinstance(value, Amount):
        return _exact(value)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value).removesuffix(".0")
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Counts):
        return ",".join(name if count == 1 else f"{name}:{count}" for name, count in value.items())
    if isinstance(value, tuple):
        items = cast("tuple[Any, ...]", value)
        if items and isinstance(items[0], tuple):
            return ";".join(",".join(_text(number) for number in pair) for pair in items)
        return ",".join(_text(item) for item in items) + ("," if len(items) == 1 else "")
    return str(value)


def _exact(amount: Amount) -> str:
    """The amount's own text where that reads back as the very same number, else its SI value to the last digit."""
    try:
        same = _ANY[amount.quantity].read(amount.text) == amount
    except InputError:
        same = False
    return amount.text if same else f"{amount.si!r} {_SI_UNITS[amount.quantity]}"


def _counts(text: str) -> dict[str, int]:
    counts: dict[str, int] = {}
    for entry in text.split(",") if text else ():
        name, mark, count = entry.partition(":")
        counts[name.strip()] = _COUNT.typed(count) if mark else 1
    return counts


def _listed(text: str) -> list[str]:
    """Items between commas; a list of one ends in a comma."""
    return [item.strip() for item in text.removesuffix(",").split(",")] if text else []


def _of_sections(annotation: Any) -> bool:
    return any(isinstance(part, type) and issubclass(part, Section) for part in get_args(annotation))


def _lists(value: Any) -> Any:
    """Tables whose keys are all places become lists, in the order of the places."""
    if not isinstance(value, dict):
        return value
    table = {key: _lists(inner) for key, inner in cast("dict[str, Any]", value).items()}
    if table and all(key.isdecimal() for key in table):
        return [table[key] for key in sorted(table, key=int)]
    return table
