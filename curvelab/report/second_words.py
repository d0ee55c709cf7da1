"""What a second pump gives, in sentences: beside the first, in the line, and what there is as the setup stands."""

from __future__ import annotations

import math
from typing import Final

from curvelab.report.rounded import Figure
from curvelab.report.words import delivers
from curvelab.studies.result import State
from curvelab.studies.second import Kind, Second, Way
from curvelab.units import Quantity, display_unit, show

_HARDLY: Final = 0.03
"""Share of the flow under which a gain is hardly one. [-]"""
_CLOSE: Final = 0.97
"""Share of the shut-off head past which a weaker pump beside another is soon pushed back. [-] Common practice, no
source."""
_DOUBLE: Final = 0.9
"""Share of the flow of one that a second pump must bring to count as doubling it. [-]"""
NONE: Final = "–"
"""What stands in a table where nothing is known."""


class SecondFigures:
    """The one set of figures: every flow in the unit of the greatest."""

    def __init__(self, found: Second) -> None:
        self.found, self.system = found, found.setup.units
        self.unit = display_unit(Quantity.FLOW, self.system, max(w.result.flow_m3_s or 0.0 for w in found.ways))
        self.alone = found.ways[0]
        self.one = self.flow(self.alone)

    def flow(self, way: Way) -> Figure:
        """Delivered flow; 0 where nothing comes."""
        return self.of(way.result.flow_m3_s or 0.0)

    def of(self, flow_m3_s: float) -> Figure:
        """Any flow, rounded."""
        return Figure(self.unit.round(self.unit.from_si(flow_m3_s)) + 0.0, self.unit.symbol)

    def gain(self, way: Way) -> Figure:
        """Over one pump alone, between printed figures."""
        return self.flow(way).minus(self.one)

    def place(self, way: Way) -> str:
        """Where its pump in the line stands."""
        return show(way.place_m or 0.0, Quantity.LENGTH, self.system)

    def shown(self, value: float | None, quantity: Quantity) -> str:
        """A value with its unit."""
        return NONE if value is None else show(value, quantity, self.system)


def brief(figures: SecondFigures) -> str:
    """Under the tab's name."""
    beside, line = figures.found.way(Kind.BESIDE), figures.found.way(Kind.LINE)
    if not any(way is not None and delivers(way.result) for way in (beside, line)):
        return "no second one helps"
    parts = [] if beside is None else [f"a second: {_brief_of(figures, beside)}"]
    parts.append("none in line" if line is None else f"in line: {_brief_of(figures, line)}")
    return ", ".join(parts)


def _brief_of(figures: SecondFigures, way: Way) -> str:
    if not delivers(way.result):
        return "nothing"
    if way.result.state is State.CAVITATING:
        return "starved"
    if not delivers(figures.alone.result):
        return figures.flow(way).text
    gain = figures.gain(way)
    return f"+{gain.text}" if gain.number > 0 else gain.text if gain.number < 0 else "no more"


def finding(figures: SecondFigures) -> str:
    """The sentences that open the study."""
    now = figures.found.way(Kind.NOW)
    parts = [] if now is None else [_as_it_stands(figures, now)]
    return " ".join((*parts, _beside(figures), _in_line(figures)))


def _as_it_stands(figures: SecondFigures, now: Way) -> str:
    if not delivers(now.result):
        return "As it stands no water comes."
    gain = figures.gain(now)
    pushed = [warn.text for warn in now.result.warnings if warn.code == "pushed-back"]
    starved = _starved_words(now)
    more = f", {gain.size.text} {'more' if gain.number > 0 else 'less'} than one alone" if gain.number else ""
    more = more if delivers(figures.alone.result) else ""
    return " ".join((f"As it stands: {starved}{figures.flow(now)}{more}.", *pushed))


def _starved_words(way: Way) -> str:
    return "starved at about " if way.result.state is State.CAVITATING else ""


def _beside(figures: SecondFigures) -> str:
    way, name = figures.found.way(Kind.BESIDE), figures.found.pump
    if way is None:
        return ""
    state = figures.alone.result.state
    if state is State.NO_LIFT:
        return f"A second {name} beside it lifts no higher."
    if state is State.NO_PRIME:
        return f"A second {name} beside it can’t draw the water up either."
    lead = f"A second {name} beside it, with a suction hose of its own:"
    if way.result.state is State.CAVITATING:
        return f"{lead} starved at about {figures.flow(way)}."
    gain = figures.gain(way)
    if gain.number <= _HARDLY * figures.one.number:
        return f"{lead} {_hardly(gain)}."
    double = "" if gain.number >= _DOUBLE * figures.one.number else ", not double"
    return f"{lead} {signed(gain)}{double}{_thin(way)}."


