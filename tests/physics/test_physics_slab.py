"""Directions, inverses and numerical solutions for slabs and shear lag."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import solve_bvp

from undercourse.physics import creep, shear_lag, shrinkage, slab

DAY = 86400.0
MIX = {"slump_m": 0.075, "fines_share": 0.4, "cement_kg_m3": 400.0, "air_share": 0.02}


@given(st.floats(0.0, 0.999), st.floats(DAY, 1e4 * DAY))
def test_drying_time_is_the_inverse_of_the_share(share, scale):
    """The age for a given remainder must lead back to that remainder."""
    hyperbolic = shrinkage.hyperbolic_time(share, scale)
    assert shrinkage.hyperbolic_share(hyperbolic, scale) == pytest.approx(share, abs=1e-9)
    root = shrinkage.root_time(share, scale)
    assert shrinkage.root_share(root, scale) == pytest.approx(share, abs=1e-9)


@given(st.floats(1e-5, 1e-3), st.floats(1e-6, 2e-3), st.floats(DAY, 1e3 * DAY))
def test_waiting_for_a_remainder_leaves_no_more_than_it(ultimate, allowed, half):
    """A schedule built on the waiting time keeps the limit; nothing to wait for gives no wait."""
    wait = shrinkage.hyperbolic_time(shrinkage.share_for_remainder(ultimate, allowed), half)
    left = shrinkage.remaining_shrinkage(ultimate, shrinkage.hyperbolic_share(wait, half))
    assert left <= allowed * (1 + 1e-6)
    assert (wait == 0) == (allowed >= ultimate)


def test_no_finite_wait_brings_the_remainder_to_nothing():
    """Zero remaining shrinkage is never promised."""
    assert shrinkage.hyperbolic_time(shrinkage.share_for_remainder(4e-4, 0.0), 35 * DAY) == np.inf


@given(st.floats(0.40, 0.79), st.floats(0.001, 0.01), st.floats(0.05, 0.3), st.floats(1, 60))
def test_drier_air_and_thinner_slab_shrink_more(humidity, step, depth, days):
    """Directions that kernels may declare, within one branch of the humidity rule."""

    def aci(h, vs, d):
        return shrinkage.aci_shrinkage(d * DAY, h, vs, **MIX).ultimate_strain

    base = aci(humidity, depth, days)
    assert aci(humidity + step, depth, days) < base
    assert aci(humidity, depth + step, days) < base
    assert aci(humidity, depth, days + 1) < base
    for model, extra in (
        (shrinkage.mc90_shrinkage, (5,)),
        (shrinkage.mc90_99_shrinkage, (4, 0.12)),
        (shrinkage.gl2000_shrinkage, (1.0,)),
    ):
        assert model(30e6, humidity + step, *extra) < model(30e6, humidity, *extra)
        assert model(35e6, humidity, *extra) < model(30e6, humidity, *extra)


def test_aci_humidity_factor_steps_up_at_eighty_percent():
    """The step named in the docstring is there, so the direction is not declared as plain."""
    low, high = shrinkage.aci_shrinkage(7 * DAY, np.array([0.80, 0.8001]), 0.1, **MIX).humidity
    assert high - low == pytest.approx(0.016, abs=1e-3)


@given(st.floats(0.4, 0.95), st.floats(0.03, 0.5), st.floats(3, 365), st.floats(1, 1e4))
def test_creep_falls_with_age_and_grows_under_load(humidity, depth, age, loaded):
    """Later loading creeps less, longer loading more, in both models."""
    later = creep.mc90_99_creep(30e6, humidity, depth, (age + 1) * DAY, loaded * DAY).coefficient
    now = creep.mc90_99_creep(30e6, humidity, depth, age * DAY, loaded * DAY).coefficient
    longer = creep.mc90_99_creep(30e6, humidity, depth, age * DAY, 2 * loaded * DAY).coefficient
    assert later < now < longer
    aci = [creep.aci_creep(d * DAY, humidity, depth, 0.075, 0.4, 0.02).ultimate for d in (age, age + 1)]
    assert aci[1] < aci[0]


@given(st.floats(0.1, 100.0))
def test_curling_coefficient_stays_in_the_range_of_the_chart(reach):
    """Bradbury's chart runs from 0 to about 1.1; a long slab does not overflow."""
    assert -1e-9 <= slab.curling_coefficient(reach, 1.0) <= 1.0863


