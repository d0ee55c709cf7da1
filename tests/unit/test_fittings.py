"""Fittings and steps against an independent library and their own limits."""

import numpy as np
import pytest
from fluids import fittings as reference
from fluids.friction import ft_Crane
from hypothesis import given
from hypothesis import strategies as st

from curvelab.errors import DomainError
from curvelab.hydraulics import fittings

INCH = 0.0254
areas = st.floats(1e-4, 1e-1)


@pytest.mark.parametrize("beta", [0.1, 0.5, 2 / 3, 0.95])
def test_steps_are_those_of_the_library(beta: float):
    assert fittings.contraction_k(beta) == pytest.approx(reference.contraction_sharp(Di1=1.0, Di2=beta, method="Crane"))
    assert fittings.enlargement_k(beta) == pytest.approx(reference.diffuser_sharp(Di1=beta, Di2=1.0))


@given(areas, areas)
def test_a_step_is_a_contraction_or_an_enlargement(before: float, after: float):
    beta = np.sqrt(min(before, after) / max(before, after))
    expected = fittings.contraction_k(beta) if after < before else fittings.enlargement_k(beta)
    assert fittings.step_k(before, after) == pytest.approx(float(expected), abs=1e-12)


def test_no_step_no_loss_and_an_endless_one_costs_an_entrance_or_an_exit():
    assert fittings.step_k(0.01, 0.01) == 0.0
    assert fittings.step_k(1e12, 0.01) == pytest.approx(fittings.K_FLUSH_SHARP)
    assert fittings.step_k(0.01, 1e12) == pytest.approx(fittings.K_EXIT)


@pytest.mark.parametrize("inches", fittings.CRANE_FRICTION_FACTORS)
def test_the_table_of_crane_is_that_of_the_library(inches: float):
    bore = {1.5: 1.61, 2: 2.067, 2.5: 2.469, 3: 3.068, 4: 4.026, 5: 5.047, 6: 6.065, 8: 7.981}[inches] * INCH
    assert fittings.crane_friction_factor(inches * INCH) == pytest.approx(round(ft_Crane(bore), 3))


def test_a_bore_is_no_nominal_size():
    with pytest.raises(DomainError, match=r"got 3\.068 at index 1\); give the size, not the bore"):
        fittings.crane_friction_factor([3.0 * INCH, 3.068 * INCH])


def test_k_grows_with_the_fitting_and_falls_with_the_size():
    k = fittings.crane_k(np.array([[30.0], [75.0]]), np.array([2.0, 3.0, 4.0]) * INCH)
    assert k.shape == (2, 3)
    assert (np.diff(k, axis=1) < 0).all()
    assert (np.diff(k, axis=0) > 0).all()
