"""Strips of one area in one direction: where they lie and what they cover.

Everything here is in the strips' own frame: turned so that strips run along x and follow each other
in y. Strip number k fills the band from ``offset + k * pitch`` up by one roll width.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import numpy as np
import numpy.typing as npt
import shapely
from shapely import MultiPolygon, Polygon

from undercourse.layout.keeping import JUST_M, barred_spans, length_within, level_lines, spans_along
from undercourse.layout.outlines import SLIVER_M, rings
from undercourse.layout.profiles import MEET_M, Edge, Profile, heights, merge_near
from undercourse.layout.sheets import Line, Sheet

Floats = npt.NDArray[np.float64]
Shape = TypeVar("Shape", bound=shapely.Geometry)

NEAR_M = 1e-6
"""Lengths closer than this are one. [m]"""

EVEN_STEPS = 8
FINE_STEPS = 32
"""Even steps tried in one pitch; more of them where lines are to be kept off."""

MOST_LINES = 40
"""Lines whose both sides are tried for a seam."""

End = tuple[float, bool, float]
"""y of a wall or tip, whether the floor lies below it, and how much a small piece there would matter."""


@dataclass(frozen=True)
class Floor:
    """A part of an area to cover, turned so that strips run along x."""

    turned_deg: float
    shape: MultiPolygon
    levels_m: tuple[float, ...]  # y of corners, those on long level edges first
    edges: tuple[Edge, ...]  # x0, y0, x1, y1 with y0 below y1; level ones left out
    level_edges: tuple[Edge, ...]
    ends: tuple[End, ...]
    box_m: tuple[float, float, float, float]
    lines: tuple[Edge, ...] = ()  # along which no seam is to run, in any order of their ends

    @property
    def low_m(self) -> float:
        """Lowest y of the area to cover. [m]"""
        return self.box_m[1]

    @property
    def high_m(self) -> float:
        """Highest y of the area to cover. [m]"""
        return self.box_m[3]

    def crossings(self, y: float) -> list[float]:
        """Where the level line at y enters and leaves the floor, in turn. [m]"""
        crossed = [x0 + (x1 - x0) * (y - y0) / (y1 - y0) for x0, y0, x1, y1 in self.edges if y0 <= y < y1]
        crossed.sort()
        return crossed

    def chord(self, y: float) -> float:
        """Length of the level line at y within the floor. [m]"""
        crossed = self.crossings(y)
        return sum(crossed[1::2]) - sum(crossed[::2])


@dataclass(frozen=True, slots=True)
class Stretch:
    """One connected part of a band: the floor between two seams and two walls."""

    band: int
    profile: Profile
    left: float
    right: float
    low: float  # of the band, not of the floor in it
    high: float
    area: float
    flat: bool  # a rectangle
    shape: Polygon | None  # kept where the profile does not tell all: around obstacles and nooks
    barred: tuple[tuple[float, float], ...] = ()  # x at which no head joint may lie

    def height(self, start: float, stop: float, trim: float) -> float:
        """Width of sheet that covers it between two x, with trim at walls. [m]"""
        deep, high = self.profile.span(start, stop)
        return self.trimmed(deep, high, trim)

    def trimmed(self, deep: float, high: float, trim: float) -> float:
        """Width of sheet from one y to another, with trim where these are walls. [m]"""
        return high - deep + trim * ((deep > self.low + NEAR_M) + (high < self.high - NEAR_M))

    def ends(self, start: float, stop: float) -> int:
        """How many of the two ends meet a wall."""
        return (start < self.left + NEAR_M) + (stop > self.right - NEAR_M)


def turn(geometry: Shape, angle_deg: float) -> Shape:
    """Turn a geometry about the origin, counter-clockwise; quarter turns are exact."""
    if angle_deg % 360 == 0:
        return geometry
    return shapely.transform(geometry, lambda points: turn_points(points, angle_deg))


def turn_points(points: Floats, angle_deg: float) -> Floats:
    """Turn points, one a row, about the origin, counter-clockwise; quarter turns are exact."""
    if angle_deg % 360 == 0:
        return points
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    if angle_deg % 90 == 0:
        cosine, sine = float(round(cosine)), float(round(sine))
    turned: Floats = points @ np.array([[cosine, sine], [-sine, cosine]])
    return turned


def make_floor(parts: Sequence[Polygon], direction_deg: float, lines: Sequence[Line] = ()) -> Floor:
    """Turn what is to be covered, and the lines that seams are kept off, into the strips' frame."""
    shape = turn(MultiPolygon(list(parts)), -direction_deg)
    weights: dict[float, float] = {}
    edges: list[Edge] = []
    level: list[Edge] = []
    ends: list[End] = []
    for polygon in shape.geoms:
        for ring in rings(polygon):
            points = ring.tolist()
            ends += _ends(points)
            x0, y0 = points[-1]
            for x1, y1 in points:
                flat = abs(y1 - y0) < 1e-3 * abs(x1 - x0)
                key = round(y0, 5)
                weights[key] = weights.get(key, 0.0) + (abs(x1 - x0) if flat else 0.0)
                if y1 > y0:
                    edges.append((x0, y0, x1, y1))
                elif y0 > y1:
                    edges.append((x1, y1, x0, y0))
                else:
                    level.append((min(x0, x1), y0, max(x0, x1), y0))
                x0, y0 = x1, y1
    levels = sorted(weights, key=lambda y: (-weights[y], y))
    left, low, right, high = shape.bounds
    box = (left, low, right, high)
    barred = [
        (a[0], a[1], b[0], b[1])
        for line in lines
        for a, b in itertools.pairwise(turn_points(np.array(line, dtype=float), -direction_deg).tolist())
    ]
    return Floor(
        direction_deg, shape, tuple(levels), tuple(edges), tuple(level), tuple(ends), box, tuple(barred)
    )


