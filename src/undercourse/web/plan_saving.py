"""What was laid on the page as files to take away."""

from __future__ import annotations

import csv
import datetime as dt
import hashlib
import io
import json
import re
from collections.abc import Mapping
from typing import Any

from fastapi import Response

from undercourse.base.problems import Problem, Problems
from undercourse.drawings import TitleBlock
from undercourse.drawings.scaled_plan import PAPERS, SCALES, PlanShapes, scaled_sheets
from undercourse.files.paper_assets import FONT_FOLDER, load_paper_assets
from undercourse.judge.rulebook import Rulebook
from undercourse.papers.layout_dxf import UNITS as DRAWING_UNITS
from undercourse.papers.layout_dxf import layout_dxf
from undercourse.papers.layout_geojson import layout_geojson
from undercourse.papers.layout_sheets import LayoutPaper, layout_pdf
from undercourse.papers.layout_workbook import layout_workbook
from undercourse.papers.plan_sheets import plan_pdf
from undercourse.web.plan_picture import cable_lines, moved_area, moved_by, spread
from undercourse.web.plan_views import PlanPage

TYPES = {
    "dxf": "image/vnd.dxf",
    "geojson": "application/geo+json",
    "json": "application/json",
    "xlsx": "application/vnd.openxmlformats-officedocument.spreadsheetml.sheet",
    "csv": "text/csv; charset=utf-8",
    "pdf": "application/pdf",
    "sheets": "application/pdf",
}
INCH_M = 0.0254


def save_plan(
    kind: str, page: PlanPage, told: Mapping[str, str], book: Rulebook, today: dt.date
) -> Response:
    """One file.

    Parameters
    ----------
    kind : {"dxf", "geojson", "json", "xlsx", "csv", "pdf", "sheets"}
        What it is.
    told : mapping
        For the PDF: ``scale``, ``paper``, ``what`` ("hand" or "all") and which layers to show.

    Raises
    ------
    Problems
        For another kind, and for a plan that the paper cannot hold.
    """
    plan, layout = page.plan, page.layout
    assert plan is not None and layout is not None
    names = {area["name"] for area in layout["areas"]}
    rooms = {area["name"]: area for area in plan["areas"] if area["name"] in names}
    product = book.line.products.get(page.entry.product)
    if product is not None:
        layout["product"] = {"id": product.id, "name": product.name}
    moved = (float(plan["moved_m"][0]), float(plan["moved_m"][1]))
    drawn = _with_joints(layout, page.marks)
    if kind == "dxf":
        unit = plan["unit"] if plan["unit"] in DRAWING_UNITS else "mm"
        data = layout_dxf(drawn, rooms, unit=unit, moved_m=moved)
    elif kind == "geojson":
        data = layout_geojson(drawn, rooms, moved_m=moved)
    elif kind == "json":
        data = (json.dumps(layout, ensure_ascii=False, indent=1) + "\n").encode()
    elif kind == "xlsx":
        data = layout_workbook(drawn, name=plan["file"])
    elif kind == "csv":
        data = cut_list(layout)
    elif kind == "pdf":
        data = _pdf(page, told, book, today)
    elif kind == "sheets":
        assets = load_paper_assets("layout_sheets.typ")
        data = layout_pdf(drawn, rooms, assets=assets, paper=_paper(told["paper"]), job=plan["file"])
    else:
        raise Problems([Problem("save", f'nothing is written as "{kind}"', f"use one of {', '.join(TYPES)}")])
    name = re.sub(r"[^a-z0-9]+", "-", plan["file"].rpartition(".")[0].lower() or plan["file"].lower())
    name = name.strip("-")[:60] or "plan"
    word = {"csv": "cut-list", "pdf": "plan", "sheets": "sheets"}.get(kind, "layout")
    ending = "pdf" if kind == "sheets" else kind
    head = {"content-disposition": f'attachment; filename="{name}-{word}.{ending}"'}
    return Response(data, media_type=TYPES[kind], headers=head)


def _with_joints(layout: Mapping[str, Any], marks: Mapping[str, Any]) -> dict[str, Any]:
    """The layout with movement joints and cable, as drawings take them."""
    areas = []
    for area in layout["areas"]:
        own = marks.get(area["name"]) or {}
        joints = own.get("joints") or {}
        # Those that could not be worked out hold nothing but the reason.
        joints = joints if "width_m" in joints else None
        areas.append({**area, "movement_joints": joints, "heating_cable": own.get("cable")})
    return {**layout, "areas": areas}


