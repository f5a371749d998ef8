"""A layout on paper: plans to a stated scale, joints, cable, dry-fit sheets and cut maps; as PDF or SVG."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable, Iterator, Mapping
from dataclasses import dataclass, replace
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.drawings import (
    Sheet,
    TitleBlock,
    draw_cable_plan,
    draw_cut_maps,
    draw_dry_fit,
    draw_joint_plan,
    draw_plan,
    draw_shaped_pieces,
    stack_svg,
    to_svg,
)
from undercourse.drawings.floors import PaperRoom
from undercourse.drawings.sheet import scale_text
from undercourse.papers.characters import breakable_all, settable
from undercourse.papers.layout_shapes import split_layouts
from undercourse.papers.typesetting import PaperAssets, set_pdf

PAPERS: dict[str, tuple[float, float]] = {
    "us-letter": (215.9, 279.4),
    "us-tabloid": (279.4, 431.8),
    "a4": (210.0, 297.0),
    "a3": (297.0, 420.0),
}
"""Papers upright, width by height: ANSI/ASME Y14.1 sizes A and B, ISO 216 (from memory). [mm]"""

MARGIN_MM, FOOT_MM = 15.0, 10.0
MOST_TRIES = 6


@dataclass(frozen=True)
class LayoutPaper:
    """Paper and scale; without a scale each floor is drawn as large as the paper allows.

    Parameters
    ----------
    name : str
        One of `PAPERS`.
    scale : float, optional
        50.0 stands for 1 : 50. The plans of floors, of joints and of cable keep it; parts, single pieces
        and rolls state their own.
    """

    name: str = "us-letter"
    scale: float | None = None


@dataclass(frozen=True)
class PaperSheet:
    """One drawing on its page. [mm]"""

    drawing: Sheet
    wide_mm: float
    high_mm: float


def read_scale(text: str) -> float:
    """The scale written as ``1:50`` or ``50``.

    Raises
    ------
    Problems
        When it is no scale from 1 : 1 to 1 : 2000.
    """
    first, _, last = text.replace(" ", "").rpartition(":")
    try:
        scale = float(last) / float(first or "1")
    except (ValueError, ZeroDivisionError):
        scale = 0.0
    if not 1.0 <= scale <= 2000.0:
        raise Problems([Problem("scale", f'"{text}" is no scale from 1:1 to 1:2000', 'write it as "1:50"')])
    return scale


def paper_sheets(
    document: Mapping[str, Any],
    rooms: Mapping[str, Mapping[str, Any]],
    *,
    paper: LayoutPaper | None = None,
    job: str = "",
) -> list[PaperSheet]:
    """Every drawing of a layout in the order it is laid: each area, then the rolls.

    Parameters
    ----------
    document : mapping
        A layout as ``layout --json`` gives it.
    rooms : mapping
        Name of an area to its ``outline``, ``obstacles`` and ``doors`` in meters.
    paper : LayoutPaper, optional
        Paper and scale; us-letter by default.
    job : str
        What the title blocks name as the job.

    Raises
    ------
    Problems
        For an unknown paper, and for areas that do not fit on it at the scale.
    """
    paper = paper or LayoutPaper()
    if paper.name not in PAPERS:
        fix = f"use one of {', '.join(PAPERS)}"
        raise Problems([Problem("paper", f'"{paper.name}" is not a size of paper known here', fix)])
    whole: dict[str, Any] = settable(dict(document))
    block = TitleBlock(job, hash=_digest(whole))
    found: list[PaperSheet] = []
    problems: list[Problem] = []
    for area in whole["areas"]:
        room = settable(dict(rooms.get(area["name"]) or {}))
        try:
            found += _area_sheets(area, room, whole["pieces"], replace(block, area=str(area["name"])), paper)
        except Problems as error:
            problems += [replace(one, where=f"{area['name']}, {one.where}") for one in error.problems]
    if problems:
        raise Problems(problems)
    wide, high = PAPERS[paper.name]
    inner = wide - 2 * MARGIN_MM
    tallest = high - 2 * MARGIN_MM - FOOT_MM
    for layout in split_layouts(whole):
        if layout["pieces"]:
            maps = draw_cut_maps(layout, block, width_mm=inner, tallest_mm=tallest)
            found += [PaperSheet(one, wide, high) for one in maps]
    return found


def layout_pdf(
    document: Mapping[str, Any],
    rooms: Mapping[str, Mapping[str, Any]],
    *,
    assets: PaperAssets,
    paper: LayoutPaper | None = None,
    job: str = "",
    timestamp: int = 0,
) -> bytes:
    """The drawings as a PDF, one on a page in true size, each with a line of 100 mm to check the print by.

    Parameters and errors are those of `paper_sheets`; ``assets`` hold the template and the fonts,
    ``timestamp`` is the PDF's own date in seconds since 1970: an input, never the clock.
    """
    pages = [
        {
            "wide": one.wide_mm,
            "high": one.high_mm,
            "svg": to_svg(one.drawing).decode(),
            "alt": one.drawing.description,
            "title": one.drawing.title,
            "sheet": one.drawing.width,
        }
        for one in paper_sheets(document, rooms, paper=paper, job=job)
    ]
    if not pages:
        raise Problems([Problem("layout", "there is nothing to draw", "lay at least one area")])
    data = {"job": job or "Layout", "margin": MARGIN_MM, "foot": FOOT_MM, "pages": pages}
    return set_pdf(assets, breakable_all(settable(data)), timestamp=timestamp, page="us-letter")


def layout_svg(
    document: Mapping[str, Any],
    rooms: Mapping[str, Mapping[str, Any]],
    *,
    paper: LayoutPaper | None = None,
    job: str = "",
) -> bytes:
    """The same drawings one under another in one SVG of true size."""
    sheets = [one.drawing for one in paper_sheets(document, rooms, paper=paper, job=job)]
    if not sheets:
        raise Problems([Problem("layout", "there is nothing to draw", "lay at least one area")])
    return stack_svg(sheets, job or "Layout")


def _area_sheets(
    area: dict[str, Any],
    room: dict[str, Any],
    pieces: list[dict[str, Any]],
    block: TitleBlock,
    paper: LayoutPaper,
) -> Iterator[PaperSheet]:
    """Plan of sheets, joints where there are any, cable where there is any, dry-fit sheets."""
    placed = {**area, **room}
    joints, cable = area.get("movement_joints"), area.get("heating_cable")
    yield fit_sheet(lambda own: draw_plan(placed, pieces, block, paper=own), paper)
    if joints and joints["joints"]:
        bare = {"name": area["name"], **room}
        yield fit_sheet(lambda own: draw_joint_plan(bare, joints, block, paper=own), paper)
    if cable and cable["circuits"]:
        bare = {"name": area["name"], **room}
        yield fit_sheet(lambda own: draw_cable_plan(bare, cable, joints, block, paper=own), paper)
    wide, high = PAPERS[paper.name]
    inner, tallest = wide - 2 * MARGIN_MM, high - 2 * MARGIN_MM - FOOT_MM
    if any(piece["area"] == area["name"] for piece in pieces):
        for one in draw_dry_fit(placed, pieces, block, width_mm=inner, tallest_mm=tallest):
            yield PaperSheet(one, wide, high)
        for one in draw_shaped_pieces(placed, pieces, block, width_mm=inner, tallest_mm=tallest):
            yield PaperSheet(one, wide, high)


def fit_sheet(draw: Callable[[PaperRoom], Sheet], paper: LayoutPaper) -> PaperSheet:
    """Draw at the held scale, or the largest that fits, on the paper upright or across.

    Raises
    ------
    Problems
        When the held scale does not fit; the fix names the largest scale that does.
    """
    found = _best(draw, paper.name, paper.scale)
    if found is None and paper.scale is not None:
        what = f"{scale_text(paper.scale)} does not fit on {paper.name}"
        larger = [name for name in PAPERS if _best(draw, name, paper.scale) is not None]
        fit = _best(draw, paper.name, None)
        ways = [f"use {scale_text(fit.drawing.scale)}"] if fit is not None and fit.drawing.scale else []
        ways += [f"paper {larger[0]}"] if larger else []
        raise Problems([Problem("scale", what, " or ".join(ways) or "print this area in parts")])
    if found is None:
        what = f"the drawing does not fit on {paper.name} at any scale"
        raise Problems([Problem("paper", what, "choose a larger paper")])
    return found


def _best(draw: Callable[[PaperRoom], Sheet], name: str, scale: float | None) -> PaperSheet | None:
    """The larger of upright and across; upright where both are the same."""
    tries = [_on_page(draw, wide, high, scale) for wide, high in (PAPERS[name], PAPERS[name][::-1])]
    fits = [one for one in tries if one is not None]
    return min(fits, key=lambda one: one.drawing.scale or 1.0, default=None)


def _on_page(
    draw: Callable[[PaperRoom], Sheet], wide: float, high: float, scale: float | None
) -> PaperSheet | None:
    inner, room = wide - 2 * MARGIN_MM, high - 2 * MARGIN_MM - FOOT_MM
    tallest = room - 20.0
    for _ in range(MOST_TRIES):
        try:
            sheet = draw(PaperRoom(inner, tallest, scale))
        except Problems:
            return None
        if sheet.height <= room + 1e-6:
            return PaperSheet(sheet, wide, high)
        if scale is not None:
            return None
        tallest -= max(2.0, sheet.height - room)
        if tallest < 20.0:
            return None
    return None


def _digest(document: Mapping[str, Any]) -> str:
    """The hash by which the sheets of one layout are known to belong together: SHA-256 of its JSON."""
    text = json.dumps(document, sort_keys=True, ensure_ascii=True, default=str)
    return hashlib.sha256(text.encode()).hexdigest()
