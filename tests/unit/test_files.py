"""Files that nobody vouches for: each refused in one line that says what and where, soon, and without a traceback."""

import os
import time
from pathlib import Path

import pytest

from curvelab.errors import InputError
from curvelab.model.catalogue import check_file
from curvelab.model.files import load_setup
from curvelab.model.reading import DEEPEST, parse_table
from curvelab.model.setup import Setup
from tests.unit.model_cases import PUMP, setup_table

GOOD = Setup.model_validate(setup_table()).to_toml().encode()


def refused(path: Path) -> list[str]:
    start = time.process_time()
    with pytest.raises(InputError) as caught:
        load_setup(path)
    assert time.process_time() - start < 5.0
    lines = str(caught.value).splitlines()
    assert all(line.isprintable() and len(line) < 700 for line in lines)
    assert all(line.startswith(str(path)[:59]) for line in lines), "every line names the file"
    return lines


def changed(old: bytes, new: bytes) -> bytes:
    assert old in GOOD
    return GOOD.replace(old, new)


BROKEN: dict[str, tuple[bytes, str]] = {
    "empty": (b"", "format: is missing"),
    "no format": (GOOD.split(b"\n", 1)[1], "format: is missing"),
    "a pump": (
        PUMP.encode(),
        'format: "curvelab-pump/1" is for a pump; name a file whose format is "curvelab-setup/1"',
    ),
    "a version to come": (changed(b"setup/1", b"setup/2"), 'did you mean "curvelab-setup/1"?'),
    "format as a number": (changed(b'"curvelab-setup/1"', b"1"), 'format: "1" is no format known here'),
    "utf-16": (GOOD.decode().encode("utf-16"), ": is UTF-16"),
    "utf-16 without its mark": (GOOD.decode().encode("utf-16-le"), ": is binary, or text in another encoding"),
    "a byte order mark": (b"\xef\xbb\xbf" + GOOD, ": starts with a byte order mark"),
    "latin-1": (changed(b"Pond", "Pömd".encode("latin-1")), "line 2: byte 0xf6 is not UTF-8"),
    "binary": (bytes(range(256)) * 8, ": is binary"),
    "a picture": (b"\x89PNG\r\n\x1a\n\0\0", ": is binary"),
    "unquoted": (changed(b'"12 ft"', b"12 ft"), 'text with a unit stands in quotes: "12 ft"'),
    "twice": (changed(b"[suction]\n", b'[suction]\nlift = "1 ft"\n'), "Cannot overwrite a value: lift ="),
    "a table twice": (GOOD + b"\n[suction]\n", "[suction]"),
    "no end of a string": (changed(b'"Pond to tank"', b'"Pond'), "line 2: "),
    "a control character": (changed(b"Pond", b"Po\x1bnd"), "line 2: "),
    "an escaped one": (changed(b"Pond", b"Po\\u001bnd"), 'title: "Po\\x1bnd to tank" has a control character'),
    "a key with one": (changed(b"title", b'"ti\\u001btle"'), "ti\\x1btle: unknown key"),
    "nan": (changed(b"[suction]", b"wear = nan\n[suction]"), "pump.wear: nan is out of range"),
    "inf": (changed(b"[suction]", b"wear = -inf\n[suction]"), "pump.wear: -inf is out of range"),
    "beyond a float": (changed(b"[suction]", b"wear = 1e400\n[suction]"), "pump.wear: inf is out of range"),
    "a whole number of 5000 digits": (
        changed(b"[suction]", b"wear = " + b"9" * 5000 + b"\n[suction]"),
        "too many digits",
    ),
    "one in hex": (
        changed(b"[suction]", b"wear = 0x" + b"f" * 900_000 + b"\n[suction]"),
        "pump.wear: a huge whole number",
    ),
    "an expression": (changed(b"12 ft", b"9**9**9 ft"), "suction.lift: "),
    "a unit of code": (changed(b"12 ft", b"1 __import__('os')"), "suction.lift: "),
    "a long number": (changed(b"12 ft", b"1" * 500_000 + b" ft"), "suction.lift: "),
    "a comma": (changed(b"12 ft", b"1,2 ft"), "suction.lift: "),
    "two faults": (changed(b"12 ft", b"12").replace(b"rise", b"ris"), "discharge.ris: unknown key"),
    "over 1 MB": (GOOD + b"#" * 1_000_001, ": is over 1 MB"),
    "10 MB": (b"#" * 10_000_000, ": is over 1 MB"),
    "lists in lists": (b"x = " + b"[" * 400_000, "line 1: nested too deep"),
    "tables in tables": (b"x = " + b"{a=" * 100_000, "line 1: nested too deep"),
    "a key of dots": (b"\n\na" + b".a" * 400_000 + b" = 1", "line 3: nested too deep"),
    "a header of dots": (b"[a" + b" . a" * 200_000 + b"]", "line 1: nested too deep"),
    "nested behind a string of quotes": (b'x = """a""""\ny = ' + b"[" * 400_000 + b'"', "line 2: nested too deep"),
    "nested behind an escape": (b'x = "a\\\\"\ny = ' + b"[" * 400_000 + b'"', "line 2: nested too deep"),
    "nested behind a comment": (b"# it's\ny = " + b"[" * 400_000 + b"'", "line 2: nested too deep"),
    "a string of escaped quotes": (b'x = "' + b'\\"' * 490_000, "Unterminated string"),
    "a string that never ends": (b'x = """' + b'\\"""' * 240_000, "Unterminated string"),
    "100 000 unknown keys": (
        GOOD.split(b"\n[", 1)[0] + b"\n" + b"".join(b"k%d=1\n" % n for n in range(90_000)),
        "more faults",
    ),
    "100 000 tables": (b"".join(b"[t%d]\n" % n for n in range(90_000)), "format: is missing"),
    "10 000 legs": (GOOD + b'\n[[discharge.leg]]\nlength="1 m"\n' * 10_000, "9950 more faults"),
    "a long list of points": (b"x = [" + b"[1,2]," * 160_000 + b"]", "format: is missing"),
}


