"""The yard's folder from the page: saving, theirs or ours, earlier versions, lists as spreadsheets."""

import json
import os
import tempfile
from pathlib import Path
from typing import Any

from tornado.testing import AsyncHTTPTestCase
from tornado.web import Application

from curvelab.app.curves.page import curves_page
from curvelab.app.curves.routes import routes
from curvelab.model import catalogue
from curvelab.model.catalogue import YARD, default_catalogue, demo_folder
from curvelab.model.link import encode
from curvelab.model.shelf import EARLIER
from curvelab.model.withdrawn import withdrawn_in
from curvelab.model.written import to_toml
from curvelab.model.yard import list_place, make_yard, place_of, read, save
from curvelab.model.yardfiles import files_of
from curvelab.report.differing import differing
from curvelab.units import System

ORIGIN = "http://yard.example:5006"
BOX: dict[str, Any] = {
    "units": "us",
    "way": "box",
    "fields": {"name": "Heron 3", "kind": "trash", "speed": "3600", "mass": "60 kg"},
    "box": {"greatest_head": "98", "greatest_flow": "275"},
}
PRICES = "item,size,per,day\nferrow-3,,each,80\nferrow-4,,each,99\n"


def weighing(mass: str) -> dict[str, Any]:
    return {**BOX, "fields": {**BOX["fields"], "mass": mass}}


class OnYard(AsyncHTTPTestCase):
    def setUp(self) -> None:
        self.kept = os.environ.get(YARD)
        self.folder = Path(self.enterContext(tempfile.TemporaryDirectory())) / "yard"
        make_yard(self.folder)
        os.environ[YARD] = str(self.folder)
        super().setUp()

    def tearDown(self) -> None:
        super().tearDown()
        if self.kept is None:
            del os.environ[YARD]
        else:
            os.environ[YARD] = self.kept

    def get_app(self) -> Application:
        app = Application(routes(default_catalogue))
        app.websocket_origins = {"yard.example:5006"}  # type: ignore[attr-defined]
        return app

    def ask(self, path: str, question: Any, kind: str = "application/json") -> Any:
        body = question if isinstance(question, bytes) else json.dumps(question)
        answer = self.fetch(
            f"/curves/{path}", method="POST", body=body, headers={"Content-Type": kind, "Origin": ORIGIN}
        )
        return json.loads(answer.body) | {"status": answer.code}

    def heron(self) -> str:
        return place_of(self.folder, "pump", "heron-3").read_text(encoding="utf-8")


class TestPumps(OnYard):
    def test_a_saved_pump_is_in_the_list_at_once(self) -> None:
        saved = self.ask("save", {"form": BOX, "mark": None})
        assert saved["status"] == 200
        assert default_catalogue().pumps["heron-3"].estimate
        assert "Heron 3 (estimate)" in self.ask("fleet", {"query": ""})["html"]

    def test_two_people_at_once_and_nothing_is_lost(self) -> None:
        first = self.ask("save", {"form": BOX, "mark": None})
        mine, theirs = (
            self.ask("save", {"form": weighing(mass), "base": "heron-3", "mark": first["mark"]})
            for mass in ("61 kg", "62 kg")
        )
        assert "clash" not in mine
        assert theirs["clash"]["rows"] == [["weight", "62 kg", "61 kg"]]
        assert 'mass = "61 kg"' in self.heron(), "nothing is written before somebody has chosen"
        over = {"form": weighing("62 kg"), "base": "heron-3", "mark": theirs["clash"]["mark"]}
        assert "clash" not in self.ask("save", over)
        assert 'mass = "62 kg"' in self.heron()
        kept = sorted((self.folder / "pumps" / EARLIER).iterdir())
        assert ["61 kg" in path.read_text() for path in kept] == [False, True]

    def test_under_another_name_it_is_another_pump(self) -> None:
        self.ask("save", {"form": BOX, "mark": None})
        assert "clash" in self.ask("save", {"form": weighing("61 kg"), "mark": None})
        saved = self.ask("save", {"form": weighing("61 kg"), "mark": None, "as": "Heron 3 of the barn"})
        assert saved["id"] == "heron-3-of-the-barn"
        assert 'mass = "60 kg"' in self.heron()

    def test_a_demonstration_pump_that_is_changed_becomes_the_yards_own(self) -> None:
        found = self.ask("edit", {"key": "ferrow-3"})
        assert found["mark"] is None
        form = {
            "units": "us",
            "way": "kept",
            "fields": {**found["fields"], "mass": "70 kg"},
            "liquids": found["liquids"],
        }
        assert self.ask("save", {"form": form, "base": "ferrow-3", "mark": None})["id"] == "ferrow-3"
        changed, demo = default_catalogue().pumps["ferrow-3"], catalogue.demo_catalogue().pumps["ferrow-3"]
        assert changed.mass is not None
        assert changed.mass.si == 70
        assert changed.head == demo.head
        assert [row.what for row in differing(changed, demo, System.US)] == ["weight"]

    def test_a_form_with_faults_is_saved_by_nobody(self) -> None:
        refused = self.ask("save", {"form": weighing("61 gpm"), "mark": None})
        assert refused["status"] == 422
        assert refused["faults"][0]["field"] == "mass"
        assert list((self.folder / "pumps").iterdir()) == []

    def test_names_lead_nowhere(self) -> None:
        for name in ("../../evil", "..", "/etc/passwd", "con", "水"):
            answer = self.ask("save", {"form": {**BOX, "fields": {**BOX["fields"], "name": name}}, "mark": None})
            assert answer["status"] in (200, 422)
        outside = {path for path in self.folder.parent.rglob("*.toml") if self.folder not in path.parents}
        assert outside == set()
        assert all(path.parent == self.folder / "pumps" for path in self.folder.rglob("*evil*"))

    def test_a_test_is_kept_with_its_pump(self) -> None:
        typed = {"date": "2026-05-04", "pressure": "36", "speed": "3550", "by": "R."}
        kept = self.ask("keep", {"key": "ferrow-3", "typed": typed, "units": "us"})
        assert kept["status"] == 200
        (test,) = default_catalogue().pumps["ferrow-3"].test
        assert (test.kind, test.by) == ("shut-off", "R.")
        assert "Tests of this pump" in self.ask("pump", {"key": "ferrow-3"})["html"]


