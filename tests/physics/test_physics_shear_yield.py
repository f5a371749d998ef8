"""A yielding layer under tile against finite differences, and its limits."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.linalg import solve_banded

from undercourse.physics import shear_lag, shear_yield

TILE = {"modulus_pa": 60e9, "thickness_m": 0.010}
LENGTHS = st.floats(0.05, 3.0)
LAYERS = st.floats(1e7, 1e11)
PLATEAUS = st.floats(1e4, 2e6)


def slip_by_differences(length, flexibility, layer, plateau, start, end_slope, cells=4000):
    """Slip s with s'' = flexibility min(K s, yield), s(0) given, s'(length) given.

    Central differences; where a node yields its stress is the plateau. Nodes change sides until none
    does, which is the exact discrete answer.
    """
    step = length / cells
    over = np.zeros(cells + 1, dtype=bool)
    for _ in range(200):
        upper, main, lower = np.ones(cells), np.full(cells + 1, -2.0), np.ones(cells)
        right = np.where(over, flexibility * plateau * step**2, 0.0)
        main = main - np.where(over, 0.0, flexibility * layer * step**2)
        main[0], upper[0], right[0] = 1.0, 0.0, start
        lower[-1] = 2.0
        right[-1] = right[-1] - 2 * step * end_slope
        bands = np.zeros((3, cells + 1))
        bands[0, 1:], bands[1], bands[2, :-1] = upper, main, lower
        slip = solve_banded((1, 1), bands, right)
        again = layer * slip > plateau
        if np.array_equal(again, over):
            return step, slip
        over = again
    raise AssertionError("the yielded nodes did not settle")


@pytest.mark.parametrize(
    ("opening", "length", "layer", "plateau"),
    [(0.4e-3, 0.5, 1e9, 1e5), (1e-3, 1.5, 1e9, 1e5), (2e-4, 0.3, 1e10, 4e5), (3e-3, 0.15, 1e9, 1e5)],
)
def test_crack_bridge_agrees_with_finite_differences(opening, length, layer, plateau):
    """Stress, shear and yielded length of the closed form against the solved equation."""
    stretch = TILE["modulus_pa"] * TILE["thickness_m"]
    step, slip = slip_by_differences(length, 1 / stretch, layer, plateau, opening / 2, 0.0)
    stress = np.minimum(layer * slip, plateau)
    force = np.sum((stress[1:] + stress[:-1]) / 2) * step
    found = shear_yield.yielding_crack_bridge(opening, length, layer_pa_m=layer, yield_pa=plateau, **TILE)
    assert found.stress_pa == pytest.approx(force / TILE["thickness_m"], rel=1e-4)
    assert found.layer_shear_pa == pytest.approx(stress[0])
    assert found.yielded_length_m == pytest.approx(np.sum(layer * slip > plateau) * step, abs=3 * step)


@pytest.mark.parametrize(
    ("strain", "half", "layer", "plateau", "base"),
    [(3e-4, 1.5, 5e8, 5e4, np.inf), (3e-4, 3.0, 5e9, 1e5, 3e9), (5e-4, 0.5, 1e10, 1e5, np.inf)],
)
def test_mismatch_agrees_with_finite_differences(strain, half, layer, plateau, base):
    """Middle stress, end slip and yielded length against the solved equation."""
    flexibility = 1 / (TILE["modulus_pa"] * TILE["thickness_m"]) + 1 / base
    step, slip = slip_by_differences(half, flexibility, layer, plateau, 0.0, strain)
    stress = np.minimum(layer * slip, plateau)
    force = np.sum((stress[1:] + stress[:-1]) / 2) * step
    found = shear_yield.yielding_strain_mismatch(
        strain, half, base_stiffness_n_m=base, layer_pa_m=layer, yield_pa=plateau, **TILE
    )
    assert found.middle_stress_pa == pytest.approx(force / TILE["thickness_m"], rel=1e-4)
    assert found.end_slip_m == pytest.approx(slip[-1], rel=1e-4)
    assert found.yielded_length_m == pytest.approx(np.sum(layer * slip > plateau) * step, abs=3 * step)


@given(st.floats(1e-6, 5e-3), LENGTHS, LAYERS, PLATEAUS, st.floats(1.01, 5.0))
def test_yield_spares_the_tile_and_directions_hold(opening, length, layer, plateau, more):
    """Never above the elastic answer or y l / t; more opening, length, stiffness or plateau never less."""

    def pull(w, reach, k, y):
        return shear_yield.yielding_crack_bridge(w, reach, layer_pa_m=k, yield_pa=y, **TILE).stress_pa

    base = pull(opening, length, layer, plateau)
    elastic = shear_lag.crack_bridge(opening, length, layer_pa_m=layer, **TILE).stress_pa
    slack = 1 + 1e-9
    assert base <= elastic * slack
    assert base <= plateau * length / TILE["thickness_m"] * slack
    assert pull(opening, length, layer, np.inf) == pytest.approx(elastic)
    for raised in (
        pull(opening * more, length, layer, plateau),
        pull(opening, length * more, layer, plateau),
        pull(opening, length, layer * more, plateau),
        pull(opening, length, layer, plateau * more),
    ):
        assert raised >= base / slack


@settings(max_examples=60)
@given(st.floats(1e-6, 5e-3), LENGTHS, LAYERS, PLATEAUS)
def test_opening_for_stress_undoes_the_bridge(opening, length, layer, plateau):
    """Back to the opening, unless the layer has yielded throughout and stress no longer tells it."""
    rest = {"free_length_m": length, "layer_pa_m": layer, "yield_pa": plateau, **TILE}
    bridge = shear_yield.yielding_crack_bridge(opening, **rest)
    back = shear_yield.crack_opening_for_stress(bridge.stress_pa * (1 - 1e-12), **rest)
    if not bridge.all_yielded:
        again = shear_yield.yielding_crack_bridge(back, **rest)
        assert again.stress_pa == pytest.approx(bridge.stress_pa, rel=1e-6)
        if bridge.yielded_length_m < 0.9 * length:
            assert back == pytest.approx(opening, rel=1e-4)
    else:
        assert shear_yield.crack_opening_for_stress(bridge.stress_pa * 1.001, **rest) == np.inf


@given(st.floats(1e-6, 1e-3), LENGTHS, LAYERS, PLATEAUS)
def test_mismatch_never_exceeds_elastic_plateau_or_full_restraint(strain, half, layer, plateau):
    """Three bounds on the middle stress, and the elastic answer where nothing yields."""
    rest = {"base_stiffness_n_m": np.inf, "layer_pa_m": layer, **TILE}
    found = shear_yield.yielding_strain_mismatch(strain, half, yield_pa=plateau, **rest)
    elastic = shear_lag.strain_mismatch(strain, half, **rest)
    slack = 1 + 1e-9
    assert found.middle_stress_pa <= elastic.middle_stress_pa * slack + 1e-3
    assert found.middle_stress_pa <= plateau * half / TILE["thickness_m"] * slack
    assert found.end_shear_pa <= plateau * slack
    assert found.end_slip_m <= strain * half * slack
    never = shear_yield.yielding_strain_mismatch(strain, half, yield_pa=np.inf, **rest)
    assert never.middle_stress_pa == pytest.approx(elastic.middle_stress_pa, rel=1e-6, abs=1e-3)
    assert never.end_shear_pa == pytest.approx(elastic.end_shear_pa)


def test_bent_base_agrees_with_least_energy():
    """Tile, base and layer as springs on a bent line: the state of least energy, solved as least squares.

    Sections of tile and base turn with the line; the layer is sheared by what its two faces differ beyond
    the turn of the layer itself.
    """
    curvature, lever, gap, half, layer, base = 0.02, 0.009, 0.003, 0.4, 2e9, 1.5e8
    modulus, thickness = TILE["modulus_pa"], TILE["thickness_m"]
    cells = 2000
    step = half / cells
    turn = curvature * step * np.arange(cells + 1)
    weight = np.full(cells + 1, step)
    weight[[0, -1]] /= 2
    differences = (np.eye(cells + 1, k=1) - np.eye(cells + 1))[:-1] / step
    stiff_tile, stiff_base = modulus * thickness * step, base * step
    # One unknown face slip is enough: in equilibrium tile and base pull alike, so eliminate the base.
    together = 1 / (1 / stiff_tile + 1 / stiff_base)
    matrix = together * differences.T @ differences + np.diag(layer * weight)
    wanted = layer * weight * turn * (thickness / 2 + lever + gap)
    matrix[0], wanted[0] = 0.0, 0.0
    matrix[0, 0] = 1.0
    apart = np.linalg.solve(matrix, wanted)
    force = (apart[1] - apart[0]) / step / (1 / (modulus * thickness) + 1 / base)
    mismatch = shear_lag.curvature_mismatch(curvature, lever, gap, thickness)
    found = shear_lag.strain_mismatch(mismatch, half, modulus, thickness, base, layer)
    assert found.middle_stress_pa == pytest.approx(force / thickness, rel=2e-3)


@given(st.floats(1e-4, 0.05), LENGTHS, LAYERS, st.floats(1.1, 20))
def test_softer_layer_takes_the_axial_part_only(curvature, half, layer, softer):
    """With and without membrane: less stress with it, and never less than tile bent alone."""
    mismatch = shear_lag.curvature_mismatch(curvature, 0.009, 0.003, 0.010)
    stresses = []
    for stiffness in (layer, layer / softer):
        axial = shear_lag.strain_mismatch(
            mismatch, half, base_stiffness_n_m=np.inf, layer_pa_m=stiffness, **TILE
        ).middle_stress_pa
        stresses.append(float(shear_lag.bent_tile_stress(axial, curvature, **TILE)))
    assert stresses[1] <= stresses[0]
    assert stresses[1] >= 60e9 * curvature * 0.005 * (1 - 1e-12)
