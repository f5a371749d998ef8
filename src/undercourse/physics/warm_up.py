"""Warm-up of a layered floor after the heat is switched on: exact in depth, no mesh."""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
ComplexArray = NDArray[np.complex128]

_NODES = 20
_FIRST_S, _LAST_S = 1.0, 1.0e8
_HALVINGS = 48


class WarmUp(NamedTuple):
    """Rise over the state before switching on."""

    source_k: FloatArray
    surface_k: FloatArray
    interfaces_k: FloatArray


class _Stack(NamedTuple):
    """Layers from the source outwards, and the film or other sink behind the last."""

    thickness: FloatArray
    conductivity: FloatArray
    capacity: FloatArray
    film: FloatArray


def _stack(layers: Sequence[ArrayLike], film_w_m2_k: ArrayLike) -> _Stack:
    thickness, conductivity, capacity = np.broadcast_arrays(
        *(np.asarray(part, dtype=np.float64) for part in layers)
    )
    return _Stack(thickness, conductivity, capacity, np.asarray(film_w_m2_k, dtype=np.float64))


def _admittances(s: ComplexArray, stack: _Stack) -> tuple[ComplexArray, list[ComplexArray]]:
    """Admittance seen from the source, and the temperature ratio across each layer outwards."""
    seen: ComplexArray = stack.film + 0.0 * s
    ratios: list[ComplexArray] = []
    for index in range(stack.thickness.shape[-1] - 1, -1, -1):
        conductivity = stack.conductivity[..., index]
        root = np.sqrt(s * stack.capacity[..., index] / conductivity)
        impedance = conductivity * root
        fade = np.exp(-root * stack.thickness[..., index])
        cosine, sine = 1.0 + fade**2, 1.0 - fade**2
        ratios.append(2.0 * fade / (cosine + seen / impedance * sine))
        seen = impedance * (seen * cosine + impedance * sine) / (impedance * cosine + seen * sine)
    return seen, ratios[::-1]


def _transform(s: ComplexArray, power: FloatArray, up: _Stack, down: _Stack) -> ComplexArray:
    """Laplace transform of the rise at source and at each interface above it, last axis."""
    above, ratios = _admittances(s, up)
    below, _ = _admittances(s, down)
    levels: list[ComplexArray] = [np.asarray(power / s / (above + below))]
    for ratio in ratios:
        levels.append(np.asarray(levels[-1] * ratio))
    return np.stack(np.broadcast_arrays(*levels), axis=-1)


def warm_up_rise(
    time_s: ArrayLike,
    power_w_m2: ArrayLike,
    above: Sequence[ArrayLike],
    film_above_w_m2_k: ArrayLike,
    below: Sequence[ArrayLike],
    film_below_w_m2_k: ArrayLike,
) -> WarmUp:
    """Temperature rise of a floor some time after a constant power was switched on.

    Parameters
    ----------
    time_s : array_like, shape (...)
        Time since switching on, above 0. [s]
    power_w_m2 : array_like, shape (...)
        Power set free in the plane between the two stacks. [W/m2]
    above, below : three array_like, each of shape (..., layers)
        Thickness [m], conductivity [W/(m K)] and heat capacity by volume [J/(m3 K)] of the layers
        from the source outwards; empty where there is none.
    film_above_w_m2_k, film_below_w_m2_k : array_like, shape (...)
        Coefficient to the room and to the space below; 0 for an insulated end. [W/(m2 K)]

    Returns
    -------
    WarmUp
        Rise at the source, at the floor surface, and at all planes from source to surface (last
        axis, layers + 1). With steady temperatures around, it adds to the state before. [K]

    Notes
    -----
    Transfer functions of homogeneous layers in the Laplace domain, turned back on a fixed Talbot
    contour of twenty nodes (relative error near 1e-8). One-dimensional: cable ripple comes on top.
    Published check: tests/published/heat.toml, "half space under constant flux".

    References
    ----------
    Carslaw and Jaeger, Conduction of Heat in Solids, 2nd ed., 3.7 (composite slabs). Abate and Valko,
    International Journal for Numerical Methods in Engineering 60 (2004) 979-993 (contour).
    """
    time, power = np.asarray(time_s, dtype=float), np.asarray(power_w_m2, dtype=float)
    up, down = _stack(above, film_above_w_m2_k), _stack(below, film_below_w_m2_k)
    radius = 2.0 * _NODES / (5.0 * time)
    start = _transform(np.asarray(radius, dtype=np.complex128), power, up, down).real
    total = np.exp(radius * time)[..., np.newaxis] / 2.0 * start
    for k in range(1, _NODES):
        angle = k * np.pi / _NODES
        cotangent = 1.0 / np.tan(angle)
        node = radius * angle * (cotangent + 1.0j)
        weight = np.exp(time * node) * (1.0 + 1.0j * (angle + (angle * cotangent - 1.0) * cotangent))
        total = total + (weight[..., np.newaxis] * _transform(node, power, up, down)).real
    rise = np.asarray(total * (radius / _NODES)[..., np.newaxis])
    return WarmUp(rise[..., 0], rise[..., -1], rise)


def warm_up_time(
    surface_rise_k: ArrayLike,
    power_w_m2: ArrayLike,
    above: Sequence[ArrayLike],
    film_above_w_m2_k: ArrayLike,
    below: Sequence[ArrayLike],
    film_below_w_m2_k: ArrayLike,
) -> FloatArray:
    """Time until the floor surface has risen by a given amount.

    Parameters
    ----------
    surface_rise_k : array_like, shape (...)
        Wanted rise of the surface, above 0. [K]
    power_w_m2, above, film_above_w_m2_k, below, film_below_w_m2_k
        As in `warm_up_rise`.

    Returns
    -------
    ndarray, shape (...)
        Time; infinite where the floor does not get there within three years. [s]

    Notes
    -----
    The rise never falls under constant power, so the time is found by halving, to 1e-9 relative.
    Published check: tests/published/heat.toml, "time to a rise".

    References
    ----------
    As `warm_up_rise`.
    """
    target = np.asarray(surface_rise_k, dtype=float)

    def surface(time_s: FloatArray) -> FloatArray:
        rise = warm_up_rise(time_s, power_w_m2, above, film_above_w_m2_k, below, film_below_w_m2_k)
        return rise.surface_k

    shape = np.broadcast_shapes(target.shape, surface(np.asarray(_LAST_S)).shape)
    low, high = np.full(shape, np.log(_FIRST_S)), np.full(shape, np.log(_LAST_S))
    reached = surface(np.exp(high)) >= target
    for _ in range(_HALVINGS):
        middle = (low + high) / 2.0
        there = surface(np.exp(middle)) >= target
        low, high = np.where(there, low, middle), np.where(there, middle, high)
    return np.asarray(np.where(reached, np.exp(high), np.inf))
