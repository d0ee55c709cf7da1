"""``curvelab trace``: a picture and its frame become a pump's file; what is wrong is told by file, line and field."""

from __future__ import annotations

import json
import re
import shutil
import tomllib
from pathlib import Path

import numpy as np
import pytest

from curvelab.cli import answer
from curvelab.model.catalogue import demo_catalogue
from curvelab.model.pump import read_pump

PICTURES = Path(__file__).parents[2] / "data" / "pictures"
FERROW = (str(PICTURES / "ferrow-3.png"), "--frame", str(PICTURES / "ferrow-3.frame.toml"))


def said(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str, str]:
    code = answer(["trace", *args])
    out, err = capsys.readouterr()
    return code, out, err


@pytest.fixture
def yard(tmp_path: Path) -> Path:
    """A folder laid out as a yard, with a small picture and its frame in it."""
    for name in ("pictures", "pumps"):
        (tmp_path / name).mkdir()
    for name in ("sedge-2.jpg", "sedge-2.frame.toml"):
        shutil.copy(PICTURES / name, tmp_path / "pictures" / name)
    return tmp_path


def in_yard(yard: Path) -> tuple[str, ...]:
    return str(yard / "pictures" / "sedge-2.jpg"), "--frame", str(yard / "pictures" / "sedge-2.frame.toml")


def test_a_picture_becomes_a_pumps_file_that_gives_the_same_curve(yard: Path, capsys: pytest.CaptureFixture[str]):
    target = yard / "pumps" / "mine.toml"
    code, out, err = said(capsys, *in_yard(yard), "-o", str(target), "--kind", "semi-trash", "--name", "Mine")
    assert (code, err) == (0, "")
    pump = read_pump(target.name, target.parent)
    true = demo_catalogue().pumps["sedge-2"].head
    at = np.interp(true.flow_m3_s, pump.head.flow_m3_s, pump.head.values_si)
    assert np.abs(at - true.values_si).max() < 0.01 * 32.0  # of the axis, straight lines between few points included
    assert (pump.id, pump.label, pump.kind, pump.speed.text) == ("mine", "Mine", "semi-trash", "3600 rpm")
    assert (pump.head.picture, pump.head.frame) == ("pictures/sedge-2.jpg", "pictures/sedge-2.frame.toml")
    assert pump.source
    assert "traced from sedge-2.jpg" in pump.source
    assert str(target) in out
    assert "inlet" in out.splitlines()[-1]


def test_what_nobody_said_is_named_as_unchecked(yard: Path, capsys: pytest.CaptureFixture[str]):
    said(capsys, *in_yard(yard), "-o", str(yard / "mine.toml"))
    assert tomllib.loads((yard / "mine.toml").read_text(encoding="utf-8"))["name"].endswith("(kind not yet checked)")


def test_json_has_the_curves_in_si(capsys: pytest.CaptureFixture[str]):
    code, out, _ = said(capsys, *FERROW, "--json")
    told = json.loads(out)
    assert (code, told["format"], told["files"]) == (0, "curvelab-traces/1", [])
    head, npshr = told["curves"]
    assert (head["quantity"], npshr["quantity"]) == ("head", "npshr")
    assert head["head_m"][0] == pytest.approx(98 * 0.3048, abs=0.1)
    assert head["flow_m3_s"][-1] == pytest.approx(418 * 231 * 0.0254**3 / 60, rel=0.01)
    assert 0 < head["error_fraction"] < 0.01
    assert head["rms_px"] > 0


def test_text_says_rms_and_error(capsys: pytest.CaptureFixture[str]):
    _, out, _ = said(capsys, *FERROW)
    assert re.search(r"seen [0-9.]+ px .* out by at most [0-9.]+ % of the axis, [0-9.]+ ft", out)
    assert out.count("Seen all the way.") == 2


def test_nothing_is_written_over_unasked(yard: Path, capsys: pytest.CaptureFixture[str]):
    target = yard / "pumps" / "mine.toml"
    target.write_text("mine\n", encoding="utf-8")
    code, _, err = said(capsys, *in_yard(yard), "-o", str(target))
    assert (code, err) == (2, f"{target}: is there already; name another file, or add --over\n")
    assert target.read_text(encoding="utf-8") == "mine\n"
    assert said(capsys, *in_yard(yard), "-o", str(target), "--over")[0] == 0
    kept = list((yard / "pumps" / "earlier").iterdir())
    assert [path.read_text(encoding="utf-8") for path in kept] == ["mine\n"]


