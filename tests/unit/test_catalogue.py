"""The catalogue: what it reads, how records stand instead of one another, and every fault with file and field."""

from pathlib import Path

import numpy as np
import pytest

from curvelab.errors import InputError
from curvelab.model.catalogue import YARD, Catalogue, check_file, default_catalogue, demo_folder
from tests.unit.model_cases import CAUTIONS, FILES, FITTINGS, HOSES, LIQUIDS, PRICES, PUMP, yard

FOOT, INCH, GPM, PSI = 0.3048, 0.0254, 231 * 0.0254**3 / 60, 0.45359237 * 9.80665 / 0.0254**2


@pytest.fixture
def catalogue(tmp_path: Path) -> Catalogue:
    return Catalogue.load(yard(tmp_path))


class TestReading:
    def test_every_kind(self, catalogue: Catalogue):
        assert set(catalogue.pumps) == {"moor-3"}
        assert set(catalogue.hoses) == {"reed", "ribbon"}
        assert set(catalogue.fittings) == {"sieve", "flap", "bend", "clip", "tap"}
        assert set(catalogue.liquids) == {"water", "syrup"}
        assert set(catalogue.cautions) == {"fumes"}
        assert catalogue.cautions["fumes"].when.place == ("pit",)

    def test_points_in_si(self, catalogue: Catalogue):
        head = catalogue.pumps["moor-3"].head
        assert head.flow_m3_s == pytest.approx(np.array([0, 100, 200, 300]) * GPM)
        assert head.values_si == pytest.approx(np.array([90, 85, 70, 40]) * FOOT)

    def test_a_size_is_found_by_what_it_measures(self, catalogue: Catalogue):
        size = catalogue.hoses["ribbon"].sized(0.0762)
        assert size is not None
        assert size.bore.si == pytest.approx(3 * INCH)
        assert catalogue.hoses["ribbon"].sized(2.5 * INCH) is None

    def test_prices_by_item_and_size(self, catalogue: Catalogue):
        ribbon, moor = catalogue.price("ribbon", 3 * INCH), catalogue.price("moor-3")
        assert ribbon is not None
        assert moor is not None
        assert (ribbon.day, ribbon.per, ribbon.currency) == (9.0, "length", "USD")
        assert (moor.day, moor.per) == (70.0, "each")
        assert catalogue.price("ribbon", 2 * INCH) is None

    def test_a_source_over_the_whole_file_stands_for_its_records(self, catalogue: Catalogue):
        assert catalogue.hoses["reed"].source == "made up for a test"

    def test_rating_share_between_stated_temperatures(self, catalogue: Catalogue):
        share = catalogue.hoses["ribbon"].pressure_share(np.array([273.15, 293.15, 303.15, 313.15, 323.15, 350.0]))
        # 1 at 20 °C, 0.9 at 30, 0.5 at 50; the last holds on
        assert share == pytest.approx([1.0, 1.0, 0.9, 0.7, 0.5, 0.5])
        assert catalogue.hoses["reed"].pressure_share(np.array([350.0])) == pytest.approx([1.0])

    def test_sources_and_frames_are_known_and_left(self, tmp_path: Path):
        yard(tmp_path)
        (tmp_path / "sources.toml").write_text('format = "curvelab-sources/1"\n')
        (tmp_path / "pictures").mkdir()
        (tmp_path / "pictures" / "x.frame.toml").write_text('format = "curvelab-frame/1"\nflow = "gpm"\n')
        assert set(Catalogue.load(tmp_path).pumps) == {"moor-3"}

    def test_the_name_of_a_file_of_many_does_not_matter(self, tmp_path: Path):
        yard(tmp_path)
        (tmp_path / "hoses.toml").rename(tmp_path / "what-we-have.toml")
        assert set(Catalogue.load(tmp_path).hoses) == {"reed", "ribbon"}


class TestYards:
    def test_a_later_folder_stands_instead_and_beside(self, tmp_path: Path):
        demo, own = yard(tmp_path / "demo"), tmp_path / "own"
        (own / "pumps").mkdir(parents=True)
        (own / "pumps" / "a.toml").write_text(PUMP.replace("Moor 3", "Moor 3, rebuilt"))
        (own / "pumps" / "b.toml").write_text(PUMP.replace("moor-3", "fen-2"))
        catalogue = Catalogue.load(demo, own)
        assert catalogue.pumps["moor-3"].name == "Moor 3, rebuilt"
        assert set(catalogue.pumps) == {"moor-3", "fen-2"}
        assert set(catalogue.hoses) == {"reed", "ribbon"}

    def test_the_environment_names_one(self, tmp_path: Path, monkeypatch: pytest.MonkeyPatch):
        monkeypatch.setenv(YARD, str(yard(tmp_path)))
        assert "moor-3" in default_catalogue().pumps
        monkeypatch.delenv(YARD)
        assert "moor-3" not in default_catalogue().pumps

    def test_read_once(self):
        assert default_catalogue() is default_catalogue()


