"""Strips of one area in one direction: where they lie and which pieces they ask for.

Everything here is in the strips' own frame: turned so that strips run along x and follow each other
in y. Strip number k fills the band from ``offset + k * pitch`` up by one roll width.
"""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import TypeVar

import numpy as np
import numpy.typing as npt
import shapely
from shapely import MultiPolygon, Polygon

from undercourse.layout.outlines import SLIVER_M, inset, rings
from undercourse.layout.sheets import Sheet

Floats = npt.NDArray[np.float64]
Shape = TypeVar("Shape", bound=shapely.Geometry)

Geometries = npt.NDArray[np.object_]
Indices = npt.NDArray[np.int64]

NEAR_M = 1e-6
"""Lengths closer than this are one. [m]"""


@dataclass(frozen=True)
class Floor:
    """The part of an area to cover, turned so that strips run along x."""

    turned_deg: float
    shape: MultiPolygon
    levels_m: tuple[float, ...]  # y of corners, those on long level edges first

    @property
    def low_m(self) -> float:
        """Lowest y of the area to cover. [m]"""
        return float(self.shape.bounds[1])

    @property
    def high_m(self) -> float:
        """Highest y of the area to cover. [m]"""
        return float(self.shape.bounds[3])


@dataclass(frozen=True)
class Strip:
    """One connected stretch of one band, before it is cut into pieces."""

    band: int
    shape: Polygon
    low_m: float  # of the band, not of the shape
    high_m: float
    box_m: tuple[float, float, float, float]

    @property
    def length_m(self) -> float:
        """Extent along the strip. [m]"""
        return self.box_m[2] - self.box_m[0]


@dataclass(frozen=True)
class StripPlan:
    """All strips of one area for one direction and offset, with what they cost by themselves."""

    floor: Floor
    offset_m: float
    strips: tuple[Strip, ...]
    seam_m: float
    too_small: int
    too_long: int
    estimate: float = field(compare=False, default=math.inf)


def turn(geometry: Shape, angle_deg: float) -> Shape:
    """Turn a geometry about the origin, counter-clockwise; quarter turns are exact."""
    if angle_deg % 360 == 0:
        return geometry
    cosine, sine = math.cos(math.radians(angle_deg)), math.sin(math.radians(angle_deg))
    if angle_deg % 90 == 0:
        cosine, sine = float(round(cosine)), float(round(sine))
    matrix = np.array([[cosine, sine], [-sine, cosine]])
    return shapely.transform(geometry, lambda points: points @ matrix)


def make_floor(outline: Polygon, sheet: Sheet, direction_deg: float) -> Floor | None:
    """Turn what is to be covered into the strips' frame; None when the edge gaps leave nothing."""
    parts = inset(outline, sheet.edge_gap_m)
    if not parts:
        return None
    shape = turn(MultiPolygon(parts), -direction_deg)
    weights: dict[float, float] = {}
    for polygon in shape.geoms:
        for ring in rings(polygon):
            ahead = np.roll(ring, -1, axis=0) - ring
            level = np.abs(ahead[:, 1]) < 1e-3 * np.abs(ahead[:, 0])
            for (_, y), (dx, _), flat in zip(ring, ahead, level, strict=True):
                key = round(float(y), 5)
                weights[key] = weights.get(key, 0.0) + (abs(float(dx)) if flat else 0.0)
    levels = sorted(weights, key=lambda y: (-weights[y], y))
    return Floor(direction_deg, shape, tuple(levels))


def offsets_to_try(floor: Floor, sheet: Sheet, most: int) -> list[float]:
    """Offsets at which a seam meets a corner, leaves the smallest piece there, or halves the rest.

    The pieces' lengths change only where a seam passes a corner, so that nothing is lost between these
    on square floors. At most ``most`` are returned, longest level edges first. [m]
    """
    width, pitch, small, trim = sheet.width_m, sheet.pitch_m, sheet.smallest_piece_m, sheet.trim_m
    low, high = floor.low_m, floor.high_m
    middle = (low + high - width) / 2
    wanted = [low - trim, high - width + trim, middle, middle - pitch / 2, high - small, low + small - width]
    for y in floor.levels_m:
        wanted += [y - trim, y - width + trim, y - width - sheet.seam_gap_m, y + sheet.seam_gap_m]
        wanted += [y - small, y + small - width]
    found: list[float] = []
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
            found.append(start)
        if len(found) >= most:
            break
    return found or [low - trim, high - width + trim]


