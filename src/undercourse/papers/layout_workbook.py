"""A layout as a workbook with live formulas: areas, what to buy, cut list, rolls."""

from __future__ import annotations

import datetime as dt
import io
from collections.abc import Mapping, Sequence
from typing import Any

import xlsxwriter

from undercourse.papers.layout_shapes import split_layouts
from undercourse.papers.workbook import (
    INCH_M,
    SQUARE_FOOT_M2,
    BookPage,
    cell_at,
    make_formats,
    write_cuts,
    write_rolls,
)

FOOT_M = 12 * INCH_M

_AREA_SIZES = (
    ("Net area, m²", "net_area_m2"),
    ("Covered by strips, m²", ""),
    ("Seams with head joints, m", "seam_length_m"),
    ("Head joints among them, m", "head_joint_length_m"),
    ("Edges, m", "edge_length_m"),
    ("Inside corners", "inside_corners"),
    ("Outside corners", "outside_corners"),
    ("Strips", ""),
    ("Pieces", ""),
    ("Movement joints, m", ""),
    ("Soft joints at edges and doors, m", ""),
    ("Heating cable, m", ""),
)
NET, SEAMS, EDGES, JOINTS, SOFT = 1, 3, 5, 10, 11

ALLOWANCES = {"seam": 0.05, "edge": 0.05, "joint": 0.10}
"""For laps and cuts of tape and band, and for waste of sealant: common practice, no source."""


def layout_workbook(document: Mapping[str, Any], *, name: str = "Layout") -> bytes:
    """Sizes, quantities, cut list and rolls of a layout; the same for the same input.

    Parameters
    ----------
    document : mapping
        A layout as ``layout --json`` gives it.
    name : str
        Name of the job or plan, for the file's properties.
    """
    target = io.BytesIO()
    book = xlsxwriter.Workbook(target, {"in_memory": True, "strings_to_formulas": False})
    book.set_properties(
        {"title": f"Cut list and quantities: {name}"[:255], "created": dt.datetime(2000, 1, 1)}
    )
    formats = make_formats(book)
    areas, buying, cuts, rolls = (
        BookPage(title, book.add_worksheet(title), formats)
        for title in ("Areas", "Quantities", "Cut list", "Rolls")
    )
    layouts = split_layouts(document)
    total = _write_areas(areas, document)
    write_cuts(cuts, layouts)
    write_rolls(rolls, layouts)
    _write_quantities(buying, areas, total, document)
    book.close()
    return target.getvalue()


def _write_areas(page: BookPage, document: Mapping[str, Any]) -> int:
    """Sizes of every area and their sums; returns the row of the sums."""
    names = ["Area", *(name for name, _ in _AREA_SIZES), "Net area, sq ft", "Seams, ft", "Edges, ft"]
    page.heads(0, names, [30, *([12] * (len(names) - 1))])
    end = len(_AREA_SIZES) + 1
    for row, area in enumerate(document["areas"], 1):
        page.text(row, 0, area["name"], "name")
        pieces = [piece for piece in document["pieces"] if piece["area"] == area["name"]]
        joints, cable = area.get("movement_joints") or {}, area.get("heating_cable") or {}
        other = {
            "Covered by strips, m²": sum(_ring_area(strip["outline"]) for strip in area["strips"]),
            "Strips": len(area["strips"]),
            "Pieces": len(pieces),
            "Movement joints, m": joints.get("joint_length_m", 0.0),
            "Soft joints at edges and doors, m": joints.get("doorway_length_m", 0.0)
            + joints.get("edge_length_m", 0.0),
            "Heating cable, m": sum(one["length_m"] for one in cable.get("circuits") or ()),
        }
        for column, (title, key) in enumerate(_AREA_SIZES, 1):
            value = float(area[key] if key else other[title])
            whole = title in ("Strips", "Pieces", "Inside corners", "Outside corners")
            page.number(row, column, value, "whole" if whole else "input")
        for offset, (source, unit) in enumerate(((NET, SQUARE_FOOT_M2), (SEAMS, FOOT_M), (EDGES, FOOT_M))):
            value = float(page.values[row, source]) / unit
            page.formula(row, end + offset, f"={cell_at(row, source)}/{unit!r}", value)
    last = len(document["areas"])
    page.text(last + 1, 0, "Together", "total")
    for column in range(1, len(names)):
        if last:
            page.column_sum(last + 1, column, 1, last)
        else:
            page.number(last + 1, column, 0.0)
    return last + 1


