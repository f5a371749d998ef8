"""Nailed-on panels against a beam of two parts with slip, meshed with scikit-fem.

Stretch of panel and joist (quadratic) and one deflection (Hermite cubic) over half a span; the slip
between both, u2 - u1 + a w', works against the fasteners smeared along the joist.
"""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import pytest
from scipy.sparse import bmat
from scipy.sparse.linalg import spsolve
from skfem import (
    Basis,
    BilinearForm,
    ElementLineHermite,
    ElementLineP2,
    ElementQuad2,
    ElementVector,
    Functional,
    LinearForm,
    MeshLine,
    MeshQuad,
    condense,
    solve,
)
from skfem.helpers import dd, ddot, grad, sym_grad

from undercourse.physics import joists, supports

from .agreement import agree, converged

# OSB 18 mm, 16 in wide, on a 2x10; nails of about 1 kN/mm at 150 mm.
PANEL_N, PANEL_NM2, JOIST_N, JOIST_NM2 = 2.2e7, 600.0, 9.9e7, 4.56e5
DISTANCE_M, SPACING_M, SPAN_M = 0.1265, 0.15, 3.9


def midspan_deflection(load: Callable[[np.ndarray], np.ndarray], slip_n_m: float, cells: int) -> float:
    """Deflection at midspan under a line load in N/m given over the distance from the support."""
    mesh = MeshLine(np.linspace(0.0, SPAN_M / 2, cells + 1))
    stretch = Basis(mesh, ElementLineP2(), intorder=6)
    bend = Basis(mesh, ElementLineHermite(), intorder=6)
    bed = slip_n_m / SPACING_M
    pull = BilinearForm(lambda u, v, w: grad(u)[0] * grad(v)[0]).assemble(stretch)
    grip = BilinearForm(lambda u, v, w: u * v).assemble(stretch)
    turn = BilinearForm(lambda u, v, w: grad(u)[0] * v).assemble(bend, stretch)
    slope = BilinearForm(lambda u, v, w: grad(u)[0] * grad(v)[0]).assemble(bend)
    curve = BilinearForm(lambda u, v, w: dd(u)[0, 0] * dd(v)[0, 0]).assemble(bend)
    arm = bed * DISTANCE_M * turn
    bending = (PANEL_NM2 + JOIST_NM2) * curve + bed * DISTANCE_M**2 * slope
    matrix = bmat(
        [
            [PANEL_N * pull + bed * grip, -bed * grip, -arm],
            [-bed * grip, JOIST_N * pull + bed * grip, arm],
            [-arm.T, arm.T, bending],
        ]
    ).tocsr()
    force = LinearForm(lambda v, w: load(w.x[0]) * v).assemble(bend)
    right = np.concatenate([np.zeros(2 * stretch.N), force])
    middle = stretch.get_dofs(lambda x: x[0] > SPAN_M / 2 - 1e-9).all()
    support = bend.get_dofs(lambda x: x[0] < 1e-9).all(["u"])
    level = bend.get_dofs(lambda x: x[0] > SPAN_M / 2 - 1e-9).all(["u_x"])
    shift = 2 * stretch.N
    held = np.concatenate([middle, middle + stretch.N, support + shift, level + shift])
    free = np.setdiff1d(np.arange(matrix.shape[0]), held)
    solution = np.zeros(matrix.shape[0])
    solution[free] = spsolve(matrix[free][:, free], right[free])
    at_middle = bend.get_dofs(lambda x: x[0] > SPAN_M / 2 - 1e-9).all(["u"])
    return float(solution[at_middle + shift][0])


@pytest.mark.parametrize("slip_n_m", [1e5, 1e6, 1e7])
def test_jointed_joist(slip_n_m: float) -> None:
    """Effective stiffness of a joist with a panel nailed on it.

    Routes: gamma method of Eurocode 5 annex B; finite elements of the two parts with slip. Tolerance:
    1e-5 under a sine load, for which the method is exact; 0.15 % under the uniform load it is used for.
    """
    ours = joists.jointed_stiffness(
        PANEL_N, PANEL_NM2, JOIST_N, JOIST_NM2, DISTANCE_M, SPACING_M, slip_n_m, SPAN_M
    )

    def sine(x: np.ndarray) -> np.ndarray:
        return np.sin(np.pi * x / SPAN_M)

    fine = midspan_deflection(sine, slip_n_m, 32)
    converged(midspan_deflection(sine, slip_n_m, 16), fine, 1e-5)
    agree(ours.stiffness_nm2, (SPAN_M / np.pi) ** 4 / fine, 1e-5)
    even = midspan_deflection(np.ones_like, slip_n_m, 32)
    agree(ours.stiffness_nm2, 5 * SPAN_M**4 / 384 / even, 0.0015)


def test_panels_glued_over_their_face() -> None:
    """Two panels of unlike stiffness as one.

    Routes: transformed section; plane-stress elements of both layers whose ends are turned, moment over
    curvature. Tolerance: 1e-6, both are exact without a Poisson ratio.
    """
    thickness, modulus = np.array([0.018, 0.006, 0.012]), np.array([6e9, 1e9, 9e9])
    levels = np.concatenate([[0.0], np.cumsum(thickness)])
    mesh = MeshQuad.init_tensor(np.linspace(0.0, 0.1, 5), levels)
    basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=4)

    def energy(u, v, w):  # type: ignore[no-untyped-def]
        return modulus[np.searchsorted(levels, w.x[1]) - 1] * ddot(sym_grad(u), sym_grad(v))

    matrix, move = BilinearForm(energy).assemble(basis), basis.zeros()
    start = basis.get_dofs(lambda at: at[0] < 1e-9).all(["u^1"])
    end = basis.get_dofs(lambda at: at[0] > 0.1 - 1e-9).all(["u^1"])
    foot = basis.get_dofs(nodes=mesh.nodes_satisfying(lambda at: at[0] + at[1] < 1e-9)).all(["u^2"])
    lift = basis.doflocs[1]
    results = []
    for stretch, turn in ((1.0, 0.0), (0.0, 1.0)):
        move[end] = 0.1 * (stretch + turn * lift[end])
        held = np.concatenate([start, end, foot])
        moved = solve(*condense(matrix, x=move.copy(), D=held))
        force = (matrix @ moved)[end]
        results.append([force.sum(), force @ lift[end]])
    (axial, coupled), (_, bending) = results
    ours = supports.glued_layers_stiffness(modulus * thickness**3 / 12, modulus * thickness, thickness)
    agree(ours, bending - coupled**2 / axial, 1e-6)


def test_section_properties() -> None:
    """Area, section modulus and second moment of a dressed joist.

    Routes: b d, b d^2 / 6, b d^3 / 12; integrals of 1 and y^2 over elements of the section. Tolerance: 1e-9.
    """
    width, depth = 0.0381, 0.235
    y = np.linspace(-depth / 2, depth / 2, 4)
    basis = Basis(MeshQuad.init_tensor(np.array([0.0, width]), y), ElementQuad2(), intorder=4)
    area = Functional(lambda w: 1.0 + 0.0 * w.x[0]).assemble(basis)
    second = Functional(lambda w: w.x[1] ** 2).assemble(basis)
    agree(joists.section_properties(width, depth), [area, second / (depth / 2), second], 1e-9)
