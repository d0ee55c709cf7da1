"""A setup whose pump lies in a file beside it, and files that must not be reached."""

import tomllib
from pathlib import Path
from typing import Any

import pytest

from curvelab.errors import InputError
from curvelab.model.pump import Pump
from curvelab.model.setup import Setup
from tests.unit.model_cases import PUMP, setup_table


def lines(table: Any, **context: Any) -> list[str]:
    with pytest.raises(InputError) as caught:
        Setup.model_validate(table, context=context or None)
    return [fault.line() for fault in caught.value.faults]


class TestPumpFile:
    @pytest.fixture
    def folder(self, tmp_path: Path) -> Path:
        home = tmp_path / "yard"
        (home / "mine").mkdir(parents=True)
        (home / "mine.toml").write_text(PUMP)
        (home / "mine" / "other.toml").write_text(PUMP.replace("moor-3", "fen-3"))
        (home / "bad.toml").write_text(PUMP.replace("[200, 70]", "[100, 70]"))
        (tmp_path / "outside.toml").write_text(PUMP)
        (home / "link.toml").symlink_to(tmp_path / "outside.toml")
        return home

    def test_beside_the_setup_or_below(self, folder: Path):
        for name, pump in (("mine.toml", "moor-3"), ("mine/other.toml", "fen-3")):
            setup = Setup.model_validate(setup_table(pump={"file": name}), context={"folder": folder})
            assert setup.pump.record == Pump.model_validate(tomllib.loads(PUMP.replace("moor-3", pump)))
            assert f'file = "{name}"' in setup.to_toml()

    @pytest.mark.parametrize(
        "name",
        [
            "../outside.toml",
            "mine/../../outside.toml",
            "/etc/passwd",
            "link.toml",
            "C:\\x.toml",
            "..\\outside.toml",
            "~/x",
            "",
        ],
    )
    def test_never_outside(self, folder: Path, name: str):
        (line,) = lines(setup_table(pump={"file": name}), folder=folder)
        assert line.startswith("pump.file: ")
        assert "folder" in line

    def test_without_a_folder(self):
        (line,) = lines(setup_table(pump={"file": "mine.toml"}))
        assert line.startswith("pump.file: no folder is known")

    def test_faults_stand_under_the_pump_files_own_name(self, folder: Path):
        with pytest.raises(InputError) as caught:
            Setup.model_validate(setup_table(pump={"file": "bad.toml"}), context={"folder": folder})
        (fault,) = caught.value.faults
        assert (fault.where, fault.field) == (str(folder / "bad.toml"), "head.points.2")

    def test_missing(self, folder: Path):
        (line,) = lines(setup_table(pump={"file": "none.toml"}), folder=folder)
        assert line.startswith('pump.file: "none.toml" is no file that is there')

    def test_another_pump_takes_its_place(self, folder: Path):
        setup = Setup.model_validate(
            setup_table(pump={"file": "mine.toml", "throttle": 0.9}), context={"folder": folder}
        )
        assert setup.with_("pump.id", "moor-3") == Setup.model_validate(
            setup_table(pump={"id": "moor-3", "throttle": 0.9})
        )
        back = setup.with_("pump.id", "x").with_("pump.file", "mine.toml", context={"folder": folder})
        assert back == setup
        assert setup.with_("pump.throttle", "80 %").pump.record == setup.pump.record

    def test_a_record_written_out_reads_back(self):
        setup = Setup.model_validate(setup_table(pump={"record": tomllib.loads(PUMP)}))
        assert Setup.model_validate(tomllib.loads(setup.to_toml())) == setup
