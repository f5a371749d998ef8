"""What holds for every drawing: sound SVG, same bytes, standard scales and widths, room for words."""

from __future__ import annotations

import os
import re
import subprocess
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from drawings.marks import NS, outside, overlaps, parse, paths, words
from papers.fixtures import BATH, ENTRY, LAYERS, LAYOUT, ROOM
from undercourse.drawings import Sheet, TitleBlock, draw_cut_map, draw_plan, draw_section, draw_shares, to_svg
from undercourse.drawings.sheet import PENS, SCALES, choose_scale, scale_text, spread_tops

TESTS = str(Path(__file__).resolve().parent.parent)
BLOCK = TitleBlock("Alder Lane 14 & <Sons>", "Bath", "2026.3", "2026-11-25", "97144ed54f67")
AREA = {**LAYOUT["areas"][0], **ROOM}
DRAWINGS: dict[str, Callable[[], Sheet]] = {
    "section": lambda: draw_section(LAYERS, BLOCK),
    "section of ranges": lambda: draw_section(ENTRY["candidates"][0]["layers"], BLOCK),
    "section of nothing": lambda: draw_section([], BLOCK),
    "plan": lambda: draw_plan(AREA, LAYOUT["pieces"], BLOCK),
    "plan of nothing": lambda: draw_plan({}, [], BLOCK),
    "cut map": lambda: draw_cut_map(LAYOUT, BLOCK),
    "cut map of nothing": lambda: draw_cut_map({}, BLOCK),
    "shares": lambda: draw_shares(BATH["candidates"][0]["findings"], "joist_total_deflection", BLOCK),
    "shares of nothing": lambda: draw_shares([], None, BLOCK),
}
drawn = pytest.mark.parametrize("draw", list(DRAWINGS.values()), ids=list(DRAWINGS))


@drawn
def test_svg_is_well_formed_named_and_safe(draw: Callable[[], Sheet]) -> None:
    """WCAG 1.1.1 (W3C): an image has a text alternative; CSP level 3 (W3C): nothing inline to block."""
    root = parse(draw())
    assert root.tag == f"{NS}svg"
    assert root.get("role") == "img"
    assert [child.tag for child in list(root)[:2]] == [f"{NS}title", f"{NS}desc"]
    assert all(child.text for child in list(root)[:2])
    for element in root.iter():
        assert element.tag.removeprefix(NS) in {"svg", "title", "desc", "path", "circle", "text"}
        for name, value in element.attrib.items():
            assert not name.startswith("on")
            assert name not in {"style", "id", "href"}
            assert "url(" not in value


@drawn
def test_same_sheet_gives_same_bytes(draw: Callable[[], Sheet]) -> None:
    """Papers are hashed and given again years later."""
    assert to_svg(draw()) == to_svg(draw())


def test_bytes_do_not_depend_on_the_hash_seed() -> None:
    """Sets and dicts of strings must not leak their order into a drawing."""
    program = (
        f"import sys, hashlib; sys.path.insert(0, {TESTS!r}); from drawings.test_sheets import DRAWINGS;"
        "from undercourse.drawings import to_svg;"
        "print(hashlib.sha256(b''.join(to_svg(d()) for d in DRAWINGS.values())).hexdigest())"
    )
    seen = {
        subprocess.run(
            [sys.executable, "-c", program],
            env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True,
            check=True,
            text=True,
        ).stdout
        for seed in ("1", "2")
    }
    assert len(seen) == 1


@drawn
def test_no_words_overlap_or_leave_the_sheet(draw: Callable[[], Sheet]) -> None:
    """Boxes by the advance widths of the shipped face."""
    sheet = draw()
    assert overlaps(sheet) == []
    assert outside(sheet) == []


@drawn
def test_title_block_holds_job_area_revision_date_and_hash(draw: Callable[[], Sheet]) -> None:
    """A sheet that falls out of its file can be put back."""
    text = " ".join(words(draw()))
    for part in ("Alder Lane 14 & <Sons>", "Bath", "2026.3", "2026-11-25", "97144ed5"):
        assert part in text


@drawn
def test_drawing_survives_grey_print(draw: Callable[[], Sheet]) -> None:
    """Only ink in shades, paper, and nothing that a hue would have to tell apart."""
    svg = to_svg(draw()).decode()
    assert set(re.findall(r"#[0-9a-fA-F]{3,8}", svg)) <= {"#23272b", "#ffffff"}


def test_scales_are_those_of_iso_5455() -> None:
    """ISO 5455:1979, clause 5: 1, 2 and 5 times a power of ten (kind = memory)."""
    printed = ["50 : 1", "20 : 1", "10 : 1", "5 : 1", "2 : 1", "1 : 1", "1 : 2", "1 : 5", "1 : 10", "1 : 20"]
    printed += ["1 : 50", "1 : 100", "1 : 200", "1 : 500", "1 : 1000", "1 : 2000", "1 : 5000", "1 : 10000"]
    own = [scale_text(scale) for scale in SCALES]
    start = own.index("50 : 1")
    assert own[start : start + len(printed)] == printed
    assert choose_scale(4.9, 1.0, 100.0, 100.0) == 50
    assert choose_scale(5.1, 1.0, 100.0, 100.0) == 100


def test_line_widths_are_those_of_iso_128() -> None:
    """ISO 128-2:2020, line widths: a series with the ratio of the square root of two (kind = memory)."""
    series = {0.13, 0.18, 0.25, 0.35, 0.5, 0.7, 1.0, 1.4, 2.0}
    assert set(PENS.values()) - {0.0} <= series
    assert PENS["wide"] == 2 * PENS["narrow"]


def test_scale_bar_is_true() -> None:
    """Four equal fields of a round length at the sheet's scale."""
    sheet = draw_plan(AREA, LAYOUT["pieces"], BLOCK)
    fields = paths(sheet, "scale-bar")
    assert len(fields) == 4
    assert sheet.scale == 50
    for field in fields:
        xs = [x for x, _ in field]
        assert (max(xs) - min(xs)) * 50 / 1000 == pytest.approx(0.5)
    assert {"0.5", "1", "1.5", "2"} <= set(words(sheet))


def test_spread_blocks_keep_order_and_do_not_touch() -> None:
    """Names beside a drawing: nearest place without overlap."""
    heights = [9.0, 9.0, 4.0, 9.0]
    tops = spread_tops([10.0, 10.5, 11.0, 60.0], heights, 0.0, 100.0)
    assert tops == sorted(tops)
    for top, height, following in zip(tops, heights, tops[1:], strict=False):
        assert top + height <= following + 1e-9
    assert tops[3] == 60.0
    assert min(tops) >= 0.0
