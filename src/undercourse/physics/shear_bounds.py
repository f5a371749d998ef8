"""Tile on a layer that yields, by formulas that one can follow by hand: bounds from above.

`shear_yield` solves the same equations by halving. Here the least of a few closed forms is taken, each of
which is an upper bound; the tests hold it to at most 12.5 percent above the exact answer for a crack and
20 percent for a shrinking base, and far less for short tile.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

# Beyond 300 the hyperbolic cosine overflows while its inverse is nothing.
_FAR = 300.0


class PullBound(NamedTuple):
    """Pull in tile over a crack: three bounds and the least of them."""

    decay_per_m: FloatArray
    elastic_pa: FloatArray
    endless_pa: FloatArray
    yielded_pa: FloatArray
    stress_pa: FloatArray


def crack_pull_bound(
    opening_m: ArrayLike,
    free_length_m: ArrayLike,
    modulus_pa: ArrayLike,
    thickness_m: ArrayLike,
    layer_pa_m: ArrayLike,
    yield_pa: ArrayLike,
) -> PullBound:
    """Pull in tile that runs unbroken across a crack which opens in a rigid base, from above.

    Parameters
    ----------
    opening_m : array_like
        Opening after tiling, w, at or above 0. [m]
    free_length_m : array_like
        From the crack to the nearest free edge of tile, l, above 0. [m]
    modulus_pa, thickness_m : array_like
        Elastic modulus E [Pa] and thickness t [m] of the tile, above 0.
    layer_pa_m : array_like
        Shear stiffness K of what lies between, above 0. [Pa/m]
    yield_pa : array_like
        Shear stress y that the layer does not exceed, above 0. [Pa]

    Returns
    -------
    PullBound
        Decay rate a = sqrt(K / (E t)) [1/m]; the pull of a layer that never yields, of endless tile on
        one that does, and of a layer that yields all along; the least of the three. The inputs
        broadcast. [Pa]

    Notes
    -----
    elastic: (w / 2t) sqrt(K E t) tanh(a l), since min(K s, y) is no more than K s at any slip;
    endless: (y / (a t)) sqrt(2 max(w K / 2y, 1) - 1), since longer tile pulls no less;
    yielded: y l / t, since no place carries more than y.
    Members carry only stretch: the pull is a mean over the thickness of the tile.
    Published check: tests/published/shear_bounds.toml.

    References
    ----------
    Own derivation from the Volkersen equation with a plateau, see `shear_yield.yielding_crack_bridge`.
    """
    opening, length, thickness = floats(opening_m), floats(free_length_m), floats(thickness_m)
    layer, plateau = floats(layer_pa_m), floats(yield_pa)
    stretch = floats(modulus_pa) * thickness
    decay = np.sqrt(layer / stretch)
    elastic = opening / (2 * thickness) * np.sqrt(layer * stretch) * np.tanh(decay * length)
    slipped = np.maximum(opening * layer / (2 * plateau), 1.0)
    endless = plateau / (decay * thickness) * np.sqrt(2 * slipped - 1)
    yielded = plateau * length / thickness
    least = np.minimum(np.minimum(elastic, endless), yielded)
    return PullBound(decay, elastic, endless, yielded, least)


class PressBound(NamedTuple):
    """Stress in the middle of a field of tile on a base that shortens: two bounds and the lesser."""

    decay_per_m: FloatArray
    elastic_pa: FloatArray
    elastic_end_m: FloatArray
    yielded_pa: FloatArray
    stress_pa: FloatArray


def shrinking_base_bound(
    mismatch_strain: ArrayLike,
    half_length_m: ArrayLike,
    modulus_pa: ArrayLike,
    thickness_m: ArrayLike,
    layer_pa_m: ArrayLike,
    yield_pa: ArrayLike,
) -> PressBound:
    """Stress in the middle of tile whose rigid base wants another length, from above.

    Parameters
    ----------
    mismatch_strain : array_like
        Strain e by which base and tile differ, above 0. [-]
    half_length_m : array_like
        Half the length between soft joints, l, above 0. [m]
    modulus_pa, thickness_m, layer_pa_m, yield_pa : array_like
        As in `crack_pull_bound`.

    Returns
    -------
    PressBound
        Decay rate [1/m]; the stress of a layer that never yields [Pa]; x, where an unstretched tile would
        start to make the layer yield [m]; the stress from no place slipping more than such tile would,
        and the lesser of the two. [Pa]

    Notes
    -----
    elastic: e E (1 - 1 / cosh(a l)); x = min(y / (K e), l); yielded: K e x (l - x / 2) / t, since the
    slip at a distance z from the middle is no more than e z. A base that gives lowers both.
    Published check: tests/published/shear_bounds.toml.

    References
    ----------
    Own derivation, see `shear_yield.yielding_strain_mismatch`.
    """
    strain, length, thickness = floats(mismatch_strain), floats(half_length_m), floats(thickness_m)
    modulus, layer, plateau = floats(modulus_pa), floats(layer_pa_m), floats(yield_pa)
    decay = np.sqrt(layer / (modulus * thickness))
    elastic = strain * modulus * (1 - 1 / np.cosh(np.minimum(decay * length, _FAR)))
    start = np.minimum(plateau / (layer * strain), length)
    yielded = layer * strain * start * (length - start / 2) / thickness
    return PressBound(decay, elastic, start, yielded, np.minimum(elastic, yielded))


def end_shear_bound(
    mismatch_strain: ArrayLike,
    half_length_m: ArrayLike,
    decay_per_m: ArrayLike,
    layer_pa_m: ArrayLike,
    yield_pa: ArrayLike,
) -> FloatArray:
    """Shear of the layer at the free ends of tile on a base that shortens.

    Parameters
    ----------
    mismatch_strain, half_length_m, layer_pa_m, yield_pa : array_like
        As in `shrinking_base_bound`.
    decay_per_m : array_like
        a = sqrt(K / (E t)), above 0. [1/m]

    Returns
    -------
    ndarray
        min(K e tanh(a l) / a, y), which is exact for a rigid base. [Pa]

    References
    ----------
    Chen and Nelson 1979; from memory (confidence 95). Published check: tests/published/shear_bounds.toml.
    """
    decay, layer = floats(decay_per_m), floats(layer_pa_m)
    shear = layer * floats(mismatch_strain) * np.tanh(decay * floats(half_length_m)) / decay
    return np.minimum(shear, floats(yield_pa))
