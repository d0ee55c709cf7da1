"""What the Curves page answers to: its own address and the questions that it asks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any, Final

from curvelab.app.curves.asking import Asked, Shown
from curvelab.app.curves.forms import DraftAsked, EditAsked, UnitsAsked
from curvelab.app.curves.page import CurvesPage, FleetAsked, PumpAsked
from curvelab.app.curves.saving import (
    PutBackAsked,
    RestoreAsked,
    SaveAsked,
    SheetAsked,
    SheetPage,
    StateAsked,
    TextAsked,
    VersionAsked,
    WithdrawAsked,
    WriteAsked,
    YardAsked,
)
from curvelab.app.curves.testing import KeepAsked, ReadingsAsked, ReadingUnitsAsked
from curvelab.app.curves.tracing import AxesAsked, HandAsked, PictureAsked, PictureShown, TraceAsked
from curvelab.model.catalogue import Catalogue

HANDLERS: Final[dict[str, type[Shown]]] = {
    "/curves": CurvesPage,
    "/curves/fleet": FleetAsked,
    "/curves/pump": PumpAsked,
    "/curves/draft": DraftAsked,
    "/curves/units": UnitsAsked,
    "/curves/edit": EditAsked,
    "/curves/picture": PictureAsked,
    "/curves/shown": PictureShown,
    "/curves/axes": AxesAsked,
    "/curves/trace": TraceAsked,
    "/curves/traced": HandAsked,
    "/curves/test": ReadingsAsked,
    "/curves/test-units": ReadingUnitsAsked,
    "/curves/keep": KeepAsked,
    "/curves/save": SaveAsked,
    "/curves/yard": YardAsked,
    "/curves/state": StateAsked,
    "/curves/version": VersionAsked,
    "/curves/restore": RestoreAsked,
    "/curves/withdraw": WithdrawAsked,
    "/curves/put-back": PutBackAsked,
    "/curves/text": TextAsked,
    "/curves/write": WriteAsked,
    "/curves/list": SheetPage,
    "/curves/sheet": SheetAsked,
}
"""Every address of the page with what answers there."""
MOST_BODY_BYTES: Final = {at: kind.MOST_BYTES for at, kind in HANDLERS.items() if issubclass(kind, Asked)}
"""Addresses that take a body, and its longest. [B]"""


def routes(catalogue: Callable[[], Catalogue]) -> list[tuple[Any, ...]]:
    """Tornado's patterns with their handlers; ``catalogue`` gives what the yard has now."""
    given = {"catalogue": catalogue}
    return [(address, handler, given) for address, handler in HANDLERS.items()]
