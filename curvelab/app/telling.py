"""What an answer tells: only what differs from what the browser has."""

from __future__ import annotations

import re
from dataclasses import dataclass, field
from difflib import SequenceMatcher
from typing import Any, Final

_TAG: Final = re.compile(r"(<[^>]*>)")
Change = list[int | str]
"""Of a text in pieces: where, how many of them, and what stands there instead; and so on."""


@dataclass(frozen=True, slots=True)
class Told:
    """What the browser was told: rows' values by path, the groups' costs, words by place as HTML, the link's query."""

    values: dict[str, Any] = field(default_factory=dict[str, Any])
    costs: dict[str, Any] = field(default_factory=dict[str, Any])
    words: dict[str, str] = field(default_factory=dict[str, str])
    query: str | None = None
    stations: list[dict[str, Any]] = field(default_factory=list[dict[str, Any]])
    """Structure of the setup column."""
    ghosts: dict[str, Any] = field(default_factory=dict[str, Any])
    """What the chalked setups have in its rows, by path."""
    chalks: list[list[str]] = field(default_factory=list[list[str]])
    """The list of what is chalked."""
    offers: dict[str, Any] = field(default_factory=dict[str, Any])
    """Its buttons."""


def telling(known: Told, now: Told) -> dict[str, Any]:
    """What makes of what is known what is now; ``whole`` where nothing was known."""
    return {
        "values": _differing(known.values, now.values),
        "costs": _differing(known.costs, now.costs),
        "words": {
            place: patch(known.words[place], html) if place in known.words else html
            for place, html in _differing(known.words, now.words).items()
        },
        "query": spliced(known.query, now.query),
        "stations": _stations(known.stations, now.stations),
        "ghosts": _differing(known.ghosts, now.ghosts) | {path: [] for path in known.ghosts if path not in now.ghosts},
        "chalks": None if known.chalks == now.chalks else now.chalks,
        "offers": _differing(known.offers, now.offers),
        "whole": known == Told(),
    }


def spliced(before: str | None, after: str | None) -> Change | str | None:
    """What makes one query of another: how much of its start and of its end stays, and what stands between.

    The other as it is where there was none, or is none now.
    """
    if before is None or after is None:
        return after
    start = _alike(before, after)
    end = _alike(before[start:][::-1], after[start:][::-1])
    return [start, end, after[start : len(after) - end]]


def patch(before: str, after: str) -> Change | str:
    """What makes one HTML of another, tag by tag and text by text; the other itself where that is shorter."""
    old, new = _TAG.split(before), _TAG.split(after)
    changes: Change = []
    if len(old) == len(new):
        for at, (one, other) in enumerate(zip(old, new, strict=True)):
            if one != other:
                changes += [at, 1, other]
    else:
        for what, start, end, first, last in SequenceMatcher(None, old, new, autojunk=False).get_opcodes():
            if what != "equal":
                changes += [start, end - start, "".join(new[first:last])]
    length = sum(len(str(change)) + 1 for change in changes)
    return changes if length < len(after) else after


def _stations(known: list[dict[str, Any]], now: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """Stations with another row than before: how many rows, and by their places those that are others."""
    had = {station["key"]: station for station in known}
    return [
        {
            "key": station["key"],
            "name": station["name"],
            "count": len(station["rows"]),
            "rows": _differing(_places(had.get(station["key"], {"rows": []})), _places(station)),
        }
        for station in now
        if had.get(station["key"]) != station
    ]


def _places(station: dict[str, Any]) -> dict[str, Any]:
    return {str(place): row for place, row in enumerate(station["rows"])}


def _differing(known: dict[str, Any], now: dict[str, Any]) -> dict[str, Any]:
    return {key: one for key, one in now.items() if key not in known or known[key] != one}


def _alike(one: str, other: str) -> int:
    """How many letters both begin with."""
    shorter = min(len(one), len(other))
    return next((at for at in range(shorter) if one[at] != other[at]), shorter)
