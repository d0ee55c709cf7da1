"""What a result is called and why, in words that a customer reads in ten seconds.

Every sentence keeps to 160 characters and to the words of the trade: to spare, asks, gives, gives out, starved, short,
hump, end shut. Figures come from ``rounded`` and from nowhere else.
"""

from __future__ import annotations

from dataclasses import dataclass
from typing import Final

from curvelab.model.setup import Setup
from curvelab.report.rounded import Figure, Rounded
from curvelab.studies.result import Result, State
from curvelab.studies.say import capital
from curvelab.units import gallon_word

LONGEST: Final = 160
"""Most characters of a sentence block. [-]"""
_LONGEST_NAME: Final = 24
LOCAL_CODES: Final = "Local codes and licensed practice come first."
"""Stands under every list of cautions."""
FOOTER: Final = (
    "An estimate for choosing equipment, not a design. Local codes and licensed practice come first. "
    "Pumps, prices and places are invented."
)
"""Stands on every screen and sheet."""
_CHIPS: Final = {
    State.SOUND: "Runs well",
    State.THIN: "Runs, with little to spare",
    State.CAVITATING: "Starved at the suction",
    State.NO_LIFT: "Can’t lift it that high",
    State.NO_PRIME: "Won’t prime",
    State.OFF_CURVE: "Past the tested curve",
}
_PERHAPS_STARVED: Final = "Runs, perhaps starved"
_NOT_KNOWN: Final = "Runs, suction not known"
_HELD: Final = "Runs, held back in the line"
_NOT_SO_LOW: Final = "Not tested so low"
_UNDER_RATED: Final = "hose rated too low"
_FUMES: Final = {"building": "fumes kill indoors", "pit": "fumes kill in a pit"}
"""What is wrong with a place for an engine, however well the water runs."""
_TAKES: Final = {"lift": "lift", "suction": "the hose", "vapour": "vapour"}
"""What takes of the air's push before the pump, by its item of the suction budget."""
_RUNS: Final = (State.SOUND, State.THIN, State.OFF_CURVE)


@dataclass(frozen=True, slots=True)
class Chip:
    """The state in a word, and after it what can hurt, the gravest first: engine fumes, a hose under its rating."""

    state: State
    word: str
    alarms: tuple[str, ...] = ()
    shape: State = State.SOUND
    """The state whose sign stands before it: never that of a pump that runs well where nobody knows."""

    @property
    def text(self) -> str:
        """All: ``Runs well, hose rated too low``."""
        return ", ".join((self.word, *self.alarms))


@dataclass(frozen=True, slots=True)
class Said:
    """A sentence with a bold lead."""

    lead: str
    rest: str

    @property
    def text(self) -> str:
        """Lead and rest as one text."""
        return f"{self.lead} {self.rest}".strip()


@dataclass(frozen=True, slots=True)
class FlowWords:
    """The flow in large figures: ``about`` · ``117`` · ``gal/min``, and what stands beside it."""

    before: str
    number: str
    unit: str
    beside: str = ""

    @property
    def text(self) -> str:
        """All in one line."""
        return self.spoken("")

    def spoken(self, kind: str) -> str:
        """All in one line, with the kind of gallon: ``about 117 US gal/min``."""
        flow = self.with_kind(kind)
        return f"{flow}, {self.beside}" if self.beside else flow

    def with_kind(self, kind: str) -> str:
        """The flow alone, with the kind of gallon."""
        return " ".join(word for word in (self.before, self.number, kind, self.unit) if word)


def delivers(result: Result) -> bool:
    """Water comes out at the end."""
    return bool(result.flow_m3_s)


def perhaps_starved(result: Result) -> bool:
    """The pump states no need and the flow lies in or beyond the guess at where its suction gives out."""
    return result.state in _RUNS and result.perhaps_starved