def _thin(way: Way) -> str:
    return ", with little suction to spare" if way.result.state is State.THIN else ""


def _in_line(figures: SecondFigures) -> str:
    way = figures.found.way(Kind.LINE)
    if way is None:
        return _nowhere(figures)
    hose = f", on {way.hose.split(' (')[0]}" if way.hose else ""
    lead = f"In the line at {figures.place(way)}{hose}:"
    if not delivers(way.result):
        return f"{lead} no water comes."
    if way.result.state is State.CAVITATING:
        return f"{lead} about {figures.flow(way)}, and there the first pump’s suction gives out."
    if not delivers(figures.alone.result):
        return f"{lead} {figures.flow(way)}{_thin(way)}."
    gain = figures.gain(way)
    if gain.number <= _HARDLY * figures.one.number:
        return f"{lead} {_hardly(gain)}."
    return f"{lead} {signed(gain)}{_thin(way)}."


def _nowhere(figures: SecondFigures) -> str:
    place = figures.found.relay
    if figures.alone.result.state is State.NO_PRIME:
        return "In the line it can’t help: the first pump must draw the water up."
    if place is None:
        return "Nobody can say where one may stand in the line: this pump is written out in the file."
    if place.nearest_m is not None:
        return "In the line: nowhere would it get enough water where hose and casing stand both."
    return "In the line: nowhere. With the end shut both would push harder than hose or casing is rated for."


def _near_shut_off(figures: SecondFigures) -> list[str]:
    """Side by side close to what they hold with no flow: what a weaker one gives there, and what keeps it from harm."""
    pair, one = figures.found.way(Kind.BESIDE), figures.alone.result
    if pair is None or not delivers(pair.result) or not delivers(one):
        return []
    head, most = pair.result.head_m, one.shutoff_head_m
    if head is None or one.head_m is None or most is None or head <= _CLOSE * most:
        return []
    at, holds = (figures.shown(value, Quantity.HEAD) for value in (head, most))
    weaker = math.ceil(100.0 * (1.0 - one.head_m / most))
    run = f"Side by side they run at {at} of the {holds} that they hold with the end shut"
    valve = "A check valve on each keeps it from being pushed back (common practice)."
    return [f"{run}: one {weaker} % weaker gives nothing.", valve]


def _hardly(gain: Figure) -> str:
    return f"hardly more ({signed(gain)})" if gain.number > 0 else "no more"


def signed(gain: Figure) -> str:
    """A gain with its sign and unit."""
    return f"+{gain}" if gain.number > 0 else str(gain)


def under(figures: SecondFigures) -> str:
    """What else there is to say."""
    found = figures.found
    parts = ["Side by side flows add up, in the line heads do."]
    shared, beside = found.way(Kind.SHARED), found.way(Kind.BESIDE)
    if shared is not None and delivers(shared.result) and beside is not None and delivers(figures.alone.result):
        flow = figures.flow(shared)
        if shared.result.state is State.CAVITATING:
            parts.append(f"On one suction hose two starve each other: about {flow}.")
        else:
            parts.append(f"Both on one suction hose: {flow}.")
    parts += _near_shut_off(figures)
    line, relay = found.way(Kind.LINE), found.relay
    if (
        line is not None
        and relay is not None
        and not line.hose
        and relay.nearest_m is not None
        and relay.farthest_m is not None
    ):
        near, far = (show(place, Quantity.LENGTH, figures.system) for place in (relay.nearest_m, relay.farthest_m))
        if relay.nearest_m <= (line.place_m or 0.0) <= relay.farthest_m:
            parts.append(f"In the line it may stand from {near} to {far}: farther, it gets too little water.")
        elif relay.nearest_m > relay.farthest_m:
            parts.append(f"Nearer than {near} the hose could see more than its rating with the end shut.")
    if line is not None and line.starved_in_line and line.result.state is not State.CAVITATING:
        parts.append("In the line the second pump uses up all the pressure that reaches it.")
    return " ".join(parts)