@pytest.mark.parametrize("case", BROKEN)
def test_refused_in_words(tmp_path: Path, case: str):
    data, expected = BROKEN[case]
    path = tmp_path / "mill-pond.toml"
    path.write_bytes(data)
    found = refused(path)
    assert any(expected in line for line in found), found[:5]
    if case != "a pump":
        assert check_file(path)[0].line() == found[0]


def test_two_faults_are_two_lines(tmp_path: Path):
    path = tmp_path / "x.toml"
    path.write_bytes(BROKEN["two faults"][0])
    assert len(refused(path)) == 3  # the lift without a unit, the unknown key, and the rise that is missing for it


def test_the_good_one_is_read(tmp_path: Path):
    path = tmp_path / "good.toml"
    path.write_bytes(GOOD.replace(b"\n", b"\r\n"))
    assert load_setup(path) == load_setup(str(path)) == Setup.model_validate(setup_table())


def test_no_such_file(tmp_path: Path):
    assert "there is no such file" in refused(tmp_path / "none.toml")[0]


def test_a_folder(tmp_path: Path):
    assert "is a folder" in refused(tmp_path)[0]


def test_a_pipe_that_nobody_writes_to(tmp_path: Path):
    path = tmp_path / "pipe.toml"
    os.mkfifo(path)
    assert "is no ordinary file" in refused(path)[0]


def test_a_device_that_never_ends():
    assert "is no ordinary file" in refused(Path("/dev/zero"))[0]


def test_a_link_to_itself(tmp_path: Path):
    path = tmp_path / "loop.toml"
    path.symlink_to(path)
    assert "symbolic links" in refused(path)[0]


@pytest.mark.parametrize("name", ["a\0b.toml", "x" * 5000, "a\nb.toml"])
def test_a_name_that_is_none(name: str):
    with pytest.raises(InputError) as caught:
        load_setup(name)
    assert caught.value.faults[0].line().isprintable()


def test_a_file_that_may_not_be_read(tmp_path: Path):
    path = tmp_path / "x.toml"
    path.write_bytes(GOOD)
    path.chmod(0)
    if os.access(path, os.R_OK):
        pytest.skip("whoever runs this may read everything")
    assert "may not be read" in refused(path)[0]


@pytest.mark.parametrize("depth", [1, DEEPEST])
def test_nesting_as_deep_as_allowed_is_read(depth: int):
    assert parse_table("x = " + "[" * depth + "]" * depth)
    assert parse_table("a" + ".a" * (depth - 1) + " = 1")


@pytest.mark.parametrize(
    "text",
    [
        'x = "[[[[[[[[[[[[[[[["',
        "x = '{{{{{{{{{{{{{{{{'",
        'x = """\n[[[[[[[[[[[[[[[["""',
        "# [[[[[[[[[[[[[[[[[[\nx = 1",
        "x = [1.0, 2.0, 3.0, 4.0, 5.0, 6.0, 7.0, 8.0, 9.0, 1.0, 2.0, 3.0]",
        'x = "a.b.c.d.e.f.g.h.i.j.k.l.m.n"',
        'x = ""\ny = """"quoted""""\nz = [[1]]',
    ],
)
def test_brackets_and_dots_that_nest_nothing(text: str):
    assert "x" in parse_table(text)
