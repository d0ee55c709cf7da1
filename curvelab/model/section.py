"""A table of a file as a frozen object: read whole with every fault named, changed one field at a time.

``Section`` is the base of setups and of catalogue records. What can be wrong in one field its ``Leaf`` says; what can
only be seen across fields a section's ``rules`` say.
"""

from __future__ import annotations

import re
from collections.abc import Iterable, Iterator, Mapping, Sequence
from functools import cache
from itertools import islice
from operator import getitem
from pathlib import Path
from typing import Annotated, Any, ClassVar, Final, Self, cast, get_args

from pydantic import BaseModel, ConfigDict, TypeAdapter, ValidationError, model_validator
from pydantic_core import ErrorDetails

from curvelab.errors import Fault, InputError, UnknownNameError, echo, near
from curvelab.model.amount import SI_SUFFIX, Amount, Leaf, shown
from curvelab.model.counts import Counts

MOST_FAULTS: Final = 50
"""Faults of one file that are written out; the rest are counted. [-]"""


class Section(BaseModel):
    """One table of a file. Frozen, equal by value, hashable; an unknown key is a fault that names the near one."""

    model_config = ConfigDict(frozen=True, extra="forbid", arbitrary_types_allowed=True)

    INSTEAD: ClassVar[Mapping[str, tuple[str, ...]]] = {}
    """Fields that give way when one is set by ``with_``: a speed takes the place of a throttle."""

    @classmethod
    def model_validate(cls, obj: Any, *, context: object = None, **options: Any) -> Self:  # type: ignore[override]
        """The section that ``obj`` (a mapping as a TOML file gives it) describes.

        Raises
        ------
        InputError
            With every fault found, each with its dotted path, such as ``discharge.leg.0.length``.
        """
        try:
            return super().model_validate(obj, context=context, **options)
        except ValidationError as error:
            raise InputError(faults_of(error, cls)) from None

    def rules(self) -> Iterator[Fault]:
        """What is wrong across fields; ``field`` of each fault is the path within this section."""
        return iter(())

    @model_validator(mode="after")
    def _rules_kept(self) -> Self:
        _raise_any(self.rules())
        return self

    def with_(self, field: str, value: object, *, context: object = None) -> Self:
        """A checked copy with one field changed.

        Parameters
        ----------
        field : str
            Dotted path, list places as numbers: ``discharge.leg.0.length``. The place after the last one appends.
        value : str or as a file would hold it
            Text with a unit, a number (also as text), a whole table as a mapping; ``None`` goes back to the default.

        Raises
        ------
        InputError
            If there is no such field, or the value or what it makes of the section is wrong.
        """
        try:
            return self.changed(field.split("."), value, context)
        except InputError as error:
            raise error.at(field=field) from None

    def changed(self, path: Sequence[str], value: object, context: object) -> Self:
        """As ``with_``, the path in parts and faults named from here on."""
        name, rest = path[0], path[1:]
        if name not in type(self).model_fields:
            raise UnknownNameError.among("field", name, type(self).model_fields)
        old = getattr(self, name)
        update: dict[str, Any] = {}
        if value is not None:
            for other in self.INSTEAD.get(name, ()):
                update[other] = type(self).model_fields[other].get_default()
        with _under(name):
            update[name] = _value_changed(type(self), name, old, rest, value, context)
        new = self.model_copy(update=update)
        _raise_any(new.rules())
        return new

    def to_si(self) -> dict[str, Any]:
        """Plain numbers, text, lists and tables; SI, units in the names (``lift_m``); what isn't stated is left out."""
        out: dict[str, Any] = {}
        for name in type(self).model_fields:
            value = getattr(self, name)
            if value is not None:
                key, plain = _si(name, value)
                out[key] = plain
        return out


class _under:  # noqa: N801 - reads as a word where it is used
    """Put a name before the fields of the faults that pass."""

    __slots__ = ("_name",)

    def __init__(self, name: str) -> None:
        self._name = name

    def __enter__(self) -> None: ...

    def __exit__(self, kind: object, error: BaseException | None, trace: object) -> None:
        if isinstance(error, InputError):
            raise type(error)(_below(fault, self._name) for fault in error.faults) from None


