"""What must hold of friction whatever the hose: the equation itself, the join, signs, scaling, limits."""

from decimal import Decimal, localcontext

import numpy as np
import pytest
from fluids.friction import Clamond
from hypothesis import assume, given
from hypothesis import strategies as st

from curvelab.errors import DomainError
from curvelab.hydraulics.friction import colebrook, friction_factor, gradient, hazen_williams_loss

G = 9.80665
reynolds_numbers = st.floats(4e3, 1e8)
roughnesses = st.one_of(st.just(0.0), st.floats(1e-9, 0.05))
bores = st.floats(0.02, 0.2)
viscosities = st.floats(2e-7, 1e-4)
velocities = st.floats(-10.0, 10.0)


def residual(reynolds, eps, f):
    return 1.0 / np.sqrt(f) + 2.0 * np.log10(eps / 3.7 + 2.51 / (reynolds * np.sqrt(f)))


def grid() -> tuple[np.ndarray, np.ndarray]:
    return np.meshgrid(np.geomspace(4e3, 1e8, 300), np.r_[0.0, np.geomspace(1e-9, 0.05, 120)])


@given(reynolds_numbers, roughnesses)
def test_the_factor_solves_the_equation(reynolds, eps):
    assert abs(residual(reynolds, eps, colebrook(reynolds, eps))) < 1e-12


@given(reynolds_numbers, roughnesses)
def test_an_independent_solver_agrees(reynolds, eps):
    assert colebrook(reynolds, eps) == pytest.approx(Clamond(reynolds, eps), rel=1e-11)


def test_fifty_digits_agree():
    with localcontext(prec=50):
        for reynolds, eps in [(4e3, 0.0), (1e5, 1e-4), (1e8, 0.05), (1e6, 1e-3)]:
            a, b, x = Decimal(eps) / Decimal("3.7"), Decimal("2.51") / Decimal(reynolds), Decimal(7)
            for _ in range(100):  # each round leaves less than a fifth of the error
                x = -2 * (a + b * x).log10()
            assert colebrook(reynolds, eps) == pytest.approx(float(x**-2), rel=1e-13)


def test_the_fast_loss_is_within_1e_8_everywhere():
    reynolds, eps = grid()
    bore, viscosity = 0.0762, 1e-6
    loss = gradient(
        reynolds * viscosity / bore, bore_m=bore, roughness_m=eps * bore, kinematic_viscosity_m2_s=viscosity
    )
    f = loss * 2.0 * G * bore / (reynolds * viscosity / bore) ** 2
    np.testing.assert_allclose(f, colebrook(reynolds, eps), rtol=1e-8)
    assert np.abs(f / colebrook(reynolds, eps) - 1.0).max() < 1e-9  # what its docstring says


@given(velocities, bores, roughnesses, viscosities)
def test_the_loss_is_odd_and_zero_at_rest(velocity, bore, eps, viscosity):
    hose = {"bore_m": bore, "roughness_m": eps * bore, "kinematic_viscosity_m2_s": viscosity}
    assert gradient(-velocity, **hose) == -gradient(velocity, **hose)
    assert gradient(0.0, **hose) == 0.0


@given(velocities, bores, roughnesses, viscosities)
def test_the_loss_is_darcy_s_with_the_public_factor(velocity, bore, eps, viscosity):
    reynolds = abs(velocity) * bore / viscosity
    assume(reynolds > 1e-6)
    loss = gradient(velocity, bore_m=bore, roughness_m=eps * bore, kinematic_viscosity_m2_s=viscosity)
    expected = float(friction_factor(reynolds, eps)) * velocity * abs(velocity) / (2.0 * G * bore)
    assert loss == pytest.approx(expected, rel=1e-9)


@given(st.floats(1e-6, 2000.0), roughnesses)
def test_laminar_flow_is_64_over_re_whatever_the_wall(reynolds, eps):
    assert friction_factor(reynolds, eps) == pytest.approx(64.0 / reynolds, rel=1e-14)


@pytest.mark.parametrize("eps", [0.0, 1e-6, 1e-3, 0.05])
@pytest.mark.parametrize("corner", [2000.0, 4000.0])
def test_neither_loss_nor_its_slope_jumps(corner, eps):
    def loss(reynolds):
        reynolds = np.asarray(reynolds)
        return friction_factor(reynolds, eps) * reynolds**2

    near = 1e-3 * np.array([-2.0, -1.0, 1.0, 2.0])
    left, before, after, right = loss(corner + near)
    assert after - before < 1e-6 * before + 1.2 * (right - left) / 2.0
    assert (before - left) == pytest.approx(right - after, rel=1e-4)


