"""The upper and lower edge of what one strip covers, as functions along the strip."""

from __future__ import annotations

from bisect import bisect_left, bisect_right
from collections.abc import Sequence
from dataclasses import dataclass

MEET_M = 1e-5
"""Corners nearer than this along the strip are one. [m]"""

STEEP = 0.05
"""Edges steeper than this are kept from growing by rounding along the strip."""

FAR_M = 1e9

Edge = tuple[float, float, float, float]
"""x0, y0, x1, y1 with x0 at or left of x1."""

Pair = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Profile:
    """Highest and lowest y of a shape between any two x.

    Between two neighboring ``xs`` both edges are straight; ``top`` and ``low`` hold their heights at the left
    and at the right end of each such stretch, so that upright edges keep both of their heights.
    """

    xs: Sequence[float]
    top: Sequence[Sequence[float]]
    low: Sequence[Sequence[float]]

    def span(self, start: float, stop: float) -> Pair:
        """Lowest and highest y between two x."""
        deep, high, _ = self.measure(start, stop)
        return deep, high

    def measure(self, start: float, stop: float) -> tuple[float, float, float]:
        """Lowest and highest y between two x, and the area between the edges there."""
        xs, tops, lows = self.xs, self.top, self.low
        last = len(xs) - 2
        first = final = 0
        if last:
            first = bisect_right(xs, start + MEET_M) - 1
            first = 0 if first < 0 else last if first > last else first
            final = bisect_left(xs, stop - MEET_M) - 1
            final = first if final < first else last if final > last else final
        deep, high, area = FAR_M, -FAR_M, 0.0
        for number in range(first, final + 1):
            a, b = tops[number]
            c, d = lows[number]
            x0, x1 = xs[number], xs[number + 1]
            if number == first and start > x0:
                share = (start - x0) / (x1 - x0)
                a, c, x0 = a + (b - a) * share, c + (d - c) * share, start
            if number == final and stop < x1:
                share = (x1 - stop) / (x1 - x0) if x1 > x0 else 0.0
                b, d, x1 = b - (b - a) * share, d - (d - c) * share, stop
            area += (a + b - c - d) * (x1 - x0)
            if a > high:
                high = a
            if b > high:
                high = b
            if c < deep:
                deep = c
            if d < deep:
                deep = d
        return deep, high, area / 2

    def outline(self, start: float, stop: float) -> list[Pair]:
        """Corners of the part between two x, counter-clockwise, the first not repeated."""
        xs, below, above = self.xs, [], []
        last = len(xs) - 2
        first = min(last, max(0, bisect_right(xs, start + MEET_M) - 1))
        final = min(last, max(first, bisect_left(xs, stop - MEET_M) - 1))
        for number in range(first, final + 1):
            x0, x1 = xs[number], xs[number + 1]
            (a, b), (c, d) = self.top[number], self.low[number]
            rise, fall = (b - a) / (x1 - x0), (d - c) / (x1 - x0)
            left = start if number == first else x0
            right = stop if number == final else x1
            below += [(left, c + fall * (left - x0)), (right, c + fall * (right - x0))]
            above += [(left, a + rise * (left - x0)), (right, a + rise * (right - x0))]
        above.reverse()
        found: list[Pair] = []
        for point in below + above:
            if not found or _apart(point, found[-1]):
                found.append(point)
        if len(found) > 1 and not _apart(found[0], found[-1]):
            found.pop()
        return found


def _apart(one: Pair, other: Pair) -> bool:
    return abs(one[0] - other[0]) + abs(one[1] - other[1]) > MEET_M / 10


def merge_near(values: list[float]) -> list[float]:
    """Sorted values, those that are one but for rounding only once."""
    values.sort()
    found = values[:1]
    for value in values:
        if value > found[-1] + MEET_M:
            found.append(value)
    return found


def heights(
    edges: Sequence[Edge], xs: Sequence[float]
) -> tuple[list[list[float]], list[list[float]], list[int]]:
    """Upper and lower edge at both ends of each span between neighboring x, and how many edges cross it."""
    spans = len(xs) - 1
    top = [[-FAR_M, -FAR_M] for _ in range(spans)]
    low = [[FAR_M, FAR_M] for _ in range(spans)]
    crossed = [0] * spans
    for x0, y0, x1, y1 in edges:
        slope = (y1 - y0) / (x1 - x0)
        steep = not -STEEP < slope < STEEP
        first = bisect_right(xs, x0 + MEET_M) - 1
        for number in range(first if first > 0 else 0, spans):
            if xs[number] > x1 - MEET_M:
                break
            left = y0 + slope * (xs[number] - x0)
            right = y0 + slope * (xs[number + 1] - x0)
            if steep:  # rounding along the strip must not lengthen the edge
                left = min(max(left, min(y0, y1)), max(y0, y1))
                right = min(max(right, min(y0, y1)), max(y0, y1))
            crossed[number] += 1
            high, deep = top[number], low[number]
            if left > high[0]:
                high[0] = left
            if right > high[1]:
                high[1] = right
            if left < deep[0]:
                deep[0] = left
            if right < deep[1]:
                deep[1] = right
    return top, low, crossed
