"""Joists over several spans, under part loads, and the same limits read for spacing instead of span."""

from __future__ import annotations

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

# Largest ordinates for 1 to 5 equal spans, all loaded; longer runs stay under the last value of each row.
_DEFLECTION_ALL = (5 / 384, 0.005416122, 0.006884213, 0.006460376, 0.006571609)
# The same with the spans loaded that make it largest: every second one, an outer span among them.
_DEFLECTION_WORST = (5 / 384, 0.009150556, 0.009917468, 0.009697891, 0.009755641)
# Largest moment and shear with the spans loaded that make them largest; six spans give more than five.
_MOMENT_WORST = (1 / 8, 1 / 8, 7 / 60, 27 / 224, 25 / 209, 187 / 1560)
_SHEAR_WORST = (1 / 2, 5 / 8, 37 / 60, 139 / 224, 259 / 418, 967 / 1560)
# Deflection is flat about its largest place: this leaves a share of 1e-14 of it open.
_HALVINGS = 24


def _by_spans(spans: ArrayLike, values: tuple[float, ...]) -> FloatArray:
    place = np.clip(np.asarray(spans, dtype=np.intp), 1, len(values)) - 1
    return np.asarray(np.asarray(values)[place])


class SpanCoefficients(NamedTuple):
    """Coefficients of w L^4 / EI, w L^2 and w L."""

    all_loaded: FloatArray
    worst_loaded: FloatArray
    moment: FloatArray
    shear: FloatArray


def span_coefficients(spans: ArrayLike) -> SpanCoefficients:
    """Deflection, moment and shear coefficients of a member over equal spans under uniform load.

    Parameters
    ----------
    spans : array_like of int
        Number of equal spans that the member runs over unbroken, 1 and more.

    Returns
    -------
    SpanCoefficients
        ``all_loaded``: largest deflection with every span loaded (dead load). ``worst_loaded``: with the
        spans loaded that give most (live load): every second span. ``moment``, ``shear``: largest over
        all ways of loading. [-]

    Notes
    -----
    Longer members take the deflections of five spans and the moment and shear of six, which none of them
    exceeds. Dead and live parts may be
    added, though their largest places differ: the sum is then a little high.
    Published check: tests/published/spans.toml.

    References
    ----------
    Beam formula tables for two to four equal spans (printed to two or three figures).
    """
    return SpanCoefficients(
        _by_spans(spans, _DEFLECTION_ALL),
        _by_spans(spans, _DEFLECTION_WORST),
        _by_spans(spans, _MOMENT_WORST),
        _by_spans(spans, _SHEAR_WORST),
    )


def uniform_span_deflection(
    load_n_m: ArrayLike, span_m: ArrayLike, stiffness_nm2: ArrayLike, coefficient: ArrayLike
) -> FloatArray:
    """Largest deflection of a member over one or more equal spans under uniform load.

    Parameters
    ----------
    load_n_m : array_like
        Uniform line load, at or above 0. [N/m]
    span_m : array_like
        Length of one span, above 0. [m]
    stiffness_nm2 : array_like
        Bending stiffness EI, above 0. [N m2]
    coefficient : array_like
        From `span_coefficients`. [-]

    Returns
    -------
    ndarray
        c w L^4 / EI, positive downwards; the inputs broadcast. [m]

    Notes
    -----
    Published check: tests/published/spans.toml.

    References
    ----------
    As `span_coefficients`.
    """
    return floats(coefficient) * floats(load_n_m) * floats(span_m) ** 4 / floats(stiffness_nm2)


def uniform_deflection_span(
    stiffness_nm2: ArrayLike, load_n_m: ArrayLike, span_ratio: ArrayLike, coefficient: ArrayLike
) -> FloatArray:
    """Longest span that keeps the deflection of `uniform_span_deflection` within span / ratio.

    Parameters
    ----------
    stiffness_nm2 : array_like
        EI. [N m2]
    load_n_m : array_like
        Line load that the limit names, above 0. [N/m]
    span_ratio : array_like
        n of L/n. [-]
    coefficient : array_like
        From `span_coefficients`; 5/384 for a simple span. [-]

    Returns
    -------
    ndarray
        (EI / (c n w))^(1/3). [m]

    References
    ----------
    As `span_coefficients`. Check: tests/published/spans.toml.
    """
    return np.cbrt(floats(stiffness_nm2) / (floats(coefficient) * floats(span_ratio) * floats(load_n_m)))


