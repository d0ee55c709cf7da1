"""The limit's answer does, and the next value does not; where there is none, none of the range does."""

from __future__ import annotations

import json

import hypothesis.strategies as st
import pytest
from hypothesis import assume, given, settings

from curvelab.errors import InputError
from curvelab.model.amount import Count
from curvelab.model.fields import Field, Limit, field_of, range_of
from curvelab.model.setup import Setup
from curvelab.studies.limit import BECAUSE, LimitFound, limit
from curvelab.studies.result import Result, State
from curvelab.studies.solve import solve
from curvelab.units import write
from tests.properties.study_setups import CATALOGUE, setups
from tests.unit.study_cases import NAMES, assert_sentence, demo, try_solve

FIELDS = (
    "suction.lift",
    "suction.leg.0.length",
    "suction.leg.0.size",
    "suction.leg.0.abreast",
    "suction.leg.0.k",
    "discharge.rise",
    "discharge.leg.0.length",
    "discharge.leg.0.size",
    "discharge.leg.0.abreast",
    "discharge.leg.0.k",
    "discharge.waypoint.0.height",
    "pump.throttle",
    "pump.wear",
    "site.altitude",
    "site.temperature",
    "outlet.bore",
    "outlet.pressure",
)
REASONS = {
    "suction": {State.CAVITATING, State.THIN},
    "prime": {State.NO_PRIME},
    "lift": {State.NO_LIFT},
    "curve": {State.OFF_CURVE},
    "flow": {State.SOUND},
    "pressure": {State.SOUND},
}


def at(setup: Setup, path: str, si: float) -> Result | None:
    """The setup solved with the field at an SI value; ``None`` where a file would be refused."""
    field, places = field_of(path)
    value: object = si if field.quantity is None else write(si, field.quantity, setup.units)
    if isinstance(field.leaf, Count):
        value = int(si)
    try:
        return try_solve(setup.with_(field.at(*places), value))
    except InputError:
        return None


def does(result: Result | None, flow: float, *, danger: bool, slack: float = 0.0) -> bool:
    """Sound, at least this flow but for a slack, no hose over its rating unless it was before."""
    if result is None or result.state is not State.SOUND or result.flow_m3_s is None:
        return False
    return result.flow_m3_s >= flow * (1.0 - slack) and (danger or not result.over_rated)


def step_of(setup: Setup, path: str, value: float) -> float | None:
    """The next value that counts: another size, another hose, a hundred-thousandth of the slider's range."""
    field, places = field_of(path)
    onward = 1.0 if field.limit is Limit.GREATEST else -1.0
    if path.endswith(".size"):
        leg = field_of_leg(setup, path)
        sizes = sorted(size.size.si for size in CATALOGUE.hoses[leg].size)
        beyond = [size for size in sizes if (size - value) * onward > 1e-6]
        return (min(beyond) if onward > 0 else max(beyond)) if beyond else None
    if isinstance(field.leaf, Count):
        return value + onward
    span = range_of(field, setup.units, field.si(setup, *places))
    return value + onward * 1e-5 * (span.si(span.high) - span.si(span.low))


def field_of_leg(setup: Setup, path: str) -> str:
    side, _, place, _ = path.split(".")
    hose = (setup.suction if side == "suction" else setup.discharge).leg[int(place)].hose
    assert hose is not None
    return hose


def span_of(setup: Setup, path: str) -> list[float]:
    """Values of the field's whole range, a size or a count each, else 41 of them."""
    field, places = field_of(path)
    if path.endswith(".size"):
        return [size.size.si for size in CATALOGUE.hoses[field_of_leg(setup, path)].size]
    span = range_of(field, setup.units, field.si(setup, *places))
    low, high = span.si(span.low), span.si(span.high)
    count = round(high - low) + 1 if isinstance(field.leaf, Count) else 41
    return [low + (high - low) * place / (count - 1) for place in range(count)]


def check(setup: Setup, path: str, found: LimitFound, flow: float) -> None:
    danger = bool(solve(setup).over_rated)
    assert_sentence(found.sentence)
    json.dumps(found.to_dict(), allow_nan=False)
    assert found.kind == str(field_of(path)[0].limit)
    if found.value is None:
        assert found.result is None
        assert found.stock == ""
        able = [
            value for value in span_of(setup, path) if does(at(setup, path, value), flow, danger=danger, slack=-1e-6)
        ]
        if found.because is None:
            assert able, "nothing gives way, yet nothing does"
        else:
            assert not able, f"{able} would do"
        return
    result = at(setup, path, found.value)
    assert does(result, flow, danger=danger, slack=1e-3)
    assert result == found.result
    beyond = step_of(setup, path, found.value)
    assert beyond is not None
    after = at(setup, path, beyond)
    assert not does(after, flow, danger=danger, slack=-1e-9), "the next value does as well"
    assert found.because in BECAUSE
    if after is None:
        assert found.because in ("hose", "fittings")
    else:
        assert after.state in REASONS[found.because]
        assert (found.because == "pressure") <= bool(after.over_rated)


@pytest.mark.slow
@settings(max_examples=60)
@given(setups(fixed=("goal",)), st.sampled_from(FIELDS), st.sampled_from([0.0, 0.3, 0.8, 1.1]))
def test_drawn_setups(setup: Setup, path: str, share: float):
    """The wanted flow is a share of what the setup gives now."""
    flow = share * (solve(setup).flow_m3_s or 0.0)
    try:
        found = limit(setup, path, flow=flow)
    except InputError:
        assume(False)  # noqa: FBT003 - the setup has no such field
        return
    check(setup, path, found, flow)


@pytest.mark.parametrize("name", NAMES)
def test_demo_setups_with_their_own_goal(name: str):
    setup = demo(name)
    for path in ("suction.lift", "discharge.leg.0.length", "discharge.leg.0.size", "discharge.rise", "pump.throttle"):
        check(setup, path, limit(setup, path), setup.goal.flow_m3_s)


@pytest.mark.parametrize("name", NAMES)
def test_demo_setups_in_metres(name: str):
    setup = demo(name, "metric")
    check(setup, "discharge.leg.0.length", limit(setup, "discharge.leg.0.length"), setup.goal.flow_m3_s)


def wide(field: Field) -> bool:
    return field.limit is not Limit.NONE


def test_the_fields_above_are_those_that_have_a_limit():
    assert all(wide(field_of(path)[0]) for path in FIELDS)
