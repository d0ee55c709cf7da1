"""One rounded set of figures: parts add up to the total shown, in every system, whatever the exact numbers are."""

from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.report.rounded import add_up, rounded
from curvelab.studies.result import Part, Result
from curvelab.units import Quantity, System, display_unit, show
from tests.unit.report_cases import ALL, CAVITATING, FT, NO_LIFT, NO_PRIME, SOUND, feet, flow


@given(st.lists(st.floats(0, 200), min_size=1, max_size=7), st.floats(-0.6, 0.6))
def test_adds_up_and_stays_within_a_step_of_the_truth(exact: list[float], slack: float) -> None:
    total = round(sum(exact) + slack, 1)
    steps = add_up(exact, total)
    assert sum(steps) == pytest.approx(total, abs=1e-6)
    greatest = max(range(len(exact)), key=lambda i: exact[i])
    for place, (shown, number) in enumerate(zip(steps, exact, strict=True)):
        allowed = 0.1 if place != greatest else 0.1 + abs(total - sum(exact))
        assert abs(shown - number) <= allowed + 1e-6
        assert round(shown * 10) == pytest.approx(shown * 10, abs=1e-6)


def test_largest_remainder_by_hand() -> None:
    # 4.19 + 27.33 + 1.09 = 32.61, shown 32.6: floors 4.1, 27.3, 1.0 leave 0.2 for the two largest remainders.
    assert add_up([4.19, 27.33, 1.09], 32.6) == [4.2, 27.3, 1.1]


def test_the_mill_pond_reads_as_drawn() -> None:
    figures = rounded(SOUND, System.US)
    assert {item: figure.text for item, figure in figures.ledger.items()} == {
        "lift": "12",
        "rise": "38",
        "suction": "4.2",
        "discharge": "27.3",
        "leaving": "1.1",
    }
    assert str(figures.total) == "82.6 ft"
    assert str(figures.air) == "31.4 ft"
    assert figures.npsha is not None
    assert figures.npsha.text == "14.7"
    assert str(figures.flow) == "186 gal/min"


def sums(result: Result, system: System) -> None:
    figures = rounded(result, system)
    assert sum(f.number for f in figures.ledger.values()) == pytest.approx(figures.total.number, abs=1e-6)
    assert sum(f.number for f in figures.budget.values()) == pytest.approx(figures.air.number, abs=1e-6)
    assert figures.budget["lift"] == figures.ledger["lift"]
    assert figures.budget["suction"] == figures.ledger["suction"]


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize("case", list(ALL))
def test_every_state_adds_up(case: str, system: System) -> None:
    sums(ALL[case], system)


heads = st.floats(0, 60)


@given(
    st.floats(-10, 26), st.floats(-100, 150), heads, heads, heads, heads, st.floats(0, 8), st.sampled_from(list(System))
)
def test_any_ledger_adds_up_with_lift_and_rise_as_on_their_sliders(
    lift: float,
    rise: float,
    suction: float,
    discharge: float,
    leaving: float,
    pressure: float,
    vapour: float,
    system: System,
) -> None:
    ledger = feet(lift=lift, rise=rise, suction=suction, discharge=discharge, leaving=leaving, pressure=pressure)
    head = sum(part.head_m for part in ledger)
    left = 34 - vapour - lift - suction
    budget = feet(vapour=vapour, lift=lift, suction=suction, needs=7, spare=left - 7)
    result = replace(
        SOUND, ledger=ledger, head_m=head, suction_budget=budget, air_head_m=34 * FT, npsha_m=left * FT, npshr_m=7 * FT
    )
    sums(result, system)
    figures = rounded(result, system)
    for item, feet_ in (("lift", lift), ("rise", rise)):
        assert str(figures.ledger[item]) == show(feet_ * FT, Quantity.HEAD, system)


def test_total_at_rest_is_what_its_parts_say() -> None:
    ledger = feet(lift=12, rise=38, suction=0, discharge=0, leaving=0)
    figures = rounded(replace(NO_LIFT, ledger=ledger, static_head_m=50 * FT), System.METRIC)
    assert (figures.ledger["lift"].text, figures.ledger["rise"].text) == ("3.7", "11.6")
    assert figures.total.text == figures.static.text == "15.3"


def test_differences_are_between_printed_figures() -> None:
    figures = rounded(NO_LIFT, System.US)
    assert figures.shutoff is not None
    assert str(figures.start.minus(figures.shutoff)) == "26 ft"
    figures = rounded(NO_PRIME, System.US)
    assert figures.reach is not None
    assert figures.budget["left"].text == "13.9"
    assert "spare" not in figures.budget
    assert str(figures.lift.minus(figures.reach)) == "2.1 ft"


def test_lost_head_stands_on_the_printed_total() -> None:
    assert str(rounded(CAVITATING, System.US).lost(91.7 * FT)) == "18.7 ft"


def test_all_flows_of_a_result_share_one_unit() -> None:
    big = replace(CAVITATING, flow_m3_s=flow(260), crossing_flow_m3_s=flow(270), cavitation_flow_m3_s=flow(260))
    figures = rounded(big, System.METRIC)
    assert figures.flow_unit == display_unit(Quantity.FLOW, System.METRIC)
    assert str(figures.crossing) == "1,020 L/min"


def test_a_part_that_is_not_there_stays_nothing() -> None:
    ledger = (*feet(lift=12, rise=38, suction=0, discharge=20.04, leaving=0.96), Part(item="pressure", head_m=0.0))
    figures = rounded(replace(SOUND, ledger=ledger), System.US)
    assert figures.ledger["pressure"].text == "0"
    assert figures.ledger["suction"].text == "0"