def _ends(points: list[list[float]]) -> list[End]:
    """Where a floor ends up or down: tips, level walls of nooks, and steps, which count by their length."""
    count, found = len(points), []
    convex = []
    for k in range(count):
        (x0, y0), (x1, y1), (x2, y2) = points[k - 1], points[k], points[(k + 1) % count]
        convex.append((x1 - x0) * (y2 - y1) - (y1 - y0) * (x2 - x1) > 0)
    for k in range(count):
        following = (k + 1) % count
        (x0, y0), (x1, y1) = points[k], points[following]
        if abs(y1 - y0) < 1e-3 * abs(x1 - x0):
            corners = convex[k] + convex[following]
            if corners:
                weight = 1.0 if corners == 2 else min(0.5, 0.1 * abs(x1 - x0))
                found.append(((y0 + y1) / 2, x1 < x0, weight))
        elif convex[k]:
            before, after = points[k - 1][1] - y0, y1 - y0
            if before * after > 0:
                found.append((y0, before < 0, 1.0))
    return found


def offsets_to_try(floor: Floor, sheet: Sheet, most: int) -> list[float]:
    """Offsets at which a seam meets a corner, leaves the smallest piece there, or halves the rest.

    The pieces' lengths change only where a seam passes a corner, so that nothing is lost between these on
    square floors; a few even steps are added for others. At most ``most`` are returned, those first that
    leave no small piece at the ends of the floor, then longest level edges first. [m]
    """
    width, pitch, small, trim = sheet.width_m, sheet.pitch_m, sheet.smallest_width_m, sheet.trim_m
    low, high = floor.low_m, floor.high_m
    middle = (low + high - width) / 2
    wanted = [low - trim, high - width + trim, middle, middle - pitch / 2, high - small, low + small - width]
    for y in floor.levels_m[:12]:
        wanted += [y - trim, y - width + trim, y - width - sheet.seam_gap_m, y + sheet.seam_gap_m]
        wanted += [y - small, y + small - width]
    wanted += [low + step * pitch / EVEN_STEPS for step in range(1, EVEN_STEPS)]
    wanted += _off_lines(floor, sheet)
    found: list[tuple[float, float, int, float]] = []
    seen: set[int] = set()
    for offset in wanted:
        start = low - (low - offset) % pitch
        top = (high - start) % pitch  # how far the floor reaches into its last band and the gap above
        open_top = top > width + SLIVER_M or (top < SLIVER_M and sheet.seam_gap_m > 0)
        if start + width <= low + SLIVER_M or open_top:
            continue  # a gap would lie along the wall
        key = round(start / 1e-4)
        if key not in seen:
            seen.add(key)
            along = seam_on_lines(floor, sheet, start) if floor.lines else 0.0
            found.append((along, _thin_ends(floor, start, pitch, width, small), len(found), start))
    found.sort()
    return [offset for _, _, _, offset in found[:most]] or [low - trim, high - width + trim]


