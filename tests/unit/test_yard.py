"""A yard's own folder: whole after a crash, safe from two writers and hostile names, seen as soon as it is saved."""

from __future__ import annotations

import multiprocessing
import os
import signal
import subprocess
import sys
import textwrap
import threading
import time
from pathlib import Path

import pytest

import curvelab
from curvelab.errors import InputError
from curvelab.model import catalogue, writing
from curvelab.model.catalogue import YARD, catalogue_faults, default_catalogue, demo_folder, look_again
from curvelab.model.shelf import EARLIER
from curvelab.model.yard import OverwrittenError, Stored, earlier, make_yard, place_of, read, save
from tests.unit.model_cases import PUMP

ROOT = Path(__file__).parents[2]
OLD, NEW = PUMP.replace("Moor 3", "Moor 3, before"), PUMP.replace("Moor 3", "Moor 3, after")
SETUP = (demo_folder() / "setups" / "mill-pond.toml").read_text(encoding="utf-8")


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    make_yard(tmp_path / "yard")
    return tmp_path / "yard"


def parts(folder: Path) -> list[Path]:
    return sorted(folder.rglob("*.part"))


class TestMaking:
    def test_a_new_one_is_good_and_nothing_in_an_old_one_is_touched(self, tmp_path: Path):
        made = {path.relative_to(tmp_path).as_posix() for path in make_yard(tmp_path / "y")}
        assert made >= {"y", "y/pumps", "y/setups", "y/pictures", "y/hoses.toml", "y/fittings.toml", "y/prices.toml"}
        (tmp_path / "y" / "hoses.toml").rename(tmp_path / "y" / "our-hoses.toml")
        (tmp_path / "y" / "prices.toml").write_text('format = "curvelab-prices/1"\n# mine\n')
        assert make_yard(tmp_path / "y") == []
        assert "# mine" in (tmp_path / "y" / "prices.toml").read_text()
        assert catalogue.Catalogue.load(demo_folder(), tmp_path / "y").pumps.keys() == default_catalogue().pumps.keys()

    def test_where_a_file_stands(self, tmp_path: Path):
        (tmp_path / "y").write_text("x")
        with pytest.raises(InputError, match="name a folder that can be written"):
            make_yard(tmp_path / "y")

    @pytest.mark.skipif(os.name == "nt" or os.geteuid() == 0, reason="root may write anywhere")
    def test_where_nobody_may_write(self, tmp_path: Path):
        tmp_path.chmod(0o500)
        try:
            with pytest.raises(InputError, match="permission denied"):
                make_yard(tmp_path / "y")
        finally:
            tmp_path.chmod(0o700)


