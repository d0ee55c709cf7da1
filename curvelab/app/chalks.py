"""What a visitor does with chalk: keep a setup, compare it with the next size, rename, bring back, wipe.

Nothing is lost: what is brought back leaves the present setup in its place, and what was wiped can be had again.
"""

from __future__ import annotations

from collections.abc import Callable, Iterable
from dataclasses import dataclass, replace
from typing import Any, Final

from curvelab.app.past import in_units
from curvelab.app.setup_column import ghost_of
from curvelab.app.state import AppState, Kept, keep, show
from curvelab.errors import InputError
from curvelab.model.catalogue import Catalogue
from curvelab.model.chalk import LETTERS, NAME, Chalk
from curvelab.model.setup import Setup
from curvelab.report.against import Seen
from curvelab.report.chalked import FULL, button, chalked_as, compare_words, kept_words, rows
from curvelab.report.changed import alike
from curvelab.studies.sizes import next_sizes
from curvelab.units import System

MOST_WIPED: Final = 9
"""So many wiped setups can be had again. [-]"""
_WAYS: Final = ("down", "up")


@dataclass(frozen=True, slots=True)
class Act:
    """``do``: chalk, unwipe; compare ``at`` down or up; wipe, swap, rename the one ``at`` a letter."""

    do: str
    at: str = ""
    value: str = ""


def read_act(message: Any) -> Act | None:
    """What the browser asks for; ``None`` for anything that is no business of chalk."""
    if not isinstance(message, dict) or message.get("do") not in _ACTS:
        return None
    at, value = message.get("path", ""), message.get("value", "")
    return Act(message["do"], at, value) if isinstance(at, str) and isinstance(value, str) else None


def act(state: AppState, what: Act) -> None:
    """Do it."""
    _ACTS[what.do](state, what)


def opened(chalks: Iterable[Chalk], system: System, catalogue: Catalogue) -> tuple[list[Kept], list[str]]:
    """The chalked setups of a link, and in words those that can't be worked out."""
    kept: list[Kept] = []
    problems: list[str] = []
    for chalk in chalks:
        try:
            shown = show(in_units(chalk.setup, system), catalogue)
        except InputError as error:
            fault = error.faults[0]
            problems.append(f"Setup {chalk.letter}, kept to compare, can’t be worked out: {fault.got}; {fault.right}.")
        else:
            kept.append(keep(chalk.letter, shown, chalk.name))
    return kept, problems


def seen(state: AppState, kept: Kept | None = None) -> Seen:
    """A chalked setup, or the present one, for the words."""
    shown = kept.shown if kept is not None else state.shown
    pumps = {pump.id: pump.label for pump in state.catalogue.pumps.values()}
    return Seen(shown.setup, shown.result, shown.figures, kept.name if kept is not None else "", pumps)


def all_seen(state: AppState) -> list[tuple[str, Seen]]:
    """All chalked setups with their letters."""
    return [(kept.letter, seen(state, kept)) for kept in state.chalks]


def listed(state: AppState) -> list[list[str]]:
    """The list of what is chalked: letter, name, given name, flow, trouble."""
    return [[row.letter, row.name, row.given, row.flow, row.trouble] for row in rows(seen(state), all_seen(state))]


def offered(state: AppState) -> dict[str, Any]:
    """What can be done, for the buttons beside that list, and what came of the last thing done."""
    now, chalked = seen(state), all_seen(state)
    text, ready = button(now, chalked)
    wiped = state.wiped[-1] if state.wiped and len(chalked) < len(LETTERS) else None
    return {
        "button": [text, ready],
        "compare": [[way, compare_words(setup)] for way, setup in _ways(state, now, chalked)],
        "wiped": wiped.letter if wiped is not None else "",
        "said": state.said,
    }


def ghosts(state: AppState, structure: list[dict[str, Any]]) -> dict[str, Any]:
    """What the chalked setups have in the rows of the setup column, by path: letter and value."""
    found: dict[str, list[list[Any]]] = {}
    for kept in state.chalks:
        for path, value in ghost_of(kept.shown.setup, structure, state.catalogue).items():
            found.setdefault(path, []).append([kept.letter, value])
    return found


