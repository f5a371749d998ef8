"""Wheels and feet on tile: how hard the tread is, how the load spreads below, where tile suffers most."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from undercourse.physics._floats import FloatArray, floats
from undercourse.physics.loads import slab_corner, slab_corner_revised, slab_edge, slab_interior


class TreadModulus(NamedTuple):
    """Elastic modulus of a tread read from its hardness, as a range."""

    low_pa: FloatArray
    high_pa: FloatArray
    valid: NDArray[np.bool_]


def rubber_modulus(shore_a: ArrayLike) -> TreadModulus:
    """Elastic modulus of a rubber or soft polyurethane tread from its Shore A hardness.

    Parameters
    ----------
    shore_a : array_like
        Hardness, above 0, below 100.

    Returns
    -------
    TreadModulus
        Range of two formulas [Pa], and whether the hardness lies in 20 to 80, where both were fitted.

    Notes
    -----
    E = 0.0981 (56 + 7.62336 S) / (0.137505 (254 - 2.54 S)) and log10 E = 0.0235 S - 0.6403, in MPa; they
    part by 1.1 to 1.9 between S 40 and 80. The stiffer end gives the smaller patch. The second is printed
    on some pages with e in place of 10, which reads far too soft.
    Published check: tests/published/wheels.toml.

    References
    ----------
    Gent 1958 (first), Ruess (second): formulas as printed on public pages and codes.
    """
    hardness = floats(shore_a)
    gent = 0.0981 * (56 + 7.62336 * hardness) / (0.137505 * (254 - 2.54 * hardness)) * 1e6
    fitted = 10 ** (0.0235 * hardness - 0.6403) * 1e6
    valid = np.asarray((hardness >= 20) & (hardness <= 80))
    return TreadModulus(np.minimum(gent, fitted), np.maximum(gent, fitted), valid)


def hard_tread_modulus(shore_d: ArrayLike) -> TreadModulus:
    """Elastic modulus of a hard rubber or plastic tread from its Shore D hardness.

    Parameters
    ----------
    shore_d : array_like
        Hardness, above 0, below 100.

    Returns
    -------
    TreadModulus
        One value at both ends [Pa], and whether the hardness lies in 30 to 85.

    Notes
    -----
    log10 E = 0.0235 (S + 50) - 0.6403 in MPa. Fitted to elastomers: nylon and other engineering plastics
    are stiffer (about 2 to 3 GPa, from memory), steel is 200 GPa; give those a modulus directly.
    Published check: tests/published/wheels.toml.

    References
    ----------
    Ruess, carried to Shore D by adding 50, as printed on an engineering page.
    """
    hardness = floats(shore_d)
    modulus = np.asarray(10 ** (0.0235 * (hardness + 50) - 0.6403) * 1e6)
    return TreadModulus(modulus, modulus, np.asarray((hardness >= 30) & (hardness <= 85)))


def contact_size_ratio(
    half_width_m: ArrayLike, radius_m: ArrayLike, layer_thickness_m: ArrayLike
) -> FloatArray:
    """How large a contact is against the wheel and against the thinner of the layers that touch.

    Parameters
    ----------
    half_width_m : array_like
        Half width or radius of the contact from `loads.roller_contact` or `loads.ball_contact`. [m]
    radius_m : array_like
        Radius of the wheel. [m]
    layer_thickness_m : array_like
        Thickness of tread or tile, whichever is thinner. [m]

    Returns
    -------
    ndarray
        The greater of half width over radius and over thickness. [-]

    Notes
    -----
    Hertz takes both bodies as half spaces: the number should be small, 0.3 and less (common practice, no
    source). Above that a thin tread on a rigid rim is stiffer, so the patch is smaller and the pressure
    higher than the formula says.
    Published check: tests/published/wheels.toml.

    References
    ----------
    Johnson, Contact Mechanics, 1985, chapter 4 (contact small against both bodies).
    """
    half = floats(half_width_m)
    return np.maximum(half / floats(radius_m), half / floats(layer_thickness_m))


class SpreadPatch(NamedTuple):
    """A patch under the surface and the mean pressure on it."""

    length_m: FloatArray
    width_m: FloatArray
    pressure_pa: FloatArray


def spread_load(
    force_n: ArrayLike, length_m: ArrayLike, width_m: ArrayLike, depth_m: ArrayLike, slope: ArrayLike
) -> SpreadPatch:
    """Spread of a patch load through tile and mortar down to the sheet.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    length_m, width_m : array_like
        Patch on the surface, above 0. [m]
    depth_m : array_like
        From the surface to the sheet. [m]
    slope : array_like
        Sideways per depth: 1 for 45 degrees; 0 for none, on the safe side. [-]

    Returns
    -------
    SpreadPatch
        Patch at that depth [m] and the mean pressure on it [Pa]. The inputs broadcast.

    Notes
    -----
    A mean: the peak below the middle is higher, see `pressure_below_circle`. Not across a soft joint or an
    edge of tile.
    Published check: tests/published/wheels.toml.

    References
    ----------
    Common practice, no source for tile. Road bridges take 1 to 1 through surfacing and slab (EN 1991-2,
    4.3.6; from memory, confidence 90).
    """
    more = 2 * floats(depth_m) * floats(slope)
    length, width = floats(length_m) + more, floats(width_m) + more
    return SpreadPatch(*np.broadcast_arrays(length, width, floats(force_n) / (length * width)))


def pressure_below_circle(pressure_pa: ArrayLike, radius_m: ArrayLike, depth_m: ArrayLike) -> FloatArray:
    """Pressure below the middle of an evenly loaded circle in one deep material.

    Parameters
    ----------
    pressure_pa : array_like
        Pressure on the circle. [Pa]
    radius_m : array_like
        Radius of the circle, above 0. [m]
    depth_m : array_like
        Depth, at or above 0. [m]

    Returns
    -------
    ndarray
        p (1 - (1 + (a / z)^2)^(-3/2)). [Pa]

    Notes
    -----
    The peak for a base as stiff as tile and mortar. A softer sheet below gets less, since tile then bends
    and spreads the load further.
    Published check: tests/published/wheels.toml.

    References
    ----------
    Boussinesq 1885, integrated over a circle; Das, Principles of Foundation Engineering.
    """
    with np.errstate(divide="ignore"):
        ratio = floats(radius_m) / floats(depth_m)
    return np.asarray(floats(pressure_pa) * (1 - (1 + ratio**2) ** -1.5))


class WorstPlace(NamedTuple):
    """The place on a tile at which a load bends it most."""

    stress_pa: FloatArray
    place: NDArray[np.intp]
    relative_radius: FloatArray


def worst_place(
    force_n: ArrayLike,
    load_radius_m: ArrayLike,
    thickness_m: ArrayLike,
    modulus_pa: ArrayLike,
    poisson: ArrayLike,
    bed_pa_m: ArrayLike,
) -> WorstPlace:
    """Greatest bending stress of tile on a soft bed under a load inside, at an edge or at a corner.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    load_radius_m : array_like
        Radius of the loaded circle, above 0, see `loads.patch_radius`. [m]
    thickness_m : array_like
        Tile thickness. [m]
    modulus_pa, poisson : array_like
        Elastic modulus [Pa] and Poisson ratio [-] of the tile.
    bed_pa_m : array_like
        Modulus of the bed: compression modulus of a mat over its thickness. [Pa/m]

    Returns
    -------
    WorstPlace
        Stress [Pa]; place 0 inside, 1 edge, 2 corner; loaded radius over radius of relative stiffness [-].

    Notes
    -----
    Edges and corners carry nothing over to the next tile, as at a soft joint; hard grout does better. The
    corner takes the greater of two formulas. Where the last number nears 1 the load is no longer small
    against the tile's reach and the formulas leave their range; below a tile a few reaches wide they also
    say too much, since such a tile sinks whole.
    Published check: tests/published/wheels.toml.

    References
    ----------
    Westergaard 1926 and 1948, Ioannides and others 1985; see `loads.slab_edge`.
    """
    case = (force_n, load_radius_m, thickness_m, modulus_pa, poisson, bed_pa_m)
    corner = np.maximum(slab_corner(*case).stress_pa, slab_corner_revised(*case).stress_pa)
    stresses = np.stack(
        np.broadcast_arrays(slab_interior(*case).stress_pa, slab_edge(*case).stress_pa, corner)
    )
    bending = floats(modulus_pa) * floats(thickness_m) ** 3 / (12 * (1 - floats(poisson) ** 2))
    reach = (bending / floats(bed_pa_m)) ** 0.25
    relative = np.asarray(floats(load_radius_m) / reach)
    return WorstPlace(np.asarray(stresses.max(axis=0)), np.asarray(stresses.argmax(axis=0)), relative)
