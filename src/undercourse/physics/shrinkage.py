"""Drying shrinkage and creep of concrete by four published models, and what is still to come.

Shrinkage is positive. A model gives an ultimate strain and a share of it reached after a drying time;
what remains after the day of tiling is the ultimate times one minus that share.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

_DAY_S = 86400.0
_ACI_STANDARD_STRAIN = 780e-6
_ACI_STANDARD_CREEP = 2.35


def drying_depth(thickness_m: ArrayLike, drying_faces: ArrayLike) -> FloatArray:
    """Ratio of volume to drying surface of a slab.

    Parameters
    ----------
    thickness_m : array_like
        Thickness. [m]
    drying_faces : array_like
        1 on ground, on a vapor retarder or on steel deck; 2 when both faces dry. [-]

    Returns
    -------
    ndarray
        Thickness over faces; the edge of the slab is neglected. [m]
    """
    return floats(thickness_m) / floats(drying_faces)


class ShrinkageFactors(NamedTuple):
    """Correction factors of the ACI shrinkage model, their product and the ultimate strain. [-]"""

    curing: FloatArray
    humidity: FloatArray
    size: FloatArray
    slump: FloatArray
    fines: FloatArray
    cement: FloatArray
    air: FloatArray
    product: FloatArray
    ultimate_strain: FloatArray


def aci_curing_factor(curing_s: ArrayLike) -> FloatArray:
    """Factor of the ACI shrinkage model for the time of moist curing.

    Parameters
    ----------
    curing_s : array_like
        Moist curing, 1 to 90 days. [s]

    Returns
    -------
    ndarray
        1.202 - 0.2337 log10(days). [-]

    References
    ----------
    ACI 209.2R-08, A.1.1. Check: tests/published/shrinkage.toml.
    """
    return 1.202 - 0.2337 * np.log10(floats(curing_s) / _DAY_S)


def aci_humidity_factor(relative_humidity: ArrayLike) -> FloatArray:
    """Factor of the ACI shrinkage model for the humidity of the air.

    Parameters
    ----------
    relative_humidity : array_like
        Mean humidity, 0.40 to 1. [-]

    Returns
    -------
    ndarray
        1.40 - 1.02 h up to 0.80, 3.00 - 3.0 h above: it steps up by 0.016 at 0.80. [-]

    References
    ----------
    ACI 209.2R-08, A.1.1. Check: tests/published/shrinkage.toml.
    """
    humidity = floats(relative_humidity)
    return np.where(humidity <= 0.80, 1.40 - 1.02 * humidity, 3.00 - 3.0 * humidity)


def aci_shrinkage(
    curing_s: ArrayLike,
    relative_humidity: ArrayLike,
    volume_surface_m: ArrayLike,
    slump_m: ArrayLike,
    fines_share: ArrayLike,
    cement_kg_m3: ArrayLike,
    air_share: ArrayLike,
) -> ShrinkageFactors:
    """Ultimate drying shrinkage with every correction factor of ACI 209R-92.

    Parameters
    ----------
    curing_s : array_like
        Moist curing, 1 to 90 days. [s]
    relative_humidity : array_like
        Mean humidity of the air, 0.40 to 1. [-]
    volume_surface_m : array_like
        Volume over drying surface, see `drying_depth`. [m]
    slump_m : array_like
        Slump. [m]
    fines_share : array_like
        Fine over total aggregate by weight. [-]
    cement_kg_m3 : array_like
        Cement content. [kg/m3]
    air_share : array_like
        Air content. [-]

    Returns
    -------
    ShrinkageFactors
        ``ultimate_strain`` is 780e-6 times the product of the seven factors.

    Notes
    -----
    The humidity factor has a step up of 0.016 at 0.80: it does not fall everywhere, so an interval
    of humidity that spans 0.80 needs its own enclosure.

    References
    ----------
    ACI 209.2R-08, A.1.1 (ACI 209R-92), SI forms. Check: tests/published/shrinkage.toml, from C.1.
    """
    humidity, fines = floats(relative_humidity), 100 * floats(fines_share)
    curing, by_humidity = aci_curing_factor(curing_s), aci_humidity_factor(humidity)
    size = 1.2 * np.exp(-0.00472 * 1e3 * floats(volume_surface_m))
    slump = 0.89 + 0.00161 * 1e3 * floats(slump_m)
    # Up to 50 % the first line is the lower one, above it the second.
    by_fines = np.minimum(0.30 + 0.014 * fines, 0.90 + 0.002 * fines)
    cement = 0.75 + 0.00061 * floats(cement_kg_m3)
    air = np.maximum(0.95 + 0.008 * 100 * floats(air_share), 1.0)
    product = curing * by_humidity * size * slump * by_fines * cement * air
    return ShrinkageFactors(
        curing, by_humidity, size, slump, by_fines, cement, air, product, _ACI_STANDARD_STRAIN * product
    )


def aci_half_time(volume_surface_m: ArrayLike) -> FloatArray:
    """Drying time after which half the shrinkage has come, by size of the member.

    Parameters
    ----------
    volume_surface_m : array_like
        Volume over drying surface. [m]

    Returns
    -------
    ndarray
        26 exp(0.36 V/S) days with V/S in inches; the plain model takes 35 days moist cured and
        55 days steam cured for any size. [s]

    References
    ----------
    ACI 209.2R-08, A.1.1; from memory (confidence 90).
    """
    return 26 * np.exp(0.36 * floats(volume_surface_m) / 0.0254) * _DAY_S


def hyperbolic_share(drying_s: ArrayLike, half_time_s: ArrayLike) -> FloatArray:
    """Share of the ultimate shrinkage reached, t / (f + t).

    Parameters
    ----------
    drying_s : array_like
        Time since the end of curing, at or above 0. [s]
    half_time_s : array_like
        f, above 0: 35 days moist cured, 55 days steam cured, or `aci_half_time`. [s]

    Returns
    -------
    ndarray
        0 to 1. [-]

    References
    ----------
    ACI 209.2R-08, A.1.1.
    """
    drying = floats(drying_s)
    return drying / (floats(half_time_s) + drying)


def hyperbolic_time(share: ArrayLike, half_time_s: ArrayLike) -> FloatArray:
    """Drying time until a share is reached, the inverse of `hyperbolic_share`.

    Parameters
    ----------
    share : array_like
        0 to 1; at 1 the time is infinite. [-]
    half_time_s : array_like
        f. [s]

    Returns
    -------
    ndarray
        f s / (1 - s). [s]

    References
    ----------
    ACI 209.2R-08, A.1.1, with exponent 1, solved for the time.
    """
    reached = floats(share)
    with np.errstate(divide="ignore"):
        return floats(half_time_s) * reached / (1 - reached)


def mc90_time_constant(volume_surface_m: ArrayLike) -> FloatArray:
    """Time constant of `root_share` in the model code of 1990.

    Parameters
    ----------
    volume_surface_m : array_like
        Volume over drying surface. [m]

    Returns
    -------
    ndarray
        350 ((V/S) / 50 mm)^2 days. [s]

    References
    ----------
    CEB-FIP Model Code 1990, as given in ACI 209.2R-08, A.3.1.
    """
    return 350 * (floats(volume_surface_m) / 0.050) ** 2 * _DAY_S


def gl2000_time_constant(volume_surface_m: ArrayLike) -> FloatArray:
    """Time constant of `root_share` in the GL2000 model.

    Parameters
    ----------
    volume_surface_m : array_like
        Volume over drying surface. [m]

    Returns
    -------
    ndarray
        0.12 (V/S)^2 days with V/S in mm. [s]

    References
    ----------
    ACI 209.2R-08, A.4.5; from memory (confidence 88; the first version of 2001 had 0.15).
    """
    return 0.12 * (1e3 * floats(volume_surface_m)) ** 2 * _DAY_S


def root_share(drying_s: ArrayLike, time_constant_s: ArrayLike) -> FloatArray:
    """Share of the ultimate shrinkage reached, sqrt(t / (t + c)).

    Parameters
    ----------
    drying_s : array_like
        Time since the end of curing, at or above 0. [s]
    time_constant_s : array_like
        c, above 0, from `mc90_time_constant` or `gl2000_time_constant`. [s]

    Returns
    -------
    ndarray
        0 to 1. [-]

    References
    ----------
    CEB-FIP Model Code 1990, as given in ACI 209.2R-08, p. 209.2R-38; GL2000, same guide, A.4.
    """
    drying = floats(drying_s)
    return np.sqrt(drying / (drying + floats(time_constant_s)))


def root_time(share: ArrayLike, time_constant_s: ArrayLike) -> FloatArray:
    """Drying time until a share is reached, the inverse of `root_share`.

    Parameters
    ----------
    share : array_like
        0 to 1; at 1 the time is infinite. [-]
    time_constant_s : array_like
        c. [s]

    Returns
    -------
    ndarray
        c s^2 / (1 - s^2). [s]
    """
    square = floats(share) ** 2
    with np.errstate(divide="ignore"):
        return floats(time_constant_s) * square / (1 - square)


def mc90_shrinkage(
    mean_strength_pa: ArrayLike, relative_humidity: ArrayLike, cement_coefficient: ArrayLike
) -> FloatArray:
    """Ultimate shrinkage by the model code of 1990.

    Parameters
    ----------
    mean_strength_pa : array_like
        Mean cylinder strength at 28 days. [Pa]
    relative_humidity : array_like
        0.40 to 0.99. [-]
    cement_coefficient : array_like
        4 slow, 5 normal or rapid hardening, 8 rapid hardening high strength. [-]

    Returns
    -------
    ndarray
        (160 + 10 b (9 - fcm / 10 MPa)) 1e-6 * 1.55 (1 - h^3). [-]

    References
    ----------
    CEB-FIP Model Code 1990, as given in ACI 209.2R-08, A.3.1.
    """
    strength = 160 + 10 * floats(cement_coefficient) * (9 - floats(mean_strength_pa) / 10e6)
    return strength * 1e-6 * 1.55 * (1 - floats(relative_humidity) ** 3)


def mc90_99_shrinkage(
    mean_strength_pa: ArrayLike,
    relative_humidity: ArrayLike,
    cement_level: ArrayLike,
    cement_slope: ArrayLike,
) -> FloatArray:
    """Ultimate drying shrinkage by the model code of 1990 as revised in 1999.

    Parameters
    ----------
    mean_strength_pa : array_like
        Mean cylinder strength at 28 days. [Pa]
    relative_humidity : array_like
        0.40 to 0.99. [-]
    cement_level, cement_slope : array_like
        4 and 0.12 for normal cement. [-]

    Returns
    -------
    ndarray
        (220 + 110 a1) exp(-a2 fcm / 10 MPa) 1e-6 * 1.55 (1 - h^3); without the autogenous part. [-]

    Notes
    -----
    EN 1992-1-1 takes 0.85 of this as its nominal drying shrinkage (annex B.2).

    References
    ----------
    ACI 209.2R-08, A.3.2. Check: tests/published/shrinkage.toml.
    """
    level = 220 + 110 * floats(cement_level)
    strain = level * np.exp(-floats(cement_slope) * floats(mean_strength_pa) / 10e6) * 1e-6
    return strain * 1.55 * (1 - floats(relative_humidity) ** 3)


def gl2000_mean_strength(specified_strength_pa: ArrayLike) -> FloatArray:
    """Mean strength that goes with a specified strength, 1.1 f'c + 5 MPa.

    Parameters
    ----------
    specified_strength_pa : array_like
        Specified cylinder strength. [Pa]

    Returns
    -------
    ndarray
        [Pa]

    References
    ----------
    ACI 209.2R-08, A.4.1; from memory (confidence 88).
    """
    return 1.1 * floats(specified_strength_pa) + 5e6


def gl2000_shrinkage(
    mean_strength_pa: ArrayLike, relative_humidity: ArrayLike, cement_factor: ArrayLike
) -> FloatArray:
    """Ultimate shrinkage by the GL2000 model.

    Parameters
    ----------
    mean_strength_pa : array_like
        Mean cylinder strength at 28 days. [Pa]
    relative_humidity : array_like
        Above 0.96 the model gives swelling. [-]
    cement_factor : array_like
        Cement type I 1.0, II 0.75, III 1.15. [-]

    Returns
    -------
    ndarray
        900 k sqrt(30 MPa / fcm) 1e-6 * (1 - 1.18 h^4). [-]

    References
    ----------
    ACI 209.2R-08, A.4.5; from memory (confidence 88).
    """
    strength = 900e-6 * floats(cement_factor) * np.sqrt(30e6 / floats(mean_strength_pa))
    return strength * (1 - 1.18 * floats(relative_humidity) ** 4)


def remaining_shrinkage(ultimate_strain: ArrayLike, share_at_tiling: ArrayLike) -> FloatArray:
    """Shrinkage that is still to come after the day of tiling.

    Parameters
    ----------
    ultimate_strain : array_like
        From one of the models. [-]
    share_at_tiling : array_like
        Share reached on that day, 0 to 1. [-]

    Returns
    -------
    ndarray
        Strain that tile has to follow or a membrane to take up. [-]

    References
    ----------
    Definition.
    """
    return floats(ultimate_strain) * (1 - floats(share_at_tiling))


def share_for_remainder(ultimate_strain: ArrayLike, allowed_remainder: ArrayLike) -> FloatArray:
    """Share that must be reached before no more than an allowed strain is still to come.

    Parameters
    ----------
    ultimate_strain : array_like
        At or above 0. [-]
    allowed_remainder : array_like
        Above 0. [-]

    Returns
    -------
    ndarray
        0 to 1; `hyperbolic_time` or `root_time` turns it into a drying time. [-]

    References
    ----------
    Definition.
    """
    # What shrinks by less than a billionth shrinks by nothing.
    ultimate = np.maximum(floats(ultimate_strain), 1e-9)
    return np.clip(1 - floats(allowed_remainder) / ultimate, 0.0, 1.0)
