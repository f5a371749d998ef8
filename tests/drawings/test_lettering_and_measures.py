"""Widths against the font files, quantities against published factors."""

from __future__ import annotations

from pathlib import Path

import pytest
from fontTools.ttLib import TTFont

from undercourse.drawings.lettering import covers, shorten, text_width, wrap_text
from undercourse.drawings.measures import area_text, join_range, length_text, quantity_text, weight_text
from undercourse.files.paper_assets import FONT_FOLDER


@pytest.mark.parametrize(("style", "bold"), [("Regular", False), ("Bold", True)])
def test_advances_match_the_shipped_font_files(style: str, bold: bool) -> None:
    """Labels are placed by these widths; a new font file without new widths would overlap them."""
    font = TTFont(FONT_FOLDER / f"AtkinsonHyperlegibleNext-{style}.ttf")
    size, glyphs, metrics = font["head"].unitsPerEm, font.getBestCmap(), font["hmtx"]
    printable = [code for code in glyphs if code >= 32]
    assert len(printable) > 300
    for code in printable:
        advance = metrics[glyphs[code]][0] / size
        assert text_width(chr(code), 1.0, bold=bold) == pytest.approx(advance), chr(code)


def test_fonts_carry_an_open_licence_tabular_figures_and_stay_small() -> None:
    """The face is shipped with its licence text and may be embedded."""
    files = sorted(Path(FONT_FOLDER).glob("*.ttf")) + sorted(Path(FONT_FOLDER).glob("*.woff2"))
    assert len(files) == 6
    assert sum(file.stat().st_size for file in files) < 1_500_000
    assert "SIL OPEN FONT LICENSE Version 1.1" in (FONT_FOLDER / "OFL.txt").read_text(encoding="utf-8")
    for file in files[:3]:
        font = TTFont(file)
        assert font["OS/2"].fsType == 0  # OpenType: 0 is installable embedding
        assert "tnum" in {record.FeatureTag for record in font["GSUB"].table.FeatureList.FeatureRecord}


def test_wrapped_lines_fit_and_lose_no_letter() -> None:
    """Long names break inside a word when they must."""
    text = "Quarrybeck " + "W" * 80 + " end"
    lines = wrap_text(text, 40.0, 3.2)
    assert all(text_width(line, 3.2) <= 40.0 for line in lines)
    assert "".join(lines).replace(" ", "") == text.replace(" ", "")
    assert text_width(shorten(text, 30.0, 3.2), 3.2) <= 30.0
    assert shorten("short", 30.0, 3.2) == "short"
    assert covers("a")
    assert not covers("漢")


# 25.4 mm an inch, 0.45359237 kg a pound, 0.09290304 m2 a square foot: exact, NIST SP 811 (2008), app. B.8.
# kind = derived from those; the fraction of an inch is the nearest mark of a tape.
@pytest.mark.parametrize(
    ("length_m", "text"),
    [
        (5 / 8 * 0.0254, "5/8 in (16 mm)"),
        (19.2 * 0.0254, "19.2 in (488 mm)"),
        (16 * 0.0254, "16 in (406 mm)"),
        (24 * 0.0254, "24 in (610 mm)"),
        (10 * 0.3048, "10 ft (3048 mm)"),
        (13.5 * 0.3048 + 0.375 * 0.0254, "13 ft 6-3/8 in (4124 mm)"),
        (0.003, "1/8 in (3 mm)"),
        (0.0001, "3.9 mil (0.1 mm)"),
        (0.0, "0 in (0 mm)"),
        (12.5, "41 ft 1/8 in (12.50 m)"),
    ],
)
def test_lengths_read_in_both_systems(length_m: float, text: str) -> None:
    """The house style for a length."""
    assert length_text(length_m) == text


# psi 6.894757 kPa, psf 47.88026 Pa (NIST SP 811, appendix B.8), temperature by definition; kind = published.
@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (6894.757e3, "Pa", "1,000 psi (6.89 MPa)"),
        (47.88026 * 40, "Pa", "40 psf (1.92 kPa)"),
        (40, "psf", "40 psf (1.92 kPa)"),
        (50, "C", "122 °F (50 °C)"),
        (10, "K", "18 °F (10 K)"),
        ({"from": 10, "to": 32}, "C", "50 to 89.6 °F (10 to 32 °C)"),
        ({"from": None, "to": 12}, "%", "at most 12 %"),
        ({"from": 9, "to": 16}, "%", "9 to 16 %"),
        (0.00815, "m", "0.321 in (8.15 mm)"),
        (16, "in", "16 in (406 mm)"),
        (["plywood", "concrete"], "", "plywood, concrete"),
        (None, "m", "not known"),
        (True, None, "yes"),
        (3, "piece", "3 pieces"),
        (28, "day", "28 days"),
        (5, "furlongs", "5 furlongs"),
        (float("inf"), "m", "without limit"),
    ],
)
def test_quantities_read_in_both_systems(value: object, unit: str | None, text: str) -> None:
    """Numbers, ranges, sets and words of an answer."""
    assert quantity_text(value, unit) == text


def test_areas_weights_and_ranges() -> None:
    """100 square feet is 9.290304 m2, 50 lb is 22.6796185 kg (NIST SP 811, kind = published)."""
    assert area_text(9.290304) == "100 sq ft (9.3 m²)"
    assert weight_text(22.6796185) == "50 lb (22.7 kg)"
    assert join_range("3/8 in (10 mm)", "9/16 in (14 mm)") == "3/8 to 9/16 in (10 to 14 mm)"
    assert join_range("8 in (203 mm)", "10 ft (3048 mm)") == "8 in (203 mm) to 10 ft (3048 mm)"
