"""What must hold of clock, doubts, siphon and power whatever the numbers."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

import curvelab
from curvelab.hydraulics import tank
from curvelab.hydraulics.drain import End, drain
from curvelab.studies.clock import Clock, clock
from curvelab.studies.clock_site import NONE_SHARE
from curvelab.studies.doubt import doubt
from curvelab.studies.feeds import feeds
from curvelab.studies.power import held_speed
from curvelab.studies.siphon import siphon
from tests.unit.slow_cases import demo

SLACK = 1e-6
sources = st.one_of(
    st.builds(
        lambda a, b: {"shape": "box", "length": f"{a} m", "width": f"{b} m"}, st.floats(3.0, 60.0), st.floats(3.0, 60.0)
    ),
    st.builds(lambda d: {"shape": "cylinder", "diameter": f"{d} m"}, st.floats(3.0, 60.0)),
    st.builds(
        lambda top, share: {
            "shape": "frustum",
            "top_length": f"{top} m",
            "top_width": f"{top / 2} m",
            "bottom_length": f"{top * share} m",
            "bottom_width": f"{top * share / 3} m",
            "full_depth": "6 m",
        },
        st.floats(4.0, 60.0),
        st.floats(0.0, 1.0),
    ),
    st.builds(
        lambda a, p: {"shape": "pond", "area": f"{a} m2", "full_depth": "6 m", "power": p},
        st.floats(10.0, 4000.0),
        st.floats(0.0, 3.0),
    ),
    st.builds(
        lambda a: {"shape": "table", "level": ["0 m", "2 m", "6 m"], "area": [f"{v} m2" for v in a]},
        st.lists(st.floats(5.0, 2000.0), min_size=3, max_size=3),
    ),
)


@st.composite
def drains(draw: st.DrawFn) -> curvelab.Setup:
    """The mill pond with any body of water, any inflow and any hose."""
    depth = draw(st.floats(0.3, 6.0))
    stop = draw(st.floats(0.0, 0.9)) * depth
    section = {**draw(sources), "depth": f"{depth} m", "stop": f"{stop} m"}
    if draw(st.booleans()):
        section["fastest"] = f"{draw(st.floats(0.05, 20.0))} m/day"
    setup = demo(draw(st.sampled_from(["mill-pond", "cellar", "campground-tank"])))
    setup = setup.with_("receiver", None).with_("doubt", None).with_("suction.leg.0.length", "60 ft")
    return setup.with_("source", section)


def seconds(found: Clock) -> float:
    return math.inf if found.duration_s is None else found.duration_s


@given(setup=drains(), inflow=st.lists(st.floats(0.0, 900.0), min_size=2, max_size=2).map(sorted))
@settings(max_examples=25)
def test_more_inflow_never_empties_sooner(setup: curvelab.Setup, inflow: list[float]):
    less, more = (clock(setup.with_("source.inflow", f"{flow} L/min")) for flow in inflow)
    if {less.ends, more.ends} & {"suction", "no-lift"}:
        return  # gives out where it would settle with an inflow
    assert seconds(more) >= seconds(less) * (1 - SLACK)
    assert more.ends != "never" or less.ends in {"never", "balanced", "target", "strainer"}


@given(setup=drains(), lengths=st.lists(st.floats(95.0, 600.0), min_size=2, max_size=2).map(sorted))
@settings(max_examples=25)
def test_longer_hose_never_empties_sooner(setup: curvelab.Setup, lengths: list[float]):
    short, long = (clock(setup.with_("discharge.leg.0.length", f"{length} m")) for length in lengths)
    if short.ends == long.ends:
        assert seconds(long) >= seconds(short) * (1 - SLACK)
        assert (long.volume_m3 or 0.0) == pytest.approx(short.volume_m3 or 0.0, rel=1e-3, abs=1e-6)


@given(setup=drains(), inflow=st.floats(0.0, 600.0))
@settings(max_examples=25)
def test_the_clock_keeps_its_books(setup: curvelab.Setup, inflow: float):
    found = clock(setup.with_("source.inflow", f"{inflow} L/min"))
    assert (np.diff(found.time_s) >= 0.0).all()
    assert (np.diff(found.level_m) <= SLACK).all()
    if setup.source is not None and setup.source.fastest is None:
        assert (np.diff(found.flow_m3_s) <= SLACK * found.flow_m3_s[0]).all()
    if found.duration_s is None or found.volume_m3 is None or found.running_s is None:
        assert found.ends in {"balanced", "never"}
        return
    assert found.running_s <= found.duration_s * (1 + SLACK)
    mean = 0.5 * (found.flow_m3_s[1:] + found.flow_m3_s[:-1]) * np.diff(found.time_s)
    assert float(mean.sum()) == pytest.approx(found.volume_m3, rel=0.02, abs=1e-6)
    assert all(0.0 < stop < found.duration_s * (1 + SLACK) for stop in found.fuel_stops_s)
    assert found.duty_share is None or 0.0 <= found.duty_share <= 1.0
    most = found.greatest_inflow_m3_s
    assert most is not None
    held = max(most, NONE_SHARE * (curvelab.solve(setup).flow_m3_s or 0.0))  # less than that counts as nothing
    assert held >= inflow / 6e4 * (1 - 1e-3)


@given(power=st.floats(0.0, 3.0), exponent=st.floats(0.0, 0.75), last=st.floats(0.0, 0.95), scale=st.floats(1e-3, 1.0))
def test_any_hollow_and_any_power_of_the_level_by_its_closed_form(
    power: float, exponent: float, last: float, scale: float
):
    body = tank.pond(area_m2=50.0, full_depth_m=2.0, power=power)
    fall = drain(lambda h: scale * h**exponent, area=body.area, level_from_m=2.0, level_to_m=2.0 * last)
    n = power + 1.0 - exponent
    exact = 50.0 / 2.0**power / scale / n * (2.0**n - (2.0 * last) ** n)
    assert fall.end is End.TARGET
    assert fall.time_s[-1] == pytest.approx(exact, rel=1e-4)


DOUBTS = ("lift", "rise", "length", "bore", "roughness", "k", "head", "npshr")


@given(
    name=st.sampled_from(["mill-pond", "mill-pond-august", "campground-tank", "cellar", "ridge-tank", "siphon"]),
    widths=st.dictionaries(st.sampled_from(DOUBTS), st.floats(0.0, 0.6), max_size=4),
    seed=st.integers(0, 2**31),
)
@settings(max_examples=25)
def test_doubts_of_any_width_have_a_spread_shares_and_a_seed(name: str, widths: dict[str, float], seed: int):
    section = {key: f"{w} m" if key in {"lift", "rise"} else f"{100 * w} %" for key, w in widths.items()}
    setup = demo(name).with_("doubt", section)
    found = doubt(setup, samples=400, seed=seed)
    assert found == doubt(setup, samples=400, seed=seed)
    band = found.flow_m3_s
    assert 0.0 <= band.low <= band.middle <= band.high
    assert sum(found.state_share.values()) == pytest.approx(1.0)
    if found.blame is None:
        assert band.low == band.high
        return
    assert sum(part.share for part in found.blame) == pytest.approx(1.0)
    assert {part.doubt for part in found.blame} <= {part.doubt for part in found.taken}
    assert not {part.doubt for part in found.taken} & {key for key, width in widths.items() if width == 0.0}


@given(rise=st.floats(-20.0, -2.5), crest=st.floats(0.0, 9.0))
@settings(max_examples=25)
def test_a_siphon_never_runs_over_a_crest_that_the_air_cannot_hold(rise: float, crest: float):
    bore = {"bore": "3 in", "roughness": "0.05 mm", "rigid": True}
    setup = (
        demo("siphon")
        .with_("suction.leg.0", {**bore, "length": "20 ft"})
        .with_("discharge.leg.0", {**bore, "length": "100 m"})
        .with_("discharge.waypoint", [{"distance": "40 m", "height": f"{crest} m"}])
        .with_("discharge.rise", f"{rise} m")
    )
    found = siphon(setup)
    assert found.runs == (found.because is None) == (found.flow_m3_s is not None)
    if found.runs:
        assert found.crest_m <= found.greatest_crest_m
        assert found.crest_gauge_pa is not None
        least = -(found.greatest_crest_m * 999.4 * 9.80665)
        assert found.crest_gauge_pa >= least * (1 + 1e-3)
    else:
        assert found.because == "crest"


@given(altitude=st.floats(0.0, 3000.0), throttle=st.floats(0.6, 1.05))
@settings(max_examples=25)
def test_the_speed_held_is_never_more_than_asked_and_the_engine_never_short_at_it(altitude: float, throttle: float):
    setup = demo("high-camp").with_("site.altitude", f"{altitude} m").with_("pump.throttle", f"{throttle}")
    held = held_speed(setup)
    assert held.throttle <= throttle * (1 + 1e-12)
    assert held.full == math.isclose(held.throttle, throttle)
    assert (held.shaft_power_w or 0.0) <= held.engine_available_w * (1 + 1e-6)


@given(pressure=st.floats(5.0, 45.0))
@settings(max_examples=20)
def test_the_more_pressure_sprinklers_ask_the_fewer_are_fed(pressure: float):
    def most(psi: float) -> int:
        outlet = {"kind": "sprinklers", "count": 12, "flow": "5 gpm", "pressure": f"{psi} psi"}
        return feeds(demo("young-trees").with_("outlet", outlet)).most

    assert most(pressure) >= most(pressure + 3.0)
