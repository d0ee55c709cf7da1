"""A setup kept beside the present one, to compare with."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curvelab.model.amount import Text
from curvelab.model.setup import Setup

LETTERS: Final = "ABC"
"""A letter each, and so the most that are kept."""
NAME: Final = Text(longest=40)
"""A name that somebody gave."""


@dataclass(frozen=True, slots=True)
class Chalk:
    """A chalked setup: its letter stays with it, ``name`` is empty until somebody gives it one."""

    letter: str
    setup: Setup
    name: str = ""
