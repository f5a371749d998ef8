"""A soft layer that yields: cracks and shrinking bases under tile beyond the elastic range.

The layer resists slip s with the shear stress min(K s, yield), as a shear test shows it: a rise and then
a plateau. A stress stays bounded by the plateau while slip grows, so slip must be held against what the
test reached. All else is as in `shear_lag`, which is the limit of a yield stress that is never reached.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from undercourse.physics._floats import FloatArray, floats

_HALVINGS = 44
# Beyond 300 the hyperbolic functions overflow while their ratios are settled.
_FAR = 300.0


def _rising_root(
    function: Callable[[FloatArray], FloatArray], target: FloatArray, low: FloatArray, high: FloatArray
) -> FloatArray:
    """Where a rising function meets a target; the nearer end where it does not between low and high."""
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        under = function(middle) < target
        low, high = np.where(under, middle, low), np.where(under, high, middle)
    return np.asarray((low + high) / 2)


class YieldedBridge(NamedTuple):
    """Tile over a crack that opens, on a layer that may yield."""

    stress_pa: FloatArray
    layer_shear_pa: FloatArray
    slip_m: FloatArray
    yielded_length_m: FloatArray
    all_yielded: NDArray[np.bool_]


def yielding_crack_bridge(
    opening_m: ArrayLike,
    free_length_m: ArrayLike,
    modulus_pa: ArrayLike,
    thickness_m: ArrayLike,
    layer_pa_m: ArrayLike,
    yield_pa: ArrayLike,
) -> YieldedBridge:
    """Pull in tile that runs unbroken across a crack in a rigid base, on a layer with a yield plateau.

    Parameters
    ----------
    opening_m : array_like
        Opening after tiling, w, at or above 0. [m]
    free_length_m : array_like
        From the crack to the nearest free edge of tile or soft joint, l, above 0. [m]
    modulus_pa, thickness_m : array_like
        Elastic modulus E [Pa] and thickness t [m] of the tile layer, above 0.
    layer_pa_m : array_like
        Shear stiffness K of what lies between, above 0, see `shear_lag.layer_stiffness`. [Pa/m]
    yield_pa : array_like
        Shear stress of the plateau, above 0; infinite where none is known. [Pa]

    Returns
    -------
    YieldedBridge
        Tension in the tile over the crack, shear of the layer beside it [Pa], slip there, length beside
        the crack over which the layer yields [m], and whether that is all of it. The inputs broadcast.

    Notes
    -----
    E t s'' = min(K s, y) with s = w/2 at the crack and s' = 0 at the free end. With a = sqrt(K / (E t)),
    the elastic part beyond a yielded length p pulls y tanh(a (l - p)) / a and the yielded part y p, so

    stress = (y / t) (tanh(a (l - p)) / a + p),
    w / 2 = (y / K) (1 + a p tanh(a (l - p)) + (a p)^2 / 2).

    The right side rises with p, so p is found by halving; p = 0 below w = 2 y / K. Where even p = l slips
    less than w / 2 the whole layer has yielded and the tile cannot be pulled harder than y l / t. The
    stress is never above that of `shear_lag.crack_bridge`.

    References
    ----------
    Own derivation from the Volkersen equation with a plateau. Check: tests/published/shear_yield.toml, and
    by finite differences in the tests.
    """
    half, length, thickness, layer, plateau = np.broadcast_arrays(
        floats(opening_m) / 2,
        floats(free_length_m),
        floats(thickness_m),
        floats(layer_pa_m),
        floats(yield_pa),
    )
    decay = np.sqrt(layer / (floats(modulus_pa) * thickness))
    reach = np.asarray(decay * length)
    excess = np.maximum(half * layer / plateau - 1, 0.0)

    def slip(p: FloatArray) -> FloatArray:
        return np.asarray(p * np.tanh(reach - p) + p**2 / 2)

    # Between the answers for an endless tile and for a tile without elastic part.
    most = np.minimum(reach, np.sqrt(2 * excess))
    least = np.minimum(most, np.sqrt(1 + 2 * excess) - 1)
    yielded = np.where(excess > 0, _rising_root(slip, excess, least, most), 0.0)
    front = np.minimum(layer * half, plateau)
    with np.errstate(invalid="ignore"):
        plastic = np.where(yielded > 0, plateau * yielded, 0.0)
    stress = (front * np.tanh(reach - yielded) + plastic) / (decay * thickness)
    return YieldedBridge(
        np.asarray(stress), front, half, np.asarray(yielded / decay), np.asarray(excess >= reach**2 / 2)
    )


def crack_opening_for_stress(
    stress_pa: ArrayLike,
    free_length_m: ArrayLike,
    modulus_pa: ArrayLike,
    thickness_m: ArrayLike,
    layer_pa_m: ArrayLike,
    yield_pa: ArrayLike,
) -> FloatArray:
    """Crack opening at which tile across it reaches a stress, the inverse of `yielding_crack_bridge`.

    Parameters
    ----------
    stress_pa : array_like
        Tension in the tile over the crack, at or above 0. [Pa]
    free_length_m, modulus_pa, thickness_m, layer_pa_m, yield_pa : array_like
        As in `yielding_crack_bridge`.

    Returns
    -------
    ndarray
        Opening; infinite where the yielded layer cannot pull the tile so hard. The inputs broadcast. [m]

    Notes
    -----
    An outcome of the model and no capacity of a product: never quote it above the tested crack class.
    The other limit is the slip, half the opening, that the layer reached in its shear test.
    Published check: tests/published/shear_yield.toml.

    References
    ----------
    As `yielding_crack_bridge`.
    """
    force, length, thickness, layer, plateau = np.broadcast_arrays(
        floats(stress_pa) * floats(thickness_m),
        floats(free_length_m),
        floats(thickness_m),
        floats(layer_pa_m),
        floats(yield_pa),
    )
    decay = np.sqrt(layer / (floats(modulus_pa) * thickness))
    reach = np.asarray(decay * length)
    pull = np.asarray(force * decay / plateau)

    def carried(p: FloatArray) -> FloatArray:
        return np.asarray(np.tanh(reach - p) + p)

    elastic = 2 * force * decay / (layer * np.tanh(reach))
    yielded = _rising_root(carried, pull, np.zeros_like(reach), reach)
    # An infinite plateau makes this branch undefined where the elastic one holds.
    with np.errstate(invalid="ignore"):
        beyond = 2 * plateau / layer * (1 + yielded * np.tanh(reach - yielded) + yielded**2 / 2)
    opening = np.where(pull <= np.tanh(reach), elastic, beyond)
    return np.asarray(np.where(pull > reach, np.inf, opening))


class YieldedMismatch(NamedTuple):
    """Tile on a base that shortens, on a layer that may yield."""

    end_shear_pa: FloatArray
    middle_stress_pa: FloatArray
    end_slip_m: FloatArray
    yielded_length_m: FloatArray


def yielding_strain_mismatch(
    mismatch_strain: ArrayLike,
    half_length_m: ArrayLike,
    modulus_pa: ArrayLike,
    thickness_m: ArrayLike,
    base_stiffness_n_m: ArrayLike,
    layer_pa_m: ArrayLike,
    yield_pa: ArrayLike,
) -> YieldedMismatch:
    """Stress in a field of tile on a base of another length, on a layer with a yield plateau.

    Parameters
    ----------
    mismatch_strain : array_like
        As in `shear_lag.strain_mismatch`, at or above 0. [-]
    half_length_m : array_like
        Half the length between joints, l, above 0. [m]
    modulus_pa, thickness_m : array_like
        Elastic modulus E [Pa] and thickness t [m] of the tile layer, above 0.
    base_stiffness_n_m : array_like
        E t of the base; infinite for a rigid base. [N/m]
    layer_pa_m, yield_pa : array_like
        As in `yielding_crack_bridge`.

    Returns
    -------
    YieldedMismatch
        Shear at the ends, stress in the tile at the middle [Pa], slip at the ends and the length at
        each end over which the layer yields [m]. The inputs broadcast.

    Notes
    -----
    s'' = f min(K s, y) with s = 0 at the middle, s' = e at the free end and f = 1/(E t) + 1/(Eb tb). With
    a = sqrt(K f), the elastic part ends in s = y / K with the slope (y a / K) coth(a (l - p)), so

    e = (y a / K) (coth(a (l - p)) + a p),
    stress = (e - (y a / K) / sinh(a (l - p))) / (f t).

    The right side of the first rises with p; p = 0 where the elastic end shear is no more than y. In a
    fully yielded field the stress tends to y l / t.

    References
    ----------
    Own derivation from Chen and Nelson 1979 with a plateau. Check: tests/published/shear_yield.toml, and by
    finite differences in the tests.
    """
    strain, length, thickness, layer, plateau = np.broadcast_arrays(
        floats(mismatch_strain),
        floats(half_length_m),
        floats(thickness_m),
        floats(layer_pa_m),
        floats(yield_pa),
    )
    flexibility = 1 / (floats(modulus_pa) * thickness) + 1 / floats(base_stiffness_n_m)
    decay = np.sqrt(layer * flexibility)
    reach = np.asarray(decay * length)
    turned = np.asarray(strain * layer / (plateau * decay))
    elastic = turned * np.tanh(reach) <= 1

    def slope(p: FloatArray) -> FloatArray:
        return np.asarray(1 / np.tanh(np.maximum(reach - p, 1e-300)) + p)

    yielded = np.where(elastic, 0.0, _rising_root(slope, turned, np.zeros_like(reach), reach))
    left = np.minimum(np.maximum(reach - yielded, 1e-300), _FAR)
    # Slope of the slip at the middle: what the tile there does not take of the mismatch.
    free = np.where(elastic, strain / np.cosh(left), strain)
    with np.errstate(invalid="ignore", over="ignore"):
        free = np.where(elastic, free, plateau * decay / (layer * np.sinh(left)))
        end = np.where(elastic, strain * np.tanh(reach) / decay, plateau / layer)
        more = plateau / layer * (yielded / np.tanh(left) + yielded**2 / 2)
        slip = end + np.where(elastic, 0.0, more)
    stress = (strain - free) / (flexibility * thickness)
    shear = np.minimum(layer * end, plateau)
    return YieldedMismatch(*np.broadcast_arrays(shear, stress, slip, yielded / decay))


class ClassReproduced(NamedTuple):
    """Whether the model lets a tested assembly pass the crack test that it passed."""

    utilization: FloatArray
    reproduced: NDArray[np.bool_]


def reproduces_crack_class(
    crack_m: ArrayLike,
    tile_strength_pa: ArrayLike,
    free_length_m: ArrayLike,
    modulus_pa: ArrayLike,
    thickness_m: ArrayLike,
    layer_pa_m: ArrayLike,
    yield_pa: ArrayLike,
) -> ClassReproduced:
    """Hold the model of a membrane against the crack test that the membrane passed.

    Parameters
    ----------
    crack_m : array_like
        Opening of the test that the assembly took without damage: 1/16 or 1/8 in. [m]
    tile_strength_pa : array_like
        Tension that the tested tile takes, above 0. [Pa]
    free_length_m, modulus_pa, thickness_m : array_like
        Of the tested assembly: crack to free edge [m], elastic modulus [Pa], thickness of the tile. [m]
    layer_pa_m, yield_pa : array_like
        Stiffness and plateau stated for the product. [Pa/m], [Pa]

    Returns
    -------
    ClassReproduced
        Model stress over strength at that opening [-], and whether it is at most 1.

    Notes
    -----
    A test passed in fact and failed by the model tells that the model or its inputs do not describe the
    product: then no stress of the model may be shown for it. A test passed by both proves no capacity,
    above the tested opening least of all.
    Published check: tests/published/shear_yield.toml.

    References
    ----------
    ANSI A118.12, system crack resistance, two levels (1/16 and 1/8 in from memory, confidence 75).
    """
    bridge = yielding_crack_bridge(crack_m, free_length_m, modulus_pa, thickness_m, layer_pa_m, yield_pa)
    share = np.asarray(bridge.stress_pa / floats(tile_strength_pa))
    return ClassReproduced(share, np.asarray(share <= 1))
