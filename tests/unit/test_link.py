"""Links by example: what they look like, what they leave out, what they carry, what is said of a bad one."""

from dataclasses import replace
from pathlib import Path
from urllib.parse import parse_qsl

import pytest

from curvelab.errors import InputError
from curvelab.model.amount import Amount
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.chalk import Chalk
from curvelab.model.link import LONGEST, Decoded, decode, encode
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from curvelab.units import Quantity

QUINCE = {
    "format": "curvelab-pump/1",
    "id": "quince-2",
    "kind": "trash",
    "source": "invented for demonstration",
    "speed": "3600 rpm",
    "head": {"flow": "gpm", "head": "ft", "points": [[0, 98.0], [60, 90.5], [120, 70]]},
}
PLAIN = (
    "?v=1&pump=ferrow-3&lift=12+ft&s0.hose=suction-smooth&s0.size=3+in&s0.len=20+ft&s0.fit=basket-strainer,elbow-90:2"
    "&rise=35+ft&d0.hose=lay-flat-light&d0.size=3+in&d0.len=300+ft&w0.at=180+ft&w0.height=40+ft"
)


def plain(**more: object) -> Setup:
    return Setup.model_validate(
        {
            "pump": {"id": "ferrow-3"},
            "suction": {
                "lift": "12 ft",
                "leg": [
                    {
                        "hose": "suction-smooth",
                        "size": "3 in",
                        "length": "20 ft",
                        "fittings": {"basket-strainer": 1, "elbow-90": 2},
                    }
                ],
            },
            "discharge": {
                "rise": "35 ft",
                "leg": [{"hose": "lay-flat-light", "size": "3 in", "length": "300 ft"}],
                "waypoint": [{"distance": "180 ft", "height": "40 ft"}],
            },
            **more,
        }
    )


def yard(**changes: object) -> Catalogue:
    """The demo's catalogue and one pump more."""
    demo = default_catalogue()
    quince = Pump.model_validate({**QUINCE, **changes})
    return replace(demo, pumps={**demo.pumps, quince.id: quince})


def test_a_link_can_be_read_by_a_person():
    assert encode(plain()) == PLAIN


def test_what_is_at_its_default_is_left_out():
    stated = plain(site={"altitude": "0 ft", "temperature": "59 degF"}, outlet={"kind": "open"}, units="us")
    assert encode(stated) == PLAIN
    assert "&units=metric&" in encode(plain(units="metric"))


def test_a_person_can_write_one_by_whole_paths():
    found = decode(PLAIN.replace("lift=", "suction.lift=").replace("d0.len=", "discharge.leg.0.length="))
    assert found == Decoded(plain())


def test_a_title_may_hold_anything_printable():
    title = "50 % & more? = “Quelle” #1 +½ 水 /a;b,c"
    found = decode(encode(plain(title=title)))
    assert found.setup.title == title
    assert dict(parse_qsl(encode(plain(title=title))[1:]))["title"] == title


def test_an_amount_without_text_of_its_own_keeps_its_last_digit():
    lift = Amount("12 ft", 3.6576123456789, Quantity.LENGTH)
    setup = plain().with_("suction.lift", lift)
    assert decode(encode(setup)).setup.suction.lift.si == 3.6576123456789


def test_a_chalked_setup_is_told_by_its_differences():
    now = plain(title="now", source={"shape": "box", "length": "9 ft", "width": "9 ft", "depth": "3 ft"})
    then = plain(title="now").with_("discharge.leg.0.size", "2 in").with_("discharge.waypoint", [])
    link = encode(now, [Chalk("A", then)])
    assert link.endswith("&a.d0.size=2+in&a.without=w0.,source.")
    assert decode(link) == Decoded(now, (Chalk("A", then),))


def test_a_chalked_setup_like_the_present_one_is_still_there():
    both = Chalk("A", plain()), Chalk("B", plain())
    assert encode(plain(), both) == PLAIN + "&a.without=&b.without="
    assert decode(PLAIN + "&a.without=&b.without=") == Decoded(plain(), both)


