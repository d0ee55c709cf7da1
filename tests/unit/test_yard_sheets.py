"""Hoses and prices as spreadsheets: out and in again equal, whatever a spreadsheet makes of them; faults by place."""

from __future__ import annotations

import csv
import io
import json
import shutil
from pathlib import Path

import pytest

from curvelab.cli import answer
from curvelab.errors import InputError
from curvelab.model.catalogue import Catalogue, demo_folder
from curvelab.model.exchange import read_in, write_out
from curvelab.model.sheet import parse_sheet, plain, with_points, write_sheet
from curvelab.model.shelf import EARLIER
from curvelab.model.yard import make_yard
from tests.unit.model_cases import FITTINGS, HOSES, LIQUIDS, PRICES, PUMP

DEMO = demo_folder()


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A yard with a few records of its own."""
    folder = tmp_path / "yard"
    make_yard(folder)
    for name, text in (("hoses", HOSES), ("fittings", FITTINGS), ("liquids", LIQUIDS), ("prices", PRICES)):
        (folder / f"{name}.toml").write_text(text, encoding="utf-8")
    (folder / "pumps" / "moor-3.toml").write_text(PUMP, encoding="utf-8")
    return folder


def records(folder: Path) -> tuple[dict[str, object], dict[str, object]]:
    loaded = Catalogue.load(DEMO, folder)
    return dict(loaded.hoses), dict(loaded.prices)


def rows(path: Path) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(path.read_text(encoding="utf-8-sig"))))


def put(folder: Path, text: str | bytes, *, over: bool = True):
    sheet = folder.parent / "sheet.csv"
    sheet.write_bytes(text if isinstance(text, bytes) else text.encode())
    return read_in(folder, sheet, over=over)


def faults(folder: Path, text: str | bytes, *, over: bool = True) -> list[str]:
    before = {path: path.read_bytes() for path in folder.rglob("*.toml")}
    with pytest.raises(InputError) as caught:
        put(folder, text, over=over)
    assert {path: path.read_bytes() for path in folder.rglob("*.toml")} == before
    return [fault.line().replace(f"{folder.parent}/", "") for fault in caught.value.faults]


class TestRoundTrip:
    @pytest.mark.parametrize("commas", [False, True])
    @pytest.mark.parametrize("kind", ["prices", "hoses"])
    def test_of_the_demo(self, tmp_path: Path, kind: str, *, commas: bool):
        """Every record of the demo, by way of a file that was made from nothing but the sheet."""
        yard = tmp_path / "yard"
        shutil.copytree(DEMO, yard)
        before = records(yard)
        write_out(yard, kind, tmp_path / "sheet.csv", commas=commas)
        (yard / f"{kind}.toml").unlink()
        taken = read_in(yard, tmp_path / "sheet.csv")
        assert records(yard) == before
        assert (len(taken.new), taken.changed, taken.gone, taken.same) == (len(before[kind == "prices"]), (), (), 0)

    @pytest.mark.parametrize("kind", ["prices", "hoses"])
    def test_nothing_changed_writes_nothing(self, yard: Path, kind: str):
        before = (yard / f"{kind}.toml").read_bytes()
        write_out(yard, kind, yard.parent / "sheet.csv")
        taken = read_in(yard, yard.parent / "sheet.csv")
        assert (taken.new, taken.changed, taken.gone) == ((), (), ())
        assert (yard / f"{kind}.toml").read_bytes() == before

    def test_a_changed_cell_changes_one_record_and_the_list_before_is_kept(self, yard: Path):
        (yard / "prices.toml").write_text("# by the counter's book\n" + PRICES.lstrip(), encoding="utf-8")
        write_out(yard, "prices", yard.parent / "sheet.csv")
        text = (yard.parent / "sheet.csv").read_text(encoding="utf-8").replace(",9,", ",9.5,")
        taken = put(yard, text, over=False)
        assert (taken.changed, taken.same) == (("ribbon 76.2 mm",), 1)
        price = Catalogue.load(DEMO, yard).price("ribbon", 0.0762)
        assert price is not None
        assert (price.day, price.currency, price.source) == (9.5, "USD", "made up for a test")
        assert (yard / "prices.toml").read_text(encoding="utf-8").startswith("# by the counter's book\nformat")
        (kept,) = (yard / EARLIER).iterdir()
        assert "day = 9.0" in kept.read_text(encoding="utf-8")

    def test_what_has_no_price_yet_is_a_row_to_fill_in(self, yard: Path):
        write_out(yard, "prices", yard.parent / "sheet.csv")
        told = [(row["item"], row["size"], row["day"]) for row in rows(yard.parent / "sheet.csv")]
        assert told == [
            ("moor-3", "", "70"), ("ribbon", "3 in", "9"), ("reed", "3 in", ""), ("reed", "4 in", ""),
            ("ribbon", "2 in", ""), *((item, "", "") for item in ("sieve", "flap", "bend", "clip", "tap")),
        ]  # fmt: skip

    def test_lists_under_another_name_stay_there(self, yard: Path):
        (yard / "hoses.toml").rename(yard / "what-we-have.toml")
        (yard / "prices.toml").unlink()
        put(yard, "id;use;size;bore;roughness;source\nreed;suction;3 in;3,05 in;0,1 mm;book")
        assert "3.05 in" in (yard / "what-we-have.toml").read_text(encoding="utf-8")
        assert not (yard / "hoses.toml").exists()


PRICES_CSV = "item,size,per,day,week\nmoor-3,,each,70,\nribbon,3 in,length,9.00,40\n"
WAYS = {
    "commas": PRICES_CSV,
    "semicolons and decimal commas": "item;size;per;day;week\nmoor-3;;each;70,00;\nribbon;3 in;length;9,0;40\n",
    "tabs": PRICES_CSV.replace(",", "\t"),
    "a spreadsheet's own first line": "sep=;\r\n" + PRICES_CSV.replace(",", ";"),
    "a byte order mark": "\ufeff" + PRICES_CSV,
    "UTF-16": PRICES_CSV.replace(",", "\t").encode("utf-16"),
    "carriage returns, blank lines, empty cells at the end": PRICES_CSV.replace("\n", ",,\r\n\r\n"),
    "quotes": 'item,size,per,day,week\n"moor-3","","each","70",""\n"ribbon","3 in","length","9.00","40"\n',
    "money": "item,size,per,day,week\nmoor-3,,each,$70,\nribbon,3 in,length,€9.00,40 £\n",
    "other capitals, other order": "Day,Week,Item,Per,Size\n70,,moor-3,each,\n9,40,ribbon,length,3 in\n",
    "a unit over the sizes": "item,size [in],per,day,week\nmoor-3,,each,70,\nribbon,3,length,9,40\n",
    "an item without a price": PRICES_CSV + "reed,3 in,length,,\n",
}


class TestSpreadsheets:
    @pytest.mark.parametrize("way", WAYS)
    def test_each_way_reads_the_same(self, yard: Path, way: str):
        put(yard, WAYS[way])
        prices = Catalogue.load(DEMO, yard).prices
        own = {key: (p.day, p.week, p.per, p.currency) for key, p in prices.items() if p.source == "made up for a test"}
        assert own == {"moor-3": (70.0, None, "each", "USD"), "ribbon 76.2 mm": (9.0, 40.0, "length", "USD")}

    def test_sizes_in_any_order_and_what_is_said_once_stands_for_all(self, yard: Path):
        text = (
            (
                "id;use;rigid;roughness;derate;size [in];bore [in];lengths;source\n"
                "reed;suction;yes;0,1 mm;30 degC 0,9; ;3,05;15 ft;book\n"
            )
            .replace("0,9; ;3,05;15 ft", '"30 degC 0,9; 50 degC 0,5";4;4,02;"15 ft; 7,5 m"')
            .replace('30 degC "', '"')
        )
        (yard / "prices.toml").unlink()
        put(yard, text + "reed;;;;;3;3,05;;\nline;both;no;0,2 mm;;2;2,1;;book\n")
        hoses = Catalogue.load(DEMO, yard).hoses
        reed = hoses["reed"]
        assert [size.size.si for size in reed.size] == pytest.approx([0.0762, 0.1016])
        assert [length.si for length in reed.size[1].lengths] == pytest.approx([15 * 0.3048, 7.5])
        assert [(step.temperature.si, step.share) for step in reed.derate] == [(303.15, 0.9), (323.15, 0.5)]
        assert (reed.rigid, hoses["line"].rigid) == (True, False)

    def test_a_formula_is_text_both_ways(self):
        text = write_sheet(["name", "x"], [["=1+1", "@cmd"], ["-3", "plain"]])
        assert [row.cells for row in parse_sheet(text).rows[1:]] == [("'=1+1", "'@cmd"), ("'-3", "plain")]
        assert [plain(cell) for cell in ("'=1+1", "'@cmd", "'tis", "it's")] == ["=1+1", "@cmd", "'tis", "it's"]

    @pytest.mark.parametrize(
        ("text", "commas", "read"),
        [
            ("3,05 in", False, "3.05 in"),
            ("0,125", False, "0.125"),
            ("3.05 in", True, "3.05 in"),
            ("1,200", True, "1.200"),
            ("1.200", False, "1.200"),
            ("1½ in", True, "1½ in"),
            ("15,5 m; 30 m", False, "15.5 m; 30 m"),
        ],
    )
    def test_decimal_marks(self, text: str, read: str, *, commas: bool):
        assert with_points(text, commas=commas) == read

    @pytest.mark.parametrize(
        ("text", "commas"), [("1,200 ft", False), ("1.200 ft", True), ("1,200.5", False), ("1.2.3", True)]
    )
    def test_marks_that_may_mean_two_things(self, text: str, *, commas: bool):
        with pytest.raises(InputError, match="may mean two things"):
            with_points(text, commas=commas)


BAD = {
    "nothing": ("", ["sheet.csv: has no rows; "]),
    "a head alone": ("item,day\n", ["sheet.csv: has no rows; "]),
    "no column of an item": ("day,week\n1,2\n", ["sheet.csv: line 1: id: has no column"]),
    "a column misspelt": (
        PRICES_CSV.replace("week", "weak"),
        ['line 1: weak: is no column known here; did you mean "week"?'],
    ),
    "a column twice": (PRICES_CSV.replace("week", "day"), ["line 1: day: stands twice"]),
    "more cells than columns": ("item,day\nmoor-3,70,5\n", ["line 2: 3 cells under 2 columns"]),
    "no number": (PRICES_CSV.replace("9.00", "nine"), ['line 3: day: "nine" is no plain number']),
    "a sum": (PRICES_CSV.replace("9.00", "=3*3"), ['line 3: day: "=3*3" is no plain number']),
    "two meanings": ('item,day\nmoor-3,"1,200"\n', ['line 2: day: "1,200" has a comma, which may mean two things']),
    "below nothing": (PRICES_CSV.replace("9.00", "-9"), ["line 3: day: -9"]),
    "no unit": (PRICES_CSV.replace("3 in", "3"), ["line 3: size: 3 has no unit"]),
    "no such item": (
        PRICES_CSV.replace("moor-3", "mor-3"),
        ['line 2: item: nothing is called "mor-3"; did you mean "moor-3"?'],
    ),
    "twice": (PRICES_CSV + "moor-3,,each,71,\n", ["line 4: item: stands in line 2 too"]),
    "per what": (
        PRICES_CSV.replace("length", "lenght"),
        ['line 3: per: "lenght" is not known here; did you mean "length"?'],
    ),
    "several at once": (
        "item,size,day\nmoor-3,,x\n,3 in,4\nribbon,3,5\n",
        ["line 2: day: "],
    ),
    "quotes that don't close": ('item,day\n"moor-3,70\n', ["line 2: "]),
    "another encoding": (
        "item,day,source\nmoor-3,70,Büro\n".encode("latin-1"),
        ["sheet.csv: is text in another encoding"],
    ),
    "binary": (b"PK\x03\x04\0\0\0\0", ["sheet.csv: "]),
    "a hose without a bore": ("id,size\nx,3 in\n", ["line 1: bore: has no column"]),
    "sizes of one hose that disagree": (
        "id,use,roughness,size,bore,source\nx,suction,0.1 mm,3 in,3 in,b\nx,discharge,,4 in,4 in,\n",
        ["line 3: use: differs from line 2"],
    ),
    "one size twice": (
        "id,use,roughness,size,bore,source\nx,suction,0.1 mm,3 in,3 in,b\nx,,,3 in,3 in,\n",
        ["line 3: size: "],
    ),
    "a bore of another size": (
        "id,use,roughness,size,bore,source\nx,suction,0.1 mm,4 in,4 in,b\nx,,,3 in,3 ft,\n",
        ['line 3: bore: "3 ft" is far from the size'],
    ),
    "a hose without its use": (
        "id,size,bore,source\nx,3 in,3 in,b\n",
        ["line 2: use: is missing", "line 2: roughness: is missing"],
    ),
    "yes and no": (
        "id,use,rigid,roughness,size,bore,source\nx,suction,maybe,0.1 mm,3 in,3 in,b\n",
        ['line 2: rigid: "maybe" is text; write yes or no'],
    ),
    "a derate": (
        "id,use,derate,roughness,size,bore,source\nx,suction,hot,0.1 mm,3 in,3 in,b\n",
        ['line 2: derate: "hot" is no temperature with a share'],
    ),
}


class TestFaults:
    @pytest.mark.parametrize("case", BAD)
    def test_each_with_its_place_and_nothing_written(self, yard: Path, case: str):
        text, says = BAD[case]
        found = faults(yard, text)
        for wanted, line in zip(says, found, strict=False):
            assert wanted in line, found
        assert len(found) >= len(says)

    def test_every_fault_is_told(self, yard: Path):
        found = faults(yard, "item,size,day\nmoor-3,,70\nmor-3,,1\nribbon,3,5\nreed,3 in,-1\n")
        assert [line.split(": ")[1] for line in found] == ["line 3", "line 4", "line 5"]

    def test_a_list_that_has_faults_itself_is_not_written_over(self, yard: Path):
        (yard / "prices.toml").write_text("x = [\n[y]", encoding="utf-8")
        (yard / "prices.toml").write_text(PRICES.replace("9.0", '"nine"'), encoding="utf-8")
        assert "price.ribbon.day" in faults(yard, PRICES_CSV)[0]

    def test_a_hose_that_has_a_price_is_not_taken_away(self, yard: Path):
        found = faults(yard, "id,use,roughness,size,bore,source\nreed,suction,0.1 mm,3 in,3 in,b\n")
        assert len(found) == 1
        assert found[0].startswith('yard/prices.toml: price.ribbon.item: no pump, hose or fitting is called "ribbon"; ')

    def test_two_lists_of_a_kind(self, yard: Path):
        (yard / "more.toml").write_text('format = "curvelab-prices/1"\n', encoding="utf-8")
        assert "prices: stand in more.toml and prices.toml" in faults(yard, PRICES_CSV)[0]

    def test_an_edit_since_the_sheet_was_made_is_not_lost_unseen(self, yard: Path):
        write_out(yard, "prices", yard.parent / "out.csv")
        text = (yard.parent / "out.csv").read_text(encoding="utf-8").replace(",70,", ",75,")
        (yard / "prices.toml").write_text(PRICES.replace("70.0", "72.0"), encoding="utf-8")
        assert "has changed since this sheet was made; write the list out anew" in faults(yard, text, over=False)[0]
        assert put(yard, text, over=True).changed == ("moor-3",)

    def test_a_sheet_from_elsewhere_does_not_replace_a_list_unasked(self, yard: Path):
        assert "this sheet doesn't know it" in faults(yard, PRICES_CSV.replace("70", "71"), over=False)[0]


class TestCommand:
    def test_out_and_in(self, yard: Path, capsys: pytest.CaptureFixture[str]):
        sheet = str(yard.parent / "prices.csv")
        assert answer(["yard", str(yard), "--out", "prices", sheet, "--commas"]) == 0
        assert capsys.readouterr().out.endswith("prices.csv: 10 rows of prices\n")
        Path(sheet).write_text(Path(sheet).read_text(encoding="utf-8").replace(";9;", ";9,50;"), encoding="utf-8")
        assert answer(["yard", str(yard), "--in", sheet, "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert (told["format"], told["list"], told["changed"]) == ("curvelab-yard/1", "prices", ["ribbon 76.2 mm"])

    def test_making_one_and_saying_what_it_holds(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
        assert answer(["yard", str(tmp_path / "new")]) == 0
        assert "made " in capsys.readouterr().out
        (tmp_path / "new" / "pumps" / "moor-3.toml").write_text(PUMP, encoding="utf-8")
        assert answer(["yard", str(tmp_path / "new"), "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert (told["made"], told["holds"], told["faults"]) == ([], {"pump": 1}, 0)

    @pytest.mark.parametrize(
        ("args", "says"),
        [
            (["--out", "pumps", "x.csv"], 'no list is called "pumps"'),
            (["--out", "prices", "none/x.csv"], "none/x.csv: no such file"),
            (["--in", "none.csv"], "none.csv: there is no such file"),
            (["--in", "x.csv", "--out", "prices", "y.csv"], "--in: stands beside --out"),
        ],
    )
    def test_faults_are_one_line(
        self,
        yard: Path,
        args: list[str],
        says: str,
        capsys: pytest.CaptureFixture[str],
        monkeypatch: pytest.MonkeyPatch,
    ):
        monkeypatch.chdir(yard.parent)
        assert answer(["yard", "yard", *args]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert len(err.splitlines()) == 1
        assert says in err

    def test_a_yard_that_is_not_there(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
        assert answer(["yard", str(tmp_path / "none"), "--out", "prices", "x.csv"]) == 2
        assert "is no folder" in capsys.readouterr().err
        assert not (tmp_path / "none").exists()
