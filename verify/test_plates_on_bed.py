"""Slabs and tile on a spring bed against thin-plate finite elements (scikit-fem).

Westergaard's formulas are leading terms for patches that are small against the radius of relative
stiffness; the elements know nothing of that. Patches are wide enough (a = 2 h) that the formulas
take the circle as it is and not the resisting section of a thick slab, which thin plates lack.
"""

from __future__ import annotations

from collections.abc import Callable
from functools import cache

import numpy as np
import pytest

from undercourse.physics import loads, slab

from .agreement import agree, converged
from .plates import Plate, disc, spaced_from_zero, square

INSIDE = 1e-9


def formula(place: Callable[..., loads.SlabResponse], radius: float, poisson: float) -> loads.SlabResponse:
    """A formula at a thickness, modulus and bed that make radius of relative stiffness and bed 1."""
    thickness = radius / 2
    return place(1.0, radius, thickness, 12 * (1 - poisson**2) / thickness**3, poisson, 1.0)


def stress(moment: float, radius: float) -> float:
    """Bending stress of a moment at the thickness of `formula`."""
    return 6 * moment / (radius / 2) ** 2


@cache
def interior(radius: float, poisson: float, cells: int) -> tuple[float, float]:
    """Stress and deflection under a disc in the middle; a quarter is meshed."""
    x = spaced_from_zero(radius, cells, 1 + 1.5 / cells)
    plate = Plate(x, x, poisson, (0, 1)).press(disc(0.0, 0.0, radius))
    along, _, _ = plate.moments(np.array([INSIDE]), np.array([INSIDE]))
    return stress(along[0], radius), plate.deflection(INSIDE, INSIDE)


@cache
def edge(radius: float, poisson: float, cells: int) -> tuple[float, float]:
    """Stress along the free edge x = 0 and its deflection under a disc that touches it."""
    x = spaced_from_zero(2 * radius, 2 * cells, 1 + 1.5 / cells)
    y = spaced_from_zero(radius, cells, 1 + 1.5 / cells)
    plate = Plate(x, y, poisson, (1,)).press(disc(radius, 0.0, radius))
    _, along, _ = plate.moments(np.array([INSIDE]), np.array([INSIDE]))
    return stress(along[0], radius), plate.deflection(INSIDE, INSIDE)


@cache
def corner(radius: float, poisson: float, cells: int, round_patch: bool) -> tuple[float, float]:
    """Greatest stress of the top along the diagonal, and deflection of the corner."""
    near = 2 * radius if round_patch else 1.772 * radius
    x = spaced_from_zero(near, 2 * cells, 1 + 1.5 / cells)
    patch = disc(radius, radius, radius) if round_patch else square(near)
    plate = Plate(x, x, poisson, ()).press(patch)
    reach = np.linspace(0.01, 3.0, 300) + INSIDE
    first, second, twist = plate.moments(reach, reach)
    return stress(-np.min((first + second) / 2 + twist), radius), plate.deflection(INSIDE, INSIDE)


@pytest.mark.parametrize("poisson", [0.15, 0.3])
@pytest.mark.parametrize("radius", [0.1, 0.2])
def test_slab_interior(radius: float, poisson: float) -> None:
    """A patch far from any edge.

    Routes: Westergaard 1926; C1 finite elements on a spring bed. Tolerance: stress 0.4 %, of which
    0.1 to 0.3 % are the term pi/32 (a/l)^2 that the formula leaves out; deflection 0.02 %.
    """
    ours, fine = formula(loads.slab_interior, radius, poisson), interior(radius, poisson, 8)
    converged(interior(radius, poisson, 4), fine, 0.005)
    agree(ours.stress_pa, fine[0], 0.004)
    agree(ours.deflection_m, fine[1], 2e-4)


@pytest.mark.parametrize(("radius", "within"), [(0.1, 0.004), (0.2, 0.009)])
def test_slab_edge(radius: float, within: float) -> None:
    """A patch that touches a free edge.

    Routes: Westergaard 1948 for a circle; C1 finite elements. Tolerance: stress 0.4 %; deflection 0.4 %
    at a/l = 0.1 and 0.9 % at 0.2, since the formula is linear in a/l.
    """
    ours, fine = formula(loads.slab_edge, radius, 0.15), edge(radius, 0.15, 8)
    converged(edge(radius, 0.15, 4), fine, 0.005)
    agree(ours.stress_pa, fine[0], 0.004)
    agree(ours.deflection_m, fine[1], within, sees=0.02)