def deflection_spacing(
    stiffness_nm2: ArrayLike,
    load_pa: ArrayLike,
    span_m: ArrayLike,
    span_ratio: ArrayLike,
    coefficient: ArrayLike,
) -> FloatArray:
    """Widest joist spacing that keeps deflection within span / ratio on a given span.

    Parameters
    ----------
    stiffness_nm2 : array_like
        EI of one joist. [N m2]
    load_pa : array_like
        Area load that the limit names, above 0. [Pa]
    span_m : array_like
        Span, above 0. [m]
    span_ratio : array_like
        n of L/n. [-]
    coefficient : array_like
        From `span_coefficients`; 5/384 for a simple span. [-]

    Returns
    -------
    ndarray
        EI / (c n p L^3). [m]

    References
    ----------
    The span table method turned round. Check: tests/published/spans.toml.
    """
    load = floats(coefficient) * floats(span_ratio) * floats(load_pa)
    return floats(stiffness_nm2) / (load * floats(span_m) ** 3)


def bending_spacing(
    bending_strength_pa: ArrayLike,
    section_modulus_m3: ArrayLike,
    load_pa: ArrayLike,
    span_m: ArrayLike,
    coefficient: ArrayLike,
) -> FloatArray:
    """Widest joist spacing that bending strength allows on a given span.

    Parameters
    ----------
    bending_strength_pa : array_like
        Adjusted strength Fb'. [Pa]
    section_modulus_m3 : array_like
        S. [m3]
    load_pa : array_like
        Dead plus live area load, above 0. [Pa]
    span_m : array_like
        Span, above 0. [m]
    coefficient : array_like
        Moment coefficient, 1/8 for a simple span. [-]

    Returns
    -------
    ndarray
        Fb' S / (c p L^2). [m]

    References
    ----------
    The span table method turned round. Check: tests/published/spans.toml.
    """
    moment = floats(coefficient) * floats(load_pa) * floats(span_m) ** 2
    return floats(bending_strength_pa) * floats(section_modulus_m3) / moment


def shear_spacing(
    shear_strength_pa: ArrayLike,
    area_m2: ArrayLike,
    depth_m: ArrayLike,
    load_pa: ArrayLike,
    span_m: ArrayLike,
    coefficient: ArrayLike,
) -> FloatArray:
    """Widest joist spacing that horizontal shear allows, shear taken one depth from the support.

    Parameters
    ----------
    shear_strength_pa : array_like
        Adjusted strength Fv'. [Pa]
    area_m2, depth_m : array_like
        Of the member. [m2], [m]
    load_pa : array_like
        Dead plus live area load, above 0. [Pa]
    span_m : array_like
        Span. [m]
    coefficient : array_like
        Shear coefficient, 1/2 for a simple span. [-]

    Returns
    -------
    ndarray
        (2/3) Fv' A / (p (c L - d)); infinite where the span is no longer than d / c. [m]

    References
    ----------
    NDS 2018, 3.4.2 and 3.4.3.1, turned round. Check: tests/published/spans.toml.
    """
    reach = np.maximum(floats(coefficient) * floats(span_m) - floats(depth_m), 0.0)
    with np.errstate(divide="ignore"):
        return 2 / 3 * floats(shear_strength_pa) * floats(area_m2) / (floats(load_pa) * reach)


class PartDeflection(NamedTuple):
    """Deflection of a simple span under a load that is not the same everywhere. [m]"""

    midspan_m: FloatArray
    largest_m: FloatArray
    largest_at_m: FloatArray


def _part(end: FloatArray, at: FloatArray) -> FloatArray:
    """Deflection at a place of a unit span, EI 1, with unit load from 0 to ``end``."""
    far = 1 - at
    start = far * ((1 - far**2) * end**2 / 2 - end**4 / 4) / 6
    return np.asarray(start + np.maximum(end - at, 0.0) ** 4 / 24)


