"""Creep of concrete and its gain of strength with age."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

_DAY_S = 86400.0


class CreepFactors(NamedTuple):
    """Correction factors of the ACI creep model, their product and the ultimate coefficient. [-]"""

    age: FloatArray
    humidity: FloatArray
    size: FloatArray
    slump: FloatArray
    fines: FloatArray
    air: FloatArray
    product: FloatArray
    ultimate: FloatArray


def aci_creep(
    loading_age_s: ArrayLike,
    relative_humidity: ArrayLike,
    volume_surface_m: ArrayLike,
    slump_m: ArrayLike,
    fines_share: ArrayLike,
    air_share: ArrayLike,
) -> CreepFactors:
    """Ultimate creep coefficient with every correction factor of ACI 209R-92, moist cured concrete.

    Parameters
    ----------
    loading_age_s : array_like
        Age when the load comes on, above 0. [s]
    relative_humidity : array_like
        Mean humidity of the air, 0.40 to 1. [-]
    volume_surface_m : array_like
        Volume over drying surface. [m]
    slump_m : array_like
        Slump. [m]
    fines_share : array_like
        Fine over total aggregate by weight. [-]
    air_share : array_like
        Air content. [-]

    Returns
    -------
    CreepFactors
        ``ultimate`` is 2.35 times the product of the six factors.

    References
    ----------
    ACI 209.2R-08, A.1.2 (ACI 209R-92), SI forms. Check: tests/published/shrinkage.toml, from C.1.
    """
    age = 1.25 * (floats(loading_age_s) / _DAY_S) ** -0.118
    humidity = 1.27 - 0.67 * floats(relative_humidity)
    size = 2 / 3 * (1 + 1.13 * np.exp(-0.0213 * 1e3 * floats(volume_surface_m)))
    slump = 0.82 + 0.00264 * 1e3 * floats(slump_m)
    fines = 0.88 + 0.0024 * 100 * floats(fines_share)
    air = np.maximum(0.46 + 0.09 * 100 * floats(air_share), 1.0)
    product = age * humidity * size * slump * fines * air
    return CreepFactors(age, humidity, size, slump, fines, air, product, 2.35 * product)


def aci_creep_share(loaded_s: ArrayLike) -> FloatArray:
    """Share of the ultimate creep reached, t^0.6 / (10 + t^0.6) with t in days.

    Parameters
    ----------
    loaded_s : array_like
        Time under load, at or above 0. [s]

    Returns
    -------
    ndarray
        0 to 1. [-]

    References
    ----------
    ACI 209.2R-08, A.1.2.
    """
    power = (floats(loaded_s) / _DAY_S) ** 0.6
    return power / (10 + power)


class ModelCodeCreep(NamedTuple):
    """Parts of the model code creep coefficient. [-]"""

    humidity: FloatArray
    strength: FloatArray
    age: FloatArray
    notional: FloatArray
    share: FloatArray
    coefficient: FloatArray


def mc90_99_creep(
    mean_strength_pa: ArrayLike,
    relative_humidity: ArrayLike,
    volume_surface_m: ArrayLike,
    loading_age_s: ArrayLike,
    loaded_s: ArrayLike,
) -> ModelCodeCreep:
    """Creep coefficient by the model code of 1990 as revised in 1999, normal cement, 20 C.

    Parameters
    ----------
    mean_strength_pa : array_like
        Mean cylinder strength at 28 days. [Pa]
    relative_humidity : array_like
        0.40 to 1. [-]
    volume_surface_m : array_like
        Volume over drying surface. [m]
    loading_age_s : array_like
        Age when the load comes on, above 0. [s]
    loaded_s : array_like
        Time under load, at or above 0. [s]

    Returns
    -------
    ModelCodeCreep
        ``coefficient`` is notional times share.

    References
    ----------
    ACI 209.2R-08, A.3.3; formulas from memory (confidence 92).
    Check: tests/published/shrinkage.toml, against EN 1992-1-1 annex B, which has the same form.
    """
    strength, humidity = floats(mean_strength_pa) / 1e6, floats(relative_humidity)
    depth, loaded = floats(volume_surface_m) / 0.050, floats(loaded_s) / _DAY_S
    dry = (1 - humidity) / np.cbrt(0.1 * depth) * (35 / strength) ** 0.7
    by_humidity = (1 + dry) * (35 / strength) ** 0.2
    by_strength = 5.3 / np.sqrt(strength / 10)
    by_age = 1 / (0.1 + (floats(loading_age_s) / _DAY_S) ** 0.2)
    scale = 150 * (1 + (1.2 * humidity) ** 18) * depth + 250 * np.sqrt(35 / strength)
    # The scale is capped as in the code text, for very thick members.
    share = (loaded / (np.minimum(scale, 1500 * np.sqrt(35 / strength)) + loaded)) ** 0.3
    notional = by_humidity * by_strength * by_age
    return ModelCodeCreep(by_humidity, by_strength, by_age, notional, share, notional * share)


def aci_strength(age_s: ArrayLike, strength_28_pa: ArrayLike) -> FloatArray:
    """Compressive strength at an age, moist cured concrete with type I cement.

    Parameters
    ----------
    age_s : array_like
        Age, at or above 0. [s]
    strength_28_pa : array_like
        Strength at 28 days. [Pa]

    Returns
    -------
    ndarray
        t / (4 + 0.85 t) times the strength at 28 days, t in days. [Pa]

    References
    ----------
    ACI 209.2R-08, A.1.2.
    """
    days = floats(age_s) / _DAY_S
    return days / (4 + 0.85 * days) * floats(strength_28_pa)