class TestSaving:
    def test_what_was_saved_is_read_back_and_the_earlier_version_kept(self, yard: Path):
        first = save(yard, "pump", "moor-3", OLD)
        assert read(yard, "pump", "moor-3") == first
        assert earlier(yard, "pump", "moor-3") == []
        save(yard, "pump", "moor-3", NEW, mark=first.mark)
        (kept,) = earlier(yard, "pump", "moor-3")
        assert kept.read_text() == OLD
        assert place_of(yard, "pump", "moor-3").read_text() == NEW
        assert parts(yard) == []

    def test_the_same_again_is_no_new_version(self, yard: Path):
        first = save(yard, "pump", "moor-3", OLD)
        assert save(yard, "pump", "moor-3", OLD, mark=first.mark) == first
        assert earlier(yard, "pump", "moor-3") == []

    def test_earlier_versions_come_newest_first_and_are_read_by_nobody(self, yard: Path):
        stored = None
        for number in range(4):
            text = PUMP.replace("Moor 3", f"Moor {number}")
            stored = save(yard, "pump", "moor-3", text, mark=stored.mark if stored else None)
        assert ["Moor 2" in p.read_text() for p in earlier(yard, "pump", "moor-3")] == [True, False, False]
        (yard / EARLIER).mkdir()
        (yard / EARLIER / "hoses.1.toml").write_text("not even TOML [")
        assert catalogue.Catalogue.load(demo_folder(), yard).pumps["moor-3"].name == "Moor 3"

    @pytest.mark.parametrize(
        ("kind", "text", "says"),
        [
            ("pump", PUMP.replace('"3600 rpm"', "3600"), "speed: 3600 has no unit"),
            ("pump", "x = [\n[pump]", "moor-3.toml: line 2: Invalid value"),
            ("pump", SETUP, 'is for a setup; name a file whose format is "curvelab-pump/1"'),
            ("setup", SETUP.replace('"ferrow-3"', '"ferow-3"'), 'no pump is called "ferow-3"'),
            ("pump", PUMP.replace('["water"]', '["watre"]'), 'no liquid is called "watre"'),
            ("pump", PUMP + "#" * 1_000_001, "moor-3.toml: is over 1 MB"),
            ("pump", PUMP.replace("Moor", "\ud800"), "moor-3.toml: has half a character"),
        ],
    )
    def test_a_text_with_faults_is_refused_and_nothing_written(self, yard: Path, kind: str, text: str, says: str):
        before = save(yard, "pump", "moor-3", OLD)
        with pytest.raises(InputError) as caught:
            save(yard, kind, "moor-3", text, mark=before.mark if kind == "pump" else None)
        assert says in str(caught.value)
        assert read(yard, "pump", "moor-3") == before
        assert earlier(yard, "pump", "moor-3") == []
        assert read(yard, "setup", "moor-3") is None
        assert parts(yard) == []

    def test_an_id_that_another_file_has_would_spoil_the_yard(self, yard: Path):
        save(yard, "pump", "moor-3", PUMP)
        with pytest.raises(InputError, match=r"stands in .* too"):
            save(yard, "pump", "moor-3-again", PUMP)

    def test_faults_that_others_left_keep_nobody_from_saving(self, yard: Path):
        (yard / "hoses.toml").write_text("x = [")
        assert save(yard, "pump", "moor-3", PUMP).text == PUMP

    def test_a_setup_may_use_what_the_yard_has(self, yard: Path):
        save(yard, "pump", "moor-3", PUMP)
        save(yard, "setup", "mine", SETUP.replace('"ferrow-3"', '"moor-3"'))
        assert catalogue.Catalogue.load(demo_folder(), yard).setups["mine"].pump.id == "moor-3"

    def test_a_file_keeps_who_may_read_it(self, yard: Path):
        first = save(yard, "pump", "moor-3", OLD)
        assert place_of(yard, "pump", "moor-3").stat().st_mode & 0o777 == 0o644
        place_of(yard, "pump", "moor-3").chmod(0o600)
        save(yard, "pump", "moor-3", NEW, mark=first.mark)
        assert place_of(yard, "pump", "moor-3").stat().st_mode & 0o777 == 0o600


class TestHostile:
    @pytest.mark.parametrize(
        "name",
        ["", ".", "..", "../x", "a/b", "a\\b", "/etc/x", "C:x", "x.toml", "a\0b", "a\nb", "Ä", "A", "-a", "a--b",
         "a" * 81, "con", "nul", "com1", "x\u202e", ".hidden"],
    )  # fmt: skip
    def test_names(self, yard: Path, name: str):
        for attempt in (lambda: save(yard, "pump", name, PUMP), lambda: read(yard, "pump", name)):
            with pytest.raises(InputError):
                attempt()
        assert list((yard / "pumps").iterdir()) == []

    @pytest.mark.parametrize("kind", ["", "pumps", "..", "hose"])
    def test_kinds(self, yard: Path, kind: str):
        with pytest.raises(InputError):
            save(yard, kind, "x", PUMP)

    def test_a_link_in_the_place_of_a_pump_is_replaced_and_not_followed(self, yard: Path, tmp_path: Path):
        outside = tmp_path / "outside.toml"
        outside.write_text(OLD)
        place_of(yard, "pump", "moor-3").symlink_to(outside)
        now = read(yard, "pump", "moor-3")
        assert now is not None
        save(yard, "pump", "moor-3", NEW, mark=now.mark)
        assert outside.read_text() == OLD
        assert place_of(yard, "pump", "moor-3").read_text() == NEW

    def test_a_pipe_in_the_place_of_a_pump_is_not_waited_for(self, yard: Path):
        os.mkfifo(place_of(yard, "pump", "moor-3"))
        with pytest.raises(InputError, match="no ordinary file"):
            save(yard, "pump", "moor-3", PUMP)

    @pytest.mark.parametrize("what", ["pipe", "folder", "link"])
    def test_a_lock_that_is_none(self, yard: Path, tmp_path: Path, what: str):
        (yard / ".lock").unlink(missing_ok=True)
        if what == "pipe":
            os.mkfifo(yard / ".lock")
            save(yard, "pump", "moor-3", PUMP)
            return
        (yard / ".lock").mkdir() if what == "folder" else (yard / ".lock").symlink_to(tmp_path / "elsewhere")
        with pytest.raises(InputError):
            save(yard, "pump", "moor-3", PUMP)
        assert not (tmp_path / "elsewhere").exists()

    def test_hidden_files_of_editors_are_left_alone(self, yard: Path):
        (yard / "pumps" / ".#moor-3.toml").symlink_to("nowhere")
        (yard / ".git").mkdir()
        (yard / ".git" / "x.toml").write_text("x = [")
        catalogue.Catalogue.load(demo_folder(), yard)


