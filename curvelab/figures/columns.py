"""To the browser, no more than what changed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import Any

import numpy as np
from bokeh.model import Model
from bokeh.models import ColumnDataSource
from numpy.typing import NDArray

Column = Sequence[Any] | NDArray[Any]


def short(values: NDArray[np.float64]) -> Column:
    """Five digits of the largest: more than a pixel can show.

    They are written out in the message itself. An array is a part of its own with a head of its own, and a message in
    twenty parts is read later than one in three; only a column with gaps, long when written out, stays one.
    """
    if not np.isfinite(values).all():
        return values.astype(np.float32)
    most = float(np.max(np.abs(values), initial=0.0))
    return np.round(values, 4 - math.floor(math.log10(most)) if most > 0.0 else 0).tolist()


def send(source: ColumnDataSource, **columns: Column) -> None:
    """Assign the columns that changed, as one event; all of them when the number of rows did. Every column is given."""
    old = source.data
    if any(len(old[name]) != len(value) for name, value in columns.items()):
        source.data = columns
        return
    changed = {name: value for name, value in columns.items() if not _equal(old[name], value)}
    if changed:
        source.data.update(changed)


def put(model: Model, **properties: Any) -> None:
    """Set the properties that changed."""
    changed = {name: value for name, value in properties.items() if getattr(model, name) != value}
    if changed:
        model.update(**changed)


def _equal(old: Column, new: Column) -> bool:
    if isinstance(old, np.ndarray) and isinstance(new, np.ndarray):
        return bool(np.array_equal(old, new, equal_nan=old.dtype.kind == "f"))
    return old == new if isinstance(old, list) and isinstance(new, list) else list(old) == list(new)