def _part_slope(end: FloatArray, at: FloatArray) -> FloatArray:
    far = 1 - at
    start = -((1 - 3 * far**2) * end**2 / 2 - end**4 / 4) / 6
    return np.asarray(start - np.maximum(end - at, 0.0) ** 3 / 6)


def footprint_deflection(
    area_load_n_m: ArrayLike,
    footprint_load_n_m: ArrayLike,
    start_m: ArrayLike,
    end_m: ArrayLike,
    span_m: ArrayLike,
    stiffness_nm2: ArrayLike,
) -> PartDeflection:
    """Simple span with one load under a footprint and another on the rest of it.

    Parameters
    ----------
    area_load_n_m : array_like
        Line load outside the footprint, at or above 0; 0 for the footprint alone. [N/m]
    footprint_load_n_m : array_like
        Line load under the tub, island or stove, in place of the other, at or above 0. [N/m]
    start_m, end_m : array_like
        Where the footprint begins and ends, from the left support, within the span. [m]
    span_m : array_like
        Span, above 0. [m]
    stiffness_nm2 : array_like
        EI, above 0. [N m2]

    Returns
    -------
    PartDeflection
        Deflection at midspan, the largest, and its place from the left support; the inputs broadcast.

    Notes
    -----
    With b = L - x, a load w from 0 to e bends the place x down by
    w (b ((L^2 - b^2) e^2 / 2 - e^4 / 4) / (6 L) + <e - x>^4 / 24) / EI; loads add. Downward loads make
    one largest place, always between 0.4226 L and 0.5774 L, found by halving. A footprint at an
    unknown place deflects most when it stands in the middle.
    Published check: tests/published/spans.toml.

    References
    ----------
    Beam formula tables, simple beam, uniform load partially distributed.
    """
    span = floats(span_m)
    area, foot, left, right = np.broadcast_arrays(
        floats(area_load_n_m),
        floats(footprint_load_n_m),
        floats(start_m) / span,
        floats(end_m) / span,
    )

    def shape(part: Callable[[FloatArray, FloatArray], FloatArray], at: FloatArray) -> FloatArray:
        under = part(right, at) - part(left, at)
        return np.asarray(area * (part(np.ones_like(at), at) - under) + foot * under)

    low, high = np.full(area.shape, 1 - 1 / np.sqrt(3)), np.full(area.shape, 1 / np.sqrt(3))
    for _ in range(_HALVINGS):
        middle = (low + high) / 2
        rising = shape(_part_slope, middle) > 0
        low, high = np.where(rising, middle, low), np.where(rising, high, middle)
    place = (low + high) / 2
    scale = span**4 / floats(stiffness_nm2)
    midspan = shape(_part, np.full(area.shape, 0.5))
    return PartDeflection(*np.broadcast_arrays(scale * midspan, scale * shape(_part, place), place * span))


def point_load_anywhere(
    force_n: ArrayLike, position_m: ArrayLike, span_m: ArrayLike, stiffness_nm2: ArrayLike
) -> PartDeflection:
    """Simple span under a force at any place.

    Parameters
    ----------
    force_n : array_like
        Force that this one member carries, at or above 0. [N]
    position_m : array_like
        Its distance from the left support, within the span. [m]
    span_m : array_like
        Span, above 0. [m]
    stiffness_nm2 : array_like
        EI, above 0. [N m2]

    Returns
    -------
    PartDeflection
        Deflection at midspan, the largest, and its place from the left support; the inputs broadcast.

    Notes
    -----
    With b the distance to the nearer support: P b (3 L^2 - 4 b^2) / (48 EI) at midspan and
    P b (L^2 - b^2)^(3/2) / (9 sqrt(3) L EI) at sqrt((L^2 - b^2) / 3) from the farther support. A force
    at an unknown place deflects most at midspan.
    Published check: tests/published/spans.toml.

    References
    ----------
    Beam formula tables, simple beam, concentrated load at any point.
    """
    force, position, span = floats(force_n), floats(position_m), floats(span_m)
    stiffness = floats(stiffness_nm2)
    near = np.minimum(position, span - position)
    midspan = force * near * (3 * span**2 - 4 * near**2) / (48 * stiffness)
    largest = force * near * (span**2 - near**2) ** 1.5 / (9 * np.sqrt(3) * span * stiffness)
    from_far = np.sqrt((span**2 - near**2) / 3)
    place = np.where(position > span / 2, from_far, span - from_far)
    return PartDeflection(*np.broadcast_arrays(midspan, largest, place))


