"""Properties of beds, contact and bag counts."""

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.constants import foot, inch
from scipy.integrate import quad

from undercourse.physics import mortar

UPRIGHT = np.pi / 2
widths = st.floats(0.003, 0.02)
lands = st.floats(0.0, 0.02)
angles = st.floats(0.3, UPRIGHT)


@given(widths, st.floats(0.5, 3.0), lands, angles)
def test_u_notch_holds_between_v_and_square(width, ratio, land, angle):
    """Of notches as wide, deep and far apart, V leaves least, square most."""
    depth = width * ratio
    square = mortar.square_notch_bed(width, depth, land, angle)
    round_end = mortar.u_notch_bed(width, depth, land, angle)
    pointed = mortar.v_notch_bed(width, depth, width + land, angle)
    assert pointed < round_end < square
    assert square <= depth


@given(widths, st.floats(0.5, 3.0), lands)
def test_u_notch_area_matches_an_integral(width, ratio, land):
    """The half-round section is integrated numerically and agrees."""
    share, _ = quad(lambda x: ratio - 0.5 + np.sqrt(max(0.25 - x**2, 0.0)), -0.5, 0.5)
    bed = share * width**2 / (width + land)
    assert mortar.u_notch_bed(width, width * ratio, land, UPRIGHT) == pytest.approx(bed, rel=1e-6)


@given(widths, widths, lands, angles, st.floats(1.01, 3.0))
def test_deeper_notch_and_steeper_blade_leave_more(width, depth, land, angle, factor):
    """Bed grows with depth and blade angle and falls with the land."""
    base = mortar.square_notch_bed(width, depth, land, angle)
    assert mortar.square_notch_bed(width, depth * factor, land, angle) > base
    assert mortar.square_notch_bed(width, depth, land + 0.001, angle) < base
    assert mortar.square_notch_bed(width, depth, land, UPRIGHT) >= base


@given(st.floats(5e-4, 0.02), st.floats(5e-4, 0.02))
def test_contact_keeps_the_volume_until_full(bed, gap):
    """Contact times gap is the mortar laid, until the gap is full."""
    contact = mortar.contact_fraction(bed, gap)
    assert 0 < contact <= 1
    assert contact * gap == pytest.approx(min(bed, gap), rel=1e-12)


@pytest.mark.parametrize(
    ("width_in", "depth_in", "least_ft2", "most_ft2"),
    [(0.25, 0.25, 85, 95), (0.25, 0.375, 60, 70), (0.5, 0.5, 40, 50)],
)
def test_published_bag_coverage_lies_in_the_troweled_range(width_in, depth_in, least_ft2, most_ft2):
    """50 lb coverage of two general tile guides, at an assumed 0.5 ft3 a bag, is inside the range."""
    width, depth = width_in * inch, depth_in * inch
    bed = mortar.troweled_bed(mortar.square_notch_bed(width, depth, width, UPRIGHT))
    yield_m3 = 0.5 * foot**3
    assert mortar.bag_coverage(yield_m3, bed.high_m) <= least_ft2 * foot**2
    assert mortar.bag_coverage(yield_m3, bed.low_m) >= most_ft2 * foot**2


@given(st.floats(0.1, 500.0), st.floats(5e-4, 0.02), st.floats(0.005, 0.03), st.floats(0.0, 0.3))
def test_bags_cover_the_area_and_one_less_does_not(area, depth, bag, waste):
    """The count is the least whole number that suffices."""
    bags = mortar.bags_needed(area, depth, bag, waste)
    need = area * depth * (1 + waste)
    assert bags * bag >= need * (1 - 1e-9)
    assert (bags - 1) * bag < need


@given(st.integers(1, 400), st.floats(5e-4, 0.02), st.floats(0.005, 0.03))
def test_an_area_that_uses_up_its_bags_needs_no_more(count, depth, bag):
    """Binary rounding never adds a bag to an exact fit."""
    assert mortar.bags_needed(count * bag / depth, depth, bag, 0.0) == count


def test_no_area_needs_no_bag():
    """Zero stays zero, in an integer type."""
    bags = mortar.bags_needed([0.0, 1.0], 0.003, 0.014, 0.1)
    assert bags.tolist() == [0, 1]
    assert bags.dtype.kind == "i"
