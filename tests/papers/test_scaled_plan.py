"""Plans to scale on paper: true sizes, sheets that meet, and nothing outside the frame."""

from __future__ import annotations

import io
import math
import re
from typing import Any

import pypdf
import pytest

from drawings.marks import overlaps
from undercourse.base.problems import Problems
from undercourse.drawings import TitleBlock, to_svg
from undercourse.drawings.scaled_plan import CHECK_MM, OVERLAP_MM, PAPERS, PlanShapes, scaled_sheets
from undercourse.drawings.sheet import Stroke
from undercourse.files.paper_assets import FONT_FOLDER
from undercourse.papers.plan_sheets import plan_pdf

BLOCK = TitleBlock("Two rooms", "Hall", "1", "2026-11-25", "0123456789")
POINTS_MM = 72 / 25.4
"""A point of a PDF is 1/72 in (ISO 32000-1, 8.3.2.3)."""

SIZES_MM = {"a4": (210, 297), "a3": (297, 420), "letter": (215.9, 279.4), "tabloid": (279.4, 431.8)}
"""ISO 216 for A4 and A3; 8.5 by 11 in and 11 by 17 in. Kind: published."""


def room(wide: float, high: float, **more: Any) -> PlanShapes:
    """A rectangle with its lower left corner at (2, 1). [m]"""
    ring = [(2.0, 1.0), (2.0 + wide, 1.0), (2.0 + wide, 1.0 + high), (2.0, 1.0 + high)]
    return PlanShapes("Hall", ring, pieces=[("1.1", ring)], **more)


def strokes(sheet: Any, name: str) -> list[Stroke]:
    return [mark for mark in sheet.marks if isinstance(mark, Stroke) and mark.name == name]


def reach(lines: list[Stroke]) -> tuple[float, float]:
    """Width and height of lines on paper. [mm]"""
    points = [point for line in lines for point in line.points]
    xs, ys = zip(*points, strict=True)
    return max(xs) - min(xs), max(ys) - min(ys)


@pytest.mark.parametrize("paper", sorted(PAPERS))
@pytest.mark.parametrize("scale", [20.0, 50.0, 100.0])
def test_room_measures_its_size_over_the_scale(scale: float, paper: str) -> None:
    """3.1 m by 2.4 m at 1 : 50 are 62 mm by 48 mm (kind: derived), on every paper."""
    sheets = scaled_sheets([room(3.1, 2.4)], scale, paper, BLOCK)
    assert len(sheets) == 1
    sheet, size = sheets[0]
    assert reach(strokes(sheet, "room")) == pytest.approx((3100 / scale, 2400 / scale))
    assert sorted(size) == pytest.approx(sorted(SIZES_MM[paper]))
    (check,) = strokes(sheet, "check")
    assert reach([check])[0] == CHECK_MM == 100.0
    assert f"1 : {scale:g}" in to_svg(sheet).decode()


@pytest.mark.parametrize("scale", [50.0, 100.0])
@pytest.mark.parametrize("thin", [0.3, 0.45, 0.8])
def test_no_words_lie_on_others(scale: float, thin: float) -> None:
    """A bay at the top, a thin first strip: name, numbers and the start line's words keep clear."""
    ring = [(0, 0), (6.2, 0), (6.2, 3.1), (4.1, 3.1), (4.1, 5.2), (2.9, 5.2), (2.6, 5.8), (1.5, 5.8)]
    ring += [(1.2, 5.2), (0, 5.2)]
    pieces = [
        (f"1.1{'abc'[i]}", [(x, 0), (x + 2.06, 0), (x + 2.06, thin), (x, thin)])
        for i, x in enumerate((0.0, 2.07, 4.14))
    ]
    pieces.append(("1.2", [(0, thin), (6.2, thin), (6.2, 3.1), (0, 3.1)]))
    pieces.append(("1.7a", [(1.2, 5.2), (2.0, 5.2), (2.0, 5.8), (1.5, 5.8)]))
    pieces.append(("1.7b", [(2.0, 5.2), (2.9, 5.2), (2.6, 5.8), (2.0, 5.8)]))
    chalk = {"start": [0, thin], "end": [6.2, thin], "right_m": [thin, thin]}
    chalk["left_m"] = [5.2 - thin, 3.1 - thin]
    shapes = PlanShapes("Living", ring, pieces=pieces, chalk=chalk)
    for sheet, _ in scaled_sheets([shapes], scale, "letter", BLOCK):
        assert overlaps(sheet) == []
        told = {words.text for words in sheet.texts()}
        assert {"1.1a", "1.7a", "Living"} <= told
        start = next(text for text in told if text.startswith("Start line"))
        assert scale > 50.0 or f"({thin * 1000:.0f} mm)" in start


