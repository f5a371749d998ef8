"""A plan as one JSON document: areas with sizes, what was mended, what is wrong."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import shapely
from shapely import Polygon

from undercourse.files.areas import area_notes, rings_of
from undercourse.files.plan_parts import Plan, PlanArea


def plan_document(plan: Plan, chosen: Sequence[PlanArea] | None = None) -> dict[str, Any]:
    """What a plan holds; with ``chosen``, of these areas only and without the faults of others."""
    areas = plan.areas if chosen is None else chosen
    faults = [] if chosen is not None else _faults(plan)
    return {
        "file": Path(plan.where).name,
        "unit": plan.unit,
        "moved_m": list(plan.moved_m),
        "notes": list(plan.notes),
        "areas": [_area(area) for area in areas],
        "faults": faults,
    }


def _faults(plan: Plan) -> list[dict[str, str]]:
    found = [
        {"area": name, "where": problem.where, "what": problem.what, "fix": problem.fix}
        for name, problem in plan.faults
    ]
    for one, other, shared in plan.overlaps:
        what = f'overlaps "{other}" over {shared:.2f} m²'
        fix = "draw each floor once, or lay one of the two"
        found.append({"area": one, "where": plan.where, "what": what, "fix": fix})
    return found


def _area(area: PlanArea) -> dict[str, Any]:
    outline, holes = rings_of(area.polygon)
    length, width = _sides(area.polygon)
    return {
        "name": area.name,
        "storey": area.storey,
        "area_m2": round(area.polygon.area, 4),
        "length_m": round(length, 4),
        "width_m": round(width, 4),
        "outline": [_point(point) for point in outline],
        "obstacles": [[_point(point) for point in ring] for ring in holes],
        "doors": [[_point(point) for point in line] for line in area.doors],
        "repairs": [
            {
                "what": repair.what,
                "at": _point(repair.at) if repair.at is not None else None,
                "size_m": round(repair.size_m, 6) if repair.size_m is not None else None,
            }
            for repair in area.repairs
        ],
        "notes": list(area.notes),
    }


def _point(point: Sequence[float]) -> list[float]:
    return [round(float(value), 6) + 0.0 for value in point[:2]]


def _sides(polygon: Polygon) -> tuple[float, float]:
    """The longer and the shorter side of the smallest rectangle around an area. [m]"""
    corners = shapely.get_coordinates(polygon.minimum_rotated_rectangle)
    sides = np.hypot(*np.diff(corners[:3], axis=0).T)
    return float(sides.max()), float(sides.min())


def layout_notes(areas: Sequence[PlanArea]) -> dict[str, tuple[str, ...]]:
    """What is to know of each area of a plan when it is laid, by name."""
    return {area.name: area_notes(area) for area in areas}
