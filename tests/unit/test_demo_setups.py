"""The demo's setups: each gives the state that its comment promises, and shows the lesson it is there for."""

import re
from functools import cache
from pathlib import Path

import pytest

import curvelab
from curvelab.model.catalogue import default_catalogue
from curvelab.model.setup import Setup
from curvelab.studies.result import Result, State
from curvelab.units import Quantity, from_unit

DATA = Path(__file__).parents[2] / "data"
GPM = from_unit(1.0, "gpm", Quantity.FLOW)
FOOT = from_unit(1.0, "ft", Quantity.LENGTH)
PSI = from_unit(1.0, "psi", Quantity.PRESSURE)

PROMISES = {
    "box-figure": (State.SOUND, "nobody gets the number on the box, and nothing is wrong"),
    "campground-tank": (State.THIN, "13 ft of lift at 2600 ft leaves less than the 2 ft asked"),
    "cellar": (State.SOUND, "no suction figures on the sheet: never thin nor cavitating, a warning instead"),
    "drip-block": (State.SOUND, "1 bar is a head of 10 m, well under what the pump gives"),
    "fertiliser": (State.SOUND, "the tank stands above the pump"),
    "high-camp": (State.CAVITATING, "about 8 ft less air than at sea level"),
    "hill-pond": (State.SOUND, "short lift; the danger is the pressure at the bottom, not the suction"),
    "lower-pond": (State.SOUND, "5 ft of lift now; the clock says how that changes"),
    "long-ditch-small-hose": (State.SOUND, "the hose holds the flow down"),
    "long-ditch-small-pump": (State.SOUND, "the pump's own suction still copes"),
    "mill-pond": (State.SOUND, "spring level, 3 in all the way"),
    "mill-pond-2in": (State.SOUND, "the hose holds the flow down"),
    "mill-pond-august": (
        State.CAVITATING,
        "21 ft of lift leaves the pump what it needs at about 117 gal/min, short of the crossing",
    ),
    "mill-pond-foot-valve": (State.SOUND, "the filled hose needs no priming"),
    "mill-pond-long-way": (State.SOUND, "twice the hose, a smaller flow"),
    "mill-pond-september": (State.NO_PRIME, "draws 14.9 ft dry, the water lies 17 ft down"),
    "over-the-levee": (State.SOUND, "the levee governs, and 4 in suction feeds it"),
    "overflowing-pond": (State.OFF_CURVE, "flooded, downhill, 25 ft of hose"),
    "ridge-tank": (State.NO_LIFT, "98 ft at shut-off against 124 ft"),
    "ridge-tank-high-head": (State.SOUND, "195 ft at shut-off against 124 ft"),
    "seepage-pit": (State.SOUND, "a diaphragm pump inside its tested range, without suction figures"),
    "siphon": (State.SOUND, "rigid pipe: the far leg draws"),
    "swimming-pool": (State.SOUND, "idling behind a valve"),
    "two-hoses": (State.SOUND, "less flow than one 3 in"),
    "wash-down": (State.SOUND, "a small flow at a high pressure"),
    "young-trees": (State.SOUND, "a small flow at a middling pressure"),
}
"""What each setup gives, and why it should."""


@cache
def solved(name: str) -> Result:
    return curvelab.solve(setup(name))


@cache
def setup(name: str) -> Setup:
    return curvelab.load_setup(DATA / "setups" / f"{name}.toml")


def gpm(result: Result) -> float:
    assert result.flow_m3_s is not None
    return result.flow_m3_s / GPM


# --- what each promises ----------------------------------------------------------------------------------------------


def comment(path: Path) -> str:
    """The comment that a file opens with, as one line."""
    lines = path.read_text(encoding="utf-8").splitlines()
    return " ".join(
        line[1:].strip() for line in lines[: next(i for i, text in enumerate(lines) if not text.startswith("#"))]
    )


def test_every_setup_has_a_promise_and_every_state_a_setup() -> None:
    assert {p.stem for p in (DATA / "setups").glob("*.toml")} == set(PROMISES)
    assert {state for state, _ in PROMISES.values()} == set(State)
    assert set(default_catalogue().setups) == set(PROMISES)


@pytest.mark.parametrize("name", PROMISES)
def test_setup_gives_what_it_promises(name: str) -> None:
    state, why = PROMISES[name]
    assert solved(name).state is state, why


@pytest.mark.parametrize("name", PROMISES)
def test_comment_says_invented(name: str) -> None:
    assert "invented for demonstration" in comment(DATA / "setups" / f"{name}.toml")


@pytest.mark.parametrize("name", PROMISES)
def test_comment_names_the_state_and_no_other(name: str) -> None:
    words = set(re.findall(r"[a-z]+(?:-[a-z]+)*", comment(DATA / "setups" / f"{name}.toml")))
    assert {s for s in State if str(s) in words} == {PROMISES[name][0]}


# --- figures of the first drawings, computed then by another program ---------------------------------------------


@pytest.mark.parametrize(("name", "flow_gpm", "head_ft"), [("mill-pond", 186.0, 82.6), ("mill-pond-2in", 81.0, 95.2)])
def test_mill_pond_is_as_drawn(name: str, flow_gpm: float, head_ft: float) -> None:
    result = solved(name)
    assert gpm(result) == pytest.approx(flow_gpm, abs=1.0)
    assert result.head_m is not None
    assert result.head_m / FOOT == pytest.approx(head_ft, abs=0.3)


