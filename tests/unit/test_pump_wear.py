"""Wear of a pump: what was put into synthetic tests comes out, with a doubt that covers it and words that fit."""

from __future__ import annotations

import json
import re
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.cli import answer
from curvelab.errors import InputError, UnknownNameError
from curvelab.model.amount import Amount
from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.catalogue import Catalogue, default_catalogue, demo_folder
from curvelab.model.kept import keep_tests, with_tests
from curvelab.model.link import decode, encode
from curvelab.model.pump import Pump, ReturnTest, pump_from
from curvelab.model.reading import parse_table
from curvelab.model.shelf import Shelf
from curvelab.model.yard import earlier, make_yard, save
from curvelab.report.pump_tests import pump_test_text
from curvelab.studies.pumptest import PumpTest, Verdict, in_quote, wear_of
from curvelab.studies.solve import solve
from curvelab.units import Quantity, System
from tests.unit.study_cases import FOOT, GPM, PSI, demo

DAY = "2026-05-04"
WATER = 998.2071
"""Density at 20 °C, IAPWS. [kg/m³]"""
G = 9.80665
PUMP = Pump.model_validate(
    {
        "id": "wren-3",
        "name": "Wren 3",
        "kind": "trash",
        "source": "made up for a test",
        "inlet": "3 in",
        "outlet": "3 in",
        "speed": "3600 rpm",
        "priming_lift": "26 ft",
        "head": {"flow": "gpm", "head": "ft", "points": [[q, 100.0 - q * q / 1600.0] for q in range(0, 361, 20)]},
    }
)


def head_ft(gpm: float, ratio: float, wear: float) -> float:
    """By the affinity laws, from the formula that the points are of."""
    return wear * ratio**2 * (100.0 - (gpm / ratio) ** 2 / 1600.0)


def reading(kind: str, **readings: str) -> ReturnTest:
    return ReturnTest.model_validate({"date": DAY, "kind": kind, **readings})


def psi(feet: float) -> str:
    return f"{feet * FOOT * WATER * G / PSI:.4f} psi"


def shut(wear: float, rpm: float = 3600.0, vacuum_ft: float = 2.0) -> ReturnTest:
    feet = head_ft(0.0, rpm / 3600.0, wear) - vacuum_ft
    vacuum = f"{vacuum_ft * FOOT * WATER * G:.2f} Pa"
    return reading("shut-off", speed=f"{rpm} rpm", pressure=psi(feet), vacuum=vacuum)


def drum(wear: float, gpm: float, rpm: float = 3600.0, vacuum_ft: float = 5.0) -> ReturnTest:
    feet = head_ft(gpm, rpm / 3600.0, wear) - vacuum_ft
    return reading(
        "drum",
        speed=f"{rpm} rpm",
        volume="275 gal",
        time=f"{275.0 / gpm * 60.0:.6f} s",
        pressure=psi(feet),
        vacuum=f"{vacuum_ft * FOOT * WATER * G:.2f} Pa",
    )


