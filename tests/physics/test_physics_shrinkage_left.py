"""Waiting for shrinkage: inverses, and enclosures by dense sampling."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from undercourse.physics import shrinkage, shrinkage_left, slab

DAY = 86400.0
MIX = {"slump_m": 0.075, "fines_share": 0.4, "cement_kg_m3": 400.0, "air_share": 0.02}
RANGES = st.tuples(st.floats(0.03, 0.5), st.floats(0.03, 0.5)).map(sorted)
DRYING = st.tuples(st.floats(1, 3000), st.floats(1, 3000)).map(sorted)


def model_left(thickness, faces, drying, base):
    """What is left by the plain model functions, nothing shared with the bounds."""
    depth = shrinkage.drying_depth(thickness, faces)
    size = shrinkage.aci_shrinkage(7 * DAY, 0.5, depth, **MIX).size
    share = shrinkage.hyperbolic_share(drying, shrinkage.aci_half_time(depth))
    return shrinkage.remaining_shrinkage(base * size, share)


@given(RANGES, DRYING, st.sampled_from([1, 2]))
def test_remaining_bounds_enclose_and_touch_all_samples(thickness, days, faces):
    """Dense sampling stays inside, and comes close to both ends: enclosed and not wider than need be."""
    low, high = thickness
    t = np.linspace(low, high, 401)[:, np.newaxis]
    drying = np.linspace(*days, 21)[np.newaxis, :] * DAY
    sampled = model_left(t, faces, drying, 600e-6)
    bounds = shrinkage_left.remaining_shrinkage_bounds(low, high, faces, days[0] * DAY, days[1] * DAY, 600e-6)
    assert bounds.low <= sampled.min() * (1 + 1e-9)
    assert bounds.high >= sampled.max() * (1 - 1e-9)
    assert bounds.low == pytest.approx(sampled.min(), rel=1e-6)
    assert bounds.high == pytest.approx(sampled.max(), rel=1e-3)


@given(RANGES, st.floats(2e-5, 8e-4), st.sampled_from([1, 2]))
def test_age_bounds_enclose_and_touch_all_samples(thickness, allowed, faces):
    """The age for a remainder over a range of thickness, sampled."""
    low, high = thickness
    depth = shrinkage.drying_depth(np.linspace(low, high, 2001), faces)
    size = shrinkage.aci_shrinkage(7 * DAY, 0.5, depth, **MIX).size
    half = shrinkage.aci_half_time(depth)
    ages = shrinkage_left.age_for_remainder(600e-6 * size, allowed, half, 7 * DAY)
    bounds = shrinkage_left.age_for_remainder_bounds(low, high, faces, 600e-6, allowed, 7 * DAY)
    assert bounds.low <= ages.min() * (1 + 1e-9)
    assert bounds.high >= ages.max() * (1 - 1e-9)
    assert bounds.low == pytest.approx(ages.min(), rel=1e-6)
    assert bounds.high == pytest.approx(ages.max(), rel=1e-3)


def test_remainder_is_not_monotone_in_thickness():
    """The reason for the bounds: a middle thickness has more to come than a thin or a thick slab."""
    thin, middle, thick = model_left(np.array([0.075, 0.136, 0.30]), 1, 90 * DAY, 600e-6)
    assert middle > thin
    assert middle > thick


@given(st.floats(1e-4, 1e-3), st.floats(0.02, 0.98), st.floats(1, 90), st.floats(5, 500))
def test_age_leads_back_to_the_remainder(ultimate, share, cured, scale):
    """At the age found, just the allowed strain is left, in both time curves."""
    allowed = ultimate * share
    age = shrinkage_left.age_for_remainder(ultimate, allowed, scale * DAY, cured * DAY)
    reached = shrinkage.hyperbolic_share(age - cured * DAY, scale * DAY)
    assert shrinkage.remaining_shrinkage(ultimate, reached) == pytest.approx(allowed, rel=1e-6)
    age = shrinkage_left.age_for_remainder_by_root(ultimate, allowed, scale * DAY, cured * DAY)
    reached = shrinkage.root_share(age - cured * DAY, scale * DAY)
    assert shrinkage.remaining_shrinkage(ultimate, reached) == pytest.approx(allowed, rel=1e-6)


def test_every_model_has_a_scatter():
    """No model may be used without one."""
    assert set(shrinkage_left.SHRINKAGE_VARIATION) == {"ACI 209R-92", "MC90", "MC90-99", "GL2000"}
    assert all(0.1 < value < 1 for value in shrinkage_left.SHRINKAGE_VARIATION.values())


@given(st.floats(1, 10), st.floats(0, 1), st.floats(0, 1e-3), st.floats(0, 30))
def test_restraint_splits_shrinkage_between_opening_and_stress(spacing, restraint, strain, drop):
    """Opening over length and held-back strain add to all of it; cooling alone is thermal movement."""
    opening = slab.restrained_opening(spacing, restraint, strain, 1e-5, drop)
    held = slab.restraint_stress(restraint, 1.0, strain, 0.0)
    assert opening / spacing + held == pytest.approx(strain + 1e-5 * drop, abs=1e-12)
    assert slab.restrained_opening(spacing, restraint, 0.0, 1e-5, drop) == pytest.approx(
        slab.thermal_movement(1e-5, spacing, drop)
    )
    free = slab.joint_opening(spacing, 1e-5, drop, strain, 1.0)
    assert slab.restrained_opening(spacing, 0.0, strain, 1e-5, drop) == pytest.approx(free)
