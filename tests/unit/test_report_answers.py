"""What the flow does, what changed against a chalked setup, which cautions open, and the table of the command line."""

from dataclasses import replace

import pytest

from curvelab.model.caution import Caution
from curvelab.report.against import NOTHING_CHALKED, Seen, against, chalk_name, gain, ledger_note, see, title
from curvelab.report.answers import drum, length_in_trouble, readings, what_that_does, what_that_does_title
from curvelab.report.cautions import LAST, open_cautions
from curvelab.report.changed import changes
from curvelab.report.rounded import rounded
from curvelab.report.table import table_of
from curvelab.studies.result import GoverningPoint, Result, Warn
from curvelab.units import System
from tests.unit.report_cases import (
    ALL,
    CAVITATING,
    FT,
    NO_LIFT,
    OFF_CURVE,
    SOUND,
    UNDER_RATED,
    UNTESTED,
    feet,
    flow,
    length_m,
    setup,
    tank,
)

US, METRIC, IMPERIAL = System.US, System.METRIC, System.IMPERIAL
TWO_INCH = replace(
    SOUND,
    flow_m3_s=flow(81.2),
    head_m=95.2 * FT,
    ledger=feet(lift=12, rise=38, suction=0.88, discharge=43.31, leaving=1.01),
)
TWO_AND_A_HALF = replace(
    SOUND,
    flow_m3_s=flow(134.2),
    head_m=89.9 * FT,
    ledger=feet(lift=12, rise=38, suction=2.2, discharge=36.5, leaving=1.2),
)


def seen(result: Result, system: System = US, **fields: str) -> Seen:
    return see(setup(**fields), result, system)


# --- what that does ---------------------------------------------------------------------------------------------------


def lines(result: Result, system: System = US, **fields: object) -> list[str]:
    made = setup()
    for path, value in fields.items():
        made = made.with_(path, value)
    return [line.text for line in what_that_does(result, made, system)]


def test_an_hour_and_the_tank() -> None:
    assert lines(SOUND, receiver=tank()) == ["11,200 gal an hour", "27 min fills the 5,000 gal orchard tank"]
    assert lines(SOUND, METRIC, receiver=tank()) == ["42 m³ an hour", "27 min fills the 18.9 m³ orchard tank"]


def test_a_half_full_tank_takes_half_as_long() -> None:
    half = tank(level=f"{6.68403 / 2:.5f} ft")
    assert lines(SOUND, receiver=half)[1] == "13 min fills the 2,500 gal orchard tank"


def test_an_upright_cylinder_by_hand() -> None:
    # π/4 × (2 m)² × 1 m = 3.142 m³, at 705 L/min 4.5 min
    cylinder = {"shape": "cylinder", "diameter": "2 m", "full": "1 m"}
    assert lines(SOUND, METRIC, receiver=cylinder)[1] == "4.5 min fills the 3,140 L tank"


def test_a_volume_wanted_and_a_drum() -> None:
    assert lines(SOUND, goal={"volume": "5000 gal", "time": "2 h"})[1] == "27 min fills the 5,000 gal wanted"
    assert lines(SOUND)[1] == "18 s fills a 55 gal drum"
    assert lines(SOUND, IMPERIAL)[1] == "17 s fills a 45 gal drum"


def test_a_flow_wanted_and_not_reached_comes_first() -> None:
    # 186 of 200 gal/min; 705 of 900 L/min: differences of what is printed
    assert lines(SOUND, goal={"flow": "200 gpm"}) == ["14 short of the 200 gal/min wanted", "11,200 gal an hour"]
    short, tank_fills = lines(SOUND, METRIC, goal={"flow": "900 L/min"}, receiver=tank())
    assert (short, tank_fills) == ("195 short of the 900 L/min wanted", "27 min fills the 18.9 m³ orchard tank")
    # 5,000 gal in 20 min are 250 gal/min
    by_then = lines(SOUND, goal={"volume": "5000 gal", "time": "20 min"})
    assert by_then == ["64 short of the 250 gal/min wanted", "27 min fills the 5,000 gal wanted"]
    none = lines(NO_LIFT, goal={"flow": "150 gpm"})
    assert none == ["none of the 150 gal/min wanted", "never fills a 55 gal drum"]
    assert lines(OFF_CURVE, goal={"flow": "900 gpm"})[0].startswith("perhaps ")  # nobody knows how much more comes


