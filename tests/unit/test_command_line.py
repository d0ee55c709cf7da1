"""The command line: what goes to which stream, with which exit code, under which circumstances."""

import json
import os
import signal
import subprocess
import sys
from pathlib import Path
from typing import Any

import pytest

from curvelab.cli import answer

ROOT = Path(__file__).parents[2]
SETUPS = ROOT / "data" / "setups"
MILL_POND = str(SETUPS / "mill-pond.toml")


def command(*args: str, **more: Any) -> subprocess.CompletedProcess[bytes]:
    env = {**os.environ, "PYTHONPATH": str(ROOT), **more.pop("env", {})}
    return subprocess.run(
        [sys.executable, "-m", "curvelab", *args], env=env, timeout=60, check=False, **{"capture_output": True, **more}
    )


def refuse(constant: str) -> None:
    raise AssertionError(constant)


def answered(capsys: pytest.CaptureFixture[str], *args: str) -> tuple[int, str]:
    code = answer(args)
    out, err = capsys.readouterr()
    assert err == ""
    return code, out


@pytest.mark.parametrize("path", sorted(SETUPS.glob("*.toml")), ids=lambda path: path.stem)
def test_a_ready_setup_is_answered(path: Path, capsys: pytest.CaptureFixture[str]):
    code, out = answered(capsys, "solve", str(path), "--json")
    told = json.loads(out, parse_constant=refuse)
    assert told["format"] == "curvelab-result/1"
    assert code == (1 if told["state"] in ("no-lift", "no-prime") else 0)
    assert "-0.0," not in out
    table_code, table = answered(capsys, "solve", str(path))
    assert table_code == code
    assert len(table.splitlines()) > 5


def test_every_state_leads_to_its_exit_code(capsys: pytest.CaptureFixture[str]):
    """The demo holds every state, so that the test above has seen both codes."""
    states: set[str] = set()
    for path in SETUPS.glob("*.toml"):
        states.add(json.loads(answered(capsys, "solve", str(path), "--json")[1])["state"])
    assert states == {"sound", "thin", "cavitating", "no-lift", "no-prime", "off-curve"}


def test_the_demo_is_good(capsys: pytest.CaptureFixture[str]):
    files = len([*(ROOT / "data").glob("*.toml"), *(ROOT / "data").glob("*/*.toml")])
    assert answered(capsys, "check", str(ROOT / "data")) == (0, f"{files} of {files} good\n")
    told = json.loads(answered(capsys, "check", MILL_POND, "--json")[1])
    assert told == {"format": "curvelab-check/1", "good": [MILL_POND], "faults": []}


@pytest.mark.parametrize("args", [[], ["--help"], ["-h"], ["solve", "--help"], ["--version"]])
def test_help_is_no_error(args: list[str], capsys: pytest.CaptureFixture[str]):
    code, out = answered(capsys, *args)
    assert code == 0
    assert out.startswith(("Usage: curvelab", "curvelab 0."))


def test_json_is_utf8_or_plain_ascii():
    utf8 = command("solve", MILL_POND, "--json", env={"PYTHONIOENCODING": "utf-8"})
    ascii_only = command("solve", MILL_POND, "--json", env={"PYTHONIOENCODING": "ascii"})
    assert utf8.returncode == ascii_only.returncode == 0
    assert ascii_only.stdout.isascii()
    assert json.loads(utf8.stdout) == json.loads(ascii_only.stdout)


def test_a_narrow_terminal_gets_its_table_all_the_same():
    for encoding in ("ascii", "latin-1"):
        done = command("solve", MILL_POND, env={"PYTHONIOENCODING": encoding})
        assert (done.returncode, done.stderr) == (0, b"")
        assert b"gal/min" in done.stdout


def test_a_reader_that_goes_away_is_no_fault():
    read, write = os.pipe()
    os.close(read)
    with os.fdopen(write, "wb") as pipe:
        done = command("solve", MILL_POND, "--json", capture_output=False, stdout=pipe, stderr=subprocess.PIPE)
    assert (done.returncode, done.stderr) == (128 + signal.SIGPIPE, b"")


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_one_line():
    with Path("/dev/full").open("wb") as full:
        done = command("solve", MILL_POND, capture_output=False, stdout=full, stderr=subprocess.PIPE)
    assert done.returncode == 2
    assert done.stderr == b"curvelab: no space left on device\n"


def test_an_interrupt_is_quiet(monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]):
    def interrupted(*_: object) -> None:
        raise KeyboardInterrupt

    monkeypatch.setattr("curvelab.studies.solve.solve", interrupted)
    assert answer(["solve", MILL_POND]) == 128 + signal.SIGINT
    assert capsys.readouterr() == ("", "")


def test_a_title_with_other_letters_is_printed(tmp_path: Path, capsys: pytest.CaptureFixture[str]):
    text = Path(MILL_POND).read_text(encoding="utf-8").replace("Mill pond to", "Mühlteich ½ 水 to")
    path = tmp_path / "mühle.toml"
    path.write_text(text, encoding="utf-8")
    assert "Mühlteich ½ 水" in answered(capsys, "solve", str(path), "--json")[1]
    assert "Mühlteich ½ 水" in answered(capsys, "solve", str(path))[1]
