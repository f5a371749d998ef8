"""Cables in a layered floor: the exact surface temperature, and what a layer above or below does to it.

Powers go in whole. Where heat also flows down, that share is found once, by the layers themselves.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats
from undercourse.physics.heat import FluxSplit, layer_resistance, split_flux

_MOST_HARMONICS = 400
_NEGLIGIBLE_K = 1e-6


class CableFloor(NamedTuple):
    """Steady state of a floor with cables in one plane."""

    up_w_m2: FloatArray
    down_w_m2: FloatArray
    plane_mean_c: FloatArray
    surface_mean_c: FloatArray
    surface_c: FloatArray


def _seen(wave: FloatArray, layers: tuple[FloatArray, FloatArray], film: FloatArray) -> list[FloatArray]:
    """Admittance of a ripple of one wave number, seen from the plane, and its fading to the far face."""
    thickness, conductivity = layers
    seen, fading = film + 0.0 * wave, np.ones_like(wave)
    for index in range(thickness.shape[-1] - 1, -1, -1):
        lateral = conductivity[..., index] * wave
        fade = np.exp(-wave * thickness[..., index])
        cosine, sine = 1.0 + fade**2, 1.0 - fade**2
        fading = fading * 2.0 * fade / (cosine + seen / lateral * sine)
        seen = lateral * (seen * cosine + lateral * sine) / (lateral * cosine + seen * sine)
    return [seen, fading]


def _layers(layers: Sequence[ArrayLike]) -> tuple[FloatArray, FloatArray]:
    thickness, conductivity = np.broadcast_arrays(*(floats(part) for part in layers))
    return thickness, conductivity


def layered_cable_floor(
    power_w_m2: ArrayLike,
    spacing_m: ArrayLike,
    above: Sequence[ArrayLike],
    film_above_w_m2_k: ArrayLike,
    room_c: ArrayLike,
    below: Sequence[ArrayLike],
    film_below_w_m2_k: ArrayLike,
    below_c: ArrayLike,
    offset_m: ArrayLike,
) -> CableFloor:
    """Steady temperatures over and between cables in a floor of layers.

    Parameters
    ----------
    power_w_m2 : array_like, shape (...)
        Whole power over the heated area, nothing taken off for losses; the rated power for a control that
        failed. [W/m2]
    spacing_m : array_like, shape (...)
        Cable spacing, above 0. [m]
    above, below : two array_like, each of shape (..., layers)
        Thickness [m] and conductivity [W/(m K)] of the layers from the cable plane outwards; at least one
        layer above. A pad on the floor is one more layer above.
    film_above_w_m2_k, film_below_w_m2_k : array_like, shape (...)
        Coefficient to the room, above 0, and to the space below; 0 for an insulated end. [W/(m2 K)]
    room_c, below_c : array_like, shape (...)
        Temperatures above and below. [C]
    offset_m : array_like, shape (...)
        Distance from a cable along the floor: 0 over it, half the spacing between two. [m]

    Returns
    -------
    CableFloor
        Flux up and down [W/m2], mean temperature of the cable plane, mean surface temperature, and
        surface temperature at the offset; at 0 it is the peak. [C]

    Notes
    -----
    The mean is `heat.split_flux`. Each harmonic b = 2 pi n / w of the line sources adds
    2 q cos(b x) F / (Yu + Yd): Yu, Yd are the admittances of the layers above and below for that ripple
    and F its fading to the surface, both found layer by layer. With an insulated plane and one layer this
    is `cables.cable_surface_excess`. Exact for line sources and constant films; the real film grows with
    temperature, so a hot floor is a little cooler than this.
    Published check: tests/published/heat.toml, "cables in a layered floor".

    References
    ----------
    Fourier solution of steady conduction in layers; checked by finite volumes in the tests.
    """
    power, spacing, film = floats(power_w_m2), floats(spacing_m), floats(film_above_w_m2_k)
    upper, lower = _layers(above), _layers(below)
    film_down = floats(film_below_w_m2_k)
    with np.errstate(divide="ignore"):
        under = layer_resistance(*lower) + 1.0 / film_down
    mean = split_flux(power, layer_resistance(*upper), under, room_c, below_c, film)
    first, offset = 2.0 * np.pi / spacing, floats(offset_m)
    total = np.asarray(mean.surface_c + 0.0 * (first * offset))
    for n in range(1, _MOST_HARMONICS + 1):
        wave = np.asarray(n * first + 0.0 * (upper[0][..., 0] + film + film_down))
        up, fading = _seen(wave, upper, film)
        down, _ = _seen(wave, lower, film_down)
        size = 2.0 * power * fading / (up + down)
        total = total + size * np.cos(n * first * offset)
        if np.all(np.abs(size) <= _NEGLIGIBLE_K * -np.expm1(-first * np.sum(upper[0], axis=-1))):
            break
    return CableFloor(
        *np.broadcast_arrays(mean.up_w_m2, mean.down_w_m2, mean.source_c, mean.surface_c, total)
    )


class MembranePlace(NamedTuple):
    """The same floor with a membrane under the cables and with it over them."""

    under: FluxSplit
    over: FluxSplit


def membrane_place(
    power_w_m2: ArrayLike,
    above_m2k_w: ArrayLike,
    membrane_m2k_w: ArrayLike,
    below_m2k_w: ArrayLike,
    room_c: ArrayLike,
    below_c: ArrayLike,
    film_w_m2_k: ArrayLike,
) -> MembranePlace:
    """What it does to flux and temperatures that a membrane lies above instead of below the cables.

    Parameters
    ----------
    power_w_m2 : array_like
        Power over the heated area. [W/m2]
    above_m2k_w, below_m2k_w : array_like
        Resistance above the cables without the film, and below them with it, both without the membrane.
        [m2 K/W]
    membrane_m2k_w : array_like
        Resistance of the membrane, at or above 0. [m2 K/W]
    room_c, below_c : array_like
        Temperatures above and below. [C]
    film_w_m2_k : array_like
        Film coefficient on top, above 0. [W/(m2 K)]

    Returns
    -------
    MembranePlace
        Two results of `heat.split_flux`. The inputs broadcast.

    Notes
    -----
    Over the cables it lowers the flux up and warms the cables; under them it does the reverse on the flux.
    With power held the source is warmest with it above: that is what a cable's own limit is held against.
    Published check: tests/published/heat.toml, "membrane above or below the cables".

    References
    ----------
    Two resistances in parallel from one source.
    """
    extra = floats(membrane_m2k_w)
    above, below = floats(above_m2k_w), floats(below_m2k_w)
    return MembranePlace(
        split_flux(power_w_m2, above, below + extra, room_c, below_c, film_w_m2_k),
        split_flux(power_w_m2, above + extra, below, room_c, below_c, film_w_m2_k),
    )


def flux_at_sensor_limit(
    sensor_c: ArrayLike, room_c: ArrayLike, above_m2k_w: ArrayLike, film_w_m2_k: ArrayLike
) -> FloatArray:
    """Flux to the room while the floor is held at its sensor's limit.

    Parameters
    ----------
    sensor_c : array_like
        Temperature at which the control holds the sensor. [C]
    room_c : array_like
        Room temperature. [C]
    above_m2k_w : array_like
        Resistance from the sensor's depth to the surface, without the film. [m2 K/W]
    film_w_m2_k : array_like
        Film coefficient on top, above 0. [W/(m2 K)]

    Returns
    -------
    ndarray
        (sensor - room) / (R + 1/h), not below 0. The inputs broadcast. [W/m2]

    Notes
    -----
    The sensor is taken to read the mean of its depth. Half way between cables it reads less, and the
    floor gets warmer than this by the ripple of `layered_cable_floor`.
    Published check: tests/published/heat.toml, "held at the sensor limit".

    References
    ----------
    Steady conduction.
    """
    resistance = floats(above_m2k_w) + 1.0 / floats(film_w_m2_k)
    return np.asarray(np.maximum(floats(sensor_c) - floats(room_c), 0.0) / resistance)


def room_heat_share(flux_up_w_m2: ArrayLike, heated_area_m2: ArrayLike, room_loss_w: ArrayLike) -> FloatArray:
    """Share of a room's heat loss that the heated floor covers.

    Parameters
    ----------
    flux_up_w_m2 : array_like
        Flux that reaches the room, of what is left after any limit. [W/m2]
    heated_area_m2 : array_like
        Area with heat, not under fixtures. [m2]
    room_loss_w : array_like
        Heat that the room loses on the design day, the loss through this floor left out, above 0. [W]

    Returns
    -------
    ndarray
        Up to 1 and more where the heat is met; the inputs broadcast. [1]

    Notes
    -----
    Published check: tests/published/heat.toml, "room heat met".

    References
    ----------
    Definition; EN 1264-3 sizes the flux as the room's heat over the heated area (from memory, 90 %).
    """
    return np.asarray(floats(flux_up_w_m2) * floats(heated_area_m2) / floats(room_loss_w))


def ground_resistance(transmittance_w_m2_k: ArrayLike, indoor_film_m2k_w: ArrayLike) -> FloatArray:
    """Resistance from a heated plane through slab and ground to outdoor air.

    Parameters
    ----------
    transmittance_w_m2_k : array_like
        From `heat.slab_on_ground_transmittance` with only the layers under the heated plane, above 0.
        [W/(m2 K)]
    indoor_film_m2k_w : array_like
        The indoor film that went into it. [m2 K/W]

    Returns
    -------
    ndarray
        1 / U - R_si, the ``below`` of `heat.split_flux` with the outdoor annual mean as temperature.
        [m2 K/W]

    Notes
    -----
    Published check: tests/published/heat.toml, "slab on ground as resistance".

    References
    ----------
    ISO 13370:2007, 9.1, less the film that a heated plane does not have.
    """
    return np.asarray(1.0 / floats(transmittance_w_m2_k) - floats(indoor_film_m2k_w))