def _paper(name: str) -> LayoutPaper:
    return LayoutPaper({"letter": "us-letter", "tabloid": "us-tabloid"}.get(name, name))


def cut_list(layout: Mapping[str, Any]) -> bytes:
    """The cut list as CSV, roll by roll from its free end, in both systems."""
    out = io.StringIO()
    table = csv.writer(out)
    heads = ["Roll", "Piece", "Area", "Strip", "Length, mm", "Width, mm", "From the free end, mm"]
    table.writerow([*heads, "Across the roll, mm", "Length, in", "Width, in", "From the free end, in"])
    for piece in sorted(layout["pieces"], key=lambda one: (one["roll"], one["at"], one["id"])):
        sizes = [piece["length_m"], piece["width_m"], *piece["at"]]
        metric = [f"{size * 1000:.1f}" for size in sizes]
        inches = [f"{size / INCH_M:.3f}" for size in sizes[:3]]
        area = str(piece["area"])
        # A table program would take such a name for a formula.
        area = f"'{area}" if area[:1] in ("=", "+", "-", "@", "\t", "\r") else area
        table.writerow([piece["roll"], piece["id"], area, piece["strip"], *metric, *inches])
    return b"\xef\xbb\xbf" + out.getvalue().encode("utf-8")


def _pdf(page: PlanPage, told: Mapping[str, str], book: Rulebook, today: dt.date) -> bytes:
    plan, layout = page.plan, page.layout
    assert plan is not None and layout is not None
    try:
        scale = float(told["scale"] or 50)
    except ValueError:
        scale = 0.0
    if scale not in SCALES or told["paper"] not in PAPERS:
        fix = "choose 1:20, 1:50 or 1:100 on A4, A3, Letter or Tabloid"
        raise Problems([Problem("print", "there is no such scale or paper", fix)])
    rooms = {area["name"]: area for area in plan["areas"]}
    areas = layout["areas"]
    if told["what"] == "hand":
        areas = [area for area in areas if area["name"] == page.entry.at] or areas
    areas = [area for area in areas if area["name"] in rooms]
    moves = spread([rooms[area["name"]] for area in areas])
    shapes = [_shapes(area, rooms[area["name"]], page, told, moves[area["name"]]) for area in areas]
    digest = hashlib.sha256(json.dumps(layout, sort_keys=True).encode()).hexdigest()
    names = areas[0]["name"] if len(areas) == 1 else f"{len(areas)} areas"
    block = TitleBlock(plan["file"], names, str(book.basis["line"]["revision"]), today.isoformat(), digest)
    sheets = scaled_sheets(shapes, scale, told["paper"], block, labels=bool(told["show_labels"]))
    stamp = int(dt.datetime(today.year, today.month, today.day, tzinfo=dt.UTC).timestamp())
    return plan_pdf(sheets, f"Plan of sheets: {plan['file']}", (str(FONT_FOLDER),), stamp)


def _shapes(
    area: Mapping[str, Any],
    room: Mapping[str, Any],
    page: PlanPage,
    told: Mapping[str, str],
    move: tuple[float, float],
) -> PlanShapes:
    """What is printed of an area, where it is drawn."""
    assert page.layout is not None
    one = page.marks.get(area["name"]) or {}
    joints = (one.get("joints") or {}) if told["show_joints"] else {}
    cable = cable_lines(one.get("cable") or {}) if told["show_cable"] else []
    chalk = area["chalk_line"]
    if chalk:
        start, end = moved_by([chalk["start"], chalk["end"]], move)
        chalk = {**chalk, "start": start, "end": end}
    placed = moved_area(room, move)
    pieces = [p for p in page.layout["pieces"] if p["area"] == area["name"]]
    return PlanShapes(
        area["name"],
        placed["outline"],
        placed["obstacles"],
        placed["doors"],
        [(piece["id"], moved_by(piece["outline"], move)) for piece in pieces],
        chalk,
        [moved_by(joint["line"], move) for joint in joints.get("joints", ())],
        [moved_by(line, move) for line in joints.get("doorways", ())],
        [moved_by(line, move) for line in cable],
    )