def _value_changed(
    owner: type[Section], name: str, old: Any, rest: Sequence[str], value: object, context: object
) -> Any:
    if not rest:
        return _read(owner, name, value, context)
    if old is None:  # an optional table that isn't there yet
        for key in reversed(rest):
            value = {key: value}
        return _read(owner, name, value, context)
    if isinstance(old, Section):
        return old.changed(rest, value, context)
    if isinstance(old, Counts):
        return _counted(owner, name, old, rest, value, context)
    if isinstance(old, tuple):
        return _listed(owner, name, cast("tuple[Any, ...]", old), rest, value, context)
    raise UnknownNameError(Fault("", "", f'"{echo(".".join(rest))}" names nothing', f"{name} is a single value"))


def _counted(owner: type[Section], name: str, old: Counts, rest: Sequence[str], value: object, context: object) -> Any:
    key = ".".join(rest)
    counts: dict[str, object] = {**old, key: int(value) if isinstance(value, str) and value.isdecimal() else value}
    if counts[key] in (0, None):
        del counts[key]
    return _read(owner, name, counts, context)


def _listed(
    owner: type[Section], name: str, old: tuple[Any, ...], rest: Sequence[str], value: object, context: Any
) -> tuple[Any, ...]:
    place = int(rest[0]) if rest[0].isdecimal() and len(rest[0]) < 6 else -1
    if not 0 <= place <= len(old) or (place == len(old) and len(rest) > 1):
        raise UnknownNameError(Fault("", "", f'there is no "{echo(rest[0])}"', f"places go from 0 to {len(old) - 1}"))
    if len(rest) > 1 and isinstance(old[place], Section):
        with _under(rest[0]):
            item = old[place].changed(rest[1:], value, context)
        return (*old[:place], item, *old[place + 1 :])
    added = () if value is None else (value,)
    return _read(owner, name, (*old[:place], *added, *old[place + 1 :]), context)


def _read(owner: type[Section], name: str, value: object, context: object) -> Any:
    """A value read as the field ``name`` of ``owner`` would."""
    field = owner.model_fields[name]
    if value is None and not field.is_required():
        return field.get_default(call_default_factory=True)
    leaf = next((m for m in field.metadata if isinstance(m, Leaf)), None)
    if leaf is not None:
        return leaf.typed(value)
    try:
        return _adapter(owner, name).validate_python(value, context=context)
    except ValidationError as error:
        raise InputError(faults_of(error, owner, start=(name,), hide=1)) from None


@cache
def _adapter(owner: type[Section], name: str) -> TypeAdapter[Any]:
    field = owner.model_fields[name]
    if not field.metadata:
        return TypeAdapter(cast("Any", field.annotation))
    return TypeAdapter(getitem(cast("Any", Annotated), (field.annotation, *field.metadata)))  # how long a list may be


def _raise_any(faults: Iterable[Fault]) -> None:
    found = tuple(faults)
    if found:
        raise InputError(found)


def _join(*parts: object) -> str:
    return ".".join(str(part) for part in parts if part != "")


# --- to SI


def _si(name: str, value: Any) -> tuple[str, Any]:
    if isinstance(value, Amount):
        return f"{name}_{SI_SUFFIX[value.quantity]}", value.si
    if isinstance(value, Section):
        return name, value.to_si()
    if isinstance(value, Counts):
        return name, dict(value)
    if isinstance(value, tuple):
        items = cast("tuple[Any, ...]", value)
        pairs = [_si(name, item) for item in items]
        return (pairs[0][0] if pairs else name), [plain for _, plain in pairs]
    return name, value if isinstance(value, (bool, int, float)) else str(value)


# --- faults