def _off_lines(floor: Floor, sheet: Sheet) -> list[float]:
    """Offsets at which a seam just clears one of the lines that it is kept off, on either side. [m]"""
    aside, up = sheet.line_reach_m + JUST_M, sheet.width_m + sheet.seam_gap_m / 2
    level = level_lines(floor.lines)[:MOST_LINES]
    found = [y - up for _, y0, _, y1 in level for y in (min(y0, y1) - aside, max(y0, y1) + aside)]
    if level:  # between the lines of a grid
        found += [floor.low_m + step * sheet.pitch_m / FINE_STEPS for step in range(1, FINE_STEPS)]
    return found


def seam_on_lines(floor: Floor, sheet: Sheet, offset: float) -> float:
    """Length of seams along the strips that run along lines they are to be kept off. [m]"""
    if not floor.lines:
        return 0.0
    total = 0.0
    for _, low in bands_of(floor, sheet, offset):
        y = low + sheet.width_m + sheet.seam_gap_m / 2
        spans = spans_along(floor.lines, y, sheet.line_reach_m)
        total += length_within(spans, floor.crossings(y)) if spans else 0.0
    return total


def _thin_ends(floor: Floor, offset: float, pitch: float, width: float, small: float) -> float:
    """Sum over the ends of the floor that reach into a band by less than the smallest piece."""
    total = 0.0
    for y, upward, weight in floor.ends:
        reach = (y - offset) % pitch
        if not upward:
            reach = width - reach
        if NEAR_M < reach < small - NEAR_M:
            total += weight
    return total


def bands_of(floor: Floor, sheet: Sheet, offset: float) -> list[tuple[int, float]]:
    """Number and lower edge of each band that meets the floor."""
    width, pitch, low, high = sheet.width_m, sheet.pitch_m, floor.low_m, floor.high_m
    first = math.floor((low - offset) / pitch) - 1
    last = math.ceil((high - offset) / pitch)
    found = [(band, offset + band * pitch) for band in range(first, last + 1)]
    return [(band, y) for band, y in found if y + width > low + SLIVER_M and y < high - SLIVER_M]


def seam_length(floor: Floor, sheet: Sheet, offset: float) -> float:
    """Length of all seams along the strips. [m]"""
    seams = [y + sheet.width_m + sheet.seam_gap_m / 2 for _, y in bands_of(floor, sheet, offset)]
    return sum(floor.chord(y) for y in seams)


def stretches(floor: Floor, sheet: Sheet, offset: float, exact: bool = True) -> list[Stretch]:
    """Clip the floor to each band; connected parts from the lowest band up, from left to right.

    Not ``exact``, parts that lie above one another around an obstacle or nook are taken for one.
    """
    found: list[Stretch] = []
    for band, y in bands_of(floor, sheet, offset):
        laid = _swept(floor, band, y, y + sheet.width_m, exact)
        if laid is None:
            laid = _clipped(floor, band, y, y + sheet.width_m)
        if sheet.lap_m > 0 and y > floor.low_m:
            # The strip below covers what does not reach beyond the lap.
            least = y + sheet.lap_m + NEAR_M
            laid = [one for one in laid if one.profile.span(one.left, one.right)[1] > least]
        if floor.lines:
            barred = barred_spans(floor.lines, y, y + sheet.width_m, sheet.line_reach_m)
            laid = [replace(one, barred=barred) for one in laid]
        found += laid
    return found


