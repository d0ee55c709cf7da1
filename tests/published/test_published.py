"""The package against published numbers, and the records against their own rules."""

from __future__ import annotations

import re
import tomllib
from pathlib import Path

import pytest

from tests.published import checks, pump_checks, slow_checks, study_checks  # noqa: F401 (their functions enter themselves)
from tests.published.records import CHECKS, STATUS, Record, records

RECORDS = records()
ROOT = Path(__file__).parents[2]
SOURCES = {
    source["id"]: source
    for source in tomllib.loads((ROOT / "data" / "sources.toml").read_text(encoding="utf-8"))["source"]
}
by_name = pytest.mark.parametrize("record", RECORDS, ids=lambda record: record.name)


@by_name
def test_the_package_agrees(record: Record):
    computed, target, allowance = record.computed(), record.target(), record.allowance()
    assert abs(computed - target) <= allowance, (
        f"{record.entry['what']}: computed {computed:.6g}, wanted {target:.6g} to {allowance:.2g} (SI)"
    )


@by_name
def test_a_record_is_whole(record: Record):
    entry = record.entry
    assert entry["status"] in STATUS
    assert entry["source"] in SOURCES, f"{entry['source']} is not in data/sources.toml"
    assert len(entry["because"]) > 10, "a tolerance has a reason"
    assert len(entry["page"]) > 2
    assert record.allowance() > 0.0
    assert record.allowance() <= 0.08 * abs(record.target()) or entry["status"] == "practice"


@pytest.mark.parametrize("record", [r for r in RECORDS if "recomputed" in r.entry], ids=lambda record: record.name)
def test_a_source_is_overruled_only_where_it_is_wrong_and_with_a_reason(record: Record):
    assert len(record.entry["disagreement"]) > 10
    assert abs(record.computed() - record.value("printed")) > record.allowance(), "the printed value would have done"


@pytest.mark.parametrize("record", [r for r in RECORDS if "wrong" in r.entry], ids=lambda record: record.name)
def test_a_known_slip_is_not_made(record: Record):
    assert len(record.entry["slip"]) > 10
    assert abs(record.computed() - record.value("wrong")) > 3.0 * record.allowance()


def test_there_are_enough_and_no_two_have_one_name():
    names = [record.name for record in RECORDS]
    assert len(set(names)) == len(names)
    published = [record for record in RECORDS if record.entry["status"] in {"P", "S"}]
    assert len(published) >= 90
    assert not [record for record in RECORDS if record.entry["status"] == "M"], "from memory is no ground"


def test_every_kind_of_check_is_used():
    assert {record.entry["check"] for record in RECORDS} == set(CHECKS)


def references() -> list[tuple[str, str]]:
    """Every numbered reference in the docstrings of the physics, with its module."""
    entry = re.compile(r'^ *\.\. \[\d+\] (.+?)(?=\n *\n|\n *\.\.|\n *""")', flags=re.MULTILINE | re.DOTALL)
    return [
        (path.stem, " ".join(text.split()))
        for path in sorted((ROOT / "curvelab" / "hydraulics").glob("*.py"))
        for text in entry.findall(path.read_text(encoding="utf-8"))
    ]


REFERENCES = references()
OWN_WORK = ("Follows from", "Own derivation", "Definition", "Geometry", "Balance of")


@pytest.mark.parametrize(("module", "reference"), REFERENCES)
def test_every_reference_of_the_physics_is_listed(module: str, reference: str):
    cited = [source for source in SOURCES.values() if "cite" in source and source["cite"] in reference]
    assert cited or reference.startswith(OWN_WORK), f"{module}: {reference} is not in data/sources.toml"
    for source in cited:
        honest = (
            source["seen"] or "doi:10." in source["where"] or re.search("from memory|, as in", reference, re.IGNORECASE)
        )
        assert honest, f"{module}: {reference} was not seen and does not say so"


def test_every_source_is_used():
    used = {record.entry["source"] for record in RECORDS}
    for _, reference in REFERENCES:
        used |= {name for name, source in SOURCES.items() if "cite" in source and source["cite"] in reference}
    assert set(SOURCES) == used


def test_sources_say_where_and_whether_they_were_seen():
    for name, source in SOURCES.items():
        assert re.fullmatch(r"[a-z0-9-]+", name)
        assert set(source) <= {"id", "title", "where", "seen", "cite"}, name
        assert source["title"]
        assert source["where"]
        assert isinstance(source["seen"], bool)
