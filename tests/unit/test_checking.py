"""``check``: lines that are right for every value of every file, and what is wrong only between files."""

from __future__ import annotations

import json
import tomllib
from collections.abc import Iterator
from pathlib import Path

import pytest

from curvelab.cli import answer
from curvelab.model.catalogue import demo_folder
from curvelab.model.checking import check
from curvelab.model.lines import Lines
from tests.unit.model_cases import FITTINGS, HOSES, PRICES, PUMP, yard

FRAME = """format = "curvelab-frame/1"
flow = "gpm"
head = "ft"
[[mark]]
pixel = [10.0, 90.0]
flow = 0
head = 0
[[mark]]
pixel = [90.0, 10]
flow = 100
head = "ten"
[[curve]]
seed = [20, 20]
"""


def walked(value: object, path: tuple[str, ...] = ()) -> Iterator[tuple[str, ...]]:
    """The path of every value that the parser finds."""
    if path:
        yield path
    if isinstance(value, dict):
        for key, inner in value.items():
            yield from walked(inner, (*path, key))
    elif isinstance(value, list):
        for place, inner in enumerate(value):
            yield from walked(inner, (*path, str(place)))


class TestLines:
    @pytest.mark.parametrize(
        "path", sorted(demo_folder().rglob("*.toml")), ids=lambda p: p.relative_to(demo_folder()).as_posix()
    )
    def test_of_every_value_of_every_file_of_the_demo(self, path: Path):
        text = path.read_text(encoding="utf-8")
        lines, known = text.split("\n"), Lines(text)
        for at in walked(tomllib.loads(text)):
            line = known.of(at)
            assert line is not None, at
            if not at[-1].isdigit():
                assert at[-1] in lines[line - 1], (at, line)

    @pytest.mark.parametrize(
        ("text", "path", "line"),
        [
            ("a = 1\nb = 2", "b", 2),
            ("# a = 1\n\n[a]\n  b = 2", "a.b", 4),
            ("[a]\nb = 2\n[[a.c]]\nd = 1\n[[a.c]]\nd = 2", "a.c.1.d", 6),
            ("[[a]]\n[[a.b]]\n[[a]]\n[[a.b]]\nc = 1\n[[a.b]]\nc = 2", "a.1.b.1.c", 7),
            ("[[a]]\n[a.b]\nc = 1", "a.0.b.c", 3),
            ('a = """\nb = 2\n"""\nb = 3', "b", 4),
            ("a = '''\nb = 2\n'''\nb = 3", "b", 4),
            ('a = "x # [y]"\nb = [\n  1, # [\n  2,\n]\nc = 1', "c", 6),
            ("b = [\n  [1, 2],\n  [3,\n   4],\n]", "b.1.1", 4),
            ("a = { b = 1, c = { d = [\n1,\n2] } }", "a.c.d.1", 3),
            ("a.b.c = 1\na.d = 2", "a.d", 2),
            ('"a b"."c" = 1', "a b.c", 1),
            ("a = 1\r\nb = 2\r\n", "b", 2),
            ("a = 2026-05-04\nb = 07:32:00\nc = 1", "c", 3),
            ("[a]\nb = 1", "a.missing", 1),
            ("[[a]]\nb = 1\n[[a]]\nb = 2", "a.1.missing", 3),
        ],
    )
    def test_ways_of_writing(self, text: str, path: str, line: int):
        tomllib.loads(text)
        assert Lines(text).of(path.split(".")) == line

    def test_what_is_nowhere_has_no_line(self):
        assert Lines("a = 1").of(["b", "c"]) is None
        assert Lines("a = 1").of([]) is None

    @pytest.mark.parametrize(
        "text", ["", "[", "[[", "a", "a =", "a = [", "a = {", "a = '", "= 1", "]", "a..b = 1", '"""']
    )
    def test_text_that_is_no_toml_comes_to_an_end(self, text: str):
        Lines(text).of(["a", "b"])


def told(*paths: Path) -> list[str]:
    return [f"{w.fault.field} {w.line}" for checked in check(paths) for w in checked.wrong]


