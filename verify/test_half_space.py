"""Pressure below a loaded circle against axisymmetric finite elements (scikit-fem)."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from skfem import (
    Basis,
    BilinearForm,
    ElementQuad2,
    ElementVector,
    FacetBasis,
    LinearForm,
    MeshQuad,
    condense,
    solve,
)
from skfem.helpers import grad

from undercourse.physics import wheels

from .agreement import agree, converged

Floats = NDArray[np.float64]
POISSON = 0.25


def pressure(depths: Floats, cells: int) -> Floats:
    """Vertical pressure on the axis under a circle of radius 1, pressure 1, modulus 1, 60 radii deep."""
    near, far = np.linspace(0.0, 1.0, cells + 1), np.geomspace(1.0, 60.0, 3 * cells)
    lines = np.concatenate([near, far[1:]])
    mesh = MeshQuad.init_tensor(lines, lines)
    basis = Basis(mesh, ElementVector(ElementQuad2()), intorder=5)
    shear = 1 / (2 * (1 + POISSON))
    bulk = 2 * shear * POISSON / (1 - 2 * POISSON)

    def strains(u, r):  # type: ignore[no-untyped-def]
        change = grad(u)
        return change[0, 0], u[0] / r, change[1, 1], change[0, 1] + change[1, 0]

    def energy(u, v, w):  # type: ignore[no-untyped-def]
        r = w.x[0]
        a, b = strains(u, r), strains(v, r)
        swell = bulk * (a[0] + a[1] + a[2]) * (b[0] + b[1] + b[2])
        return r * (swell + 2 * shear * (a[0] * b[0] + a[1] * b[1] + a[2] * b[2]) + shear * a[3] * b[3])

    loaded = mesh.facets_satisfying(lambda x: (x[1] < 1e-9) & (x[0] < 1.0), boundaries_only=True)
    patch = FacetBasis(mesh, ElementVector(ElementQuad2()), facets=loaded, intorder=5)
    right = LinearForm(lambda v, w: w.x[0] * v[1]).assemble(patch)
    axis = basis.get_dofs(lambda x: x[0] < 1e-9).all(["u^1"])
    rest = basis.get_dofs(lambda x: (x[0] > 60 - 1e-9) | (x[1] > 60 - 1e-9)).all()
    move = solve(
        *condense(BilinearForm(energy).assemble(basis), right, D=np.unique(np.concatenate([axis, rest])))
    )
    # Off the axis by a hair: stress from differences of displacement, in which r has no zero.
    r, step = 1e-3, 1e-4
    rows = basis.probes(np.array([np.full(depths.shape, r), depths])) @ move
    count = len(depths)
    ring = rows.reshape(2, count)[0] / r
    up, down = (
        (basis.probes(np.array([np.full(count, r), depths + sign * step])) @ move).reshape(2, count)[1]
        for sign in (-1, 1)
    )
    along = (down - up) / (2 * step)
    return -(bulk * (2 * ring + along) + 2 * shear * along)


def test_pressure_below_a_circle() -> None:
    """Pressure on the axis from half a radius to three radii down.

    Routes: Boussinesq, integrated over the circle; axisymmetric quadratic elements of a deep block.
    Tolerance: 0.5 %, as the block ends at sixty radii.
    """
    depths = np.array([0.52, 1.03, 1.55, 2.05, 3.1])
    fine = pressure(depths, 12)
    converged(pressure(depths, 6), fine, 0.02)
    agree(wheels.pressure_below_circle(1.0, 1.0, depths), fine, 0.005)
