"""Single numbers of impact sound from the bands of a report, with the curve that fixed them.

For each chain one spectrum: the test slab bare and covered, and the reference curve where its own rule
leaves it. ISO and ASTM use one shape and two rules, so one covering has two ratings, and neither stands
for the other.
"""

from __future__ import annotations

from collections.abc import Sequence
from typing import NamedTuple

import numpy as np

from undercourse.line.records import Product
from undercourse.line.sound_tests import impact_reduction
from undercourse.physics.sound import (
    BANDS_HZ,
    REFERENCE_FLOOR_CLASS,
    REFERENCE_FLOOR_DB,
    ImpactClass,
    impact_class_gain,
    impact_insulation_class,
    reference_curve,
    weighted_impact_gain,
    weighted_impact_level,
)

# Bands as laboratories print them. Older editions of E989 fit to whole decibels, which may move a class by 1.
ROUNDING_DB, OLDER_ROUNDING_DB = 0.1, 1.0
_CLASS_BASE = 110


class ImpactSpectrum(NamedTuple):
    """A covered test slab against the reference curve of one chain; levels at ``bands_hz``. [dB]"""

    chain: str
    rating_name: str
    rating: int
    gain_name: str
    gain: int
    bands_hz: tuple[int, ...]
    bare_db: tuple[float, ...]
    covered_db: tuple[float, ...]
    curve_db: tuple[float, ...]
    over_db: tuple[float, ...]
    sum_db: float
    largest_db: float
    remark: str
    source: str


def impact_spectra(reductions_db: Sequence[float]) -> tuple[ImpactSpectrum, ImpactSpectrum]:
    """The spectrum of a covering by ISO 717-2 and by ASTM E989.

    Parameters
    ----------
    reductions_db : sequence of 16 floats
        What the covering took off the bare test slab, 100 to 3150 Hz. [dB]

    Returns
    -------
    (ImpactSpectrum, ImpactSpectrum)
        ISO with Ln,r,w and ΔLw, ASTM with IIC and ΔIIC. ``over_db`` is how far each band stands over the
        curve (0 under it), ``sum_db`` and ``largest_db`` are what the rules look at.
    """
    covered = np.round(np.asarray(REFERENCE_FLOOR_DB) - np.asarray(reductions_db, dtype=float), 6)
    return _iso(covered, reductions_db), _astm(covered, reductions_db)


def membrane_spectra(product: Product) -> tuple[ImpactSpectrum, ImpactSpectrum] | None:
    """The same of a membrane whose report's bands are stated; None where they are not."""
    found = impact_reduction(product)
    return None if found is None else impact_spectra(found)


def _iso(covered: np.ndarray, reductions: Sequence[float]) -> ImpactSpectrum:
    rating, gain = weighted_impact_level(covered), weighted_impact_gain(reductions)
    level = int(rating.level_db)
    return ImpactSpectrum(
        "ISO 717-2",
        "Ln,r,w",
        level,
        "ΔLw",
        int(gain.gain_db),
        *_bands(covered, level),
        float(rating.deviations_db),
        _largest(covered, level),
        "Bands to 0.1 dB, halves up; the curve in steps of 1 dB, sum of bands over it at most 32.0 dB."
        f" C_I,Δ {int(gain.adaptation_db)} dB. Lower is better; ΔLw is 78 less this.",
        "ISO 717-2:2020, 4.3.1 and 5; misprints of its examples put right",
    )


def _astm(covered: np.ndarray, reductions: Sequence[float]) -> ImpactSpectrum:
    fitted: ImpactClass = impact_insulation_class(covered, ROUNDING_DB)
    older = int(impact_insulation_class(covered, OLDER_ROUNDING_DB).rating)
    rating = int(fitted.rating)
    other = "the same" if older == rating else str(older)
    return ImpactSpectrum(
        "ASTM E989",
        "IIC",
        rating,
        "ΔIIC",
        int(impact_class_gain(reductions, ROUNDING_DB)),
        *_bands(covered, _CLASS_BASE - rating),
        float(fitted.deviations_db),
        float(fitted.largest_db),
        "Bands to 0.1 dB, halves up; the contour in steps of 1 dB, sum of bands over it at most 32 dB and"
        f" none over 8 dB. With bands first rounded to 1 dB, as in older editions, {other}. Higher is better;"
        f" ΔIIC is this less {REFERENCE_FLOOR_CLASS}.",
        "ASTM E989 and E2179 (contour and rules from memory, 97 %; reference slab from memory, 92 %)",
    )


def _bands(
    covered: np.ndarray, level: int
) -> tuple[tuple[int, ...], tuple[float, ...], tuple[float, ...], tuple[float, ...], tuple[float, ...]]:
    """Bands, bare and covered slab, the moved curve, and what stands over it."""
    curve = reference_curve(level)
    over = np.round(np.maximum(covered - curve, 0.0), 6)
    return BANDS_HZ, REFERENCE_FLOOR_DB, _floats(covered), _floats(curve), _floats(over)


def _floats(levels: np.ndarray) -> tuple[float, ...]:
    return tuple(float(one) for one in levels)


def _largest(covered: np.ndarray, level: int) -> float:
    return float(np.round(np.max(np.maximum(covered - reference_curve(level), 0.0)), 6))
