"""Ready setups in the order a customer looks for them: eight jobs first, then lessons, then what the yard added."""

from __future__ import annotations

from typing import Final, NamedTuple

from curvelab.model.catalogue import Catalogue, demo_catalogue

STARTS: Final = {
    "mill-pond": "Fill a tank from a pond",
    "cellar": "Empty a flooded cellar",
    "seepage-pit": "Keep a seeping pit dry",
    "long-ditch-small-pump": "Carry water a long way",
    "over-the-levee": "Take water over a bank",
    "young-trees": "Run sprinklers",
    "wash-down": "Wash down with a nozzle",
    "fertiliser": "Move liquid fertiliser",
}
"""The demonstration's setups to start from, one for each kind of job, and what each is for."""


class Group(NamedTuple):
    """Some ready setups under one heading: each its name in the catalogue and the words to choose it by."""

    name: str
    setups: tuple[tuple[str, str], ...]


def groups(catalogue: Catalogue) -> tuple[Group, ...]:
    """All ready setups of a catalogue, each in one group; groups without any are left out."""
    demo = demo_catalogue().setups
    own = {name for name, setup in catalogue.setups.items() if demo.get(name) != setup}
    starts = [name for name in STARTS if name in catalogue.setups and name not in own]
    lessons = [name for name in catalogue.setups if name not in own and name not in starts]
    titles = {name: setup.title or name for name, setup in catalogue.setups.items()}
    found = (
        Group("Of this yard", tuple((name, titles[name]) for name in sorted(own))),
        Group("Jobs to start from", tuple((name, f"{STARTS[name]}: {titles[name]}") for name in starts)),
        Group("Lessons and troubles", tuple((name, titles[name]) for name in lessons)),
    )
    return tuple(group for group in found if group.setups)
