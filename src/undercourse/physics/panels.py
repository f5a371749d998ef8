"""Wood panels between joists: uniform and concentrated load, one layer or two."""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

from undercourse.physics._floats import FloatArray, floats

# Published panel constants (load in psf, length in inches, per foot of width) over 12 inches per foot:
# deflection 921.6, 2220, 1743; bending 96, 96, 120; shear 24, 19.2, 20.
_DEFLECTION_DIVISORS = (921.6 / 12, 2220 / 12, 1743 / 12)
_BENDING_NUMERATORS = (96 / 12, 96 / 12, 120 / 12)
_SHEAR_NUMERATORS = (24 / 12, 19.2 / 12, 20 / 12)

_AXIS_ACROSS_THREE_SPAN_M = 32 * 0.0254
_AXIS_ALONG_THREE_SPAN_M = 16 * 0.0254
_AXIS_ALONG_TWO_SPAN_M = 24 * 0.0254
# Spacings come from inches through metres; a nanometre keeps 16 in at 16 in.
_SLACK_M = 1e-9


def _by_spans(spans: ArrayLike, values: tuple[float, float, float]) -> FloatArray:
    count = np.asarray(spans)
    return np.where(count <= 1, values[0], np.where(count == 2, values[1], values[2]))


class PanelSpans(NamedTuple):
    """The three lengths that a panel on supports is checked with."""

    bending_m: FloatArray
    shear_m: FloatArray
    deflection_m: FloatArray


def panel_spans(
    spacing_m: ArrayLike, support_width_m: ArrayLike, deflection_allowance_m: ArrayLike
) -> PanelSpans:
    """Bending, shear and deflection spans of a panel on joists.

    Parameters
    ----------
    spacing_m : array_like
        Joist spacing, centre to centre. [m]
    support_width_m : array_like
        Width of the joist face, 1.5 in for 2 in lumber. [m]
    deflection_allowance_m : array_like
        Added to the clear span for deflection: 0.25 in on 2 in lumber, 0.625 in on 4 in. [m]

    Returns
    -------
    PanelSpans
        Centre to centre; clear; clear plus allowance. [m]

    References
    ----------
    Panel design specification, load-span method; 0.625 in from memory.
    """
    spacing = floats(spacing_m)
    clear = spacing - floats(support_width_m)
    return PanelSpans(spacing, clear, clear + floats(deflection_allowance_m))


def span_count(spacing_m: ArrayLike, axis_across: ArrayLike) -> NDArray[np.int64]:
    """Number of spans to assume for a panel of full length on joists at a spacing.

    Parameters
    ----------
    spacing_m : array_like
        Joist spacing, centre to centre. [m]
    axis_across : array_like of bool
        True where the strength axis runs across the joists.

    Returns
    -------
    ndarray of int
        Across: 3 to 32 in, else 2. Along: 3 to 16 in, 2 to 24 in, else 1.

    References
    ----------
    Peurifoy and Oberlender, Formwork for Concrete Structures, 4th ed., p. 118.
    """
    spacing = floats(spacing_m) - _SLACK_M
    across = np.where(spacing <= _AXIS_ACROSS_THREE_SPAN_M, 3, 2)
    along = np.where(
        spacing <= _AXIS_ALONG_THREE_SPAN_M, 3, np.where(spacing <= _AXIS_ALONG_TWO_SPAN_M, 2, 1)
    )
    return np.where(np.asarray(axis_across, dtype=bool), across, along)


def uniform_divisor(spans: ArrayLike) -> FloatArray:
    """Divisor c of w l^4 / (c EI) for a panel under uniform load.

    Parameters
    ----------
    spans : array_like of int
        1, 2, or 3 for three and more.

    Returns
    -------
    ndarray
        76.8, 185, 145.25. [-]

    References
    ----------
    As for `uniform_deflection`.
    """
    return _by_spans(spans, _DEFLECTION_DIVISORS)


def uniform_deflection(
    load_pa: ArrayLike, span_m: ArrayLike, stiffness_nm: ArrayLike, spans: ArrayLike
) -> FloatArray:
    """Largest deflection of a panel between joists under uniform load.

    Parameters
    ----------
    load_pa : array_like
        Uniform load, at or above 0. [Pa]
    span_m : array_like
        Deflection span, see `panel_spans`. [m]
    stiffness_nm : array_like
        EI per metre of width, N m2 / m, above 0. [N m]
    spans : array_like of int
        1, 2, or 3 for three and more.

    Returns
    -------
    ndarray
        w l^4 / (c EI), c = 76.8, 185, 145.25; positive downwards. [m]

    Notes
    -----
    The two-span constant as printed is 0.2 % above beam theory, hence 0.2 % too stiff.

    References
    ----------
    Three spans: Peurifoy and Oberlender, Formwork for Concrete Structures, 4th ed., pp. 121, 138.
    One and two spans: from memory, agreeing with beam theory. Check: tests/published/panels.toml.
    """
    divisor = uniform_divisor(spans)
    return floats(load_pa) * floats(span_m) ** 4 / (divisor * floats(stiffness_nm))


