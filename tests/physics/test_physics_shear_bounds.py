"""Hand formulas of a yielding layer: bounds, and close ones, on what finite differences solve."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from test_physics_shear_yield import slip_by_differences

from undercourse.physics import shear_bounds

TILE = {"modulus_pa": 60e9, "thickness_m": 0.010}
STRETCH = TILE["modulus_pa"] * TILE["thickness_m"]
LENGTHS = st.floats(0.02, 3.0)
LAYERS = st.floats(5e7, 5e9)
PLATEAUS = st.floats(2e4, 1e6)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(1e-5, 4e-3), LENGTHS, LAYERS, PLATEAUS)
def test_crack_pull_is_bounded_closely(opening, length, layer, plateau):
    """Never below the pull of finite differences, at most 12.5 % above it."""
    step, slip = slip_by_differences(length, 1 / STRETCH, layer, plateau, opening / 2, 0.0, 1500)
    shear = np.minimum(layer * slip, plateau)
    pull = np.sum((shear[1:] + shear[:-1]) / 2) * step / TILE["thickness_m"]
    found = shear_bounds.crack_pull_bound(opening, length, layer_pa_m=layer, yield_pa=plateau, **TILE)
    assert pull * (1 - 2e-3) <= found.stress_pa <= pull * 1.125


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.floats(1e-5, 1e-3), LENGTHS, LAYERS, PLATEAUS)
def test_shrinking_base_is_bounded_closely(strain, length, layer, plateau):
    """Never below the middle stress of finite differences, at most 20 % above; the end shear is exact."""
    step, slip = slip_by_differences(length, 1 / STRETCH, layer, plateau, 0.0, strain, 1500)
    shear = np.minimum(layer * slip, plateau)
    stress = np.sum((shear[1:] + shear[:-1]) / 2) * step / TILE["thickness_m"]
    found = shear_bounds.shrinking_base_bound(strain, length, layer_pa_m=layer, yield_pa=plateau, **TILE)
    assert stress * (1 - 2e-3) <= found.stress_pa <= stress * 1.2
    end = shear_bounds.end_shear_bound(strain, length, found.decay_per_m, layer, plateau)
    assert end == pytest.approx(shear[-1], rel=2e-3)


def test_short_tile_is_nearly_exact():
    """A 12 in tile on sheets of 0.02 to 0.4 N/mm3 (the floor's usual case): within 1 %."""
    for layer in (2e7, 1e8, 4e8):
        for opening in (0.5e-3, 1.6e-3, 3.2e-3):
            step, slip = slip_by_differences(0.1524, 1 / STRETCH, layer, 1.5e5, opening / 2, 0.0)
            shear = np.minimum(layer * slip, 1.5e5)
            pull = np.sum((shear[1:] + shear[:-1]) / 2) * step / TILE["thickness_m"]
            found = shear_bounds.crack_pull_bound(opening, 0.1524, layer_pa_m=layer, yield_pa=1.5e5, **TILE)
            assert found.stress_pa == pytest.approx(pull, rel=0.01)
