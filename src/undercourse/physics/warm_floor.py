"""The rise of a heated floor's surface some time after switching on, for many floors at once."""

from __future__ import annotations

import math

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats
from undercourse.physics._pieces import in_pieces

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


_NODE = math.log(2.0) * np.arange(1.0, _ORDER + 1.0)
_PER_NODE = 2.0 * _weights(_ORDER) / np.arange(1.0, _ORDER + 1.0)


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
        Resistance and heat capacity of all that lies over the heat, as one even layer; at or above 0.
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
    parts = (time_s, above_m2k_w, above_j_m2k, film_w_m2_k, contact_m2k_w, effusivity)
    return np.asarray(floats(power_w_m2) * in_pieces(_share, *(floats(part) for part in parts)))


def _share(
    time: FloatArray,
    resistance: FloatArray,
    capacity: FloatArray,
    film: FloatArray,
    contact: FloatArray,
    effusivity: FloatArray,
) -> FloatArray:
    """Rise of the surface for 1 W/m2. [m2 K/W]"""
    slow = np.sqrt(np.multiply.outer(_NODE, 1.0 / time))
    root = slow * np.sqrt(resistance * capacity)
    base = slow * effusivity
    below = base / (1.0 + contact * base)
    fade = np.exp(-root)
    # 2 exp(-root) sinh(root) / root; 2 where the layer stores nothing, so that nothing is divided by its
    # own admittance, which is 0 there.
    growth = np.divide(-np.expm1(-2.0 * root), root, out=np.full_like(root, 2.0), where=root > 0.0)
    # Admittances above and below at the heat, and what the layer between adds, carried to the surface.
    even = (film + below) * (1.0 + fade * fade)
    odd = (slow * slow * capacity + below * film * resistance) * growth
    surface = fade / (even + odd)
    return np.asarray(_PER_NODE @ surface)
