"""Square free tile on a soft sheet, patches of any size, against thin-plate finite elements (scikit-fem).

Lengths in radii of relative stiffness. Each mesh is the part that symmetry leaves: a quarter for a patch in
the middle, half for one at the middle of an edge, all for one in a corner.
"""

from __future__ import annotations

from functools import cache
from itertools import pairwise

import numpy as np
import pytest
from numpy.typing import NDArray

from undercourse.physics import tile_bed

from .agreement import agree, converged
from .plates import Plate, disc

POISSON, NEAR = 0.2, 1e-9


def marked(stops: list[float], size: float) -> NDArray[np.float64]:
    """Even cells of about a size between stops."""
    found = [
        np.linspace(low, high, max(3, int(np.ceil((high - low) / size))) + 1) for low, high in pairwise(stops)
    ]
    return np.unique(np.round(np.concatenate(found), 12))


def greatest_moment(plate: Plate, x: float, y: float) -> float:
    """Greatest principal moment of either sign over a rectangle from 0."""
    places = np.meshgrid(np.linspace(NEAR, x - NEAR, 41), np.linspace(NEAR, y - NEAR, 41))
    first, second, twist = plate.moments(places[0].ravel(), places[1].ravel())
    return float(np.max(np.abs(first + second) / 2 + np.hypot((first - second) / 2, twist)))


@cache
def moments(side: float, radius: float, fineness: int = 2) -> tuple[float, float, float]:
    """Greatest moment under a unit load on a disc in the middle, at an edge, in a corner."""
    size = radius / fineness
    half, edge = marked([0.0, radius, side / 2], size), marked([0.0, 2 * radius, side], size)
    middle = Plate(half, half, POISSON, (0, 1)).press(disc(0.0, 0.0, radius))
    beside = Plate(edge, half, POISSON, (1,)).press(disc(radius, 0.0, radius))
    corner = Plate(edge, edge, POISSON, ()).press(disc(radius, radius, radius))
    return (
        greatest_moment(middle, side / 2, side / 2),
        greatest_moment(beside, side, side / 2),
        greatest_moment(corner, side, side),
    )


def ours(radius: float) -> tuple[float, float]:
    """Moment inside and at the worst place by the formulas, at a thickness that leaves the disc as it is."""
    thickness = radius / 2
    modulus = 12 * (1 - POISSON**2) / thickness**3
    found = tile_bed.tile_bending(1.0, radius, thickness, modulus, POISSON, 1.0)
    return float(found.inside_pa) * thickness**2 / 6, float(found.worst_pa) * thickness**2 / 6


@pytest.mark.parametrize(("side", "radius"), [(4.0, 0.5), (4.0, 1.0), (8.0, 0.5), (8.0, 1.0)])
def test_tile_of_a_few_reaches(side: float, radius: float) -> None:
    """Patches up to the reach on tile of four and eight reaches.

    Routes: Westergaard with his next term inside; C1 finite elements of the whole tile, greatest moment
    anywhere. Tolerance: inside 1 % on wide tile and 6 % on tile of four reaches, which bends a little more
    than endless tile; worst place 7 %, the edge formula being low near a = l.
    """
    outside = moments(side, radius)
    inside, worst = ours(radius)
    agree(inside, outside[0], 0.01 if side > 4 else 0.06, sees=0.15)
    agree(worst, max(outside), 0.07, sees=0.15)


def test_mesh_of_the_tile_is_fine_enough() -> None:
    """Halving the cells changes the greatest moments little.

    Routes: two meshes of the same tile. Tolerance: 1.5 %, most of it at the sharp edge of the disc.
    """
    converged(moments(4.0, 1.0), moments(4.0, 1.0, 4), 0.015)


@pytest.mark.parametrize(("side", "radius"), [(2.1, 0.5), (2.1, 1.0), (4.0, 1.9), (8.0, 2.0), (6.0, 1.4)])
def test_small_tile_and_wide_patches_stay_under_the_bounds(side: float, radius: float) -> None:
    """Tile of two reaches, and patches up to the whole tile.

    Routes: lesser of Westergaard and the bound of wide patches; C1 finite elements, greatest moment
    anywhere. Tolerance: one percent over the bound, as far as the mesh goes; nothing is asked below it,
    since small tile sinks whole.
    """
    outside = moments(side, radius)
    inside, worst = ours(radius)
    assert max(outside) <= worst * 1.01
    assert outside[0] <= inside * 1.01


def test_wide_patch_bound_is_nearly_reached() -> None:
    """The bound of wide patches is close to what the worst patch does.

    Routes: bound on M / (p l^2); C1 finite elements for discs at an edge. Tolerance: 6 %, a bound over
    squares and discs.
    """
    most = max(max(moments(6.0, radius, 4)) * np.pi * radius**2 for radius in (1.4, 1.6))
    agree(tile_bed.WIDE_MOMENT, most, 0.06, sees=0.1)
    assert most < tile_bed.WIDE_MOMENT


@pytest.mark.parametrize("side", [0.5, 1.5, 3.0, 6.0])
def test_pressure_under_a_loaded_corner(side: float) -> None:
    """Pressure on the sheet under a load at a free corner, from rigid to wide tile.

    Routes: fit between 1.205 P / l^2 and 7 P / s^2; C1 finite elements under a small disc, Poisson ratio
    0.2. Tolerance: 2 %, and a bound but for that: 1.205 belongs to a Poisson ratio of 0.15.
    """
    small = 0.005
    x = marked([0.0, 4 * small, min(0.5, side / 2), side], min(0.25, side / 8))
    pressed = Plate(x, x, POISSON, ()).press(disc(small, small, small)).deflection(NEAR, NEAR)
    agree(tile_bed.sheet_pressure(1.0, 1.0, side, small, small, 0.0).bent_pa, pressed, 0.02, sees=0.05)
