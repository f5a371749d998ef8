"""Thin plates on a spring bed, by a C1 rectangle of scikit-fem; all lengths in radii of relative stiffness.

With plate stiffness 1 and bed 1 the radius of relative stiffness is 1. The wall or free edge is where a
coordinate is 0; the far sides are free and so far away that the bed has swallowed everything.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import NDArray
from skfem import Basis, BilinearForm, ElementQuadBFS, LinearForm, MeshQuad, condense, solve
from skfem.helpers import dd

Floats = NDArray[np.float64]
FAR = 7.0


def spaced_from_zero(near: float, cells: int, growth: float, far: float = FAR) -> Floats:
    """Even cells up to ``near``, then growing ones to ``far``."""
    points = list(np.linspace(0.0, near, cells + 1))
    step = near / cells
    while points[-1] < far:
        step *= growth
        points.append(points[-1] + step)
    return np.array(points)


class Patch(NamedTuple):
    """Points and weights that integrate a unit load over its patch."""

    points: Floats
    weights: Floats


def disc(x: float, y: float, radius: float) -> Patch:
    """A unit load spread over a disc; parts beyond a line of symmetry are left out."""
    nodes, gauss = np.polynomial.legendre.leggauss(12)
    radii = (nodes + 1) / 2 * radius
    angles = (np.arange(48) + 0.5) * 2 * np.pi / 48
    r, angle = np.meshgrid(radii, angles, indexing="ij")
    weights = np.outer(gauss * radii / radius, np.full(48, 1 / 48)).ravel()
    points = np.array([(x + r * np.cos(angle)).ravel(), (y + r * np.sin(angle)).ravel()])
    inside = np.all(points >= 0.0, axis=0)
    return Patch(points[:, inside], weights[inside])


def square(side: float) -> Patch:
    """A unit load spread over a square in the corner."""
    nodes, gauss = np.polynomial.legendre.leggauss(20)
    x, y = np.meshgrid((nodes + 1) / 2 * side, (nodes + 1) / 2 * side)
    return Patch(np.array([x.ravel(), y.ravel()]), np.outer(gauss, gauss).ravel() / 4)


class Plate:
    """A plate over a grid of rectangles; ``walls`` are the axes across which it is mirrored."""

    def __init__(self, x: Floats, y: Floats, poisson: float, walls: tuple[int, ...]) -> None:
        self.mesh, self.poisson = MeshQuad.init_tensor(x, y), poisson
        self.basis = Basis(self.mesh, ElementQuadBFS(), intorder=6)
        held = [np.array([], dtype=int)]
        for axis in walls:
            nodes = self.mesh.nodes_satisfying(lambda at, axis=axis: at[axis] < 1e-12)
            held.append(self.basis.get_dofs(nodes=nodes).all([("u_x", "u_y")[axis], "u_xy"]))
        self.held = np.unique(np.concatenate(held))

        def energy(u, v, w):  # type: ignore[no-untyped-def]
            bent, other = dd(u), dd(v)
            along, across = bent[0, 0] + poisson * bent[1, 1], bent[1, 1] + poisson * bent[0, 0]
            twist = 2 * (1 - poisson) * bent[0, 1] * other[0, 1]
            return along * other[0, 0] + across * other[1, 1] + twist + u * v

        self.matrix = BilinearForm(energy).assemble(self.basis)
        self.free_curvature = 0.0

    def press(self, patch: Patch) -> Plate:
        """Solve under a unit load."""
        right = self.basis.probes(patch.points).T @ patch.weights
        self.solution = solve(*condense(self.matrix, right, D=self.held))
        return self

    def curl(self) -> Plate:
        """Solve for a plate that wants curvature 1 both ways, its bed pulling as well as pushing."""
        self.free_curvature = 1.0
        pull = LinearForm(lambda v, w: (1 + self.poisson) * (dd(v)[0, 0] + dd(v)[1, 1]))
        self.solution = solve(*condense(self.matrix, pull.assemble(self.basis), D=self.held))
        return self

    def deflection(self, x: float, y: float) -> float:
        """Deflection at a point."""
        return float((self.basis.probes(np.array([[x], [y]])) @ self.solution)[0])

    def moments(self, x: Floats, y: Floats) -> tuple[Floats, Floats, Floats]:
        """Moments m_x, m_y, m_xy that stretch the underside, per width, at points inside cells."""
        at = np.array([x, y], dtype=float)
        cells = self.mesh.element_finder()(*at)
        local = self.basis.mapping.invF(at[:, :, np.newaxis], tind=cells)
        bent = np.zeros((2, 2, at.shape[1]))
        for k in range(self.basis.Nbfun):
            shape = self.basis.elem.gbasis(self.basis.mapping, local, k, tind=cells)[0]
            bent += shape.hess[..., 0] * self.solution[self.basis.element_dofs[k, cells]]
        nu, kept = self.poisson, bent - self.free_curvature * np.eye(2)[..., np.newaxis]
        first, second = kept[0, 0] + nu * kept[1, 1], kept[1, 1] + nu * kept[0, 0]
        return -first, -second, -(1 - nu) * kept[0, 1]
