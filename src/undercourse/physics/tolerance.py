"""What test results allow to claim: tolerance factors, precision of a method, scatter of brittle strength.

Results keep the unit they come in. A limit from results speaks for the lot and the way of testing they
came from, not for another product, laboratory or size of specimen.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray
from scipy import special

from undercourse.physics._floats import FloatArray, floats

_DIFFERENCE = 2.8  # as printed by the standards; 1.96 sqrt 2 is 2.772
_HALVINGS = 60
# Unbiasing factor of the fitted modulus at 30, 20, 10 and 5 results, from memory (75 to 90 %).
_UNBIASING_COUNTS = (30, 20, 10, 5)
_UNBIASING_FACTORS = (0.955, 0.931, 0.859, 0.700)


def one_sided_factor(count: ArrayLike, coverage: ArrayLike, confidence: ArrayLike) -> FloatArray:
    """Factor k of mean -/+ k s that bounds a share of a normal population, spread unknown.

    Parameters
    ----------
    count : array_like
        Number of results, 2 or more. [1]
    coverage : array_like
        Share of the population on the good side of the limit, above 0 and below 1: 0.95. [1]
    confidence : array_like
        Confidence of the statement, above 0 and below 1: 0.95. [1]

    Returns
    -------
    ndarray
        k for the standard deviation with count - 1; the inputs broadcast. [1]

    Notes
    -----
    Fractile of the non-central t with count - 1 degrees of freedom and z sqrt(count), over sqrt(count).
    It rests on the normal distribution, most of all in the far tail.
    Published check: tests/published/tolerance.toml, "one-sided factors".

    References
    ----------
    ISO 16269-6, one-sided factors for unknown standard deviation; NIST/SEMATECH e-Handbook, 7.2.6.3.
    """
    root = np.sqrt(floats(count))
    shift = special.ndtri(floats(coverage)) * root
    return np.asarray(special.nctdtrit(floats(count) - 1, shift, floats(confidence)) / root)


def known_spread_factor(count: ArrayLike, coverage: ArrayLike, confidence: ArrayLike) -> FloatArray:
    """Factor k of mean -/+ k sigma that bounds a share of a normal population of known spread.

    Parameters
    ----------
    count, coverage, confidence : array_like
        As in `one_sided_factor`; count 1 or more.

    Returns
    -------
    ndarray
        z of the coverage plus z of the confidence over sqrt(count); the inputs broadcast. [1]

    Notes
    -----
    Only where sigma comes from long production records, never from the few results themselves.
    Published check: tests/published/tolerance.toml, "known spread".

    References
    ----------
    ISO 16269-6, one-sided factors for known standard deviation.
    """
    mean_margin = special.ndtri(floats(confidence)) / np.sqrt(floats(count))
    return np.asarray(special.ndtri(floats(coverage)) + mean_margin)


class OneSidedLimits(NamedTuple):
    """What a set of results supports: each limit alone, not both at once."""

    mean: FloatArray
    deviation: FloatArray
    factor: FloatArray
    lower: FloatArray
    upper: FloatArray


def one_sided_limits(results: ArrayLike, coverage: ArrayLike, confidence: ArrayLike) -> OneSidedLimits:
    """Value that a share of the product exceeds, and the one that it stays under.

    Parameters
    ----------
    results : array_like, shape (..., results)
        Two or more results of one lot, in any unit.
    coverage, confidence : array_like, shape (...)
        As in `one_sided_factor`.

    Returns
    -------
    OneSidedLimits
        Mean, standard deviation, k, mean - k s and mean + k s. [as given; k 1]

    Notes
    -----
    Published check: tests/published/tolerance.toml, "limits of five results".

    References
    ----------
    As `one_sided_factor`.
    """
    values = floats(results)
    mean, deviation = np.mean(values, axis=-1), np.std(values, axis=-1, ddof=1)
    factor = one_sided_factor(values.shape[-1], coverage, confidence)
    return OneSidedLimits(
        *np.broadcast_arrays(mean, deviation, factor, mean - factor * deviation, mean + factor * deviation)
    )


def distribution_free_count(coverage: ArrayLike, confidence: ArrayLike) -> NDArray[np.int64]:
    """Results needed so that the worst of them bounds a share of any population.

    Parameters
    ----------
    coverage, confidence : array_like
        As in `one_sided_factor`.

    Returns
    -------
    ndarray of int
        Least n with 1 - coverage^n at or above confidence; the inputs broadcast. [1]

    Notes
    -----
    Published check: tests/published/tolerance.toml, "worst result as a bound".

    References
    ----------
    ISO 16269-6, distribution-free one-sided intervals.
    """
    exact = np.log1p(-floats(confidence)) / np.log(floats(coverage))
    # A coverage and confidence that need a whole number must not be pushed past it by rounding.
    return np.asarray(np.ceil(exact - 1e-9), dtype=np.int64)


def difference_limit(deviation: ArrayLike) -> FloatArray:
    """Difference that two single results exceed in about one case of twenty.

    Parameters
    ----------
    deviation : array_like
        Repeatability or reproducibility standard deviation of the method. [as given]

    Returns
    -------
    ndarray
        2.8 times it: r for one laboratory, R for two. [as given]

    Notes
    -----
    Published check: tests/published/tolerance.toml, "repeatability and reproducibility".

    References
    ----------
    ASTM E691; ISO 5725-6 (2.8 from memory, 97 %).
    """
    return np.asarray(_DIFFERENCE * floats(deviation))


class MethodPrecision(NamedTuple):
    """Standard deviations of a test method, within and between laboratories."""

    repeatability: FloatArray
    reproducibility: FloatArray


def method_precision(results: ArrayLike) -> MethodPrecision:
    """Repeatability and reproducibility of a test method from a study of several laboratories.

    Parameters
    ----------
    results : array_like, shape (..., laboratories, results)
        Two or more results from each of two or more laboratories on one material.

    Returns
    -------
    MethodPrecision
        s_r, and s_R that is never below it; `difference_limit` turns them into r and R. [as given]

    Notes
    -----
    s_r^2 is the mean of the laboratories' variances, s_R^2 = s_x^2 + s_r^2 (n - 1) / n with the variance
    s_x^2 of their means.
    Published check: tests/published/tolerance.toml, "precision of a method".

    References
    ----------
    ASTM E691, calculation of precision statistics (from memory, 97 %).
    """
    values = floats(results)
    within = np.mean(np.var(values, axis=-1, ddof=1), axis=-1)
    between = np.var(np.mean(values, axis=-1), axis=-1, ddof=1)
    share = 1 - 1 / values.shape[-1]
    total = np.maximum(between + within * share, within)
    return MethodPrecision(np.sqrt(within), np.sqrt(total))


class WeibullFit(NamedTuple):
    """Two-parameter Weibull distribution of strength."""

    modulus: FloatArray
    scale: FloatArray


def weibull_fit(results: ArrayLike) -> WeibullFit:
    """Weibull modulus and scale by maximum likelihood.

    Parameters
    ----------
    results : array_like, shape (..., results)
        Strengths above 0 of one kind of flaw and one size of specimen, not all equal.

    Returns
    -------
    WeibullFit
        Modulus m, too high for few results until `unbiased_modulus` [1]; scale, at which 63 % have
        failed. [as given]

    Notes
    -----
    Root of sum(x^m ln x) / sum(x^m) - 1/m - mean(ln x), by halving; scale = (mean of x^m)^(1/m).
    Published check: tests/published/tolerance.toml, "Weibull fit of ten strengths".

    References
    ----------
    ASTM C1239, maximum likelihood, uncensored data (from memory, 97 %).
    """
    logs = np.log(floats(results))
    top = np.max(logs, axis=-1, keepdims=True)
    below = logs - top
    mean = np.mean(below, axis=-1)
    # At the root 1/m is at most the largest log over the mean, so at most sqrt(n) deviations.
    reach = np.sqrt(logs.shape[-1]) * np.std(below, axis=-1)
    low, high = np.log(0.5 / reach), np.log(1e3 * logs.shape[-1] / reach)
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        power = np.exp(np.exp(middle)[..., np.newaxis] * below)
        pull = np.sum(power * below, axis=-1) / np.sum(power, axis=-1) - np.exp(-middle) - mean
        low, high = np.where(pull < 0, middle, low), np.where(pull < 0, high, middle)
    modulus = np.exp((low + high) / 2)
    share = np.mean(np.exp(modulus[..., np.newaxis] * below), axis=-1)
    return WeibullFit(np.asarray(modulus), np.asarray(np.exp(top[..., 0]) * share ** (1 / modulus)))


def unbiased_modulus(modulus: ArrayLike, count: ArrayLike) -> FloatArray:
    """Fitted Weibull modulus freed of the bias that few results give it.

    Parameters
    ----------
    modulus : array_like
        From `weibull_fit`. [1]
    count : array_like
        Number of results, 5 or more; fewer are treated as 5, which takes too little off. [1]

    Returns
    -------
    ndarray
        Modulus times 0.700, 0.859, 0.931, 0.955 for 5, 10, 20, 30 results, in between and beyond on
        lines over 1 / count towards 1 for many; the inputs broadcast. [1]

    Notes
    -----
    Factors from memory (75 to 90 %); simulation gives 0.69, 0.85, 0.93, 0.96.
    Published check: tests/published/tolerance.toml, "unbiasing factors".

    References
    ----------
    ASTM C1239, unbiasing factors; after Thoman, Bain and Antle 1969.
    """
    places = [0.0, *(1 / known for known in _UNBIASING_COUNTS)]
    return floats(modulus) * np.interp(1 / floats(count), places, [1.0, *_UNBIASING_FACTORS])


def weibull_fractile(modulus: ArrayLike, scale: ArrayLike, share: ArrayLike) -> FloatArray:
    """Strength under which a share of specimens fails.

    Parameters
    ----------
    modulus, scale : array_like
        From `weibull_fit`, above 0. [1], [as given]
    share : array_like
        Share that fails, from 0 to below 1. [1]

    Returns
    -------
    ndarray
        scale (-ln(1 - share))^(1/m); the inputs broadcast. [as given]

    Notes
    -----
    Published check: tests/published/tolerance.toml, "fractile of the fit".

    References
    ----------
    Definition of the two-parameter Weibull distribution.
    """
    return np.asarray(floats(scale) * (-np.log1p(-floats(share))) ** (1 / floats(modulus)))


class WeibullMoments(NamedTuple):
    """Mean over scale, and standard deviation over mean."""

    mean_share: FloatArray
    variation: FloatArray


def weibull_moments(modulus: ArrayLike) -> WeibullMoments:
    """Mean and scatter that go with a Weibull modulus.

    Parameters
    ----------
    modulus : array_like
        m, above 0. [1]

    Returns
    -------
    WeibullMoments
        Mean over scale, coefficient of variation. [1]

    Notes
    -----
    Gamma(1 + 1/m), and sqrt(Gamma(1 + 2/m) / Gamma(1 + 1/m)^2 - 1).
    Published check: tests/published/tolerance.toml, "mean and scatter of a modulus".

    References
    ----------
    Definition of the two-parameter Weibull distribution.
    """
    m = floats(modulus)
    first, second = special.gamma(1 + 1 / m), special.gamma(1 + 2 / m)
    return WeibullMoments(np.asarray(first), np.asarray(np.sqrt(second / first**2 - 1)))


def size_factor(volume_ratio: ArrayLike, modulus: ArrayLike) -> FloatArray:
    """Strength of a larger body over that of the specimen, by its weakest place.

    Parameters
    ----------
    volume_ratio : array_like
        Stressed volume (or surface, where flaws sit there) over that of the specimen, above 0. [1]
    modulus : array_like
        Weibull modulus. [1]

    Returns
    -------
    ndarray
        ratio^(-1/m); the inputs broadcast. [1]

    Notes
    -----
    Published check: tests/published/tolerance.toml, "ten times the volume".

    References
    ----------
    Weibull 1939, weakest link.
    """
    return np.asarray(floats(volume_ratio) ** (-1 / floats(modulus)))
