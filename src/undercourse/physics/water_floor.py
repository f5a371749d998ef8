"""Pipes in a screed of the usual make, for many floors at once: the table of the standard at its own case."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

_BASE_W_M2_K = 6.7
_FILM_M2K_W = 1.0 / 10.8
_SCREED_M2K_W = 0.045
_WIDEST_M = 0.375
_COVERINGS = np.array([0.0, 0.05, 0.10, 0.15])
_SPACING_FACTOR = np.array([1.23, 1.188, 1.156, 1.134])


def spacing_factor(covering_m2k_w: ArrayLike) -> FloatArray:
    """Factor of the spacing by the covering, between and at the ends of the table.

    Parameters
    ----------
    covering_m2k_w : array_like
        Resistance of all that lies on the screed. [m2 K/W]

    Returns
    -------
    ndarray
        a_T, same shape; the end of the table is held beyond it. [1]

    Notes
    -----
    Published check: tests/published/heat_floor.toml, "usual pipes".

    References
    ----------
    EN 1264-2, type A (table from memory, confidence 88).
    """
    return np.asarray(np.interp(floats(covering_m2k_w), _COVERINGS, _SPACING_FACTOR))


def usual_pipe_transfer(
    spacing_m: ArrayLike, covering_m2k_w: ArrayLike, screed_w_m_k: ArrayLike
) -> FloatArray:
    """Heat that 20 mm pipes under 45 mm of screed give to the room, per kelvin of water excess.

    Parameters
    ----------
    spacing_m : array_like
        Pipe spacing, 0.05 to 0.375. [m]
    covering_m2k_w : array_like
        Resistance of all that lies on the screed, without the film, up to 0.15. [m2 K/W]
    screed_w_m_k : array_like
        Conductivity of the screed, above 0. [W/(m K)]

    Returns
    -------
    ndarray
        K_H; the inputs broadcast. [W/(m2 K)]

    Notes
    -----
    6.7 (1/10.8 + 0.045) / (1/10.8 + 0.045/lambda + R) a_T^(1 - T/0.075): what `hydronic.pipe_transfer`
    gives where pipe and screed are those of the table, so that their own factors are 1.
    Published check: tests/published/heat_floor.toml, "usual pipes".

    References
    ----------
    EN 1264-2, type A (coefficients from memory, confidence 88).
    """
    spacing = np.minimum(floats(spacing_m), _WIDEST_M)
    covering = floats(covering_m2k_w)
    bare = _FILM_M2K_W + _SCREED_M2K_W / 1.0
    by_screed = bare / (_FILM_M2K_W + _SCREED_M2K_W / floats(screed_w_m_k) + covering)
    return np.asarray(_BASE_W_M2_K * by_screed * spacing_factor(covering) ** (1.0 - spacing / 0.075))
