"""Beams and strips on a spring bed against Hermite beam elements of scikit-fem."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray
from scipy.sparse.linalg import spsolve
from skfem import Basis, BilinearForm, ElementLineHermite, LinearForm, MeshLine
from skfem.helpers import dd

from undercourse.physics import loads, slab

from .agreement import agree, converged

Floats = NDArray[np.float64]
TILE = (10_000.0, 5000.0, 1e9)
RAIL = (170_000.0, 7.38e6, 14e6)


class Strip:
    """A beam from 0 to ``length``; level where it is mirrored at 0, else free at both ends."""

    def __init__(self, stiffness: float, bed: float, length: float, cells: int, level: bool) -> None:
        self.stiffness, self.free_curvature = stiffness, 0.0
        self.mesh = MeshLine(length * np.linspace(0.0, 1.0, cells + 1) ** 1.3)
        self.basis = Basis(self.mesh, ElementLineHermite(), intorder=6)
        form = BilinearForm(lambda u, v, w: stiffness * dd(u)[0, 0] * dd(v)[0, 0] + bed * u * v)
        self.matrix = form.assemble(self.basis).tocsr()
        held = self.basis.get_dofs(lambda x: x[0] < 1e-12).all(["u_x"]) if level else []
        self.open = np.setdiff1d(np.arange(self.basis.N), held)

    def solve(self, right: Floats) -> Strip:
        """Solve for a right-hand side."""
        self.solution = np.zeros(self.basis.N)
        self.solution[self.open] = spsolve(self.matrix[self.open][:, self.open], right[self.open])
        return self

    def press_at_zero(self, force: float) -> Strip:
        """A force at 0."""
        right = np.zeros(self.basis.N)
        right[self.basis.get_dofs(lambda x: x[0] < 1e-12).all(["u"])] = force
        return self.solve(right)

    def curl(self, curvature: float) -> Strip:
        """A strip that wants to be bent."""
        self.free_curvature = curvature
        form = LinearForm(lambda v, w: self.stiffness * curvature * dd(v)[0, 0])
        return self.solve(form.assemble(self.basis))

    def deflection(self, places: Floats) -> Floats:
        """Deflection at places."""
        return np.asarray(self.basis.probes(np.atleast_2d(places)) @ self.solution)

    def moments(self) -> tuple[Floats, Floats]:
        """Middles of the elements, and the moment there that stretches the underside."""
        field = self.basis.interpolate(self.solution)
        x = self.basis.global_coordinates()[0]
        middle = field.hess[0, 0].shape[1] // 2
        bent = field.hess[0, 0] - self.free_curvature
        order = np.argsort(x[:, middle])
        return x[order, middle], -self.stiffness * bent[order, middle]


@pytest.mark.parametrize("case", [TILE, RAIL])
def test_long_beam_under_a_force(case: tuple[float, float, float]) -> None:
    """Deflection and moment from under the load out to where they have changed sign.

    Routes: Hetenyi's closed form; Hermite elements over twelve decay lengths. Tolerance: 1e-4 of the
    value under the load for deflection, 2e-3 for moment, which the elements give stepwise linear.
    """
    force, stiffness, bed = case
    decay = float(loads.long_beam_on_bed(*case, 0.0).decay_per_m)
    fine = Strip(stiffness, bed, 12 / decay, 400, True).press_at_zero(force / 2)
    coarse = Strip(stiffness, bed, 12 / decay, 200, True).press_at_zero(force / 2)
    places = np.array([0.0, 0.5, 1.0, 2.0, 3.0]) / decay
    outside = fine.deflection(places)
    converged(coarse.deflection(places), outside, 1e-4)
    agree(loads.long_beam_on_bed(*case, places).deflection_m, outside, 1e-4, scale=outside[0])
    agree(decay, 2 * bed * outside[0] / force, 1e-4)
    x, moment = fine.moments()
    near = x < 4 / decay
    ours = loads.long_beam_on_bed(*case, x[near]).moment_nm
    agree(ours, moment[near], 2e-3, scale=float(np.max(moment)))


@pytest.mark.parametrize("case", [TILE, RAIL])
def test_beam_under_a_force_at_its_end(case: tuple[float, float, float]) -> None:
    """Deflection of the loaded end and the greatest moment, on the top face.

    Routes: Hetenyi, 2 P d / k and 0.3224 P / d; Hermite elements. Tolerance: 1e-4 and 5e-4.
    """
    force, stiffness, bed = case
    ours = loads.beam_end_on_bed(*case)
    strip = Strip(stiffness, bed, 12 / float(ours.decay_per_m), 400, False).press_at_zero(force)
    sunk = strip.deflection(np.array([0.0]))[0]
    agree([ours.deflection_m, ours.decay_per_m], [sunk, sunk * bed / (2 * force)], 1e-4)
    agree(ours.moment_nm, -np.min(strip.moments()[1]), 5e-4)


@pytest.mark.parametrize("length", [1.0, 3.0, 5.0, 8.9, 20.0])
def test_curling_coefficient(length: float) -> None:
    """Share of full restraint in the middle of a strip of finite length.

    Routes: closed form of Bradbury's chart; Hermite elements of half a strip that wants curvature 1 on a
    bed of 1. Tolerance: 0.1 %, at the middle of the first small element.
    """
    strip = Strip(1.0, 1.0, length / 2, 200, True).curl(1.0)
    agree(slab.curling_coefficient(length, 1.0), strip.moments()[1][0], 1e-3)


def test_free_curl_lifts_the_ends() -> None:
    """Lift of a slab on nothing that holds it.

    Routes: s L^2 / 8 t; Hermite elements on a bed a million times softer. Tolerance: 1e-4.
    """
    length, thickness, strain = 4.5, 0.1, 200e-6
    strip = Strip(1.0, 1e-6, length / 2, 50, True).curl(strain / thickness)
    ends = strip.deflection(np.array([0.0, length / 2]))
    agree(slab.curl_lift(length, thickness, strain), ends[1] - ends[0], 1e-4)


def test_bending_stress_of_a_strip() -> None:
    """Stress of the outermost fiber of a strip a meter wide.

    Routes: 6 M / t^2 with Hetenyi's moment; E times curvature times half the thickness, curvature from
    Hermite elements. Tolerance: 0.1 %, at the middle of the first small element.
    """
    force, stiffness, bed = TILE
    modulus, thickness = 60e9, 0.010
    strip = Strip(stiffness, bed, 0.8, 400, True).press_at_zero(force / 2)
    x, moment = strip.moments()
    ours = loads.strip_stress(loads.long_beam_on_bed(*TILE, x[0]).moment_nm, thickness)
    agree(ours, modulus * moment[0] / stiffness * thickness / 2, 1e-3)
