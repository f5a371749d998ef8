"""Single numbers from bands with the curve behind them, and a product's figures held against its bands."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st
from tests.line.small_line import bound, faults_of, product, says

from undercourse.advise.audit_sound import sound_faults
from undercourse.demands.impact_spectrum import impact_spectra, membrane_spectra
from undercourse.files.shipped import rulebook
from undercourse.line.sound_tests import impact_reduction

# ISO 717-2 worked example, table C.2: reductions of the covering as printed.
COVERING = [3.0, 3.7, 1.9, 3.0, 3.2, 3.5, 4.0, 6.1, 6.7, 7.0, 7.7, 10.8, 15.2, 20.3, 25.4, 23.2]
# The reference curve as the standard prints it, 60 dB at 500 Hz.
CURVE = [62, 62, 62, 62, 62, 62, 61, 60, 59, 58, 57, 54, 51, 48, 45, 42]


def test_covering_of_the_iso_example() -> None:
    """Kind published: Ln,r,w 63, sum 28.4, ΔLw 15 (ISO 717-2, table C.2, misprint at 800 Hz put right)."""
    iso, _ = impact_spectra(COVERING)
    assert (iso.rating, iso.gain, iso.sum_db) == (63, 15, 28.4)
    assert iso.curve_db == tuple(float(level + 3) for level in CURVE)
    assert "-9 dB" in iso.remark


def test_the_same_covering_by_class() -> None:
    """Kind derived: IIC 47 and ΔIIC 19 by ASTM E989 and E2179 (rules from memory, 97 %) on the same bands."""
    iso, astm = impact_spectra(COVERING)
    assert (astm.rating, astm.gain) == (47, 19)
    assert astm.curve_db == tuple(float(level + 110 - 47 - 60) for level in CURVE)
    assert astm.covered_db == iso.covered_db
    assert astm.gain != iso.gain


def test_bare_slab_of_the_test() -> None:
    """Kind published: Ln,r,0,w 78 (ISO 717-2, table 4). Kind memory, 92 %: IIC 28, 8.0 dB over (E2179)."""
    iso, astm = impact_spectra([0.0] * 16)
    assert (iso.rating, iso.gain, iso.covered_db) == (78, 0, iso.bare_db)
    assert (astm.rating, astm.gain, astm.largest_db) == (28, 0, 8.0)


@given(st.lists(st.integers(-20, 400), min_size=16, max_size=16).map(lambda tenths: [t / 10 for t in tenths]))
def test_curve_is_as_low_as_its_rule_lets_it(reductions: list[float]) -> None:
    """What is drawn keeps the rule of its chain; a decibel lower it would not."""
    for spectrum, most in zip(impact_spectra(reductions), (np.inf, 8.0), strict=True):
        covered, curve = np.array(spectrum.covered_db), np.array(spectrum.curve_db)
        assert spectrum.bands_hz[7] == 500
        assert curve[7] == (spectrum.rating if spectrum.rating_name == "Ln,r,w" else 110 - spectrum.rating)
        over = np.maximum(covered - curve, 0)
        np.testing.assert_allclose(over, spectrum.over_db, atol=1e-6)
        assert spectrum.sum_db == pytest.approx(over.sum())
        assert spectrum.largest_db == pytest.approx(over.max())
        assert over.sum() < 32.05
        assert over.max() < most + 0.05
        closer = np.maximum(covered - curve + 1, 0)
        assert closer.sum() > 32.05 or closer.max() > most + 0.05


def test_rounding_is_said_with_the_class() -> None:
    """Bands at 0.1 dB and at 1 dB may give two classes; the remark names both."""
    for reductions in ([0.4] * 16, COVERING, [0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, *[0.6] * 8]):
        _, astm = impact_spectra(reductions)
        whole = np.floor(np.array(astm.covered_db) + 0.5)
        fits = [
            level
            for level in range(120)
            if np.maximum(whole - np.array(CURVE) - level + 60, 0).sum() <= 32
            and np.max(whole - np.array(CURVE) - level + 60) <= 8
        ]
        older = 110 - min(fits)
        assert (f", {older}." in astm.remark) is (older != astm.rating)
        assert (", the same." in astm.remark) is (older == astm.rating)


def test_figures_of_the_line_come_from_its_bands() -> None:
    """Every product that prints bands states the ratings that they give."""
    found = 0
    for each in rulebook(None).line.products.values():
        spectra = membrane_spectra(each)
        if spectra is None:
            assert impact_reduction(each) is None
            continue
        found += 1
        assert spectra[0].gain == each.number("delta_lw")
        assert spectra[1].gain == each.number("delta_iic")
    assert found


def bands(values: object, more: str = "") -> dict[str, str]:
    return {
        "a.toml": product("mat", f"[properties]\nimpact_reduction_bands = {values}\n{more}", kind="sound mat")
    }


@pytest.mark.parametrize(
    ("written", "pattern"),
    [
        (COVERING[:15], "15 numbers"),
        ('"17 dB"', "no list of numbers"),
        ([*COVERING[:15], True], "no list of numbers"),
        ([*COVERING[:15], 232], "232 dB is out of reach"),
    ],
    ids=["fifteen", "a text", "a flag", "a slip"],
)
def test_faulty_bands_are_told(tmp_path: Path, written: object, pattern: str) -> None:
    """A list that is none, or too short, or wild is a fault of its file, with what to write."""
    text = str(written).replace("True", "true")
    fault = says(faults_of(tmp_path / "line", bands(text)), pattern)
    assert "impact_reduction_bands" in fault.where
    assert "16 reductions" in fault.fix


def test_a_rating_that_the_bands_do_not_give_is_a_fault(tmp_path: Path) -> None:
    """ΔLw and ΔIIC swapped is the usual slip; right ones pass."""
    for number, (lw, iic, wrong) in enumerate([(15, 19, 0), (19, 15, 2), (15, 20, 1)]):
        files = bands(COVERING, f'delta_lw = "{lw} dB"\ndelta_iic = "{iic} dB"\n')
        book = bound(tmp_path / str(number), files)
        assert len(list(sound_faults(book.line.products["mat"]))) == wrong
