"""Words of each state: true to the figures, short, plain, in the words of the trade, in each unit system."""

import itertools
import re
from dataclasses import replace

import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.model.catalogue import default_catalogue
from curvelab.report.answers import over_rated, readings, readings_note, stations
from curvelab.report.rounded import rounded
from curvelab.report.words import (
    FOOTER,
    LOCAL_CODES,
    LONGEST,
    chip,
    flow_words,
    hardest_point,
    on_chart,
    perhaps_starved,
    suction,
    suction_title,
)
from curvelab.report.words import said as spoken
from curvelab.studies.result import Band, GoverningPoint, Result, State
from curvelab.studies.solve import solve
from curvelab.units import System
from tests.unit.plain import NEVER_SAID, grade
from tests.unit.report_cases import (
    ALL,
    CAVITATING,
    FT,
    GUESSED,
    NO_LIFT,
    NO_PRIME,
    OFF_CURVE,
    PERHAPS,
    SOUND,
    THIN,
    UNDER_RATED,
    UNTESTED,
    feet,
    flow,
    setup,
)

US, METRIC = System.US, System.METRIC


def said(result: Result, system: System) -> dict[str, str]:
    figures = rounded(result, system)
    return {
        "suction": suction(figures, setup()).text,
        "chart": on_chart(figures),
        "note": readings_note(result),
        "over-rated": over_rated(result, system),
    }


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize("case", list(ALL))
def test_every_sentence_is_short_and_plain(case: str, system: System) -> None:
    for name, text in said(ALL[case], system).items():
        assert len(text) <= LONGEST, name
        if text:
            assert grade(text) <= 7.0, (name, text)
            assert text.endswith("."), name
        assert not NEVER_SAID.search(text), name
        assert "nan" not in text.lower(), name
        assert "None" not in text, name
        assert "-" not in re.sub(r"\w-\w", "", text), name


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize("name", sorted(default_catalogue().setups))
def test_every_ready_setup_speaks_shortly_and_plainly(name: str, system: System) -> None:
    made = default_catalogue().setups[name]
    figures = rounded(solve(made), system)
    for text in (suction(figures, made).text, on_chart(figures)):
        assert len(text) <= LONGEST
        assert not text or grade(text) <= 7.0
    assert sum(f.number for f in figures.ledger.values()) == pytest.approx(figures.total.number, abs=1e-6)
    assert sum(f.number for f in figures.budget.values()) == pytest.approx(figures.air.number, abs=1e-6)


@given(
    st.sampled_from([case for case in ALL if ALL[case].flow_m3_s]),
    st.floats(1, 3000),
    st.floats(1, 3000),
    st.sampled_from(list(System)),
)
def test_any_flow_keeps_to_the_length(case: str, gpm: float, crossing: float, system: System) -> None:
    result = ALL[case]
    changed = replace(
        result,
        flow_m3_s=flow(gpm),
        crossing_flow_m3_s=flow(crossing) if result.crossing_flow_m3_s else None,
        cavitation_flow_m3_s=flow(gpm) if result.cavitation_flow_m3_s else None,
    )
    for text in said(changed, system).values():
        assert len(text) <= LONGEST


def test_chips_of_the_six_states() -> None:
    words = [chip(result).text for result in (SOUND, THIN, CAVITATING, NO_LIFT, NO_PRIME, OFF_CURVE)]
    assert words == [
        "Runs well",
        "Runs, with little to spare",
        "Starved at the suction",
        "Can’t lift it that high",
        "Won’t prime",
        "Past the tested curve",
    ]


@pytest.mark.parametrize("state", list(State))
def test_an_under_rated_hose_never_goes_out_under_a_plain_chip(state: State) -> None:
    assert chip(replace(UNDER_RATED, state=state)).text.endswith(", hose rated too low")
    assert "rated too low" not in chip(replace(SOUND, state=state)).text


@pytest.mark.parametrize("state", list(State))
@pytest.mark.parametrize(("place", "fumes"), [("building", "fumes kill indoors"), ("pit", "fumes kill in a pit")])
def test_an_engine_never_stands_where_its_fumes_stay_under_a_plain_chip(state: State, place: str, fumes: str) -> None:
    there = {"job": {"place": place}}
    assert chip(replace(SOUND, state=state, inputs=there)).text.endswith(f", {fumes}")
    both = replace(UNDER_RATED, state=state, inputs=there)
    assert chip(both).text.endswith(f", {fumes}, hose rated too low")  # both, the graver first
    assert spoken(rounded(both, US)).endswith(f", {fumes}, hose rated too low.")
    for outdoors in ("open", "flood"):
        assert "fumes" not in chip(replace(SOUND, state=state, inputs={"job": {"place": outdoors}})).text


@pytest.mark.parametrize("low", [100.0, 186.0, None])
def test_without_a_stated_need_a_flow_in_or_past_the_guess_never_plainly_runs_well(low: float | None) -> None:
    guess = Band(low=None if low is None else flow(low), high=None)
    result = replace(PERHAPS, cavitation_flow_estimate_m3_s=guess)
    assert perhaps_starved(result) is (low is not None)
    assert (chip(result).word == "Runs well") is (low is None)
    assert ("perhaps less" in flow_words(rounded(result, US)).beside) is (low is not None)


