"""The buttons of what would help, in the answer: no tab, and asked with the quick ones."""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from typing import Final

from curvelab.app.state import Shown
from curvelab.app.studies.tab import placed, words
from curvelab.model.catalogue import Catalogue
from curvelab.report.cures import TITLE, CureWords, Help, help_words, hose_words
from curvelab.studies.change import Value
from curvelab.studies.mend import mend

KEY: Final = "cures"


@dataclass(frozen=True, slots=True)
class Cures:
    """What would help, and the hose that stands it."""

    help: Help
    hose: CureWords | None

    @property
    def buttons(self) -> tuple[CureWords, ...]:
        """All of them, the hose's last."""
        return (*self.help.buttons, *([self.hose] if self.hose is not None else []))

    def told(self, seq: int) -> tuple[dict[str, str], dict[str, Mapping[str, Value]]]:
        """HTML by place, and the fields that each button sets, by its key."""
        keys = [f"{seq}.{place}" for place in range(len(self.buttons))]
        html = words("studies.html")
        said = placed(buttons=html.cures(TITLE, self.help, keys), hose=html.hose(self.hose, keys[-1] if keys else ""))
        return said, {key: button.changes for key, button in zip(keys, self.buttons, strict=True)}


def cures(shown: Shown, catalogue: Catalogue) -> Cures:
    """Ask what would help; pure, so that any thread may do it."""
    found = mend(shown.setup, catalogue)
    return Cures(
        help_words(found, shown.figures),
        hose_words(found, shown.figures, shown.setup, catalogue),
    )
