"""What a tab of the studies is: asked on any thread, told in places, drawn by a picture of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Any, Final, Protocol

from jinja2 import Environment, PackageLoader, StrictUndefined
from markupsafe import escape

from curvelab.app.state import Shown
from curvelab.figures.band import Band
from curvelab.layout.sizes import Width
from curvelab.model.catalogue import Catalogue
from curvelab.model.setup import Setup
from curvelab.report.against import Seen
from curvelab.studies.change import Value

PLACES: Final = ("brief", "finding", "title", "table", "more")
"""Places that every tab has: under its name, its sentence, over its picture, beside the picture, below it."""
_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)


class Picture(Protocol):
    """A picture made once for a layout of the page and changed in place."""

    root: Any

    def update(self, *drawn: Any) -> None:
        """Show another answer; belongs inside one ``hold``."""

    def keep(self, kept: Any) -> None:
        """Show other setups that are kept to compare; only the pictures of tabs that say what of them."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Told:
    """What a tab says of one setup."""

    words: Mapping[str, str]
    """HTML by place, escaped where it was made: those of ``PLACES``, and any other that the page's template names."""
    titles: tuple[str, str] = ("", "")
    """Over the picture: in full, and for a phone."""
    band: Band | None = None
    """How sure the operating point is, for the bench; only the doubts know."""
    drawn: tuple[Any, ...] | None = None
    """What the picture is updated with; ``None`` where there is nothing to draw."""
    buttons: Mapping[str, Mapping[str, Value]] = field(default_factory=dict[str, Mapping[str, Value]])
    """Fields that each of its buttons sets, by the key in its ``data-cure``; a key begins with that of the tab."""


@dataclass(frozen=True, slots=True, kw_only=True)
class Tab:
    """A study on the page."""

    key: str
    title: str
    ask: Callable[[Shown, Catalogue], Told]
    """Pure, so that any thread may do it."""
    slow: bool = False
    """Asked only when the quick ones have been shown."""
    once_opened: bool = False
    """Asked only since the visitor has opened it: for a tab that says much and whose brief needs no asking."""
    brief: str = "…"
    """Under its name until it has been asked."""
    picture: Callable[[Width], Picture] | None = None
    kept: Callable[[Seen, Sequence[tuple[str, Seen]]], tuple[Any, ...]] | None = None
    """Of the present setup and those kept to compare, by letter, what the picture's ``keep`` shows of these."""
    rows: Callable[[Setup, Catalogue], list[dict[str, Any]]] | None = field(default=None)
    """Its own controls as groups of rows, {``name``, ``rows``}, each row as the setup column has them."""


def words(template: str) -> Any:
    """The macros of one of the page's templates; what they are given is escaped there."""
    return _environment.get_template(template).module


def placed(**html: Any) -> dict[str, str]:
    """Text or HTML by place, with text escaped."""
    return {name: str(escape(text)).strip() for name, text in html.items()}