def test_joint_opening_is_free_movement_when_nothing_holds():
    """With factor 1 and no drying, the opening is the thermal movement."""
    opening = slab.joint_opening(6.0, 1e-5, 20.0, 0.0, 1.0)
    assert opening == pytest.approx(slab.thermal_movement(1e-5, 6.0, 20.0))


def test_crack_bridge_agrees_with_a_numerical_solution():
    """The closed form against a general boundary value solver: E t u'' = K u, u(0) = w/2, u'(l) = 0."""
    opening, length, modulus, thickness, layer = 0.3e-3, 0.4, 60e9, 0.010, 1e9
    rate = layer / (modulus * thickness)
    solution = solve_bvp(
        lambda x, y: np.vstack([y[1], rate * y[0]]),
        lambda start, end: np.array([start[0] - opening / 2, end[1]]),
        np.linspace(0, length, 50),
        np.zeros((2, 50)),
        tol=1e-8,
    )
    tension = -modulus * solution.y[1, 0]
    closed = shear_lag.crack_bridge(opening, length, modulus, thickness, layer)
    assert closed.stress_pa == pytest.approx(tension, rel=1e-6)
    assert closed.layer_shear_pa == pytest.approx(layer * solution.y[0, 0], rel=1e-6)


def test_strain_mismatch_agrees_with_a_numerical_solution_on_an_elastic_base():
    """Slip s = u_tile - u_base obeys s'' = K (1/Et + 1/EbTb) s with s' = mismatch at the free end."""
    strain, half, modulus, thickness, base, layer = 300e-6, 1.2, 60e9, 0.010, 3e9, 5e8
    flexibility = 1 / (modulus * thickness) + 1 / base
    solution = solve_bvp(
        lambda x, y: np.vstack([y[1], layer * flexibility * y[0]]),
        lambda start, end: np.array([start[0], end[1] - strain]),
        np.linspace(0, half, 50),
        np.zeros((2, 50)),
        tol=1e-8,
    )
    closed = shear_lag.strain_mismatch(strain, half, modulus, thickness, base, layer)
    assert closed.end_shear_pa == pytest.approx(layer * solution.y[0, -1], rel=1e-6)
    force = (strain - solution.y[1, 0]) / flexibility
    assert closed.middle_stress_pa == pytest.approx(force / thickness, rel=1e-6)


@given(st.floats(0.01, 50), st.floats(1e7, 1e12), st.floats(1.01, 5))
def test_softer_layer_and_nearer_joint_spare_the_tile(length, layer, more):
    """Directions: stiffer layer, longer tile and wider crack never pull less."""

    def pull(w, reach, k):
        return shear_lag.crack_bridge(w, reach, 60e9, 0.01, k).stress_pa

    base = pull(3e-4, length, layer)
    assert pull(3e-4, length, layer * more) > base
    assert pull(3e-4, length * more, layer) >= base
    assert pull(3e-4 * more, length, layer) > base
    assert base <= layer * 3e-4 * length / (2 * 0.01) * (1 + 1e-9)


@given(st.floats(1e6, 1e9), st.floats(1e6, 1e9), st.floats(1e8, 1e13), st.floats(0.005, 0.2))
def test_lap_ends_hold_more_than_the_mean_between_them(first, second, layer, length):
    """The mean of the two end stresses is never below the average, and members may be swapped."""
    one = shear_lag.lap_joint(1e4, length, first, second, layer)
    two = shear_lag.lap_joint(1e4, length, second, first, layer)
    assert one.end_1_pa == pytest.approx(two.end_2_pa)
    assert (one.end_1_pa + one.end_2_pa) / 2 >= one.average_pa * (1 - 1e-9)
    assert (one.end_1_pa >= one.end_2_pa) == (first <= second) or one.end_1_pa == pytest.approx(one.end_2_pa)
