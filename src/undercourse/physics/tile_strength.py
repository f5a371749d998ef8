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
