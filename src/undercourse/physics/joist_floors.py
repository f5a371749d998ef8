"""Joists as they stand in a floor: sisters of another size, heavy things, spans and spacings by capacity."""

from __future__ import annotations

import numpy as np
from numpy.typing import ArrayLike

from undercourse.physics._floats import FloatArray, floats

# Midspan deflection of a simple span under full uniform load, over w L^4 / EI.
_FULL = 5 / 384


def _to_midspan(end: FloatArray) -> FloatArray:
    """Midspan deflection over w L^4 / EI, uniform load from the support to ``end`` of a unit span."""
    return np.asarray(end**2 / 32 - end**4 / 48 + np.maximum(end - 0.5, 0.0) ** 4 / 24)


def footprint_share(start_m: ArrayLike, end_m: ArrayLike, span_m: ArrayLike) -> FloatArray:
    """Share of the full uniform-load deflection at midspan that the load on one stretch makes.

    Parameters
    ----------
    start_m, end_m : array_like
        Where the stretch begins and ends, from one support, within the span. [m]
    span_m : array_like
        Simple span, above 0. [m]

    Returns
    -------
    ndarray
        0 to 1: the deflection at midspan over 5 w L^4 / (384 EI). The inputs broadcast. [-]

    Notes
    -----
    A load from the support to the share e of the span gives e^2/32 - e^4/48 + <e - 1/2>^4/24; two of them
    make a stretch. Of all places of a stretch the middle gives most.
    Published check: tests/published/joist_floors.toml.

    References
    ----------
    Beam formula tables, simple beam, uniform load partially distributed.
    """
    span = floats(span_m)
    return (_to_midspan(floats(end_m) / span) - _to_midspan(floats(start_m) / span)) / _FULL


def sistered_capacity(
    capacity: ArrayLike, stiffness_nm2: ArrayLike, sister_capacity: ArrayLike, sister_stiffness_nm2: ArrayLike
) -> FloatArray:
    """What one joist may carry beside a sister of another size, so that neither is stressed past its own.

    Parameters
    ----------
    capacity, sister_capacity : array_like
        Allowable moment (or shear) of the joist and of its sister. [N m or N]
    stiffness_nm2, sister_stiffness_nm2 : array_like
        EI of each; the sister's above 0. [N m2]

    Returns
    -------
    ndarray
        min(M, M_s EI / EI_s); times 1 + EI_s / EI it is the capacity of both. [N m or N]

    Notes
    -----
    Members that bend alike share load by stiffness, so a stiff sister of low grade sets the limit. The sister
    runs from bearing to bearing and is fastened so as to bend with the joist.
    Published check: tests/published/joist_floors.toml.

    References
    ----------
    Beam theory, equal curvature; own derivation.
    """
    shared = floats(sister_capacity) * floats(stiffness_nm2) / floats(sister_stiffness_nm2)
    return np.minimum(floats(capacity), shared)


def moment_span(capacity_nm: ArrayLike, load_n_m: ArrayLike, coefficient: ArrayLike) -> FloatArray:
    """Longest span at which the moment c w L^2 reaches a capacity.

    Parameters
    ----------
    capacity_nm : array_like
        Allowable moment. [N m]
    load_n_m : array_like
        Dead plus live line load, above 0. [N/m]
    coefficient : array_like
        c, see `spans.span_coefficients`; 1/8 for a simple span. [-]

    Returns
    -------
    ndarray
        sqrt(M / (c w)). [m]

    Notes
    -----
    Published check: tests/published/joist_floors.toml; cells of span tables in tests/demands.

    References
    ----------
    American Wood Council, span table method (2012 NDS), for simple spans.
    """
    return np.sqrt(floats(capacity_nm) / (floats(coefficient) * floats(load_n_m)))


def shear_limited_span(
    capacity_n: ArrayLike, depth_m: ArrayLike, load_n_m: ArrayLike, coefficient: ArrayLike
) -> FloatArray:
    """Longest span at which the shear w (c L - d), a depth from the bearing, reaches a capacity.

    Parameters
    ----------
    capacity_n : array_like
        Allowable shear. [N]
    depth_m : array_like
        Depth of the joist. [m]
    load_n_m : array_like
        Dead plus live line load, above 0. [N/m]
    coefficient : array_like
        c; 1/2 for a simple span. [-]

    Returns
    -------
    ndarray
        (V / w + d) / c. [m]

    Notes
    -----
    Published check: tests/published/joist_floors.toml.

    References
    ----------
    NDS 2018, 3.4.3.1.
    """
    return (floats(capacity_n) / floats(load_n_m) + floats(depth_m)) / floats(coefficient)


def moment_spacing(
    capacity_nm: ArrayLike, load_pa: ArrayLike, span_m: ArrayLike, coefficient: ArrayLike
) -> FloatArray:
    """Widest spacing at which the moment of one joist reaches its capacity.

    Parameters
    ----------
    capacity_nm : array_like
        Allowable moment of one joist. [N m]
    load_pa : array_like
        Dead plus live area load, above 0. [Pa]
    span_m : array_like
        Span, above 0. [m]
    coefficient : array_like
        1/8 for a simple span. [-]

    Returns
    -------
    ndarray
        M / (c p L^2). [m]

    Notes
    -----
    Published check: tests/published/joist_floors.toml.

    References
    ----------
    As `moment_span`, turned round.
    """
    return floats(capacity_nm) / (floats(coefficient) * floats(load_pa) * floats(span_m) ** 2)


def shear_limited_spacing(
    capacity_n: ArrayLike, depth_m: ArrayLike, load_pa: ArrayLike, span_m: ArrayLike, coefficient: ArrayLike
) -> FloatArray:
    """Widest spacing at which the shear of one joist, a depth from the bearing, reaches its capacity.

    Parameters
    ----------
    capacity_n : array_like
        Allowable shear of one joist. [N]
    depth_m : array_like
        Depth of the joist. [m]
    load_pa : array_like
        Dead plus live area load, above 0. [Pa]
    span_m : array_like
        Span. [m]
    coefficient : array_like
        1/2 for a simple span. [-]

    Returns
    -------
    ndarray
        V / (p (c L - d)), with at least 1 mm left of c L - d. [m]

    Notes
    -----
    Published check: tests/published/joist_floors.toml.

    References
    ----------
    NDS 2018, 3.4.3.1, turned round.
    """
    reach = np.maximum(floats(coefficient) * floats(span_m) - floats(depth_m), 0.001)
    return floats(capacity_n) / (floats(load_pa) * reach)


def stiffness_from_ratio(
    span_ratio: ArrayLike, load_pa: ArrayLike, spacing_m: ArrayLike, span_m: ArrayLike
) -> FloatArray:
    """Stiffness of one joist for which a designer stated L/n under an area load, as of a simple span.

    Parameters
    ----------
    span_ratio : array_like
        n of the stated L/n, above 0. [-]
    load_pa : array_like
        Area load that the statement was made for, above 0. [Pa]
    spacing_m, span_m : array_like
        Joist spacing and span. [m]

    Returns
    -------
    ndarray
        EI = 5 n p s L^3 / 384. [N m2]

    Notes
    -----
    What the joists do over several supports is in the statement already, and so in this EI.
    Published check: tests/published/joist_floors.toml.

    References
    ----------
    5 w L^4 / (384 EI) = L / n, solved for EI.
    """
    return _FULL * floats(span_ratio) * floats(load_pa) * floats(spacing_m) * floats(span_m) ** 3
