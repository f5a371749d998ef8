"""Heating cables in a floor: spacing, power, current, and the ripple they leave on the surface."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]

_MOST_HARMONICS = 400
_NEGLIGIBLE_K = 1e-6


def _array(value: ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


def cable_spacing(cable_w_m: ArrayLike, power_w_m2: ArrayLike) -> FloatArray:
    """Spacing at which a cable gives a wanted power over the heated area.

    Parameters
    ----------
    cable_w_m : array_like
        Power per length of cable, above 0. [W/m]
    power_w_m2 : array_like
        Power over the heated area, above 0. [W/m2]

    Returns
    -------
    ndarray
        Center to center; the inputs broadcast. The same expression turns a spacing into the power
        that it gives. [m]

    Notes
    -----
    Published check: tests/published/heat.toml, "cable spacing".

    References
    ----------
    Definition; a run of spacing w covers w per length.
    """
    return np.asarray(_array(cable_w_m) / _array(power_w_m2))


def cable_length(heated_area_m2: ArrayLike, spacing_m: ArrayLike) -> FloatArray:
    """Length of cable that covers an area at a spacing, turns included, cold lead not.

    Parameters
    ----------
    heated_area_m2 : array_like
        Area with cable, without the edge left free. [m2]
    spacing_m : array_like
        Center to center, above 0. [m]

    Returns
    -------
    ndarray
        Length; the inputs broadcast. [m]

    Notes
    -----
    Each run serves half a spacing on either side, so the area must be counted to half a spacing
    beyond the outer runs.
    Published check: tests/published/heat.toml, "cable length".

    References
    ----------
    Definition.
    """
    return np.asarray(_array(heated_area_m2) / _array(spacing_m))


def circuit_current(power_w: ArrayLike, voltage_v: ArrayLike) -> FloatArray:
    """Current of a resistive heating circuit.

    Parameters
    ----------
    power_w : array_like
        Power of all cables on the circuit. [W]
    voltage_v : array_like
        Supply voltage, above 0. [V]

    Returns
    -------
    ndarray
        Current; the inputs broadcast. [A]

    Notes
    -----
    At rated voltage; a resistive cable gives power in the square of the voltage.
    Published check: tests/published/heat.toml, "circuit current".

    References
    ----------
    Definition of electric power.
    """
    return np.asarray(_array(power_w) / _array(voltage_v))


def cable_surface_excess(
    flux_up_w_m2: ArrayLike,
    spacing_m: ArrayLike,
    cover_m: ArrayLike,
    conductivity_w_m_k: ArrayLike,
    film_w_m2_k: ArrayLike,
    offset_m: ArrayLike,
) -> FloatArray:
    r"""Surface temperature over the room, above and between cables lying on insulation.

    Parameters
    ----------
    flux_up_w_m2 : array_like
        Mean flux that reaches the room, after any loss downwards. [W/m2]
    spacing_m : array_like
        Cable spacing, above 0. [m]
    cover_m : array_like
        Cable axis to floor surface, at least 2 mm and 1/50 of the spacing. [m]
    conductivity_w_m_k : array_like
        Conductivity of the cover taken as one material, above 0. [W/(m K)]
    film_w_m2_k : array_like
        Total film coefficient, above 0. [W/(m2 K)]
    offset_m : array_like
        Distance from the cable along the surface: 0 over it, half the spacing between two. [m]

    Returns
    -------
    ndarray
        Excess over the room; its mean over one spacing is flux / film; the inputs broadcast. [K]

    Notes
    -----
    q/h + sum over n of 2 q cos(b_n x) / (h cosh(b_n d) + k b_n sinh(b_n d)), b_n = 2 pi n / w. Line
    sources on a perfectly insulating plane: exact for that, and the most ripple a base can give.
    Published check: tests/published/heat.toml, "cable ripple".

    References
    ----------
    Fourier solution of the steady conduction equation for one strip of the floor; also confirmed
    by an elliptic function where the film is perfect and by finite differences elsewhere.
    """
    flux, film, conductivity = _array(flux_up_w_m2), _array(film_w_m2_k), _array(conductivity_w_m_k)
    first = 2.0 * np.pi / _array(spacing_m)
    decay = np.exp(-first * _array(cover_m))
    phase = first * _array(offset_m)
    total = np.asarray(flux / film + 0.0 * (decay * phase * conductivity))
    power = np.ones_like(decay)
    for n in range(1, _MOST_HARMONICS + 1):
        power = power * decay
        lateral = conductivity * first * n
        # cosh and sinh written with falling exponentials, so that deep cables do not overflow
        size = 4.0 * flux * power / (film * (1.0 + power**2) + lateral * (1.0 - power**2))
        total = total + size * np.cos(n * phase)
        if np.all(np.abs(size) <= _NEGLIGIBLE_K * (1.0 - decay)):
            break
    return np.asarray(total)
