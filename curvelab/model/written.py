"""A section as TOML text: what was stated, in the order of the fields, in the user's own words."""

from __future__ import annotations

import json
import re
from collections.abc import Iterator, Mapping
from datetime import date
from types import MappingProxyType
from typing import Any, Final, cast

from curvelab.model.amount import Amount
from curvelab.model.counts import Counts
from curvelab.model.section import Section

_BARE_KEY: Final = re.compile(r"[A-Za-z0-9_-]+")
_ORDER: Final = {"format": -3, "id": -2, "name": -1, "points": 1, "low": 2, "high": 3}
"""Where some fields stand among the others, for the eye."""
_DERIVED: Final = {"file": "record"}
"""Fields that are read from another one, which is written alone."""


def to_toml(section: Section) -> str:
    """TOML text of a section and all below it that reads back equal; ``format``, where there is one, stands first.

    A field is written when it was stated or differs from its default.
    """
    return "\n".join(_table(section, "")).strip("\n") + "\n"


def item_toml(section: Section, name: str, inherited: Mapping[str, object]) -> str:
    """TOML text of a record in a file of many, under ``[[name]]``, without what it has from the top of the file."""
    return "\n".join([f"[[{name}]]", *_table(section, name, inherited)]) + "\n"


def _table(section: Section, path: str, inherited: Mapping[str, object] = MappingProxyType({})) -> Iterator[str]:
    own, below = _stated(section)
    for name, value in own:
        if name in inherited and inherited[name] == value:
            continue
        yield f"{_key(name)} = {_value(value)}"
    for name, value in below:
        inner = f"{path}.{_key(name)}" if path else _key(name)
        many = isinstance(value, tuple)
        for item in _tables(value):
            yield ""
            yield f"[[{inner}]]" if many else f"[{inner}]"
            yield from _table(item, inner)


def _stated(section: Section) -> tuple[list[tuple[str, Any]], list[tuple[str, Any]]]:
    """Plain values and lists on one side, tables on the other: TOML wants a table's own keys before its tables."""
    own: list[tuple[str, Any]] = []
    below: list[tuple[str, Any]] = []
    hidden = {derived for name, derived in _DERIVED.items() if getattr(section, name, "")}
    for name, field in type(section).model_fields.items():
        value = getattr(section, name)
        stated = name == "format" or name in section.model_fields_set or field.is_required()
        if value is None or name in hidden or not (stated or value != field.get_default(call_default_factory=True)):
            continue
        if _tables(value):
            below.append((name, value))
        elif value != () or name in section.model_fields_set:
            own.append((name, value))
    own.sort(key=lambda pair: _ORDER.get(pair[0], 0))
    return own, below


def _tables(value: Any) -> tuple[Section, ...]:
    """The tables that a value is: itself, or its items."""
    items: tuple[Any, ...] = cast("tuple[Any, ...]", value) if isinstance(value, tuple) else (value,)
    return items if items and isinstance(items[0], Section) else ()


def _value(value: Any) -> str:
    if isinstance(value, Amount):
        return _text(value.text)
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, (int, float)):
        return repr(value)
    if isinstance(value, date):
        return value.isoformat()
    if isinstance(value, Counts):
        return "{ " + ", ".join(f"{_key(name)} = {count}" for name, count in value.items()) + " }" if value else "{}"
    if isinstance(value, tuple):
        return "[" + ", ".join(_value(item) for item in cast("tuple[Any, ...]", value)) + "]"
    return _text(str(value))


def _text(text: str) -> str:
    """A basic string; JSON's escapes are TOML's."""
    return json.dumps(text, ensure_ascii=False).replace("\x7f", "\\u007f")


def _key(name: str) -> str:
    return name if _BARE_KEY.fullmatch(name) else _text(name)