@pytest.mark.parametrize("wanted", ["150 gpm", "186.4 gpm"])
def test_a_flow_wanted_and_reached_as_printed_says_nothing(wanted: str) -> None:
    assert lines(SOUND, goal={"flow": wanted}) == lines(SOUND)


def test_nobody_holds_a_drum_under_sprinklers() -> None:
    sprinklers = {"kind": "sprinklers", "count": 12, "flow": "4 gpm", "pressure": "35 psi"}
    assert lines(SOUND, outlet=sprinklers) == ["11,200 gal an hour"]
    result = replace(SOUND, inputs={"outlet": {"kind": "sprinklers"}})
    assert not [row.name for row in readings(rounded(result, US)) if "drum" in row.name]


def test_no_flow_fills_nothing() -> None:
    assert lines(NO_LIFT, receiver=tank()) == ["none an hour", "never fills the 5,000 gal orchard tank"]
    assert lines(UNTESTED) == []


def test_titles_say_where_the_flow_is_not_exact() -> None:
    titles = [what_that_does_title(result) for result in (SOUND, CAVITATING, OFF_CURVE, NO_LIFT)]
    assert titles == ["What that does", "What that does, about", "What that does, at least", "What that does"]


@pytest.mark.parametrize(
    ("system", "name", "litres"), [(US, "55 gal", 208.2), (METRIC, "200 L", 200), (IMPERIAL, "45 gal", 204.6)]
)
def test_drums(system: System, name: str, litres: float) -> None:
    found, volume_m3 = drum(system)
    assert found == f"{name} drum"
    assert volume_m3 * 1000 == pytest.approx(litres, abs=0.1)


@pytest.mark.parametrize(
    ("text", "system", "shown"),
    [("61.7 ft", US, "65 ft"), ("65 ft", US, "65 ft"), ("65.1 ft", US, "70 ft"), ("18.8 m", METRIC, "19 m")],
)
def test_a_length_in_trouble_is_rounded_up(text: str, system: System, shown: str) -> None:
    assert length_in_trouble(length_m(text), system) == shown


# --- against what is chalked ------------------------------------------------------------------------------------------


def test_bigger_hose() -> None:
    now, then = seen(SOUND), seen(TWO_INCH, discharge__leg__0__size="2 in")
    words = against(now, [then])
    assert words.lead == "105 gal/min more than A."  # 186 − 81
    assert words.rest == "This wider hose rubs less: 27.3 ft of push lost, not 43.3."
    assert title(now, [then]) == "Against A, 2 in hose"
    assert gain(now, then) == "+105 gal/min"
    assert ledger_note(now, then) == ("ledger", "discharge", "16 ft less than A")  # 43.3 − 27.3


def test_smaller_hose_and_hoses_side_by_side() -> None:
    now, then = seen(TWO_INCH, discharge__leg__0__size="2 in"), seen(SOUND)
    assert against(now, [then]).text == (
        "105 gal/min less than A. A’s wider hose rubs less: 27.3 ft of push lost, not 43.3."
    )
    twin = seen(SOUND, discharge__leg__0__size="2 in", discharge__leg__0__abreast="2")
    assert "these two 2 in hoses take 27.3, and carry more than twice the water." in against(twin, [now]).rest


def test_a_wider_hose_that_rubs_no_less_is_not_said_to() -> None:
    ledger = feet(lift=12, rise=38, suction=4.2, discharge=44.0, leaving=1.1)
    now, then = seen(replace(SOUND, ledger=ledger)), seen(TWO_INCH, discharge__leg__0__size="2 in")
    assert against(now, [then]).rest == (
        "A’s hose takes 43.3 ft of the pump’s push; this 3 in takes 44, and carries more than twice the water."
    )