def part_sister_deflection(
    load_n_m: ArrayLike,
    span_m: ArrayLike,
    joist_stiffness_nm2: ArrayLike,
    sister_stiffness_nm2: ArrayLike,
    sister_length_m: ArrayLike,
) -> FloatArray:
    """Midspan deflection of a joist with a sister that covers only the middle of the span.

    Parameters
    ----------
    load_n_m : array_like
        Uniform line load on both together. [N/m]
    span_m : array_like
        Simple span, above 0. [m]
    joist_stiffness_nm2, sister_stiffness_nm2 : array_like
        EI of the joist, above 0, and of the sister beside it. [N m2]
    sister_length_m : array_like
        Length of the sister, centered on the span, at most the span. [m]

    Returns
    -------
    ndarray
        Deflection, positive downwards; the inputs broadcast. [m]

    Notes
    -----
    Where the sister stands, both stiffnesses add; beyond it only the joist bends. With a the length
    beyond, the virtual work of the middle part is w (5 L^4/384 - L a^3/6 + a^4/8) / EI. Fastening at the
    ends of the sister must carry its share over.
    Published check: tests/published/spans.toml.

    References
    ----------
    Beam theory, virtual work; own derivation, checked by integration in the tests.
    """
    load, span, joist = floats(load_n_m), floats(span_m), floats(joist_stiffness_nm2)
    beyond = (span - floats(sister_length_m)) / 2
    whole = 5 * span**4 / 384
    middle = whole - span * beyond**3 / 6 + beyond**4 / 8
    return np.asarray(load * (middle / (joist + floats(sister_stiffness_nm2)) + (whole - middle) / joist))


def deflection_from_ratio(
    span_m: ArrayLike, span_ratio: ArrayLike, stated_load_pa: ArrayLike, load_pa: ArrayLike
) -> FloatArray:
    """Deflection of I-joists, trusses or steel for which a designer stated L/n under a load.

    Parameters
    ----------
    span_m : array_like
        Span that the statement was made for. [m]
    span_ratio : array_like
        n of the stated L/n, above 0. [-]
    stated_load_pa : array_like
        Area load that the statement names, above 0. [Pa]
    load_pa : array_like
        Area load of the job, of the same kind (live, or total). [Pa]

    Returns
    -------
    ndarray
        L / n times load / stated load. [m]

    Notes
    -----
    A statement without its load basis says nothing here. Spacing and member stay as stated.
    Published check: tests/published/spans.toml.

    References
    ----------
    Linear elasticity.
    """
    return floats(span_m) / floats(span_ratio) * floats(load_pa) / floats(stated_load_pa)


def deflection_after_tiling(
    live_m: ArrayLike, dead_before_m: ArrayLike, dead_new_m: ArrayLike, creep_factor: ArrayLike
) -> FloatArray:
    """Deflection that tile lives through, for information only.

    Parameters
    ----------
    live_m : array_like
        Immediate deflection under live load. [m]
    dead_before_m : array_like
        Immediate deflection under the dead load already there on the day of tiling. [m]
    dead_new_m : array_like
        Immediate deflection under the dead load that comes with and after the tile. [m]
    creep_factor : array_like
        K_cr of `joists.total_deflection`: 1.5, or 2.0 unseasoned or wet. [-]

    Returns
    -------
    ndarray
        live + (K_cr - 1) dead before + K_cr dead new. [m]

    Notes
    -----
    All creep of the old dead load is taken as still to come, an upper bound in an old house. Tile limits
    name immediate loads: this is never held against them.
    Published check: tests/published/spans.toml.

    References
    ----------
    NDS 2015, 3.5.2 (K_cr on the sustained part), parted at the day of tiling: own derivation.
    """
    creep = floats(creep_factor)
    return floats(live_m) + (creep - 1) * floats(dead_before_m) + creep * floats(dead_new_m)
