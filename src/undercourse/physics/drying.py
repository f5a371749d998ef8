"""Slab moisture tests and drying times, as ranges.

Two slab readings live here and never meet. Relative humidity in a drilled hole looks deep and
is a state; vapor emission of a dish on the surface sees the top 20 mm and is a rate. No formula
turns one into the other, so no function here takes one and gives the other.

All waits are rough and for planning: a reading decides.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
BoolArray = NDArray[np.bool_]

_DAY_S = 86400.0
_INCH_M = 0.0254
_REFERENCE_SLAB_M = 4 * _INCH_M
_SLOW_DAYS_PER_INCH, _FAST_DAYS_PER_INCH = 30.0, 28.0
_WATER_CEMENT = (0.4, 0.5, 0.6, 0.7, 0.8, 0.9, 1.0)
_DAYS_TO_LOW_EMISSION = (46.0, 82.0, 117.0, 130.0, 148.0, 166.0, 190.0)
_GYPSUM_INCHES = (0.25, 0.5, 0.75, 1.0, 2.0)
_GYPSUM_DAYS = (2.0, 3.0, 5.0, 7.0, 14.0)


def _array(value: ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


class Wait(NamedTuple):
    """A waiting time as a range, and whether the source covers the case at all."""

    low_s: FloatArray
    high_s: FloatArray
    covered: BoolArray


def _usual_depth(depth_m: FloatArray) -> BoolArray:
    return np.asarray((depth_m >= 0.05) & (depth_m <= 0.205))


def _spread(low_s: FloatArray, high_s: FloatArray, spread: ArrayLike, covered: BoolArray) -> Wait:
    factor = 1.0 + _array(spread)
    return Wait(np.asarray(low_s / factor), np.asarray(high_s * factor), covered)


def dish_emission(mass_gain_kg: ArrayLike, area_m2: ArrayLike, exposure_s: ArrayLike) -> FloatArray:
    """Vapor emission rate (MVER) from the mass gain of a covered calcium chloride dish.

    Parameters
    ----------
    mass_gain_kg : array_like
        Gain of the dish. [kg]
    area_m2 : array_like
        Floor area under the dome less the dish, above 0. [m2]
    exposure_s : array_like
        Exposure, above 0; the method allows 60 to 72 h. [s]

    Returns
    -------
    ndarray
        Emission rate; the inputs broadcast. [kg/(m2 s)]

    Notes
    -----
    In customary units 52.91 M / (A T) lb/(1000 ft2 24 h) with g, ft2 and h. Not for gypsum or
    lightweight concrete. Not convertible to or from relative humidity in the slab.
    Published check: tests/published/moisture.toml, "dish test".

    References
    ----------
    ASTM F1869, calculation and scope.
    """
    exposure = _array(area_m2) * _array(exposure_s)
    return np.asarray(_array(mass_gain_kg) / exposure)


def probe_depth(thickness_m: ArrayLike, drying_faces: ArrayLike) -> FloatArray:
    """Depth of the hole in which slab humidity is read.

    Parameters
    ----------
    thickness_m : array_like
        Slab thickness. [m]
    drying_faces : array_like
        1 where only the top dries, 2 where the underside dries too.

    Returns
    -------
    ndarray
        Depth under the surface; the inputs broadcast. [m]

    Notes
    -----
    40 % of the thickness for one face, 20 % for two.
    Published check: tests/published/moisture.toml, "probe depth".

    References
    ----------
    ASTM F2170, hole depth.
    """
    return np.asarray(0.4 * _array(thickness_m) / _array(drying_faces))


def wait_to_humidity(drying_depth_m: ArrayLike, spread: ArrayLike) -> Wait:
    """Rough range of time until a slab reads 85 % relative humidity.

    Parameters
    ----------
    drying_depth_m : array_like
        Slab thickness, or half of it where both faces dry; above 0. [m]
    spread : array_like
        Share added at the top and, as a divisor, at the bottom for weather and mix. [1]

    Returns
    -------
    Wait
        Range and coverage; the inputs broadcast; covered from 50 to 205 mm. [s]

    Notes
    -----
    The rule of 28 to 30 days per inch, widened: the rule grows with the depth, diffusion with its
    square; both agree at 4 in, the slab the rule comes from. Enclosed room, no rain, no wetting
    from below. A reading decides, never this.
    Published check: tests/published/moisture.toml, "days per inch".

    References
    ----------
    Trade rule of 28 to 30 days per inch, quoted in several trade articles as a rough guide only.
    """
    depth = _array(drying_depth_m)
    ratio = depth / _REFERENCE_SLAB_M
    day_per_inch = depth / _INCH_M * _DAY_S
    low = _FAST_DAYS_PER_INCH * day_per_inch * np.minimum(1.0, ratio)
    high = _SLOW_DAYS_PER_INCH * day_per_inch * np.maximum(1.0, ratio)
    return _spread(low, high, spread, _usual_depth(depth))


def emission_days(water_cement: ArrayLike) -> FloatArray:
    """Time until a 4 in slab, sealed below, emits 3 lb per 1000 square feet a day.

    Parameters
    ----------
    water_cement : array_like
        Water to cement ratio of the mix; covered from 0.4 to 1.0, the end value held beyond. [1]

    Returns
    -------
    ndarray
        Time, same shape. [s]

    Notes
    -----
    Tabulated ratios, on a straight line between them.
    Published check: tests/published/moisture.toml, "days of a 4 in slab".

    References
    ----------
    Brewer, Moisture Migration: Concrete Slab-on-Ground Construction, 1965 (values from memory).
    """
    return np.asarray(np.interp(_array(water_cement), _WATER_CEMENT, _DAYS_TO_LOW_EMISSION) * _DAY_S)


def wait_to_emission(drying_depth_m: ArrayLike, water_cement: ArrayLike, spread: ArrayLike) -> Wait:
    """Rough range of time until a slab emits 3 lb per 1000 square feet a day.

    Parameters
    ----------
    drying_depth_m : array_like
        Slab thickness, or half of it where both faces dry; above 0. [m]
    water_cement : array_like
        Water to cement ratio of the mix. [1]
    spread : array_like
        Share added at the top and, as a divisor, at the bottom for weather and mix. [1]

    Returns
    -------
    Wait
        Range and coverage; the inputs broadcast; covered from 50 to 205 mm and 0.4 to 1.0. Outside
        that ratio the end value is held. [s]

    Notes
    -----
    Days of a 4 in slab sealed below, carried to other depths once in proportion and once with the
    square of the depth; the range spans both. Room about 23 C and 50 %.
    Published check: tests/published/moisture.toml, "days to low emission".

    References
    ----------
    Brewer, Moisture Migration: Concrete Slab-on-Ground Construction, 1965 (values from memory).
    """
    depth = _array(drying_depth_m)
    mix = _array(water_cement)
    ratio = depth / _REFERENCE_SLAB_M
    reference = emission_days(mix)
    low = reference * np.minimum(ratio, ratio**2)
    high = reference * np.maximum(ratio, ratio**2)
    covered = _usual_depth(depth) & (mix >= _WATER_CEMENT[0]) & (mix <= _WATER_CEMENT[-1])
    return _spread(low, high, spread, covered)


def gypsum_wait(thickness_m: ArrayLike) -> Wait:
    """Least time before a poured gypsum underlayment is worth a dryness test.

    Parameters
    ----------
    thickness_m : array_like
        Thickness, above 0. [m]

    Returns
    -------
    Wait
        Both ends equal; covered from 1/4 to 2 in. Thinner pours keep the first value, thicker
        ones go on at the last slope. [s]

    Notes
    -----
    Dryness itself is shown by a plastic sheet test; the dish of `dish_emission` does not apply.
    Published check: tests/published/moisture.toml, "gypsum waiting times".

    References
    ----------
    Trade reference manual on tile over gypsum: 1/4 in 48 h, 1/2 in 72 h, 3/4 in 5 d, 1 in 7 d,
    2 in 2 weeks before testing.
    """
    inches = _array(thickness_m) / _INCH_M
    slope = (_GYPSUM_DAYS[-1] - _GYPSUM_DAYS[-2]) / (_GYPSUM_INCHES[-1] - _GYPSUM_INCHES[-2])
    beyond = np.maximum(0.0, inches - _GYPSUM_INCHES[-1])
    wait = np.asarray((np.interp(inches, _GYPSUM_INCHES, _GYPSUM_DAYS) + slope * beyond) * _DAY_S)
    tolerance = 1e-9
    covered = (inches >= _GYPSUM_INCHES[0] - tolerance) & (inches <= _GYPSUM_INCHES[-1] + tolerance)
    return Wait(wait, wait, np.asarray(covered))


def anhydrite_wait(thickness_m: ArrayLike) -> FloatArray:
    """Air-drying time usually allowed for a calcium sulfate screed before it is tested.

    Parameters
    ----------
    thickness_m : array_like
        Screed thickness, above 0. [m]

    Returns
    -------
    ndarray
        Time in good drying weather, same shape. [s]

    Notes
    -----
    1 day a millimeter to 40 mm, then 2 days for each further millimeter.
    Published check: tests/published/moisture.toml, "calcium sulfate screed".

    References
    ----------
    British trade pages on calcium sulfate screeds.
    """
    thickness_mm = _array(thickness_m) * 1000.0
    days = np.minimum(thickness_mm, 40.0) + 2.0 * np.maximum(thickness_mm - 40.0, 0.0)
    return np.asarray(days * _DAY_S)
