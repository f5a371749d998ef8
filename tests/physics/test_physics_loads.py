"""Directions, limits and equilibrium for concentrated loads and movement joints."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.integrate import quad

from undercourse.physics import joints, loads, slab

SLAB = {"modulus_pa": 28e9, "poisson": 0.15, "subgrade_pa_m": 5e7}


@given(st.floats(10, 1e5), st.floats(0.02, 0.5), st.floats(0.01, 0.2), st.floats(1.01, 4))
def test_wheel_pressure_directions_and_equilibrium(force, radius, width, more):
    """More load presses harder, a larger or wider wheel less; pressure times strip is the load."""
    base = loads.roller_contact(force, radius, width, 5e9)
    assert base.mean_pa * 2 * base.half_width_m * width == pytest.approx(force)
    assert loads.roller_contact(force * more, radius, width, 5e9).peak_pa > base.peak_pa
    assert loads.roller_contact(force, radius * more, width, 5e9).peak_pa < base.peak_pa
    assert loads.roller_contact(force, radius, width * more, 5e9).peak_pa < base.peak_pa
    assert loads.roller_contact(force, radius, width, 5e9 / more).peak_pa < base.peak_pa
    ball = loads.ball_contact(force, radius, 5e9)
    assert loads.ball_contact(force * 8, radius, 5e9).peak_pa == pytest.approx(2 * ball.peak_pa)


@given(st.floats(0.01, 0.15), st.floats(0.08, 0.4), st.floats(1.01, 2))
def test_slab_stress_falls_with_patch_and_thickness_and_edge_governs(radius, thickness, more):
    """Directions of the slab formulas; a free edge or corner never deflects less than the middle."""
    for place in (loads.slab_interior, loads.slab_edge, loads.slab_corner, loads.slab_corner_revised):
        base = place(1e4, radius, thickness, **SLAB).stress_pa
        assert place(1e4, radius * more, thickness, **SLAB).stress_pa < base
        assert place(1e4, radius, thickness * more, **SLAB).stress_pa < base
        assert place(2e4, radius, thickness, **SLAB).stress_pa == pytest.approx(2 * base)
    inside = loads.slab_interior(1e4, radius, thickness, **SLAB)
    edge = loads.slab_edge(1e4, radius, thickness, **SLAB)
    corner = loads.slab_corner(1e4, radius, thickness, **SLAB)
    assert inside.stress_pa < edge.stress_pa
    assert inside.deflection_m < edge.deflection_m < corner.deflection_m


@given(st.floats(0.05, 0.4))
def test_small_patch_deflects_as_a_plate_under_a_point_load(thickness):
    """The slab formula and the plate formula are one theory."""
    stiffness = 28e9 * thickness**3 / (12 * (1 - 0.15**2))
    patch = loads.slab_interior(1e4, 1e-4, thickness, **SLAB).deflection_m
    assert patch == pytest.approx(loads.plate_on_bed_deflection(1e4, stiffness, 5e7), rel=1e-5)


@pytest.mark.parametrize(("stiffness", "bed"), [(5e3, 1e9), (7.38e6, 14e6), (1e3, 1e6)])
def test_bed_pressure_carries_the_load(stiffness, bed):
    """The bed pushes back just what stands on it, under a long beam: a check by integration."""
    decay = float(loads.long_beam_on_bed(1.0, stiffness, bed, 0.0).decay_per_m)
    half, _ = quad(lambda z: bed * loads.long_beam_on_bed(1.0, stiffness, bed, z).deflection_m, 0, 30 / decay)
    assert 2 * half == pytest.approx(1.0, rel=1e-6)


@given(st.floats(1e2, 1e5), st.floats(1e6, 1e10), st.floats(1.01, 5))
def test_softer_bed_bends_tile_more(stiffness, bed, more):
    """A softer mat raises both deflection and moment in tile, at its middle and at its end."""
    for place in (
        lambda k: loads.long_beam_on_bed(1e3, stiffness, k, 0.0),
        lambda k: loads.beam_end_on_bed(1e3, stiffness, k),
    ):
        assert place(bed).deflection_m > place(bed * more).deflection_m
        assert place(bed).moment_nm > place(bed * more).moment_nm


@given(st.floats(1, 20), st.floats(1e-5, 2e-3), st.floats(0.05, 1.0), st.floats(0, 0.01))
def test_joint_spacing_is_the_inverse_of_width(length, strain, capability, tolerance):
    """A joint sized for a length serves just that length."""
    width = joints.joint_width(length * strain, 0.0, capability, tolerance)
    assert joints.joint_spacing(width, tolerance, capability, strain) == pytest.approx(length, rel=1e-6)


@given(st.floats(0.5, 3.65), st.floats(0, 100), st.floats(0, 30))
def test_exterior_width_never_narrows_with_spacing_or_range(spacing, range_k, more):
    """Directions of the guideline."""
    base = joints.exterior_joint_width(spacing, range_k)
    assert joints.exterior_joint_width(spacing, range_k + more) >= base
    assert joints.exterior_joint_width(spacing * 1.2, range_k) >= base
    assert joints.sealant_depth(base) <= base


@given(st.floats(0.1, 200), st.floats(0.5, 10))
def test_fields_between_joints_are_never_longer_than_the_spacing(length, spacing):
    """The count is enough, and one less would not be."""
    count = int(joints.joint_count(length, spacing))
    assert length / (count + 1) <= spacing * (1 + 1e-6)
    assert count == 0 or length / count > spacing


def test_closing_movement_adds_heat_moisture_and_base():
    """Each strain closes the joint; heat alone is the thermal movement."""
    heat = joints.closing_movement(6.0, 7e-6, 20.0, 0.0, 0.0)
    assert heat == pytest.approx(slab.thermal_movement(7e-6, 6.0, 20.0))
    together = joints.closing_movement(6.0, 7e-6, 20.0, 1e-4, np.array([0.0, 2e-4]))
    np.testing.assert_allclose(together, [heat + 6e-4, heat + 18e-4])
