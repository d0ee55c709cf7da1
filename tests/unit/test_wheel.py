"""What leaves this repository works where nothing else is: the wheel in an empty environment solves a setup."""

import json
import os
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]

SOLVE_A_COPY = """
import curvelab, json, pathlib, sys
from curvelab.model.catalogue import default_catalogue
assert str(pathlib.Path(sys.prefix)) in curvelab.__file__, curvelab.__file__
catalogue = default_catalogue()
print(json.dumps({"pumps": len(catalogue.pumps), "setups": len(catalogue.setups)}))
"""


def run(*command: str | Path, cwd: Path) -> str:
    clean = {name: value for name, value in os.environ.items() if not name.startswith(("PYTHON", "CURVELAB_"))}
    done = subprocess.run(command, cwd=cwd, env=clean, capture_output=True, text=True, timeout=600, check=False)
    assert done.returncode == 0, f"{command}\n{done.stdout}\n{done.stderr}"
    return done.stdout


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("dist")
    run(sys.executable, "-m", "pip", "wheel", "--no-deps", "--wheel-dir", folder, ROOT, cwd=folder)
    return next(folder.glob("curvelab_hydraulics-*.whl"))


@pytest.mark.slow
def test_wheel_carries_data_types_and_no_tests(wheel: Path):
    names = zipfile.ZipFile(wheel).namelist()
    wanted = {str(Path("curvelab", path.relative_to(ROOT))) for path in (ROOT / "data").rglob("*.toml")}
    assert wanted
    assert wanted | {"curvelab/py.typed", "curvelab/cli/__init__.py"} <= set(names)
    outside = [name for name in names if not name.startswith(("curvelab/", "curvelab_hydraulics-"))]
    assert not outside, outside
    assert not [name for name in names if "__pycache__" in name or name.endswith(".pyc")]


@pytest.mark.slow
def test_wheel_solves_a_setup_in_an_empty_environment(wheel: Path, tmp_path: Path):
    home = tmp_path / "empty"
    venv.create(home, with_pip=True)
    python = home / "bin" / "python"
    run(python, "-m", "pip", "install", "--quiet", wheel, cwd=tmp_path)
    counts = json.loads(run(python, "-c", SOLVE_A_COPY, cwd=tmp_path))
    assert counts["pumps"] == len(list((ROOT / "data" / "pumps").glob("*.toml")))
    assert counts["setups"] == len(list((ROOT / "data" / "setups").glob("*.toml")))
    setup = tmp_path / "mine.toml"
    setup.write_bytes(sound_setup().read_bytes())
    answer = json.loads(run(home / "bin" / "curvelab", "solve", setup, "--json", cwd=tmp_path))
    assert answer["format"] == "curvelab-result/1"
    assert answer["flow_m3_s"] > 0


def sound_setup() -> Path:
    """Any setup of the demo that needs no other file beside it."""
    for path in sorted((ROOT / "data" / "setups").glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        if "file =" not in text and "id =" in text:
            return path
    raise AssertionError
