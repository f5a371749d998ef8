"""Arcs and bulges as points, in the units of the drawing."""

from __future__ import annotations

import math
from collections.abc import Sequence

Point = tuple[float, float]
MOST_STEPS = 2000


def _steps(radius: float, turn_rad: float, chord: float | None) -> int:
    """Chords for a turn so that none is farther from the arc than ``chord`` (or a 2000th of the radius)."""
    reach = radius / 2000 if chord is None else chord
    one = 2 * math.acos(1 - reach / radius) if reach < radius else math.pi / 2
    return max(1, min(MOST_STEPS, math.ceil(abs(turn_rad) / min(one, math.pi / 4))))


def arc_points(
    center: Point, radius: float, start_deg: float, end_deg: float, chord: float | None
) -> list[Point]:
    """Points along an arc, counter-clockwise from start to end; a whole circle repeats no point."""
    turn = (end_deg - start_deg) % 360.0
    whole = turn == 0 or abs(end_deg - start_deg) == 360
    turn = 360.0 if whole else turn
    steps = _steps(abs(radius), math.radians(turn), chord) if radius else 1
    angles = [math.radians(start_deg + turn * step / steps) for step in range(steps + (0 if whole else 1))]
    return [(center[0] + radius * math.cos(a), center[1] + radius * math.sin(a)) for a in angles]


def bulge_points(
    corners: Sequence[tuple[float, float, float]], closed: bool, chord: float | None
) -> list[Point]:
    """Points of a polyline of (x, y, bulge); a bulge is the tangent of a quarter of the arc's turn.

    References
    ----------
    The DXF reference, group code 42 of LWPOLYLINE; half a circle has the bulge 1, clockwise is negative.
    """
    points: list[Point] = []
    count = len(corners)
    for place, (x, y, bulge) in enumerate(corners):
        points.append((x, y))
        if not bulge or (place == count - 1 and not closed):
            continue
        x2, y2, _ = corners[(place + 1) % count]
        span = math.hypot(x2 - x, y2 - y)
        if span == 0:
            continue
        turn = 4 * math.atan(bulge)
        radius = span * (1 + bulge * bulge) / (4 * abs(bulge))
        # The center lies on the chord's normal, to the left for less than half a turn to the left.
        off = span * (1 - bulge * bulge) / (4 * bulge)
        cx, cy = (x + x2) / 2 - (y2 - y) / span * off, (y + y2) / 2 + (x2 - x) / span * off
        first = math.atan2(y - cy, x - cx)
        steps = _steps(radius, turn, chord)
        points += [
            (
                cx + radius * math.cos(first + turn * k / steps),
                cy + radius * math.sin(first + turn * k / steps),
            )
            for k in range(1, steps)
        ]
    return points
