"""Water-heated floors: pipes in a screed, by the coefficients of the European standard."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from undercourse.physics._floats import FloatArray, floats

_FILM_W_M2_K = 10.8
_BASE_W_M2_K = 6.7
_SCREED_M, _SCREED_W_M_K = 0.045, 1.0
_WIDEST_M = 0.375
_COVER_STEP_M2K_W = 0.05
_SPACING_M = (0.05, 0.075, 0.1, 0.15, 0.2, 0.225, 0.3, 0.375)
# Columns for a covering of 0, 0.05, 0.10 and 0.15 m2 K/W; rows for the spacings.
_SPACING_FACTOR = (1.23, 1.188, 1.156, 1.134)
_COVER_FACTOR = (
    (1.069, 1.056, 1.043, 1.037), (1.066, 1.053, 1.041, 1.035), (1.063, 1.050, 1.039, 1.0335),
    (1.057, 1.046, 1.035, 1.0305), (1.051, 1.041, 1.0315, 1.0275), (1.048, 1.038, 1.0295, 1.026),
    (1.0395, 1.031, 1.024, 1.021), (1.030, 1.0221, 1.0181, 1.015),
)  # fmt: skip
_PIPE_FACTOR = (
    (1.013, 1.013, 1.012, 1.011), (1.021, 1.019, 1.016, 1.014), (1.029, 1.025, 1.022, 1.018),
    (1.040, 1.034, 1.029, 1.024), (1.046, 1.040, 1.035, 1.030), (1.049, 1.043, 1.038, 1.033),
    (1.053, 1.049, 1.044, 1.039), (1.056, 1.051, 1.046, 1.042),
)  # fmt: skip


def log_mean_excess(flow_c: ArrayLike, return_c: ArrayLike, room_c: ArrayLike) -> FloatArray:
    """Mean excess of heating water over the room.

    Parameters
    ----------
    flow_c, return_c : array_like
        Water temperatures, both above the room. [C]
    room_c : array_like
        Room temperature. [C]

    Returns
    -------
    ndarray
        (flow - return) / ln((flow - room) / (return - room)); the excess itself where both are equal. [K]

    Notes
    -----
    Published check: tests/published/hydronic.toml.

    References
    ----------
    EN 1264-2, logarithmic mean of heating medium and room.
    """
    first, last = floats(flow_c) - floats(room_c), floats(return_c) - floats(room_c)
    drop = first - last
    same = np.abs(drop) <= 1e-9 * np.abs(first)
    with np.errstate(divide="ignore", invalid="ignore"):
        mean = drop / np.log(first / last)
    return np.asarray(np.where(same, (first + last) / 2, mean))


class PipeTransfer(NamedTuple):
    """Flux to the room per excess of the water, and whether the standard covers the case."""

    coefficient_w_m2_k: FloatArray
    covered: NDArray[np.bool_]


def _between(table: tuple[tuple[float, ...], ...], spacing: FloatArray, cover: FloatArray) -> FloatArray:
    columns = np.stack([np.interp(spacing, _SPACING_M, column) for column in np.transpose(table)], axis=-1)
    return _along_cover(columns, cover)


def _along_cover(columns: FloatArray, cover: FloatArray) -> FloatArray:
    place = np.clip(cover / _COVER_STEP_M2K_W, 0.0, 3.0)
    left = np.minimum(place.astype(np.intp), 2)
    pick = np.broadcast_to(columns, (*place.shape, 4))
    low = np.take_along_axis(pick, left[..., np.newaxis], axis=-1)[..., 0]
    high = np.take_along_axis(pick, left[..., np.newaxis] + 1, axis=-1)[..., 0]
    return np.asarray(low + (high - low) * (place - left))


def pipe_transfer(
    spacing_m: ArrayLike,
    screed_over_pipe_m: ArrayLike,
    screed_w_m_k: ArrayLike,
    covering_m2k_w: ArrayLike,
    pipe_diameter_m: ArrayLike,
) -> PipeTransfer:
    """Heat that pipes in a wet screed on insulation give to the room, per kelvin of water excess.

    Parameters
    ----------
    spacing_m : array_like
        Pipe spacing. [m]
    screed_over_pipe_m : array_like
        Thickness of screed above the pipe. [m]
    screed_w_m_k : array_like
        Conductivity of the screed, above 0. [W/(m K)]
    covering_m2k_w : array_like
        Resistance of all that lies on the screed, membrane and tile included, without the film. [m2 K/W]
    pipe_diameter_m : array_like
        Outer diameter. [m]

    Returns
    -------
    PipeTransfer
        K_H, to be multiplied by `log_mean_excess` [W/(m2 K)]; covered for spacings of 50 to 375 mm (wider
        ones in proportion, not covered), pipes of 8 to 30 mm, at least 10 mm of screed over them and
        coverings up to 0.15 m2 K/W. Beyond them the end of the table is held.

    Notes
    -----
    K_H = 6.7 a_B a_T^(1 - T/0.075) a_U^(100 (0.045 - s_u)) a_D^(250 (D - 0.020)) with
    a_B = (1/10.8 + 0.045) / (1/10.8 + 0.045/lambda + R). Thick screeds: only 0.1 m, or half the spacing
    above 0.2 m, count in a_U, and the rest is added as resistance. Pipe wall 2 mm of 0.35 W/(m K).
    Steady conduction on insulation gives up to 8 % less at 300 mm. The downward flux follows from
    `heat.downward_flux`.
    Published check: tests/published/hydronic.toml, and by finite volumes in the tests.

    References
    ----------
    EN 1264-2, type A, annex A tables A.1 to A.3, as printed in the source of an open building simulation
    library; the standard itself was not seen (formula from memory, confidence 88).
    """
    spacing, screed, conductivity, covering, diameter = np.broadcast_arrays(
        floats(spacing_m),
        floats(screed_over_pipe_m),
        floats(screed_w_m_k),
        floats(covering_m2k_w),
        floats(pipe_diameter_m),
    )
    counted = np.minimum(spacing, _WIDEST_M)
    most = np.where(spacing > 0.2, 0.5 * spacing, 0.1)
    over = np.minimum(screed, most)
    film = 1 / _FILM_W_M2_K
    by_screed = (film + _SCREED_M / _SCREED_W_M_K) / (film + _SCREED_M / conductivity + covering)
    by_spacing = _along_cover(np.asarray(_SPACING_FACTOR), covering) ** (1 - counted / 0.075)
    by_cover = _between(_COVER_FACTOR, counted, covering) ** (100 * (_SCREED_M - over))
    by_pipe = _between(_PIPE_FACTOR, counted, covering) ** (250 * (diameter - 0.020))
    factor = _BASE_W_M2_K * by_screed * by_spacing * by_cover * by_pipe * counted / spacing
    result = 1 / (1 / factor + (screed - over) / conductivity)
    covered = (spacing >= 0.05) & (spacing <= _WIDEST_M) & (screed >= 0.010)
    covered &= (diameter >= 0.008) & (diameter <= 0.030) & (covering >= 0) & (covering <= 0.15)
    return PipeTransfer(np.asarray(result), np.asarray(covered))
