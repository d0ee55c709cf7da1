"""Everything that is said to a visitor, as it is really produced: the demo's setups in three systems of units."""

import re
from collections.abc import Callable, Iterator
from dataclasses import dataclass, fields, is_dataclass, replace
from functools import cache
from html import unescape
from typing import Any

from curvelab.app import setup_column
from curvelab.app.beginning import form
from curvelab.app.edits import Edit
from curvelab.app.state import AppState, Shown, show
from curvelab.app.studies.tabs import TABS
from curvelab.errors import CurvelabError
from curvelab.model.catalogue import Catalogue, default_catalogue
from curvelab.model.link import decode
from curvelab.model.setup import Setup
from curvelab.report.answers import readings, readings_note, what_that_does, what_that_does_title
from curvelab.report.begin import begun_words
from curvelab.report.cautions import open_cautions
from curvelab.report.cures import help_words, hose_words
from curvelab.report.legs import leg_words, stock_words
from curvelab.report.pictures import bench_words, run_words
from curvelab.report.words import FOOTER, chip, flow_words, on_chart, suction, suction_title
from curvelab.studies.begin import From, Wish, begin
from curvelab.studies.carry import carry
from curvelab.studies.choose import choose
from curvelab.studies.clock import clock
from curvelab.studies.doubt import doubt
from curvelab.studies.feeds import feeds
from curvelab.studies.find import find
from curvelab.studies.limit import limit
from curvelab.studies.mend import mend
from curvelab.studies.power import power_of
from curvelab.studies.several import relay
from curvelab.studies.siphon import siphon
from curvelab.studies.warn import TEXTS
from curvelab.units import System

LIMITS = ("suction.lift", "discharge.rise", "discharge.leg.0.length", "discharge.leg.0.size", "pump.throttle")
LINKS = (
    "?v=1&lift=9+ft&rise=high&flavour=mint&pump=ferrow-3",
    "?v=7&lift=9+gal&lift=8+ft",
    "?pump=nobodys&d1.hose=nobodys&d1.size=7+in",
    "?lift=900+ft&temp=300+degC&throttle=9",
    "?v=1&" + "&".join(f"x{n}=1" for n in range(30)),
)
HINTED = ("mill-pond", "drip-block", "wash-down", "box-figure", "overflowing-pond")
"""Setups whose controls differ."""
BLOCKS = re.compile(r"</?(?:p|h[1-6]|td|th|tr|li|dt|dd|div|caption|button|label|summary|option|text)\b[^>]*>")
CATALOGUE: Catalogue = default_catalogue()


@dataclass(frozen=True, slots=True)
class Said:
    """A text with where it is from."""

    kind: str
    setup: str
    system: System
    text: str


def texts_in(thing: Any) -> Iterator[str]:
    """Every text in a dataclass of words, however deep; kinds, ids and studies' own objects are for no eye."""
    if isinstance(thing, str):
        yield thing
    elif is_dataclass(thing) and not type(thing).__module__.startswith("curvelab.studies."):
        for field in fields(thing):
            if field.name not in ("id", "item", "kind", "state", "setup"):
                yield from texts_in(getattr(thing, field.name))
    elif isinstance(thing, (tuple, list)):
        for part in thing:
            yield from texts_in(part)


def answer(shown: Shown) -> Iterator[str]:
    result, figures, setup = shown.result, shown.figures, shown.setup
    yield from (chip(result).text, flow_words(figures).text, what_that_does_title(result), suction_title(result))
    yield from (line.text for line in what_that_does(result, setup, shown.system))
    yield from (suction(figures, setup).text, on_chart(figures), readings_note(result))
    yield from texts_in(readings(figures))


def pictures(shown: Shown) -> Iterator[str]:
    curves = shown.solved.curves(to_flow_m3_s=1.1 * shown.result.end_flow_m3_s)
    yield from texts_in(bench_words(shown.figures, shown.setup, curves, "Ferrow 3"))
    yield from texts_in(run_words(shown.figures, shown.setup, shown.solved.run))


def cures(shown: Shown) -> Iterator[str]:
    found = mend(shown.setup, CATALOGUE)
    said = help_words(found, shown.figures)
    hose = hose_words(found, shown.figures, shown.setup, CATALOGUE)
    for button in (*said.buttons, *([hose] if hose is not None else [])):
        yield f"{button.change}: {button.leads}"
    yield from (said.sentence, found.sentence, choose(shown.setup, CATALOGUE).sentence)


def in_blocks(html: str) -> Iterator[str]:
    """The texts of HTML, a paragraph, cell or button each."""
    for block in BLOCKS.split(html):
        text = " ".join(unescape(re.sub("<[^>]+>", "", block)).split())
        if re.search(r"\w", text):
            yield text


