"""Setups that a person could stand before: a demo's, its site, heights, hose, pump and outlet drawn anew."""

from __future__ import annotations

from hypothesis import assume
from hypothesis import strategies as st

from curvelab.errors import InputError
from curvelab.hydraulics.rules import refusals
from curvelab.model.catalogue import default_catalogue
from curvelab.model.planning import faults_of_setup, plan_of
from curvelab.model.setup import Setup
from tests.unit.study_cases import NAMES, demo

CATALOGUE = default_catalogue()
PUMPS = sorted(CATALOGUE.pumps)
SUCTION, DISCHARGE = ("suction-smooth", "suction-corrugated"), ("lay-flat-light", "lay-flat-medium", "pipe-aluminium")
SIZES = ("2 in", "3 in", "4 in")


def metres(low: float, high: float) -> st.SearchStrategy[str]:
    return st.integers(int(low * 10), int(high * 10)).map(lambda tenths: f"{tenths / 10:g} m")


def whole(low: int, high: int, unit: str) -> st.SearchStrategy[str]:
    return st.integers(low, high).map(lambda number: f"{number} {unit}")


CHANGES: dict[str, st.SearchStrategy[object]] = {
    "units": st.sampled_from(["us", "metric", "imperial"]),
    "site.altitude": whole(0, 3000, "m"),
    "site.temperature": whole(2, 60, "degC"),
    "pump.id": st.sampled_from(PUMPS),
    "pump.throttle": st.integers(45, 105).map(lambda percent: f"{percent} %"),
    "pump.wear": st.integers(70, 100).map(lambda percent: f"{percent} %"),
    "suction.lift": metres(-3, 7),
    "suction.margin": metres(0, 1.5),
    "suction.leg.0.size": st.sampled_from(SIZES),
    "suction.leg.0.length": metres(3, 15),
    "suction.leg.0.k": st.integers(0, 30).map(lambda tenths: f"{tenths / 10:g}"),
    "suction.leg.0.abreast": st.sampled_from(["1", "2"]),
    "discharge.rise": metres(-15, 30),
    "discharge.leg.0.hose": st.sampled_from(DISCHARGE),
    "discharge.leg.0.size": st.sampled_from(SIZES),
    "discharge.leg.0.length": metres(10, 400),
    "discharge.leg.0.abreast": st.sampled_from(["1", "2"]),
    "discharge.valve_k": st.sampled_from(["0", "3"]),
    "outlet": st.sampled_from(
        [
            {"kind": "open"},
            {"kind": "submerged", "depth": "1 m"},
            {"kind": "nozzle", "bore": "20 mm"},
            {"kind": "pressure", "pressure": "0.8 bar"},
            {"kind": "sprinklers", "count": 8, "flow": "20 L/min", "pressure": "2.5 bar"},
        ]
    ),
    "goal": st.sampled_from([{}, {"flow": "300 L/min"}, {"volume": "10 m3", "time": "1 h"}]),
}


@st.composite
def setups(draw: st.DrawFn, *, fixed: tuple[str, ...] = ()) -> Setup:
    """A demo's setup with up to eight fields drawn anew; ``fixed`` fields are left as they are."""
    setup = demo(draw(st.sampled_from(NAMES)))
    names = [name for name in CHANGES if name not in fixed]
    for name in draw(st.lists(st.sampled_from(names), max_size=8, unique=True)):
        try:
            setup = setup.with_(name, draw(CHANGES[name]))
        except InputError:
            assume(False)  # noqa: FBT003 - hypothesis takes it so
    assume(lies(setup))
    return setup


def lies(setup: Setup) -> bool:
    """Whether a file would be allowed to describe it."""
    if next(faults_of_setup(setup, CATALOGUE), None) is not None:
        return False
    return not refusals(plan_of([setup], CATALOGUE, checked=False)).refused[0]