def test_past_the_tested_suction_figures_it_does_not_plainly_run_well() -> None:
    assert chip(ALL["past-npshr"]).word == "Runs, suction not known"


def test_perhaps_less_names_the_band() -> None:
    beyond = replace(PERHAPS, cavitation_flow_estimate_m3_s=Band(low=flow(120), high=flow(160)))
    assert flow_words(rounded(beyond, US)).text == "186 gal/min, perhaps less: 120 to 160, at a guess"
    assert flow_words(rounded(PERHAPS, US)).text == "186 gal/min, perhaps less: down to 151, at a guess"


@pytest.mark.parametrize(
    ("result", "words"),
    [
        (SOUND, "186 gal/min"),
        (CAVITATING, "about 117 gal/min"),
        (NO_LIFT, "0 gal/min"),
        (NO_PRIME, "0 gal/min"),
        (OFF_CURVE, "at least 420 gal/min"),
        (UNTESTED, "? gal/min, less than anybody has tested"),
    ],
)
def test_flow_in_words(result: Result, words: str) -> None:
    assert flow_words(rounded(result, US)).text == words


@pytest.mark.parametrize(
    ("result", "lead", "rest"),
    [
        (
            SOUND,
            "4.3 ft of suction to spare.",
            "14.7 ft of the air’s push is left at the pump, which needs 10.4 at this flow.",
        ),
        (
            THIN,
            "Only 1.4 ft of suction to spare.",
            "2 ft is asked. A clogging strainer, warmer water or a falling pond will starve it.",
        ),
        (
            CAVITATING,
            "No suction to spare.",
            (
                "Lift takes 21, hose 2.2, vapour 0.5 of the air’s 31.4 ft; the pump needs the 7.7 left. "
                "The curves cross at 165; only about 117 can get in."
            ),
        ),
        (
            NO_PRIME,
            "2.1 ft too high to prime.",
            (
                "Dry, this pump draws water up 14.9 ft at this height above the sea; the water lies 17 down. "
                "It will run, and nothing comes."
            ),
        ),
        (
            OFF_CURVE,
            "At least 420 gal/min.",
            (
                "This run asks so little that the pump works beyond its last tested point. "
                "How much more, nobody has measured."
            ),
        ),
        (
            GUESSED,
            "Perhaps 4.9 ft of suction to spare.",
            "14.7 ft of push is left at the pump. Nobody states what it needs: 5.9 to 9.8 is a guess.",
        ),
        (
            PERHAPS,
            "Perhaps no suction to spare.",
            (
                "14.7 ft of push is left at the pump. Nobody states what it needs: 9.1 to 15.8 is a guess. "
                "At worst it gives out at 151 gal/min."
            ),
        ),
    ],
)
def test_suction_or_why(result: Result, lead: str, rest: str) -> None:
    words = suction(rounded(result, US), setup())
    assert (words.lead, words.rest) == (lead, rest)


def test_no_lift_names_the_point_and_the_shortfall() -> None:
    high = setup(discharge__rise="104 ft", discharge__leg__0__length="420 ft", discharge__waypoint__0__height="112 ft")
    words = suction(rounded(NO_LIFT, US), high)
    assert words.lead == "26 ft short."
    assert words.rest == (
        "The pump holds water up 98 ft with no flow; the hump asks 124 before the first drop. Bigger hose won’t help."
    )
    named = high.with_("discharge.waypoint.0.name", "ridge")
    assert "the ridge asks 124" in suction(rounded(NO_LIFT, US), named).rest
    outlet = setup(discharge__rise="112 ft", discharge__leg__0__length="420 ft")
    assert "the outlet asks 124" in suction(rounded(NO_LIFT, US), outlet).rest


def test_a_line_that_would_run_full_says_that_it_cannot_be_filled() -> None:
    words = suction(rounded(ALL["no-lift-siphon"], US), setup())
    assert "A full line would run, but it can’t fill this one." in words.rest


def test_a_spare_that_rounds_up_to_the_margin_is_just_under_it() -> None:
    nearly = replace(THIN, suction_budget=feet(vapour=0.5, lift=12, suction=5.66, needs=11.22, spare=1.98))
    assert suction(rounded(nearly, US), setup()).lead == "Just under 2 ft of suction to spare."


def test_a_hose_that_takes_more_than_the_lift_is_named() -> None:
    assert (
        "The hose takes 20.2, lift 3, vapour 0.5 of the air’s 31.4 ft"
        in suction(rounded(ALL["starved-by-hose"], US), setup()).rest
    )


