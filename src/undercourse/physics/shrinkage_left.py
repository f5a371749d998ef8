"""Waiting for shrinkage: age for a remainder, what is left over a range of thickness, scatter of models."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats
from undercourse.physics.shrinkage import (
    aci_half_time,
    hyperbolic_share,
    hyperbolic_time,
    root_time,
    share_for_remainder,
)

_DAY_S = 86400.0
MOIST_CURED_HALF_TIME_S = 35 * _DAY_S
"""Half time f of moist cured concrete, any size; ACI 209R-92 (35 days, printed in open sources)."""
STEAM_CURED_HALF_TIME_S = 55 * _DAY_S
"""Half time f of steam cured concrete, any size; ACI 209R-92 (55 days, printed in open sources)."""
SHRINKAGE_VARIATION: Mapping[str, float] = MappingProxyType(
    {"ACI 209R-92": 0.55, "MC90": 0.46, "MC90-99": 0.46, "GL2000": 0.37}
)
"""Coefficient of variation of measured over computed shrinkage: ACI 209R-92 and MC90 from memory (confidence
80; Bazant and Baweja 2000, quoted in ACI 209.2R-08), GL2000 from memory (confidence 60; Al-Manaseer and Lam
2005); MC90-99 is given that of MC90."""
# Size factor 1.2 exp(-a V/S) of the shrinkage, growth exp(b V/S) of the half time. [1/m]
_SIZE_FADE = 0.00472e3
_SIZE_GROWTH = 0.36 / 0.0254


class Bounds(NamedTuple):
    """Least and greatest value over a range of inputs."""

    low: FloatArray
    high: FloatArray


def age_for_remainder(
    ultimate_strain: ArrayLike, allowed_remainder: ArrayLike, half_time_s: ArrayLike, curing_s: ArrayLike
) -> FloatArray:
    """Age of concrete at which no more than an allowed shrinkage is still to come, ACI time curve.

    Parameters
    ----------
    ultimate_strain : array_like
        From `shrinkage.aci_shrinkage`, above 0. [-]
    allowed_remainder : array_like
        Strain still to come, at or above 0. [-]
    half_time_s : array_like
        `MOIST_CURED_HALF_TIME_S`, `STEAM_CURED_HALF_TIME_S` or `shrinkage.aci_half_time`. [s]
    curing_s : array_like
        Age at the end of curing, when drying begins. [s]

    Returns
    -------
    ndarray
        tc + f (e / r - 1); the end of curing where all of it is allowed, infinite for none. [s]

    Notes
    -----
    The half time belongs to this model alone; do not put it under another model's strain.
    Published check: tests/published/shrinkage_left.toml.

    References
    ----------
    ACI 209.2R-08, A.1.1, turned round.
    """
    share = share_for_remainder(ultimate_strain, allowed_remainder)
    return np.asarray(floats(curing_s) + hyperbolic_time(share, half_time_s))


def age_for_remainder_by_root(
    ultimate_strain: ArrayLike,
    allowed_remainder: ArrayLike,
    time_constant_s: ArrayLike,
    curing_s: ArrayLike,
) -> FloatArray:
    """As `age_for_remainder` with the time curve of the model codes and of GL2000.

    Parameters
    ----------
    ultimate_strain : array_like
        From the model that the time constant belongs to, above 0. [-]
    allowed_remainder : array_like
        Strain still to come, at or above 0. [-]
    time_constant_s : array_like
        `shrinkage.mc90_time_constant` or `shrinkage.gl2000_time_constant`. [s]
    curing_s : array_like
        Age at the end of curing. [s]

    Returns
    -------
    ndarray
        tc + c s^2 / (1 - s^2) with s = 1 - r / e. [s]

    Notes
    -----
    Published check: tests/published/shrinkage_left.toml.

    References
    ----------
    ACI 209.2R-08, A.3.1 and A.4.5, turned round.
    """
    share = share_for_remainder(ultimate_strain, allowed_remainder)
    return np.asarray(floats(curing_s) + root_time(share, time_constant_s))


def _sized(base_strain: FloatArray, depth_m: FloatArray) -> FloatArray:
    return np.asarray(base_strain * 1.2 * np.exp(-_SIZE_FADE * depth_m))


def remaining_shrinkage_bounds(
    thickness_low_m: ArrayLike,
    thickness_high_m: ArrayLike,
    drying_faces: ArrayLike,
    drying_low_s: ArrayLike,
    drying_high_s: ArrayLike,
    base_strain: ArrayLike,
) -> Bounds:
    """Least and greatest shrinkage still to come over a range of thickness and of drying time.

    Parameters
    ----------
    thickness_low_m, thickness_high_m : array_like
        Range of slab thickness, above 0. [m]
    drying_faces : array_like
        1 or 2, as in `shrinkage.drying_depth`. [-]
    drying_low_s, drying_high_s : array_like
        Range of drying time at tiling, above 0. [s]
    base_strain : array_like
        Ultimate strain of the ACI model without its size factor: ``ultimate_strain / size``. [-]

    Returns
    -------
    Bounds
        With the half time that depends on size. The inputs broadcast. [-]

    Notes
    -----
    R = e 1.2 exp(-a y) f / (f + t) with f = 26 d exp(b y) and y = V/S. It falls with t. In y, d(ln R)/dy =
    b t / (f + t) - a falls as f grows, so R rises up to f = t (b - a) / a (2.0 t here) and falls beyond: the
    least value is at an end and the greatest at an end or there. A thicker slab thus may have less or more to
    come. The bounds are exact, not wider. For a half time that does not depend on size R falls with
    thickness and the ends suffice.
    Published check: tests/published/shrinkage_left.toml, and by dense sampling in the tests.

    References
    ----------
    ACI 209.2R-08, A.1.1 (half time by size from memory, confidence 90); bounds: own derivation.
    """
    faces = floats(drying_faces)
    low, high = floats(thickness_low_m) / faces, floats(thickness_high_m) / faces
    early, late, base = floats(drying_low_s), floats(drying_high_s), floats(base_strain)

    def left(depth: FloatArray, drying: FloatArray) -> FloatArray:
        share = hyperbolic_share(drying, aci_half_time(depth))
        return np.asarray(_sized(base, depth) * (1 - share))

    turn = early * (_SIZE_GROWTH - _SIZE_FADE) / _SIZE_FADE
    peak = np.clip(np.log(turn / aci_half_time(0.0)) / _SIZE_GROWTH, low, high)
    least = np.minimum(left(low, late), left(high, late))
    return Bounds(*np.broadcast_arrays(least, left(np.asarray(peak), early)))


def age_for_remainder_bounds(
    thickness_low_m: ArrayLike,
    thickness_high_m: ArrayLike,
    drying_faces: ArrayLike,
    base_strain: ArrayLike,
    allowed_remainder: ArrayLike,
    curing_s: ArrayLike,
) -> Bounds:
    """Least and greatest age for a remainder over a range of thickness, half time by size.

    Parameters
    ----------
    thickness_low_m, thickness_high_m, drying_faces, base_strain : array_like
        As in `remaining_shrinkage_bounds`.
    allowed_remainder : array_like
        Strain still to come, above 0. [-]
    curing_s : array_like
        Age at the end of curing. [s]

    Returns
    -------
    Bounds
        Ages; the end of curing where nothing need be waited for. The inputs broadcast. [s]

    Notes
    -----
    The drying time f (c exp(-a y) - 1) with c = 1.2 e / r rises where exp(-a y) > b / ((b - a) c) and falls
    beyond, so its greatest value is at an end or there and its least at an end. Exact bounds.
    Published check: tests/published/shrinkage_left.toml, and by dense sampling in the tests.

    References
    ----------
    As `remaining_shrinkage_bounds`.
    """
    faces = floats(drying_faces)
    low, high = floats(thickness_low_m) / faces, floats(thickness_high_m) / faces
    base, allowed, curing = floats(base_strain), floats(allowed_remainder), floats(curing_s)

    def age(depth: FloatArray) -> FloatArray:
        return age_for_remainder(_sized(base, depth), allowed, aci_half_time(depth), curing)

    turn = (_SIZE_GROWTH - _SIZE_FADE) / _SIZE_GROWTH * 1.2 * base / allowed
    peak = np.clip(np.log(turn) / _SIZE_FADE, low, high)
    return Bounds(*np.broadcast_arrays(np.minimum(age(low), age(high)), age(np.asarray(peak))))


def scatter_range(strain: ArrayLike, variation: ArrayLike, deviations: ArrayLike) -> Bounds:
    """Range of real shrinkage about what a model says.

    Parameters
    ----------
    strain : array_like
        Ultimate or remaining strain by one model. [-]
    variation : array_like
        Coefficient of variation of that model, see `SHRINKAGE_VARIATION`. [-]
    deviations : array_like
        Standard deviations to either side: 1 for about two thirds of slabs. [-]

    Returns
    -------
    Bounds
        strain (1 - k v), not below 0, and strain (1 + k v). The inputs broadcast. [-]

    Notes
    -----
    A verdict rests on the range, never on the middle. Scatter of two models is not mixed.
    Published check: tests/published/shrinkage_left.toml.

    References
    ----------
    ACI 209.2R-08, 4.5, on statistical comparisons.
    """
    middle, reach = floats(strain), floats(variation) * floats(deviations)
    return Bounds(*np.broadcast_arrays(middle * np.maximum(1 - reach, 0.0), middle * (1 + reach)))