CRASH = """
    import os, signal, sys
    from pathlib import Path
    from curvelab.model import writing, yard

    at, folder = sys.argv[1], sys.argv[2]
    made, sync, replace = writing.tempfile.mkstemp, os.fsync, Path.replace
    inside = []

    def die():
        os.kill(os.getpid(), signal.SIGKILL)

    def making(**where):
        inside[:] = [where["dir"].name]
        return made(**where)

    def syncing(handle):
        if at == "in the middle of a write" and inside == ["pumps"]:
            os.ftruncate(handle, 20)
            die()
        sync(handle)

    def replacing(path, target):
        if at == "before the rename" and inside == ["pumps"]:
            die()
        replace(path, target)
        if at == "after the rename" and inside == ["pumps"]:
            die()

    writing.tempfile.mkstemp, os.fsync, Path.replace = making, syncing, replacing
    now = yard.read(folder, "pump", "moor-3")
    yard.save(folder, "pump", "moor-3", sys.stdin.read(), mark=now.mark if now else None)
"""


class TestCrash:
    @pytest.mark.skipif(os.name == "nt", reason="killed by a signal")
    @pytest.mark.parametrize("old", [None, OLD], ids=["new file", "old file"])
    @pytest.mark.parametrize("at", ["in the middle of a write", "before the rename", "after the rename"])
    def test_the_file_is_whole_and_old_or_new(self, yard: Path, at: str, old: str | None):
        if old is not None:
            save(yard, "pump", "moor-3", old)
        done = subprocess.run(
            [sys.executable, "-c", textwrap.dedent(CRASH), at, str(yard)],
            input=NEW,
            text=True,
            capture_output=True,
            env={**os.environ, "PYTHONPATH": str(ROOT)},
            timeout=120,
            check=False,
        )
        assert done.returncode == -signal.SIGKILL, done.stderr
        place = place_of(yard, "pump", "moor-3")
        there = place.read_text() if place.exists() else None
        assert there == (NEW if at == "after the rename" else old)
        catalogue.Catalogue.load(demo_folder(), yard)
        # the lock went with the process, and the next writer isn't disturbed by what it left
        stored = save(
            yard, "pump", "moor-3", NEW.replace("after", "mended"), mark=Stored.of(there).mark if there else None
        )
        assert place.read_text() == stored.text

    def test_what_dead_writers_left_goes_after_an_hour(self, yard: Path):
        stale, fresh, other = (yard / "pumps" / f".{name}.part" for name in ("a-1.curvelab", "b-2.curvelab", "c-3"))
        for path in (stale, fresh, other):
            path.write_text("half a fi")
        then = time.time() - writing.STALE_S - 1.0
        os.utime(stale, (then, then))
        os.utime(other, (then, then))
        save(yard, "pump", "moor-3", PUMP)
        assert parts(yard) == [fresh, other]


def _attempt(folder: str, text: str, mark: str | None, told: multiprocessing.Queue[str]) -> None:
    try:
        save(folder, "pump", "moor-3", text, mark=mark)
        told.put("saved")
    except OverwrittenError as error:
        told.put(error.theirs.text if error.theirs else "")