def _swept(floor: Floor, band: int, low: float, high: float, exact: bool) -> list[Stretch] | None:
    """Stretches of one band, from the floor's edges; None where obstacles or nooks lie above one another."""
    edges: list[Edge] = []
    corners: list[float] = []
    below: list[float] = []
    above: list[float] = []
    for x0, y0, x1, y1 in floor.edges:
        if y0 >= high or y1 <= low:
            continue
        slope = (x1 - x0) / (y1 - y0)
        if y0 <= low:
            x0, y0 = x0 + slope * (low - y0), low
            below.append(x0)
        if y1 >= high:
            x1, y1 = x1 - slope * (y1 - high), high
            above.append(x1)
        corners += (x0, x1)
        if x1 > x0 + MEET_M:
            edges.append((x0, y0, x1, y1))
        elif x0 > x1 + MEET_M:
            edges.append((x1, y1, x0, y0))
    for x0, y0, x1, _ in floor.level_edges:
        if low < y0 < high:
            corners += (x0, x1)
            edges.append((x0, y0, x1, y0))
    if len(below) % 2 or len(above) % 2 or len(corners) < 2:
        return None
    for ends, y in ((below, low), (above, high)):
        ends.sort()
        edges += [
            (ends[k], y, ends[k + 1], y) for k in range(0, len(ends), 2) if ends[k + 1] > ends[k] + MEET_M
        ]
    xs = merge_near(corners)
    if len(xs) < 2:
        return []
    top, deep, crossed = heights(edges, xs)
    if exact and any(count not in (0, 2) for count in crossed):
        return None
    return _parted(band, low, high, xs, top, deep, crossed)


def _parted(
    band: int,
    low: float,
    high: float,
    xs: list[float],
    top: list[list[float]],
    deep: list[list[float]],
    crossed: list[int],
) -> list[Stretch]:
    """Part a band where nothing but rounding holds it together."""
    found: list[Stretch] = []
    first = -1
    count = len(crossed)
    for number in range(count):
        thin = crossed[number] == 0 or (
            top[number][0] - deep[number][0] < SLIVER_M and top[number][1] - deep[number][1] < SLIVER_M
        )
        if thin:
            if first >= 0:
                found.append(_stretch(band, low, high, xs, top, deep, first, number))
            first = -1
            continue
        if first >= 0:
            shared = min(top[number - 1][1], top[number][0]) - max(deep[number - 1][1], deep[number][0])
            if shared < SLIVER_M:
                found.append(_stretch(band, low, high, xs, top, deep, first, number))
                first = number
        else:
            first = number
    if first >= 0:
        found.append(_stretch(band, low, high, xs, top, deep, first, count))
    return [one for one in found if one.right - one.left > SLIVER_M and one.area > SLIVER_M**2]


def _stretch(
    band: int,
    low: float,
    high: float,
    xs: list[float],
    top: list[list[float]],
    deep: list[list[float]],
    first: int,
    last: int,
) -> Stretch:
    area = sum(
        (top[k][0] + top[k][1] - deep[k][0] - deep[k][1]) * (xs[k + 1] - xs[k]) for k in range(first, last)
    )
    flat = last == first + 1 and top[first][0] == top[first][1] and deep[first][0] == deep[first][1]
    profile = Profile(xs[first : last + 1], top[first:last], deep[first:last])
    return Stretch(band, profile, xs[first], xs[last], low, high, area / 2, flat, None)


def _clipped(floor: Floor, band: int, low: float, high: float) -> list[Stretch]:
    """Stretches of one band, by general clipping; each keeps its shape."""
    left, _, right, _ = floor.box_m
    found = []
    for part in shapely.get_parts(floor.shape.intersection(shapely.box(left - 1, low, right + 1, high))):
        x0, y0, x1, y1 = (float(value) for value in part.bounds)
        if not isinstance(part, Polygon) or min(x1 - x0, y1 - y0) < SLIVER_M or part.area < SLIVER_M**2:
            continue
        points = [np.asarray(ring.coords).tolist() for ring in (part.exterior, *part.interiors)]
        edges = [
            (a[0], a[1], b[0], b[1]) if a[0] < b[0] else (b[0], b[1], a[0], a[1])
            for ring in points
            for a, b in itertools.pairwise(ring)
            if abs(a[0] - b[0]) > MEET_M
        ]
        xs = merge_near([x for ring in points for x, _ in ring])
        top, deep, _ = heights(edges, xs)
        found.append(Stretch(band, Profile(xs, top, deep), x0, x1, low, high, float(part.area), False, part))
    return sorted(found, key=lambda stretch: (stretch.left, stretch.right))
