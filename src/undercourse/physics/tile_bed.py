"""Tile on a soft sheet under wheels and feet: bending for small and wide patches, pressure on the sheet."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats
from undercourse.physics.loads import corner_stress, edge_stress, interior_stress, resisting_radius
from undercourse.physics.slab import relative_stiffness_length

# Of evenly pressed tile no place bends by more than this share of pressure times reach squared.
WIDE_MOMENT = 0.34
# Pressure under a loaded corner: of a quarter plane on springs (Ioannides 1985), and of a rigid square.
QUARTER_PLANE, RIGID_SQUARE = 1.205, 7.0


class InsideBending(NamedTuple):
    """Bending stress of tile under a load far from its edges. [Pa], lengths in m."""

    reach_m: FloatArray
    counted_radius_m: FloatArray
    section_m: FloatArray
    interior_pa: FloatArray
    wide_pa: FloatArray
    inside_pa: FloatArray


def tile_bending_inside(
    force_n: ArrayLike,
    load_radius_m: ArrayLike,
    thickness_m: ArrayLike,
    modulus_pa: ArrayLike,
    poisson: ArrayLike,
    bed_pa_m: ArrayLike,
) -> InsideBending:
    """Bending stress of tile on a spring bed under an evenly loaded circle of any size, far from edges.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    load_radius_m : array_like
        Radius a of the loaded circle, above 0. [m]
    thickness_m : array_like
        Thickness h of the tile. [m]
    modulus_pa, poisson : array_like
        Elastic modulus [Pa] and Poisson ratio [-] of the tile.
    bed_pa_m : array_like
        Modulus of the bed, above 0. [Pa/m]

    Returns
    -------
    InsideBending
        Reach l (radius of relative stiffness); the radius counted, r = min(a, l); the resisting section; the
        stress by Westergaard with his next term 3 (1 + nu) P (r / l)^2 / (64 h^2); the bound of a wide
        patch; the lesser of both. The inputs broadcast.

    Notes
    -----
    Westergaard's terms are leading ones for small a / l. Past a = l the part of the load beyond l no
    longer adds, and the bound 6 x 0.34 p l^2 / h^2 with p = force / (pi a^2) takes over: on square free
    tile of any size no moment was above 0.328 p l^2 under square patches of any size and 0.336 under discs
    (energy method in the tests, finite elements in the outside checks). Tile of about four reaches bends
    up to 5 % more than this, smaller tile less. For a wide patch the section is not taken below the reach,
    so that stiffer tile never seems to bend less.

    References
    ----------
    Westergaard 1926, see `loads.slab_interior`; the next term as in Ioannides and others 1985 (from memory,
    confidence 90); the bound: own derivation.
    Published check: tests/published/tile_bed.toml; tests/physics/test_physics_tile_bed.py.
    """
    force, radius, thickness = floats(force_n), floats(load_radius_m), floats(thickness_m)
    reach = relative_stiffness_length(modulus_pa, thickness, poisson, bed_pa_m)
    counted = np.minimum(radius, reach)
    small = resisting_radius(counted, thickness)
    section = np.where(radius < reach, small, np.maximum(small, reach))
    # Without the next term tile under a patch of its reach would come out 14 to 17 % low inside.
    more = 3 / 64 * (1 + floats(poisson)) * force * (counted / (reach * thickness)) ** 2
    interior = interior_stress(force, thickness, poisson, reach, section) + more
    wide = 6 * WIDE_MOMENT / np.pi * force * (reach / (radius * thickness)) ** 2
    return InsideBending(reach, counted, section, interior, wide, np.minimum(interior, wide))


class TileBending(NamedTuple):
    """Bending stress of tile under one load at the places where it can stand. [Pa], lengths in m."""

    reach_m: FloatArray
    counted_radius_m: FloatArray
    section_m: FloatArray
    interior_pa: FloatArray
    wide_pa: FloatArray
    inside_pa: FloatArray
    edge_pa: FloatArray
    corner_pa: FloatArray
    worst_pa: FloatArray


def tile_bending(
    force_n: ArrayLike,
    load_radius_m: ArrayLike,
    thickness_m: ArrayLike,
    modulus_pa: ArrayLike,
    poisson: ArrayLike,
    bed_pa_m: ArrayLike,
) -> TileBending:
    """As `tile_bending_inside`, with a free edge and a free corner under the load as well.

    Parameters
    ----------
    force_n, load_radius_m, thickness_m, modulus_pa, poisson, bed_pa_m : array_like
        As for `tile_bending_inside`.

    Returns
    -------
    TileBending
        The answer inside; stress at a free edge and at a free corner by Westergaard; the worst of the
        three or the bound of a wide patch, whichever is less. The inputs broadcast.

    Notes
    -----
    Nothing passes an edge, as at a soft joint. Between a = l / 2 and l the edge formula is up to 8 % low.

    References
    ----------
    Westergaard 1926 and 1948, see `loads.slab_edge`. Published check: tests/published/tile_bed.toml.
    """
    inside = tile_bending_inside(force_n, load_radius_m, thickness_m, modulus_pa, poisson, bed_pa_m)
    edge = edge_stress(force_n, inside.counted_radius_m, thickness_m, poisson, inside.reach_m)
    corner = corner_stress(force_n, inside.counted_radius_m, thickness_m, inside.reach_m)
    worst = np.minimum(np.maximum(np.maximum(inside.interior_pa, edge), corner), inside.wide_pa)
    return TileBending(*inside, edge, corner, worst)


class SheetPressure(NamedTuple):
    """Greatest pressure on the sheet under a load at a free corner of a tile. [Pa]"""

    bent_pa: FloatArray
    cone_pa: FloatArray
    pressure_pa: FloatArray


def sheet_pressure(
    force_n: ArrayLike,
    reach_m: ArrayLike,
    tile_edge_m: ArrayLike,
    length_m: ArrayLike,
    width_m: ArrayLike,
    depth_m: ArrayLike,
) -> SheetPressure:
    """Pressure on a sheet below tile under a load at a corner that passes nothing on.

    Parameters
    ----------
    force_n : array_like
        Load. [N]
    reach_m : array_like
        Radius of relative stiffness of the tile on its bed, l. [m]
    tile_edge_m : array_like
        Shortest edge of the tile, s, above 0. [m]
    length_m, width_m : array_like
        Patch on the surface, above 0. [m]
    depth_m : array_like
        Tile and mortar above the sheet, d. [m]

    Returns
    -------
    SheetPressure
        As tile bends, (P / l^2) (1.205^2.5 + (7 l^2 / s^2)^2.5)^0.4; as a cone of 45 degrees that opens
        to one side each way, P / ((length + d)(width + d)); the lesser. The inputs broadcast.

    Notes
    -----
    Stiff tile spreads the load further than the cone, on a hard bed the cone spreads it further than
    tile does: whichever spreads wider counts. But for 2 % (1.205 is of a Poisson ratio of 0.15) the first
    is a bound on the corner of a square free plate
    under a point load (least energy, in the tests): 1.205 P / l^2 for wide tile, 7 P / s^2 for tile that
    sinks whole; more plate beyond the square only helps. The cone is common practice without a source for
    tile, and a mean: the peak below is higher.

    References
    ----------
    Ioannides, Thompson and Barenberg 1985 (from memory, confidence 95); rigid square on springs by statics;
    the power: own fit. Published check: tests/published/tile_bed.toml.
    """
    force, reach = floats(force_n), floats(reach_m)
    rigid = RIGID_SQUARE * reach**2 / floats(tile_edge_m) ** 2
    bent = force / reach**2 * (QUARTER_PLANE**2.5 + rigid**2.5) ** 0.4
    depth = floats(depth_m)
    cone = force / ((floats(length_m) + depth) * (floats(width_m) + depth))
    return SheetPressure(bent, cone, np.minimum(bent, cone))
