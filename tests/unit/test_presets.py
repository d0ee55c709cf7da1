"""The picker of ready setups: eight jobs of eight kinds first, and nothing left out."""

from typing import get_args

from curvelab.app.edits import Edit
from curvelab.app.state import AppState
from curvelab.model.catalogue import Catalogue, default_catalogue, demo_folder
from curvelab.model.link import OPENING
from curvelab.model.site import JobKind
from curvelab.report.presets import STARTS, groups

CATALOGUE = default_catalogue()


def test_every_kind_of_job_has_one_start_and_the_opening_setup_is_the_first():
    kinds = [CATALOGUE.setups[name].job.kind for name in STARTS]
    assert len(STARTS) == 8
    assert set(kinds) == set(get_args(JobKind))
    assert next(iter(STARTS)) == OPENING


def test_every_setup_can_be_chosen_once():
    names = [name for group in groups(CATALOGUE) for name, _ in group.setups]
    assert sorted(names) == sorted(CATALOGUE.setups)
    assert [group.name for group in groups(CATALOGUE)] == ["Jobs to start from", "Lessons and troubles"]


def test_a_yards_own_setups_stand_in_a_group_of_their_own(tmp_path):
    own = CATALOGUE.setups["cellar"].with_("title", "Our cellar")
    (tmp_path / "cellar.toml").write_text(own.to_toml(), encoding="utf-8")
    (tmp_path / "untitled.toml").write_text(own.with_("title", "").to_toml(), encoding="utf-8")
    found = groups(Catalogue.load(demo_folder(), tmp_path))
    assert found[0].setups == (("cellar", "Our cellar"), ("untitled", "untitled"))
    assert "cellar" not in dict(found[1].setups)


def test_choosing_a_job_loses_nothing_that_was_changed():
    made = AppState(CATALOGUE, CATALOGUE.setups[OPENING])
    made.apply([Edit("set", "suction.lift", 9.0)], held=False)
    mine = made.setup
    made.apply([Edit("open", value="wash-down")], held=False)
    made.step(back=True)
    assert made.setup == mine
