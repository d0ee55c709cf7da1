"""What is said of a yard's folder: what can't be read in it, what is new in its lists."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace
from pathlib import Path
from typing import Final

from curvelab.errors import Fault
from curvelab.model.catalogue import Catalogue

STALE: Final = "Something in the yard’s folder can’t be read; its lists are as they were before."


def unread(faults: Iterable[Fault], folder: Path | None) -> list[str]:
    """What can't be read, a line each, the places as they lie in the folder."""
    return [replace(fault, where=fault.where.removeprefix(f"{folder}/")).line() for fault in faults]


def news(before: Catalogue, after: Catalogue) -> str:
    """What differs between two states of the yard's lists, in a sentence or two; empty where nothing does."""
    if before.records == after.records:
        return ""
    added = [pump.label for key, pump in after.pumps.items() if key not in before.pumps]
    added += [setup.title or key for key, setup in after.setups.items() if key not in before.setups]
    changed = [pump.label for key, pump in after.pumps.items() if before.pumps.get(key, pump) != pump]
    gone = [pump.label for key, pump in before.pumps.items() if key not in after.pumps]
    told = [(words, names) for words, names in (("New", added), ("Changed", changed), ("Gone", gone)) if names]
    parts = [f"{words}: {', '.join(names[:3])}." for words, names in told]
    return " ".join(["The yard’s lists have changed.", *parts])
