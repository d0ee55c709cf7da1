"""Curves from less than a curve: they fall, their band holds the true one, and whatever uses them says "estimate"."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from curvelab.cli import answer
from curvelab.errors import DomainError, InputError
from curvelab.hydraulics.curve import CurveTable
from curvelab.hydraulics.fitted import DIAPHRAGM, Box, Exponent, FittedCurve, fitted_curve
from curvelab.model.boxcurve import BoxSheet, pump_from_box
from curvelab.model.catalogue import default_catalogue
from curvelab.model.link import decode, encode
from curvelab.model.pump import Pump, pump_from
from curvelab.model.reading import parse_table
from curvelab.model.setup import Setup
from curvelab.model.written import to_toml
from curvelab.report.table import table_of
from curvelab.studies.doubt import doubt
from curvelab.studies.solve import solve
from curvelab.units import System
from tests.unit.study_cases import FOOT, GPM, demo

FLEET = default_catalogue().pumps
LOW_ENDS = [name for name, pump in FLEET.items() if pump.head.values_si[-1] < 0.2 * pump.head.values_si.max()]
"""Pumps whose curve goes on to where a box's greatest flow would stand; the others' last point is in mid-curve."""
BOX = Box(greatest_head_m=30.0, greatest_flow_m3_s=0.02)


def estimate(pump: Pump, places: tuple[int, ...] = ()) -> FittedCurve:
    """From what its box would say, and some of its own points taken for measured."""
    flow, head = pump.head.flow_m3_s, pump.head.values_si
    exponent = DIAPHRAGM if pump.kind == "diaphragm" else BOX.exponent
    box = Box(greatest_head_m=float(head.max()), greatest_flow_m3_s=float(flow[-1]), exponent=exponent)
    return fitted_curve(box, flow[list(places)], head[list(places)])


def covered(pump: Pump, curve: FittedCurve) -> float:
    """Share of the curve's points whose band holds the pump's true head."""
    inside = (curve.flow_m3_s >= pump.head.flow_m3_s[0]) & (curve.flow_m3_s <= pump.head.flow_m3_s[-1])
    table = CurveTable.of([(pump.head.flow_m3_s, pump.head.values_si)])
    true = table(np.zeros(1, np.int64), curve.flow_m3_s[None, inside])[0]
    return float(((true >= curve.low_m[inside]) & (true <= curve.high_m[inside])).mean())


def width(curve: FittedCurve) -> float:
    return float(np.mean(curve.high_m - curve.low_m))


class TestFit:
    @pytest.mark.parametrize("name", LOW_ENDS)
    @pytest.mark.parametrize("places", [(), (4,), (2, 5), (1, 3, 6)], ids=["box alone", "one", "two", "three"])
    def test_the_band_holds_the_true_curve_nearly_everywhere(self, name: str, places: tuple[int, ...]):
        assert covered(FLEET[name], estimate(FLEET[name], places)) >= 0.8

    def test_over_the_fleet_it_holds_nine_points_in_ten(self):
        shares = [covered(FLEET[name], estimate(FLEET[name])) for name in LOW_ENDS]
        assert len(shares) >= 12
        assert np.mean(shares) >= 0.9

    def test_it_is_no_wider_than_it_is_useful(self):
        """A band that holds everything is worth nothing: measured points at least halve it."""
        for name in LOW_ENDS:
            shut_off = FLEET[name].head.values_si.max()
            assert width(estimate(FLEET[name])) < 0.4 * shut_off
            assert width(estimate(FLEET[name], (1, 3, 6))) < 0.6 * width(estimate(FLEET[name]))

    def test_points_of_the_same_form_are_found_again(self):
        flow = np.array([0.0, 0.006, 0.012, 0.017])
        head = 28.0 * (1.0 - (flow / 0.021) ** 2.3)
        curve = fitted_curve(BOX, flow, head, flow_doubt=0.0, head_doubt=1e-3)
        assert np.interp([0.0, 0.006, 0.012, 0.017], curve.flow_m3_s, curve.head_m) == pytest.approx(head, rel=0.015)

    def test_the_box_alone_is_taken_at_its_word(self):
        curve = fitted_curve(BOX)
        assert (curve.head_m[0], curve.flow_m3_s[-1], curve.head_m[-1]) == pytest.approx((30.0, 0.02, 0.0))
        # at half the flow: 30 (1 − 0.5^1.9)
        assert curve.head_m[7] == pytest.approx(30.0 * (1.0 - 0.5**1.9))

    def test_a_point_that_the_box_cannot_mean_counts_for_more_than_the_box(self):
        curve = fitted_curve(BOX, [0.0], [20.0])
        assert abs(curve.head_m[0] - 20.0) < 0.1 * 20.0
        assert curve.against_box[0] < -1.0
        assert abs(fitted_curve(BOX, [0.0], [29.0]).against_box[0]) < 1.0

    @given(
        points=st.lists(st.tuples(st.floats(0.0, 0.03), st.floats(0.0, 60.0)), max_size=8),
        exponent=st.floats(1.2, 9.0),
    )
    def test_it_falls_whatever_was_measured(self, points: list[tuple[float, float]], exponent: float):
        box = Box(greatest_head_m=30.0, greatest_flow_m3_s=0.02, exponent=Exponent(exponent, 1.4))
        curve = fitted_curve(box, [flow for flow, _ in points], [head for _, head in points])
        for edge in (curve.head_m, curve.low_m, curve.high_m):
            assert np.isfinite(edge).all()
            assert (np.diff(edge) <= 1e-9 * curve.shut_off_head_m).all()
        assert (curve.low_m <= curve.head_m).all()
        assert (curve.head_m <= curve.high_m).all()
        assert (curve.head_m[:-1] > 0.0).all()
        assert (np.diff(curve.flow_m3_s) > 0.0).all()

    @pytest.mark.parametrize(
        ("flow", "head"), [([0.01], []), ([-0.01], [3.0]), ([0.01], [float("nan")]), ([[0.01]], [[1.0]])]
    )
    def test_points_that_are_none(self, flow: list[float], head: list[float]):
        with pytest.raises(DomainError):
            fitted_curve(BOX, flow, head)


def sheet(**more: object) -> BoxSheet:
    return BoxSheet.model_validate({"greatest_head": "98 ft", "greatest_flow": "420 gpm", **more})


class TestRecord:
    @pytest.mark.parametrize("system", System)
    def test_the_file_reads_back_and_says_what_it_is(self, system: System):
        pump = pump_from_box({"id": "brook-3", "speed": "3600 rpm", "inlet": "3 in"}, sheet(), system=system)
        again = pump_from(parse_table(to_toml(pump)), where="brook-3.toml")
        assert again == pump
        assert again.estimate
        assert again.source == "estimate from the box (98 ft, 420 gpm) and nothing measured"
        assert again.head.values_si[0] == pytest.approx(98 * FOOT, rel=1e-3)
        assert again.head.flow_m3_s[-1] == pytest.approx(420 * GPM, rel=1e-3)
        assert len(again.head.low) == len(again.head.high) == len(again.head.points)

    def test_a_gauge_gives_a_head(self):
        measured = [{"flow": "0 gpm", "pressure": "40 psi", "vacuum": "4 inHg"}]
        # 40 psi is 92.3 ft and 4 inHg is 4.5 ft of water at 20 °C
        head = sheet(measured=measured).measured[0].head_m
        assert head == pytest.approx((40 * 2.3108 + 4 * 1.1349) * FOOT, rel=1e-3)

    @pytest.mark.parametrize(
        ("change", "says"),
        [
            ({"greatest_head": "98 psi"}, "greatest_head: psi is a pressure"),
            ({"greatest_flow": "0 gpm"}, "greatest_flow: "),
            ({"measured": [{"flow": "10 gpm"}]}, "measured.0.head: is missing"),
            ({"measured": [{"flow": "10 gpm", "head": "9 ft", "pressure": "4 psi"}]}, "measured.0.head: stands beside"),
            ({"measured": [{"flow": "10 gpm", "head": "9 ft"}, {"flow": "10"}]}, "measured.1.flow: 10 has no unit"),
        ],
    )
    def test_what_is_wrong_is_told_with_its_place(self, change: dict[str, object], says: str):
        with pytest.raises(InputError) as caught:
            sheet(**change)
        assert says in str(caught.value)

    def test_what_the_box_gives_is_not_given_twice(self):
        with pytest.raises(InputError, match="source: is given by the box"):
            pump_from_box({"id": "x", "speed": "3600 rpm", "source": "mine"}, sheet())

    def test_a_contradiction_is_a_sentence(self):
        (said,) = sheet(measured=[{"flow": "0 gpm", "head": "60 ft"}]).contradictions(System.US)
        assert said.startswith("0 gal/min at 60")
        assert "less than the box can mean" in said
        assert sheet(measured=[{"flow": "0 gpm", "head": "95 ft"}]).contradictions(System.US) == ()

    def test_a_band_of_another_length_or_off_the_points_is_refused(self):
        table = {"flow": "gpm", "head": "ft", "points": [[0, 90], [100, 50]]}
        base = {"id": "x", "kind": "trash", "speed": "3600 rpm", "source": "made up"}
        for band, says in [
            ({"low": [80], "high": [100, 60]}, "head.low: 1 numbers for 2 points"),
            ({"high": [100, 60]}, "head.low: 0 numbers for 2 points"),
            ({"low": [80, 55], "high": [100, 60]}, "head.points.1: 50 does not lie between 55 and 60"),
        ]:
            with pytest.raises(InputError) as caught:
                Pump.model_validate({**base, "head": {**table, **band}})
            assert says in str(caught.value)


class TestCommand:
    BOX = ("box", "brook-3", "--head", "98 ft", "--flow", "420 gpm", "--speed", "3600 rpm", "--port", "3 in")

    def test_to_the_screen(self, capsys: pytest.CaptureFixture[str]):
        assert answer([*self.BOX, "--point", "0 gpm, 95 ft", "--point", "200 gpm, 33 psi"]) == 0
        pump = pump_from(parse_table(capsys.readouterr().out), where="")
        assert pump.source == "estimate from the box (98 ft, 420 gpm) and 2 measured points"
        # at 200 gal/min 33 psi are 76 ft
        flow, head = pump.head.flow_m3_s, pump.head.values_si
        assert np.interp(200 * GPM, flow, head) == pytest.approx(76 * FOOT, rel=0.03)

    def test_to_a_file_that_isnt_there_yet(self, tmp_path: Path, capsys: pytest.CaptureFixture[str]):
        target = tmp_path / "brook-3.toml"
        assert answer([*self.BOX, "-o", str(target), "--units", "metric"]) == 0
        assert answer(["check", str(target)]) == 0
        assert pump_from(parse_table(target.read_text(encoding="utf-8")), where="").head.head == "m"
        capsys.readouterr()
        assert answer([*self.BOX, "-o", str(target)]) == 2
        assert "is there already" in capsys.readouterr().err

    @pytest.mark.parametrize(
        ("more", "says"),
        [
            (["--point", "120 gpm"], '--point: "120 gpm"'),
            (["--point", "120 gpm, 85"], "measured.0.head: 85 has no unit"),
            (["--kind", "trahs"], 'kind: "trahs" is not known here; did you mean "trash"?'),
            (["--speed", "3600"], "speed: 3600 has no unit"),
        ],
    )
    def test_faults_are_one_line(self, more: list[str], says: str, capsys: pytest.CaptureFixture[str]):
        assert answer([*self.BOX, *more]) == 2
        out, err = capsys.readouterr()
        assert out == ""
        assert says in err
        assert len(err.splitlines()) == 1

    def test_a_point_against_the_box_is_told_beside_the_file(self, capsys: pytest.CaptureFixture[str]):
        assert answer([*self.BOX, "--point", "0 gpm, 60 ft"]) == 0
        assert "less than the box can mean" in capsys.readouterr().err


class TestUse:
    """Wherever the pump is used, the word stands."""

    @pytest.fixture
    def job(self) -> Setup:
        pump = pump_from_box({"id": "brook-3", "name": "Brook 3", "speed": "3600 rpm", "inlet": "3 in"}, sheet())
        return demo("mill-pond").with_("pump", {"record": pump})

    def test_in_the_answer(self, job: Setup):
        (warning,) = [w for w in solve(job).warnings if w.code == "curve-estimate"]
        low, high = (float(part.split(" ft")[0].split()[-1]) for part in warning.text.split(" to "))
        assert warning.text.startswith("Brook 3’s curve is an estimate: at this flow its head may be ")
        assert low < (solve(job).head_m or 0.0) / FOOT < high
        assert warning.text in table_of(job, solve(job)).replace("\n", " ").replace("  ", " ")
        assert "curve-estimate" not in {w.code for w in solve(demo("mill-pond")).warnings}

    def test_in_its_name_and_of_a_booster_too(self, job: Setup):
        record = job.pump.record
        assert record is not None
        assert record.label == "Brook 3 (estimate)"
        boosted = demo("mill-pond").with_("booster", [{"record": record, "distance": "150 ft"}])
        assert "Brook 3’s curve is an estimate." in {w.text for w in solve(boosted).warnings}

    def test_in_how_sure(self, job: Setup):
        estimated, tested = (doubt(one.with_("doubt", None), samples=1000) for one in (job, demo("mill-pond")))
        assert "the band of the estimated curve" in estimated.sentence
        spread = [(d.flow_m3_s.high - d.flow_m3_s.low) / d.flow_m3_s.middle for d in (estimated, tested)]
        assert spread[0] > spread[1]

    def test_in_a_link(self, job: Setup):
        again = decode(encode(job))
        assert again.problems == ()
        assert again.setup.pump.record == job.pump.record