def test_paper_is_turned_where_that_takes_fewer_sheets() -> None:
    """A corridor of 12 m at 1 : 50 is 240 mm long: one sheet of A4 lying, two upright."""
    sheets = scaled_sheets([room(12.0, 2.0)], 50.0, "a4", BLOCK)
    assert len(sheets) == 1
    assert sheets[0][1] == (297.0, 210.0)


def test_large_plan_goes_over_sheets_that_overlap() -> None:
    """Every wall is on some sheet, neighbors share a strip of 10 mm, and nothing leaves a frame."""
    area = room(20.0, 15.0)
    sheets = scaled_sheets([area], 50.0, "letter", BLOCK)
    assert len(sheets) > 1
    total = 0.0
    for sheet, _ in sheets:
        ((left, top), _, (right, bottom), _) = strokes(sheet, "frame")[0].points
        for line in strokes(sheet, "room"):
            assert all(left - 1e-9 <= x <= right + 1e-9 for x, _ in line.points)
            assert all(top - 1e-9 <= y <= bottom + 1e-9 for _, y in line.points)
            total += sum(math.dist(a, b) for a, b in zip(line.points, line.points[1:], strict=False))
    perimeter = 2 * (20.0 + 15.0) * 1000 / 50
    # What lies in an overlap is drawn on both sheets.
    assert perimeter <= total <= perimeter + 4 * OVERLAP_MM * len(sheets)
    told = {
        number for sheet, _ in sheets for number in re.findall(r"Match sheet (\d+)", to_svg(sheet).decode())
    }
    assert told == {str(number) for number in range(1, len(sheets) + 1)}


def test_plan_that_would_take_too_much_paper_is_refused() -> None:
    """A floor of 300 m at 1 : 20 says what to do instead."""
    with pytest.raises(Problems, match="smaller scale or larger paper"):
        scaled_sheets([room(300.0, 200.0)], 20.0, "a4", BLOCK)


def drawn_lengths(page: pypdf.PageObject) -> list[float]:
    """Lengths of all straight strokes on a page of a PDF, as a reader would print them. [mm]"""
    found: list[float] = []
    last: list[tuple[float, float]] = [(0.0, 0.0)]

    def visit(operator: bytes, operands: list[Any], matrix: list[float], _: list[float]) -> None:
        if operator not in (b"m", b"l"):
            return
        x, y = float(operands[0]), float(operands[1])
        a, b, c, d, e, f = matrix
        point = (a * x + c * y + e, b * x + d * y + f)
        if operator == b"l":
            found.append(math.dist(last[0], point) / POINTS_MM)
        last[0] = point

    page.extract_text(visitor_operand_before=visit)
    return found


@pytest.mark.parametrize("paper", sorted(PAPERS))
def test_pdf_has_the_papers_size_and_the_lines_their_length(paper: str) -> None:
    """Read by pypdf: the page in points, and strokes of 100 mm (check), 62 mm and 48 mm (room) on it."""
    sheets = scaled_sheets([room(3.1, 2.4)], 50.0, paper, BLOCK)
    data = plan_pdf(sheets, "Plan", (str(FONT_FOLDER),))
    page = pypdf.PdfReader(io.BytesIO(data)).pages[0]
    size = (float(page.mediabox.width) / POINTS_MM, float(page.mediabox.height) / POINTS_MM)
    assert sorted(size) == pytest.approx(sorted(SIZES_MM[paper]), abs=0.05)
    lengths = drawn_lengths(page)
    for wanted in (100.0, 62.0, 48.0):
        assert any(abs(length - wanted) < 0.02 for length in lengths), wanted
    assert plan_pdf(sheets, "Plan", (str(FONT_FOLDER),)) == data