def test_slab_edge_of_stiffer_poisson_ratio() -> None:
    """The terms with Poisson's ratio, as for tile at 0.25 to 0.3.

    Routes: Westergaard 1948; C1 finite elements. Tolerance: 0.6 %, the deflection coefficient
    sqrt(2 + 1.2 nu) is itself a fit.
    """
    ours, fine = formula(loads.slab_edge, 0.1, 0.3), edge(0.1, 0.3, 8)
    agree([ours.stress_pa, ours.deflection_m], fine, 0.006)


@pytest.mark.parametrize("radius", [0.1, 0.2])
def test_slab_corner_stress(radius: float) -> None:
    """A patch that touches both edges of a corner.

    Routes: Westergaard 1926; C1 finite elements. Tolerance: 0.5 % on the stress. On the deflection the
    formula is known to be low, here by 9 to 10 %; that is held as it is, and `slab_corner_revised` mends it.
    """
    ours, fine = formula(loads.slab_corner, radius, 0.15), corner(radius, 0.15, 6, True)
    converged(corner(radius, 0.15, 3, True), fine, 0.01)
    agree(ours.stress_pa, fine[0], 0.005)
    agree(ours.deflection_m, 0.91 * fine[1], 0.01, sees=0.02)


def test_slab_corner_revised() -> None:
    """The fit of 1985 with its square patch, within the range where it is a fit.

    Routes: Ioannides and others 1985; C1 finite elements under a square of the same side. Tolerance:
    0.5 % at a/l = 0.1; at 0.2 the deflection keeps 1.2 % while the stress is 7 % low, as its docstring says.
    """
    ours, fine = formula(loads.slab_corner_revised, 0.1, 0.15), corner(0.1, 0.15, 6, False)
    agree([ours.stress_pa, ours.deflection_m], fine, 0.005)
    ours, fine = formula(loads.slab_corner_revised, 0.2, 0.15), corner(0.2, 0.15, 6, False)
    agree(ours.deflection_m, fine[1], 0.012, sees=0.03)
    agree(ours.stress_pa, 0.93 * fine[0], 0.01, sees=0.03)


def test_wide_tile_under_a_point() -> None:
    """Deflection of a wide plate on a mat.

    Routes: Hertz 1884, P / 8 sqrt(k D); C1 finite elements with all load at one node. Tolerance: 0.1 %,
    the peak is sharp and the mesh finite.
    """
    x = spaced_from_zero(0.1, 8, 1.2)
    plate = Plate(x, x, 0.2, (0, 1)).press(disc(0.0, 0.0, 1e-6))
    agree(loads.plate_on_bed_deflection(1.0, 1.0, 1.0), plate.deflection(INSIDE, INSIDE), 1e-3)


@pytest.mark.parametrize(("length", "width"), [(9.8, 4.7), (8.0, 8.0), (4.8, 4.1)])
def test_curling_of_a_rectangular_slab(length: float, width: float) -> None:
    """Stress in the middle and at the middle of the long edge, top and bottom of unlike temperature.

    Routes: Bradbury's coefficients, one strip for each direction; C1 finite elements of the whole slab on
    a bed that holds it, as he assumed. Tolerance: 3 %, since he multiplies two strips where the plate is one.
    """
    poisson = 0.15
    away = 1 - np.linspace(1.0, 0.0, 17) ** 1.5
    ours = [slab.curling_coefficient(side, 1.0) for side in (length, width)]
    interior_ours = slab.curling_stress_interior(ours[0], ours[1], 2.0, poisson, 1.0)
    edge_ours = slab.curling_stress_edge(ours[0], 2.0, 1.0)
    plate = Plate(away * length / 2, away * width / 2, poisson, (0, 1)).curl()
    y = np.array([INSIDE, width / 2 - INSIDE])
    along, _, _ = plate.moments(np.array([INSIDE, INSIDE]), y)
    # D = 1 and curvature 1: the moment of full restraint E s / 2 is 1 - nu^2.
    agree([interior_ours, edge_ours], along / (1 - poisson**2), 0.03, sees=0.05)
