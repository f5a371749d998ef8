"""Square free tile on springs by least energy (Legendre polynomials): the bounds of wide patches and corners.

All in radii of relative stiffness, plate stiffness and bed 1. Thin plate, bed that pulls as it pushes.
"""

from __future__ import annotations

from functools import cache

import numpy as np
import pytest
from numpy.polynomial import legendre

from undercourse.physics import tile_bed

POISSON = 0.2
# Thickness and modulus of which reach and bed come out as 1 for a thickness of 0.25.
THICK = 0.25
MODULUS = 12 * (1 - POISSON**2) / THICK**3


@cache
def _shapes(count):
    """Integrals of products of Legendre polynomials and their derivatives over -1 to 1."""
    points, weights = legendre.leggauss(60)
    unit = np.eye(count)
    rows = [np.array([legendre.legval(points, legendre.legder(one, d)) for one in unit]) for d in (0, 1, 2)]
    return {(i, j): (rows[i] * weights) @ rows[j].T for i in range(3) for j in range(3)}


def _values(count, at, derivative=0):
    return np.array([legendre.legval(at, legendre.legder(one, derivative)) for one in np.eye(count)])


@cache
def plate(side, half_patch, at_x, at_y, count=18):
    """Deflection and greatest moment of a square plate under a unit load on a square patch.

    ``at_x`` and ``at_y`` are 0 for a patch in the middle and 1 for one that touches an edge.
    """
    half = side / 2
    shape = _shapes(count)
    bed = half**2 * np.kron(shape[0, 0], shape[0, 0])
    bent = np.kron(shape[2, 2], shape[0, 0]) + np.kron(shape[0, 0], shape[2, 2])
    cross = np.kron(shape[2, 0], shape[0, 2]) + np.kron(shape[0, 2], shape[2, 0])
    bent = bent + POISSON * cross + 2 * (1 - POISSON) * np.kron(shape[1, 1], shape[1, 1])
    points, weights = legendre.leggauss(12)
    loads = [
        _values(count, where * (1 - half_patch / half) + points * half_patch / half) @ weights / 2
        for where in (at_x, at_y)
    ]
    solved = np.linalg.solve(bed + bent / half**2, np.kron(*loads)).reshape(count, count)
    grid = np.linspace(-1, 1, 121)
    flat, slope, curve = (_values(count, grid, d) / half**d for d in (0, 1, 2))
    along, across, twist = curve.T @ solved @ flat, flat.T @ solved @ curve, slope.T @ solved @ slope
    first, second = -(along + POISSON * across), -(across + POISSON * along)
    radius = np.hypot((first - second) / 2, (1 - POISSON) * twist)
    moment = np.abs((first + second) / 2) + radius
    return (flat.T @ solved @ flat).max(), moment.max()


@pytest.mark.parametrize("half_patch", [0.5, 1.2, 1.6])
def test_no_wide_patch_bends_tile_past_the_bound(half_patch):
    """Inside, at an edge, at a corner, on tile from the patch itself to far wider: M <= 0.34 p l2."""
    worst = 0.0
    for more in (0.01, 2.5):
        for place in ((0, 0), (0, 1), (1, 1)):
            worst = max(worst, plate(2 * half_patch + more, half_patch, *place)[1])
    assert worst * 4 * half_patch**2 <= tile_bed.WIDE_MOMENT


def test_the_bound_of_wide_patches_is_not_idle():
    """Somewhere a patch comes within 7 % of it."""
    moment = plate(2 * 1.2 + 2.5, 1.2, 0, 1)[1]
    assert moment * 4 * 1.2**2 >= 0.93 * tile_bed.WIDE_MOMENT


@pytest.mark.parametrize(("half_patch", "low"), [(0.3, 0.05), (0.5, 0.08), (0.9, 0.08), (2.0, 0.0)])
def test_worst_stress_is_no_more_than_told_below_the_energy_method(half_patch, low):
    """Edge load on tile of 5 reaches: the formula is at most 8 % low, and not three times too high."""
    moment = plate(5.0, half_patch, 0, 1)[1]
    radius = 2 * half_patch / np.sqrt(np.pi)
    found = tile_bed.tile_bending(1.0, radius, THICK, MODULUS, POISSON, 1.0)
    assert found.reach_m == pytest.approx(1.0)
    stress = 6 * moment / THICK**2
    assert (1 - low) * stress <= found.worst_pa <= 3 * stress


@pytest.mark.parametrize("side", [0.5, 1.0, 1.5, 2.0, 2.5, 3.0, 4.0, 6.0])
def test_corner_pressure_is_a_bound_on_square_tile(side):
    """Deflection times bed under a small patch at a free corner, tile from rigid to wide."""
    found = tile_bed.sheet_pressure(1.0, 1.0, side, 0.01, 0.01, 0.0).bent_pa
    pressed = plate(side, 0.04, 1, 1)[0]
    assert pressed <= found <= 1.3 * pressed


def test_stress_falls_with_patch_thickness_and_bed_over_the_whole_range():
    """From a point to a patch of many reaches; more load and stiffer tile never lower it."""
    radius = np.geomspace(1e-4, 0.5, 200)[:, None]
    bed = np.geomspace(1e8, 2e10, 60)[None]

    def worst(a, h, e, k, force=1e3):
        return tile_bed.tile_bending(force, a, h, e, POISSON, k)

    base = worst(radius, 0.01, 60e9, bed)
    for other in (
        worst(radius * 1.05, 0.01, 60e9, bed),
        worst(radius, 0.0105, 60e9, bed),
        worst(radius, 0.01, 60e9, bed * 1.05),
        worst(radius, 0.01, 57e9, bed),
    ):
        assert (other.worst_pa <= base.worst_pa * (1 + 1e-12)).all()
        assert (other.inside_pa <= base.inside_pa * (1 + 1e-12)).all()
    assert (base.inside_pa <= base.worst_pa).all()
