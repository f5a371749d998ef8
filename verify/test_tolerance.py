"""Claims from test results against SciPy's statistics and against integrals done anew.

SciPy's non-central t lies under our factors, so that the integral over the spread is the route that counts;
SciPy's inverse by its other door is held as well. Only the unbiasing factors need a simulation.
"""

from __future__ import annotations

import numpy as np
import pytest
from scipy import stats
from scipy.integrate import quad, simpson
from scipy.optimize import brentq, minimize

from undercourse.physics import tolerance

from .agreement import agree

STRENGTHS_MPA = [38.2, 41.5, 42.9, 44.0, 45.1, 46.3, 47.2, 48.8, 50.1, 52.6]


def confidence_of(factor: float, count: int, coverage: float) -> float:
    """Chance that mean + k s lies over the fractile, by integration over the spread s."""
    limit, root, center = stats.norm.ppf(coverage), np.sqrt(count), np.sqrt(count - 1)
    chi = np.linspace(max(0.0, center - 9.0), center + 9.0, 4001)
    part = stats.chi.pdf(chi, count - 1) * stats.norm.cdf(root * (factor * chi / center - limit))
    return float(simpson(part, chi))


@pytest.mark.parametrize("count", [2, 3, 5, 10, 30, 100])
@pytest.mark.parametrize(("coverage", "confidence"), [(0.95, 0.95), (0.95, 0.75), (0.99, 0.95), (0.9, 0.9)])
def test_one_sided_factor(count: int, coverage: float, confidence: float) -> None:
    """Tolerance factors of ISO 16269-6, standard deviation unknown.

    Routes: non-central t of scipy.special; root of an integral over the spread, and scipy.stats.nct.
    Tolerance: 1e-7, as the quadrature.
    """
    ours = tolerance.one_sided_factor(count, coverage, confidence)
    root = brentq(lambda k: confidence_of(k, count, coverage) - confidence, 0.1, 200.0, xtol=1e-12)
    agree(ours, root, 1e-7)
    shift = stats.norm.ppf(coverage) * np.sqrt(count)
    agree(ours, stats.nct.ppf(confidence, count - 1, shift) / np.sqrt(count), 1e-7)


@pytest.mark.parametrize("count", [1, 4, 25])
def test_known_spread_factor(count: int) -> None:
    """Tolerance factors with a known standard deviation.

    Routes: sum of two normal fractiles; root of the chance that mean + k sigma lies over the fractile.
    Tolerance: 1e-9.
    """
    mean = stats.norm(0.0, 1 / np.sqrt(count))
    limit = stats.norm.isf(0.05)
    root = brentq(lambda k: mean.sf(limit - k) - 0.9, -5.0, 10.0, xtol=1e-13)
    agree(tolerance.known_spread_factor(count, 0.95, 0.9), root, 1e-9)


def test_one_sided_limits() -> None:
    """Limits from results.

    Routes: our factor on NumPy's mean and deviation; SciPy's description of the sample and the confidence
    interval of a fractile that the non-central t gives. Tolerance: 1e-9.
    """
    ours = tolerance.one_sided_limits(STRENGTHS_MPA, 0.95, 0.75)
    told = stats.describe(STRENGTHS_MPA)
    shift = stats.norm.ppf(0.95) * np.sqrt(told.nobs)
    margin = stats.nct.ppf(0.75, told.nobs - 1, shift) * np.sqrt(told.variance / told.nobs)
    agree([ours.mean, ours.deviation], [told.mean, np.sqrt(told.variance)], 1e-9)
    agree([ours.lower, ours.upper], [told.mean - margin, told.mean + margin], 1e-9)
    agree(ours.factor * ours.deviation, margin, 1e-9)


def test_distribution_free_count() -> None:
    """Results needed for the worst to be a bound.

    Routes: ratio of logarithms rounded up; search for the first count at which the binomial chance of at
    least one result beyond the fractile is enough. Tolerance: none, a count.
    """
    for coverage in (0.5, 0.75, 0.9, 0.95, 0.99):
        for confidence in (0.5, 0.75, 0.9, 0.95, 0.99):
            count = 1
            while stats.binom.sf(0, count, 1 - coverage) < confidence * (1 - 1e-12):
                count += 1
            assert tolerance.distribution_free_count(coverage, confidence) == count


