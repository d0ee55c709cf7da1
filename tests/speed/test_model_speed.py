"""What reading, changing and planning setups may take; most limits are several times what a quiet core needs."""

import time
import tomllib
from collections.abc import Callable

import pytest

from curvelab.model.catalogue import Catalogue, default_catalogue, demo_folder
from curvelab.model.planning import plan_of
from curvelab.model.setup import Setup


def best_of(runs: int, action: Callable[[], object]) -> float:
    """Least processor time of some runs, so that it counts for little what else the machine does. [s]"""
    times: list[float] = []
    for _ in range(runs):
        start = time.process_time()
        action()
        times.append(time.process_time() - start)
    return min(times)


@pytest.fixture(scope="module")
def setup() -> Setup:
    return default_catalogue().setups["mill-pond"]


def test_changing_one_field(setup: Setup):
    lengths = [f"{200 + n / 8:.3f} ft" for n in range(800)]
    seconds = best_of(3, lambda: [setup.with_("discharge.leg.0.length", text) for text in lengths]) / len(lengths)
    print(f"\nwith_: {seconds * 1e6:.0f} us")
    assert seconds < 150e-6


def test_reading_a_setup(setup: Setup):
    table = tomllib.loads(setup.to_toml())
    seconds = best_of(20, lambda: Setup.model_validate(table))
    print(f"\nmodel_validate: {seconds * 1e6:.0f} us")
    assert seconds < 500e-6


def test_planning_20_000_setups(setup: Setup):
    ready = [
        s for s in default_catalogue().setups.values() if s.pump.abreast == 1 and not s.pump.beside and not s.booster
    ]
    shared = (ready * (20_000 // len(ready) + 1))[:20_000]
    table = tomllib.loads(setup.to_toml())
    apart: list[Setup] = []
    for n in range(20_000):
        table["suction"]["lift"] = f"{5 + n * 2e-4:.4f} ft"
        table["site"]["temperature"] = f"{50 + n * 1e-3:.3f} degF"
        apart.append(Setup.model_validate(table))
    for name, setups in (("of a few", shared), ("all apart", apart)):
        seconds = best_of(2, lambda setups=setups: plan_of(setups)) / len(setups)
        print(f"\nplan_of, {name}: {seconds * 1e6:.1f} us a setup")
        assert seconds < 100e-6


def test_planning_one(setup: Setup):
    seconds = best_of(50, lambda: plan_of([setup]))
    print(f"\nplan_of one: {seconds * 1e6:.0f} us")
    assert seconds < 1.5e-3


def test_reading_the_catalogue():
    seconds = best_of(3, lambda: Catalogue.load(demo_folder()))
    print(f"\nCatalogue.load: {seconds * 1e3:.0f} ms")
    assert seconds < 150e-3