def test_starved_mill_pond_is_as_drawn() -> None:
    result = solved("mill-pond-august")
    assert gpm(result) == pytest.approx(117.0, abs=1.5)
    assert result.crossing_flow_m3_s is not None
    assert result.crossing_flow_m3_s / GPM == pytest.approx(165.0, abs=2.5)


def test_dry_september_is_as_drawn() -> None:
    result = solved("mill-pond-september")
    assert result.priming_lift_m is not None
    assert result.priming_lift_m / FOOT == pytest.approx(14.9, abs=0.1)
    assert result.crossing_flow_m3_s is not None
    assert result.crossing_flow_m3_s / GPM == pytest.approx(184.0, abs=1.5)


def test_ridge_is_as_drawn() -> None:
    result = solved("ridge-tank")
    assert result.static_head_m / FOOT == pytest.approx(124.0)
    assert result.shutoff_head_m is not None
    assert result.shutoff_head_m / FOOT == pytest.approx(98.0)
    assert result.governing_point.kind == "waypoint"
    assert gpm(solved("ridge-tank-high-head")) == pytest.approx(96.0, abs=2.0)


def test_light_hose_in_the_dip_could_see_too_much() -> None:
    over = solved("mill-pond").over_rated
    assert sum(o.to_m - o.from_m for o in over) / FOOT == pytest.approx(64.0, abs=1.5)
    assert max(o.pressure_pa for o in over) / PSI == pytest.approx(53.0, abs=0.5)


# --- the lessons -----------------------------------------------------------------------------------------------------


def test_lesson_small_pump_with_big_hose_wins() -> None:
    assert gpm(solved("long-ditch-small-pump")) > 1.8 * gpm(solved("long-ditch-small-hose"))


def test_lesson_box_figure_is_not_delivered() -> None:
    result = solved("box-figure")
    assert gpm(result) < 0.75 * result.end_flow_m3_s / GPM


def test_lesson_ten_to_one_holds_at_one_flow() -> None:
    """300 ft more hose would be 30 ft more lift: at this flow in 3 in it costs far less."""
    near, far = solved("mill-pond"), solved("mill-pond-long-way")
    assert near.head_m is not None
    assert far.head_m is not None
    assert 0.7 < gpm(far) / gpm(near) < 0.85
    hose = {part.item: part.head_m for part in far.ledger}["discharge"]
    assert hose / FOOT < 45.0


def test_lesson_thin_air_starves_what_runs_at_home() -> None:
    home = curvelab.solve(setup("high-camp").with_("site.altitude", "1900 ft"))
    assert home.state is State.SOUND
    assert gpm(solved("high-camp")) < 0.8 * gpm(home)


def test_lesson_sprinklers_get_less_than_their_table_asks() -> None:
    trees = setup("young-trees")
    assert trees.outlet.count is not None
    assert trees.outlet.flow is not None
    each = solved("young-trees").flow_m3_s
    assert each is not None
    assert each / trees.outlet.count < 0.85 * trees.outlet.flow.si
    twice = curvelab.solve(trees.with_("outlet.count", "24")).flow_m3_s
    assert twice is not None
    assert twice / 24 < 0.8 * each / trees.outlet.count


def test_lesson_rules_set_the_pace() -> None:
    """25 gal/min is the most the pool's rule allows; the cellar's foot a day is far less than its pump gives."""
    assert gpm(solved("swimming-pool")) < 25.0
    cellar = setup("cellar").source
    assert cellar is not None
    assert cellar.fastest is not None
    assert cellar.length is not None
    assert cellar.width is not None
    allowed = cellar.fastest.si * cellar.length.si * cellar.width.si
    assert allowed < 0.2 * (solved("cellar").flow_m3_s or 0.0)


def test_lesson_downhill_bursts_hose() -> None:
    result = solved("hill-pond")
    assert result.dead_head_gauge_pa is not None
    assert result.shut_end_gauge_pa is not None
    assert result.dead_head_gauge_pa > 1.9 * result.shut_end_gauge_pa
    assert result.over_rated


def test_lesson_only_pipe_siphons() -> None:
    pipe = solved("siphon")
    soft = curvelab.solve(
        setup("siphon").with_("discharge.leg.0", {"hose": "lay-flat-medium", "size": "3 in", "length": "300 ft"})
    )
    assert soft.governing_point.kind == "waypoint"
    assert pipe.governing_point.kind == "outlet"
    assert gpm(pipe) > gpm(soft) + 10.0


def test_lesson_hump_governs() -> None:
    point = solved("over-the-levee").governing_point
    assert point.kind == "waypoint"
    assert point.height_m / FOOT == pytest.approx(52.0)


def test_lesson_a_big_pond_takes_days() -> None:
    """1.1 acre a foot deep is 358 000 gal: at the rate of now most of a day for each foot."""
    pond = setup("lower-pond").source
    assert pond is not None
    assert not isinstance(pond.area, tuple)
    assert pond.area is not None
    hours = pond.area.si * FOOT / (solved("lower-pond").flow_m3_s or 1.0) / 3600.0
    assert 14.0 < hours < 24.0


def test_lesson_two_small_hoses_carry_less_than_one_big() -> None:
    assert 1.6 * gpm(solved("mill-pond-2in")) < gpm(solved("two-hoses")) < 0.85 * gpm(solved("mill-pond"))


def test_foot_valve_lifts_the_priming_limit() -> None:
    assert gpm(solved("mill-pond-foot-valve")) == pytest.approx(184.0, rel=0.02)


def test_diaphragm_pump_has_no_shut_off_to_state() -> None:
    result = solved("seepage-pit")
    assert result.shutoff_head_m is None
    assert "shut-off-unknown" in {w.code for w in result.warnings}