def chip(result: Result) -> Chip:
    """The state word; no engine where its fumes stay and no hose under its rating goes out without its own."""
    word = _CHIPS[result.state]
    if perhaps_starved(result):
        word = _PERHAPS_STARVED
    elif result.state is State.OFF_CURVE and result.flow_m3_s is None:
        word = _NOT_SO_LOW
    elif result.suction_unknown:
        word = _NOT_KNOWN
    elif result.held_in_line:
        word = _HELD
    shape = State.THIN if result.unsure or result.held_in_line else result.state
    place = result.inputs.get("job", {}).get("place", "")
    alarms = (_FUMES.get(place, ""), _UNDER_RATED if result.over_rated else "")
    return Chip(result.state, word, tuple(alarm for alarm in alarms if alarm), shape)


def flow_words(figures: Rounded) -> FlowWords:
    """The flow, with ``about`` where the suction holds it and ``at least`` past the tested curve."""
    result, unit = figures.result, figures.flow_unit.symbol
    if figures.flow is None:
        return FlowWords("", "?", unit, "less than anybody has tested")
    if perhaps_starved(result):
        return FlowWords("", figures.flow.text, unit, _perhaps_less(figures))
    before = {State.CAVITATING: "about", State.OFF_CURVE: "at least"}.get(result.state, "")
    return FlowWords(before if delivers(result) else "", figures.flow.text, unit)


def said(figures: Rounded) -> str:
    """Flow and state in one sentence, for those who hear it: ``186 US gal/min: Runs well, hose rated too low.``."""
    kind = gallon_word(figures.system)
    return f"{capital(flow_words(figures).spoken(kind))}: {chip(figures.result).text}."


def suction_title(result: Result) -> str:
    """Head of the sentence that ``suction`` gives."""
    if result.state in (State.SOUND, State.THIN):
        return "Suction, and hose" if result.over_rated else "Suction"
    return "Why"


def suction(figures: Rounded, setup: Setup) -> Said:
    """What the suction has to spare, or why it does not run as it should."""
    match figures.result.state:
        case State.CAVITATING:
            return _starved(figures)
        case State.NO_LIFT:
            return _no_lift(figures, setup)
        case State.NO_PRIME:
            return _no_prime(figures)
        case State.OFF_CURVE:
            return _off_curve(figures)
        case _:
            return _thin(figures) if figures.result.state is State.THIN else _sound(figures)


def on_chart(figures: Rounded) -> str:
    """The sentence on the chart; empty where there is nothing to say."""
    result = figures.result
    match result.state:
        case State.NO_LIFT:
            if result.crossing_flow_m3_s is not None:
                return "The curves meet, but the pump can’t push the first water over the top."
            return "The curves never meet: at every flow the site asks for more head than this pump gives."
        case State.NO_PRIME:
            return _once_primed(figures)
        case State.OFF_CURVE:
            if result.flow_m3_s is None:
                return "The tested curve starts here."
            return "The tested curve ends here."
        case _:
            return _past_the_limit(figures)


def hardest_point(result: Result, setup: Setup) -> str:
    """Name of the point that asks most: a waypoint's own, else hump, outlet, pump, hose joint."""
    point = result.governing_point
    if point.kind == "waypoint":
        near = min(setup.discharge.waypoint, key=lambda w: abs(w.distance.si - point.distance_m), default=None)
        return _named(near.name if near is not None else None)
    return {"outlet": "outlet", "pump": "pump", "joint": "hose joint", "booster": "second pump"}.get(
        point.kind, "outlet"
    )


def highest_point(result: Result, setup: Setup) -> str:
    """Name of the point that the first water has to climb to."""
    lift = next((part.head_m for part in result.ledger if part.item == "lift"), 0.0)
    asked = result.start_head_m - lift
    for waypoint in setup.discharge.waypoint:
        if abs(waypoint.height.si - asked) < 1e-6:
            return _named(waypoint.name)
    return "outlet"


def _fitting(lead: str, *rests: str) -> Said:
    """The lead with the first of the rests that keeps to the length; the last where none does."""
    fitting = (rest for rest in rests if len(lead) + 1 + len(rest) <= LONGEST)
    return Said(lead, next(fitting, rests[-1]))


