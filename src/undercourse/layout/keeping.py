"""Keeping seams off lines: panel joints, cracks, existing joints; in the strips' frame."""

from __future__ import annotations

from collections.abc import Sequence

ALONG = 0.577
"""A seam runs along a line where the two are less than 30 degrees apart; else it only crosses it."""

JUST_M = 1e-4
"""By so much seams that are moved off a line clear it. [m]"""

Segment = tuple[float, float, float, float]
"""Ends of a straight piece of a line: x, y, x, y."""

Span = tuple[float, float]


def level_lines(lines: Sequence[Segment]) -> list[Segment]:
    """Those along which a level seam could run, with their left end first."""
    level = [line for line in lines if abs(line[3] - line[1]) <= ALONG * abs(line[2] - line[0])]
    return [(x0, y0, x1, y1) if x0 <= x1 else (x1, y1, x0, y0) for x0, y0, x1, y1 in level]


def spans_along(lines: Sequence[Segment], y: float, reach_m: float) -> list[Span]:
    """Where a level seam at y lies nearer than ``reach_m`` to lines that run along it; from and to x. [m]"""
    found = []
    for x0, y0, x1, y1 in level_lines(lines):
        if max(y0, y1) <= y - reach_m or min(y0, y1) >= y + reach_m:
            continue
        left, right = x0, x1
        if y1 != y0:
            ends = sorted(x0 + (level - y0) * (x1 - x0) / (y1 - y0) for level in (y - reach_m, y + reach_m))
            left, right = max(x0, ends[0]), min(x1, ends[1])
        if right > left:
            found.append((left, right))
    return found


def length_within(spans: Sequence[Span], crossings: Sequence[float]) -> float:
    """Length of what spans, which may overlap, share with the floor between pairs of crossings. [m]"""
    total = 0.0
    for start, stop in zip(crossings[::2], crossings[1::2], strict=False):
        done = start
        for left, right in sorted(spans):
            a, b = max(left, done), min(right, stop)
            if b > a:
                total, done = total + b - a, b
    return total


def barred_spans(lines: Sequence[Segment], low: float, high: float, reach_m: float) -> tuple[Span, ...]:
    """Where no head joint of a band from low to high may lie: too near to a line across the band. [m]"""
    found = []
    for x0, y0, x1, y1 in lines:
        if abs(x1 - x0) > ALONG * abs(y1 - y0) or max(y0, y1) <= low or min(y0, y1) >= high:
            continue
        slope = (x1 - x0) / (y1 - y0)
        ends = sorted(x0 + slope * (min(max(y, low), high) - y0) for y in (min(y0, y1), max(y0, y1)))
        found.append((ends[0] - reach_m, ends[1] + reach_m))
    return tuple(sorted(found))
