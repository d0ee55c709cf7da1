"""A setup, and the setups chalked beside it, as the query of an address; and whatever can be made of any such query.

::

    ?v=1&title=Mill+pond&pump=ferrow-3&lift=12+ft&s0.hose=suction-smooth&s0.size=3+in&s0.len=20+ft
    &s0.fit=basket-strainer,elbow-90:2&rise=35+ft&d0.hose=lay-flat&d0.size=3+in&d0.len=300+ft
    &w0.at=180+ft&w0.height=40+ft&a.name=old+hose&a.d0.size=2+in&a.without=w0.

One key for each field that isn't at its default (``fields`` has them); ``s0`` and ``d0`` are the first legs of suction
and discharge, ``w0`` the first waypoint. ``a.``, ``b.`` and ``c.`` go before what is different in a chalked setup;
``without`` lists what it lacks, a point at the end standing for all that begins so; ``name`` is what somebody called
it; ``called`` is what the present setup was called while it was chalked. A pump that the demo lacks carries its own
points (``pump.record.…``).
"""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any, Final
from urllib.parse import quote_plus, unquote_plus

from curvelab.errors import Fault, InputError, echo, near
from curvelab.model.catalogue import Catalogue, default_catalogue, demo_catalogue
from curvelab.model.chalk import LETTERS, NAME, Chalk
from curvelab.model.fields import FIELDS
from curvelab.model.mending import Problems, mended
from curvelab.model.pairs import key_of, pairs_of, path_of, value_of
from curvelab.model.pump import Pump
from curvelab.model.setup import PumpChoice, Setup

VERSION: Final = "1"
LONGEST: Final = 6000
"""Most characters of a query. [-]"""
OPENING: Final = "mill-pond"
"""Name of the ready setup that a page opens with."""

_SAFE: Final = ",:;/"  # besides letters, digits and -._~: allowed in a query, and no chat or mail cuts a link at them
_WITHOUT, _NAME, _CALLED = "without", "name", "called"


@dataclass(frozen=True, slots=True)
class Decoded:
    """What a link held: a setup in any case, chalked setups, and in plain sentences what couldn't be read."""

    setup: Setup
    chalks: tuple[Chalk, ...] = ()
    problems: tuple[str, ...] = ()
    name: str = ""
    """What the setup was called while it was chalked."""


def encode(setup: Setup, chalks: Sequence[Chalk] = (), catalogue: Catalogue | None = None, *, name: str = "") -> str:
    """The query of a link that reopens a setup, ``?`` first.

    Parameters
    ----------
    setup : Setup
        The setup shown.
    chalks : sequence of Chalk, at most three
        The setups beside it, written as differences. Each letter once.
    catalogue : Catalogue, optional
        Where their pumps are from, the default one where left out: a pump that the demo lacks is written out.
    name : str, optional
        What the setup was called while it was chalked.

    Raises
    ------
    InputError
        If it would be longer than ``LONGEST`` characters, or there are too many chalked setups.
    """
    if len(chalks) > len(LETTERS):
        raise InputError(Fault("link", "chalks", f"{len(chalks)} chalked setups", f"keep at most {len(LETTERS)}"))
    letters = [chalk.letter for chalk in chalks]
    if len({*letters}) < len(letters) or not {*letters} <= {*LETTERS}:
        raise InputError(Fault("link", "chalks", f"letters {echo(''.join(letters))}", f"each of {LETTERS} once"))
    known = catalogue or default_catalogue()
    now = _carried(setup, known)
    pairs = [("v", VERSION), *now.items(), *([(_CALLED, name)] if name else [])]
    for chalk in chalks:
        own = [(_NAME, chalk.name)] if chalk.name else []
        own += _differences(now, _carried(chalk.setup, known))
        pairs += ((f"{chalk.letter.lower()}.{key}", text) for key, text in own)
    query = "?" + "&".join(f"{key}={quote_plus(text, safe=_SAFE)}" for key, text in pairs)
    if len(query) > LONGEST:
        got = f"{len(query)} characters, and a link holds {LONGEST}"
        raise InputError(Fault("link", "", got, "leave out chalked setups, or save the setup as a file"))
    return query