# --- what can be done


def _chalk(state: AppState, _what: Act) -> None:
    like = chalked_as(seen(state), all_seen(state))
    if like:
        state.said = f"This setup is kept already, as {like}."
        return
    letter = _free(state.chalks)
    if not letter:
        state.said = FULL
        return
    made = keep(letter, state.shown, name_of_present(state))
    state.put(state.shown, [*state.chalks, made], said=kept_words(letter, seen(state, made)))


def _compare(state: AppState, what: Act) -> None:
    """Chalk the present setup, unless it is already, and lay its hose in the next size."""
    now, chalked = seen(state), all_seen(state)
    setup = dict(_ways(state, now, chalked)).get(what.at)
    if setup is None:
        return
    shown, chalks = show(setup, state.catalogue), list(state.chalks)
    if not chalked_as(now, chalked):
        chalks.append(keep(_free(chalks), state.shown, name_of_present(state)))
    state.put(shown, chalks, said="")


def _wipe(state: AppState, what: Act) -> None:
    kept = _at(state, what.at)
    if kept is not None:
        rest = [other for other in state.chalks if other is not kept]
        state.put(state.shown, rest, wiped=[*state.wiped, kept][-MOST_WIPED:], said=f"{kept.letter} is wiped.")


def _unwipe(state: AppState, _what: Act) -> None:
    letter = _free(state.chalks)
    if not state.wiped or not letter:
        return
    *wiped, kept = state.wiped
    if _at(state, kept.letter) is None:
        letter = kept.letter
    again = replace(state.in_same_units(kept, state.system), letter=letter)
    state.put(state.shown, [*state.chalks, again], wiped=wiped, said=f"{letter} is back.")


def _swap(state: AppState, what: Act) -> None:
    """The chalked setup is shown, and the present one is chalked in its place, under the name that it came with."""
    kept = _at(state, what.at)
    if kept is None or alike(state.setup, kept.shown.setup):
        return
    made = keep(kept.letter, state.shown, name_of_present(state))
    chalks = [made if other is kept else other for other in state.chalks]
    state.put(kept.shown, chalks, said=f"{kept.letter} is brought back; what was shown is kept in its place.")
    state.came_from = kept.name, kept.shown.setup


def _rename(state: AppState, what: Act) -> None:
    kept = _at(state, what.at)
    try:
        name = NAME.read(what.value.strip())
    except InputError as error:
        state.said = f"The name stays as it was: {error.faults[0].got}."
        return
    if kept is not None and name != kept.name:
        renamed = replace(kept, name=name)
        chalks = [renamed if other is kept else other for other in state.chalks]
        state.put(state.shown, chalks, said=f"{kept.letter} is called {name}." if name else "")


_ACTS: Final[dict[str, Callable[[AppState, Act], None]]] = {
    "chalk": _chalk,
    "compare": _compare,
    "wipe": _wipe,
    "unwipe": _unwipe,
    "swap": _swap,
    "rename": _rename,
}


def _at(state: AppState, letter: str) -> Kept | None:
    return next((kept for kept in state.chalks if kept.letter == letter), None)


def _free(chalks: Iterable[Kept]) -> str:
    """The first letter that none of them has; empty where none is left."""
    taken = {kept.letter for kept in chalks}
    return next((letter for letter in LETTERS if letter not in taken), "")


def name_of_present(state: AppState) -> str:
    """The name it had while it was chalked, if it is still as it was then."""
    name, setup = state.came_from or ("", state.setup)
    return name if name and alike(state.setup, setup) else ""


def _ways(state: AppState, now: Seen, chalked: list[tuple[str, Seen]]) -> list[tuple[str, Setup]]:
    """The next smaller and larger size of hose, less what is chalked already; none where nothing more can be kept."""
    if len(chalked) == len(LETTERS) and not chalked_as(now, chalked):
        return []
    pairs = zip(_WAYS, next_sizes(state.setup, state.catalogue), strict=True)
    found = [(way, sized.setup) for way, sized in pairs if sized is not None]
    return [(way, setup) for way, setup in found if not any(alike(setup, other.setup) for _, other in chalked)]