def lay_strips(floor: Floor, sheet: Sheet, offsets: Sequence[float]) -> list[StripPlan]:
    """Lay strips at each offset."""
    width, pitch = sheet.width_m, sheet.pitch_m
    left, low, right, high = (float(value) for value in floor.shape.bounds)
    bands: list[tuple[int, int, float]] = []
    seams: list[tuple[int, float]] = []
    for which, offset in enumerate(offsets):
        first = math.floor((low - offset) / pitch) - 1
        last = math.ceil((high - offset) / pitch)
        for band in range(first, last + 1):
            y = offset + band * pitch
            if y + width > low + SLIVER_M and y < high - SLIVER_M:
                bands.append((which, band, y))
            if low < y + width and y + pitch < high - SLIVER_M:
                seams.append((which, y + width))
    lows = np.array([y for _, _, y in bands])
    side = np.ones_like(lows)
    cut = shapely.intersection(
        floor.shape, shapely.box((left - 1) * side, lows, (right + 1) * side, lows + width)
    )
    parts, owner = _apart(*shapely.get_parts(cut, return_index=True))
    boxes = shapely.bounds(parts)
    thick = (boxes[:, 2] - boxes[:, 0] > SLIVER_M) & (boxes[:, 3] - boxes[:, 1] > SLIVER_M)
    thick &= shapely.area(parts) > SLIVER_M**2
    strips: list[list[Strip]] = [[] for _ in offsets]
    for index in np.flatnonzero(thick):
        which, band, y = bands[owner[index]]
        x0, y0, x1, y1 = (float(value) for value in boxes[index])
        covered_below = sheet.lap_m > 0 and y1 <= y + sheet.lap_m + NEAR_M and y > low
        if not covered_below:
            strips[which].append(Strip(band, parts[index], y, y + width, (x0, y0, x1, y1)))
    seam_m = _seam_lengths(floor, sheet, seams, len(offsets))
    plans = []
    for which, offset in enumerate(offsets):
        laid = tuple(sorted(strips[which], key=lambda strip: (strip.band, strip.box_m)))
        small = sum(_is_small(strip, sheet) for strip in laid)
        long = sum(strip.length_m + 2 * sheet.trim_m > sheet.longest_roll_m + NEAR_M for strip in laid)
        plans.append(StripPlan(floor, offset, laid, float(seam_m[which]), small, long))
    return plans


def _apart(parts: Geometries, owner: Indices) -> tuple[Geometries, Indices]:
    """Part shapes where they hang together by less than rounding; the others stay as they are."""
    rounded = shapely.transform(parts, lambda points: np.round(points, 5))
    pinched = ~shapely.is_valid(rounded)
    if not pinched.any():
        return parts, owner
    mended, index = shapely.get_parts(shapely.set_precision(parts[pinched], 1e-5), return_index=True)
    return np.append(parts[~pinched], mended), np.append(owner[~pinched], owner[pinched][index])


def _is_small(strip: Strip, sheet: Sheet) -> bool:
    height = strip.box_m[3] - strip.box_m[1]
    return min(height, strip.length_m) < sheet.smallest_piece_m - NEAR_M


def _seam_lengths(floor: Floor, sheet: Sheet, seams: list[tuple[int, float]], count: int) -> Floats:
    """Length of all seams along the strips, one sum an offset; seams start at the heights given. [m]"""
    total = np.zeros(count)
    if seams:
        left, _, right, _ = floor.shape.bounds
        start, gap = np.array([y for _, y in seams]), sheet.seam_gap_m
        side = np.ones_like(start)
        if gap > 0:
            zones = shapely.box((left - 1) * side, start, (right + 1) * side, start + gap)
            lengths = shapely.area(shapely.intersection(floor.shape, zones)) / gap
        else:
            lines = shapely.linestrings([[(left - 1, y), (right + 1, y)] for y in start + gap / 2])
            lengths = shapely.length(shapely.intersection(floor.shape, lines))
        np.add.at(total, [which for which, _ in seams], lengths)
    return total


