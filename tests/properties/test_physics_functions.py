"""What every public function of the physics owes its caller, whoever wrote it.

Each stands here once with good arguments. Arrays give what scalars give; what is not finite raises; docstrings name
units, ranges, errors and source. A new function without an entry fails.
"""

import inspect
import re
from types import ModuleType

import numpy as np
import pytest

from curvelab.errors import DomainError
from curvelab.hydraulics import air, fittings, friction, gauges, hose, outlets, power, water

MODULES = (water, air, friction, fittings, outlets, power, gauges, hose)
UNCHECKED = {"gradient", "step_k"}  # the solver's own: a Plan's arguments have been checked before
FLOW, HEAD, DENSITY, BORE, SPEED = (1e-3, 0.02), (1.0, 40.0), (700.0, 1200.0), (0.03, 0.2), (0.5, 4.0)
LENGTH, PRESSURE, TEMPERATURE, VISCOSITY = (1.0, 300.0), (1e4, 5e5), (275.0, 370.0), (1e-6, 1e-5)

GOOD: dict[str, dict[str, tuple[float, float]]] = {
    "density": {"temperature_k": TEMPERATURE},
    "viscosity": {"temperature_k": TEMPERATURE},
    "kinematic_viscosity": {"temperature_k": TEMPERATURE},
    "vapour_pressure": {"temperature_k": TEMPERATURE},
    "pressure_at": {"altitude_m": (-400.0, 4000.0)},
    "altitude_of": {"pressure_pa": (6e4, 1.1e5)},
    "colebrook": {"reynolds": (5e3, 1e7), "relative_roughness": (0.0, 0.04)},
    "friction_factor": {"reynolds": (10.0, 1e7), "relative_roughness": (0.0, 0.04)},
    "gradient": {
        "velocity_m_s": (-3.0, 3.0),
        "bore_m": BORE,
        "roughness_m": (0.0, 1e-3),
        "kinematic_viscosity_m2_s": VISCOSITY,
    },
    "hazen_williams_loss": {"flow_m3_s": FLOW, "length_m": LENGTH, "bore_m": BORE, "coefficient": (90.0, 150.0)},
    "fire_hose_loss": {"flow_m3_s": FLOW, "length_m": LENGTH, "coefficient": (0.2, 24.0)},
    "contraction_k": {"beta": (0.0, 1.0)},
    "enlargement_k": {"beta": (0.0, 1.0)},
    "step_k": {"area_from": (1e-3, 1e-2), "area_to": (2e-3, 9e-3)},
    "crane_friction_factor": {"nominal_m": (0.0508, 0.0762)},
    "crane_k": {"equivalent_diameters": (3.0, 420.0), "nominal_m": (0.0508, 0.0762)},
    "jet_flow": {"head_m": HEAD, "bore_m": BORE, "coefficient": (0.5, 1.0), "count": (1.0, 3.0)},
    "jet_resistance": {"bore_m": BORE, "coefficient": (0.5, 1.0), "count": (1.0, 3.0)},
    "sprinkler_resistance": {
        "count": (1.0, 9.0),
        "flow_m3_s": FLOW,
        "pressure_pa": PRESSURE,
        "density_kg_m3": DENSITY,
    },
    "drain_time": {
        "level_from_m": (2.0, 3.0),
        "level_to_m": (0.0, 1.0),
        "area_m2": (1.0, 10.0),
        "bore_m": BORE,
        "coefficient": (0.5, 1.0),
    },
    "level_jet_flow": {"reach_m": (0.1, 1.0), "drop_m": (0.1, 0.4), "bore_m": BORE},
    "nozzle_reaction": {"bore_m": BORE, "pressure_pa": PRESSURE},
    "siphon_velocity": {
        "drop_m": (0.5, 5.0),
        "length_m": LENGTH,
        "bore_m": BORE,
        "roughness_m": (0.0, 1e-3),
        "kinematic_viscosity_m2_s": VISCOSITY,
        "k": (1.0, 9.0),
    },
    "crest_pressure": {
        "crest_m": (-1.0, 3.0),
        "velocity_m_s": SPEED,
        "loss_m": (0.0, 2.0),
        "air_pressure_pa": (8e4, 1e5),
        "density_kg_m3": DENSITY,
    },
    "water_power": {"flow_m3_s": FLOW, "head_m": HEAD, "density_kg_m3": DENSITY},
    "shaft_power": {"flow_m3_s": FLOW, "head_m": HEAD, "efficiency": (0.2, 1.0), "density_kg_m3": DENSITY},
    "engine_available": {
        "rated_w": (0.0, 1e4),
        "continuous": (0.5, 1.0),
        "altitude_m": (-400.0, 4000.0),
        "temperature_k": TEMPERATURE,
    },
    "fuel_rate": {"shaft_w": (0.0, 1e4), "consumption_m3_j": (1e-10, 2e-10)},
    "surge_pressure": {"velocity_change_m_s": SPEED, "wave_speed_m_s": (50.0, 1400.0), "density_kg_m3": DENSITY},
    "surge_return_time": {"length_m": LENGTH, "wave_speed_m_s": (50.0, 1400.0)},
    "heating_time": {
        "volume_m3": (1e-3, 5e-3),
        "shaft_w": (500.0, 3000.0),
        "temperature_rise_k": (0.0, 60.0),
        "density_kg_m3": DENSITY,
    },
    "head_of": {"pressure_pa": PRESSURE, "density_kg_m3": DENSITY},
    "pressure_of": {"head_m": HEAD, "density_kg_m3": DENSITY},
    "npsh_available": {
        "air_pressure_pa": (8e4, 1e5),
        "vapour_pressure_pa": (1e3, 9e3),
        "density_kg_m3": DENSITY,
        "lift_m": (-2.0, 6.0),
        "loss_m": (0.0, 2.0),
    },
    "npsh_from_gauge": {
        "gauge_pa": (-5e4, 5e4),
        "air_pressure_pa": (8e4, 1e5),
        "vapour_pressure_pa": (1e3, 9e3),
        "density_kg_m3": DENSITY,
        "gauge_height_m": (-1.0, 1.0),
        "velocity_m_s": SPEED,
    },
    "head_from_gauges": {
        "inlet_pa": (-5e4, 5e4),
        "outlet_pa": PRESSURE,
        "density_kg_m3": DENSITY,
        "height_between_m": (-1.0, 1.0),
        "inlet_velocity_m_s": SPEED,
        "outlet_velocity_m_s": SPEED,
    },
    "hose_volume": {"length_m": LENGTH, "bore_m": BORE},
    "hose_mass": {"length_m": LENGTH, "line_mass_kg_m": (0.1, 3.0), "bore_m": BORE, "density_kg_m3": (0.0, 1000.0)},
}


