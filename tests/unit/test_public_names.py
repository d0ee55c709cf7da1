"""``import curvelab``: next to nothing is loaded, and every public name is there when it is asked for."""

import json
import os
import subprocess
import sys
import tomllib
from pathlib import Path

import pytest

import curvelab

ROOT = Path(__file__).parents[2]
MILL_POND = ROOT / "data" / "setups" / "mill-pond.toml"
HEAVY = ("numpy", "scipy", "pydantic", "bokeh", "panel", "param", "click", "jinja2", "PIL", "segno")


def in_a_process(code: str) -> str:
    done = subprocess.run(
        [sys.executable, "-c", code],
        env={**os.environ, "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        timeout=60,
        check=True,
    )
    return done.stdout


def loaded_after(line: str) -> set[str]:
    return set(json.loads(in_a_process(f"{line}\nimport json, sys\nprint(json.dumps(sorted(sys.modules)))")))


def test_the_import_loads_nothing_heavy():
    assert not loaded_after("import curvelab") & set(HEAVY)


def test_a_solve_loads_no_page_and_no_science_library():
    modules = loaded_after(
        f"import curvelab\nsetup = curvelab.load_setup({str(MILL_POND)!r})\nassert curvelab.solve(setup).flow_m3_s > 0"
    )
    assert "numpy" in modules
    assert not modules & {"scipy", "bokeh", "panel", "param", "jinja2", "PIL"}


def test_the_help_loads_no_numbers():
    modules = loaded_after(
        "import contextlib, io\nfrom curvelab.cli import answer\n"
        "with contextlib.redirect_stdout(io.StringIO()): answer(['--help'])"
    )
    assert not modules & {"numpy", "pydantic", "bokeh", "panel"}


@pytest.mark.parametrize("name", curvelab.__all__)
def test_every_public_name_is_there(name: str):
    assert getattr(curvelab, name) is not None
    assert name in dir(curvelab)


def test_the_names_for_types_are_the_names_for_people():
    """The imports under TYPE_CHECKING and ``__all__`` say the same."""
    source = (ROOT / "curvelab" / "__init__.py").read_text(encoding="utf-8")
    block = source.partition("if TYPE_CHECKING:\n")[2].partition("\n\n")[0]
    typed = {name.strip() for line in block.splitlines() for name in line.partition(" import ")[2].split(",")}
    assert typed | {"__version__"} == set(curvelab.__all__)


def test_an_unknown_name_is_an_attribute_error():
    with pytest.raises(AttributeError, match="no attribute 'sovle'"):
        curvelab.sovle  # noqa: B018  # pyright: ignore[reportAttributeAccessIssue]


def test_the_version_is_that_of_the_distribution():
    project = tomllib.loads((ROOT / "pyproject.toml").read_text(encoding="utf-8"))["project"]
    assert curvelab.__version__ == project["version"]