class TestYards:
    def test_a_good_one_stands_on_the_demo(self, tmp_path: Path):
        folder = yard(tmp_path)
        (folder / "setups").mkdir()
        text = (demo_folder() / "setups" / "mill-pond.toml").read_text(encoding="utf-8")
        (folder / "setups" / "ours.toml").write_text(text.replace('"ferrow-3"', '"moor-3"'), encoding="utf-8")
        assert told(folder) == []

    def test_every_fault_of_every_file(self, tmp_path: Path):
        """Each in its own file, on its own line, though the files hang together."""
        folder = yard(
            tmp_path,
            hoses=HOSES.replace('bore = "3.05 in"', "bore = 3.05").replace('"100 psi"', '"100 ps"'),
            fittings=FITTINGS.replace("holds_prime", "hold_prime"),
            prices=PRICES.replace("day = 9.0", "dya = 9.0"),
            moor_3=PUMP.replace("[200, 70]", "[100, 70]"),
        )
        (folder / "setups").mkdir()
        (folder / "setups" / "bad.toml").write_text("format = 1", encoding="utf-8")
        found = {
            f"{checked.path.name}:{wrong.line}": wrong.fault.field
            for checked in check([folder])
            for wrong in checked.wrong
        }
        lines = {name: text.split("\n") for name, text in (("hoses", HOSES), ("fittings", FITTINGS), ("pump", PUMP))}
        bore = lines["hoses"].index('bore = "3.05 in"') + 1
        psi = lines["hoses"].index('working_pressure = "100 psi"') + 1
        prime = lines["fittings"].index("holds_prime = true") + 1
        points = next(at for at, line in enumerate(lines["pump"], start=1) if line.startswith("points = [[0"))
        assert found[f"hoses.toml:{bore}"] == "hose.reed.size.0.bore"
        assert found[f"hoses.toml:{psi}"] == "hose.ribbon.size.0.working_pressure"
        assert found[f"fittings.toml:{prime}"] == "fitting.flap.hold_prime"
        assert found[f"moor-3.toml:{points}"] == "head.points.2"
        assert found["bad.toml:1"] == "format"
        assert "price.ribbon.dya" in found.values()
        assert len(found) == 6, found

    def test_one_price_of_several_of_an_item_is_the_one_meant(self, tmp_path: Path):
        more = PRICES + '[[price]]\nitem = "ribbon"\nsize = "2 in"\nday = -1\n'
        assert told(yard(tmp_path, prices=more)) == [f"price.ribbon.day {len(more.splitlines())}"]

    def test_what_no_file_shows_by_itself(self, tmp_path: Path):
        folder = yard(tmp_path, prices=PRICES.replace('"moor-3"', '"mor-3"'))
        (folder / "pumps" / "again.toml").write_text(PUMP.replace('["water"]', '["watre"]'), encoding="utf-8")
        item = PRICES.replace('"moor-3"', '"mor-3"').split("\n").index('item = "mor-3"') + 1
        own = PUMP.split("\n").index('id = "moor-3"') + 1
        # the files are read in the order of their names, so that the second pump of that id is the good one
        assert sorted(told(folder)) == sorted([f"price.mor-3.item {item}", f"moor-3 {own}"])
        assert told(folder / "pumps" / "again.toml") == []

    def test_a_broken_record_is_told_once_and_not_missed_by_those_that_name_it(self, tmp_path: Path):
        broken = yard(tmp_path / "a", moor_3=PUMP.replace('"3600 rpm"', "3600"), hoses=HOSES.replace("80 psi", "80"))
        fields = {line.split(" ")[0] for line in told(broken)}
        assert fields == {"speed", "hose.ribbon.size.1.working_pressure"}
        unread = yard(tmp_path / "b", moor_3="x = [\n[y]")
        assert told(unread) == ["line 2 2"]

    def test_replaced_and_hidden_files_are_left_alone(self, tmp_path: Path):
        folder = yard(tmp_path)
        (folder / "earlier").mkdir()
        (folder / "earlier" / "hoses.1.toml").write_text("x = [", encoding="utf-8")
        (folder / "pumps" / ".#moor-3.toml").symlink_to("nowhere")
        assert told(folder) == []


class TestCommand:
    def test_lines_stand_in_the_text_and_in_the_json(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
        folder = yard(tmp_path, moor_3=PUMP.replace('"3600 rpm"', "3600"))
        speed = PUMP.split("\n").index('speed = "3600 rpm"') + 1
        assert answer(["check", str(folder), "--json"]) == 2
        out, err = capsys.readouterr()
        assert err.startswith(f"{folder}/pumps/moor-3.toml: line {speed}: speed: 3600 has no unit; ")
        (fault,) = json.loads(out)["faults"]
        assert (fault["where"], fault["line"], fault["field"]) == (f"{folder}/pumps/moor-3.toml", speed, "speed")

    def test_a_frame_of_a_picture_is_read_too(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
        (tmp_path / "pictures").mkdir()
        (tmp_path / "pictures" / "x.frame.toml").write_text(FRAME, encoding="utf-8")
        assert answer(["check", str(tmp_path)]) == 2
        assert 'x.frame.toml: line 11: mark.1.head: "ten" is text' in capsys.readouterr().err

    def test_a_yard_named_in_any_place_is_seen_and_forgotten(
        self, tmp_path: Path, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ):
        monkeypatch.delenv("CURVELAB_YARD", raising=False)
        folder, setup = yard(tmp_path / "yard"), tmp_path / "x.toml"
        text = (demo_folder() / "setups" / "mill-pond.toml").read_text(encoding="utf-8")
        setup.write_text(text.replace('"ferrow-3"', '"moor-3"'), encoding="utf-8")
        for args in (["--yard", str(folder), "solve", str(setup)], ["solve", str(setup), "--yard", str(folder)]):
            assert answer(args) == 0
            capsys.readouterr()
            assert answer(["solve", str(setup)]) == 2
            assert 'no pump is called "moor-3"' in capsys.readouterr().err

    def test_a_yard_that_is_none(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
        assert answer(["find", str(demo_folder() / "setups" / "mill-pond.toml"), "--yard", str(tmp_path / "no")]) == 2
        assert capsys.readouterr().err.endswith("no: is no folder; name a folder with pumps/, hoses.toml and the like; "
                                                "curvelab yard DIR makes one\n")  # fmt: skip