def test_another_field() -> None:
    now, then = seen(CAVITATING, suction__leg__0__length="30 ft", suction__lift="21 ft"), seen(SOUND)
    then = seen(SOUND, suction__leg__0__length="30 ft")
    words = against(now, [then])
    assert words.lead == "About 69 gal/min less than A."  # 186 − 117
    assert words.rest == "Lift is 21 ft, was 12."
    assert chalk_name(then, now) == "lift 12 ft"
    assert ledger_note(now, then) == ("budget", "lift", "9 ft more than A")


def test_a_length_of_hose_is_named_by_its_length() -> None:
    now, longer = seen(SOUND), seen(TWO_INCH, discharge__leg__0__length="500 ft")
    assert chalk_name(longer, now) == "500 ft of hose"
    assert chalk_name(seen(SOUND, suction__leg__0__length="30 ft"), now) == "30 ft of suction hose"


def test_several_fields_are_named_shortly() -> None:
    now = seen(
        SOUND,
        suction__lift="14 ft",
        site__altitude="3000 ft",
        discharge__leg__0__length="500 ft",
        suction__leg__0__length="25 ft",
    )
    words = against(now, [seen(TWO_INCH)])
    assert words.rest.startswith("Changed: altitude, lift")
    assert len(words.text) <= 160


def test_nothing_chalked() -> None:
    assert against(seen(SOUND), []).text == NOTHING_CHALKED


def test_two_chalked() -> None:
    now = seen(SOUND)
    chalked = [
        seen(TWO_INCH, discharge__leg__0__size="2 in"),
        seen(TWO_AND_A_HALF, discharge__leg__0__size="2½ in"),
    ]
    words = against(now, chalked)
    assert words.lead == "105 gal/min more than A, 52 more than B."
    assert words.rest == "The hose takes 27.3 ft of the pump’s push here, 43.3 in A, 36.5 in B."
    assert title(now, chalked) == "Against A (2 in) and B (2½ in)"


def test_one_of_them_gives_nothing() -> None:
    high = seen(NO_LIFT, discharge__rise="112 ft")
    assert against(seen(SOUND), [high]).text == "186 gal/min more than A. A gives none: it couldn’t lift that high."
    assert against(high, [seen(SOUND)]).text == "186 gal/min less than A. Now nothing comes."
    assert ledger_note(high, seen(SOUND)) is None


def test_no_difference() -> None:
    assert against(seen(SOUND), [seen(SOUND)]).text == "No more, no less than A. Nothing in the setup has changed."
    assert gain(seen(SOUND), seen(SOUND)) == ""


def test_differences_are_in_the_unit_of_the_present_answer() -> None:
    now = seen(replace(SOUND, flow_m3_s=flow(270)), METRIC)
    then = seen(SOUND, METRIC, discharge__leg__0__size="2 in")
    # 270 gal/min is 61.3 m³/h, 186.3 gal/min is 42.3
    assert against(now, [then]).lead == "19 m³/h more than A."


def test_changes_in_words() -> None:
    then = setup()
    now = setup(pump__throttle="0.9", pump__id="tarn-2h").with_("suction.leg.0.fittings.foot-valve", "1")
    pumps = {"tarn-2h": "Tarn 2H", "ferrow-3": "Ferrow 3"}
    found = {change.path: change.text for change in changes(now, then, US, pumps)}
    assert found["pump.throttle"].endswith("is 90 %, was 100")
    assert found["pump.id"].endswith("is Tarn 2H, was Ferrow 3")
    assert found["suction.leg.0.fittings.foot-valve"].endswith("is 1, was none")
    assert not changes(then, setup(title="Another name", units="metric"), US)


# --- cautions ---------------------------------------------------------------------------------------------------------


def caution(name: str, *, dismissible: bool = False, **when: list[str]) -> Caution:
    record = {"id": name, "text": f"Mind the {name}.", "source": "invented for this test", "dismissible": dismissible}
    return Caution.model_validate({**record, "when": when})