class TestFactor:
    @pytest.mark.parametrize("wear", [1.0, 0.92, 0.7])
    @pytest.mark.parametrize("rpm", [3600.0, 3450.0, 2900.0])
    def test_what_was_put_in_comes_out(self, wear: float, rpm: float):
        for readings in ([shut(wear, rpm)], [drum(wear, 120.0, rpm), drum(wear, 220.0, rpm)],
                         [shut(wear, rpm), drum(wear, 120.0, rpm), drum(wear, 220.0, rpm)]):  # fmt: skip
            found = wear_of(PUMP, readings)
            assert found.wear == pytest.approx(wear, abs=2e-3)  # PCHIP between points 20 gal/min apart
            assert found.agree
            assert 0.02 < (found.doubt or 0.0) < 0.15

    def test_worked_by_hand(self):
        """38 psi at 3450 rpm against 96 ft: 38 × 2.3108 ft over 96 × (3450/3600)², no vacuum read."""
        pump = default_catalogue().pumps["ferrow-2"]
        found = wear_of(pump, [reading("shut-off", pressure="38 psi", speed="3450 rpm")])
        assert found.wear == pytest.approx(38 * 2.3108 / (96 * (3450 / 3600) ** 2), rel=1e-3)
        # gauge 1.45 psi of 38, speed 1 % twice, water 0.5 m of 26.8 m higher or lower
        assert found.doubt == pytest.approx(0.996 * np.hypot.reduce([1.45 / 38, 0.02, 0.5 / 26.8]), rel=0.03)

    @given(
        wear=st.floats(0.5, 1.0),
        rpm=st.floats(2400.0, 3700.0),
        off=st.tuples(st.floats(-1, 1), st.floats(-1, 1), st.floats(-1, 1)),
    )
    def test_readings_off_by_what_is_doubted_lie_within_the_doubt(
        self, wear: float, rpm: float, off: tuple[float, float, float]
    ):
        """Errors on a sphere of the doubts themselves: the doubt found holds them, but for its own curvature."""
        gauge, speed, vacuum = np.array(off) / max(1.0, float(np.linalg.norm(off)))
        good = shut(wear, rpm)
        assert good.pressure is not None
        assert good.vacuum is not None
        found = wear_of(
            PUMP,
            [
                reading(
                    "shut-off",
                    pressure=f"{good.pressure.si + gauge * 1e4} Pa",
                    vacuum=f"{max(good.vacuum.si + vacuum * 2.5e3, 0.0)} Pa",
                    speed=f"{rpm * (1.0 + 0.01 * speed)} rpm",
                )
            ],
        )
        assert found.wear is not None
        assert found.doubt is not None
        assert abs(found.wear - wear) <= 1.1 * found.doubt

    def test_readings_that_contradict_say_so_and_widen_the_doubt(self):
        found = wear_of(PUMP, [shut(1.0), drum(0.6, 150.0)])
        assert not found.agree
        assert "don't agree" in found.sentence
        assert found.wear is not None
        assert found.doubt == pytest.approx(max(1.0 - found.wear, found.wear - 0.6), abs=5e-3)

    def test_an_unmeasured_speed_is_worth_little(self):
        measured, guessed = wear_of(PUMP, [shut(0.9)]), wear_of(PUMP, [reading("shut-off", pressure=psi(88.0))])
        assert (guessed.doubt or 0.0) > 2.0 * (measured.doubt or 1.0)

    def test_velocity_heads_count_where_ports_differ(self):
        narrow = PUMP.model_copy(update={"outlet": Amount.of_si(0.0508, Quantity.BORE)})
        speed = 200 * GPM / (np.pi / 4 * np.array([0.0762, 0.0508]) ** 2)
        more = (speed[1] ** 2 - speed[0] ** 2) / (2 * G) / (head_ft(200.0, 1.0, 1.0) * FOOT)
        wide = wear_of(PUMP, [drum(1.0, 200.0)]).wear
        assert wide is not None
        assert wear_of(narrow, [drum(1.0, 200.0)]).wear == pytest.approx(wide + more, rel=1e-6)

    def test_an_estimated_curve_makes_it_less_sure(self):
        sheet = BoxSheet.model_validate({"greatest_head": "100 ft", "greatest_flow": "380 gpm"})
        estimated = pump_from_box({"id": "wren-3e", "speed": "3600 rpm"}, sheet)
        found, tested = wear_of(estimated, [shut(0.8)]), wear_of(PUMP, [shut(0.8)])
        assert (found.doubt or 0.0) > 1.5 * (tested.doubt or 1.0)
        assert "its estimated curve" in found.sentence


class TestUseless:
    @pytest.mark.parametrize(
        ("one", "reason"),
        [
            (reading("drum", volume="55 gal", time="16 s"), "no pressure was read"),
            (reading("vacuum", vacuum="22 inHg"), "not of the head"),
            (drum(1.0, 380.0), "outside the tested curve"),
            (reading("drum", volume="5 gal", time="1 s", pressure="30 psi"), "too fast for a watch"),
            (reading("shut-off", pressure="3 psi", speed="900 rpm"), "the speed is too far"),
        ],
    )
    def test_a_reading_that_tells_nothing_says_why(self, one: ReturnTest, reason: str):
        found = wear_of(PUMP, [one])
        assert reason in found.readings[0].reason
        assert (found.wear, found.verdict) == (None, Verdict.UNKNOWN)

    def test_a_curve_without_shut_off_and_a_diaphragm(self):
        fleet = default_catalogue().pumps
        assert wear_of(fleet["damson-2d"], [shut(1.0)]).wear is None
        late = PUMP.model_copy(update={"head": fleet["damson-3d"].head})
        assert "no point at zero flow" in wear_of(late, [shut(1.0)]).readings[0].reason

    def test_never_tested(self):
        found = wear_of(PUMP)
        assert (found.date, found.wear, found.readings) == (None, None, ())
        assert "never tested" in pump_test_text(found, PUMP)


