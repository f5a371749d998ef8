"""Notches and holes in sawn joists: where they may be, and shear beside an end notch."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

_END_DEPTH, _OUTER_DEPTH, _LENGTH, _HOLE = 1 / 4, 1 / 6, 1 / 3, 1 / 3
_HOLE_EDGE_M = 2 * 0.0254
# Positions come from feet and inches through metres; a notch that just reaches the third is outside it.
_SLACK = 1e-9


def notch_share(
    joist_depth_m: ArrayLike,
    notch_depth_m: ArrayLike,
    notch_start_m: ArrayLike,
    notch_end_m: ArrayLike,
    span_m: ArrayLike,
    at_end: ArrayLike,
) -> FloatArray:
    """Share of the prescribed limits that a notch in a 2 in sawn joist uses.

    Parameters
    ----------
    joist_depth_m : array_like
        Depth of the joist as dressed. [m]
    notch_depth_m : array_like
        Depth of the notch. [m]
    notch_start_m, notch_end_m : array_like
        Where it begins and ends along the span, from one support. [m]
    span_m : array_like
        Span. [m]
    at_end : array_like of bool
        True for a notch over the bearing.

    Returns
    -------
    ndarray
        At the end: depth over d/4. In the outer thirds: the greater of depth over d/6 and length over
        d/3. Reaching into the middle third: infinite. At most 1 is allowed. [-]

    Notes
    -----
    Not for I-joists, trusses, laminated or structural composite lumber: their makers say. Members of 4 in
    and more may not be notched on the tension side at all but at the ends.
    Published check: tests/published/spans.toml.

    References
    ----------
    NDS 2018, 4.4.3; IRC R502.8.1, text of it on a building guide page.
    """
    depth, span = floats(joist_depth_m), floats(span_m)
    start, end = floats(notch_start_m), floats(notch_end_m)
    reaches = (end > span / 3 * (1 + _SLACK)) & (start < 2 * span / 3 * (1 - _SLACK))
    cut = floats(notch_depth_m) / depth
    outer = np.maximum(cut / _OUTER_DEPTH, (end - start) / depth / _LENGTH)
    between = np.where(reaches, np.inf, outer)
    return np.where(np.asarray(at_end, dtype=bool), cut / _END_DEPTH, between)


def hole_share(joist_depth_m: ArrayLike, hole_diameter_m: ArrayLike, nearest_edge_m: ArrayLike) -> FloatArray:
    """Share of the prescribed limits that a bored hole in a sawn joist uses.

    Parameters
    ----------
    joist_depth_m : array_like
        Depth of the joist as dressed. [m]
    hole_diameter_m : array_like
        Diameter, above 0. [m]
    nearest_edge_m : array_like
        From the hole to the top or bottom of the joist, another hole or a notch, above 0. [m]

    Returns
    -------
    ndarray
        The greater of diameter over d/3 and 2 in over the edge distance; at most 1 is allowed. [-]

    Notes
    -----
    Published check: tests/published/spans.toml.

    References
    ----------
    IRC R502.8.1, text of it on a building guide page.
    """
    size = floats(hole_diameter_m) / (_HOLE * floats(joist_depth_m))
    return np.maximum(size, _HOLE_EDGE_M / floats(nearest_edge_m))


def notched_shear_strength(
    shear_strength_pa: ArrayLike, width_m: ArrayLike, depth_m: ArrayLike, remaining_depth_m: ArrayLike
) -> FloatArray:
    """Shear force that a rectangular joist takes at a square end notch on its tension face.

    Parameters
    ----------
    shear_strength_pa : array_like
        Adjusted strength Fv'. [Pa]
    width_m, depth_m : array_like
        Of the joist, above 0. [m]
    remaining_depth_m : array_like
        Depth left over the notch, up to the whole depth. [m]

    Returns
    -------
    ndarray
        (2/3) Fv' b dn (dn / d)^2, the force at the support to be held against the whole reaction. [N]

    Notes
    -----
    Published check: tests/published/spans.toml.

    References
    ----------
    NDS 2018, 3.4.3.2 (a); from memory (confidence 95). The square of dn / d since the 2005 edition is
    told by an association's question page on notches.
    """
    depth, remaining = floats(depth_m), floats(remaining_depth_m)
    section = floats(width_m) * remaining
    return np.asarray(2 / 3 * floats(shear_strength_pa) * section * (remaining / depth) ** 2)


def notch_leaves_stiffness(
    joist_depth_m: ArrayLike, notch_depth_m: ArrayLike, notch_length_m: ArrayLike
) -> FloatArray:
    """Share used of the notch size up to which deflection may be computed with the full section.

    Parameters
    ----------
    joist_depth_m, notch_depth_m, notch_length_m : array_like
        Depth of the joist, depth and length of the notch. [m]

    Returns
    -------
    ndarray
        The greater of depth over d/6 and length over d/3; above 1 the full EI is not valid. [-]

    Notes
    -----
    Published check: tests/published/spans.toml.

    References
    ----------
    NDS 2005, 3.2.3, as quoted on the question page of its publisher.
    """
    depth = floats(joist_depth_m)
    cut, length = floats(notch_depth_m) / depth, floats(notch_length_m) / depth
    return np.maximum(cut / _OUTER_DEPTH, length / _LENGTH)
