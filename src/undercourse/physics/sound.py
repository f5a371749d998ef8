"""Impact sound: single numbers from bands, what a covering gains, and the floating layer.

Two chains that never mix. ISO: Ln,w, and delta Lw on the ISO reference floor. ASTM: IIC with its
8 dB rule, and delta IIC on the same reference levels. A delta belongs to bare heavy concrete; it
is not to be added to a joist floor nor to a floor with a ceiling.

Levels are compared in whole tenths of a decibel, so no sum misses its limit by binary rounding.
Bands are one-third octaves from 100 to 3150 Hz, sixteen on the last axis. Clause and table numbers
are from memory; the rules and curves are the ones named there.
"""

from __future__ import annotations

from typing import NamedTuple

import numpy as np
from numpy.typing import ArrayLike, NDArray

FloatArray = NDArray[np.float64]
IntArray = NDArray[np.int64]
BoolArray = NDArray[np.bool_]

BANDS_HZ = (100, 125, 160, 200, 250, 315, 400, 500, 630, 800, 1000, 1250, 1600, 2000, 2500, 3150)
"""Nominal band centers that every spectrum here has on its last axis."""
REFERENCE_FLOOR_DB = (
    67.0, 67.5, 68.0, 68.5, 69.0, 69.5, 70.0, 70.5, 71.0, 71.5, 72.0, 72.0, 72.0, 72.0, 72.0, 72.0
)  # fmt: skip
"""Levels of the heavy reference floor; ISO 717-2 table 4. At 800 Hz 71.5; the worked example of the
2020 edition misprints 71.0."""
REFERENCE_FLOOR_CLASS = 28
"""Impact insulation class of those levels; ASTM E2179 (from memory, 92 %)."""

_CURVE_AT_500_HZ = 60
_CURVE = (62, 62, 62, 62, 62, 62, 61, 60, 59, 58, 57, 54, 51, 48, 45, 42)
_OCTAVE_CURVE = (67, 67, 65, 62, 49)
_REFERENCE_FLOOR_RATING = 78
_REFERENCE_FLOOR_ADAPTATION = -11
_THIRD_LIMIT, _OCTAVE_LIMIT = 320, 100  # allowed sum of deviations, in tenths of a decibel
_SINGLE_LIMIT = 80
_CLASS_BASE = 110
_ADAPTATION_BANDS = 15  # 100 to 2500 Hz


class ImpactRating(NamedTuple):
    """A weighted level, the sum of deviations behind it, and the adaptation term."""

    level_db: IntArray
    deviations_db: FloatArray
    adaptation_db: IntArray


class ImpactClass(NamedTuple):
    """An impact insulation class and the two checks that fixed it."""

    rating: IntArray
    deviations_db: FloatArray
    largest_db: FloatArray


class ImpactGain(NamedTuple):
    """Gain of a covering in weighted level, with its adaptation term."""

    gain_db: IntArray
    adaptation_db: IntArray


class RangedLevel(NamedTuple):
    """A level from a rule, and whether the rule holds there."""

    level_db: FloatArray
    valid: BoolArray


def reference_curve(level_at_500_hz_db: ArrayLike) -> IntArray:
    """The curve of impact ratings, moved so that it has a level at 500 Hz.

    Parameters
    ----------
    level_at_500_hz_db : array_like, shape (...)
        The weighted level, or 110 less the class, in whole decibels. [dB]

    Returns
    -------
    ndarray, shape (..., 16)
        Levels at `BANDS_HZ`. [dB]

    Notes
    -----
    The same shape in both chains; only the rules by which it is moved differ.
    Published check: tests/published/sound.toml, "reference curve".

    References
    ----------
    ISO 717-2, table 3; ASTM E989, contour (from memory, 97 %).
    """
    shift = np.asarray(level_at_500_hz_db, dtype=np.int64) - _CURVE_AT_500_HZ
    return np.asarray(np.asarray(_CURVE, dtype=np.int64) + shift[..., np.newaxis])