class TestVerdict:
    @pytest.mark.parametrize(
        ("wear", "verdict", "says"),
        [
            (1.0, Verdict.AS_NEW, "As new: the head of its sheet, give or take"),
            (0.97, Verdict.AS_NEW, "As new: 3 % less head than its sheet"),
            (0.92, Verdict.TIRED, "Tired: 8 % less head than its sheet"),
            (0.75, Verdict.WORN, "Worn: 25 % less head than its sheet"),
            (1.3, Verdict.TOO_GOOD, "Hard to believe: 30 % more head than its sheet"),
        ],
    )
    def test_words(self, wear: float, verdict: Verdict, says: str):
        found = wear_of(PUMP, [shut(wear)])
        assert found.verdict is verdict
        assert found.sentence.startswith(says)
        assert found.advice

    def test_what_cannot_be_told_is_not_told(self):
        found = wear_of(PUMP, [reading("shut-off", pressure=psi(93.0))])
        assert found.verdict is Verdict.UNCLEAR
        assert found.sentence.startswith("Perhaps 7 % less head than its sheet, but the readings may be 9 % off")

    @pytest.mark.parametrize(
        ("vacuum", "altitude", "tight"),
        [("22 inHg", "0 ft", True), ("17 inHg", "0 ft", False), ("17 inHg", "7000 ft", True)],
    )
    def test_the_vacuum_is_held_against_the_sheet_at_that_height(self, vacuum: str, altitude: str, *, tight: bool):
        """26 ft are 22.9 inHg at sea level; at 7000 ft the air has 77 % of its push left."""
        found = wear_of(PUMP, [reading("vacuum", vacuum=vacuum, altitude=altitude)])
        assert found.suction is not None
        assert found.suction.tight is tight
        assert ("draws air" in found.sentence) is not tight
        assert found.suction.draws_m == pytest.approx(
            float(vacuum.split(maxsplit=1)[0]) * 3386.389 / (WATER * G), rel=1e-4
        )

    @pytest.mark.parametrize("system", System)
    def test_every_system_of_units(self, system: System):
        found = wear_of(PUMP, [shut(0.9), drum(0.9, 150.0), reading("vacuum", vacuum="15 inHg")], system=system)
        told = pump_test_text(found, PUMP, system)
        assert (re.search(r"[0-9] ft\b", told) is not None) is (system is not System.METRIC)
        json.dumps(found.to_dict(), allow_nan=False)

    def test_its_own_tests_of_the_latest_day_count(self):
        old = [
            t.model_copy(update={"date": t.date.replace(year=2025)})
            for t in (shut(0.5), reading("vacuum", vacuum="20 inHg"))
        ]
        found = wear_of(PUMP.model_copy(update={"test": (*old, shut(0.9))}))
        assert found.wear == pytest.approx(0.9, abs=2e-3)
        assert found.suction is not None
        assert found.date == DAY


class TestQuote:
    def test_only_if_the_person_wants_it(self):
        setup, found = demo("mill-pond"), wear_of(PUMP, [shut(0.85)])
        worn = in_quote(setup, found)
        assert setup.pump.wear == 1.0
        assert worn.pump.wear == pytest.approx(0.85, abs=2e-3)
        assert (solve(worn).flow_m3_s or 0.0) < (solve(setup).flow_m3_s or 0.0)
        assert in_quote(setup, wear_of(PUMP)) is setup


TEXT = (demo_folder() / "pumps" / "ferrow-3.toml").read_text(encoding="utf-8")


class TestLink:
    def test_tests_stay_in_the_yard(self):
        """They name people, change no answer, and there would soon be more of them than a link holds."""
        by = [reading("shut-off", pressure="38 psi", by="Kim") for _ in range(200)]
        ferrow = default_catalogue().pumps["ferrow-3"]
        tested = Catalogue.of(_Shelf(ferrow.model_copy(update={"test": tuple(by)})))
        assert encode(demo("mill-pond"), catalogue=tested) == encode(demo("mill-pond"))
        own = Catalogue.of(_Shelf(PUMP.model_copy(update={"test": tuple(by)})))
        link = encode(demo("mill-pond").with_("pump.id", "wren-3"), catalogue=own)
        assert decode(link).setup.pump.record == PUMP


class _Shelf(Shelf):
    """The demo with one pump in another state."""

    def __init__(self, pump: Pump) -> None:
        super().__init__()
        self.records = {kind: dict(of) for kind, of in default_catalogue().records.items()}
        self.records[Pump][pump.id] = pump


