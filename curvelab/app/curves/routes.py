"""What the Curves page answers to: its own address and the questions that it asks."""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

from curvelab.app.curves.page import CurvesPage
from curvelab.model.catalogue import Catalogue


def routes(catalogue: Callable[[], Catalogue]) -> list[tuple[Any, ...]]:
    """Tornado's patterns with their handlers; ``catalogue`` gives what the yard has now."""
    return [("/curves", CurvesPage, {"catalogue": catalogue})]