EXACT = {("sums", "table")}
"""Where every figure stands as it was reckoned, for who wants to check it."""


def tabs(shown: Shown) -> Iterator[str]:
    """What the studies' tabs show."""
    for tab in TABS:
        if not tab.slow or shown.system is System.US:
            told = tab.ask(shown, CATALOGUE)
            for place, html in told.words.items():
                if (tab.key, place) not in EXACT:
                    yield from in_blocks(html)
            yield from (*told.titles, *texts_in(told.drawn))


def studies(shown: Shown) -> Iterator[str]:
    setup = shown.setup
    asked: tuple[Callable[[], Any], ...] = (
        *((lambda found=found: found(setup, CATALOGUE)) for found in (clock, power_of, siphon, relay, carry)),
        lambda: feeds(setup, catalogue=CATALOGUE),
    )
    if setup.units is System.US or setup.outlet.kind != "open":  # these take most of the time
        asked += (lambda: doubt(setup, catalogue=CATALOGUE, samples=100), lambda: find(setup, CATALOGUE))
        asked += tuple((lambda path=path: limit(setup, path, catalogue=CATALOGUE)) for path in LIMITS)
    for ask in asked:
        try:
            found = ask()
        except CurvelabError:
            continue  # a question that this setup can't be asked
        yield found.sentence
        yield from (warning.text for warning in getattr(found, "warnings", ()))
        yield getattr(found, "caution", "")


def hints(shown: Shown) -> Iterator[str]:
    """What a control says under its row: nonsense, too little and too much of everything."""
    state = AppState(CATALOGUE, shown.setup)
    for group in setup_column.stations(shown.setup, CATALOGUE):
        for row in group["rows"]:
            if row["kind"] in ("slider", "number"):
                for text in ("twelve", "−9999", "9999999", "3 gal", "7", "", "4; 5", "1,5"):
                    state.apply([Edit("type", row["path"], text)], held=True)
                    yield from (*state.faults.values(), *state.remarks.values())


def beginnings(shown: Shown) -> Iterator[str]:
    """What four answers about this place would be told, with little, much and as much as it gives asked."""
    setup = shown.setup
    answers = Wish(
        source=From.CELLAR if setup.job.place == "building" else From.POND,
        lift_m=setup.suction.lift.si,
        rise_m=setup.discharge.rise.si,
        distance_m=sum(leg.length.si for leg in setup.discharge.leg),
        altitude_m=setup.site.altitude.si,
        temperature_k=setup.site.temperature.si,
        units=setup.units,
    )
    for wish in (answers, replace(answers, flow_m3_s=0.002), replace(answers, flow_m3_s=0.3, lift_m=9.0)):
        yield from begun_words(begin(wish, CATALOGUE), CATALOGUE)


def legs(shown: Shown) -> Iterator[str]:
    """What lies behind the buttons of the hose, one and several."""
    for leg in (*shown.setup.suction.leg, *shown.setup.discharge.leg):
        for each in (leg, leg.with_("abreast", 2).with_("length", "37 m")):
            yield f"then {leg_words(each, CATALOGUE, shown.system)}"
            yield stock_words(each, CATALOGUE, shown.system)


KINDS: dict[str, Callable[[Shown], Iterator[str]]] = {
    "answer": answer,
    "pictures": pictures,
    "warnings": lambda shown: (warning.text for warning in shown.result.warnings),
    "cautions": lambda shown: (
        text
        for caution in open_cautions(CATALOGUE.cautions.values(), shown.result, shown.setup, shown.system)
        for text in (caution.short, caution.text)
    ),
    "cures": cures,
    "tabs": tabs,
    "studies": studies,
    "legs": legs,
    "beginnings": beginnings,
    "hints": hints,
}


def of(setup: Setup, name: str, system: System) -> Iterator[Said]:
    """All that is said of a setup."""
    shown = show(setup.with_("units", str(system)), CATALOGUE)
    for kind, say in KINDS.items():
        if kind not in ("hints", "beginnings") or name in HINTED:
            yield from (Said(kind, name, system, text) for text in say(shown) if text)


@cache
def everything() -> tuple[Said, ...]:
    """All that is said, each text of a kind once a system of units."""
    said = [one for name, setup in CATALOGUE.setups.items() for system in System for one in of(setup, name, system)]
    notices = (problem for link in LINKS for problem in decode(link, CATALOGUE).problems)
    said += [Said("notices", "", System.US, text) for text in (*notices, FOOTER, *in_blocks(form()))]
    said += [Said("warnings", "", System.US, re.sub(r"\{\w+\}", "Ferrow 3", text)) for text in TEXTS.values()]
    said += [Said("cautions", "", System.US, caution.text) for caution in CATALOGUE.cautions.values()]
    return tuple({(one.kind, one.system, one.text): one for one in said}.values())
