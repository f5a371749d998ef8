"""Steady heat in a section of a floor, by quadratic rectangles of scikit-fem."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray
from skfem import Basis, BilinearForm, ElementQuad2, FacetBasis, LinearForm, MeshQuad, condense, solve
from skfem.helpers import grad

Floats = NDArray[np.float64]
Place = Callable[[Floats], NDArray[np.bool_]]


def toward(*walls: float, cells: int, power: float = 2.0) -> Floats:
    """Points between neighboring walls, each stretch with cells that shrink toward its first wall."""
    even = np.linspace(0.0, 1.0, cells + 1) ** power
    parts = [first + (second - first) * even for first, second in pairwise(walls)]
    return np.unique(np.round(np.concatenate(parts), 12))


def mirrored(start: float, end: float, cells: int, power: float = 2.0) -> Floats:
    """Points between two walls with cells that shrink toward both."""
    half = 0.5 * np.linspace(0.0, 1.0, cells + 1) ** power
    return start + (end - start) * np.unique(np.concatenate([half, 1 - half]))


class Section:
    """Temperature over a rectangle; conductivities along x and y are functions of place."""

    def __init__(self, x: Floats, y: Floats, along: Callable[[Floats], Floats], across=None) -> None:  # type: ignore[no-untyped-def]
        self.mesh = MeshQuad.init_tensor(x, y)
        self.basis = Basis(self.mesh, ElementQuad2(), intorder=5)
        across = across or along

        def flow(u, v, w):  # type: ignore[no-untyped-def]
            return along(w.x) * grad(u)[0] * grad(v)[0] + across(w.x) * grad(u)[1] * grad(v)[1]

        self.conduction = BilinearForm(flow).assemble(self.basis)
        self.matrix = self.conduction.copy()
        self.right = self.basis.zeros()
        self.fixed: dict[int, float] = {}

    def film(self, side: Place, coefficient: float, around: float) -> Section:
        """Give heat off to surroundings through a film."""
        facets = self.mesh.facets_satisfying(side, boundaries_only=True)
        edge = FacetBasis(self.mesh, ElementQuad2(), facets=facets, intorder=5)
        self.matrix = self.matrix + coefficient * BilinearForm(lambda u, v, w: u * v).assemble(edge)
        self.right = self.right + coefficient * around * LinearForm(lambda v, w: 1.0 * v).assemble(edge)
        return self

    def flux(self, side: Place, flux: float) -> Section:
        """Put heat in through a side."""
        facets = self.mesh.facets_satisfying(side)
        edge = FacetBasis(self.mesh, ElementQuad2(), facets=facets, intorder=5)
        self.right = self.right + flux * LinearForm(lambda v, w: 1.0 * v).assemble(edge)
        return self

    def line_source(self, x: float, y: float, power: float) -> Section:
        """Put heat in along a line through a node."""
        self.right[self._nearest(x, y)] += power
        return self

    def hold(self, sides: Mapping[float, Place]) -> Section:
        """Hold sides at a temperature; later ones win at a shared corner."""
        for temperature, side in sides.items():
            self.fixed |= dict.fromkeys(self.basis.get_dofs(side).all().tolist(), temperature)
        return self

    def solve(self) -> Section:
        """Find the temperatures."""
        held = np.array(sorted(self.fixed), dtype=int)
        start = self.basis.zeros()
        start[held] = [self.fixed[dof] for dof in held.tolist()]
        self.temperature = solve(*condense(self.matrix, self.right, x=start, D=held))
        return self

    def at(self, x: Floats | float, y: Floats | float) -> Floats:
        """Temperature at places."""
        points = np.array(np.broadcast_arrays(np.atleast_1d(x), y), dtype=float)
        return np.asarray(self.basis.probes(points) @ self.temperature)

    def heat_in(self, side: Place) -> float:
        """Heat that enters the solid through a side per length of floor, in balance to the last digit."""
        return float((self.conduction @ self.temperature)[self.basis.get_dofs(side).all()].sum())

    def mean(self, side: Place) -> float:
        """Mean temperature of a side."""
        facets = self.mesh.facets_satisfying(side)
        edge = FacetBasis(self.mesh, ElementQuad2(), facets=facets, intorder=5)
        shape = LinearForm(lambda v, w: 1.0 * v).assemble(edge)
        return float(shape @ self.temperature / shape.sum())

    def _nearest(self, x: float, y: float) -> int:
        """The degree of freedom at a place."""
        return int(np.argmin(np.hypot(self.basis.doflocs[0] - x, self.basis.doflocs[1] - y)))