class TestTwoWriters:
    def test_one_wins_and_the_others_are_told_what_stands_there(self, yard: Path):
        mark = save(yard, "pump", "moor-3", OLD).mark
        texts = [PUMP.replace("Moor 3", f"Moor 3, by {number}") for number in range(6)]
        told: list[str] = []
        start = threading.Barrier(len(texts))

        def attempt(text: str) -> None:
            start.wait()
            try:
                save(yard, "pump", "moor-3", text, mark=mark)
                told.append("saved")
            except OverwrittenError as error:
                told.append(error.theirs.text if error.theirs else "")

        threads = [threading.Thread(target=attempt, args=(text,)) for text in texts]
        for thread in threads:
            thread.start()
        for thread in threads:
            thread.join()
        winner = place_of(yard, "pump", "moor-3").read_text()
        assert winner in texts
        assert sorted(told) == sorted(["saved", *[winner] * (len(texts) - 1)])
        assert [path.read_text() for path in earlier(yard, "pump", "moor-3")] == [OLD]

    def test_two_processes_that_make_the_same_file(self, yard: Path):
        context = multiprocessing.get_context("spawn")
        told = context.Queue()
        processes = [context.Process(target=_attempt, args=(str(yard), text, None, told)) for text in (OLD, NEW)]
        for process in processes:
            process.start()
        answers = sorted(told.get(timeout=120) for _ in processes)
        for process in processes:
            process.join(timeout=60)
        there = place_of(yard, "pump", "moor-3").read_text()
        assert there in (OLD, NEW)
        assert answers == sorted(["saved", there])

    def test_an_edit_by_hand_is_noticed(self, yard: Path):
        mark = save(yard, "pump", "moor-3", OLD).mark
        place_of(yard, "pump", "moor-3").write_text(OLD + "# weighed it today\n")
        with pytest.raises(OverwrittenError, match="has been changed by somebody else") as caught:
            save(yard, "pump", "moor-3", NEW, mark=mark)
        assert caught.value.theirs is not None
        assert "weighed it today" in caught.value.theirs.text
        save(yard, "pump", "moor-3", NEW, mark=caught.value.theirs.mark)
        assert "weighed it today" in earlier(yard, "pump", "moor-3")[0].read_text()

    @pytest.mark.parametrize(("mark", "says"), [(None, "is there already"), ("0" * 32, "has been changed")])
    def test_no_mark_and_a_wrong_one(self, yard: Path, mark: str | None, says: str):
        save(yard, "pump", "moor-3", OLD)
        with pytest.raises(OverwrittenError, match=says):
            save(yard, "pump", "moor-3", NEW, mark=mark)

    def test_a_file_that_somebody_took_away(self, yard: Path):
        mark = save(yard, "pump", "moor-3", OLD).mark
        place_of(yard, "pump", "moor-3").unlink()
        with pytest.raises(OverwrittenError, match="has been taken away"):
            save(yard, "pump", "moor-3", NEW, mark=mark)

    def test_a_writer_that_never_ends_is_not_waited_for_for_ever(self, yard: Path, monkeypatch: pytest.MonkeyPatch):
        monkeypatch.setattr(writing, "WAIT_S", 0.1)
        with writing.alone(yard), pytest.raises(InputError, match="is being written by somebody else"):
            save(yard, "pump", "moor-3", PUMP)


class TestSeen:
    @pytest.fixture(autouse=True)
    def named(self, yard: Path, monkeypatch: pytest.MonkeyPatch) -> None:
        monkeypatch.setenv(YARD, str(yard))
        look_again()

    def test_a_saved_pump_is_there_at_once(self, yard: Path):
        assert "moor-3" not in default_catalogue().pumps
        save(yard, "pump", "moor-3", PUMP)
        assert default_catalogue().pumps["moor-3"].name == "Moor 3"
        assert default_catalogue() is default_catalogue()
        setup = curvelab.Setup.model_validate({**_table(SETUP), "pump": {"id": "moor-3"}})
        assert (curvelab.solve(setup).flow_m3_s or 0.0) > 0.0

    def test_what_another_process_saved_is_there_within_a_second(self, yard: Path, monkeypatch: pytest.MonkeyPatch):
        default_catalogue()
        place_of(yard, "pump", "moor-3").write_text(PUMP)
        monkeypatch.setattr(catalogue, "LOOK_AGAIN_S", 0.0)
        assert "moor-3" in default_catalogue().pumps
        place_of(yard, "pump", "moor-3").unlink()
        assert "moor-3" not in default_catalogue().pumps

    def test_while_a_file_is_half_edited_the_catalogue_before_stays(self, yard: Path):
        save(yard, "pump", "moor-3", PUMP)
        before = default_catalogue()
        place_of(yard, "pump", "moor-3").write_text(PUMP[:200])
        look_again()
        assert default_catalogue() is before
        assert [Path(fault.where).name for fault in catalogue_faults()] == ["moor-3.toml"]
        place_of(yard, "pump", "moor-3").write_text(NEW)
        look_again()
        assert default_catalogue().pumps["moor-3"].name == "Moor 3, after"
        assert catalogue_faults() == ()

    def test_a_yard_that_was_never_good_is_refused(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
        make_yard(tmp_path / "bad")
        (tmp_path / "bad" / "hoses.toml").write_text("x = [")
        monkeypatch.setenv(YARD, str(tmp_path / "bad"))
        with pytest.raises(InputError, match=r"hoses\.toml"):
            default_catalogue()
        monkeypatch.setenv(YARD, str(tmp_path / "none"))
        with pytest.raises(InputError, match="is no folder"):
            default_catalogue()


def _table(text: str) -> dict[str, object]:
    from curvelab.model.reading import parse_table

    return parse_table(text)