def faults_of(
    error: ValidationError, owner: type[Section], *, start: tuple[str, ...] = (), hide: int = 0
) -> tuple[Fault, ...]:
    """Faults of a validation of ``owner`` in words; ``start`` is the path from ``owner`` to what was validated.

    ``hide`` parts of the path are left out at its start, for a caller that puts them back.
    """
    details = error.errors(include_url=False)
    faults = [f for detail in details[:MOST_FAULTS] for f in _faults(detail, owner, start, hide)]
    if error.error_count() > MOST_FAULTS:
        faults.append(Fault("", "", f"{error.error_count() - MOST_FAULTS} more faults", "mend these first"))
    return tuple(faults)


def _faults(detail: ErrorDetails, owner: type[Section], start: tuple[str, ...], hide: int) -> Iterator[Fault]:
    path = (*start, *detail["loc"])
    place = _join(*path[hide:])
    if detail["type"] == "too_short" and len(detail["input"]) >= detail.get("ctx", {}).get("min_length", 0):
        return  # items that are wrong themselves count as none: they have their own faults
    inner = detail.get("ctx", {}).get("error")
    if isinstance(inner, InputError):
        yield from (_below(fault, place) for fault in inner.faults)
        return
    table = _section_at(owner, path[:-1])
    name = str(path[-1]) if path else ""
    yield Fault("", place, *_words(detail, table, name))


def _below(fault: Fault, place: str) -> Fault:
    """The fault seen from the table above; one of another file keeps its own path."""
    return fault if fault.where else Fault("", _join(place, fault.field), fault.got, fault.right)


def _words(detail: ErrorDetails, table: type[Section] | None, name: str) -> tuple[str, str]:
    found, kind = shown(detail["input"]), detail["type"]
    match kind:
        case "missing":
            return "is missing", _how_to_write(table, name)
        case "extra_forbidden":
            names = list(table.model_fields) if table else []
            close = near(name, names)
            return "unknown key", f'did you mean "{close}"?' if close else f"known here: {', '.join(names)}"
        case "literal_error" | "enum":
            options = re.findall(r"'([^']*)'", str(detail.get("ctx", {}).get("expected", "")))
            text = detail["input"]
            close = near(text, options) if isinstance(text, str) else ""
            got = f'"{echo(text)}" is not known here' if isinstance(text, str) else found
            return got, f'did you mean "{close}"?' if close else f"write one of {_listing(options)}"
        case "model_type" | "model_attributes_type" | "dict_type":
            return found, "write a table of keys and values"
        case "tuple_type" | "list_type":
            return found, _how_to_write(table, name)
        case "too_short" | "too_long":
            return f"{len(detail['input'])} of them", _how_to_write(table, name)
        case _:
            return found, detail["msg"]


def _listing(options: Sequence[str]) -> str:
    return ", ".join(f'"{option}"' for option in islice(options, 30))


def _how_to_write(table: type[Section] | None, name: str) -> str:
    field = table.model_fields.get(name) if table else None
    if field is None:
        return "write it"
    if field.description:
        return field.description
    leaf = next((m for m in field.metadata if isinstance(m, Leaf)), None)
    if leaf is not None:
        return f"write {leaf.right}"
    options = [str(word) for word in get_args(field.annotation)]
    return f"write one of {_listing(options)}" if options else "write it"


@cache
def section_in(annotation: Any) -> type[Section] | None:
    """The section that an annotation such as ``tuple[Leg, ...]`` or ``Goal | None`` speaks of."""
    if isinstance(annotation, type) and issubclass(annotation, Section):
        return annotation
    return next((found for part in get_args(annotation) if (found := section_in(part))), None)


def _section_at(owner: type[Section], path: Sequence[int | str]) -> type[Section] | None:
    table: type[Section] | None = owner
    for part in path:
        if isinstance(part, str):
            field = table.model_fields.get(part) if table else None
            table = section_in(field.annotation) if field else None
    return table


def folder_of(context: object) -> Path | None:
    """The folder that a caller of ``model_validate`` names as context; ``None`` without one."""
    if not isinstance(context, Mapping):
        return None
    folder = cast("Mapping[str, str | Path | None]", context).get("folder")
    return None if folder is None else Path(folder)
