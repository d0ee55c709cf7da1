"""Words that everybody understands: how plain, how long, how exact, and what is never said.

Judged is what is really produced (``corpus``): the demo's setups in three systems of units. Groups are the whole of it,
each kind of text (answer, pictures, warnings, cautions, cures, studies, hints, notices), and each kind in one system;
once with all labels, each as a sentence of its own, and once the texts that end in a stop alone.
"""

import re
from collections import defaultdict

import pytest

from curvelab.app.page import Page
from curvelab.app.slots import slots
from curvelab.app.studies.tabs import TABS
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import encode
from curvelab.units import System, gallon_word
from tests.unit.corpus import CATALOGUE, KINDS, Said, everything
from tests.unit.plain import NEVER_SAID, grade, sentences_of, syllables, words_of

MOST_GRADE = 7.0
MOST_GRADE_OF_ONE = 10.0
FEWEST_WORDS = 6
"""A sentence of fewer says too little to be graded by itself: one long word decides. It counts in its groups."""
LONGEST = 160
COUNTED = {
    1: (
        "pump hose valve valves starved takes gives the can't won't rinse ponds fire hours gauge two 300 psi "
        "whole rules pumped curves"
    ),
    2: (
        "hoses water suction discharge gallon outlet strainer little table rated needed tested pushes changes "
        "people fuel quiet drying going higher engine pressure careful safely doesn't isn't couldn't licensed "
        "practice design local choosing goggles couplings throttle warmer falling beyond measured clogging "
        "nothing largest liquid manure sewage muffler somewhere sometimes science create vacuum coupled "
        "gauges discharged settle people's handled sprinkler building ladies running station pieces minutes"
    ),
    3: (
        "area idea estimate invented equipment chemicals nobody impeller permission obvious continue "
        "dangerous easier atmosphere video serious period"
    ),
    4: "imperial experience usually",
    5: "electricity operational",
    6: "reconsideration",
}
NUMBER = re.compile(r"(?<![\w.,])\d[\d,]*(?:\.\d+)?(?!\w)")
NAMED = re.compile(r"ISO \d+|NIOSH \S+|OSHA \S+|BAE-\d+")
"""Numbers that name a paper."""


def test_syllables_are_those_a_person_counts():
    counted = {word: count for count, words in COUNTED.items() for word in words.split()}
    assert {word: syllables(word) for word in counted} == counted


def test_grade_is_the_formula_worked_by_hand():
    # six words, one sentence, six syllables; then twelve words, two sentences, fifteen syllables
    assert grade("The cat sat on the mat.") == pytest.approx(0.39 * 6 + 11.8 * 1 - 15.59)
    text = "The cat sat on the mat. It was a yellow, woolly mat."
    assert grade(text) == pytest.approx(0.39 * 6 + 11.8 * 14 / 12 - 15.59)
    assert grade("Insufficient suction capability necessitates reconsideration of operational parameters.") > 15


def test_sentences_end_at_stops_and_figures_hold_together():
    assert sentences_of("It is 4.2 ft. Is it? It is.") == ["It is 4.2 ft.", "Is it?", "It is."]
    assert words_of("3 in lay-flat: – 2½") == ["3", "in", "lay", "flat:", "2½"]


def groups() -> dict[str, list[str]]:
    found: defaultdict[str, list[str]] = defaultdict(list)
    for one in everything():
        for name in ("everything", one.kind, f"{one.kind}, {one.system}"):
            found[name].append(one.text)
            if one.text.endswith("."):
                found[f"{name}, sentences"].append(one.text)
    return found


def test_every_group_of_texts_is_plain():
    graded = {name: grade(*texts) for name, texts in groups().items()}
    for name, mark in sorted(graded.items()):
        print(f"{mark:5.1f}  {name}")
    assert {name for name in graded if name in KINDS} == set(KINDS)
    assert {name: mark for name, mark in graded.items() if mark > MOST_GRADE} == {}


def each_sentence() -> dict[str, Said]:
    return {sentence: one for one in everything() for sentence in sentences_of(one.text)}


def test_no_sentence_is_hard_or_long():
    hard = {
        sentence: (one.kind, one.setup, len(sentence), round(grade(sentence), 1))
        for sentence, one in each_sentence().items()
        if len(sentence) > LONGEST or (len(words_of(sentence)) >= FEWEST_WORDS and grade(sentence) > MOST_GRADE_OF_ONE)
    }
    assert hard == {}


def test_words_that_nobody_is_to_hear_are_never_said():
    assert {one.text: NEVER_SAID.findall(one.text) for one in everything() if NEVER_SAID.search(one.text)} == {}


def test_no_number_has_more_than_three_figures_that_count():
    def figures(number: str) -> int:
        whole, _, part = number.replace(",", "").partition(".")
        return len((whole + part).lstrip("0") if part else whole.strip("0"))

    assert [figures(number) for number in ("3,000", "0.0123", "14.9", "2,630", "10.25")] == [1, 3, 3, 3, 4]
    exact = {
        one.text
        for one in everything()
        if any(figures(number) > 3 for number in NUMBER.findall(NAMED.sub("", one.text)))
    }
    assert exact == set()


def test_nothing_that_isnt_a_number_is_said():
    odd = re.compile(r"\b(nan|None|inf|null)\b|(?<![\w−-])-\d|\s\s|\.\.|[{}]")
    assert {one.text for one in everything() if odd.search(one.text)} == set()


@pytest.mark.parametrize("system", [System.US, System.IMPERIAL])
@pytest.mark.parametrize("job", sorted(default_catalogue().setups))
def test_gallons_are_never_without_their_kind(job: str, system: System):
    """Each part of the page that counts in gallons says once which: part by part, since a phone shows one at a time."""
    made = Page(CATALOGUE, encode(CATALOGUE.setups[job].with_("units", str(system)), catalogue=CATALOGUE))
    kind = f"{gallon_word(system)} gal"
    filled = slots(made.state, 1)
    answer = re.sub(r'data-kind="(\w+)">', r">\1 ", filled["flow"])
    parts = {"answer": answer, "chart": made.bench.chart.plot.html_attributes["aria-label"]}
    parts |= {tab.key: " ".join(made.studies.words(tab.key).values()) for tab in TABS}
    for name, html in parts.items():
        text = re.sub("<[^>]+>", "", html)
        if "gal" in text:
            assert kind in text, (name, text)


PROMISES = re.compile(
    r"(?<!not )(?<!no )\bsafe(ly|ty|r)?\b|guarantee|risk-free|harmless|no (danger|risk)|can.?t (hurt|fail)|certif|"
    r"\bapproved|\ball.clear\b|drinkable|fit to drink|never fails|worry",
    re.IGNORECASE,
)


def test_nothing_promises_safety():
    assert PROMISES.search("This pump is safe.")
    assert not PROMISES.search("Not drinking water.")
    assert {one.text for one in everything() if PROMISES.search(one.text)} == set()
