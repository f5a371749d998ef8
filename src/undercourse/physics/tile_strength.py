"""Strength of tile from the three-point breaking test."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats


def breaking_strength(force_n: ArrayLike, rod_span_m: ArrayLike, width_m: ArrayLike) -> FloatArray:
    """Breaking strength of a tile from the load that broke it.

    Parameters
    ----------
    force_n : array_like
        Breaking load F. [N]
    rod_span_m : array_like
        Span between the rods, L. [m]
    width_m : array_like
        Width of the tile, b, above 0. [m]

    Returns
    -------
    ndarray
        F L / b; a force, though called a strength. [N]

    References
    ----------
    ISO 10545-4. Check: tests/published/wheels.toml.
    """
    return floats(force_n) * floats(rod_span_m) / floats(width_m)


def modulus_of_rupture(breaking_strength_n: ArrayLike, thickness_m: ArrayLike) -> FloatArray:
    """Bending strength of the tile body from its breaking strength.

    Parameters
    ----------
    breaking_strength_n : array_like
        S, see `breaking_strength`. [N]
    thickness_m : array_like
        Least thickness along the break, above 0. [m]

    Returns
    -------
    ndarray
        3 S / (2 h^2). [Pa]

    Notes
    -----
    A mean of small dry tiles under a short load. It is the strength that a bending stress of tile may be
    compared with; a few tiles of a floor are weaker.

    References
    ----------
    ISO 10545-4. Check: tests/published/wheels.toml.
    """
    return np.asarray(1.5 * floats(breaking_strength_n) / floats(thickness_m) ** 2)


# Groups of dry-pressed tile by water absorption: BIa, BIb, BIIa, BIIb, BIII.
_GROUP_ENDS = np.array([0.005, 0.03, 0.06, 0.10])
_GROUP_RUPTURE_PA = np.array([35e6, 30e6, 22e6, 18e6, 15e6])


def least_modulus_of_rupture(absorption: ArrayLike, thickness_m: ArrayLike) -> FloatArray:
    """Least mean modulus of rupture that the standard lets a dry-pressed tile of a group have.

    Parameters
    ----------
    absorption : array_like
        Water absorption, a share of the mass. [-]
    thickness_m : array_like
        Thickness of the tile. [m]

    Returns
    -------
    ndarray
        35, 30, 22, 18 N/mm2 up to 0.5, 3, 6, 10 % and 15 above, 12 there below 7.5 mm. [Pa]

    Notes
    -----
    A mean of the test's tiles; not asked where the breaking strength is 3000 N or more. Tile outside the
    standard may have less.

    References
    ----------
    ISO 13006 and EN 14411, annexes by group. Check: tests/published/tile_strength.toml, each group with its
    status.
    """
    group = np.searchsorted(_GROUP_ENDS, floats(absorption) - 1e-12)
    found = _GROUP_RUPTURE_PA[group]
    return np.where((group == 4) & (floats(thickness_m) < 0.0075 - 1e-9), 12e6, found)


def tension_share(weibull_modulus: ArrayLike) -> FloatArray:
    """Strength of a brittle body in even tension as a share of its strength in three-point bending.

    Parameters
    ----------
    weibull_modulus : array_like
        Shape m of the scatter of strength, above 0; 5 to 20 for fired clay bodies (from memory). [-]

    Returns
    -------
    ndarray
        (1 / (2 (m + 1)^2))^(1 / m), at the same chance of breaking and the same volume. [-]

    Notes
    -----
    Even tension tries every flaw of the section, bending those near one line of one face.
    Check: tests/published/tile_strength.toml.

    References
    ----------
    Weibull 1939, weakest link over the volume.
    """
    shape = floats(weibull_modulus)
    return np.asarray((1 / (2 * (shape + 1) ** 2)) ** (1 / shape))
