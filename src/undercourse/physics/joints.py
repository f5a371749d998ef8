"""Movement joints in tile: how much they move, how wide they must be, how far apart they may stand."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike, NDArray

from undercourse.physics._floats import FloatArray, floats

_INCH_M = 0.0254
_FOOT_M = 0.3048
_FAHRENHEIT_K = 5 / 9
# Exact inch and foot values pass through metres; the slack keeps 115 F and 12 ft on their step.
_SLACK = 1e-9


def closing_movement(
    length_m: ArrayLike,
    expansion_per_k: ArrayLike,
    temperature_rise_k: ArrayLike,
    moisture_expansion: ArrayLike,
    base_shortening: ArrayLike,
) -> FloatArray:
    """Movement that closes a joint: tile grows with heat and moisture, the base shortens.

    Parameters
    ----------
    length_m : array_like
        Length of tile between joints. [m]
    expansion_per_k : array_like
        Expansion coefficient of the tile field, per kelvin. [1/K]
    temperature_rise_k : array_like
        Rise above the temperature at laying. [K]
    moisture_expansion : array_like
        Of the tile; 0.6e-3 is the advised maximum of ISO 10545-10. [-]
    base_shortening : array_like
        Remaining shrinkage of the base that the tile is spared of. [-]

    Returns
    -------
    ndarray
        Length times the sum of the strains, as if the tile were free to move. [m]

    References
    ----------
    ASTM C1472, form of the movement as given in a university course; moisture by ISO 10545-10.
    """
    heat = floats(expansion_per_k) * floats(temperature_rise_k)
    return floats(length_m) * (heat + floats(moisture_expansion) + floats(base_shortening))


def joint_width(
    thermal_movement_m: ArrayLike,
    other_movement_m: ArrayLike,
    capability: ArrayLike,
    tolerance_m: ArrayLike,
) -> FloatArray:
    """Width that a sealant joint needs for its movement.

    Parameters
    ----------
    thermal_movement_m, other_movement_m : array_like
        Movement one way, at or above 0. [m]
    capability : array_like
        Movement capability of the sealant, one way: 0.25 for a sealant rated at 25 %. [-]
    tolerance_m : array_like
        Construction tolerance added. [m]

    Returns
    -------
    ndarray
        (thermal + other) / capability + tolerance. [m]

    References
    ----------
    Form of ASTM C1472, as given in a university course. Check: tests/published/movement_joints.toml.
    """
    movement = floats(thermal_movement_m) + floats(other_movement_m)
    return movement / floats(capability) + floats(tolerance_m)


def joint_spacing(
    width_m: ArrayLike, tolerance_m: ArrayLike, capability: ArrayLike, strain: ArrayLike
) -> FloatArray:
    """Length of tile that a joint of given width serves, the inverse of `joint_width`.

    Parameters
    ----------
    width_m : array_like
        Width as built. [m]
    tolerance_m : array_like
        Construction tolerance taken off. [m]
    capability : array_like
        Movement capability of the sealant, one way. [-]
    strain : array_like
        Sum of the strains of the tile field, above 0. [-]

    Returns
    -------
    ndarray
        Not below 0. [m]
    """
    usable = np.maximum(floats(width_m) - floats(tolerance_m), 0.0)
    return usable * floats(capability) / floats(strain)


def least_width_by_factor(movement_m: ArrayLike, accommodation: ArrayLike) -> FloatArray:
    """Least width by the movement accommodation factor.

    Parameters
    ----------
    movement_m : array_like
        Total movement. [m]
    accommodation : array_like
        Movement accommodation factor, a share of the least width. [-]

    Returns
    -------
    ndarray
        movement / factor. The joint also opens, so the design width adds the movement and the
        tolerance to it (that part from memory, confidence 70). [m]

    References
    ----------
    BS 6093 as quoted on an engineering page. Check: tests/published/movement_joints.toml.
    """
    return floats(movement_m) / floats(accommodation)


def sealant_depth(width_m: ArrayLike) -> FloatArray:
    """Depth of sealant for a joint width.

    Parameters
    ----------
    width_m : array_like
        Joint width. [m]

    Returns
    -------
    ndarray
        Half the width, between 1/4 and 1/2 in. [m]

    References
    ----------
    Sealant design page of a detailing handbook.
    """
    return np.clip(floats(width_m) / 2, _INCH_M / 4, _INCH_M / 2)


def interior_joint_width(grout_joint_m: ArrayLike) -> FloatArray:
    """Guideline width of an interior movement joint in floor tile.

    Parameters
    ----------
    grout_joint_m : array_like
        Width of the grout joints. [m]

    Returns
    -------
    ndarray
        The grout joint, but not less than 1/4 in. [m]

    References
    ----------
    Movement joint guideline of the tile industry's handbook, as quoted by trade magazines.
    """
    return np.maximum(floats(grout_joint_m), _INCH_M / 4)


def exterior_joint_width(spacing_m: ArrayLike, yearly_range_k: ArrayLike) -> FloatArray:
    """Guideline width of an exterior movement joint.

    Parameters
    ----------
    spacing_m : array_like
        Spacing, at most 12 ft; the guideline says nothing of wider ones. [m]
    yearly_range_k : array_like
        Difference between the hottest and the coldest of the tile in a year. [K]

    Returns
    -------
    ndarray
        3/8 in up to 8 ft, 1/2 in above, and 1/16 in more for each 15 F, begun ones counted whole,
        by which the range exceeds 100 F. [m]

    References
    ----------
    Movement joint guideline of the tile industry's handbook, as quoted by a trade magazine. Check:
    tests/published/movement_joints.toml.
    """
    base = np.where(floats(spacing_m) <= 8 * _FOOT_M + _SLACK, 3 / 8, 1 / 2)
    excess = floats(yearly_range_k) / _FAHRENHEIT_K - 100
    steps = np.maximum(np.ceil(excess / 15 - 1e-6), 0.0)
    return (base + steps / 16) * _INCH_M


def joint_count(length_m: ArrayLike, spacing_m: ArrayLike) -> NDArray[np.int64]:
    """Movement joints needed inside a length, the perimeter joints not counted.

    Parameters
    ----------
    length_m : array_like
        Length of the area. [m]
    spacing_m : array_like
        Greatest spacing allowed, above 0. [m]

    Returns
    -------
    ndarray of int
        One less than the number of fields.
    """
    fields = np.ceil(floats(length_m) / floats(spacing_m) - _SLACK)
    return np.asarray(np.maximum(fields - 1, 0), dtype=np.int64)


def wood_moisture_movement(
    coefficient_per_percent: ArrayLike, width_m: ArrayLike, moisture_change_percent: ArrayLike
) -> FloatArray:
    """Change of width of wood with its moisture, below fiber saturation.

    Parameters
    ----------
    coefficient_per_percent : array_like
        Strain per percent of moisture content: Douglas fir tangential 0.00267, radial 0.00165 (from
        memory, confidence 85). [1/%]
    width_m : array_like
        Width across the grain. [m]
    moisture_change_percent : array_like
        Change of moisture content, in percent of dry weight. [%]

    Returns
    -------
    ndarray
        [m]

    References
    ----------
    Wood Handbook, dimensional change coefficients; tangential value as printed in an open script.
    """
    return floats(coefficient_per_percent) * floats(width_m) * floats(moisture_change_percent)
