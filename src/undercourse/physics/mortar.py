"""Mortar under sheets and tiles: bed from the notch, contact, cavity fill, bags.

A notch leaves a volume; pressed flat, that volume is the bed. Class limits and coverage limits
stay in data. Depths here are volumes per area, so they add: bed, cavity fill, back-buttering.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]

LEAST_TROWELED, MOST_TROWELED = 0.45, float(np.sqrt(0.5))
"""Share of the upright-blade bed that stays on the floor: least from published bag coverage taken at
half a cubic foot of mixed mortar per 50 lb bag (an assumption), most from a blade at 45 degrees."""

_BAG_SLACK = 1e-9


def _array(value: ArrayLike) -> FloatArray:
    return np.asarray(value, dtype=np.float64)


class Bed(NamedTuple):
    """Bed as a range."""

    low_m: FloatArray
    high_m: FloatArray


def square_notch_bed(
    width_m: ArrayLike, depth_m: ArrayLike, land_m: ArrayLike, blade_angle_rad: ArrayLike
) -> FloatArray:
    """Mean bed that a square or rectangular notch leaves.

    Parameters
    ----------
    width_m, depth_m : array_like
        Notch width and depth, above 0. [m]
    land_m : array_like
        Tooth between two notches, at or above 0. [m]
    blade_angle_rad : array_like
        Blade to floor, pi/2 upright. [rad]

    Returns
    -------
    ndarray
        Volume per area before pressing and mean bed after; the inputs broadcast. [m]

    Notes
    -----
    h sin(phi) w / (w + s). A geometric most; see `troweled_bed`.
    Published check: tests/published/mortar.toml, "square notch".

    References
    ----------
    Geometry of the notch.
    """
    width = _array(width_m)
    share = width / (width + _array(land_m))
    return np.asarray(_array(depth_m) * np.sin(_array(blade_angle_rad)) * share)


def v_notch_bed(
    base_m: ArrayLike, depth_m: ArrayLike, pitch_m: ArrayLike, blade_angle_rad: ArrayLike
) -> FloatArray:
    """Mean bed that a V notch leaves.

    Parameters
    ----------
    base_m, depth_m : array_like
        Width of the V at the edge and its depth, above 0. [m]
    pitch_m : array_like
        From notch to notch, at least the base. [m]
    blade_angle_rad : array_like
        Blade to floor, pi/2 upright. [rad]

    Returns
    -------
    ndarray
        Volume per area; the inputs broadcast. [m]

    Notes
    -----
    h sin(phi) b / (2 p); half the depth where the Vs touch and the blade is upright.
    Published check: tests/published/mortar.toml, "V notch".

    References
    ----------
    Geometry of the notch.
    """
    share = _array(base_m) / (2.0 * _array(pitch_m))
    return np.asarray(_array(depth_m) * np.sin(_array(blade_angle_rad)) * share)


def u_notch_bed(
    width_m: ArrayLike, depth_m: ArrayLike, land_m: ArrayLike, blade_angle_rad: ArrayLike
) -> FloatArray:
    """Mean bed that a U notch with a half-round end leaves.

    Parameters
    ----------
    width_m, depth_m : array_like
        Notch width, and depth of at least half of it. [m]
    land_m : array_like
        Tooth between two notches, at or above 0. [m]
    blade_angle_rad : array_like
        Blade to floor, pi/2 upright. [rad]

    Returns
    -------
    ndarray
        Volume per area; the inputs broadcast. [m]

    Notes
    -----
    (w (h - w/2) + pi w^2 / 8) / (w + s), times sin(phi).
    Published check: tests/published/mortar.toml, "U notch".

    References
    ----------
    Geometry of the notch.
    """
    width = _array(width_m)
    section = width * (_array(depth_m) - width / 2.0) + np.pi * width**2 / 8.0
    return np.asarray(section / (width + _array(land_m)) * np.sin(_array(blade_angle_rad)))


def troweled_bed(upright_bed_m: ArrayLike) -> Bed:
    """Range of bed that really stays on the floor.

    Parameters
    ----------
    upright_bed_m : array_like
        Bed of the notch with an upright blade. [m]

    Returns
    -------
    Bed
        45 to 71 % of it, same shape. [m]

    Notes
    -----
    For quantities order by the high end; for contact judge by the low end.
    Published check: tests/published/mortar.toml, "troweled bed".

    References
    ----------
    Bag coverage of two general tile guides (1/4 x 1/4, 1/4 x 3/8, 1/2 x 1/2 in); see `LEAST_TROWELED`.
    """
    bed = _array(upright_bed_m)
    return Bed(np.asarray(LEAST_TROWELED * bed), np.asarray(MOST_TROWELED * bed))


def contact_fraction(bed_m: ArrayLike, gap_m: ArrayLike) -> FloatArray:
    """Share of the tile back in contact when ridges are pressed down to a gap.

    Parameters
    ----------
    bed_m : array_like
        Volume of mortar per area. [m]
    gap_m : array_like
        Distance left between tile and substrate, above 0. [m]

    Returns
    -------
    ndarray
        Contact, at most 1; the inputs broadcast. [1]

    Notes
    -----
    Volume is kept while ridges spread; trapped air and lugs on the tile back lower it. What counts is
    the coverage of lifted tiles.
    Published check: tests/published/mortar.toml, "contact of pressed ridges".

    References
    ----------
    Conservation of volume.
    """
    return np.asarray(np.minimum(1.0, _array(bed_m) / _array(gap_m)))


def cavity_fill(depth_m: ArrayLike, open_share: ArrayLike) -> FloatArray:
    """Mortar that fills the cells of a cavity sheet, per area.

    Parameters
    ----------
    depth_m : array_like
        Depth of the cells. [m]
    open_share : array_like
        Volume of the cells over depth times area, 0 to 1; under the plan share where cells taper. [1]

    Returns
    -------
    ndarray
        Volume per area; the inputs broadcast; adds to the bed over the sheet. [m]

    Notes
    -----
    Published check: tests/published/mortar.toml, "cavity fill".

    References
    ----------
    Definition.
    """
    return np.asarray(_array(depth_m) * _array(open_share))


def bag_yield(bag_kg: ArrayLike, water_ratio: ArrayLike, fresh_density_kg_m3: ArrayLike) -> FloatArray:
    """Fresh mortar from one bag.

    Parameters
    ----------
    bag_kg : array_like
        Dry mass. [kg]
    water_ratio : array_like
        Mixing water or liquid over dry mass. [1]
    fresh_density_kg_m3 : array_like
        Density of the fresh mortar, above 0. [kg/m3]

    Returns
    -------
    ndarray
        Volume; the inputs broadcast. [m3]

    Notes
    -----
    Published check: tests/published/mortar.toml, "bag yield".

    References
    ----------
    Conservation of mass.
    """
    return np.asarray(_array(bag_kg) * (1.0 + _array(water_ratio)) / _array(fresh_density_kg_m3))


def bag_coverage(yield_m3: ArrayLike, depth_m: ArrayLike) -> FloatArray:
    """Area that one bag covers.

    Parameters
    ----------
    yield_m3 : array_like
        Fresh mortar from a bag. [m3]
    depth_m : array_like
        Volume per area of all that the mortar has to fill, above 0. [m]

    Returns
    -------
    ndarray
        Area; the inputs broadcast. [m2]

    Notes
    -----
    Published check: tests/published/mortar.toml, "bag coverage".

    References
    ----------
    Definition.
    """
    return np.asarray(_array(yield_m3) / _array(depth_m))


def bags_needed(
    area_m2: ArrayLike, depth_m: ArrayLike, yield_m3: ArrayLike, waste_share: ArrayLike
) -> IntArray:
    """Whole bags for an area.

    Parameters
    ----------
    area_m2 : array_like
        Net area. [m2]
    depth_m : array_like
        Volume per area, bed and cavity fill together. [m]
    yield_m3 : array_like
        Fresh mortar from a bag, above 0. [m3]
    waste_share : array_like
        Left in pails and scraped off, as a share of the net volume. [1]

    Returns
    -------
    ndarray of int
        Bags, rounded up; the inputs broadcast.

    Notes
    -----
    Published check: tests/published/mortar.toml, "whole bags".

    References
    ----------
    Definition.
    """
    volume = _array(area_m2) * _array(depth_m) * (1.0 + _array(waste_share))
    return np.asarray(np.ceil(volume / _array(yield_m3) - _BAG_SLACK), dtype=np.int64)
