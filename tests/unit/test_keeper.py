"""The setup page and the yard's folder: a setup saved under a name, lists that others change while a page is open."""

import asyncio
from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path
from typing import Any

import pytest
from bokeh.document import Document

from curvelab.app.keeper import saved, starts_of
from curvelab.app.page import Page
from curvelab.errors import InputError
from curvelab.model.catalogue import YARD, Catalogue, default_catalogue, demo_catalogue, demo_folder, look_again
from curvelab.model.yard import make_yard, place_of
from curvelab.report.yard import STALE

POND = demo_catalogue().setups["mill-pond"]
FERROW = (demo_folder() / "pumps" / "ferrow-3.toml").read_text(encoding="utf-8")


@pytest.fixture
def yard(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Iterator[Path]:
    make_yard(tmp_path / "yard")
    monkeypatch.setenv(YARD, str(tmp_path / "yard"))
    yield tmp_path / "yard"
    look_again()


def page(catalogue: Catalogue) -> Any:
    made = Page(catalogue, latest=default_catalogue)
    made.template()._init_doc(Document())
    return made


def in_a_loop(act: Any) -> None:
    """What is asked once it has been quiet needs a loop; a browser's tools may keep one running in this thread."""

    async def run() -> None:
        act()

    with ThreadPoolExecutor(1) as pool:
        pool.submit(lambda: asyncio.run(run())).result()


class TestSaving:
    def test_it_stands_among_the_starts_under_its_name(self, yard: Path):
        reply = saved(POND, "Pond, in May", None)
        assert "setups/pond-in-may.toml" in reply["text"]
        catalogue = default_catalogue()
        assert catalogue.setups["pond-in-may"].with_("title", POND.title) == POND
        assert starts_of(catalogue)[0] == ("Of this yard", [("pond-in-may", "Pond, in May")])
        assert place_of(yard, "setup", "pond-in-may").exists()

    def test_another_of_that_name_is_shown_and_not_written_over(self, yard: Path):
        saved(POND, "Pond", None)
        other = POND.with_("suction.lift", "15 ft")
        clash = saved(other, "Pond", None)["clash"]
        assert clash["rows"] == [["lift", "15 ft", "12 ft"]]
        assert default_catalogue().setups["pond"].suction.lift.text == "12 ft"
        assert "text" in saved(other, "Pond", clash["mark"])
        assert default_catalogue().setups["pond"].suction.lift.text == "15 ft"
        assert len(list((yard / "setups" / "earlier").iterdir())) == 1

    @pytest.mark.parametrize("name", ["", "…", "水", "con"])
    def test_names_that_are_none(self, yard: Path, name: str):
        with pytest.raises(InputError):
            saved(POND, name, None)
        assert list((yard / "setups").iterdir()) == []

    def test_a_setup_with_a_pump_of_its_own_keeps_the_pump(self, yard: Path):
        assert yard.is_dir()
        record = demo_catalogue().pumps["ferrow-4"].model_copy(update={"id": "own-4"})
        own = POND.with_("pump.record", record)
        saved(own, "Own pump", None)
        kept = default_catalogue().setups["own-pump"].pump.record
        assert kept == record

    def test_without_a_folder_it_says_so(self, monkeypatch: pytest.MonkeyPatch):
        monkeypatch.delenv(YARD, raising=False)
        with pytest.raises(InputError, match="--yard"):
            saved(POND, "Pond", None)


class TestOpenPages:
    def test_a_changed_pump_is_worked_out_anew_and_said(self, yard: Path):
        one = page(default_catalogue())
        before = one.state.shown.result.flow_m3_s
        weaker = FERROW.replace("[120, 91.0], [160, 87.0], [200, 80.0]", "[120, 81.0], [160, 77.0], [200, 70.0]")
        (yard / "pumps" / "ferrow-3.toml").write_text(weaker, encoding="utf-8")
        look_again()
        in_a_loop(lambda: one.keeper.renew(default_catalogue()))
        assert one.state.shown.result.flow_m3_s < before
        assert "Changed: Ferrow 3." in one.state.notices[-1]

    def test_a_new_pump_is_in_the_pickers(self, yard: Path):
        one = page(default_catalogue())
        mine = FERROW.replace('"ferrow-3"', '"heron-3"').replace('"Ferrow 3"', '"Heron 3"')
        (yard / "pumps" / "heron-3.toml").write_text(mine, encoding="utf-8")
        look_again()
        in_a_loop(lambda: one.keeper.renew(default_catalogue()))
        assert "heron-3" in str(one.stations)

    def test_a_pump_that_was_taken_away_stays_in_the_setup_that_uses_it(self, yard: Path):
        mine = FERROW.replace('"ferrow-3"', '"heron-3"').replace('"Ferrow 3"', '"Heron 3"')
        (yard / "pumps" / "heron-3.toml").write_text(mine, encoding="utf-8")
        look_again()
        one = page(default_catalogue())
        in_a_loop(lambda: one._receive({"seq": 1, "edits": [{"do": "pick", "path": "pump.id", "value": "heron-3"}]}))
        assert one.state.setup.pump.id == "heron-3"
        (yard / "pumps" / "heron-3.toml").unlink()
        look_again()
        in_a_loop(lambda: one.keeper.renew(default_catalogue()))
        assert one.state.setup.pump.id == "heron-3"
        assert "lack what this setup uses" in one.state.notices[-1]
        in_a_loop(lambda: one._receive({"seq": 2, "edits": [{"do": "set", "path": "suction.lift", "number": 13}]}))
        assert one.state.setup.suction.lift.text == "13 ft"

    def test_a_broken_file_is_said_and_taken_back_when_it_is_mended(self, yard: Path):
        one = page(default_catalogue())
        broken = yard / "pumps" / "broken.toml"
        broken.write_text("x = [")
        look_again()
        default_catalogue()
        in_a_loop(one.keeper._complain)
        assert any(STALE in notice and "pumps/broken.toml" in notice for notice in one.state.notices)
        broken.unlink()
        look_again()
        default_catalogue()
        in_a_loop(one.keeper._complain)
        assert not any(STALE in notice for notice in one.state.notices)

    def test_the_button_is_offered_only_with_a_folder(self, yard: Path, monkeypatch: pytest.MonkeyPatch):
        assert yard.is_dir()
        assert page(default_catalogue()).keeper.offered
        monkeypatch.delenv(YARD)
        assert not page(default_catalogue()).keeper.offered