class TestKeeping:
    @pytest.fixture
    def yard(self, tmp_path: Path) -> Path:
        make_yard(tmp_path / "yard")
        return tmp_path / "yard"

    @pytest.mark.parametrize("end", ["\n", "\r\n"])
    def test_nothing_else_in_the_file_changes(self, end: str):
        text = TEXT.replace("\n", end) + "# greased in spring"
        new = with_tests(text, [shut(0.9), reading("vacuum", vacuum="20 inHg", by='Kim "K"')])
        assert new.startswith(text)
        assert new.count(end) == new.count("\n")
        pump = pump_from(parse_table(new), where="")
        assert [t.kind for t in pump.test] == ["shut-off", "vacuum"]
        assert pump.test[0].date.isoformat() == DAY
        again = with_tests(new, [shut(0.8)])
        assert again.startswith(new)
        assert len(pump_from(parse_table(again), where="").test) == 3

    def test_tests_in_one_line_are_not_added_to(self):
        text = 'test = [{ date = 2026-01-01, kind = "vacuum", vacuum = "20 inHg" }]\n' + TEXT
        with pytest.raises(InputError, match=r"test: can't be added to; write each test of the file as \[\[test\]\]"):
            with_tests(text, [shut(0.9)])

    def test_a_pump_of_the_demo_is_copied_and_one_of_the_yard_amended(self, yard: Path):
        path, _ = keep_tests(yard, "ferrow-3", [shut(0.9)])
        assert path == yard / "pumps" / "ferrow-3.toml"
        assert path.read_text(encoding="utf-8").startswith(TEXT)
        path.write_text(path.read_text(encoding="utf-8") + "# by hand\n", encoding="utf-8")
        _, stored = keep_tests(yard, "ferrow-3", [shut(0.8)])
        assert "# by hand" in stored.text
        assert len(earlier(yard, "pump", "ferrow-3")) == 1
        pump = Catalogue.load(demo_folder(), yard).pumps["ferrow-3"]
        assert len(pump.test) == 2

    def test_a_file_of_another_name_is_found_by_its_id(self, yard: Path):
        (yard / "pumps" / "Our Trash Pump.toml").write_text(TEXT.replace('"ferrow-3"', '"ours"'), encoding="utf-8")
        path, _ = keep_tests(yard, "ours", [shut(0.9)])
        assert path.name == "Our Trash Pump.toml"
        assert not (yard / "pumps" / "ours.toml").exists()

    def test_a_pump_that_nobody_has(self, yard: Path):
        with pytest.raises(UnknownNameError, match="ferow"):
            keep_tests(yard, "ferow-3", [shut(0.9)])


class TestCommand:
    def test_from_readings_to_a_kept_test(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
        make_yard(tmp_path)
        save(tmp_path, "pump", "wren-3", TEXT.replace('"ferrow-3"', '"wren-3"'))
        readings = ["--shut", "36 psi", "--speed", "3500 rpm", "--date", DAY, "--drum", "55 gal, 33 s, 30 psi, 4 inHg"]
        assert answer(["wear", "wren-3", *readings, "--keep", "--yard", str(tmp_path)]) == 0
        assert "Kept in " in capsys.readouterr().out
        assert answer(["--yard", str(tmp_path), "wear", "wren-3", "--json"]) == 0
        told = json.loads(capsys.readouterr().out)
        assert told["format"] == "curvelab-pump-test/1"
        assert (told["date"], len(told["readings"])) == (DAY, 2)
        assert told["readings"][0]["wear"] == pytest.approx(36 * 2.3108 / (98 * (3500 / 3600) ** 2), rel=1e-3)

    def test_of_a_file(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
        (tmp_path / "p.toml").write_text(with_tests(TEXT, [shut(0.9)]), encoding="utf-8")
        assert answer(["wear", str(tmp_path / "p.toml")]) == 0
        assert "8 % less" in capsys.readouterr().out  # 90 ft of 98 ft

    @pytest.mark.parametrize(
        ("args", "says"),
        [
            (["ferow-3"], 'no pump is called "ferow-3"; did you mean "ferrow-3"?'),
            (["ferrow-3", "--shut", "38"], "--shut: pressure: 38 has no unit"),
            (["ferrow-3", "--drum", "55 gal"], "--drum: "),
            (["ferrow-3", "--drum", "55 gal, 16 s, 3 inches"], "--drum: pressure: "),
            (["ferrow-3", "--keep"], "--keep: there are no readings"),
            (["ferrow-3", "--keep", "--shut", "38 psi"], "--keep: no yard is named"),
            (["none.toml"], "none.toml"),
        ],
    )
    def test_faults_are_one_line(
        self, args: list[str], says: str, capsys: pytest.CaptureFixture[str], monkeypatch: pytest.MonkeyPatch
    ):
        monkeypatch.delenv("CURVELAB_YARD", raising=False)
        assert answer(["wear", *args]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert len(err.splitlines()) == 1
        assert says in err


def test_the_answer_is_the_studies_kind_of_object():
    found = wear_of(PUMP, [shut(0.9)])
    assert isinstance(found, PumpTest)
    assert found.to_dict()["verdict"] == "tired"
