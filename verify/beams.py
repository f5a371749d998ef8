"""Beams over equal spans by the direct stiffness method of PyNiteFEA.

It cuts a beam at its nodes, writes member end forces from end displacements, solves the assembled
equations and integrates back. Lengths, loads and stiffness are of the trade's size; the modulus stands
for EI since the second moment is 1.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from Pynite import FEModel3D

SPAN_M, STIFFNESS_NM2, LOAD_N_M, FORCE_N = 3.6, 2.9e5, 780.0, 1334.0
POINTS = 601


class Beam:
    """A beam over equal spans on knife edges, solved once loads are on."""

    def __init__(self, spans: int, span_m: float = SPAN_M) -> None:
        self.length = spans * span_m
        self.model = FEModel3D()
        self.model.add_material("wood", STIFFNESS_NM2, 1.0, 0.0, 0.0)
        self.model.add_section("unit", 1.0, 1.0, 1.0, 1.0)
        for index in range(spans + 1):
            self.model.add_node(f"S{index}", index * span_m, 0.0, 0.0)
            first = index == 0
            self.model.def_support(f"S{index}", first, True, True, first, False, False)
        self.model.add_member("beam", "S0", f"S{spans}", "wood", "unit")

    def spread(self, load_n_m: float, start: float, end: float) -> Beam:
        """Put a uniform load on a stretch."""
        self.model.add_member_dist_load("beam", "Fy", -load_n_m, -load_n_m, start, end)
        return self

    def press(self, force_n: float, place: float) -> Beam:
        """Put a force at a place."""
        self.model.add_member_pt_load("beam", "Fy", -force_n, place)
        return self

    def solve(self) -> Beam:
        """Solve."""
        self.model.analyze_linear(check_statics=False)
        self.member = self.model.members["beam"]
        return self

    def deflection(self, place: float) -> float:
        """Deflection downwards at a place."""
        return -float(self.member.deflection("dy", place))

    def deflections(self, points: int = POINTS) -> NDArray[np.float64]:
        """Deflection downwards at even places over the whole length."""
        return -np.asarray(self.member.deflection_array("dy", points)[1])

    def largest_deflection(self) -> float:
        """Largest deflection downwards."""
        return float(np.max(self.deflections()))

    def moments(self, points: int = POINTS) -> NDArray[np.float64]:
        """Bending moment at even places over the whole length."""
        return np.asarray(self.member.moment_array("Mz", points)[1])

    def largest_moment(self) -> float:
        """Largest bending moment of either sign."""
        return float(np.max(np.abs(self.moments())))

    def shear(self, place: float) -> float:
        """Size of the shear force at a place."""
        return abs(float(self.member.shear("Fy", place)))

    def end_shears(self) -> NDArray[np.float64]:
        """Shear force at both ends of every part between supports, where it jumps."""
        parts = self.member.sub_members.values()
        return np.array([float(part.shear("Fy", place)) for part in parts for place in (0.0, part.L())])

    def rotation(self, support: int) -> float:
        """Rotation at a support."""
        return abs(float(self.model.nodes[f"S{support}"].RZ["Combo 1"]))


def loaded(spans: int) -> Beam:
    """A beam with the uniform load on all its spans."""
    return Beam(spans).spread(LOAD_N_M, 0.0, spans * SPAN_M).solve()
