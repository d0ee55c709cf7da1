"""What README.md and DEVELOPERS.md say is true: examples run, and nothing that a user can meet is left out."""

from __future__ import annotations

import ast
import doctest
import importlib
import inspect
import os
import pkgutil
import re
import shlex
import subprocess
import sysconfig
import tomllib
from pathlib import Path

import click
import pytest
from click.testing import CliRunner

import curvelab
from curvelab import errors
from curvelab.cli import commands as group
from curvelab.studies.warn import TEXTS

ROOT = Path(__file__).parents[2]
README = (ROOT / "README.md").read_text(encoding="utf-8")
DEVELOPERS = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8")
BOTH = README + DEVELOPERS
SETTINGS = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))
PROJECT = SETTINGS["project"]
DOCTEST_FLAGS = doctest.ELLIPSIS | doctest.NORMALIZE_WHITESPACE


def blocks(language: str) -> list[str]:
    return re.findall(rf"^```{language}\n(.*?)^```", BOTH, flags=re.MULTILINE | re.DOTALL)


def commands() -> list[tuple[str, list[str]]]:
    """Each ``$ command`` of the console blocks with the lines of output printed under it."""
    found: list[tuple[str, list[str]]] = []
    for block in blocks("console"):
        for line in block.splitlines():
            if line.startswith("$ "):
                found.append((line[2:], []))
            elif line.strip() and found:
                found[-1][1].append(line.strip())
    return found


@pytest.mark.parametrize(("command", "shown"), commands())
def test_a_command_prints_what_the_page_shows(command: str, shown: list[str]):
    """Lines under a command are lines of its real output; "…" stands for anything."""
    done = subprocess.run(
        shlex.split(command),
        cwd=ROOT,
        env={**os.environ, "PATH": f"{sysconfig.get_path('scripts')}{os.pathsep}{os.environ['PATH']}"},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )
    assert done.returncode in {0, 1, 2}, done.stderr
    assert "Traceback" not in done.stderr
    printed = done.stdout + done.stderr
    assert printed.strip()
    for line in shown:
        pattern = ".*".join(re.escape(piece) for piece in line.split("…"))
        assert re.search(rf"^\s*{pattern}\s*$", printed, flags=re.MULTILINE), f"{line!r} is not in:\n{printed}"


def test_the_python_examples_run(monkeypatch: pytest.MonkeyPatch):
    """In the order of the page, one after another, as a reader would type them."""
    monkeypatch.chdir(ROOT)
    example = doctest.DocTestParser().get_doctest("".join(blocks("pycon")), {}, "page", None, 0)
    assert example.examples
    report: list[str] = []
    result = doctest.DocTestRunner(optionflags=DOCTEST_FLAGS).run(example, out=report.append)
    assert result.failed == 0, "".join(report)


def modules() -> list[str]:
    walked = pkgutil.walk_packages(curvelab.__path__, "curvelab.")
    return [m.name for m in walked if not m.name.startswith(("curvelab.app", "curvelab.__main__"))]


@pytest.mark.parametrize("name", modules())
def test_examples_in_docstrings(name: str):
    assert doctest.testmod(importlib.import_module(name), optionflags=DOCTEST_FLAGS).failed == 0


def test_every_command_is_described():
    assert isinstance(group, click.Group)
    missing = [name for name in group.commands if f"curvelab {name}" not in BOTH]
    assert not missing


@pytest.mark.parametrize("name", sorted(group.commands))
def test_every_command_has_help(name: str):
    shown = CliRunner().invoke(group, [name, "--help"])
    assert shown.exit_code == 0
    assert group.commands[name].help


def test_every_public_name_is_there_and_described():
    assert [name for name in curvelab.__all__ if getattr(curvelab, name, None) is None] == []
    assert [name for name in curvelab.__all__ if f"`{name}`" not in DEVELOPERS] == []


def test_every_error_class_is_described():
    classes = [name for name, item in inspect.getmembers(errors, inspect.isclass) if issubclass(item, Exception)]
    assert classes
    assert not [name for name in classes if f"`{name}`" not in BOTH]


def test_every_warning_code_is_described():
    assert TEXTS
    assert not [code for code in TEXTS if f"`{code}`" not in BOTH]


def test_every_setting_is_described():
    sources = [path.read_text(encoding="utf-8") for path in (ROOT / "curvelab").rglob("*.py")]
    read = {name for text in sources for name in re.findall(r"\bCURVELAB_[A-Z_]+\b", text)}
    assert not [name for name in sorted(read) if f"`{name}`" not in DEVELOPERS]


def map_of_modules() -> list[str]:
    """The lines of DEVELOPERS.md's map, from the ground up: each module with the first line of its own docstring."""
    contracts = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["tool"]["importlinter"][
        "contracts"
    ]
    layers = [*reversed([layer.strip("()") for layer in contracts[0]["layers"]]), "__init__"]
    lines: list[tuple[int, str]] = []
    for path in (ROOT / "curvelab").rglob("*.py"):
        name = path.relative_to(ROOT / "curvelab").as_posix()
        words = ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))) or ""
        if words and not name.endswith("/__init__.py"):
            first = words.partition("\n")[0]
            lines.append((layers.index(re.split(r"[/.]", name)[0]), f"| `{name}` | {first} |"))
    return [line for _, line in sorted(lines)]


MAP = re.compile(r"(?<=\| module \| what it is \|\n\|---\|---\|\n).*?(?=\n\n)", flags=re.DOTALL)


def test_the_map_says_of_every_module_what_the_module_says_of_itself():
    told = MAP.search(DEVELOPERS)
    assert told, "the map is gone"
    wrong = sorted(set(map_of_modules()) ^ set(told[0].splitlines()))
    assert not wrong, "\n".join(["the map of DEVELOPERS.md is behind: python -m tests.unit.test_docs", *wrong])


def test_every_dependency_has_a_reason():
    wanted = [*PROJECT["dependencies"], *PROJECT["optional-dependencies"]["test"]]
    names = [re.split(r"[\[<>=~!; ]", line)[0] for line in wanted]
    told = set(re.findall(r"^\| `([\w.-]+)` \|", DEVELOPERS, flags=re.MULTILINE))
    assert not [name for name in names if name not in told]


def test_every_path_named_is_there():
    named = set(re.findall(r"[`(]((?:curvelab|data|tests|\.ci)/[\w./-]*\w)[`)]", BOTH))
    assert not [path for path in sorted(named) if not (ROOT / path).exists()]


def test_version_heads_the_changelog():
    entries = re.findall(r"^### (\d+\.\d+\.\d+)", DEVELOPERS, flags=re.MULTILINE)
    assert entries[0] == PROJECT["version"] == curvelab.__version__


if __name__ == "__main__":  # writes the map anew
    (ROOT / "DEVELOPERS.md").write_text(MAP.sub(lambda _: "\n".join(map_of_modules()), DEVELOPERS), encoding="utf-8")
