"""Heated floors in steady state: surface emission, flux up and down, slab on ground, cables.

Electrical power splits into flux up and flux down. Everything that takes `flux_up_w_m2` takes
what already remains for the room, so a downward loss is taken off once, in `split_flux`.
Temperature limits belong to jurisdictions and products and stay outside.

Clause numbers are from memory; the formulas are the ones named there.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

UPWARD_FILM_W_M2_K = 10.8
"""Total film coefficient of a warm floor; EN 1264 and ISO 11855 (from memory, 96 %)."""
DOWNWARD_FILM_M2K_W = 0.17
"""Film resistance under a floor that gives heat downwards; EN 1264-2, ISO 6946:2017 table 7."""
OUTDOOR_FILM_M2K_W = 0.04
"""Outer film resistance; ISO 6946:2017 table 7."""

_EMISSION_FACTOR = 8.92
_EMISSION_EXPONENT = 1.1
_KELVIN = 273.15


def _array(value: ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


class FluxSplit(NamedTuple):
    """Where the power of a heated plane goes, and the temperatures that follow."""

    up_w_m2: FloatArray
    down_w_m2: FloatArray
    source_c: FloatArray
    surface_c: FloatArray


class PanelFlux(NamedTuple):
    """Surface emission split into its two ways."""

    radiant_w_m2: FloatArray
    convective_w_m2: FloatArray
    total_w_m2: FloatArray


class CombinedResistance(NamedTuple):
    """Bounds and mean of the resistance of a layer stack with unlike paths."""

    upper_m2k_w: FloatArray
    lower_m2k_w: FloatArray
    mean_m2k_w: FloatArray


def upward_heat_flux(surface_excess_k: ArrayLike) -> FloatArray:
    """Heat that a warm floor gives to the room.

    Parameters
    ----------
    surface_excess_k : array_like
        Mean surface temperature over operative room temperature; below 0 counts as 0. [K]

    Returns
    -------
    ndarray
        Flux upwards, same shape. [W/m2]

    Notes
    -----
    8.92 dT^1.1. Do not mix with `panel_heat_flux`, which reads about 15 % less.
    Published check: tests/published/heat.toml, "basic characteristic".

    References
    ----------
    EN 1264-2:2008+A1:2012, basic characteristic curve; ISO 11855-2.
    """
    excess = np.maximum(_array(surface_excess_k), 0.0)
    return np.asarray(_EMISSION_FACTOR * excess**_EMISSION_EXPONENT)


def surface_excess(flux_up_w_m2: ArrayLike) -> FloatArray:
    """Mean surface temperature over the room that a given upward flux needs.

    Parameters
    ----------
    flux_up_w_m2 : array_like
        Flux to the room, at or above 0. [W/m2]

    Returns
    -------
    ndarray
        Excess, same shape. [K]

    Notes
    -----
    Exact inverse of `upward_heat_flux`.
    Published check: tests/published/heat.toml, "basic characteristic turned round".

    References
    ----------
    EN 1264-2:2008+A1:2012, basic characteristic curve.
    """
    return np.asarray((_array(flux_up_w_m2) / _EMISSION_FACTOR) ** (1.0 / _EMISSION_EXPONENT))


def panel_heat_flux(surface_c: ArrayLike, air_c: ArrayLike, other_surfaces_c: ArrayLike) -> PanelFlux:
    """Radiant and convective emission of a warm floor, the American way.

    Parameters
    ----------
    surface_c, air_c : array_like
        Floor surface and room air. [C]
    other_surfaces_c : array_like
        Area-weighted temperature of the unheated surfaces. [C]

    Returns
    -------
    PanelFlux
        Radiant, convective and total flux; the inputs broadcast. [W/m2]

    Notes
    -----
    q_r = 5e-8 (T_p^4 - T_s^4), q_c = 2.13 |dT|^0.31 dT. Formula from memory, 90 %.
    Published check: tests/published/heat.toml, "panel method".

    References
    ----------
    ASHRAE Handbook HVAC Systems and Equipment, panel heating and cooling.
    """
    surface, air = _array(surface_c), _array(air_c)
    radiant = 5.0e-8 * ((surface + _KELVIN) ** 4 - (_array(other_surfaces_c) + _KELVIN) ** 4)
    convective = 2.13 * np.abs(surface - air) ** 0.31 * (surface - air)
    return PanelFlux(np.asarray(radiant), np.asarray(convective), np.asarray(radiant + convective))


def mean_surface_temperature(
    flux_up_w_m2: ArrayLike, room_c: ArrayLike, film_w_m2_k: ArrayLike
) -> FloatArray:
    """Mean surface temperature with a constant film coefficient.

    Parameters
    ----------
    flux_up_w_m2 : array_like
        Flux that reaches the room, after any loss downwards. [W/m2]
    room_c : array_like
        Room temperature. [C]
    film_w_m2_k : array_like
        Total film coefficient, above 0; `UPWARD_FILM_W_M2_K` or a stated one. [W/(m2 K)]

    Returns
    -------
    ndarray
        Mean surface temperature; the inputs broadcast. [C]

    Notes
    -----
    Published check: tests/published/heat.toml, "two Btu per degree".

    References
    ----------
    American rule q = 2 Btu/(h ft2 F) times the excess is a film of 11.36 W/(m2 K).
    """
    return np.asarray(_array(room_c) + _array(flux_up_w_m2) / _array(film_w_m2_k))


def layer_resistance(thickness_m: ArrayLike, conductivity_w_m_k: ArrayLike) -> FloatArray:
    """Thermal resistance of layers lying on each other.

    Parameters
    ----------
    thickness_m : array_like, shape (..., layers)
        Thickness, at or above 0. [m]
    conductivity_w_m_k : array_like, shape (..., layers)
        Conductivity, above 0. [W/(m K)]

    Returns
    -------
    ndarray, shape (...)
        Sum of d / lambda without films; 0 for no layer. [m2 K/W]

    Notes
    -----
    Published check: tests/published/heat.toml, "floor over an unheated space".

    References
    ----------
    ISO 6946:2017, 6.7.1.
    """
    return np.asarray(np.sum(_array(thickness_m) / _array(conductivity_w_m_k), axis=-1))


def combined_resistance(
    shares: ArrayLike, path_resistances_m2k_w: ArrayLike, shared_m2k_w: ArrayLike
) -> CombinedResistance:
    """Resistance of a floor with framing beside insulation.

    Parameters
    ----------
    shares : array_like, shape (..., paths)
        Area share of each path; sums to 1. [1]
    path_resistances_m2k_w : array_like, shape (..., paths)
        Resistance of the mixed layer on each path, above 0. [m2 K/W]
    shared_m2k_w : array_like, shape (...)
        All continuous layers and films together, at or above 0. [m2 K/W]

    Returns
    -------
    CombinedResistance
        Upper limit (paths apart), lower limit (mixed layer smeared), their mean. [m2 K/W]

    Notes
    -----
    Published check: tests/published/heat.toml, "joists beside insulation".

    References
    ----------
    ISO 6946:2017, 6.7.2.
    """
    share, path, shared = _array(shares), _array(path_resistances_m2k_w), _array(shared_m2k_w)
    upper = 1.0 / np.sum(share / (path + shared[..., np.newaxis]), axis=-1)
    lower = shared + 1.0 / np.sum(share / path, axis=-1)
    return CombinedResistance(np.asarray(upper), np.asarray(lower), np.asarray((upper + lower) / 2.0))


def split_flux(
    power_w_m2: ArrayLike,
    above_m2k_w: ArrayLike,
    below_m2k_w: ArrayLike,
    room_c: ArrayLike,
    below_c: ArrayLike,
    film_w_m2_k: ArrayLike,
) -> FluxSplit:
    """Flux up and down from a heated plane, with a constant film coefficient on top.

    Parameters
    ----------
    power_w_m2 : array_like
        Heating power over the heated area. [W/m2]
    above_m2k_w : array_like
        Resistance from the plane to the floor surface, without the film. [m2 K/W]
    below_m2k_w : array_like
        Resistance from the plane to the space or ground below, film included; above 0. [m2 K/W]
    room_c, below_c : array_like
        Temperatures above and below. [C]
    film_w_m2_k : array_like
        Film coefficient on top, above 0. [W/(m2 K)]

    Returns
    -------
    FluxSplit
        Up and down add to the power; the inputs broadcast.

    Notes
    -----
    Steady, one-dimensional. The downward flux is an outcome: do not lower the power by it. More
    resistance above lowers the flux upwards as long as the source is warmer than the room.
    Published check: tests/published/heat.toml, "split with a constant film".

    References
    ----------
    Two resistances in parallel from one source; agrees with EN 1264-2 on the downward flux.
    """
    room = _array(room_c)
    above = _array(above_m2k_w) + 1.0 / _array(film_w_m2_k)
    below = _array(below_m2k_w)
    driving = _array(power_w_m2) + room / above + _array(below_c) / below
    source = driving / (1.0 / above + 1.0 / below)
    up = (source - room) / above
    down = (source - _array(below_c)) / below
    return FluxSplit(*np.broadcast_arrays(up, down, source, room + up / _array(film_w_m2_k)))


def split_flux_by_emission(
    power_w_m2: ArrayLike,
    above_m2k_w: ArrayLike,
    below_m2k_w: ArrayLike,
    room_c: ArrayLike,
    below_c: ArrayLike,
) -> FluxSplit:
    """Flux up and down from a heated plane under the basic characteristic curve.

    Parameters
    ----------
    power_w_m2, above_m2k_w, below_m2k_w, room_c, below_c : array_like
        As in `split_flux`; power and below_c high enough that heat goes upwards.

    Returns
    -------
    FluxSplit
        Up and down add to the power; the inputs broadcast.

    Notes
    -----
    Bisection on the surface excess between 0 and that of the whole undivided supply; forty halvings
    bring it under 1e-9 K for floors of this trade.
    Published check: tests/published/heat.toml, "split by emission".

    References
    ----------
    EN 1264-2:2008+A1:2012, basic characteristic curve, with the two paths of `split_flux`.
    """
    power, above, below, room, under = np.broadcast_arrays(
        _array(power_w_m2), _array(above_m2k_w), _array(below_m2k_w), _array(room_c), _array(below_c)
    )
    low = np.zeros(power.shape)
    high = surface_excess(np.maximum(power + np.maximum(under - room, 0.0) / below, 0.0))
    for _ in range(40):
        middle = (low + high) / 2.0
        up = upward_heat_flux(middle)
        spare = power - up - (room + middle + up * above - under) / below
        low = np.where(spare > 0.0, middle, low)
        high = np.where(spare > 0.0, high, middle)
    excess = (low + high) / 2.0
    up = upward_heat_flux(excess)
    source = room + excess + up * above
    return FluxSplit(up, np.asarray((source - under) / below), np.asarray(source), np.asarray(room + excess))


def downward_flux(
    flux_up_w_m2: ArrayLike,
    above_m2k_w: ArrayLike,
    below_m2k_w: ArrayLike,
    room_c: ArrayLike,
    below_c: ArrayLike,
) -> FloatArray:
    """Flux downwards that goes with a wanted flux upwards.

    Parameters
    ----------
    flux_up_w_m2 : array_like
        Flux to the room. [W/m2]
    above_m2k_w, below_m2k_w : array_like
        Resistance from the heated plane to the room and to below, films included. [m2 K/W]
    room_c, below_c : array_like
        Temperatures above and below. [C]

    Returns
    -------
    ndarray
        Flux downwards; add it to flux_up to get the power; the inputs broadcast. [W/m2]

    Notes
    -----
    q_u = (R_o q + theta_i - theta_u) / R_u.
    Published check: tests/published/heat.toml, "downward flux for a wanted upward flux".

    References
    ----------
    EN 1264-2:2008+A1:2012, clause 8.
    """
    step = _array(above_m2k_w) * _array(flux_up_w_m2) + _array(room_c) - _array(below_c)
    return np.asarray(step / _array(below_m2k_w))


def slab_on_ground_transmittance(
    area_m2: ArrayLike,
    perimeter_m: ArrayLike,
    wall_m: ArrayLike,
    floor_m2k_w: ArrayLike,
    ground_w_m_k: ArrayLike,
    indoor_film_m2k_w: ArrayLike,
) -> FloatArray:
    """Thermal transmittance of a slab on ground without edge insulation.

    Parameters
    ----------
    area_m2, perimeter_m : array_like
        Floor area and its exposed perimeter, above 0. [m2], [m]
    wall_m : array_like
        Full thickness of the outer walls. [m]
    floor_m2k_w : array_like
        Resistance of insulation and coverings on and under the slab; the slab counts as 0. [m2 K/W]
    ground_w_m_k : array_like
        Conductivity of the ground: 1.5 clay or silt, 2.0 sand or gravel, 3.5 rock. [W/(m K)]
    indoor_film_m2k_w : array_like
        Indoor film, 0.17 downwards. [m2 K/W]

    Returns
    -------
    ndarray
        Transmittance between room and outdoor air; the inputs broadcast. [W/(m2 K)]

    Notes
    -----
    B' = A / (P/2); d_t = w + lambda (R_si + R_f + R_se); below B' the logarithmic form, else
    lambda / (0.457 B' + d_t). Steady annual mean. A finite-element section of the ground gives 3 to 4 %
    more, since films are counted here as more ground.
    Published check: tests/published/heat.toml, "slab on ground, clay".

    References
    ----------
    ISO 13370:2007, 9.1 (slab-on-ground floor), equations for B', d_t and U.
    """
    ground = _array(ground_w_m_k)
    width = _array(area_m2) / (0.5 * _array(perimeter_m))
    film = _array(indoor_film_m2k_w) + OUTDOOR_FILM_M2K_W
    depth = _array(wall_m) + ground * (film + _array(floor_m2k_w))
    poor = 2.0 * ground / (np.pi * width + depth) * np.log(np.pi * width / depth + 1.0)
    good = ground / (0.457 * width + depth)
    return np.asarray(np.where(depth < width, poor, good))