@pytest.mark.parametrize("name", ["sedge-2.frame.toml", "sedge-2.jpg"])
def test_what_is_traced_from_is_never_the_target(yard: Path, name: str, capsys: pytest.CaptureFixture[str]):
    before = (yard / "pictures" / name).read_bytes()
    assert said(capsys, *in_yard(yard), "-o", str(yard / "pictures" / name), "--over")[0] == 2
    assert (yard / "pictures" / name).read_bytes() == before


def test_a_folder_gets_a_file_for_each_head_curve(yard: Path, capsys: pytest.CaptureFixture[str]):
    frame = yard / "pictures" / "sedge-2.frame.toml"
    text = frame.read_text(encoding="utf-8")
    again = text[text.index("[[curve]]") :].replace("3600 rpm", "Other, 3600")
    frame.write_text(text + "\n" + again, encoding="utf-8")
    code, _, err = said(capsys, *in_yard(yard), "-o", f"{yard / 'pumps'}/")
    assert (code, err) == (0, "")
    assert sorted(path.name for path in (yard / "pumps").iterdir()) == ["3600-rpm.toml", "other-3600.toml"]
    assert said(capsys, *in_yard(yard), "-o", str(yard / "one.toml"), "--curve", "Other, 3600")[0] == 0
    assert (yard / "one.toml").exists()
    assert said(capsys, *in_yard(yard), "-o", str(yard / "two.toml"), "--curve", "third")[::2] == (
        2,
        'curvelab trace: curve: no curve of head is called "third"; there is 3600 rpm, Other, 3600\n',
    )


def test_npshr_goes_into_the_pumps_file_too(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    assert said(capsys, *FERROW, "-o", str(tmp_path / "f.toml"))[0] == 0
    pump = read_pump("f.toml", tmp_path)
    assert pump.npshr is not None
    assert pump.npshr.values_si[0] == pytest.approx(5.3 * 0.3048, abs=0.1)
    assert pump.head.picture == "ferrow-3.png"  # it lies elsewhere: the name alone


FAULTS = (
    ("seed = [552.6, 275.6]", "seed = [700.0, 120.0]", r": line 28: curve\.0\.seed: "),
    ("flow = 700\nhead = 0", "flow = 700\nhead = zero", r": line \d+: "),
    ("flow = 700\nhead = 0", "flow = 0\nhead = 0", r": line 11: mark\.1: has the same "),
    ('quantity = "head"', 'quantity = "heat"', r": line 29: curve\.0\.quantity: "),
    ('flow = "L/min"', 'flow = "furlongs"', r": line 3: flow: "),
    ("pixel = [1060.0, 714.0]", "pixel = [360.0, 714.0]", r": line \d+: mark: lean more "),
)


@pytest.mark.parametrize(("good", "bad", "line"), FAULTS, ids=[bad for _, bad, _ in FAULTS])
def test_a_fault_names_file_line_and_field(
    yard: Path, good: str, bad: str, line: str, capsys: pytest.CaptureFixture[str]
):
    frame = yard / "pictures" / "sedge-2.frame.toml"
    text = frame.read_text(encoding="utf-8")
    assert good in text
    frame.write_text(text.replace(good, bad), encoding="utf-8")
    code, out, err = said(capsys, *in_yard(yard), "-o", str(yard / "mine.toml"))
    assert (code, out) == (2, "")
    assert re.match(re.escape(str(frame)) + line, err), err
    assert not (yard / "mine.toml").exists()


@pytest.mark.parametrize(
    ("picture", "frame", "says"),
    [
        ("none.png", "sedge-2.frame.toml", "none.png: there is no such file"),
        ("sedge-2.frame.toml", "sedge-2.frame.toml", "is no picture that can be read"),
        ("sedge-2.jpg", "none.toml", "none.toml: there is no such file"),
    ],
)
def test_a_file_that_is_none_is_told(
    yard: Path, picture: str, frame: str, says: str, capsys: pytest.CaptureFixture[str]
):
    folder = yard / "pictures"
    code, _, err = said(capsys, str(folder / picture), "--frame", str(folder / frame))
    assert code == 2
    assert says in err


@pytest.mark.parametrize(
    ("more", "says"),
    [
        (("--kind", "trash"), "curvelab trace: -o: is missing"),
        (("-o", "mine.txt"), "mine.txt: is no name of a pump's file"),
        (("-o", "no-such/../mine.toml", "--kind", "bilge"), "kind"),
    ],
)
def test_options_are_held_to_what_they_can_mean(
    more: tuple[str, ...],
    says: str,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
):
    monkeypatch.chdir(tmp_path)
    code, _, err = said(capsys, *FERROW, *more)
    assert code == 2
    assert says in err
    assert not list(tmp_path.glob("*.toml"))
