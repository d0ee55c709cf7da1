"""Words of the page by place, as HTML. Everything that a file or a link could have written is escaped here."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any, Final

from jinja2 import Environment, PackageLoader, StrictUndefined

from curvelab.app.chalks import all_seen, seen
from curvelab.app.state import AppState, Shown
from curvelab.report.against import Seen, against, over, title
from curvelab.report.answers import pressure_units, readings, readings_note, what_that_does, what_that_does_title
from curvelab.report.cautions import LAST, open_cautions, what_can_hurt
from curvelab.report.cautions import Shown as Caution
from curvelab.report.chalked import column_head
from curvelab.report.table import item_name
from curvelab.report.words import chip, flow_words, suction, suction_title
from curvelab.studies.result import Result, State, Warn
from curvelab.units import gallon_word

RUN_NOTE: Final = "height between hose and dashed line is pressure; hatched below the hose is vacuum"
_SAID_ELSEWHERE: Final = ("over-rated",)
"""Warnings that the cautions give with their figures."""

_environment = Environment(
    loader=PackageLoader("curvelab.app", "templates"), autoescape=True, undefined=StrictUndefined, trim_blocks=True
)
_words: Any = _environment.get_template("words.html").module
_icons: Any = _environment.get_template("icons.html").module


def slots(state: AppState, heights: int) -> dict[str, str]:
    """HTML of every place, by its name in the template; ``heights`` is by how much the run exaggerates them."""
    shown = state.shown
    result, figures, setup = shown.result, shown.figures, shown.setup
    flow, kind = flow_words(figures), gallon_word(shown.system)
    now, chalked = seen(state), all_seen(state)
    filled = {
        "title": _words.title(setup),
        "notice": _words.notice(state.notices),
        "flow": _words.flow(flow, result.state, kind),
        "chip": _words.chip(chip(result)),
        "does": _words.does(what_that_does_title(result), what_that_does(result, setup, shown.system)),
        "suction": _words.suction(suction_title(result), suction(figures, setup)),
        "also": _words.also([] if _minded_below(state) else [w.text for w in _else_to_mind(result)]),
        "against": _against(now, chalked, also=not _minded_below(state) and bool(_else_to_mind(result))),
        "over": _words.over(*(over(now, chalked[0][1], chalked[0][0]) if chalked else ("", ""))),
        "ledger": _ledger(shown, now, chalked),
        "run_note": _run_note(shown, heights),
        "readings": _words.readings(readings(figures), readings_note(result)),
        "cautions": _cautions(state),
        "hurts": _words.hurts(what_can_hurt(_opened(state))),
    }
    return {name: str(html) for name, html in filled.items()}


def _run_note(shown: Shown, heights: int) -> str:
    parts = (RUN_NOTE, pressure_units(shown.system), f"heights drawn ×{heights}" if heights != 1 else "")
    return "; ".join(part for part in parts if part)


def shapes() -> str:
    """What the icons point to, as SVG."""
    return str(_icons.shapes())


def logo() -> str:
    """The mark, as SVG."""
    return str(_icons.logo())


def _ledger(shown: Shown, now: Seen, chalked: Sequence[tuple[str, Seen]]) -> str:
    """The ledger as a table, from the top of the column down; on a phone it stands for the names beside the columns."""
    result, columns = shown.result, [*(other.figures for _, other in chalked), shown.figures]
    items = dict.fromkeys(item for figures in columns for item in reversed(list(figures.ledger)))
    rows = [
        (
            item,
            item_name(item, result, shown.setup),
            [figures.ledger[item].text if item in figures.ledger else "0" for figures in columns],
        )
        for item in items
    ]
    at_rest = result.state in (State.NO_LIFT, State.NO_PRIME)
    totals = [figures.total.text for figures in columns]
    heads = [*(column_head(letter, other, now) for letter, other in chalked), "now"]
    total = "Asked at rest" if at_rest else "The pump must push"
    return _words.ledger("Head ledger", shown.figures.total.unit, heads, rows, (total, totals))


def _cautions(state: AppState) -> str:
    """In view what this very setup opens and what can't be waved away; in a fold the whole, and who says so."""
    shown, opened = state.shown, _opened(state)
    hidden = [caution for caution in opened if caution.dismissible and caution.id in state.hidden]
    standing = [caution for caution in opened if caution not in hidden]
    first = [caution for caution in standing if caution.pressing or not caution.dismissible]
    minded = [warning.text for warning in _else_to_mind(shown.result)] if _minded_below(state) else []
    return _words.cautions(first, [one for one in standing if one not in first], hidden, minded, LAST)


def _opened(state: AppState) -> tuple[Caution, ...]:
    """The cautions that the setup shown opens, without the line that stands under every list."""
    shown = state.shown
    return open_cautions(state.catalogue.cautions.values(), shown.result, shown.setup, shown.system)[:-1]


def _minded_below(state: AppState) -> bool:
    """What would help, or what changed, takes the place beside the answer; what else to mind is among the cautions."""
    return state.shown.result.in_trouble or bool(state.chalks)


def _against(now: Seen, chalked: Sequence[tuple[str, Seen]], *, also: bool) -> str:
    """What changed against what is chalked; with nothing chalked, what to do, unless there is something to mind."""
    if not chalked and (also or now.result.in_trouble):
        return ""
    letters, others = "".join(letter for letter, _ in chalked), [other for _, other in chalked]
    return _words.against(title(now, others, letters), against(now, others, letters))


def _else_to_mind(result: Result) -> list[Warn]:
    return [warning for warning in result.warnings if warning.code not in _SAID_ELSEWHERE]
