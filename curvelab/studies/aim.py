"""How much hose for this flow? The first discharge hose in many lengths at once, and the one that comes nearest."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from curvelab.hydraulics import kernel
from curvelab.model.catalogue import Catalogue
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup
from curvelab.studies.longer import laid

Floats = NDArray[np.float64]


@dataclass(frozen=True, slots=True, eq=False)
class Aim:
    """Lengths of hose that give water, rising, and the flow of each. Shape (lengths,), SI."""

    length_m: Floats
    flow_m3_s: Floats

    def nearest(self, flow_m3_s: float) -> float | None:
        """The length whose flow comes nearest; the longest of several. ``None`` where none gives water."""
        if self.length_m.size == 0:
            return None
        away = np.abs(self.flow_m3_s - flow_m3_s)
        return float(self.length_m[np.flatnonzero(away <= away.min() * (1.0 + 1e-9) + 1e-12)[-1]])


def aim(setup: Setup, catalogue: Catalogue, lengths_m: Sequence[float]) -> Aim:
    """Flow at each of the lengths, rising, in one call of the kernel; those left out with which the hose can't lie.

    Points of the route move along with a shorter hose, as they do with the page's own control.

    Raises
    ------
    InputError
        As ``solve``.
    """
    rows, length = laid(plan_of([setup], catalogue), np.unique(np.asarray(lengths_m, dtype=np.float64)))
    if not rows.rows:
        return Aim(np.empty(0), np.empty(0))
    flow = kernel.solve(rows).flow_m3_s
    runs = np.nan_to_num(flow) > 0.0
    return Aim(length[runs], flow[runs])
