"""Wood joists: dressed sections, adjusted strength, allowable spans and deflection."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from undercourse.physics._floats import FloatArray, floats

_INCH_M = 0.0254
# Strength up to which wet service does not lower bending strength: 1150 psi. The tiny share on top
# keeps a value of just 1150 psi, which has no exact binary value in pascals, on the right side.
_WET_BENDING_THRESHOLD_PA = 1150 * 6894.757293168 * (1 + 1e-9)
# Slack so that a half inch, which has no exact binary value in metres, still rounds up.
_HALF_INCH_SLACK = 1e-6
# Largest ordinate of x (1 - 3 x^2 + 2 x^3) / 48 over a span, at x = (1 + sqrt 33) / 16.
_TWO_SPAN_BOTH_LOADED = 0.0054161
# Largest ordinate of x/32 - 7 x^3/96 + x^4/24 over the loaded span, near x = 0.472.
_TWO_SPAN_ONE_LOADED = 0.0091506
# Stone rule: spans above 14 ft are also held to 7/32 in.
_STONE_STEP_SPAN_M = 14 * 12 * _INCH_M
_STONE_CAP_M = 7 / 32 * _INCH_M


class SectionProperties(NamedTuple):
    """Properties of a rectangle bent about its strong axis."""

    area_m2: FloatArray
    section_modulus_m3: FloatArray
    second_moment_m4: FloatArray


def section_properties(width_m: ArrayLike, depth_m: ArrayLike) -> SectionProperties:
    """Area, section modulus and second moment of a dressed rectangular member.

    Parameters
    ----------
    width_m, depth_m : array_like
        Dressed (actual) width and depth, above 0; they broadcast. [m]

    Returns
    -------
    SectionProperties
        A = b d [m2], S = b d^2 / 6 [m3], I = b d^3 / 12 [m4].

    References
    ----------
    Dressed sizes: NDS Supplement 2018, Table 1A. Published check: tests/published/joists.toml.
    """
    width, depth = floats(width_m), floats(depth_m)
    return SectionProperties(width * depth, width * depth**2 / 6, width * depth**3 / 12)


def wet_bending_factor(reference_bending_pa: ArrayLike, size_factor: ArrayLike, wet: ArrayLike) -> FloatArray:
    """Wet service factor C_M for bending strength.

    Parameters
    ----------
    reference_bending_pa : array_like
        Tabulated bending strength Fb. [Pa]
    size_factor : array_like
        C_F. [-]
    wet : array_like of bool
        True where moisture in service is above 19 %.

    Returns
    -------
    ndarray
        0.85 where wet, but 1.0 where Fb C_F is at most 1150 psi, and where dry. [-]

    References
    ----------
    NDS Supplement, adjustment factors to Table 4A.
    """
    strong = floats(reference_bending_pa) * floats(size_factor) > _WET_BENDING_THRESHOLD_PA
    return np.where(np.asarray(wet, dtype=bool) & strong, 0.85, 1.0)


def adjusted_bending_strength(
    reference_bending_pa: ArrayLike,
    size_factor: ArrayLike,
    repetitive_factor: ArrayLike,
    wet_factor: ArrayLike,
    duration_factor: ArrayLike,
) -> FloatArray:
    """Bending strength Fb' = Fb C_F C_r C_M C_D.

    Parameters
    ----------
    reference_bending_pa : array_like
        Tabulated Fb. [Pa]
    size_factor : array_like
        C_F; 1.0 where the table already holds it (southern pine). [-]
    repetitive_factor : array_like
        C_r; 1.15 for three or more joists at most 24 in apart that share load. [-]
    wet_factor : array_like
        C_M, see `wet_bending_factor`. [-]
    duration_factor : array_like
        C_D; 1.0 for floor live load. [-]

    Returns
    -------
    ndarray
        Adjusted strength; the inputs broadcast. [Pa]

    References
    ----------
    NDS 2018, 4.3 and Table 4.3.1.
    """
    factors = floats(size_factor) * floats(repetitive_factor) * floats(wet_factor) * floats(duration_factor)
    return floats(reference_bending_pa) * factors


def bending_span(
    bending_strength_pa: ArrayLike, section_modulus_m3: ArrayLike, total_load_n_m: ArrayLike
) -> FloatArray:
    """Longest simple span that bending strength allows.

    Parameters
    ----------
    bending_strength_pa : array_like
        Adjusted strength Fb'. [Pa]
    section_modulus_m3 : array_like
        S. [m3]
    total_load_n_m : array_like
        Dead plus live line load on one joist, above 0. [N/m]

    Returns
    -------
    ndarray
        sqrt(8 Fb' S / w). [m]

    References
    ----------
    American Wood Council, span table method (2012 NDS). Check: tests/published/joist_spans.toml.
    """
    return np.sqrt(8 * floats(bending_strength_pa) * floats(section_modulus_m3) / floats(total_load_n_m))


def shear_span(
    shear_strength_pa: ArrayLike, area_m2: ArrayLike, depth_m: ArrayLike, total_load_n_m: ArrayLike
) -> FloatArray:
    """Longest simple span that horizontal shear allows, shear taken one depth from the support.

    Parameters
    ----------
    shear_strength_pa : array_like
        Adjusted strength Fv'. [Pa]
    area_m2 : array_like
        Area of the member. [m2]
    depth_m : array_like
        Depth of the member. [m]
    total_load_n_m : array_like
        Dead plus live line load on one joist, above 0. [N/m]

    Returns
    -------
    ndarray
        (4/3) Fv' A / w + 2 d. [m]

    References
    ----------
    NDS 2018, 3.4.2 and 3.4.3.1.
    """
    strength = 4 / 3 * floats(shear_strength_pa) * floats(area_m2)
    return strength / floats(total_load_n_m) + 2 * floats(depth_m)


def deflection_span(stiffness_nm2: ArrayLike, live_load_n_m: ArrayLike, span_ratio: ArrayLike) -> FloatArray:
    """Longest simple span that keeps live-load deflection within span / ratio.

    Parameters
    ----------
    stiffness_nm2 : array_like
        Bending stiffness EI of the bare joist. [N m2]
    live_load_n_m : array_like
        Live line load, above 0; dead load is left out by the code table. [N/m]
    span_ratio : array_like
        n of L/n, 360 for code floors. [-]

    Returns
    -------
    ndarray
        (384 EI / (5 n w))^(1/3). [m]

    References
    ----------
    American Wood Council, span table method (2012 NDS). Check: tests/published/joist_spans.toml.
    """
    return np.cbrt(384 * floats(stiffness_nm2) / (5 * floats(span_ratio) * floats(live_load_n_m)))


def allowable_span(bending_m: ArrayLike, deflection_m: ArrayLike, shear_m: ArrayLike) -> FloatArray:
    """Least of the three spans, not rounded.

    Parameters
    ----------
    bending_m, deflection_m, shear_m : array_like
        Spans from the three checks; they broadcast. [m]

    Returns
    -------
    ndarray
        Allowable clear span; `round_span` gives what a code table prints. [m]

    References
    ----------
    Span tables for joists and rafters, design criteria; NDS 2018, 3.2 to 3.5.
    """
    return np.minimum(np.minimum(floats(bending_m), floats(deflection_m)), floats(shear_m))


def governing_check(bending_m: ArrayLike, deflection_m: ArrayLike, shear_m: ArrayLike) -> NDArray[np.intp]:
    """Which of the three spans is the least: 0 bending, 1 deflection, 2 shear; a tie goes to the first.

    Parameters
    ----------
    bending_m, deflection_m, shear_m : array_like
        Spans from the three checks; they broadcast. [m]

    Returns
    -------
    ndarray of int
    """
    spans = np.broadcast_arrays(floats(bending_m), floats(deflection_m), floats(shear_m))
    return np.asarray(np.argmin(np.stack(spans), axis=0))


def round_span(span_m: ArrayLike) -> FloatArray:
    """Span rounded to the nearest inch, a half going up, as the code tables print it.

    Parameters
    ----------
    span_m : array_like
        Span, at or above 0. [m]

    Returns
    -------
    ndarray
        A whole number of inches, in metres. [m]

    Notes
    -----
    IRC tables do not round down: R502.3.1 and R802.5.1 cells come out only with this rule.

    References
    ----------
    IRC R502.3.1 and R802.5.1, cells of the tables.
    """
    return np.floor(floats(span_m) / _INCH_M + 0.5 + _HALF_INCH_SLACK) * _INCH_M


def simple_span_deflection(load_n_m: ArrayLike, span_m: ArrayLike, stiffness_nm2: ArrayLike) -> FloatArray:
    r"""Midspan deflection of a simply supported member under uniform load.

    Parameters
    ----------
    load_n_m : array_like
        Uniform line load, at or above 0. [N/m]
    span_m : array_like
        Span, above 0. [m]
    stiffness_nm2 : array_like
        Bending stiffness EI, above 0. [N m2]

    Returns
    -------
    ndarray
        Deflection, positive downwards; the inputs broadcast. [m]

    Notes
    -----
    5 w L^4 / (384 EI). Small deflection; shear deflection neglected.
    Published check: tests/published/joists.toml.
    """
    return 5 * floats(load_n_m) * floats(span_m) ** 4 / (384 * floats(stiffness_nm2))


def point_load_deflection(force_n: ArrayLike, span_m: ArrayLike, stiffness_nm2: ArrayLike) -> FloatArray:
    """Midspan deflection of a simply supported member under a force at midspan.

    Parameters
    ----------
    force_n : array_like
        Force that this one member carries, at or above 0. [N]
    span_m : array_like
        Span, above 0. [m]
    stiffness_nm2 : array_like
        Bending stiffness EI, above 0. [N m2]

    Returns
    -------
    ndarray
        P L^3 / (48 EI), positive downwards. [m]
    """
    return floats(force_n) * floats(span_m) ** 3 / (48 * floats(stiffness_nm2))


def two_span_deflection(load_n_m: ArrayLike, span_m: ArrayLike, stiffness_nm2: ArrayLike) -> FloatArray:
    """Largest deflection of a member continuous over two equal spans, both loaded.

    Parameters
    ----------
    load_n_m : array_like
        Uniform line load on both spans, at or above 0. [N/m]
    span_m : array_like
        Length of one span, above 0. [m]
    stiffness_nm2 : array_like
        Bending stiffness EI, above 0. [N m2]

    Returns
    -------
    ndarray
        w L^4 / (184.6 EI), at 0.4215 L from the outer support. [m]

    References
    ----------
    Beam formula tables, two equal spans, uniform load (printed there as w L^4 / 185 EI).
    """
    return _TWO_SPAN_BOTH_LOADED * floats(load_n_m) * floats(span_m) ** 4 / floats(stiffness_nm2)


def two_span_one_loaded_deflection(
    load_n_m: ArrayLike, span_m: ArrayLike, stiffness_nm2: ArrayLike
) -> FloatArray:
    """Largest deflection of a member continuous over two equal spans, one of them loaded.

    Parameters
    ----------
    load_n_m : array_like
        Uniform line load on the one span (live load may stand so), at or above 0. [N/m]
    span_m : array_like
        Length of one span, above 0. [m]
    stiffness_nm2 : array_like
        Bending stiffness EI, above 0. [N m2]

    Returns
    -------
    ndarray
        0.00915 w L^4 / EI, at 0.472 L from the outer support. [m]

    References
    ----------
    Beam formula tables, two equal spans, uniform load on one (printed there as 0.0092 w L^4 / EI).
    """
    return _TWO_SPAN_ONE_LOADED * floats(load_n_m) * floats(span_m) ** 4 / floats(stiffness_nm2)


def total_deflection(live_m: ArrayLike, dead_m: ArrayLike, creep_factor: ArrayLike) -> FloatArray:
    """Long-term deflection: short-term part plus the sustained part times its creep factor.

    Parameters
    ----------
    live_m : array_like
        Immediate deflection from the short-term load. [m]
    dead_m : array_like
        Immediate deflection from the sustained load. [m]
    creep_factor : array_like
        K_cr: 1.5 seasoned lumber, I-joists and structural composite lumber in dry service;
        2.0 unseasoned lumber or wet service. It is for information: tile limits name the load
        basis they want. [-]

    Returns
    -------
    ndarray
        K_cr * dead + live. [m]

    References
    ----------
    NDS 2018, 3.5.2.
    """
    return floats(creep_factor) * floats(dead_m) + floats(live_m)


def side_by_side_stiffness(stiffness_nm2: ArrayLike) -> FloatArray:
    """Stiffness of plies or sistered members that stand side by side and bend together.

    Parameters
    ----------
    stiffness_nm2 : array_like, shape (..., plies)
        EI of each member about its own axis; members must run the whole span. [N m2]

    Returns
    -------
    ndarray, shape (...)
        Their sum; no composite action, since the members share one depth of bending. [N m2]
    """
    return np.asarray(np.sum(floats(stiffness_nm2), axis=-1))


class JointedStiffness(NamedTuple):
    """Result of the mechanically jointed section."""

    slip_factor: FloatArray
    stiffness_nm2: FloatArray


def jointed_stiffness(
    panel_axial_n: ArrayLike,
    panel_bending_nm2: ArrayLike,
    joist_axial_n: ArrayLike,
    joist_bending_nm2: ArrayLike,
    centroid_distance_m: ArrayLike,
    fastener_spacing_m: ArrayLike,
    slip_modulus_n_m: ArrayLike,
    span_m: ArrayLike,
) -> JointedStiffness:
    """Stiffness of a joist with a panel nailed on it: between none and full composite action.

    Parameters
    ----------
    panel_axial_n, joist_axial_n : array_like
        E A of the panel strip and of the joist. [N]
    panel_bending_nm2, joist_bending_nm2 : array_like
        E I of each about its own axis. [N m2]
    centroid_distance_m : array_like
        Distance between the two centroids, half the sum of both depths. [m]
    fastener_spacing_m : array_like
        Spacing of fasteners along the joist. [m]
    slip_modulus_n_m : array_like
        Load per slip of one fastener, above 0. [N/m]
    span_m : array_like
        Span. [m]

    Returns
    -------
    JointedStiffness
        Slip factor gamma between 0 and 1 [-] and the effective EI [N m2].

    Notes
    -----
    Code span tables count none of this. Panel seams break it; use it for information only.

    References
    ----------
    Eurocode 5 (EN 1995-1-1:2004) Annex B, with gamma of the joist 1; from memory.
    """
    panel, joist, distance = floats(panel_axial_n), floats(joist_axial_n), floats(centroid_distance_m)
    slip_term = np.pi**2 * panel * floats(fastener_spacing_m)
    gamma = 1 / (1 + slip_term / (floats(slip_modulus_n_m) * floats(span_m) ** 2))
    to_joist = gamma * panel * distance / (gamma * panel + joist)
    to_panel = distance - to_joist
    own = floats(panel_bending_nm2) + floats(joist_bending_nm2)
    return JointedStiffness(gamma, own + gamma * panel * to_panel**2 + joist * to_joist**2)


def bearing_length(reaction_n: ArrayLike, bearing_strength_pa: ArrayLike, width_m: ArrayLike) -> FloatArray:
    """Bearing length that compression across the grain asks for at a support.

    Parameters
    ----------
    reaction_n : array_like
        Reaction, at or above 0. [N]
    bearing_strength_pa : array_like
        Adjusted compression strength perpendicular to grain. [Pa]
    width_m : array_like
        Width of the member, above 0. [m]

    Returns
    -------
    ndarray
        R / (Fc_perp' b). [m]

    References
    ----------
    NDS 2018, 3.10.2.
    """
    return floats(reaction_n) / (floats(bearing_strength_pa) * floats(width_m))


def deflection_limit(span_m: ArrayLike, span_ratio: ArrayLike) -> FloatArray:
    """Deflection that span / ratio allows.

    Parameters
    ----------
    span_m : array_like
        Span. [m]
    span_ratio : array_like
        n of L/n, above 0: 360 for ceramic tile. [-]

    Returns
    -------
    ndarray
        L / n. [m]
    """
    return floats(span_m) / floats(span_ratio)


def stone_deflection_limit(span_m: ArrayLike) -> FloatArray:
    """Total-load deflection allowed under natural stone.

    Parameters
    ----------
    span_m : array_like
        Span. [m]

    Returns
    -------
    ndarray
        L/720, and for spans above 14 ft at most 7/32 in. [m]

    Notes
    -----
    The rule has a step: L/720 is 0.233 in at 14 ft, just above it 0.219 in is allowed.

    References
    ----------
    Natural stone trade rule as quoted by trade pages.
    """
    span = floats(span_m)
    by_ratio = span / 720
    return np.where(span > _STONE_STEP_SPAN_M + 1e-9, np.minimum(by_ratio, _STONE_CAP_M), by_ratio)