class TestVersions(OnYard):
    def saved_twice(self) -> Any:
        mark = self.ask("save", {"form": BOX, "mark": None})["mark"]
        self.ask("save", {"form": weighing("61 kg"), "base": "heron-3", "mark": mark})
        return next(file for file in files_of(self.folder) if file.kind == "pump")

    def test_an_earlier_version_is_looked_at_and_brought_back(self) -> None:
        file = self.saved_twice()
        asked = {"file": file.key, "version": file.versions[0].key}
        found = self.ask("version", asked)
        assert found["rows"] == [["weight", "60 kg", "61 kg"]]
        assert self.ask("restore", {**asked, "mark": found["mark"]})["status"] == 200
        assert 'mass = "60 kg"' in self.heron()
        again = next(each for each in files_of(self.folder) if each.kind == "pump")
        assert len(again.versions) == 2, "what stood there is kept too"

    def test_not_over_what_another_has_saved_since(self) -> None:
        file = self.saved_twice()
        asked = {"file": file.key, "version": file.versions[0].key}
        mark = self.ask("version", asked)["mark"]
        text = self.heron().replace("61 kg", "62 kg")
        save(self.folder, "pump", "heron-3", text, mark=mark)
        assert self.ask("restore", {**asked, "mark": mark})["status"] == 422
        assert 'mass = "62 kg"' in self.heron()

    def test_keys_are_looked_up_and_lead_nowhere(self) -> None:
        file = self.saved_twice()
        for asked in (
            {"file": "../../etc/passwd", "version": "x"},
            {"file": file.key, "version": "../../../etc/passwd"},
            {"file": file.shown, "version": file.versions[0].key},
            {},
        ):
            assert self.ask("version", asked)["status"] == 422
            assert self.ask("restore", {**asked, "mark": "x"})["status"] == 422


