"""What a panel does over a joist: curvature, rotation, the seam that opens; and panels glued together."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

# Support moment over w l^2 and over P l; 1, 2, 3 and more equal spans.
_UNIFORM_MOMENT = (0.0, 1 / 8, 1 / 10)
# Rotation over w l^3 / EI at the outer support, at the first inner one.
_OUTER_ROTATION = (1 / 24, 1 / 48, 1 / 40)
_INNER_ROTATION = (1 / 24, 0.0, 1 / 120)


def _by_spans(spans: ArrayLike, values: tuple[float, float, float]) -> FloatArray:
    count = np.asarray(spans)
    return np.where(count <= 1, values[0], np.where(count == 2, values[1], values[2]))


def support_curvature(
    load_pa: ArrayLike, span_m: ArrayLike, stiffness_nm: ArrayLike, spans: ArrayLike
) -> FloatArray:
    """Curvature of a panel over an inner joist under uniform load, all spans loaded.

    Parameters
    ----------
    load_pa : array_like
        Uniform load, at or above 0. [Pa]
    span_m : array_like
        Joist spacing, center to center. [m]
    stiffness_nm : array_like
        EI per meter of width in the direction of the span, above 0. [N m]
    spans : array_like of int
        1, 2, or 3 for three and more.

    Returns
    -------
    ndarray
        M / EI with M = w l^2 times 0, 1/8 or 1/10; bent up, so that tile over the joist is stretched. [1/m]

    Notes
    -----
    With one span the panel ends on the joist: no curvature, but a seam that turns, see `support_rotation`.
    Load on two neighboring spans of three alone would give 7/60. Joists that sink unequally add their own
    curvature; nothing of that is here.
    Published check: tests/published/supports.toml.

    References
    ----------
    Beam formula tables, equal spans.
    """
    moment = _by_spans(spans, _UNIFORM_MOMENT) * floats(load_pa) * floats(span_m) ** 2
    return np.asarray(moment / floats(stiffness_nm))


def support_curvature_under_force(
    force_n: ArrayLike,
    span_m: ArrayLike,
    stiffness_nm: ArrayLike,
    sharing_width_m: ArrayLike,
    spans: ArrayLike,
    end_bay: ArrayLike,
) -> FloatArray:
    """Greatest curvature of a panel over an inner joist under a force in the middle of one bay.

    Parameters
    ----------
    force_n : array_like
        Force, at or above 0. [N]
    span_m : array_like
        Joist spacing, center to center. [m]
    stiffness_nm : array_like
        EI per meter of width, above 0. [N m]
    sharing_width_m : array_like
        Width of panel that bends as one strip, above 0; a model choice, bound the answer as in
        `panels.concentrated_deflection`. [m]
    spans : array_like of int
        1, 2, or 3 for three and more.
    end_bay : array_like of bool
        With three spans: True where the force stands in an outer bay. Else of no effect.

    Returns
    -------
    ndarray
        M / EI with M = P l times 0; 3/32; 1/10 outer or 3/40 inner. [1/m]

    Notes
    -----
    Published check: tests/published/supports.toml, and by a stiffness method in the tests.

    References
    ----------
    Three-moment equation.
    """
    three = np.where(np.asarray(end_bay, dtype=bool), 1 / 10, 3 / 40)
    count = np.asarray(spans)
    share = np.where(count <= 1, 0.0, np.where(count == 2, 3 / 32, three))
    moment = share * floats(force_n) * floats(span_m)
    return np.asarray(moment / (floats(stiffness_nm) * floats(sharing_width_m)))


def support_rotation(
    load_pa: ArrayLike, span_m: ArrayLike, stiffness_nm: ArrayLike, spans: ArrayLike, outer: ArrayLike
) -> FloatArray:
    """Rotation of a panel at a joist under uniform load, all spans loaded.

    Parameters
    ----------
    load_pa, span_m, stiffness_nm : array_like
        As in `support_curvature`.
    spans : array_like of int
        1, 2, or 3 for three and more.
    outer : array_like of bool
        True for the end of the panel, False for the first joist from it.

    Returns
    -------
    ndarray
        w l^3 / EI times 1/24, 1/48, 1/40 at the end; 1/24, 0, 1/120 at the first inner joist. [rad]

    Notes
    -----
    Published check: tests/published/supports.toml.

    References
    ----------
    Beam theory, equal spans.
    """
    factor = np.where(
        np.asarray(outer, dtype=bool),
        _by_spans(spans, _OUTER_ROTATION),
        _by_spans(spans, _INNER_ROTATION),
    )
    return np.asarray(factor * floats(load_pa) * floats(span_m) ** 3 / floats(stiffness_nm))


def seam_opening(rotation_rad: ArrayLike, other_rotation_rad: ArrayLike, height_m: ArrayLike) -> FloatArray:
    """Opening of a panel seam over a joist, at a height above where the ends touch.

    Parameters
    ----------
    rotation_rad, other_rotation_rad : array_like
        Rotation of the panels on either side, from `support_rotation`, small. [rad]
    height_m : array_like
        Above the joist: the depth of the panel for its top face. [m]

    Returns
    -------
    ndarray
        Sum of rotations times height, the ``opening`` of `shear_lag.crack_bridge`. The inputs broadcast. [m]

    Notes
    -----
    Ends turn about their lower edge on the joist, the worst case; nails lower it.
    Published check: tests/published/supports.toml.

    References
    ----------
    Geometry; own derivation.
    """
    return (floats(rotation_rad) + floats(other_rotation_rad)) * floats(height_m)


def curvature_strain(curvature_per_m: ArrayLike, distance_m: ArrayLike) -> FloatArray:
    """Strain of a face at a distance from the neutral axis.

    Parameters
    ----------
    curvature_per_m : array_like
        Curvature. [1/m]
    distance_m : array_like
        From the neutral axis: half the tile for tile that slides on its bed; from the axis of the whole
        floor to the top of the tile where all is bonded stiffly. [m]

    Returns
    -------
    ndarray
        curvature times distance; times the modulus of the tile it is a stress. [-]

    Notes
    -----
    These are the two bounds; `shear_lag.curvature_mismatch` with a layer stiffness lies between.
    Published check: tests/published/supports.toml.

    References
    ----------
    Beam theory, plane sections.
    """
    return floats(curvature_per_m) * floats(distance_m)


def glued_layers_stiffness(bending_nm: ArrayLike, axial_n_m: ArrayLike, thickness_m: ArrayLike) -> FloatArray:
    """Stiffness of panel layers glued over their whole face, an upper bound.

    Parameters
    ----------
    bending_nm : array_like, shape (..., layers)
        EI per meter of width of each layer about its own axis. [N m]
    axial_n_m : array_like, shape (..., layers)
        EA per meter of width of each layer, in the same direction, sum above 0. [N/m]
    thickness_m : array_like, shape (..., layers)
        Thickness of each, from the bottom up. [m]

    Returns
    -------
    ndarray, shape (...)
        Transformed section: sum of EI + EA (y - y0)^2 about the common axis y0. [N m]

    Notes
    -----
    Only for full glue that was said and done so; screws alone are `panels.loose_layers_stiffness`, the lower
    bound. Seams of either layer break it: both at one place leave nothing.
    Published check: tests/published/supports.toml.

    References
    ----------
    Transformed section of a laminate, textbook.
    """
    bending, axial, thickness = np.broadcast_arrays(
        floats(bending_nm), floats(axial_n_m), floats(thickness_m)
    )
    middle = np.cumsum(thickness, axis=-1) - thickness / 2
    axis = np.sum(axial * middle, axis=-1) / np.sum(axial, axis=-1)
    lever = middle - axis[..., np.newaxis]
    return np.asarray(np.sum(bending + axial * lever**2, axis=-1))
