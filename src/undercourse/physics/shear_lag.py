"""How strain passes through a soft layer in shear: laps, shrinking bases, cracks under tile.

The layer is a bed of shear springs; members carry only stretch along the plane. Peel and bending are
left out. The layer stiffness K = G / thickness is shear stress per slip. [Pa/m]
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats


def layer_stiffness(shear_modulus_pa: ArrayLike, thickness_m: ArrayLike) -> FloatArray:
    """Shear stiffness per area of layers in series: mortar, membrane, mortar.

    Parameters
    ----------
    shear_modulus_pa, thickness_m : array_like, shape (..., layers)
        Shear modulus [Pa] and thickness [m] of each layer, above 0.

    Returns
    -------
    ndarray, shape (...)
        1 / sum(thickness / modulus). [Pa/m]
    """
    return np.asarray(1 / np.sum(floats(thickness_m) / floats(shear_modulus_pa), axis=-1))


class LapStress(NamedTuple):
    """Shear stress in a lap joint. [Pa]"""

    decay_per_m: FloatArray
    average_pa: FloatArray
    end_1_pa: FloatArray
    end_2_pa: FloatArray


def lap_joint(
    load_n_m: ArrayLike,
    length_m: ArrayLike,
    stiffness_1_n_m: ArrayLike,
    stiffness_2_n_m: ArrayLike,
    layer_pa_m: ArrayLike,
) -> LapStress:
    """Shear stress at both ends of a single lap under pull.

    Parameters
    ----------
    load_n_m : array_like
        Pull per width. [N/m]
    length_m : array_like
        Length of the lap, above 0. [m]
    stiffness_1_n_m, stiffness_2_n_m : array_like
        E t of each member, above 0. [N/m]
    layer_pa_m : array_like
        Shear stiffness of the layer, see `layer_stiffness`. [Pa/m]

    Returns
    -------
    LapStress
        Decay rate [1/m], mean stress, and the stress at the end where member 1, member 2 is loaded.

    Notes
    -----
    The peak stands at the end where the more flexible member is loaded.

    References
    ----------
    Volkersen 1938. Check: tests/published/shear_lag.toml.
    """
    first, second = floats(stiffness_1_n_m), floats(stiffness_2_n_m)
    load, length = floats(load_n_m), floats(length_m)
    decay = np.sqrt(floats(layer_pa_m) * (1 / first + 1 / second))
    half = decay * length / 2
    even = load * decay / (2 * np.tanh(half))
    odd = load * decay / 2 * (second - first) / (first + second) * np.tanh(half)
    return LapStress(decay, load / length, even + odd, even - odd)


class StrainMismatch(NamedTuple):
    """Tile on a base that shortens."""

    decay_per_m: FloatArray
    end_shear_pa: FloatArray
    middle_stress_pa: FloatArray


def strain_mismatch(
    mismatch_strain: ArrayLike,
    half_length_m: ArrayLike,
    modulus_pa: ArrayLike,
    thickness_m: ArrayLike,
    base_stiffness_n_m: ArrayLike,
    layer_pa_m: ArrayLike,
) -> StrainMismatch:
    """Stress in a field of tile that is free at its ends while base and tile want different lengths.

    Parameters
    ----------
    mismatch_strain : array_like
        Shortening of the base relative to the tile: remaining shrinkage, moisture expansion of the
        tile, heat. [-]
    half_length_m : array_like
        Half the length between joints, above 0. [m]
    modulus_pa, thickness_m : array_like
        Elastic modulus [Pa] and thickness [m] of the tile layer.
    base_stiffness_n_m : array_like
        E t of the base; infinite for a rigid base. [N/m]
    layer_pa_m : array_like
        Shear stiffness of what lies between. [Pa/m]

    Returns
    -------
    StrainMismatch
        Decay rate [1/m], shear at the ends, compression in the tile at the middle. [Pa]

    References
    ----------
    Chen and Nelson 1979; Suhir 1986; from memory (confidence 95).
    Check: tests/published/shear_lag.toml, and by a numerical solution in the tests.
    """
    thickness, layer, strain = floats(thickness_m), floats(layer_pa_m), floats(mismatch_strain)
    flexibility = 1 / (floats(modulus_pa) * thickness) + 1 / floats(base_stiffness_n_m)
    decay = np.sqrt(layer * flexibility)
    reach = decay * floats(half_length_m)
    shear = layer * strain * np.tanh(reach) / decay
    # Beyond 300 the hyperbolic cosine overflows while its inverse is nothing.
    force = strain / flexibility * (1 - 1 / np.cosh(np.minimum(reach, 300.0)))
    return StrainMismatch(decay, shear, force / thickness)


class CrackBridge(NamedTuple):
    """Tile over a crack that opens."""

    decay_per_m: FloatArray
    stress_pa: FloatArray
    layer_shear_pa: FloatArray
    transfer_length_m: FloatArray


def crack_bridge(
    opening_m: ArrayLike,
    free_length_m: ArrayLike,
    modulus_pa: ArrayLike,
    thickness_m: ArrayLike,
    layer_pa_m: ArrayLike,
) -> CrackBridge:
    """Pull in tile that runs unbroken across a crack which opens in a rigid base.

    Parameters
    ----------
    opening_m : array_like
        Opening after tiling, at or above 0. [m]
    free_length_m : array_like
        From the crack to the nearest free edge of tile or soft joint. [m]
    modulus_pa, thickness_m : array_like
        Elastic modulus [Pa] and thickness [m] of the tile layer.
    layer_pa_m : array_like
        Shear stiffness of what lies between, see `layer_stiffness`. [Pa/m]

    Returns
    -------
    CrackBridge
        Decay rate [1/m], tension in the tile over the crack, shear of the layer beside the crack
        [Pa] and transfer length 1 / decay [m].

    Notes
    -----
    stress = (w / 2t) sqrt(K E t) tanh(decay l); for short tile it tends to K w l / (2 t). The same
    layer that spares the tile slips w / 2 beside the crack. Grout joints between are counted as tile.

    References
    ----------
    Own derivation from the Volkersen equation; no published worked example was found.
    Check: tests/published/shear_lag.toml, and by a numerical solution in the tests.
    """
    thickness, layer, opening = floats(thickness_m), floats(layer_pa_m), floats(opening_m)
    stretch = floats(modulus_pa) * thickness
    decay = np.sqrt(layer / stretch)
    stress = opening / (2 * thickness) * np.sqrt(layer * stretch) * np.tanh(decay * floats(free_length_m))
    return CrackBridge(decay, stress, layer * opening / 2, 1 / decay)


def curvature_mismatch(
    curvature_per_m: ArrayLike, base_lever_m: ArrayLike, gap_m: ArrayLike, thickness_m: ArrayLike
) -> FloatArray:
    """Strain by which a bent base and the tile that bends with it want to differ in length.

    Parameters
    ----------
    curvature_per_m : array_like
        Curvature of the base, as over a joist; the greatest along the field, at or above 0. [1/m]
    base_lever_m : array_like
        From the neutral axis of the base to its top face. [m]
    gap_m : array_like
        Thickness of what lies between base and tile. [m]
    thickness_m : array_like
        Thickness of the tile layer. [m]

    Returns
    -------
    ndarray
        curvature (lever + gap + thickness / 2), for `strain_mismatch` or its yielding form. Where the base
        bends up over a support the tile is stretched. The inputs broadcast. [-]

    Notes
    -----
    Tile and base keep one curvature; a layer that turned with them without shear would carry the mid
    plane of the tile along at the radius of that plane. Curvature is imposed: tile that stiffens the base
    lowers it. It is taken even along the field at its greatest value, an upper bound, since tile force
    grows with the mismatch at every place.

    References
    ----------
    Sandwich theory with thin stiff faces; own derivation. Check: tests/published/shear_lag.toml, and by
    least energy in the tests.
    """
    lever = floats(base_lever_m) + floats(gap_m) + floats(thickness_m) / 2
    return np.asarray(floats(curvature_per_m) * lever)


def bent_tile_stress(
    axial_stress_pa: ArrayLike, curvature_per_m: ArrayLike, modulus_pa: ArrayLike, thickness_m: ArrayLike
) -> FloatArray:
    """Stress at the face of tile that is stretched along its plane and bent with its base.

    Parameters
    ----------
    axial_stress_pa : array_like
        Stress of the tile along its plane, from `strain_mismatch`. [Pa]
    curvature_per_m : array_like
        Curvature that tile and base share. [1/m]
    modulus_pa, thickness_m : array_like
        Elastic modulus [Pa] and thickness [m] of the tile layer.

    Returns
    -------
    ndarray
        axial + E curvature t / 2, at the top face over a support. The inputs broadcast. [Pa]

    Notes
    -----
    A soft layer takes away the axial part, never the bending part.
    Published check: tests/published/shear_lag.toml.

    References
    ----------
    Beam theory.
    """
    own = floats(modulus_pa) * floats(curvature_per_m) * floats(thickness_m) / 2
    return np.asarray(floats(axial_stress_pa) + own)
