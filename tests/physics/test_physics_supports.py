"""Panels over joists against a stiffness method, and bounds of glued layers."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from undercourse.physics import joists, panels, shear_lag, supports

STIFFNESS = st.floats(1e2, 1e5)


def beam_ends(count: int, load: float = 0.0, force_bay: int | None = None) -> tuple[np.ndarray, np.ndarray]:
    """Rotations and hogging moments at the supports of equal unit spans, EI 1, by slope deflection.

    ``load`` stands on all spans; else a unit force stands in the middle of one bay.
    """
    fixed = np.array([load / 12 if force_bay is None else (bay == force_bay) / 8 for bay in range(count)])
    matrix, right = np.zeros((count + 1, count + 1)), np.zeros(count + 1)
    for bay in range(count):
        matrix[bay, bay] += 4
        matrix[bay + 1, bay + 1] += 4
        matrix[bay, bay + 1] += 2
        matrix[bay + 1, bay] += 2
        right[bay] += fixed[bay]
        right[bay + 1] -= fixed[bay]
    turn = np.linalg.solve(matrix, right)
    hogging = np.array([fixed[bay] + 4 * turn[bay + 1] + 2 * turn[bay] for bay in range(count)])
    return turn, hogging


@pytest.mark.parametrize("count", [1, 2, 3])
def test_uniform_load_agrees_with_slope_deflection(count):
    """Curvature and rotations at the end and at the first inner joist."""
    turn, hogging = beam_ends(count, 1.0)
    if count > 1:
        assert supports.support_curvature(1.0, 1.0, 1.0, count) == pytest.approx(hogging[0])
        assert supports.support_rotation(1.0, 1.0, 1.0, count, False) == pytest.approx(abs(turn[1]))
    assert supports.support_rotation(1.0, 1.0, 1.0, count, True) == pytest.approx(abs(turn[0]))


@pytest.mark.parametrize(("count", "bay"), [(2, 0), (3, 0), (3, 1)])
def test_force_agrees_with_slope_deflection(count, bay):
    """The greatest support moment under a force in one bay."""
    _, hogging = beam_ends(count, force_bay=bay)
    found = supports.support_curvature_under_force(1.0, 1.0, 1.0, 1.0, count, bay == 0)
    assert found == pytest.approx(np.max(np.abs(hogging[:-1])))


@given(st.lists(st.tuples(STIFFNESS, st.floats(1e6, 1e8), st.floats(0.003, 0.03)), min_size=2, max_size=4))
def test_glue_is_never_less_than_loose(layers):
    """Between loose layers and far above; turning the stack over changes nothing."""
    bending, axial, thickness = np.array(layers).T
    glued = supports.glued_layers_stiffness(bending, axial, thickness)
    assert glued >= panels.loose_layers_stiffness(bending)
    turned = supports.glued_layers_stiffness(bending[::-1], axial[::-1], thickness[::-1])
    assert turned == pytest.approx(glued)


@given(st.floats(1e7, 1e8), st.floats(1e6, 1e8), STIFFNESS, STIFFNESS)
def test_two_glued_layers_are_a_jointed_section_without_slip(first, second, own_1, own_2):
    """The gamma method with stiff fasteners gives the transformed section."""
    glued = supports.glued_layers_stiffness([own_1, own_2], [first, second], [0.018, 0.012])
    jointed = joists.jointed_stiffness(first, own_1, second, own_2, 0.015, 1e-9, 1e12, 3.0)
    assert jointed.stiffness_nm2 == pytest.approx(glued, rel=1e-6)


@given(st.floats(1e-3, 0.1), st.floats(0.1, 3.0), st.floats(1e6, 1e13))
def test_soft_layers_lie_between_tile_alone_and_all_bonded(curvature, half, layer):
    """The two strain bounds enclose what shear lag gives for any layer."""
    mismatch = shear_lag.curvature_mismatch(curvature, 0.009, 0.003, 0.010)
    axial = shear_lag.strain_mismatch(mismatch, half, 60e9, 0.010, np.inf, layer).middle_stress_pa
    strain = shear_lag.bent_tile_stress(axial, curvature, 60e9, 0.010) / 60e9
    assert strain >= supports.curvature_strain(curvature, 0.005) * (1 - 1e-12)
    assert strain <= supports.curvature_strain(curvature, 0.009 + 0.003 + 0.010) * (1 + 1e-12)