def test_a_chalked_setup_keeps_its_letter_and_the_name_it_was_given():
    kept = Chalk("C", plain().with_("discharge.leg.0.size", "2 in"), "Old hose, 50 %")
    link = encode(plain(), [kept])
    assert link.endswith("&c.name=Old+hose,+50+%25&c.d0.size=2+in")
    assert decode(link) == Decoded(plain(), (kept,))


def test_a_name_that_is_none_is_said_and_the_setup_kept():
    found = decode(PLAIN + "&a.name=" + "x" * 41)
    assert found.chalks == (Chalk("A", plain()),)
    assert found.problems == ("The name of chalked setup A: text of 41 characters.",)
    assert decode(PLAIN + "&b.name=a%0Ab").chalks == (Chalk("B", plain()),)


def test_no_more_chalked_setups_than_letters():
    with pytest.raises(InputError, match="4 chalked setups"):
        encode(plain(), [Chalk("A", plain())] * 4)
    with pytest.raises(InputError, match="letters AA"):
        encode(plain(), [Chalk("A", plain())] * 2)


def test_a_link_too_long_is_refused_with_what_to_do():
    points = [{"distance": f"{place + 1} ft", "height": "1 ft", "name": "水" * 60} for place in range(12)]
    with pytest.raises(InputError, match=rf"a link holds {LONGEST}; leave out chalked setups, or save the setup"):
        encode(plain().with_("discharge.waypoint", points))


def test_a_pump_of_the_yard_carries_its_points():
    setup, own = plain(pump={"id": "quince-2", "throttle": 0.9}), yard()
    link = encode(setup, catalogue=own)
    assert "&pump=quince-2&" in link
    assert "&pump.record.head.points=0,98;60,90.5;120,70&" in link
    assert decode(link, own) == Decoded(setup)
    elsewhere = decode(link)
    assert elsewhere.problems == ()
    assert elsewhere.setup.pump.record == own.pumps["quince-2"]
    assert elsewhere.setup.pump.throttle == 0.9


def test_a_pump_of_the_same_name_elsewhere_does_not_take_its_place():
    link = encode(plain(pump={"id": "quince-2"}), catalogue=yard())
    found = decode(link, yard(speed="3000 rpm"))
    assert found.setup.pump.record == yard().pumps["quince-2"]
    assert found.problems == ("Pump quince-2 is another one here; the points in the link are used.",)


def test_pumps_beside_and_boosters_carry_theirs_too():
    setup = plain(
        pump={"id": "ferrow-3", "beside": [{"id": "quince-2"}]}, booster=[{"id": "quince-2", "distance": "9 ft"}]
    )
    assert decode(encode(setup, catalogue=yard()), yard()) == Decoded(setup)
    elsewhere = decode(encode(setup, catalogue=yard())).setup
    assert elsewhere.pump.beside[0].record == elsewhere.booster[0].record == yard().pumps["quince-2"]


def test_a_pump_of_the_demo_goes_by_its_name_alone():
    assert "record" not in encode(plain(), catalogue=yard())


def test_no_file_is_read_for_a_link():
    found = decode(PLAIN.replace("pump=ferrow-3", "pump.file=/etc/passwd"))
    assert found.setup.pump.id == decode("").setup.pump.id
    assert found.problems[0].startswith("Pump file in the link: no folder is known")