@pytest.mark.parametrize(
    ("result", "sentence"),
    [
        (
            SOUND,
            (
                "Past 230 gal/min the air can’t push water in fast enough: "
                "it boils in the pump, which growls, loses flow and wears."
            ),
        ),
        (NO_LIFT, "The curves never meet: at every flow the site asks for more head than this pump gives."),
        (NO_PRIME, "Once primed it would give 184 gal/min; it can’t get there by itself."),
        (OFF_CURVE, "The tested curve ends here."),
    ],
)
def test_on_the_chart(result: Result, sentence: str) -> None:
    assert on_chart(rounded(result, US)) == sentence


def test_what_the_suction_cannot_feed_is_not_promised_once_primed() -> None:
    assert on_chart(rounded(ALL["no-prime-starved"], US)).startswith(
        "Once primed it would be starved at about 130 gal/min"
    )


def test_metric_sentences_carry_no_feet_and_no_gallons() -> None:
    for case, result in ALL.items():
        for text in itertools.chain(said(result, METRIC).values(), [flow_words(rounded(result, METRIC)).text]):
            assert not re.search(r"\b(ft|gal|psi|inHg)\b|[0-9] in\b", text), (case, text)


def test_names_of_the_hardest_point() -> None:
    at_hump = replace(SOUND, governing_point=GoverningPoint(kind="waypoint", distance_m=200 * FT, height_m=34 * FT))
    assert hardest_point(at_hump, setup()) == "hump"
    assert hardest_point(at_hump, setup().with_("discharge.waypoint.0.name", "levee")) == "levee"
    assert hardest_point(SOUND, setup()) == "outlet"
    too_long = setup().with_("discharge.waypoint.0.name", "the third gate post behind the barn")
    assert hardest_point(at_hump, too_long) == "hump"


def test_titles() -> None:
    titles = [suction_title(result) for result in (SOUND, UNDER_RATED, CAVITATING, OFF_CURVE)]
    assert titles == ["Suction", "Suction, and hose", "Why", "Why"]


def test_stations_add_up_to_the_ledger() -> None:
    found = {name: station.text for name, station in stations(rounded(SOUND, US)).items()}
    assert found == {
        "site": "air pushes 31.4 ft",
        "suction": "lift 12 + hose 4.2 ft",
        "pump": "pushes 82.6 ft",
        "discharge": "rise 38 + hose 27.3 ft",
        "outlet": "leaves with 1.1 ft",
    }
    assert stations(rounded(NO_PRIME, US))["suction"].text == "draws up 14.9 ft dry"
    assert stations(rounded(NO_LIFT, US))["pump"].text == "reaches 98 ft"
    assert stations(rounded(NO_LIFT, US))["outlet"].text == "nothing leaves"
    assert stations(rounded(UNTESTED, US))["pump"].text == "not tested so low"


def test_hose_in_danger_is_rounded_up_and_said_once_with_its_unit() -> None:
    assert over_rated(UNDER_RATED, US) == "65 ft of hose could see up to 53 psi if the end is shut; it is rated 50."
    metric = over_rated(UNDER_RATED, METRIC)
    assert metric == "19 m of hose could see up to 3.65 bar if the end is shut; it is rated 3.45."
    assert over_rated(SOUND, US) == ""


def test_a_bound_just_past_its_rating_never_reads_as_equal() -> None:
    (stretch,) = UNDER_RATED.over_rated
    close = replace(UNDER_RATED, over_rated=(replace(stretch, pressure_pa=stretch.rating_pa * 1.001),))
    assert "up to 51 psi if the end is shut; it is rated 50." in over_rated(close, US)
    assert "up to 3.46 bar if the end is shut; it is rated 3.45." in over_rated(close, METRIC)


def test_readings_of_a_running_pump() -> None:
    rows = {row.name: row.value for row in readings(rounded(SOUND, US))}
    assert rows == {
        "Vacuum at the inlet": "15.3 inHg",
        "Pressure at the pump": "28 psi",
        "At the pump, end shut": "37 psi",
        "55 gal drum fills in": "18 s",  # 55 gal at 186.3 gal/min is 17.7 s
        "Hose fills (110 gal)": "35 s",  # 110 gal at 186.3 gal/min is 35.4 s
    }
    assert "200 L drum fills in" in {row.name for row in readings(rounded(SOUND, METRIC))}
    assert "45 gal drum fills in" in {row.name for row in readings(rounded(SOUND, System.IMPERIAL))}


def test_readings_of_a_pump_that_delivers_nothing() -> None:
    rows = readings(rounded(NO_PRIME, US))
    assert [(row.name, row.value, row.estimate) for row in rows] == [
        ("Vacuum at the inlet", "13.2 inHg", False),
        ("Pressure at the pump", "0 psi", False),
        ("Flow at the end", "none", False),
        ("Stop it within", "2 min", True),
    ]


def test_a_flooded_inlet_shows_pressure() -> None:
    rows = readings(rounded(replace(SOUND, inlet_gauge_pa=20_000.0), US))
    assert (rows[0].name, rows[0].value) == ("Pressure at the inlet", "2.9 psi")


def test_the_lines_that_always_stand() -> None:
    assert LOCAL_CODES in FOOTER
    assert FOOTER.startswith("An estimate for choosing equipment, not a design.")