@given(st.floats(1.0, 1e5), st.floats(1e-3, 1.0), roughnesses)
def test_the_loss_rises_with_flow_through_the_join(reynolds, step, eps):
    more = reynolds * (1.0 + step)
    assert friction_factor(more, eps) * more**2 > friction_factor(reynolds, eps) * reynolds**2


@given(reynolds_numbers, st.floats(0.0, 0.045), st.floats(1e-6, 0.005))
def test_a_rougher_wall_loses_more(reynolds, eps, more):
    assert friction_factor(reynolds, eps + more) > friction_factor(reynolds, eps)


@given(st.floats(0.05, 8.0), bores, st.floats(1.01, 2.0), st.floats(0.0, 4e-4), viscosities)
def test_at_one_flow_a_wider_bore_loses_less(velocity, bore, wider, roughness, viscosity):
    narrow = gradient(velocity, bore_m=bore, roughness_m=roughness, kinematic_viscosity_m2_s=viscosity)
    wide = gradient(velocity / wider**2, bore_m=bore * wider, roughness_m=roughness, kinematic_viscosity_m2_s=viscosity)
    assert wide < narrow


def test_a_rough_wall_at_great_speed_obeys_von_karman_and_a_slow_smooth_one_blasius():
    assert colebrook(1e8, 0.05) == pytest.approx((2.0 * np.log10(3.7 / 0.05)) ** -2.0, rel=1e-4)
    assert colebrook(1e5, 0.0) == pytest.approx(0.3164 / 1e5**0.25, rel=0.02)


@pytest.mark.parametrize("size", [1, 15, 17, 300, 4097, 20_000])
def test_few_many_and_blocks_of_elements_agree(size):
    rng = np.random.default_rng(size)
    velocity = rng.uniform(-3.0, 3.0, size) * (rng.random(size) > 0.2) * rng.choice([1.0, 0.01], size)
    bore, viscosity = rng.uniform(0.03, 0.15, size), 1.1e-6
    together = gradient(velocity, bore_m=bore, roughness_m=3e-5, kinematic_viscosity_m2_s=viscosity)
    one_by_one = [
        float(gradient(v, bore_m=d, roughness_m=3e-5, kinematic_viscosity_m2_s=viscosity))
        for v, d in zip(velocity, bore, strict=True)
    ]
    np.testing.assert_allclose(together, one_by_one, rtol=1e-13, atol=0.0)


def test_arguments_broadcast_over_rows_legs_and_points():
    velocity = np.linspace(-2.0, 2.0, 501)
    rows = {"bore_m": np.array([0.05, 0.076, 0.1])[:, None, None], "roughness_m": np.array([[1e-5], [1e-4]])}
    loss = gradient(velocity, **rows, kinematic_viscosity_m2_s=1e-6)
    assert loss.shape == (3, 2, 501)
    one = gradient(velocity, bore_m=0.076, roughness_m=1e-4, kinematic_viscosity_m2_s=1e-6)
    np.testing.assert_allclose(loss[1, 1], one, rtol=1e-13)
    assert gradient(np.empty((0, 3)), bore_m=0.1, roughness_m=0.0, kinematic_viscosity_m2_s=1e-6).shape == (0, 3)


@pytest.mark.parametrize(
    ("call", "message"),
    [
        (
            lambda: colebrook([5e3, 1200.0], 0.0),
            "reynolds must lie between 4000 and 1e+08 (got 1200 at index 1); use friction_factor() for laminar flow",
        ),
        (lambda: colebrook(1e5, 0.06), "relative_roughness must lie between 0 and 0.05 (got 0.06)"),
        (
            lambda: friction_factor(0.0, 0.0),
            "reynolds must lie between 1e-06 and 1e+08 (got 0); at no flow there is no friction factor; use gradient()",
        ),
        (lambda: friction_factor(np.nan, 0.0), "reynolds must lie between 1e-06 and 1e+08 (got nan)"),
        (
            lambda: hazen_williams_loss(1e-3, length_m=1.0, bore_m=[0.1, -0.1], coefficient=150.0),
            "bore_m must be 0 or more (got -0.1 at index 1)",
        ),
    ],
)
def test_what_lies_outside_is_named(call, message):
    with pytest.raises(DomainError) as caught:
        call()
    assert str(caught.value).startswith(message)