def deflection_load(
    stiffness_nm: ArrayLike, span_m: ArrayLike, span_ratio: ArrayLike, spans: ArrayLike
) -> FloatArray:
    """Uniform load at which a panel deflects by span / ratio.

    Parameters
    ----------
    stiffness_nm : array_like
        EI per metre of width. [N m]
    span_m : array_like
        Deflection span, above 0; the limit is taken of the same span. [m]
    span_ratio : array_like
        n of L/n, above 0. [-]
    spans : array_like of int
        1, 2, or 3 for three and more.

    Returns
    -------
    ndarray
        c EI / (n l^3), the inverse of `uniform_deflection`. [Pa]
    """
    divisor = _by_spans(spans, _DEFLECTION_DIVISORS)
    return divisor * floats(stiffness_nm) / (floats(span_ratio) * floats(span_m) ** 3)


def bending_load(bending_capacity_n: ArrayLike, span_m: ArrayLike, spans: ArrayLike) -> FloatArray:
    """Uniform load at which bending capacity is reached.

    Parameters
    ----------
    bending_capacity_n : array_like
        Fb S per metre of width, N m / m. [N]
    span_m : array_like
        Bending span, centre to centre, above 0. [m]
    spans : array_like of int
        1, 2, or 3 for three and more.

    Returns
    -------
    ndarray
        8, 8 or 10 times Fb S / l^2. [Pa]

    Notes
    -----
    The three-span constant stands for more spans by habit of the tables; over four spans beam theory
    gives 9.33 in place of 10, so that the printed load is 7 % high there.

    References
    ----------
    Peurifoy and Oberlender, Formwork for Concrete Structures, 4th ed., p. 121 (three spans);
    one and two spans from memory, agreeing with beam theory.
    """
    numerator = _by_spans(spans, _BENDING_NUMERATORS)
    return numerator * floats(bending_capacity_n) / floats(span_m) ** 2


def shear_load(shear_capacity_n_m: ArrayLike, span_m: ArrayLike, spans: ArrayLike) -> FloatArray:
    """Uniform load at which shear capacity is reached.

    Parameters
    ----------
    shear_capacity_n_m : array_like
        Fs (Ib/Q) per metre of width. [N/m]
    span_m : array_like
        Clear span, above 0. [m]
    spans : array_like of int
        1, 2, or 3 for three and more.

    Returns
    -------
    ndarray
        2, 1.6 or 1.667 times Fs (Ib/Q) / l. [Pa]

    References
    ----------
    As `bending_load`.
    """
    numerator = _by_spans(spans, _SHEAR_NUMERATORS)
    return numerator * floats(shear_capacity_n_m) / floats(span_m)


def concentrated_divisor(spans: ArrayLike, end_bay: ArrayLike) -> FloatArray:
    """Divisor c of P l^3 / (c EI) for a force in the middle of one bay of equal bays.

    Parameters
    ----------
    spans : array_like of int
        1, 2, or 3 for three and more.
    end_bay : array_like of bool
        With three spans: True where the force stands in an outer bay. Else of no effect.

    Returns
    -------
    ndarray
        48; 1536/23; 480/7 outer or 960/11 inner. [-]

    References
    ----------
    Beam theory. Check: tests/published/panels.toml.
    """
    three = np.where(np.asarray(end_bay, dtype=bool), 480 / 7, 960 / 11)
    count = np.asarray(spans)
    return np.where(count <= 1, 48.0, np.where(count == 2, 1536 / 23, three))


def concentrated_deflection(
    force_n: ArrayLike,
    span_m: ArrayLike,
    stiffness_nm: ArrayLike,
    sharing_width_m: ArrayLike,
    divisor: ArrayLike,
) -> FloatArray:
    """Deflection under a force in the middle of a bay, for a stated width of panel that shares it.

    Parameters
    ----------
    force_n : array_like
        Force, at or above 0. [N]
    span_m : array_like
        Deflection span of the bay. [m]
    stiffness_nm : array_like
        EI per metre of width. [N m]
    sharing_width_m : array_like
        Width of panel, along the joists, taken to bend as one strip, above 0. No standard states
        it: bound the answer between a narrow and a wide value. [m]
    divisor : array_like
        From `concentrated_divisor`. [-]

    Returns
    -------
    ndarray
        P l^3 / (c EI b), positive downwards. [m]

    References
    ----------
    Beam theory; constants of `concentrated_divisor`.
    """
    strip = floats(stiffness_nm) * floats(sharing_width_m)
    return floats(force_n) * floats(span_m) ** 3 / (floats(divisor) * strip)


def loose_layers_stiffness(stiffness_nm: ArrayLike) -> FloatArray:
    """Stiffness of panel layers that lie on each other without composite action.

    Parameters
    ----------
    stiffness_nm : array_like, shape (..., layers)
        EI per metre of width of each layer in the direction of the span. [N m]

    Returns
    -------
    ndarray, shape (...)
        Sum over the layers. Screws do not make layers composite; full glue as tested may. [N m]

    References
    ----------
    Engineering practice, from memory.
    """
    return np.asarray(np.sum(floats(stiffness_nm), axis=-1))


def loose_layers_share(stiffness_nm: ArrayLike) -> FloatArray:
    """Share of the load that each loose layer carries, by its stiffness.

    Parameters
    ----------
    stiffness_nm : array_like, shape (..., layers)
        EI per metre of width of each layer; their sum above 0. [N m]

    Returns
    -------
    ndarray, shape (..., layers)
        Shares that add up to 1, for the bending check of each layer. [-]
    """
    stiffness = floats(stiffness_nm)
    return np.asarray(stiffness / np.sum(stiffness, axis=-1, keepdims=True))