def public(module: ModuleType):
    for name, function in vars(module).items():
        if inspect.isfunction(function) and function.__module__ == module.__name__ and not name.startswith("_"):
            yield name, function


FUNCTIONS = {name: function for module in MODULES for name, function in public(module)}


def call(name: str, values: dict):
    function = FUNCTIONS[name]
    kinds = {parameter.name: parameter.kind for parameter in inspect.signature(function).parameters.values()}
    first = [values[key] for key, kind in kinds.items() if kind is inspect.Parameter.POSITIONAL_OR_KEYWORD]
    rest = {key: values[key] for key, kind in kinds.items() if kind is inspect.Parameter.KEYWORD_ONLY}
    return function(*first, **rest)


def test_every_public_function_stands_here():
    assert set(FUNCTIONS) == set(GOOD)
    for name, function in FUNCTIONS.items():
        assert list(inspect.signature(function).parameters) == list(GOOD[name]), name


@pytest.mark.parametrize("name", GOOD)
def test_vector_equals_scalar_and_is_finite(name: str):
    rng = np.random.default_rng(7)
    size = 25
    values = {key: rng.uniform(low, high, size) for key, (low, high) in GOOD[name].items()}
    if "nominal_m" in values:
        values["nominal_m"] = rng.choice([0.0508, 0.0762, 0.1016], size)
    together = call(name, values)
    assert together.shape == (size,)
    assert np.isfinite(together).all()
    for index in range(size):
        one = call(name, {key: float(column[index]) for key, column in values.items()})
        assert np.ndim(one) == 0
        assert float(one) == pytest.approx(together[index], rel=1e-12, abs=0.0)


@pytest.mark.parametrize(
    ("name", "argument"), [(name, argument) for name in GOOD if name not in UNCHECKED for argument in GOOD[name]]
)
def test_what_is_not_finite_raises_and_names_the_argument(name: str, argument: str):
    good = {key: 0.0508 if key == "nominal_m" else low for key, (low, _) in GOOD[name].items()}
    for bad in (np.nan, np.inf, -np.inf):
        with pytest.raises(DomainError, match=argument):
            call(name, good | {argument: bad})
        with pytest.raises(DomainError, match="at index 1") as caught:
            call(name, good | {argument: np.array([good[argument], bad])})
        assert caught.value.index == 1


@pytest.mark.parametrize("name", GOOD)
def test_the_docstring_says_units_ranges_errors_and_source(name: str):
    function = FUNCTIONS[name]
    text = inspect.getdoc(function) or ""
    if "Parameters" not in text:  # a one-liner that leans on its neighbour
        assert re.search(r"``\w+``", text), name
        return
    for argument in inspect.signature(function).parameters:
        assert re.search(rf"\b{argument}\b", text), f"{name}: {argument} is not described"
    parameters, returns = text.split("Returns\n", 1)
    assert ("[" in parameters and "Valid" in parameters) or "As ``" in parameters, name
    assert re.search(r"\[[^\]]+\]", returns), f"{name}: no unit of what it returns"
    assert "References" in text, name
    assert name in UNCHECKED or "DomainError" in text, name