FUMES = caution("fumes")
NOISE = caution("noise", dismissible=True)
CELLAR = caution("cellar", place=["building", "pit"])
PONDS = caution("ponds", place=["open"], job=["drain"])
GROWL = caution("growl", dismissible=True, state=["cavitating"])
WHIP = caution("whip", warning=["over-rated"])
CHEMICAL = caution("chemical", job=["chemical"], warning=["liquid-refused"])
EVERY = [FUMES, NOISE, CELLAR, PONDS, GROWL, WHIP, CHEMICAL]


def opened(result: Result, **job: str) -> list[str]:
    return [shown.id for shown in open_cautions(EVERY, result, setup().with_("job", job), US)]


def test_some_always_stand_and_local_codes_come_last() -> None:
    assert opened(SOUND) == ["fumes", "noise", "local-codes"]
    assert LAST.text == "Local codes and licensed practice come first."
    assert not LAST.dismissible


@pytest.mark.parametrize("case", list(ALL))
def test_local_codes_stand_last_whatever_opens(case: str) -> None:
    assert open_cautions(EVERY, ALL[case], setup(), US)[-1] is LAST
    assert open_cautions([], ALL[case], setup(), US) == (LAST,)


def test_place_and_job_must_both_hold() -> None:
    assert "cellar" in opened(SOUND, place="pit")
    assert "ponds" in opened(SOUND, kind="drain")
    assert "ponds" not in opened(SOUND, kind="drain", place="pit")
    assert "ponds" not in opened(SOUND, kind="fill")


def test_what_the_solve_found_opens_by_itself_and_comes_first() -> None:
    assert opened(CAVITATING)[0] == "growl"
    refused = replace(SOUND, warnings=(Warn(code="liquid-refused", text=""),))
    assert opened(refused)[0] == "chemical"
    assert "chemical" in opened(SOUND, kind="chemical")


def test_hose_under_its_rating_gives_its_figures() -> None:
    result = replace(UNDER_RATED, warnings=(Warn(code="over-rated", text=""),))
    first = open_cautions(EVERY, result, setup(), US)[0]
    assert first.short == "Keep the end open: 65 ft of hose could see up to 53 psi if it is shut, and is rated 50."
    assert first.text == "Mind the whip."
    assert first.pressing
    assert first.source == "invented for this test"


# --- the table --------------------------------------------------------------------------------------------------------


def test_table_says_what_the_page_says() -> None:
    result = replace(UNDER_RATED, warnings=(Warn(code="over-rated", text="65 ft of hose could see up to 53 psi."),))
    text = table_of(setup(), result)
    assert text.splitlines()[:3] == [
        "Mill pond to orchard tank",
        "186 US gal/min at 82.6 ft of head",
        "Runs well, hose rated too low",
    ]
    for line in (
        (
            "Suction, and hose: 4.3 ft of suction to spare. 14.7 ft of the air’s push is left at the pump, "
            "which needs 10.4 at this flow."
        ),
        "  27.3  Discharge hose",
        "  82.6  ft in all",
        "  31.4  ft, the air’s push",
        "  Vacuum at the inlet    15.3 inHg",
        "  !  65 ft of hose could see up to 53 psi.",
        "Hardest point: outlet.",
    ):
        assert line in text.splitlines(), line
    assert text.count("US") == 1


@pytest.mark.parametrize("system", list(System))
@pytest.mark.parametrize("case", list(ALL))
def test_table_of_every_state(case: str, system: System) -> None:
    text = table_of(setup(), ALL[case], system)
    assert "None" not in text
    assert "nan" not in text
    assert not text.endswith("\n")
    assert all(line == line.rstrip() for line in text.splitlines())
    assert text.count("imperial") == (1 if system is IMPERIAL else 0)
    assert ("US gal" in text) is (system is US)


def test_rise_goes_to_the_hardest_point() -> None:
    at_hump = replace(SOUND, governing_point=GoverningPoint(kind="waypoint", distance_m=200 * FT, height_m=34 * FT))
    assert "Rise to the hump" in table_of(setup(), at_hump)
    assert "Rise to the outlet" in table_of(setup(), SOUND)
