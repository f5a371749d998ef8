"""The rise of a heated floor's surface some time after switching on, for many floors at once."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

_ORDER = 12


def _weights(order: int) -> FloatArray:
    """Weights of the inverse transform of even order."""
    half = order // 2
    found = []
    for i in range(1, order + 1):
        total = sum(
            k**half
            * math.factorial(2 * k)
            / math.prod(math.factorial(m) for m in (half - k, k, k - 1, i - k, 2 * k - i))
            for k in range((i + 1) // 2, min(i, half) + 1)
        )
        found.append((-1) ** (i + half) * total)
    return np.array(found)


_WEIGHT = _weights(_ORDER)
_NODE = math.log(2.0) * np.arange(1.0, _ORDER + 1.0)


def surface_rise(
    time_s: ArrayLike,
    power_w_m2: ArrayLike,
    above_m2k_w: ArrayLike,
    above_j_m2k: ArrayLike,
    film_w_m2_k: ArrayLike,
    contact_m2k_w: ArrayLike,
    effusivity: ArrayLike,
) -> FloatArray:
    """Rise of the floor surface some time after a constant power was switched on.

    Parameters
    ----------
    time_s : array_like
        Time since switching on, above 0. [s]
    power_w_m2 : array_like
        Power set free in the heated plane. [W/m2]
    above_m2k_w, above_j_m2k : array_like
        Resistance and heat capacity of all that lies over the heat, as one even layer; above 0.
        [m2 K/W], [J/(m2 K)]
    film_w_m2_k : array_like
        Film coefficient on top, at or above 0. [W/(m2 K)]
    contact_m2k_w : array_like
        Resistance without capacity between the heat and the base. [m2 K/W]
    effusivity : array_like
        sqrt(k rho c) of the base, taken as deep, at or above 0. [W s^0.5/(m2 K)]

    Returns
    -------
    ndarray
        Rise; the inputs broadcast. [K]

    Notes
    -----
    Transfer function of a layer, turned back by twelve real terms (Gaver and Stehfest): within 0.05 % of
    `warm_up.warm_up_rise` once the time is a fifth of R C, within 0.2 % at a tenth of it.
    Published check: tests/published/heat_floor.toml, "rise of the surface".

    References
    ----------
    Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., 3.7 (composite slabs); Stehfest,
    Communications of the ACM 13 (1970) 47-49 (inverse transform).
    """
    time = floats(time_s)[..., np.newaxis]
    resistance, capacity = floats(above_m2k_w)[..., np.newaxis], floats(above_j_m2k)[..., np.newaxis]
    film = floats(film_w_m2_k)[..., np.newaxis]
    s = _NODE / time
    root = np.sqrt(s * (resistance * capacity))
    fade = np.exp(-root)
    own, twice = root / resistance, fade * fade
    # Own admittance of the layer times cosh and sinh, all over exp(root) / 2.
    through = own * (1.0 + twice) + film * (1.0 - twice)
    seen = own * (film * (1.0 + twice) + own * (1.0 - twice))
    below = 1.0 / (
        floats(contact_m2k_w)[..., np.newaxis]
        + 1.0 / np.maximum(floats(effusivity)[..., np.newaxis] * np.sqrt(s), 1e-12)
    )
    surface = 2.0 * fade * own / (seen + below * through)
    share = surface @ (_WEIGHT / np.arange(1.0, _ORDER + 1.0))
    return np.asarray(floats(power_w_m2) * share)
