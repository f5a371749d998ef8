"""Marks on the floor: the chalk line that the first full strip is laid to."""

from __future__ import annotations

from dataclasses import dataclass

import shapely
from shapely import LineString, Polygon

from undercourse.layout.sheets import Sheet
from undercourse.layout.strips import StripPlan, turn

Point = tuple[float, float]


@dataclass(frozen=True)
class ChalkLine:
    """A line along the strips, and its distances from the walls on both sides, square to it.

    ``right_m`` and ``left_m`` hold the distances at the start and at the end of the line, to the walls
    on the right and on the left when looking from start to end. Where the two numbers of a pair differ,
    that wall is not parallel to the strips.
    """

    start: Point
    end: Point
    right_m: tuple[float, float]
    left_m: tuple[float, float]


def chalk_line(outline: Polygon, plan: StripPlan, sheet: Sheet) -> ChalkLine:
    """Find the line to snap: the upper edge of the strip whose seam is longest, or of the only strip."""
    turned = turn(outline, -plan.floor.turned_deg)
    left, _, right, _ = plan.floor.shape.bounds
    best: LineString | None = None
    for high in sorted({strip.high_m for strip in plan.strips}):
        middle = high + sheet.seam_gap_m / 2
        cut = plan.floor.shape.intersection(LineString([(left - 1, middle), (right + 1, middle)]))
        for run in shapely.get_parts(cut):
            if isinstance(run, LineString) and run.length > (best.length if best is not None else 0) + 1e-6:
                (x0, _), (x1, _) = run.coords[0], run.coords[-1]
                best = LineString([(min(x0, x1), high), (max(x0, x1), high)])
    if best is None or best.length < 1e-6:
        x0, _, x1, y1 = plan.strips[0].box_m
        best = LineString([(x0, y1), (x1, y1)])
    (x0, y), (x1, _) = best.coords
    step = min(0.01, (x1 - x0) / 4)
    sides = [tuple(_reach(turned, x, y, side) for x in (x0 + step, x1 - step)) for side in (-1.0, 1.0)]
    placed = turn(best, plan.floor.turned_deg)
    (ax, ay), (bx, by) = placed.coords
    return ChalkLine(
        (float(ax), float(ay)), (float(bx), float(by)), (sides[0][0], sides[0][1]), (sides[1][0], sides[1][1])
    )


def _reach(outline: Polygon, x: float, y: float, side: float) -> float:
    """Distance from a point to the nearest wall straight up or down. [m]"""
    far = outline.bounds[3] - outline.bounds[1] + 1.0
    hits = outline.boundary.intersection(LineString([(x, y), (x, y + side * far)]))
    if hits.is_empty:
        return 0.0
    return float(shapely.distance(shapely.Point(x, y), hits))