def _tenths(levels_db: ArrayLike) -> IntArray:
    """Levels in whole tenths of a decibel, halves up."""
    return np.floor(np.asarray(levels_db, dtype=np.float64) * 10.0 + 0.5).astype(np.int64)


def _least_shift(excess: IntArray, limit: int, step: int) -> IntArray:
    """Least shift, a multiple of step, that leaves a sum of positive excess at or under the limit.

    The sum over all bands above a shift is the largest of the sums over the k greatest excesses, so
    each k gives one lower bound.
    """
    greatest = -np.sort(-excess, axis=-1)
    count = np.arange(1, excess.shape[-1] + 1, dtype=np.int64)
    bounds = -((limit - np.cumsum(greatest, axis=-1)) // (count * step))
    return np.asarray(np.max(bounds, axis=-1) * step)


def _positive_sum(excess: IntArray, shift: IntArray) -> FloatArray:
    return np.asarray(np.sum(np.maximum(excess - shift[..., np.newaxis], 0), axis=-1) / 10.0)


def _adaptation(tenths: IntArray, bands: int, level: IntArray) -> IntArray:
    energy = np.sum(10.0 ** (tenths[..., :bands] / 100.0), axis=-1)
    return np.asarray(np.floor(10.0 * np.log10(energy) - 15.0 - level + 0.5), dtype=np.int64)


def weighted_impact_level(levels_db: ArrayLike) -> ImpactRating:
    """Weighted normalized impact level Ln,w and adaptation term C_I from third octaves.

    Parameters
    ----------
    levels_db : array_like, shape (..., 16)
        Normalized impact levels 100 to 3150 Hz, rounded here to 0.1 dB, halves up. [dB]

    Returns
    -------
    ImpactRating, shape (...)
        Ln,w, sum of unfavorable deviations at that shift, C_I from 100 to 2500 Hz. [dB]

    Notes
    -----
    The curve moves in 1 dB steps until the sum is as large as it may be, at most 32.0 dB; its value
    at 500 Hz is the rating. C_I is rounded to a whole decibel. Lower is better.
    Published check: tests/published/sound.toml, "heavy bare floor".

    References
    ----------
    ISO 717-2:2020 (and 2013), 4.3.1 and annex A. The 2020 edition misprints C_I of its worked
    example as -10 by summing sixteen bands; fifteen give the -11 of the 2013 edition.
    """
    tenths = _tenths(levels_db)
    excess = tenths - 10 * np.asarray(_CURVE, dtype=np.int64)
    shift = _least_shift(excess, _THIRD_LIMIT, 10)
    level = np.asarray(_CURVE_AT_500_HZ + shift // 10)
    return ImpactRating(level, _positive_sum(excess, shift), _adaptation(tenths, _ADAPTATION_BANDS, level))


def weighted_impact_level_octaves(levels_db: ArrayLike) -> ImpactRating:
    """Weighted impact level of a field measurement in octaves.

    Parameters
    ----------
    levels_db : array_like, shape (..., 5)
        Octave levels 125 to 2000 Hz, rounded here to 0.1 dB, halves up. [dB]

    Returns
    -------
    ImpactRating, shape (...)
        Rating, 5 dB taken off as the standard asks, sum of deviations, C_I. [dB]

    Notes
    -----
    At most 10.0 dB of unfavorable deviation. Field use only; laboratories report third octaves.
    Published check: tests/published/sound.toml, "octaves".

    References
    ----------
    ISO 717-2, 4.3.2 and annex A.
    """
    tenths = _tenths(levels_db)
    excess = tenths - 10 * np.asarray(_OCTAVE_CURVE, dtype=np.int64)
    shift = _least_shift(excess, _OCTAVE_LIMIT, 10)
    level = np.asarray(_OCTAVE_CURVE[2] + shift // 10 - 5)
    return ImpactRating(level, _positive_sum(excess, shift), _adaptation(tenths, 5, level))


def impact_insulation_class(levels_db: ArrayLike, band_rounding_db: ArrayLike) -> ImpactClass:
    """Impact insulation class (IIC, and AIIC, ISR, NISR from their own levels).

    Parameters
    ----------
    levels_db : array_like, shape (..., 16)
        Normalized impact levels 100 to 3150 Hz. [dB]
    band_rounding_db : array_like, shape (...)
        Step to which bands are rounded before the fit, halves up: 1.0 or 0.1. Editions and
        laboratories differ and the class may differ by 1 with it, so it must be said. [dB]

    Returns
    -------
    ImpactClass, shape (...)
        Class, sum of excesses and largest excess over the fitted contour. Higher is better.

    Notes
    -----
    Contour in 1 dB steps, sum at most 32 dB and none over 8 dB; 110 less its value at 500 Hz.
    Published check: tests/published/sound.toml, "impact insulation class".

    References
    ----------
    ASTM E989-21 (contour and both rules; from memory, 97 %; rounding open).
    """
    step = _tenths(band_rounding_db)[..., np.newaxis]
    tenths = (2 * _tenths(levels_db) + step) // (2 * step) * step
    excess = tenths - 10 * np.asarray(_CURVE, dtype=np.int64)
    by_sum = _least_shift(excess, _THIRD_LIMIT, 10)
    by_single = -((_SINGLE_LIMIT - np.max(excess, axis=-1)) // 10) * 10
    shift = np.maximum(by_sum, by_single)
    rating = np.asarray(_CLASS_BASE - _CURVE_AT_500_HZ - shift // 10)
    largest = np.maximum(np.max(excess, axis=-1) - shift, 0) / 10.0
    return ImpactClass(rating, _positive_sum(excess, shift), np.asarray(largest))


def weighted_impact_gain(reductions_db: ArrayLike) -> ImpactGain:
    """Weighted reduction delta Lw of a covering on the ISO reference floor.

    Parameters
    ----------
    reductions_db : array_like, shape (..., 16)
        Reduction of impact level by the covering, 100 to 3150 Hz. [dB]

    Returns
    -------
    ImpactGain, shape (...)
        Delta Lw and C_I,delta. [dB]

    Notes
    -----
    78 less Ln,w of the covered reference floor; C_I,delta = -11 less its C_I. Higher is better. Not
    comparable with `impact_class_gain`.
    Published check: tests/published/sound.toml, "covering on the reference floor".

    References
    ----------
    ISO 717-2, clause 5 and annex A.
    """
    covered = weighted_impact_level(np.asarray(REFERENCE_FLOOR_DB) - np.asarray(reductions_db, dtype=float))
    return ImpactGain(
        np.asarray(_REFERENCE_FLOOR_RATING - covered.level_db),
        np.asarray(_REFERENCE_FLOOR_ADAPTATION - covered.adaptation_db),
    )


def impact_class_gain(reductions_db: ArrayLike, band_rounding_db: ArrayLike) -> IntArray:
    """Delta IIC of a covering on the ASTM reference concrete floor.

    Parameters
    ----------
    reductions_db : array_like, shape (..., 16)
        Reduction of impact level by the covering, 100 to 3150 Hz. [dB]
    band_rounding_db : array_like, shape (...)
        As in `impact_insulation_class`. [dB]

    Returns
    -------
    ndarray, shape (...)
        Class of the covered reference floor less 28. Higher is better. [1]

    Notes
    -----
    The 8 dB rule holds down the bare floor's class, so this reads higher than delta Lw of the same
    covering; neither may stand for the other.
    Published check: tests/published/sound.toml, "delta IIC".

    References
    ----------
    ASTM E2179 (reference levels and class 28 from memory, 92 %); not for joist floors, says its scope.
    """
    covered = np.asarray(REFERENCE_FLOOR_DB) - np.asarray(reductions_db, dtype=float)
    return np.asarray(impact_insulation_class(covered, band_rounding_db).rating - REFERENCE_FLOOR_CLASS)


def bare_slab_level(mass_kg_m2: ArrayLike) -> RangedLevel:
    """Equivalent weighted impact level of a bare homogeneous concrete floor from its mass.

    Parameters
    ----------
    mass_kg_m2 : array_like
        Mass of the floor, above 0. [kg/m2]

    Returns
    -------
    RangedLevel
        Ln,w,eq, and whether the mass lies in 100 to 600 kg/m2 where the rule holds. [dB]

    Notes
    -----
    164 - 35 log10(m'). Says nothing about wood joists, hollow decks or floors with ceilings.
    Published check: tests/published/sound.toml, "bare slab".

    References
    ----------
    EN 12354-2:2000 (ISO 12354-2), annex B; DIN 4109-32 carries the rule on to 720 kg/m2.
    """
    mass = np.asarray(mass_kg_m2, dtype=float)
    level = 164.0 - 35.0 * np.log10(mass)
    return RangedLevel(np.asarray(level), np.asarray((mass >= 100.0) & (mass <= 600.0)))


def covered_slab_level(
    mass_kg_m2: ArrayLike, gain_db: ArrayLike, flanking_correction_db: ArrayLike
) -> RangedLevel:
    """Weighted impact level in the room below a covered concrete floor, ISO chain.

    Parameters
    ----------
    mass_kg_m2 : array_like
        Mass of the bare floor, above 0. [kg/m2]
    gain_db : array_like
        Delta Lw of the covering, never delta IIC. [dB]
    flanking_correction_db : array_like
        K for flanking walls; 0 in a laboratory. [dB]

    Returns
    -------
    RangedLevel
        L'n,w, valid as `bare_slab_level`. [dB]

    Notes
    -----
    Published check: tests/published/sound.toml, "covered slab".

    References
    ----------
    EN 12354-2:2000 (ISO 12354-2), simplified model.
    """
    bare = bare_slab_level(mass_kg_m2)
    level = bare.level_db - np.asarray(gain_db, dtype=float) + np.asarray(flanking_correction_db, dtype=float)
    return RangedLevel(np.asarray(level), np.broadcast_arrays(bare.valid, level)[0])


def floating_resonance(stiffness_n_m3: ArrayLike, mass_kg_m2: ArrayLike) -> FloatArray:
    """Resonance of a stiff layer floating on a resilient one over a heavy floor.

    Parameters
    ----------
    stiffness_n_m3 : array_like
        Dynamic stiffness per area of the resilient layer, above 0. [N/m3]
    mass_kg_m2 : array_like
        Mass of the layer that floats, above 0. [kg/m2]

    Returns
    -------
    ndarray
        Frequency below which nothing is gained; the inputs broadcast. [Hz]

    Notes
    -----
    160 sqrt(s'/m') with s' in MN/m3. For tile bonded to a thin mat it marks where the gain starts;
    the mat's own tests decide the rest.
    Published check: tests/published/sound.toml, "floating layer resonance".

    References
    ----------
    EN 12354-2:2000 (ISO 12354-2), annex C.
    """
    stiffness_mn_m3 = np.asarray(stiffness_n_m3, dtype=float) / 1e6
    return np.asarray(160.0 * np.sqrt(stiffness_mn_m3 / np.asarray(mass_kg_m2, dtype=float)))


def floating_reduction(resonance_hz: ArrayLike, slope: ArrayLike) -> FloatArray:
    """Reduction spectrum of a floating layer.

    Parameters
    ----------
    resonance_hz : array_like, shape (...)
        From `floating_resonance`, above 0. [Hz]
    slope : array_like, shape (...)
        Decibels per tenfold frequency: 30 for cement screeds, 40 for dry or asphalt layers. [dB]

    Returns
    -------
    ndarray, shape (..., 16)
        Reduction at `BANDS_HZ`, 0 up to the resonance. [dB]

    Notes
    -----
    Feed it to `weighted_impact_gain`. The dip at the resonance itself is left out.
    Published check: tests/published/sound.toml, "reduction spectrum of a screed".

    References
    ----------
    EN 12354-2:2000 (ISO 12354-2), annex C (slope 40 from memory, 93 %).
    """
    ratio = np.asarray(BANDS_HZ, dtype=float) / np.asarray(resonance_hz, dtype=float)[..., np.newaxis]
    return np.asarray(np.asarray(slope, dtype=float)[..., np.newaxis] * np.log10(np.maximum(ratio, 1.0)))


def screed_weighted_gain(stiffness_n_m3: ArrayLike, mass_kg_m2: ArrayLike) -> FloatArray:
    """Weighted reduction of a floating cement screed from one fitted line.

    Parameters
    ----------
    stiffness_n_m3 : array_like
        Dynamic stiffness per area of the resilient layer, above 0. [N/m3]
    mass_kg_m2 : array_like
        Mass of the screed, above 0. [kg/m2]

    Returns
    -------
    ndarray
        Delta Lw; the inputs broadcast. [dB]

    Notes
    -----
    13 log10(m') - 14.2 log10(s') + 20.8. Over stiff mats (s' 50 MN/m3 and more) it parts from the
    spectrum by several decibels: compare both.
    Published check: tests/published/sound.toml, "weighted reduction of a screed".

    References
    ----------
    EN 12354-2 (ISO 12354-2), annex C, cement screeds.
    """
    stiffness_mn_m3 = np.asarray(stiffness_n_m3, dtype=float) / 1e6
    mass = np.asarray(mass_kg_m2, dtype=float)
    return np.asarray(13.0 * np.log10(mass) - 14.2 * np.log10(stiffness_mn_m3) + 20.8)


def normalized_level(level_db: ArrayLike, volume_m3: ArrayLike, decay_s: ArrayLike) -> FloatArray:
    """Impact level normalized to 10 m2 of absorption in the room below.

    Parameters
    ----------
    level_db : array_like
        Measured level. [dB]
    volume_m3, decay_s : array_like
        Volume and reverberation time of that room, above 0. [m3], [s]

    Returns
    -------
    ndarray
        L'n; the inputs broadcast. [dB]

    Notes
    -----
    L + 10 log10(A / 10), A = 0.16 V / T.
    Published check: tests/published/sound.toml, "normalized and standardized".

    References
    ----------
    ISO 16283-2 (from memory, 97 %).
    """
    absorption = 0.16 * np.asarray(volume_m3, dtype=float) / np.asarray(decay_s, dtype=float)
    return np.asarray(np.asarray(level_db, dtype=float) + 10.0 * np.log10(absorption / 10.0))


def standardized_level(normalized_db: ArrayLike, volume_m3: ArrayLike) -> FloatArray:
    """Impact level standardized to half a second of reverberation.

    Parameters
    ----------
    normalized_db : array_like
        L'n. [dB]
    volume_m3 : array_like
        Volume of the room below, above 0. [m3]

    Returns
    -------
    ndarray
        L'nT; the inputs broadcast. [dB]

    Notes
    -----
    L'n - 10 log10(0.032 V).
    Published check: tests/published/sound.toml, "standardized level".

    References
    ----------
    EN 12354-2, relation of L'nT and L'n (from memory, 97 %).
    """
    volume = np.asarray(volume_m3, dtype=float)
    return np.asarray(np.asarray(normalized_db, dtype=float) - 10.0 * np.log10(0.032 * volume))


def reverberation_level(level_db: ArrayLike, decay_s: ArrayLike) -> FloatArray:
    """Impact level of a field test brought to half a second of reverberation.

    Parameters
    ----------
    level_db : array_like
        Measured level. [dB]
    decay_s : array_like
        Reverberation time of the room below, above 0. [s]

    Returns
    -------
    ndarray
        L'nT, the levels behind a field rating by reverberation (NISR); the inputs broadcast. [dB]

    Notes
    -----
    L - 10 log10(T / 0.5). The same as `standardized_level` of `normalized_level`. A field rating is never
    held against a laboratory minimum.
    Published check: tests/published/sound.toml, "half a second of reverberation".

    References
    ----------
    ISO 16283-2; ASTM E1007 (both from memory, 97 %).
    """
    return np.asarray(
        np.asarray(level_db, dtype=float) - 10.0 * np.log10(np.asarray(decay_s, dtype=float) / 0.5)
    )