class TestWithdrawing(OnYard):
    def saved(self) -> str:
        """The text of a pump of the yard's own."""
        self.ask("save", {"form": BOX, "mark": None})
        return self.heron()

    def view(self) -> str:
        return self.ask("yard", {})["html"]

    def test_a_pump_goes_aside_whole_and_comes_back_as_it_was(self) -> None:
        text = self.saved()
        assert 'data-withdraw="heron-3"' in self.ask("pump", {"key": "heron-3"})["html"]
        told = self.ask("withdraw", {"key": "heron-3"})
        assert told["status"] == 200
        assert "withdrawn/heron-3.toml" in told["text"]
        assert "heron-3" not in default_catalogue().pumps
        assert (self.folder / "withdrawn" / "heron-3.toml").read_text(encoding="utf-8") == text
        assert "Put Heron 3 (estimate) back" in self.view()
        (one,) = withdrawn_in(self.folder)
        back = self.ask("put-back", {"file": one.key})
        assert "pumps/heron-3.toml" in back["text"]
        assert self.heron() == text
        assert "heron-3" in default_catalogue().pumps
        assert "Put Heron 3 (estimate) back" not in self.view()
        assert self.ask("put-back", {"file": one.key})["status"] == 422

    def test_what_was_withdrawn_before_under_the_same_name_is_kept_too(self) -> None:
        first = self.saved()
        self.ask("withdraw", {"key": "heron-3"})
        self.ask("save", {"form": weighing("75 kg"), "mark": None})
        second = self.heron()
        (one,) = withdrawn_in(self.folder)
        taken = self.ask("put-back", {"file": one.key})
        assert taken["status"] == 422
        assert "stands in the list already" in taken["faults"][0]["got"]
        assert self.ask("withdraw", {"key": "heron-3"})["status"] == 200
        kept = [path.read_text(encoding="utf-8") for path in (self.folder / "withdrawn").rglob("heron-3*.toml")]
        assert sorted(kept) == sorted([first, second])

    def test_no_pump_that_the_yard_did_not_make(self) -> None:
        before = sorted(self.folder.rglob("*"))
        assert "data-withdraw" not in self.ask("pump", {"key": "ferrow-3"})["html"]
        for key in ("ferrow-3", "nothing", "../heron-3", ""):
            assert self.ask("withdraw", {"key": key})["status"] == 422
        assert sorted(path for path in self.folder.rglob("*") if path.name != ".lock") == [
            path for path in before if path.name != ".lock"
        ]

    def test_in_place_of_the_yards_own_the_demos_stands_again(self) -> None:
        typed = {"date": "2026-05-04", "pressure": "36", "speed": "3550"}
        self.ask("keep", {"key": "ferrow-3", "typed": typed, "units": "us"})
        assert default_catalogue().pumps["ferrow-3"].test
        told = self.ask("withdraw", {"key": "ferrow-3", "query": "?p=linnet-2"})
        assert told["status"] == 422, "the pump that a setup starts with"
        query = encode(default_catalogue().setups["cellar"], catalogue=default_catalogue())
        told = self.ask("withdraw", {"key": "ferrow-3", "query": query})
        assert told["text"].endswith("The demo’s stands in its place again.")
        assert not default_catalogue().pumps["ferrow-3"].test

    def test_what_a_setup_or_a_price_of_the_yard_names_stays(self) -> None:
        self.saved()
        setup = default_catalogue().setups["mill-pond"].with_("pump.id", "heron-3").with_("title", "Long Field")
        save(self.folder, "setup", "long-field", to_toml(setup))
        prices = list_place(self.folder, "prices")
        text = prices.read_text(encoding="utf-8")
        prices.write_text(f'{text}\n[[price]]\nitem = "heron-3"\nper = "each"\nday = 80\n', encoding="utf-8")
        told = self.ask("withdraw", {"key": "heron-3"})
        assert told["status"] == 422
        assert told["faults"][0]["got"] == "stands in the job Long Field, the list of prices"
        assert self.heron()


class TestWriting(OnYard):
    FITTING = (
        '\n[[fitting]]\nid = "own-elbow"\nname = "own elbow"\nwhere = "discharge"\nk = 0.9\nsource = "measured here"\n'
    )

    def fittings(self) -> tuple[str, Any]:
        key = next(file.key for file in files_of(self.folder) if file.kind == "fittings")
        return key, self.ask("text", {"file": key})

    def test_a_fitting_written_by_hand_is_in_the_list(self) -> None:
        key, found = self.fittings()
        answer = self.ask("write", {"file": key, "text": found["text"] + self.FITTING, "mark": found["mark"]})
        assert answer["status"] == 200
        assert default_catalogue().fittings["own-elbow"].k == 0.9

    def test_a_text_with_faults_names_them_and_is_not_written(self) -> None:
        key, found = self.fittings()
        for text, wanted in (
            (found["text"] + self.FITTING.replace("0.9", '"much"'), "fitting.own-elbow.k"),
            ("x = [\n[pump]", "line 2"),
            ('format = "curvelab-hoses/1"\n', "format"),
            ("", ""),
        ):
            refused = self.ask("write", {"file": key, "text": text, "mark": found["mark"]})
            assert refused["status"] == 422
            assert wanted in str(refused["faults"])
        assert self.fittings()[1] == found

    def test_theirs_is_shown_line_by_line(self) -> None:
        key, found = self.fittings()
        self.ask("write", {"file": key, "text": found["text"] + "# theirs\n", "mark": found["mark"]})
        clash = self.ask("write", {"file": key, "text": found["text"] + "# ours\n", "mark": found["mark"]})["clash"]
        assert clash["rows"] == [["only in yours", "# ours", ""], ["only in theirs", "", "# theirs"]]
        assert "# theirs" in self.fittings()[1]["text"]


