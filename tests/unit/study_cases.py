"""What the tests of the studies share: the demo's setups in every system of units, and what a sentence must keep."""

from __future__ import annotations

import re
from functools import cache
from pathlib import Path
from typing import Any

import curvelab
from curvelab.errors import InputError
from curvelab.model.setup import Setup
from curvelab.studies.result import Result
from curvelab.studies.solve import solve
from curvelab.units import Quantity, System, from_unit

DATA = Path(__file__).parents[2] / "data"
NAMES = sorted(path.stem for path in (DATA / "setups").glob("*.toml"))
SYSTEMS = tuple(System)
GPM = float(from_unit(1.0, "gpm", Quantity.FLOW))
FOOT = 0.3048
PSI = float(from_unit(1.0, "psi", Quantity.PRESSURE))

LONGEST = 200


@cache
def demo(name: str, units: str = "") -> Setup:
    """A setup of the demo, its answers shown in these units."""
    setup = curvelab.load_setup(DATA / "setups" / f"{name}.toml")
    return setup.with_("units", units) if units else setup


def changed(setup: Setup, fields: dict[str, Any]) -> Setup:
    """The setup with every field set, one after another, as a person would."""
    for path, value in fields.items():
        setup = setup.with_(path, value)
    return setup


def try_solve(setup: Setup) -> Result | None:
    """The answer; ``None`` where a file would be refused."""
    try:
        return solve(setup)
    except InputError:
        return None


def assert_sentence(text: str) -> None:
    """A sentence that a person at the counter can read out."""
    assert 10 <= len(text) <= LONGEST, text
    assert text.endswith("."), text
    assert text[0] == text[0].upper(), text
    words = re.findall(r"[A-Za-z]+", text)
    assert not {"nan", "None", "inf", "NaN", "null"} & set(words), text
    assert not re.search(r"(?<![\w−-])-\d", text), f"a hyphen stands for a minus: {text}"
    assert not re.search(r"[1-9]\d*\.\d{3}|0\.0*[1-9]\d{3}|\d{4,}", text), f"too many figures: {text}"
    assert "  " not in text, text
    assert ".." not in text, text