def _named(name: str | None) -> str:
    """A waypoint's own name where it is short enough for a sentence."""
    return name if name and len(name) <= _LONGEST_NAME else "hump"


def _bare(figure: Figure | None) -> str:
    return "" if figure is None else figure.text


def _sound(figures: Rounded) -> Said:
    result, left = figures.result, figures.npsha
    if result.npshr_estimate_m is not None:
        return _guessed(figures)
    if "needs" not in figures.budget:
        return Said(
            "Suction not known this far.",
            f"{left} is left at the pump. What it needs is tested up to a lower flow only.",
        )
    lead = f"{figures.budget['spare']} of suction to spare."
    if result.npsha_m is not None and result.npsha_m > result.air_head_m:
        helped = f"The water stands above the pump and helps: {left} is left there"
        return Said(lead, f"{helped}; it needs {figures.budget['needs'].text} at this flow.")
    push = f"{left} of the air’s push is left at the pump"
    return Said(lead, f"{push}, which needs {figures.budget['needs'].text} at this flow.")


def _thin(figures: Rounded) -> Said:
    spare, margin = figures.budget["spare"], figures.head(figures.result.margin_m)
    amount = f"Just under {margin}" if spare.number >= margin.number else f"Only {spare}"
    asked = f"{margin} is asked."
    return Said(
        f"{amount} of suction to spare.",
        f"{asked} A clogging strainer, warmer water or a falling pond will starve it.",
    )


def _guessed(figures: Rounded) -> Said:
    result = figures.result
    guess = result.npshr_estimate_m
    if guess is None or guess.low is None or guess.high is None:
        return Said("Suction not known.", f"{figures.npsha} is left at the pump. Nobody states what it needs.")
    low, high = figures.head(guess.low), figures.head(guess.high)
    left = f"{figures.npsha} of push is left at the pump."
    need = f"Nobody states what it needs: {low.text} to {high.text} is a guess."
    spare = figures.npsha.minus(high) if figures.npsha is not None else high
    if perhaps_starved(result) or spare.number <= 0:
        worst = f"{left} {need} At worst it gives out {_gives_out(figures)}."
        rests = [f"{left} {need}"] if result.over_rated else [worst, f"{left} {need}"]  # its button needs a line
        return _fitting("Perhaps no suction to spare.", *rests)
    return Said(f"Perhaps {spare} of suction to spare.", f"{left} {need}")


def _gives_out(figures: Rounded) -> str:
    guess = figures.result.cavitation_flow_estimate_m3_s
    low = figures.flow_of(guess.low) if guess is not None and guess.low else None
    return "before the first drop" if low is None or low.number == 0 else f"at {low}"


def _perhaps_less(figures: Rounded) -> str:
    guess = figures.result.cavitation_flow_estimate_m3_s
    if guess is None or not guess.low:
        return "perhaps less: none, at a guess"
    low, flow = figures.flow_of(guess.low), figures.flow
    high = figures.flow_of(guess.high) if guess.high is not None else None
    if high is not None and flow is not None and high.number < flow.number:
        return f"perhaps less: {low.text} to {high.text}, at a guess"
    return f"perhaps less: down to {low.text}, at a guess"


def _starved(figures: Rounded) -> Said:
    result, left = figures.result, figures.npsha
    if not delivers(result):
        short = figures.budget.get("spare", figures.air).size
        lead = f"{short} of suction short." if short.number else "No suction to spare."
        return Said(lead, f"{_spent(figures)}; {_bare(left)} is left and the pump needs more before the first drop.")
    spent = _spent(figures)
    more = "The pump could give more" if figures.crossing is None else f"The curves cross at {figures.crossing.text}"
    only = f"only about {_bare(figures.flow)} can get in."
    needs = f"{spent}; the pump needs the {_bare(left)} left"
    forms = (f"{needs}. {more}, but {only}", f"{needs}. {more}; {only}", f"{needs}, and {only}", f"{spent}, and {only}")
    return _fitting("No suction to spare.", *forms)


