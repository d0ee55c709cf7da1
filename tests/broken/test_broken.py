"""Bad input, whatever it is: exit code 2, every fault in one line, no traceback, at once."""

import json
import os
import re
import subprocess
import sys
import time
import tomllib
import unicodedata
from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest

from curvelab.cli import BAD_INPUT, answer
from curvelab.model.setup import Setup

HERE = Path(__file__).parent
GOOD = {path.stem: path.read_text(encoding="utf-8") for path in sorted((HERE / "good").glob("*.toml"))}
CASES: list[dict[str, Any]] = tomllib.loads((HERE / "cases.toml").read_text(encoding="utf-8"))["case"]
LONGEST_S = 5.0
LINE = re.compile(r"(?<=^bad\.toml: )line ([0-9]+): (?=[a-z_0-9]+[.:])")
"""The line of a field; of a syntax error the line is the field."""


@pytest.fixture(autouse=True)
def in_a_folder_of_its_own(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.chdir(tmp_path)


def text_of(case: dict[str, Any]) -> str:
    text = case.get("text", GOOD[case["of"]])
    for old, new in case.get("change", ()):
        assert old in text, f"{case['name']}: the good file has no {old!r}"
        text = text.replace(old, new)
    return text


def complaints(capsys: pytest.CaptureFixture[str], *args: str) -> list[str]:
    """What is said on stderr, after the checks that hold for all bad input."""
    began = time.process_time()
    code = answer(args)
    assert time.process_time() - began < LONGEST_S
    out, err = capsys.readouterr()
    assert code == BAD_INPUT, (code, out, err)
    assert "Traceback" not in err + out
    for text in (out, err):
        assert not unsafe(text), repr(text)
    return err.splitlines()


def unsafe(text: str) -> set[str]:
    """Characters that would do something to a terminal."""
    return {c for c in text if c != "\n" and unicodedata.category(c) in ("Cc", "Cf", "Cs", "Zl", "Zp")}


@pytest.mark.parametrize("kind", GOOD)
def test_the_good_ones_are_good(kind: str, capsys: pytest.CaptureFixture[str]):
    Path("good.toml").write_text(GOOD[kind], encoding="utf-8")
    assert answer(["check", "good.toml"]) == 0
    assert capsys.readouterr() == ("good.toml: good\n", "")


@pytest.mark.parametrize("case", CASES, ids=[case["name"] for case in CASES])
def test_every_fault_is_told(case: dict[str, Any], capsys: pytest.CaptureFixture[str]):
    Path("bad.toml").write_text(text_of(case), encoding="utf-8")
    wanted = [f"bad.toml: {line}" for line in case["says"]]
    told = complaints(capsys, "check", "bad.toml")
    assert [LINE.sub("", line) for line in told] == wanted
    for line in told:
        assert_the_line_is_right(line, text_of(case))
    if case["of"] == "setup":
        assert complaints(capsys, "solve", "bad.toml", "--json") == wanted


def assert_the_line_is_right(told: str, text: str) -> None:
    """It has the last key of the field that stands there at all, or the table where the missing one belongs."""
    found = LINE.search(told)
    if found is None:
        return
    there = text.split("\n")[int(found[1]) - 1]
    keys = [key for key in told[found.end() :].partition(": ")[0].split(".") if not key.isdigit()]
    assert any(key in there for key in keys), (told, there)


# --- files that no text could show: made here, each with what must be said of it ---


def setup_with(old: str, new: str) -> str:
    assert old in GOOD["setup"]
    return GOOD["setup"].replace(old, new)


def pump_file(name: str) -> bytes:
    return setup_with('id = "ferrow-3"', f"file = {json.dumps(name)}").encode()


def fifo() -> None:
    os.mkfifo("bad.toml")


def device() -> None:
    Path("bad.toml").symlink_to("/dev/zero")


def leads_nowhere() -> None:
    Path("bad.toml").symlink_to("bad.toml")


def link_out_of_the_folder() -> None:
    """A pump file beside the setup that is a link to one outside."""
    Path("outside.toml").write_text(GOOD["pump"])
    Path("inside").mkdir()
    os.chdir("inside")
    Path("pump.toml").symlink_to("../outside.toml")
    Path("bad.toml").write_bytes(pump_file("pump.toml"))


def pump_that_is_a_setup() -> None:
    Path("bad.toml").write_bytes(pump_file("bad.toml"))


def pump_that_is_a_fifo() -> None:
    os.mkfifo("pump.toml")
    Path("bad.toml").write_bytes(pump_file("pump.toml"))


TOP_KEYS = ", ".join(Setup.model_fields)
WAYPOINTS = "write [[discharge.waypoint]] with distance and height, at most 200 of them"
SAVED = "save it as UTF-8 text without a byte order mark"
BESIDE = "name a file beside the setup or in a folder below it"
LEAVES = f"pump.file: {{}} leaves the folder; {BESIDE}"
DEEP = "nested too deep; no format here goes deeper than 10"
NO_FILE = f'pump.file: "{{}}" is no file that is there; {BESIDE.replace("a file", "a pump file")}'
TOO_LARGE = "is over 1 MB; a file here is a few kB; is this the right one?"
LONG_NAME = "x" * 5000

ODD: dict[str, tuple[bytes | Callable[[], None], list[str]]] = {
    "binary": (bytes(range(256)) * 40, [f"is binary, or text in another encoding; {SAVED}"]),
    "picture": (b"\x89PNG\r\n\x1a\n\x00\x00\x00\rIHDR", [f"is binary, or text in another encoding; {SAVED}"]),
    "utf-16": (GOOD["setup"].encode("utf-16"), [f"is UTF-16; {SAVED}"]),
    "utf-16-without-a-mark": (GOOD["setup"].encode("utf-16-le"), [f"is binary, or text in another encoding; {SAVED}"]),
    "latin-1": (setup_with("Mill", "Mühl").encode("latin-1"), [f"line 2: byte 0xfc is not UTF-8; {SAVED}"]),
    "byte-order-mark": (b"\xef\xbb\xbf" + GOOD["setup"].encode(), [f"starts with a byte order mark; {SAVED}"]),
    "nul": (setup_with("Mill", "Mi\0ll").encode(), [f"is binary, or text in another encoding; {SAVED}"]),
    "bare-escape": (
        setup_with("Mill", "\x1b[31m").encode(),
        [r"""line 2: Illegal character '\x1b': title = "\x1b[31m pond to orchard tank"; mend this line"""],
    ),
    "brackets": (b"a = " + b"[" * 400_000, [f"line 1: {DEEP}"]),
    "braces": (b"a = " + b"{a = " * 150_000, [f"line 1: {DEEP}"]),
    "tables-within-tables": (b"[" + b"a." * 300_000 + b"a]\n", [f"line 1: {DEEP}"]),
    "lists-within-a-length": (
        setup_with('lift = "12 ft"', "lift = " + "[" * 30 + "]" * 30).encode(),
        [f"line 20: {DEEP}"],
    ),
    "ten-megabytes": (GOOD["setup"].encode() + b"#" + b"x" * 10_000_000, [TOO_LARGE]),
    "just-over-a-megabyte": (GOOD["setup"].encode().ljust(1_000_001), [TOO_LARGE]),
    "whole-number-of-a-million-digits": (
        setup_with("abreast = 1", "abreast = " + "9" * 900_000).encode(),
        ["a whole number of too many digits; mend it, or leave it out"],
    ),
    "thousands-of-waypoints": (
        GOOD["setup"].encode() + b'[[discharge.waypoint]]\ndistance = "1 ft"\nheight = "1 ft"\n' * 9000,
        [f"discharge.waypoint: 9001 of them; {WAYPOINTS}"],
    ),
    "thousands-of-keys": (
        b"".join(b"k%d = 1\n" % i for i in range(60_000)) + GOOD["setup"].encode(),
        [*(f"k{i}: unknown key; known here: {TOP_KEYS}" for i in range(50)), "59950 more faults; mend these first"],
    ),
    "key-of-five-thousand-letters": (
        setup_with("wear", LONG_NAME).encode(),
        [f"pump.{'x' * 54}…: unknown key; known here: id, file, record, throttle, speed, wear, abreast, beside"],
    ),
    "title-of-five-thousand-letters": (
        setup_with("Mill pond", LONG_NAME).encode(),
        ["title: text of 5016 characters; write 0 to 200 characters"],
    ),
    "pipe-that-nobody-fills": (fifo, ["is no ordinary file; name a TOML file"]),
    "device-without-end": (device, ["is no ordinary file; name a TOML file"]),
    "link-to-itself": (
        leads_nowhere,
        ["too many levels of symbolic links; name a TOML file that can be read"],
    ),
    "not-there": (lambda: None, ["there is no such file; name a TOML file that can be read"]),
    "pump-file-above": (pump_file("../pump.toml"), [LEAVES.format('"../pump.toml"')]),
    "pump-file-above-in-disguise": (pump_file("a/../../pump.toml"), [LEAVES.format('"a/../../pump.toml"')]),
    "pump-file-from-the-root": (pump_file("/etc/passwd"), [LEAVES.format('"/etc/passwd"')]),
    "pump-file-from-a-drive": (pump_file("C:\\pump.toml"), [LEAVES.format(r'"C:\pump.toml"')]),
    "pump-file-from-home": (pump_file("~/pump.toml"), [LEAVES.format('"~/pump.toml"')]),
    "pump-file-by-a-link": (link_out_of_the_folder, [f'pump.file: "pump.toml" leads out of the folder; {BESIDE}']),
    "pump-file-not-there": (pump_file("quince.toml"), [NO_FILE.format("quince.toml")]),
    "pump-file-that-nobody-fills": (pump_that_is_a_fifo, [NO_FILE.format("pump.toml")]),
    "pump-file-that-is-the-setup": (
        pump_that_is_a_setup,
        ['format: is not a pump\'s; a pump file has format = "curvelab-pump/1"'],
    ),
}


@pytest.mark.parametrize("name", ODD)
def test_odd_files_are_refused(name: str, capsys: pytest.CaptureFixture[str]):
    made, says = ODD[name]
    if isinstance(made, bytes):
        Path("bad.toml").write_bytes(made)
    else:
        made()
    wanted = [f"bad.toml: {line}" for line in says]
    assert [LINE.sub("", line) for line in complaints(capsys, "check", "bad.toml")] == wanted
    assert complaints(capsys, "solve", "bad.toml") == wanted


def test_a_fault_in_a_pump_file_is_told_under_its_own_name(capsys: pytest.CaptureFixture[str]):
    Path("yard/pumps").mkdir(parents=True)
    Path("yard/pumps/quince.toml").write_text(GOOD["pump"].replace("[120, 70.0]", "[50, 70.0]"))
    Path("yard/bad.toml").write_bytes(pump_file("pumps/quince.toml"))
    assert complaints(capsys, "solve", "yard/bad.toml") == [
        "yard/pumps/quince.toml: head.points.2: 50 does not come after 60; flows must rise from point to point"
    ]


def test_a_folder_cannot_be_solved(capsys: pytest.CaptureFixture[str]):
    Path("yard").mkdir()
    assert complaints(capsys, "solve", "yard") == ["yard: is a folder; name a TOML file in it"]


def test_a_long_path_is_told_whole(capsys: pytest.CaptureFixture[str]):
    path = "/".join(["a-folder-with-a-longish-name"] * 6) + "/mill-pond.toml"
    assert complaints(capsys, "solve", path)[0].startswith(f"{path}: there is no such file")


def test_a_file_of_another_kind_cannot_be_solved(capsys: pytest.CaptureFixture[str]):
    Path("pump.toml").write_text(GOOD["pump"])
    assert complaints(capsys, "solve", "pump.toml") == [
        'pump.toml: format: "curvelab-pump/1" is for a pump; name a file whose format is "curvelab-setup/1"'
    ]


def test_a_path_with_a_nul_is_refused(capsys: pytest.CaptureFixture[str]):
    assert len(complaints(capsys, "solve", "a\0b.toml")) == 1


def test_a_name_with_control_characters_is_written_out(capsys: pytest.CaptureFixture[str]):
    Path("a\x1b[31m\n.toml").write_text("lift = 12")
    [line] = complaints(capsys, "check", "a\x1b[31m\n.toml")
    assert line.startswith("a\\x1b[31m\\n.toml: format: is missing")


def test_the_json_of_faults_is_safe_too(capsys: pytest.CaptureFixture[str]):
    Path("bad.toml").write_text(GOOD["setup"].replace("wear", '"we\\u009bar"').replace("12 ft", "12 \\u001bft"))
    assert answer(["check", "bad.toml", "--json"]) == BAD_INPUT
    out, _ = capsys.readouterr()
    assert not unsafe(out)
    told = json.loads(out)
    assert told["good"] == []
    assert [fault["field"] for fault in told["faults"]] == [r"pump.we\x9bar", "suction.lift"]
    assert all(fault["where"] == "bad.toml" and fault["got"] and fault["right"] for fault in told["faults"])


def test_one_bad_file_does_not_hide_the_good_ones(capsys: pytest.CaptureFixture[str]):
    Path("yard/pumps").mkdir(parents=True)
    Path("yard/setup.toml").write_text(GOOD["setup"])
    Path("yard/pumps/quince.toml").write_text(GOOD["pump"].replace("3600 rpm", "3600"))
    assert answer(["check", "yard"]) == BAD_INPUT
    out, err = capsys.readouterr()
    assert out == "1 of 2 good\n"
    at = GOOD["pump"][: GOOD["pump"].index("speed =")].count("\n") + 1
    assert err.startswith(f"yard/pumps/quince.toml: line {at}: speed: 3600 has no unit; ")


def test_an_empty_folder_is_no_yard(capsys: pytest.CaptureFixture[str]):
    assert complaints(capsys, "check", ".") == [".: has no .toml files; name a data file, or a folder of them"]


@pytest.mark.parametrize(
    ("args", "says"),
    [
        (["solv"], "curvelab: No such command 'solv'. Did you mean 'solve'?; try \"curvelab --help\""),
        (["solve"], "curvelab: Missing argument 'FILE'; try \"curvelab solve --help\""),
        (["solve", "a", "b"], 'curvelab: Got unexpected extra argument (b); try "curvelab solve --help"'),
        (["serve", "--port", "x"], "curvelab: Invalid value for '--port': 'x' is not a valid integer range; "),
    ],
)
def test_a_command_line_gone_wrong_is_one_line(args: list[str], says: str, capsys: pytest.CaptureFixture[str]):
    [line] = complaints(capsys, *args)
    assert line.startswith(says)


def test_a_hostile_option_is_written_out(capsys: pytest.CaptureFixture[str]):
    [line] = complaints(capsys, "solve", "--\x1b[2J\n" + "x" * 5000)
    assert len(line) < 400


REAL = ["brackets", "ten-megabytes", "pipe-that-nobody-fills", "not-there", "whole-number-of-a-million-digits"]


@pytest.mark.parametrize("name", REAL)
def test_a_process_of_its_own_says_the_same(name: str):
    made, says = ODD[name]
    if isinstance(made, bytes):
        Path("bad.toml").write_bytes(made)
    else:
        made()
    done = subprocess.run(
        [sys.executable, "-m", "curvelab", "solve", "bad.toml", "--json"],
        env={**os.environ, "PYTHONPATH": str(HERE.parents[1])},
        capture_output=True,
        text=True,
        timeout=LONGEST_S,
        check=False,
    )
    assert (done.returncode, done.stdout) == (BAD_INPUT, "")
    assert done.stderr.splitlines() == [f"bad.toml: {line}" for line in says]


def test_names_are_told_apart():
    names = [case["name"] for case in CASES]
    assert len(set(names)) == len(names)
    assert len(names) + len(ODD) >= 60