def decode(query: str, catalogue: Catalogue | None = None) -> Decoded:
    """The setup that a query describes; never raises.

    What can't be read is left out, and what a setup must have is taken from the catalogue's opening setup; each of
    these is a problem in words. An empty query is the opening setup, without a problem.

    Parameters
    ----------
    query : str
        As the address has it, with or without ``?``; any text at all.
    catalogue : Catalogue, optional
        Where names are looked up; the default one where left out.
    """
    known = catalogue or default_catalogue()
    problems = Problems("the link", "the opening setup")
    pairs = _split(query, problems)
    if pairs.pop("v", VERSION) != VERSION:
        problems.say("This link is of another version; what is known of it here was read.")
    chalked = [(letter, own) for letter in LETTERS if (own := _taken(pairs, f"{letter.lower()}."))]
    called = _name(pairs.pop(_CALLED, ""), problems)
    values = _values(pairs, problems)
    opening = opening_of(known)
    setup = mended(values, opening, known, problems) if values else opening
    chalks: list[Chalk] = []
    sentences = problems.sentences()
    for letter, own in chalked:
        about = Problems(f"chalked setup {letter}", told=problems.told)
        name = _name(own.pop(_NAME, ""), about)
        without = own.pop(_WITHOUT, "").split(",")
        kept = {path: value for path, value in values.items() if not _lacking(key_of(path), without)}
        chalks.append(Chalk(letter, mended(kept | _values(own, about), setup, known, about), name))
        sentences += about.sentences()
    return Decoded(setup, tuple(chalks), sentences, called)


def opening_of(catalogue: Catalogue) -> Setup:
    """The setup that a page opens with."""
    ready = catalogue.setups or demo_catalogue().setups
    return ready.get(OPENING) or next(iter(ready.values()))


# --- writing ---


def _carried(setup: Setup, catalogue: Catalogue) -> dict[str, str]:
    """Pairs of a setup, and those of every pump of the catalogue that the demo lacks.

    A pump from a file goes as what stands in the file: its name means nothing where the link is opened.
    """
    pairs, demo = pairs_of(setup), demo_catalogue().pumps
    for at, choice in _pumps(setup):
        pairs.pop(key_of(f"{at}.file"), None)
        record = catalogue.pumps.get(choice.id) if choice.id is not None else None
        known = demo.get(record.id) if record is not None else None
        if record is not None and (known is None or _untested(known) != _untested(record)):
            pairs |= pairs_of(_untested(record), f"{at}.record.")
    return pairs


def _untested(pump: Pump) -> Pump:
    """The pump without the yard's tests of it: they change no answer, they name people, and there are ever more."""
    return pump.model_copy(update={"test": ()}) if pump.test else pump


def _pumps(setup: Setup) -> Iterator[tuple[str, PumpChoice]]:
    yield "pump", setup.pump
    for place, beside in enumerate(setup.pump.beside):
        yield f"pump.beside.{place}", beside
    for place, booster in enumerate(setup.booster):
        yield f"booster.{place}", booster


def _differences(now: Mapping[str, str], other: Mapping[str, str]) -> Iterator[tuple[str, str]]:
    different = [(key, text) for key, text in other.items() if now.get(key) != text]
    yield from different
    lacking: list[str] = []
    for key in now:
        head = key.partition(".")[0] + "."
        if key in other or head in lacking:
            continue
        whole = key.startswith(head) and not any(kept.startswith(head) for kept in other)
        lacking.append(head if whole else key)
    if lacking or not different:  # with nothing else to say, this says that there is a chalked setup
        yield _WITHOUT, ",".join(lacking)


# --- reading ---


def _split(query: str, problems: Problems) -> dict[str, str]:
    text = query.removeprefix("?")
    if len(text) > LONGEST:
        problems.say(f"This link is longer than {LONGEST} characters; the rest was left out.")
        text = text[:LONGEST].rpartition("&")[0]
    pairs: dict[str, str] = {}
    for part in text.split("&"):
        key, _, value = part.partition("=")
        key = unquote_plus(key)
        if key and key in pairs:
            problems.say(f'"{echo(key)}" stands twice in the link; the first is used.')
        elif key:
            pairs[key] = unquote_plus(value)
    return pairs


def _taken(pairs: dict[str, str], start: str) -> dict[str, str]:
    """The pairs whose key starts so, taken out, without that start."""
    return {key.removeprefix(start): pairs.pop(key) for key in list(pairs) if key.startswith(start)}


def _name(text: str, problems: Problems) -> str:
    try:
        return NAME.read(text)
    except InputError as error:
        problems.say(f"The name of {problems.whose}: {error.faults[0].got}.")
        return ""


def _lacking(key: str, without: Sequence[str]) -> bool:
    return any(key == entry or (entry.endswith(".") and key.startswith(entry)) for entry in without if entry)


def _values(pairs: Mapping[str, str], problems: Problems) -> dict[str, Any]:
    """Values by path; what can't be read goes to the problems."""
    values: dict[str, Any] = {}
    for key, text in pairs.items():
        path = path_of(key)
        if path is None:
            hint = "" if problems.many else _near(key)
            problems.say(f'"{echo(key)}" in {problems.whose} is the name of nothing here{hint or "."}')
            continue
        try:
            values[path] = value_of(path, text)
        except InputError as error:
            for fault in error.faults:
                problems.wrong(path, fault)
    return values


def _near(key: str) -> str:
    close = near(key, [field.key.replace("*", "0") for field in FIELDS])
    return f'; did you mean "{close}"?' if close else ""