def needed_size(strip: Strip, box: tuple[float, float, float, float], sheet: Sheet) -> tuple[float, float]:
    """Width and length to cut for a part of a strip: its extent, and trim where it meets a wall. [m]"""
    left, low, right, high = box
    sides = (low > strip.low_m + NEAR_M) + (high < strip.high_m - NEAR_M)
    ends = (left < strip.box_m[0] + NEAR_M) + (right > strip.box_m[2] - NEAR_M)
    width = min(sheet.width_m, high - low + sides * sheet.trim_m)
    return width, right - left + ends * sheet.trim_m


@dataclass(frozen=True)
class Part:
    """One piece of a strip on the floor, with the size to cut."""

    shape: Polygon
    width_m: float
    length_m: float
    box_m: tuple[float, float, float, float]


def cut_strip(strip: Strip, joints_m: Sequence[float], sheet: Sheet) -> list[Part]:
    """Cut a strip at head joints (x of their middles), keeping the seam gap or the lap there."""
    left, low, right, high = (float(value) for value in strip.shape.bounds)
    half = sheet.seam_gap_m / 2
    shapes = [strip.shape]
    if joints_m:
        edges = [left - half - 1e-9, *sorted(joints_m), right + half + 1e-9]
        boxes = [
            shapely.box(max(left, start + half), low, min(right, end - half), high)
            for start, end in itertools.pairwise(edges)
            if end - half > start + half
        ]
        if strip.shape.area < (right - left) * (high - low) - 1e-9:
            cut, _ = _apart(*shapely.get_parts(shapely.intersection(strip.shape, boxes), return_index=True))
            boxes = [part for part in cut if isinstance(part, Polygon)]
        shapes = boxes
    parts = []
    for shape in shapes:
        x0, y0, x1, y1 = (float(value) for value in shape.bounds)
        if x1 - x0 > SLIVER_M and y1 - y0 > SLIVER_M:
            width, length = needed_size(strip, (x0, y0, x1, y1), sheet)
            parts.append(Part(shape, width, length, (x0, y0, x1, y1)))
    return parts


def open_holes(shape: Polygon, slit_m: float) -> tuple[Polygon, float]:
    """Slit a sheet from each hole to its nearest edge, so that it can be laid around an obstacle.

    Returns the slit shape, without holes, and the length of the slits; a hole that no straight slit opens
    stays. [m]
    """
    total = 0.0
    while shape.interiors:
        best: tuple[float, Polygon] | None = None
        for hole in shape.interiors:
            for cut, length in _slits(shape, np.asarray(hole.coords), slit_m):
                opened = shape.difference(cut)
                largest = max(shapely.get_parts(opened), key=lambda part: float(part.area))
                whole = largest.area > shape.area - 2 * slit_m * (length + 4 * slit_m) - 1e-9
                fewer = isinstance(largest, Polygon) and len(largest.interiors) < len(shape.interiors)
                if whole and fewer and (best is None or length < best[0]):
                    best = (length, largest)
        if best is None:
            break
        total, shape = total + best[0], best[1]
    return shape, total


def _slits(shape: Polygon, hole: Floats, slit_m: float) -> list[tuple[Polygon, float]]:
    """Straight slits from the four extreme corners of a hole outwards, with the length each cuts."""
    made = []
    for axis in (1, 0):
        for step in (1.0, -1.0):
            corner = hole[(hole[:, axis] * step).argmax()]
            ahead = np.zeros(2)
            ahead[axis] = step
            ray = shapely.LineString([corner + ahead * 1e-9, corner + ahead * 1e4])
            runs = [run for run in shapely.get_parts(shape.intersection(ray)) if run.length > 1e-9]
            if runs:
                run = min(runs, key=lambda run: float(run.distance(shapely.Point(corner))))
                points = np.asarray(run.coords)
                start, end = points[:, axis].min() - 2 * slit_m, points[:, axis].max() + 2 * slit_m
                side = corner[1 - axis]
                low, high = (side - slit_m / 2, start), (side + slit_m / 2, end)
                cut = shapely.box(*low, *high) if axis == 1 else shapely.box(*low[::-1], *high[::-1])
                made.append((cut, float(run.length)))
    return made
