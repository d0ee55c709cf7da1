"""A link reopens exactly what was shared, and opens something sensible whatever was done to it."""

import string
import time
import unicodedata
from collections.abc import Iterable

import pytest
from hypothesis import assume, given, settings
from hypothesis import strategies as st

from curvelab.errors import InputError
from curvelab.model.catalogue import default_catalogue
from curvelab.model.chalk import LETTERS, Chalk
from curvelab.model.fields import FIELDS
from curvelab.model.link import LONGEST, Decoded, decode, encode, opening_of
from curvelab.model.setup import Setup
from tests.properties.setups import CATALOGUE, setups

READY = sorted(CATALOGUE.setups)
ALLOWED = set(string.ascii_letters + string.digits + "-._~,:;/+%?&=")
KEYS = [f.key.replace("*", str(n)) for f in FIELDS for n in ((0, 1, 12) if "*" in f.key else (0,))]


def chalked(setups: Iterable[Setup], names: Iterable[str] = ("", "", "")) -> tuple[Chalk, ...]:
    return tuple(map(Chalk, LETTERS, setups, names))


def link_of(setup: Setup, *chalks: Chalk) -> str:
    try:
        return encode(setup, chalks)
    except InputError as error:
        assume("characters, and a link holds" not in str(error))
        raise


def sensible(query: str) -> Decoded:
    """What holds of anything decoded."""
    began = time.process_time()
    found = decode(query)
    assert time.process_time() - began < 2.0
    assert isinstance(found.setup, Setup)
    assert len(found.chalks) <= len(LETTERS)
    assert len(found.problems) < 60
    for problem in found.problems:
        assert not {c for c in problem if unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")}
        assert len(problem) < 800
        assert problem.endswith((".", "?"))
    return found


@settings(max_examples=80)
@given(setups())
def test_a_link_reopens_the_setup(setup: Setup):
    link = link_of(setup)
    assert decode(link) == Decoded(setup)
    assert len(link) <= LONGEST
    assert set(link) <= ALLOWED
    assert link.startswith("?v=1&")


@settings(max_examples=30)
@given(
    setups(),
    st.lists(st.one_of(setups(), st.sampled_from(READY).map(CATALOGUE.setups.__getitem__)), max_size=3),
    st.tuples(*[st.text(st.characters(exclude_categories=("C", "Z")), max_size=40)] * 3),
)
def test_a_link_reopens_the_chalked_setups(setup: Setup, others: list[Setup], names: tuple[str, str, str]):
    chalks = chalked(others, names)
    assert decode(link_of(setup, *chalks)) == Decoded(setup, chalks)


@pytest.mark.parametrize("name", READY)
def test_every_ready_setup_fits_with_three_chalked(name: str):
    ready = default_catalogue().setups
    chalks = chalked(ready[other] for other in READY[:3])
    assert decode(encode(ready[name], chalks)) == Decoded(ready[name], chalks)


@given(st.text())
def test_any_text_opens_something(query: str):
    sensible(query)


@given(
    st.lists(st.tuples(st.sampled_from([*KEYS, "v", "a.lift", "b.without", "a.w0.at", "c.name"]), st.text(max_size=30)))
)
def test_known_keys_with_any_value_open_something(pairs: list[tuple[str, str]]):
    found = sensible("&".join(f"{key}={value}" for key, value in pairs))
    assert decode(encode(found.setup, found.chalks)) == Decoded(found.setup, found.chalks)


@given(
    st.sampled_from(READY),
    st.lists(st.tuples(st.integers(0, 900), st.integers(0, 30), st.text(ALLOWED, max_size=5)), min_size=1, max_size=6),
)
def test_a_damaged_link_opens_something(name: str, damage: list[tuple[int, int, str]]):
    link = encode(CATALOGUE.setups[name], [Chalk("A", CATALOGUE.setups[READY[0]])])
    for at, lost, put in damage:
        link = link[:at] + put + link[at + lost :]
    found = sensible(link)
    assert decode(encode(found.setup, found.chalks)) == Decoded(found.setup, found.chalks)


@pytest.mark.parametrize(
    "query",
    [
        "&".join(f"k{i}=1" for i in range(3000)),
        "&".join(f"d{i}.len=1+ft" for i in range(700)),
        "&".join(f"w{i}.at=1+ft" for i in range(700)),
        "&".join(f"s{i}.hose=x" for i in range(700)),
        "&".join(f"booster{i}=x" for i in range(700)),
        "&".join(f"pump.record.test.{i}.kind=x" for i in range(300)),
        "&".join(f"a.d{i}.len=x&b.d{i}.len=y&c.w{i}.at=1+m" for i in range(100)),
        "s0.fit=" + ",".join(f"x{i}" for i in range(1500)),
        "source.level=" + "1,".join("" for _ in range(3000)),
        "pump.record.head.points=" + "1,2;" * 1400,
        "lift=" + "9" * 5000,
        "lift=" + "%00" * 1900,
        "lift=9**9**9+ft",
        "=" * 6000,
        "&" * 100_000,
        "d0.len=1+ft&" * 100_000,
        "pump.file=/etc/passwd",
        "pump.file=../../etc/passwd&pump.record.id=x",
        "\ud800=\udfff&title=\ud800&lift=\ud800",
        "%ff%fe=%c0%80",
        "v=99999999999999999999&pump=ferrow-3",
    ],
    ids=lambda query: query[:24],
)
def test_a_hostile_link_opens_something_at_once(query: str):
    sensible(query)


def test_nothing_is_the_opening_setup():
    assert decode("") == decode("?") == Decoded(opening_of(CATALOGUE))
    assert opening_of(CATALOGUE) == CATALOGUE.setups["mill-pond"]
