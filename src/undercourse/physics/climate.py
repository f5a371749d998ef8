"""Site climate: evaporation from fresh surfaces, cement maturity, and a ranking of open time.

Three evaporation formulas are printed and each has a trap: the metric form in common print is
rounded and reads about 4 % under its American original; wind is meant half a meter over the
surface, not at a weather mast; and the surface is the warm concrete or bed, not the air.
All describe a surface wet with its own water; scatter of the method is 40 % either way.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from undercourse.physics.moisture import saturation_pressure

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

EVAPORATION_SCATTER = 0.4
"""Scatter of computed evaporation, a share either way; Hover 2020 (abstract)."""
CLASS_TEST_C, CLASS_TEST_HUMIDITY, CLASS_TEST_WIND_M_S = 23.0, 0.5, 0.2
"""Laboratory climate to which class open times are tied; EN 12004-2, 8.1 (from memory, 88 %)."""

_POUND_FOOT2_HOUR = 0.45359237 / 0.09290304 / 3600.0  # kg/(m2 s)
_MPH_M_S = 0.44704
_KM_H_M_S = 1.0 / 3.6
_HOUR_S = 3600.0
_KELVIN = 273.15


def _array(value: ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


def _fahrenheit(temperature_c: ArrayLike) -> FloatArray:
    return np.asarray(_array(temperature_c) * 1.8 + 32.0)


class SpreadArea(NamedTuple):
    """Area of fresh mortar to lay into, as a range; the finger test decides on the day."""

    low_m2: FloatArray
    high_m2: FloatArray


class OpenTime(NamedTuple):
    """Open time on site as a share of that in the class test, with the scatter of the method."""

    ratio: FloatArray
    low: FloatArray
    high: FloatArray


def evaporation(
    surface_c: ArrayLike, air_c: ArrayLike, relative_humidity: ArrayLike, wind_m_s: ArrayLike
) -> FloatArray:
    """Evaporation from a wet cement surface, the American form of the nomograph.

    Parameters
    ----------
    surface_c, air_c : array_like
        Temperature of the fresh surface and of the air, above -17 C. [C]
    relative_humidity : array_like
        Of the air, 0 to 1. [1]
    wind_m_s : array_like
        Wind half a meter above the surface, at or above 0. [m/s]

    Returns
    -------
    ndarray
        Rate, negative where dew falls on the surface; the inputs broadcast. [kg/(m2 s)]

    Notes
    -----
    (Tc^2.5 - r Ta^2.5)(1 + 0.4 V) 1e-6 lb/(ft2 h) with F and mph, worked in SI without rounding.
    This is the one the open time ranking uses. Within 0.02 lb/(ft2 h) of the printed nomograph.
    Published check: tests/published/climate.toml, "nomograph example".

    References
    ----------
    Uno, Plastic Shrinkage Cracking and Evaporation Formulas, ACI Materials Journal 95-4 (1998).
    """
    surface = np.maximum(_fahrenheit(surface_c), 0.0) ** 2.5
    air = np.maximum(_fahrenheit(air_c), 0.0) ** 2.5
    wind = 1.0 + 0.4 * _array(wind_m_s) / _MPH_M_S
    return np.asarray((surface - _array(relative_humidity) * air) * wind * 1e-6 * _POUND_FOOT2_HOUR)


def evaporation_rounded(
    surface_c: ArrayLike, air_c: ArrayLike, relative_humidity: ArrayLike, wind_m_s: ArrayLike
) -> FloatArray:
    """Evaporation by the metric form in common print.

    Parameters
    ----------
    surface_c, air_c, relative_humidity, wind_m_s : array_like
        As in `evaporation`.

    Returns
    -------
    ndarray
        Rate, negative where dew falls on the surface; the inputs broadcast. [kg/(m2 s)]

    Notes
    -----
    5 ((Tc + 18)^2.5 - r (Ta + 18)^2.5)(V + 4) 1e-6 kg/(m2 h) with C and km/h. Its constants are
    rounded: about 4 % under `evaporation`, enough to slip under an alarm value.
    Published check: tests/published/climate.toml, "rounded metric form".

    References
    ----------
    Uno, ACI Materials Journal 95-4 (1998).
    """
    surface = np.maximum(_array(surface_c) + 18.0, 0.0) ** 2.5
    air = np.maximum(_array(air_c) + 18.0, 0.0) ** 2.5
    wind = _array(wind_m_s) / _KM_H_M_S + 4.0
    return np.asarray(5e-6 * (surface - _array(relative_humidity) * air) * wind / _HOUR_S)


def evaporation_by_pressure(
    surface_c: ArrayLike, air_c: ArrayLike, relative_humidity: ArrayLike, wind_m_s: ArrayLike
) -> FloatArray:
    """Evaporation from the vapor pressures at the surface and in the air.

    Parameters
    ----------
    surface_c, air_c, relative_humidity, wind_m_s : array_like
        As in `evaporation`; any temperature.

    Returns
    -------
    ndarray
        Rate, negative where dew falls on the surface; the inputs broadcast. [kg/(m2 s)]

    Notes
    -----
    0.315 (e0 - r ea)(0.253 + 0.060 V) kg/(m2 h) with kPa and km/h (constants from memory, 88 %).
    Published check: tests/published/climate.toml, "vapor pressure form".

    References
    ----------
    Menzel, Causes and Prevention of Crack Development in Plastic Concrete, PCA 1954.
    """
    humidity = _array(relative_humidity)
    drop_kpa = (saturation_pressure(surface_c) - humidity * saturation_pressure(air_c)) / 1000.0
    wind = 0.253 + 0.060 * _array(wind_m_s) / _KM_H_M_S
    return np.asarray(0.315 * drop_kpa * wind / _HOUR_S)


def maturity(temperatures_c: ArrayLike, durations_s: ArrayLike, datum_c: ArrayLike) -> FloatArray:
    """Temperature-time factor of a cement product.

    Parameters
    ----------
    temperatures_c : array_like, shape (..., steps)
        Mean temperature of each step. [C]
    durations_s : array_like, shape (..., steps)
        Length of each step, at or above 0. [s]
    datum_c : array_like, shape (...)
        Temperature at which hardening stops; 0 C, older texts -10 C. [C]

    Returns
    -------
    ndarray, shape (...)
        Sum of (T - T0) dt; steps under the datum add nothing. [K s]

    Notes
    -----
    Published check: tests/published/climate.toml, "temperature-time factor".

    References
    ----------
    ASTM C1074, temperature-time factor (datum from memory, 90 %).
    """
    over = np.maximum(_array(temperatures_c) - _array(datum_c)[..., np.newaxis], 0.0)
    return np.asarray(np.sum(over * _array(durations_s), axis=-1))


def age_factor(temperature_c: ArrayLike, activation_k: ArrayLike, reference_c: ArrayLike) -> FloatArray:
    """How fast a cement product ages at a temperature, against a reference temperature.

    Parameters
    ----------
    temperature_c : array_like
        Product temperature. [C]
    activation_k : array_like
        Activation energy over the gas constant, 4000 to 5500; 5000 where nothing is known. [K]
    reference_c : array_like
        Temperature at which the factor is 1: 20 or 23. [C]

    Returns
    -------
    ndarray
        Factor; the inputs broadcast. A wait at the reference divided by it is the wait here. [1]

    Notes
    -----
    exp(-Q (1/T - 1/Ts)). "Each 10 K colder doubles the cure" is near it (1.83 from 20 to 10 C).
    Published check: tests/published/climate.toml, "age factor".

    References
    ----------
    ASTM C1074, equivalent age (Q from memory, 90 %).
    """
    step = 1.0 / (_array(temperature_c) + _KELVIN) - 1.0 / (_array(reference_c) + _KELVIN)
    return np.asarray(np.exp(-_array(activation_k) * step))


def equivalent_age(
    temperatures_c: ArrayLike, durations_s: ArrayLike, activation_k: ArrayLike, reference_c: ArrayLike
) -> FloatArray:
    """Age at the reference temperature that a temperature history stands for.

    Parameters
    ----------
    temperatures_c, durations_s : array_like, shape (..., steps)
        Mean temperature and length of each step. [C], [s]
    activation_k, reference_c : array_like, shape (...)
        As in `age_factor`.

    Returns
    -------
    ndarray, shape (...)
        Equivalent age. [s]

    Notes
    -----
    Published check: tests/published/climate.toml, "equivalent age".

    References
    ----------
    ASTM C1074, equivalent age.
    """
    factor = age_factor(
        temperatures_c, _array(activation_k)[..., np.newaxis], _array(reference_c)[..., np.newaxis]
    )
    return np.asarray(np.sum(factor * _array(durations_s), axis=-1))


def open_time_index(
    surface_c: ArrayLike, air_c: ArrayLike, relative_humidity: ArrayLike, wind_m_s: ArrayLike
) -> OpenTime:
    """Open time of a thin bed on site against that in the class test, as a ranking.

    Parameters
    ----------
    surface_c, air_c, relative_humidity, wind_m_s : array_like
        As in `evaporation`.

    Returns
    -------
    OpenTime
        Evaporation at 23 C, 50 %, 0.2 m/s over that on site, and the same with 40 % scatter on the
        site's evaporation: divided by 1.4 and by 0.6. Infinite where nothing evaporates. [1]

    Notes
    -----
    A ranking of days and places, never a time in minutes: a thin bed stops giving water long before
    a slab does, suction of substrate and tile is left out, and cold slows the cement too.
    Published check: tests/published/climate.toml, "open time against the class test".

    References
    ----------
    No standard gives it; scatter after Hover 2020, climate of the class test after EN 12004-2.
    """
    test = evaporation(CLASS_TEST_C, CLASS_TEST_C, CLASS_TEST_HUMIDITY, CLASS_TEST_WIND_M_S)
    rate = evaporation(surface_c, air_c, relative_humidity, wind_m_s)
    with np.errstate(divide="ignore"):
        ratio = test / np.maximum(rate, 0.0)
    return OpenTime(
        np.asarray(ratio),
        np.asarray(ratio / (1.0 + EVAPORATION_SCATTER)),
        np.asarray(ratio / (1.0 - EVAPORATION_SCATTER)),
    )


def compare_open_times(first: OpenTime, second: OpenTime) -> IntArray:
    """Which of two conditions leaves longer open time, where the scatter lets one tell.

    Parameters
    ----------
    first, second : OpenTime
        From `open_time_index`; the fields broadcast.

    Returns
    -------
    ndarray
        1 where the first is longer, -1 where the second is, 0 where the ranges overlap.

    Notes
    -----
    Published check: none; an order of ranges, tested as such.

    References
    ----------
    None; common practice, no source.
    """
    longer = (first.low > second.high).astype(np.int64)
    shorter = (first.high < second.low).astype(np.int64)
    return np.asarray(longer - shorter)


def spread_area(open_time: OpenTime, class_time_s: ArrayLike, laying_rate_m2_s: ArrayLike) -> SpreadArea:
    """Range of area to spread at a time, so that tile goes into mortar still open.

    Parameters
    ----------
    open_time : OpenTime
        From `open_time_index`. [1]
    class_time_s : array_like
        Open time of the mortar's class in the laboratory: 1200 s, 1800 s for the extended class. [s]
    laying_rate_m2_s : array_like
        Area that the crew lays in a time, above 0. [m2/s]

    Returns
    -------
    SpreadArea
        Class time times rate times the low and the high ratio, each at most 1. The inputs broadcast. [m2]

    Notes
    -----
    Never one number: the range is wide because the method is. A ratio above 1 is not used, since cold and
    damp weather slow the skin but not the setting alike. Mortar that leaves no mark on a finger is scraped
    off, whatever the range says.
    Published check: tests/published/climate.toml, "area to spread".

    References
    ----------
    Common practice, no source.
    """
    whole = _array(class_time_s) * _array(laying_rate_m2_s)
    return SpreadArea(
        *np.broadcast_arrays(whole * np.minimum(open_time.low, 1.0), whole * np.minimum(open_time.high, 1.0))
    )
