"""Strain through a soft layer against finite elements of scikit-fem, as bars and as a plane-strain section.

Bars on shear springs hold the algebra of the closed forms to account. The section in plane strain is
cut from solid tile and solid layer, free to bend and to peel: it says what the idealization costs.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
import pytest
from numpy.typing import NDArray
from skfem import Basis, BilinearForm, ElementQuad2, ElementVector, MeshQuad, condense, solve
from skfem.helpers import ddot, div, sym_grad

from undercourse.physics import shear_lag, supports

from .agreement import agree, converged
from .bars import two_bars

Floats = NDArray[np.float64]


@pytest.mark.parametrize("second", [1.4e8, 2.8e8, 0.7e8])
def test_lap_joint(second: float) -> None:
    """Shear at both ends of a lap and on average, members alike and unlike.

    Routes: Volkersen 1938; slip of bars on shear springs, its mean by the trapezoidal rule. Tolerance: 1e-4.
    """
    load, length, first, layer = 2e5, 0.025, 1.4e8, 5e12
    ours = shear_lag.lap_joint(load, length, first, second, layer)

    def shear(cells: int) -> Floats:
        bars = two_bars(
            length, (first, second), layer, (load, 0.0), held=((np.nan, np.nan), (np.nan, 0.0)), cells=cells
        )
        slip = bars.second_m - bars.first_m
        return layer * np.array([slip[0], slip[-1], np.trapezoid(slip, bars.x_m) / length])

    fine = shear(200)
    converged(shear(100), fine, 1e-4)
    agree([ours.end_1_pa, ours.end_2_pa, ours.average_pa], fine, 1e-4)


@pytest.mark.parametrize("base", [3e9, 6e8])
@pytest.mark.parametrize("half", [0.15, 1.2])
def test_strain_mismatch_on_an_elastic_base(base: float, half: float) -> None:
    """A slab or a panel that shrinks under tile and yields to it.

    Routes: closed form after Chen and Nelson; two bars, the lower of which shrinks. Tolerance: 1e-4.
    """
    strain, modulus, thickness, layer = 300e-6, 60e9, 0.010, 5e8
    ours = shear_lag.strain_mismatch(strain, half, modulus, thickness, base, layer)
    bars = two_bars(
        half, (modulus * thickness, base), layer, shrink=strain, held=((0.0, np.nan), (0.0, np.nan))
    )
    agree(ours.end_shear_pa, layer * (bars.first_m - bars.second_m)[-1], 1e-4)
    agree(ours.middle_stress_pa, -bars.pull_n_m[0] / thickness, 1e-4)  # ours counts compression


@pytest.mark.parametrize("layer", [1e8, 1e9, 1e11])
@pytest.mark.parametrize("reach", [0.15, 2.0])
def test_crack_bridge(layer: float, reach: float) -> None:
    """Tile across a crack, near a soft joint and far from one.

    Routes: closed form of our own derivation; a bar on shear springs whose far side stands on a
    base a million times stiffer, moved by half the opening. Tolerance: 1e-4.
    """
    opening, modulus, thickness = 3e-4, 60e9, 0.010
    ours = shear_lag.crack_bridge(opening, reach, modulus, thickness, layer)
    base = 1e6 * modulus * thickness * max(1.0, layer / 1e9)
    bars = two_bars(
        reach, (modulus * thickness, base), layer, held=((0.0, np.nan), (opening / 2, opening / 2))
    )
    agree(ours.stress_pa, bars.pull_n_m[0] / thickness, 1e-4)
    agree(ours.layer_shear_pa, layer * (bars.second_m - bars.first_m)[0], 1e-4)


def test_transfer_length() -> None:
    """The slip beside a crack falls to 1/e over the transfer length when the tile is long.

    Routes: square root of E t over K; the slip of bars, interpolated. Tolerance: 0.1 %.
    """
    layer, modulus, thickness, reach = 1e9, 60e9, 0.010, 8.0
    ours = shear_lag.crack_bridge(3e-4, reach, modulus, thickness, layer)
    bars = two_bars(
        reach, (modulus * thickness, 6e14), layer, held=((0.0, np.nan), (1.5e-4, 1.5e-4)), cells=400
    )
    slip = bars.second_m - bars.first_m
    found = np.interp(np.exp(-1.0), slip[::-1] / slip[0], bars.x_m[::-1])
    agree(ours.transfer_length_m, found, 1e-3)
    agree(ours.decay_per_m, 1 / found, 1e-3)


def test_decay_on_a_base_that_gives() -> None:
    """The slip falls to 1/e over the decay length from the end of a long field and of a long lap.

    Routes: square root of K (1/Et + 1/Eb tb); slip of bars, interpolated. Tolerance: 0.1 %.
    """
    layer, tile, base, length = 5e8, 6e8, 3e9, 12.0
    held = ((0.0, np.nan), (0.0, np.nan))
    bars = two_bars(length, (tile, base), layer, shrink=3e-4, held=held, cells=400)
    slip = bars.first_m - bars.second_m
    away = length - np.interp(slip[-1] * np.exp(-1.0), slip, bars.x_m)
    agree(shear_lag.strain_mismatch(3e-4, length, 60e9, 0.010, base, layer).decay_per_m, 1 / away, 1e-3)
    lap = ((np.nan, np.nan), (np.nan, 0.0))
    bars = two_bars(length, (tile, base), layer, (1e4, 0.0), held=lap, cells=400)
    slip = bars.second_m - bars.first_m
    away = np.interp(-slip[0] * np.exp(-1.0), -slip[: len(slip) // 2], bars.x_m[: len(slip) // 2])
    agree(shear_lag.lap_joint(1e4, length, tile, base, layer).decay_per_m, 1 / away, 1e-3)


TILE_MODULUS, TILE_POISSON, TILE_M = 60e9, 0.2, 0.010
LAYER_POISSON, LAYER_M = 0.4, 0.003
LEVER_M = 0.009
PLANE_STRAIN_MODULUS = TILE_MODULUS / (1 - TILE_POISSON**2)


class SectionStress(NamedTuple):
    """Stress along the tile at x = 0: mean over its thickness, and at its top face."""

    mean_pa: float
    top_pa: float


def section_stress(
    half: float,
    layer: float,
    opening: float = 0.0,
    strain: float = 0.0,
    curvature: float = 0.0,
    cells: int = 60,
) -> SectionStress:
    """Stress through tile on a layer whose rigid base opens, shrinks, or is bent up about x = 0.

    Two elements through the layer and three through the tile, all quadratic, smallest where shear is
    largest: at the crack or at the free end. The tile may bend and lift; its free faces are free.
    """
    even = np.linspace(0.0, 1.0, cells + 1)
    x = half * (even**2 if opening else 1 - (1 - even) ** 2)
    y = np.concatenate([np.linspace(-LAYER_M, 0.0, 3)[:-1], np.linspace(0.0, TILE_M, 4)])
    basis = Basis(MeshQuad.init_tensor(x, y), ElementVector(ElementQuad2()), intorder=4)
    soft = 2 * layer * LAYER_M * (1 + LAYER_POISSON)

    def energy(u, v, w):  # type: ignore[no-untyped-def]
        tile = w.x[1] > 0
        modulus, poisson = np.where(tile, TILE_MODULUS, soft), np.where(tile, TILE_POISSON, LAYER_POISSON)
        shear = modulus / (2 * (1 + poisson))
        bulk = 2 * shear * poisson / (1 - 2 * poisson)
        return bulk * div(u) * div(v) + 2 * shear * ddot(sym_grad(u), sym_grad(v))

    matrix = BilinearForm(energy).assemble(basis)
    move = basis.zeros()
    under = basis.get_dofs(lambda at: at[1] < -LAYER_M + 1e-12)
    along, upward = under.all(["u^1"]), under.all(["u^2"])
    move[along] = opening / 2 + (curvature * LEVER_M - strain) * basis.doflocs[0, along]
    move[upward] = -curvature * basis.doflocs[0, upward] ** 2 / 2
    cut = basis.get_dofs(lambda at: at[0] < 1e-12).all(["u^1"])
    cut_tile = cut[basis.doflocs[1, cut] > -1e-12]
    # Over a crack the layer is torn: only the tile is cut by the line of symmetry.
    mirrored = cut_tile if opening else cut
    held = np.unique(np.concatenate([under.all(), mirrored]))
    move = solve(*condense(matrix, x=move, D=held))
    near = np.array([[x[1] * 1e-3], [TILE_M - 1e-9]])
    # The top face is free, so its stress is the plane-strain modulus times its stretch.
    stretch = (basis.probes(near) @ move)[0] / near[0, 0]
    return SectionStress(-float((matrix @ move)[cut_tile].sum()) / TILE_M, PLANE_STRAIN_MODULUS * stretch)


@pytest.mark.parametrize(
    ("layer", "within", "sees"), [(1e9, 0.004, 0.01), (1e10, 0.005, 0.01), (1e11, 0.02, 0.04)]
)
def test_crack_bridge_in_plane_strain(layer: float, within: float, sees: float) -> None:
    """Solid tile, free to bend, half a meter from a crack to the next soft joint.

    Routes: closed form with E / (1 - nu^2); plane-strain quadratic elements. Tolerance: 0.4 to 0.5 % for
    sheets of 1 and 10 N/mm3; 2 % for mortar of 100 N/mm3, where tile of one thickness no longer
    counts as thin. The closed form errs upwards, as it should.
    """
    outside = section_stress(0.5, layer, opening=3e-4).mean_pa
    converged(section_stress(0.5, layer, opening=3e-4, cells=30).mean_pa, outside, 0.002)
    ours = shear_lag.crack_bridge(3e-4, 0.5, PLANE_STRAIN_MODULUS, TILE_M, layer).stress_pa
    agree(ours, outside, within, sees=sees)
    assert ours > outside


@pytest.mark.parametrize("half", [0.5, 1.5])
@pytest.mark.parametrize("layer", [1e9, 1e10])
def test_strain_mismatch_in_plane_strain(layer: float, half: float) -> None:
    """Solid tile on a shrinking base, free to bend.

    Routes: closed form with E / (1 - nu^2) and a rigid base; plane-strain quadratic elements.
    Tolerance: 0.4 %, the share that bending of the tile takes.
    """
    outside = section_stress(half, layer, strain=3e-4)
    ours = shear_lag.strain_mismatch(3e-4, half, PLANE_STRAIN_MODULUS, TILE_M, np.inf, layer)
    agree(ours.middle_stress_pa, -outside.mean_pa, 0.004)  # ours counts compression


@pytest.mark.parametrize("layer", [1e9, 1e10])
def test_tile_bent_over_a_support(layer: float) -> None:
    """Tile on a panel that bends up over a joist, its neutral axis 9 mm below its face.

    Routes: mismatch of curvature and own bending, closed forms; plane-strain quadratic elements on a base
    moved as the bent panel moves. Tolerance: 0.6 %, as the tile bends a little less than the base near its
    free end.
    """
    half, curvature = 0.5, 2e-3
    outside = section_stress(half, layer, curvature=curvature)
    strain = shear_lag.curvature_mismatch(curvature, LEVER_M, LAYER_M, TILE_M)
    ours = shear_lag.strain_mismatch(strain, half, PLANE_STRAIN_MODULUS, TILE_M, np.inf, layer)
    agree(ours.middle_stress_pa, outside.mean_pa, 0.006, sees=0.015)
    face = shear_lag.bent_tile_stress(ours.middle_stress_pa, curvature, PLANE_STRAIN_MODULUS, TILE_M)
    agree(face, outside.top_pa, 0.006)
    flat = supports.curvature_strain(curvature, TILE_M / 2) * PLANE_STRAIN_MODULUS
    agree(flat, outside.top_pa - outside.mean_pa, 0.006)


def test_layers_in_series() -> None:
    """Mortar, membrane, mortar as one spring.

    Routes: 1 / sum(t / G); shear force of a stack of plane-strain elements whose top is moved along.
    Tolerance: 1e-6, both are exact for simple shear.
    """
    thickness, modulus = np.array([0.003, 0.002, 0.005]), np.array([4e8, 1.5e6, 4e8])
    y = np.concatenate([[0.0], np.cumsum(thickness)])
    basis = Basis(MeshQuad.init_tensor(np.array([0.0, 1.0]), y), ElementVector(ElementQuad2()), intorder=4)

    def energy(u, v, w):  # type: ignore[no-untyped-def]
        shear = modulus[np.searchsorted(y, w.x[1]) - 1]
        return 2 * shear * ddot(sym_grad(u), sym_grad(v))

    matrix, move = BilinearForm(energy).assemble(basis), basis.zeros()
    top = basis.get_dofs(lambda at: at[1] > y[-1] - 1e-12)
    bottom = basis.get_dofs(lambda at: at[1] < 1e-12)
    move[top.all(["u^1"])] = 1.0
    held = np.unique(np.concatenate([top.all(), bottom.all(), basis.get_dofs().all(["u^2"])]))
    move = solve(*condense(matrix, x=move, D=held))
    agree(shear_lag.layer_stiffness(modulus, thickness), (matrix @ move)[top.all(["u^1"])].sum(), 1e-6)