def _spent(figures: Rounded) -> str:
    """All that is taken from the air's push, the greatest part first: with what is left it adds up."""
    parts = [(figures.budget[item], name) for item, name in _TAKES.items() if item in figures.budget]
    (most, first), *others = sorted(parts, key=lambda part: -part[0].number)
    taken = [f"{first[0].upper()}{first[1:]} takes {most.text}"]
    taken += [f"{name.removeprefix('the ')} {figure.text}" for figure, name in others if figure.number > 0.0]
    above = f" and the {figures.lift.size.text} of water above" if figures.lift.number < 0.0 else ""
    return f"{', '.join(taken)} of the air’s {figures.air}{above}"


def _no_lift(figures: Rounded, setup: Setup) -> Said:
    result, shutoff, asked = figures.result, figures.shutoff, figures.start
    if shutoff is None:
        return Said("Can’t lift it.", "The site asks more than this pump gives at any flow. Bigger hose won’t help.")
    short = asked.minus(shutoff)
    if (result.shutoff_head_m or 0.0) > result.start_head_m:
        return Said("Can’t hold it up.", f"At best the pump reaches {shutoff}; at every flow the site asks for more.")
    lead = f"{short} short." if short.number else "Just short."
    holds = f"The pump holds water up {shutoff} with no flow"
    point = highest_point(result, setup)
    if result.crossing_flow_m3_s is not None:
        return Said(lead, f"{holds}; the {point} asks {asked.text}. A full line would run, but it can’t fill this one.")
    return Said(lead, f"{holds}; the {point} asks {asked.text} before the first drop. Bigger hose won’t help.")


def _no_prime(figures: Rounded) -> Said:
    reach = figures.reach
    if reach is None:
        return Said("Too high to prime.", "It will run, and nothing comes.")
    over = figures.lift.minus(reach)
    lead = f"{over} too high to prime." if over.number > 0 else "Just too high to prime."
    warm = figures.result.vapour_head_m > 0.1 * figures.result.air_head_m
    where = "when it is this warm" if warm else "at this height above the sea"
    return Said(
        lead,
        f"Dry, this pump draws water up {reach} {where}; the water lies {figures.lift.text} down. "
        "It will run, and nothing comes.",
    )


def _off_curve(figures: Rounded) -> Said:
    flow = figures.flow
    if flow is None:
        return Said(
            "Less than anybody has tested.",
            "This run asks more head than the pump’s first tested point gives, and nobody has measured below it.",
        )
    if perhaps_starved(figures.result):
        beyond = f"The run asks so little that the pump works past its last tested point, {flow}."
        return Said("Past the tested curve.", f"{beyond} At a guess its suction gives out {_gives_out(figures)}.")
    return Said(
        f"At least {flow}.",
        "This run asks so little that the pump works beyond its last tested point. How much more, nobody has measured.",
    )


def _once_primed(figures: Rounded) -> str:
    crossing, limit = figures.crossing, figures.limit
    if crossing is None:
        return "It can’t fill its hose by itself."
    if limit is not None and limit.number < crossing.number:
        return f"Once primed it would be starved at about {limit}; it can’t get there by itself."
    return f"Once primed it would give {crossing}; it can’t get there by itself."


def _past_the_limit(figures: Rounded) -> str:
    guess = figures.result.cavitation_flow_estimate_m3_s
    if figures.limit is not None:
        past = f"Past {figures.limit}" if figures.limit.number else "At every flow"
        return (
            f"{past} the air can’t push water in fast enough: it boils in the pump, which growls, loses flow and wears."
        )
    if guess is None or guess.low is None:
        return ""
    low = figures.flow_of(guess.low)
    span = f"{low.text} to {figures.flow_of(guess.high)}" if guess.high is not None else f"{low} or so"
    return f"Past {span} the air may not push water in fast enough. It’s a guess: nobody states what this pump needs."