class TestSheets(OnYard):
    def take(self, text: str | bytes, how: str = "") -> Any:
        return self.ask(f"sheet{how}", text if isinstance(text, bytes) else text.encode(), "text/csv")

    def test_what_would_change_is_shown_before_anything_is_saved(self) -> None:
        place = list_place(self.folder, "prices")
        before = place.read_text()
        seen = self.take(PRICES)
        assert [row[0] for row in seen["rows"]] == ["ferrow-3", "ferrow-4"]
        assert place.read_text() == before
        assert self.take(PRICES, "?save=yes")["status"] == 200
        assert default_catalogue().prices["ferrow-3"].day == 80

    def test_out_and_in_again_changes_nothing(self) -> None:
        self.take(PRICES, "?save=yes")
        for commas in ("", "&commas=yes"):
            sheet = self.fetch(f"/curves/list?kind=prices{commas}")
            assert sheet.headers["Content-Disposition"] == 'attachment; filename="prices.csv"'
            seen = self.take(sheet.body)
            assert (seen["rows"], seen["same"], seen["stale"]) == ([], 2, "")

    def test_a_changed_price_shows_both(self) -> None:
        self.take(PRICES, "?save=yes")
        sheet = self.fetch("/curves/list?kind=prices").body.replace(b"80", b"85")
        assert self.take(sheet)["rows"] == [["ferrow-3: day", "85", "80"]]

    def test_a_sheet_of_an_older_list_says_so(self) -> None:
        self.take(PRICES, "?save=yes")
        sheet = self.fetch("/curves/list?kind=prices").body
        self.take(sheet.replace(b"99", b"98"), "?save=yes")
        seen = self.take(sheet.replace(b"80", b"85"))
        assert "has changed" in seen["stale"]
        assert self.take(sheet.replace(b"80", b"85"), "?save=yes")["status"] == 422
        assert self.take(sheet.replace(b"80", b"85"), "?save=yes&over=yes")["status"] == 200

    def test_faults_are_named_by_line_and_column(self) -> None:
        refused = self.take(PRICES.replace("99", "cheap"))
        assert refused["status"] == 422
        assert (refused["faults"][0]["where"], refused["faults"][0]["field"]) == ("the sheet: line 3", "day")

    def test_what_is_no_sheet(self) -> None:
        for body in (b"", b"\x00\x01\x02", b"\xff\xfe\x00", b"PK\x03\x04zip", b'"open', b"a" * 1000):
            assert self.take(body)["status"] == 422
        assert self.fetch("/curves/list?kind=../../etc/passwd").code == 422


class TestFolder(OnYard):
    def test_the_view_names_files_and_what_can_not_be_read(self) -> None:
        save(self.folder, "setup", "pond", (demo_folder() / "setups" / "mill-pond.toml").read_text(encoding="utf-8"))
        default_catalogue()
        (self.folder / "pumps" / "broken.toml").write_text("x = [")
        catalogue.look_again()
        html = self.ask("yard", {})["html"]
        assert "Mill pond to orchard tank" in html
        assert "What can’t be read" in html
        assert "pumps/broken.toml" in html
        assert "can’t be read" in curves_page("", default_catalogue()).partition("<main")[0]

    def test_a_page_hears_of_what_another_saved(self) -> None:
        before = self.ask("state", {})["mark"]
        assert self.ask("state", {})["mark"] == before
        self.ask("save", {"form": BOX, "mark": None})
        assert self.ask("state", {})["mark"] != before

    def test_with_a_folder_the_page_offers_it(self) -> None:
        html = curves_page("", default_catalogue())
        assert "Save into the yard’s list" in html
        assert "tab-yard" in html

    def test_read_by_its_name(self) -> None:
        self.ask("save", {"form": BOX, "mark": None})
        stored = read(self.folder, "pump", "heron-3")
        assert stored is not None
        assert self.ask("edit", {"key": "heron-3"})["mark"] == stored.mark


def test_without_a_folder_nothing_that_needs_one_is_shown():
    html = curves_page("", default_catalogue())
    for words in ("Save into the yard’s list", "tab-yard", "Keep with the pump"):
        assert words not in html
    assert "curvelab serve --yard DIR" in html