def _ring_area(ring: Sequence[Sequence[float]]) -> float:
    """Area within a ring by the surveyor's formula. [m2]"""
    pairs = zip(ring, [*ring[1:], ring[0]], strict=True)
    return abs(sum(a[0] * b[1] - b[0] * a[1] for a, b in pairs)) / 2


def _write_quantities(page: BookPage, areas: BookPage, total: int, document: Mapping[str, Any]) -> None:
    """What the sizes come to: measured, allowance, need, in both units; rolls with their price; kits."""
    names = ["What", "Measured", "Allowance", "Need", "Unit", "Need, other unit", "Unit", "Note"]
    page.heads(0, names, [34, 12, 11, 12, 9, 14, 9, 60])
    row = 1
    lines: list[tuple[str, tuple[int, ...], float, str]] = [
        ("Sheet on the floor", (NET,), 0.0, "net; what is cut from rolls and the waste are under Rolls"),
        ("Seam tape", (SEAMS,), ALLOWANCES["seam"], "only where the sheet's seams are taped"),
        ("Edge band on wall and floor", (EDGES,), ALLOWANCES["edge"], "only where edges are sealed"),
    ]
    if any(area.get("movement_joints") for area in document["areas"]):
        note = "joints in the field, at doorways, walls and fixed parts"
        lines.append(("Soft joints with backing rod", (JOINTS, SOFT), ALLOWANCES["joint"], note))
    for what, columns, share, note in lines:
        cells = "+".join(f"Areas!{cell_at(total, column)}" for column in columns)
        measured = sum(float(areas.values[total, column]) for column in columns)
        page.text(row, 0, what)
        page.formula(row, 1, f"={cells}", measured, "long")
        page.number(row, 2, share, "given share")
        need = measured * (1 + share)
        page.formula(row, 3, f"={cell_at(row, 1)}*(1+{cell_at(row, 2)})", need, "long")
        square = columns == (NET,)
        unit = SQUARE_FOOT_M2 if square else FOOT_M
        page.text(row, 4, "m²" if square else "m")
        page.formula(row, 5, f"={cell_at(row, 3)}/{unit!r}", need / unit, "long")
        page.text(row, 6, "sq ft" if square else "ft")
        page.text(row, 7, note)
        row += 1
    row = _write_sealant(page, row, document)
    kits: dict[str, int] = {}
    for area in document["areas"]:
        for one in (area.get("heating_cable") or {}).get("circuits") or ():
            kits[one["item_number"]] = kits.get(one["item_number"], 0) + 1
    for kit, count in sorted(kits.items()):
        page.text(row, 0, f"Heating cable kit {kit}")
        page.number(row, 3, float(count), "whole")
        page.text(row, 4, "pieces")
        page.text(row, 7, "sold by length, never cut")
        row += 1
    page.text(row + 1, 0, "Numbers in italics are given: change them and the rest follows.", "name")


def _write_sealant(page: BookPage, row: int, document: Mapping[str, Any]) -> int:
    """Sealant of each area, from the width and depth of its joints, which may be changed."""
    for area in document["areas"]:
        joints = area.get("movement_joints")
        if not joints:
            continue
        length = joints["joint_length_m"] + joints["doorway_length_m"] + joints["edge_length_m"]
        page.text(row, 0, f"Sealant, {area['name']}")
        section = float(joints["width_m"]) * float(joints["sealant_depth_m"]) * 1000
        page.number(row, 1, float(length), "input")
        page.number(row, 2, ALLOWANCES["joint"], "given share")
        need = length * section * (1 + ALLOWANCES["joint"])
        formula = f"={cell_at(row, 1)}*{joints['width_m']!r}*{joints['sealant_depth_m']!r}*1000"
        page.formula(row, 3, f"{formula}*(1+{cell_at(row, 2)})", need, "long")
        page.text(row, 4, "l")
        page.formula(row, 5, f"={cell_at(row, 3)}/0.0295735296", need / 0.0295735296, "long")
        page.text(row, 6, "fl oz")
        wide, deep = float(joints["width_m"]) * 1000, float(joints["sealant_depth_m"]) * 1000
        page.text(row, 7, f"measured in m; joints {wide:.1f} mm wide, sealant {deep:.1f} mm deep")
        row += 1
    return row
