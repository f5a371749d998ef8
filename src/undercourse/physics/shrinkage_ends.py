"""Where the ACI shrinkage model is greatest and least while one of its inputs is open.

Longer curing lowers the shrinkage and shortens the drying; a thicker slab shrinks less and later. What
is still to come is therefore not greatest at an end of either range. The places follow from setting the
derivative of ACI 209.2R-08, A.1.1, with its half time by size, to zero.
"""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats
from undercourse.physics.shrinkage import aci_curing_factor

_DAY_S = 86400.0
# Slope of the curing factor over the natural logarithm of the days, and the two exponents over V/S.
_CURING = 0.2337 / np.log(10.0)
_SIZE_1_M = 4.72
_TIME_1_M = 0.36 / 0.0254
_TIME_AT_NO_SIZE_S = 26 * _DAY_S
# In wet air nothing shrinks; the logarithm of nothing is kept away.
_LEAST_RATIO = 1e-9
# The turning point read backwards: days of curing, and the days of age and half time that go with them.
_CURED_D = np.geomspace(0.5, 400.0, 4001)
_TOTAL_D = _CURED_D * aci_curing_factor(_CURED_D * _DAY_S) / _CURING + _CURED_D


def curing_of_least_remainder(age_s: ArrayLike, half_time_s: ArrayLike) -> FloatArray:
    """Time of curing at which least is still to come at a given age; more is to come on either side.

    Parameters
    ----------
    age_s, half_time_s : array_like
        Age of the concrete and half time of its drying, together above 13 days. [s]

    Returns
    -------
    ndarray
        Where t g(t) / k + t = f + age, with g the curing factor and k its slope; read backwards from a
        fine table, up to 400 days. [s]

    References
    ----------
    Own derivation from ACI 209.2R-08, A.1.1. Check: tests/demands/test_slab_models.py, by dense search.
    """
    total = (floats(age_s) + floats(half_time_s)) / _DAY_S
    return np.asarray(np.interp(total, _TOTAL_D, _CURED_D)) * _DAY_S


def size_of_greatest_remainder(drying_s: ArrayLike) -> FloatArray:
    """Volume over surface at which most is still to come after a drying time, half time by size.

    Parameters
    ----------
    drying_s : array_like
        Drying time. [s]

    Returns
    -------
    ndarray
        Below 0 for short drying: then a smaller member always has more to come. [m]

    References
    ----------
    Own derivation from ACI 209.2R-08, A.1.1. Check: tests/demands/test_slab_models.py, by dense search.
    """
    half_time = floats(drying_s) * (_TIME_1_M / _SIZE_1_M - 1)
    return np.log(np.maximum(half_time, 1.0) / _TIME_AT_NO_SIZE_S) / _TIME_1_M


def size_of_greatest_age(strain_ratio: ArrayLike) -> FloatArray:
    """Volume over surface at which it takes longest until no more than an allowed strain is to come.

    Parameters
    ----------
    strain_ratio : array_like
        Ultimate strain of a member of no size over the allowed remainder, at or above 0. [-]

    Returns
    -------
    ndarray
        [m]

    References
    ----------
    Own derivation from ACI 209.2R-08, A.1.1. Check: tests/demands/test_slab_models.py, by dense search.
    """
    ratio = np.maximum(floats(strain_ratio), _LEAST_RATIO)
    return np.log((1 - _SIZE_1_M / _TIME_1_M) * ratio) / _SIZE_1_M


def curing_of_least_age(strain_ratio: ArrayLike, half_time_s: ArrayLike) -> FloatArray:
    """Time of curing at which the age for an allowed remainder is least; it is later on either side.

    Parameters
    ----------
    strain_ratio : array_like
        Ultimate strain before the curing factor over the allowed remainder, at or above 0. [-]
    half_time_s : array_like
        Half time of the drying. [s]

    Returns
    -------
    ndarray
        The sooner of where a day of curing saves a day of drying and where no drying is needed. [s]

    References
    ----------
    Own derivation from ACI 209.2R-08, A.1.1. Check: tests/demands/test_slab_models.py, by dense search.
    """
    ratio = np.maximum(floats(strain_ratio), _LEAST_RATIO)
    saves = np.asarray(_CURING * floats(half_time_s) * ratio)
    # A factor of 1 over the ratio leaves just the allowed strain; far exponents are no times at all.
    enough = 10 ** np.clip((1.202 - 1 / ratio) / 0.2337, -3.0, 6.0) * _DAY_S
    return np.asarray(np.minimum(saves, enough))