def test_difference_of_two_results() -> None:
    """Difference that two results exceed in one case of twenty.

    Routes: 2.8 s as printed by the standards; fractile of the difference of two normal results. Tolerance:
    1.1 %, which the standards round up; the rounding is on the wide side.
    """
    exact = stats.norm(0.0, np.sqrt(2.0)).ppf(0.975)
    ours = tolerance.difference_limit(1.0)
    agree(ours, exact, 0.011, sees=0.03)
    assert ours > exact


def test_method_precision() -> None:
    """Repeatability and reproducibility of a study of five laboratories.

    Routes: sums of ASTM E691; F of SciPy's one-way analysis of variance, n s_x^2 / s_r^2, with its mean
    square within laboratories from pooled deviations. Tolerance: 1e-9.
    """
    study = np.array(
        [[41.0, 41.5, 41.4], [41.2, 42.0, 41.3], [40.7, 41.1, 41.6], [42.6, 43.1, 42.4], [40.2, 41.0, 40.7]]
    )
    ours = tolerance.method_precision(study)
    count = study.shape[1]
    ratio = stats.f_oneway(*study).statistic
    within = np.sum([stats.moment(row, 2) * count for row in study]) / (study.size - len(study))
    agree(ours.repeatability, np.sqrt(within), 1e-9)
    agree(ours.reproducibility, np.sqrt(within * (ratio / count + (count - 1) / count)), 1e-9)


def test_weibull_fit() -> None:
    """Maximum likelihood of the two-parameter Weibull distribution.

    Routes: halving on the likelihood equation; scipy.stats.weibull_min.fit with its place at 0, and a plain
    search for the least negative log-likelihood. Tolerance: 1e-4 and 1e-5, as far as the searches go.
    """
    samples = stats.weibull_min(8.0, scale=3e7).rvs((3, 12), random_state=20261125)
    ours = tolerance.weibull_fit(samples)
    for index, sample in enumerate(samples):
        found = [ours.modulus[index], ours.scale[index]]
        shape, _, scale = stats.weibull_min.fit(sample, floc=0.0)
        agree(found, [shape, scale], 1e-4)

        def misfit(logs: np.ndarray, values: np.ndarray = sample) -> float:
            m, size = np.exp(logs)
            return float(stats.weibull_min.nnlf((m, 0.0, size * 1e7), values)) / len(values)

        best = minimize(
            misfit, np.log([5.0, 2.0]), method="Nelder-Mead", options={"xatol": 1e-9, "fatol": 1e-14}
        )
        agree(found, np.exp(best.x) * [1.0, 1e7], 1e-5)


@pytest.mark.parametrize("modulus", [5.0, 12.6, 30.0])
def test_weibull_shape(modulus: float) -> None:
    """Fractile, mean, scatter and size effect that go with a modulus.

    Routes: closed forms; scipy.stats.weibull_min by its inverse and by integration of x and x^2 times its
    density, and the fractile of the weakest of ten. Tolerance: 1e-6.
    """
    one = stats.weibull_min(modulus)
    agree(tolerance.weibull_fractile(modulus, 2.0, 0.05), 2.0 * one.ppf(0.05), 1e-6)
    mean = quad(lambda x: x * one.pdf(x), 0.0, 5.0, epsabs=1e-12)[0]
    square = quad(lambda x: x**2 * one.pdf(x), 0.0, 5.0, epsabs=1e-12)[0]
    ours = tolerance.weibull_moments(modulus)
    agree([ours.mean_share, ours.variation], [mean, np.sqrt(square - mean**2) / mean], 1e-6)
    median_of_ten = brentq(lambda x: one.sf(x) ** 10 - 0.5, 1e-3, 3.0, xtol=1e-13)
    agree(tolerance.size_factor(10.0, modulus), median_of_ten / one.median(), 1e-6)


@pytest.mark.parametrize("count", [5, 7, 10, 15, 20, 30, 60])
def test_unbiasing_factor(count: int) -> None:
    """The printed factors and what lies on lines over 1 / count between them.

    Routes: factors from memory; true modulus over the mean fitted to 8000 drawn sets. Tolerance: 2.5 %, of
    which the draw is 0.5 % (one standard error, at five results); the printed 0.700 is itself 1.3 % above.
    """
    draws = stats.weibull_min(10.0).rvs((8000, count), random_state=count)
    fitted = tolerance.weibull_fit(draws).modulus
    agree(np.mean(tolerance.unbiased_modulus(fitted, count)), 10.0, 0.025, sees=0.05)