def faults(folder: Path) -> list[str]:
    with pytest.raises(InputError) as caught:
        Catalogue.load(folder)
    return [f"{Path(f.where).name}: {f.field}: {f.got}; {f.right}" for f in caught.value.faults]


PUMP_FAULTS = {
    "no source": ('source = "made up for a test"\n', "", "source: is missing"),
    "a kind": ('"trash"', '"trahs"', 'kind: "trahs" is not known here; did you mean "trash"?'),
    "an id with a space": ('"moor-3"', '"moor 3"', 'id: "moor 3" is none; write an id of letters'),
    "a key": ("inlet", "inlett", 'inlett: unknown key; did you mean "inlet"?'),
    "a bare port": ('"3 in"\noutlet', "3\noutlet", "inlet: 3 has no unit"),
    "no speed": ('speed = "3600 rpm"\n', "", "speed: is missing"),
    "no curve": ("[head]", "[heda]", 'heda: unknown key; did you mean "head"?'),
    "flows that stand still": ("[200, 70]", "[100, 70]", "head.points.2: 100 does not come after 100"),
    "flows that fall": ("[300, 40]", "[150, 40]", "head.points.3: 150 does not come after 200"),
    "one point": ("[[0, 90], [100, 85], [200, 70], [300, 40]]", "[[0, 90]]", "head.points: 1 points"),
    "a point of three": ("[100, 85]", "[100, 85, 1]", "head.points.1: a list; write a pair"),
    "a point in quotes": ("[100, 85]", '["100", 85]', 'head.points.1: "100" is text'),
    "nan": ("[100, 85]", "[100, nan]", "head.points.1: nan"),
    "inf": ("[300, 40]", "[inf, 40]", "head.points.3: inf"),
    "a negative flow": ("[0, 90]", "[-1, 90]", "head.points.0: a flow of -1"),
    "a negative head": ("[200, 70]", "[200, -70]", "head.points.2: -70 ft"),
    "a zero before the end": ("[200, 70]", "[200, 0]", "head.points.2: 0 ft"),
    "a unit of points": ('head = "ft"\npoints = [[0', 'head = "psi"\npoints = [[0', "head.head: psi is a pressure"),
    "no NPSHR at all": ("[60, 6]", "[60, 0]", "npshr.points.0: 0 ft"),
    "two ways to suction": (
        "[npshr]",
        '[[suction_test]]\nlift = "1 m"\nflow = "9 gpm"\n[npshr]',
        "suction_test: stands beside",
    ),
    "an efficiency over 1": (
        "[npshr]",
        '[efficiency]\nflow = "gpm"\nefficiency = "fraction"\npoints = [[0, 0], [100, 45]]\n[npshr]',
        "efficiency.points.1: 45 fraction",
    ),
    "carried and never": (
        'carries = ["water"]',
        'carries = ["water"]\nnever = ["water"]',
        'carries: "water" stands in never',
    ),
    "a liquid nobody knows": ('carries = ["water"]', 'carries = ["watre"]', 'carries: no liquid is called "watre"'),
}

