"""Treads, spread and worst place: directions, and pressure below by integration."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from undercourse.physics import loads, wheels


@given(st.floats(20, 79), st.floats(0.1, 1))
def test_harder_rubber_is_stiffer_in_both_formulas(hardness, more):
    """The range rises with hardness and never closes the wrong way round."""
    soft, hard = wheels.rubber_modulus(hardness), wheels.rubber_modulus(hardness + more)
    assert soft.low_pa <= soft.high_pa
    assert hard.low_pa > soft.low_pa
    assert hard.high_pa > soft.high_pa


def test_rubber_formulas_part_as_told():
    """The docstring's factor between the two, from 40 to 80 Shore A."""
    found = wheels.rubber_modulus(np.linspace(40, 80, 81))
    ratio = found.high_pa / found.low_pa
    assert ratio.min() >= 1.1
    assert ratio.max() <= 1.9


@given(st.floats(0.001, 0.05), st.floats(0.002, 0.05))
def test_pressure_below_a_circle_is_the_integral_of_point_loads(radius, depth):
    """Boussinesq's point load over the circle: 3 z^3 / (2 pi (r^2 + z^2)^(5/2)) r dr dphi."""
    whole, _ = quad(lambda r: 3 * depth**3 * r / (r**2 + depth**2) ** 2.5, 0, radius)
    assert wheels.pressure_below_circle(1.0, radius, depth) == pytest.approx(whole, rel=1e-7)


@given(st.floats(0.005, 0.05), st.floats(0.001, 0.05))
def test_the_cone_of_45_degrees_is_a_mean_below_the_elastic_peak_where_thin(side, depth):
    """A 1 to 1 cone is less than the elastic peak under the middle: why both are given."""
    cone = wheels.spread_load(1.0, side, side, depth, 1.0).pressure_pa
    assert cone * (side + 2 * depth) ** 2 == pytest.approx(1.0)
    peak = wheels.pressure_below_circle(1.0 / side**2, side / np.sqrt(np.pi), depth)
    assert cone <= peak


@given(st.floats(0.003, 0.012), st.floats(0.006, 0.02), st.floats(1e8, 5e10), st.floats(1.05, 4.0))
def test_worst_place_directions(radius, thickness, bed, more):
    """Wider patch, thicker tile and stiffer bed never raise the worst stress; it is one of the three."""

    def worst(a, h, k):
        return wheels.worst_place(1e3, a, h, 60e9, 0.2, k)

    base = worst(radius, thickness, bed)
    if base.relative_radius > 0.5:
        return
    assert worst(radius * more, thickness, bed).stress_pa <= base.stress_pa
    assert worst(radius, thickness * more, bed).stress_pa <= base.stress_pa
    assert worst(radius, thickness, bed * more).stress_pa <= base.stress_pa
    inside = loads.slab_interior(1e3, radius, thickness, 60e9, 0.2, bed).stress_pa
    assert base.stress_pa >= inside