@pytest.mark.parametrize(
    ("old", "new", "says"),
    [
        ("lift=12+ft", "lift=12", 'Lift in the link: 12 has no unit; write a length such as "12 ft" or "3.7 m".'),
        ("ferrow-3", "ferow-3", 'Pump in the link: no pump is called "ferow-3"; did you mean "ferrow-3"?'),
        ("elbow-90:2", "elbow-90:two", 'Suction fittings in the link: "two" is no plain number; write digits'),
        ("elbow-90:2", "elbo-90:2", 'elbo-90 in the link: no fitting is called "elbo-90"; did you mean "elbow-90"?'),
        ("&rise", "&rse=1&rise", '"rse" in the link is the name of nothing here; did you mean "rise"?'),
        ("&rise", "&lift=9+ft&rise", '"lift" stands twice in the link; the first is used.'),
        ("v=1", "v=2", "This link is of another version; what is known of it here was read."),
        ("&rise", "&outlet=waterfall&rise", 'Outlet in the link: "waterfall" is not known here; write one of "open"'),
        ("&rise", "&outlet.bore=1+in&rise", 'Nozzle bore in the link: doesn\'t belong to an outlet of kind "open"'),
    ],
)
def test_what_cannot_be_read_is_told_and_the_rest_is_taken(old: str, new: str, says: str):
    found = decode(PLAIN.replace(old, new))
    assert len([problem for problem in found.problems if says in problem]) == 1, found.problems
    assert found.setup.discharge == plain().discharge


def test_what_is_missing_comes_from_the_opening_setup_and_is_told():
    opening = decode("").setup
    found = decode(PLAIN.replace("lift=12+ft&", "").replace("&d0.len=300+ft", ""))
    assert found.setup.suction.lift == opening.suction.lift
    assert found.setup.discharge.leg[0].length == opening.discharge.leg[0].length
    assert found.problems == ("Not in the link, so taken from the opening setup: discharge hose length, lift.",)


def test_a_leg_that_cannot_stand_is_left_out():
    found = decode(PLAIN + "&d1.hose=lay-flat-light&d1.len=5+ft")
    assert found.setup == plain()
    assert found.problems == (
        'Discharge hose size in the link: is missing; a catalogue hose needs its nominal size, such as "3 in".',
    )


def test_problems_of_a_chalked_setup_say_which():
    found = decode(PLAIN + "&b.lift=9&b.d0.size=2+in")
    assert found.chalks == (Chalk("B", plain().with_("discharge.leg.0.size", "2 in")),)
    assert found.problems == ('Lift in chalked setup B: 9 has no unit; write a length such as "12 ft" or "3.7 m".',)


def test_a_link_cut_off_opens_what_is_whole():
    long = PLAIN + "&title=" + "x" * LONGEST
    found = decode(long)
    assert found == Decoded(plain(), (), ("This link is longer than 6000 characters; the rest was left out.",))


def test_a_pump_from_a_file_goes_as_what_stands_in_the_file(tmp_path: Path):
    (tmp_path / "quince.toml").write_text(
        'format = "curvelab-pump/1"\nid = "quince-2"\nkind = "trash"\nsource = "invented for demonstration"\n'
        'speed = "3600 rpm"\n[head]\nflow = "gpm"\nhead = "ft"\npoints = [[0, 98.0], [60, 90.5], [120, 70]]\n'
    )
    table = {
        "pump": {"file": "quince.toml"},
        "suction": {"lift": "12 ft", "leg": [{"bore": "3 in", "roughness": "0.05 mm", "length": "20 ft"}]},
        "discharge": {"rise": "35 ft", "leg": [{"bore": "3 in", "roughness": "0.03 mm", "length": "300 ft"}]},
    }
    setup = Setup.model_validate(table, context={"folder": tmp_path})
    found = decode(encode(setup))
    assert found.problems == ()
    assert "quince.toml" not in encode(setup)
    assert found.setup.pump.record == setup.pump.record == yard().pumps["quince-2"]


def test_a_table_that_no_value_mends_is_taken_whole():
    shallow = "&source.shape=pond&source.full_depth=1+ft&source.area=900+ft2&source.power=1"
    found = decode(PLAIN + shallow)  # the depth is missing, and that of the opening setup is over this pond's
    assert found.setup == plain().model_copy(update={"source": decode("").setup.source})
    assert len(found.problems) == 2


def test_the_name_of_the_present_setup_goes_along():
    link = encode(plain(), name="Low & near")
    assert link.endswith("&called=Low+%26+near")
    assert decode(link) == Decoded(plain(), (), (), "Low & near")
    assert decode(PLAIN + "&called=" + "x" * 41).problems
