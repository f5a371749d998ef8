"""Layouts written as files for other programs; the ending of the name tells which."""

from __future__ import annotations

import json
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING, Any

from undercourse.base.problems import Problem, Problems
from undercourse.files.areas import rings_of
from undercourse.files.plan_parts import PlanArea, Point
from undercourse.files.writing import write_whole

if TYPE_CHECKING:
    from undercourse.papers.layout_sheets import LayoutPaper

ENDINGS = (".dxf", ".geojson", ".json", ".pdf", ".svg", ".xlsx")


def check_target(path: Path) -> None:
    """Refuse a file that no layout is written as, before any work is done."""
    if path.suffix.lower() not in ENDINGS:
        what = f'a layout is not written as "{path.suffix or path.name}"'
        raise Problems([Problem(str(path), what, f"let the name end in one of {', '.join(ENDINGS)}")])


def write_layout(
    path: Path,
    document: Mapping[str, Any],
    rooms: Mapping[str, Mapping[str, Any]],
    *,
    unit: str = "mm",
    moved_m: Point = (0.0, 0.0),
    paper: LayoutPaper | None = None,
    job: str = "",
) -> None:
    """Write a layout whole or not at all.

    Parameters
    ----------
    document : mapping
        A layout as ``layout --json`` gives it.
    rooms : mapping
        Name of an area to its ``outline``, ``obstacles`` and ``doors`` in meters, and ``storey``.
    unit : str
        Unit of a drawing.
    moved_m : pair
        What was added to the plan's coordinates when it was read.
    paper : LayoutPaper, optional
        Paper and scale of a PDF or SVG.
    job : str
        What title blocks and the workbook name as the job.

    Raises
    ------
    Problems
        When the ending is not known, a scale does not fit or the file cannot be written.
    """
    check_target(path)
    ending = path.suffix.lower()
    if ending == ".dxf":
        from undercourse.papers.layout_dxf import layout_dxf

        data = layout_dxf(document, rooms, unit=unit, moved_m=moved_m)
    elif ending == ".geojson":
        from undercourse.papers.layout_geojson import layout_geojson

        data = layout_geojson(document, rooms, moved_m=moved_m)
    elif ending == ".pdf":
        from undercourse.files.paper_assets import load_paper_assets
        from undercourse.papers.layout_sheets import layout_pdf

        assets = load_paper_assets("layout_sheets.typ")
        data = layout_pdf(document, rooms, assets=assets, paper=paper, job=job)
    elif ending == ".svg":
        from undercourse.papers.layout_sheets import layout_svg

        data = layout_svg(document, rooms, paper=paper, job=job)
    elif ending == ".xlsx":
        from undercourse.papers.layout_workbook import layout_workbook

        data = layout_workbook(document, name=job or "Layout")
    else:
        data = (json.dumps(document, ensure_ascii=False, indent=2) + "\n").encode("utf-8")
    write_whole(path, data)


def plan_rooms(areas: list[PlanArea]) -> dict[str, dict[str, Any]]:
    """Outline, obstacles and doors of areas out of a plan, by name."""
    found = {}
    for area in areas:
        outline, holes = rings_of(area.polygon)
        found[area.name] = {
            "outline": [list(point) for point in outline],
            "obstacles": [[list(point) for point in ring] for ring in holes],
            "doors": [[list(point) for point in line] for line in area.doors],
            "storey": area.storey,
        }
    return found
