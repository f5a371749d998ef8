"""Directions and invariances of what test results allow to claim."""

from __future__ import annotations

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from scipy.special import ndtri

from undercourse.physics import tolerance

COUNTS = st.integers(2, 200)
SHARES = st.floats(0.5, 0.99)
STRENGTHS = st.lists(st.floats(1.0, 1e3), min_size=3, max_size=30).filter(
    lambda values: max(values) > 1.01 * min(values)
)


@given(COUNTS, SHARES, SHARES)
def test_more_results_ask_for_less_and_more_cover_for_more(count, coverage, confidence):
    """Kernels may declare these directions; a known spread never asks for more than an unknown one."""
    base = tolerance.one_sided_factor(count, coverage, confidence)
    assert tolerance.one_sided_factor(count + 1, coverage, confidence) <= base * (1 + 1e-9)
    assert tolerance.one_sided_factor(count, min(coverage + 0.005, 0.999), confidence) > base
    assert tolerance.one_sided_factor(count, coverage, min(confidence + 0.005, 0.999)) > base


@given(SHARES, SHARES)
def test_many_results_tend_to_the_normal_fractile(coverage, confidence):
    """With a million results nothing but the population's own tail is left."""
    many = tolerance.one_sided_factor(1e6, coverage, confidence)
    assert many == pytest.approx(ndtri(coverage), abs=0.01)
    assert tolerance.known_spread_factor(1e6, coverage, confidence) == pytest.approx(many, abs=0.01)


@given(st.lists(st.floats(-100, 100), min_size=2, max_size=20), st.floats(0.1, 10), st.floats(-50, 50))
def test_limits_follow_a_change_of_unit(values, scale, shift):
    """Limits in other units are the same limits."""
    base = tolerance.one_sided_limits(values, 0.95, 0.75)
    other = tolerance.one_sided_limits(np.array(values) * scale + shift, 0.95, 0.75)
    assert other.lower == pytest.approx(base.lower * scale + shift, abs=1e-6)
    assert other.upper == pytest.approx(base.upper * scale + shift, abs=1e-6)


@given(SHARES, SHARES)
def test_distribution_free_count_is_enough_and_one_less_is_not(coverage, confidence):
    """The chance that the worst of n lies beyond the fractile is 1 - p^n."""
    count = int(tolerance.distribution_free_count(coverage, confidence))
    assert 1 - coverage**count >= confidence - 1e-9
    assert count == 1 or 1 - coverage ** (count - 1) < confidence


@given(STRENGTHS, st.floats(0.01, 100))
def test_weibull_fit_solves_its_equation_and_follows_the_unit(values, scale):
    """The modulus has no unit, the scale has that of the results, and both satisfy maximum likelihood."""
    fit = tolerance.weibull_fit(values)
    other = tolerance.weibull_fit(np.array(values) * scale)
    assert other.modulus == pytest.approx(float(fit.modulus), rel=1e-6)
    assert other.scale == pytest.approx(float(fit.scale) * scale, rel=1e-6)
    logs = np.log(values) - np.log(float(fit.scale))
    power = np.exp(float(fit.modulus) * logs)
    assert np.mean(power) == pytest.approx(1.0, rel=1e-6)
    assert np.mean(power * logs) - np.mean(logs) == pytest.approx(1 / float(fit.modulus), rel=1e-5)


def test_weibull_fit_of_many_sets_is_that_of_each():
    """The array path agrees with the single path."""
    sets = np.array([[38.2, 41.5, 47.2], [20.0, 30.0, 31.0]])
    together = tolerance.weibull_fit(sets)
    for index, values in enumerate(sets):
        alone = tolerance.weibull_fit(values)
        assert (together.modulus[index], together.scale[index]) == (alone.modulus, alone.scale)


@given(st.integers(5, 500))
def test_unbiased_modulus_is_lower_and_less_so_with_more_results(count):
    """The factor rises towards 1."""
    base = tolerance.unbiased_modulus(10.0, count)
    assert base < tolerance.unbiased_modulus(10.0, count + 1) < 10.0


@given(st.lists(st.lists(st.floats(0, 100), min_size=3, max_size=3), min_size=2, max_size=8))
def test_two_laboratories_never_agree_better_than_one(results):
    """Reproducibility is never below repeatability."""
    found = tolerance.method_precision(results)
    assert found.reproducibility >= found.repeatability


@given(st.floats(1.1, 1e4), st.floats(2, 50))
def test_larger_bodies_are_weaker(ratio, modulus):
    """The weakest place of more volume is weaker, the less so the higher the modulus."""
    base = tolerance.size_factor(ratio, modulus)
    assert tolerance.size_factor(ratio * 2, modulus) < base < tolerance.size_factor(ratio, modulus + 1) < 1
