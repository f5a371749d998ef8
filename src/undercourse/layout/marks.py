"""Marks on the floor: the chalk line that the first full strip is laid to."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from shapely import Polygon

from undercourse.layout.outlines import rings
from undercourse.layout.sheets import Sheet
from undercourse.layout.strips import Floor, Stretch, turn, turn_points

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


def chalk_line(outline: Polygon, floor: Floor, laid: Sequence[Stretch], sheet: Sheet) -> ChalkLine:
    """Find the line to snap: the upper edge of the strip whose seam is longest, or of the only strip."""
    best = (0.0, 0.0, 0.0, 0.0)  # length, y, x from, x to
    for high in sorted({stretch.high for stretch in laid}):
        crossed = floor.crossings(high + sheet.seam_gap_m / 2)
        for left, right in zip(crossed[::2], crossed[1::2], strict=False):
            if right - left > best[0] + 1e-6:
                best = (right - left, high, left, right)
    length, y, x0, x1 = best
    if length < 1e-6:
        first = laid[0]
        x0, x1 = first.left, first.right
        y = first.profile.span(x0, x1)[1]
    step = min(0.01, (x1 - x0) / 4)
    turned = turn(outline, -floor.turned_deg)
    walls = [(ring.tolist(), np.roll(ring, -1, axis=0).tolist()) for ring in rings(turned)]
    sides = [tuple(_reach(walls, x, y, side) for x in (x0 + step, x1 - step)) for side in (-1.0, 1.0)]
    (ax, ay), (bx, by) = turn_points(np.array([[x0, y], [x1, y]]), floor.turned_deg).tolist()
    return ChalkLine((ax, ay), (bx, by), (sides[0][0], sides[0][1]), (sides[1][0], sides[1][1]))


def _reach(walls: list[tuple[list[Point], list[Point]]], x: float, y: float, side: float) -> float:
    """Distance from a point to the nearest wall straight up or down. [m]"""
    nearest = float("inf")
    for starts, ends in walls:
        for (x0, y0), (x1, y1) in zip(starts, ends, strict=True):
            if (x0 <= x < x1) or (x1 <= x < x0):
                away = (y0 + (y1 - y0) * (x - x0) / (x1 - x0) - y) * side
                if -1e-9 <= away < nearest:
                    nearest = max(away, 0.0)
    return nearest if nearest < float("inf") else 0.0
