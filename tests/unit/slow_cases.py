"""Setups for the slow studies: those of the demo, and the mill pond grown deep."""

from functools import cache
from pathlib import Path

import curvelab

SETUPS = Path(__file__).parents[2] / "data" / "setups"
GAL = 3.785411784e-3
GPM = GAL / 60.0


@cache
def demo(name: str) -> curvelab.Setup:
    """A setup of the demo."""
    return curvelab.load_setup(SETUPS / f"{name}.toml")


def deep(name: str = "mill-pond") -> curvelab.Setup:
    """Forty feet of water with upright walls, and suction hose that reaches the bottom: the suction gives out."""
    source = {"shape": "box", "length": "60 ft", "width": "60 ft", "depth": "40 ft"}
    return demo(name).with_("receiver", None).with_("suction.leg.0.length", "60 ft").with_("source", source)
