"""The arrows between layers: the contracts in pyproject.toml hold, and each of them would notice its bad arrow."""

import os
import shutil
import subprocess
import sysconfig
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
LINT = Path(sysconfig.get_path("scripts"), "lint-imports")
LAYERS = ("cli", "app", "report", "figures", "layout", "tracing", "studies", "model", "hydraulics", "units", "errors")


def lint(folder: Path) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [LINT, "--no-cache"],
        cwd=folder,
        env={**os.environ, "PYTHONPATH": str(folder), "PYTHONDONTWRITEBYTECODE": "1"},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )


@pytest.fixture
def skeleton(tmp_path: Path) -> Path:
    """A package with the same layers and nothing in them, under the real contracts."""
    shutil.copy(ROOT / "pyproject.toml", tmp_path)
    package = tmp_path / "curvelab"
    package.mkdir()
    (package / "__init__.py").touch()
    for layer in LAYERS:
        (package / layer).mkdir()
        (package / layer / "__init__.py").touch()
    return tmp_path


def test_contracts_hold():
    done = lint(ROOT)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_empty_skeleton_breaks_nothing(skeleton: Path):
    done = lint(skeleton)
    assert done.returncode == 0, done.stdout + done.stderr


@pytest.mark.parametrize(
    ("layer", "line", "contract"),
    [
        ("errors", "import curvelab.units", "An import only points down this list"),
        ("hydraulics", "from curvelab import model", "An import only points down this list"),
        ("model", "def late():\n    import curvelab.studies", "An import only points down this list"),
        ("figures", "import curvelab.report", "An import only points down this list"),
        ("stray", "", "An import only points down this list"),
        ("report", "import bokeh.plotting", "Bokeh only in figures and app"),
        ("figures", "import panel", "Panel only in app"),
        ("cli", "import param", "Panel only in app"),
        ("hydraulics", "import tomllib", "Physics knows no file, no web and no validation library"),
        ("hydraulics", "from pathlib import Path", "Physics knows no file, no web and no validation library"),
        ("units", "import pydantic", "Physics knows no file, no web and no validation library"),
        ("studies", "from fluids.friction import Colebrook", "References and test tools stay in the tests"),
    ],
)
def test_a_bad_arrow_is_caught(skeleton: Path, layer: str, line: str, contract: str):
    bad = skeleton / "curvelab" / layer
    bad.mkdir(exist_ok=True)
    (bad / "__init__.py").touch()
    (bad / "bad.py").write_text(line + "\n")
    done = lint(skeleton)
    assert done.returncode != 0, done.stdout
    assert f"{contract} BROKEN" in done.stdout or (layer == "stray" and "stray" in done.stdout + done.stderr), (
        done.stdout
    )