LIST_FAULTS = {
    "hose: sizes out of order": ("hoses", HOSES.replace('"4 in"', '"2.9 in"'), "hose.reed.size.1.size: "),
    "hose: bore of another size": (
        "hoses",
        HOSES.replace('"3.05 in"', '"3.05 ft"'),
        'hose.reed.size.0.bore: "3.05 ft" is far',
    ),
    "hose: rating that grows when hot": ("hoses", HOSES.replace("0.5", "0.95"), "hose.ribbon.derate.1: out of order"),
    "hose: no source": ("hoses", HOSES.replace("source", "# "), "hose.reed.source: is missing"),
    "hose: key of the file": ("hoses", HOSES.replace("source", "sauce"), 'sauce: unknown key; did you mean "source"?'),
    "hose: single brackets": (
        "hoses",
        'format = "curvelab-hoses/1"\n[hose]\nid = "x"\n',
        "hose: a table; write [[hose]]",
    ),
    "fitting: k and sizes": (
        "fittings",
        FITTINGS.replace('where = "any"\nsource', 'k = 1.0\nwhere = "any"\nsource'),
        "fitting.bend.k: ",
    ),
    "fitting: no k": ("fittings", FITTINGS.replace("k = 2.0\n", ""), "fitting.flap.k: is missing"),
    "fitting: k under its spread": (
        "fittings",
        FITTINGS.replace("k = 2.0", "k = 2.0\nlow = 3.0"),
        "fitting.flap.low: 3 is over k",
    ),
    "fitting: place": ("fittings", FITTINGS.replace('"outlet"', '"end"'), 'fitting.tap.where: "end" is not known here'),
    "liquid: half stated": (
        "liquids",
        LIQUIDS.replace("density_ratio = 1.3\n", ""),
        "liquid.syrup.density_ratio: is missing",
    ),
    "liquid: water's density": (
        "liquids",
        LIQUIDS.replace('source = "computed"', 'source = "x"\ndensity_ratio = 1.0'),
        "liquid.water.density_ratio: is computed",
    ),
    "price: of nothing": (
        "prices",
        PRICES.replace('"ribbon"', '"ribon"'),
        'item: no pump, hose or fitting is called "ribon"; did you mean',
    ),
    "price: free for how long?": ("prices", PRICES.replace("day = 9.0\n", ""), "price.ribbon.day: is missing"),
    "caution: a place": (
        "cautions",
        CAUTIONS.replace('"pit"', '"pitt"'),
        'caution.fumes.when.place.0: "pitt" is not known here',
    ),
    "a format": (
        "hoses",
        HOSES.replace("hoses/1", "hose/1"),
        'format: "curvelab-hose/1" is no format known here; did you mean',
    ),
}


class TestFaults:
    @pytest.mark.parametrize("case", PUMP_FAULTS)
    def test_of_a_pump(self, tmp_path: Path, case: str):
        old, new, expected = PUMP_FAULTS[case]
        assert old in PUMP
        found = faults(yard(tmp_path, moor_3=PUMP.replace(old, new, 1)))
        assert any(expected in line for line in found), found

    @pytest.mark.parametrize("case", LIST_FAULTS)
    def test_of_a_list(self, tmp_path: Path, case: str):
        name, text, expected = LIST_FAULTS[case]
        assert text != FILES[f"{name}.toml"]
        found = faults(yard(tmp_path, **{name: text}))
        assert any(expected in line for line in found), found

    def test_one_id_in_two_files(self, tmp_path: Path):
        yard(tmp_path)
        (tmp_path / "pumps" / "z.toml").write_text(PUMP)
        (line,) = faults(tmp_path)
        assert line.startswith("z.toml: moor-3: stands in ")

    def test_one_id_twice_in_a_file(self, tmp_path: Path):
        assert "stands in" in faults(yard(tmp_path, liquids=LIQUIDS + LIQUIDS.split("\n", 2)[2]))[0]

    def test_all_files_are_looked_at(self, tmp_path: Path):
        broken = {
            "hoses": HOSES.replace("80 psi", "80"),
            "moor_3": PUMP.replace('"3600 rpm"', "3600"),
            "liquids": "x = [",
        }
        assert {line.split(":")[0] for line in faults(yard(tmp_path, **broken))} == {
            "hoses.toml",
            "liquids.toml",
            "moor-3.toml",
        }

    def test_no_folder(self, tmp_path: Path):
        assert "is no folder" in faults(tmp_path / "none")[0]

    def test_suction_tests_that_contradict(self, tmp_path: Path):
        two = '[[suction_test]]\nlift = "10 ft"\nflow = "90 gpm"\n[[suction_test]]\nlift = "20 ft"\nflow = "100 gpm"\n'
        text = PUMP.split("[npshr]")[0] + two
        (line,) = faults(yard(tmp_path, moor_3=text))
        assert "suction_test.1.flow" in line
        assert "a greater lift lets less through" in line


class TestChecking:
    def test_good_files_have_no_faults(self, tmp_path: Path):
        for name in FILES:
            assert check_file(yard(tmp_path) / name) == []

    def test_a_setup_is_held_against_the_catalogue(self, tmp_path: Path):
        good = demo_folder() / "setups" / "mill-pond.toml"
        assert check_file(good) == []
        path = tmp_path / "x.toml"
        path.write_text(good.read_text().replace('id = "ferrow-3"', 'id = "ferow-3"'))
        (fault,) = check_file(path)
        assert fault.line().endswith('pump.id: no pump is called "ferow-3"; did you mean "ferrow-3"?')

    def test_every_demo_file_is_good(self):
        for path in sorted(demo_folder().rglob("*.toml")):
            assert check_file(path) == [], path
