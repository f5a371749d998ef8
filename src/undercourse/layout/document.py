"""A layout as one JSON document."""

from __future__ import annotations

from typing import Any

from shapely import Polygon
from shapely.geometry.polygon import orient

from undercourse.layout.marks import ChalkLine
from undercourse.layout.results import AreaLayout, Layout, Piece


def layout_document(result: Layout) -> dict[str, Any]:
    """Write a layout as plain dicts, lists, strings and numbers; lengths in metres, areas in m2.

    ``at`` is the place of a piece's first corner on its roll, [along, across]; a piece reaches from there
    ``length_m`` along and ``width_m`` across. Rolls count from 1, in the order of ``roll_plan``.
    ``roll_bound`` is proven for any layout under the sheet's rules; ``bounds`` hold it beside the bound for
    these very strips and their head joints.
    """
    return {
        "areas": [_area(area) for area in result.areas],
        "pieces": [_piece(piece) for piece in result.pieces],
        "rolls": len(result.rolls),
        "roll_bound": result.rolls_any_layout,
        "roll_plan": [
            {
                "roll": number,
                "length_m": roll.length_m,
                "used_m": round(roll.used_m, 4),
                "price": roll.price,
                "on_site": roll.on_site,
            }
            for number, roll in enumerate(result.rolls, start=1)
        ],
        "offcuts": [
            {
                "roll": offcut.roll,
                "width_m": round(offcut.width_m, 4),
                "length_m": round(offcut.length_m, 4),
                "at": [round(value, 4) for value in offcut.at_m],
            }
            for offcut in result.offcuts
        ],
        "consumed_area_m2": round(result.consumed_area_m2, 6),
        "net_area_m2": round(result.net_area_m2, 6),
        "waste": round(result.waste, 6),
        "objective": round(result.objective, 6),
        "objective_terms": {name: round(value, 6) for name, value in result.objective_terms.items()},
        "bounds": {
            "any_layout": result.rolls_any_layout,
            "these_strips": result.rolls_these_strips,
            "any_layout_m2": round(result.sheet_any_layout_m2, 6),
            "these_strips_m2": round(result.sheet_these_strips_m2, 6),
            "objective": round(result.least_objective, 6),
        },
        "uncovered": [
            {"area": problem.where, "why": problem.what, "fix": problem.fix} for problem in result.uncovered
        ],
    }


def _points(polygon: Polygon) -> list[list[float]]:
    """Corners counter-clockwise, the first not repeated."""
    return [[round(x, 6), round(y, 6)] for x, y in orient(polygon).exterior.coords[:-1]]


def _area(area: AreaLayout) -> dict[str, Any]:
    return {
        "name": area.name,
        "net_area_m2": round(area.net_area_m2, 6),
        "direction_deg": round(area.direction_deg, 6),
        "start_m": round(area.start_m, 6),
        "strip_width_m": round(area.strip_width_m, 6),
        "strips": [
            {
                "id": strip.id,
                "outline": _points(strip.outline),
                "pieces": list(strip.piece_ids),
                "direction_deg": round(strip.direction_deg, 6),
                "across": strip.across,
            }
            for strip in area.strips
        ],
        "seam_length_m": round(area.seam_length_m, 4),
        "head_joint_length_m": round(area.head_joint_length_m, 4),
        "seam_on_lines_m": round(area.seam_on_lines_m, 4),
        "edge_length_m": round(area.edge_length_m, 4),
        "inside_corners": area.inside_corners,
        "outside_corners": area.outside_corners,
        "chalk_line": None if area.chalk_line is None else _line(area.chalk_line),
        "notes": list(area.notes),
    }


def _line(line: ChalkLine) -> dict[str, Any]:
    return {
        "start": [round(value, 4) for value in line.start],
        "end": [round(value, 4) for value in line.end],
        "right_m": [round(value, 4) for value in line.right_m],
        "left_m": [round(value, 4) for value in line.left_m],
    }


def _piece(piece: Piece) -> dict[str, Any]:
    return {
        "id": piece.id,
        "area": piece.area,
        "strip": piece.strip,
        "width_m": round(piece.width_m, 6),
        "length_m": round(piece.length_m, 6),
        "roll": piece.roll,
        "at": list(piece.at_m),
        "outline": _points(piece.outline),
    }
