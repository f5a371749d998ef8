"""Records and plane geometry of the plain ways of laying: strips clipped to a floor, and divided."""

from __future__ import annotations

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass, field

import numpy as np
import shapely
from shapely import Polygon
from shapely.affinity import rotate

from undercourse.layout import Sheet

MOST_STARTS = 12
SMALL_PIECE_M2 = 1.0
"""What a piece under the smallest counts for when trials are compared, as sheet. [m2]"""

PIECE_M2, SEAM_M2 = 0.01, 0.02
"""The same for one piece, and for one metre of seam."""

MOST_STEPS = 14
"""A strip with more places than this where it may be divided is divided at the widest steps only."""

NEAR_M = 1e-6


@dataclass(eq=False)
class Part:
    """A connected part of a strip, in the strips' frame: x along, y across."""

    strip: int
    shape: Polygon

    @property
    def box(self) -> tuple[float, float, float, float]:
        return self.shape.bounds


@dataclass(eq=False)
class Segment:
    """A length of roll; what lies on it is placed along and across from its corner."""

    length: float
    roll: int = -1
    along: float = 0.0


@dataclass
class Cut:
    """A rectangle cut from a segment, and the shape on the floor that it is for."""

    part: Part
    shape: Polygon
    width: float
    length: float
    segment: Segment
    at: tuple[float, float]


@dataclass(frozen=True)
class Offcut:
    """A rectangle of a segment that is still free."""

    segment: Segment
    at: tuple[float, float]
    width: float
    length: float


@dataclass
class Trial:
    """One way of laying an area."""

    direction: float
    seam: float
    cuts: list[Cut] = field(default_factory=list)
    rolls: list[float] = field(default_factory=list)  # used length of each
    close: bool = False  # some head joints of neighbors lie closer than the stagger

    def consumed(self, sheet: Sheet) -> float:
        """Whole rolls but the last, plus the used length of the last. [m2]"""
        return ((len(self.rolls) - 1) * sheet.roll_lengths_m[0] + self.rolls[-1]) * sheet.width_m

    def small(self, sheet: Sheet) -> list[Cut]:
        """Pieces under the smallest."""
        least = sheet.smallest_piece_m - NEAR_M
        return [cut for cut in self.cuts if min(size_of(cut.shape)) < least]

    def merit(self, sheet: Sheet) -> float:
        """What trials are compared by, least first. [m2]"""
        extra = PIECE_M2 * len(self.cuts) + SEAM_M2 * self.seam
        return self.consumed(sheet) + SMALL_PIECE_M2 * len(self.small(sheet)) + extra


def longest_edges(outline: Polygon) -> list[float]:
    """Directions of the edges, by the length of edge that runs so, longest first. [deg]"""
    total: dict[float, float] = {}
    for ring in (outline.exterior, *outline.interiors):
        ahead = np.diff(np.asarray(ring.coords), axis=0)
        turned = np.degrees(np.arctan2(ahead[:, 1], ahead[:, 0])) % 180.0
        for angle, length in zip(turned, np.hypot(ahead[:, 0], ahead[:, 1]), strict=True):
            near = [one for one in total if abs((one - angle + 90) % 180 - 90) < 0.2]
            key = near[0] if near else float(angle)
            total[key] = total.get(key, 0.0) + float(length)
    return sorted(total, key=lambda angle: (-total[angle], angle))


def inner_floor(outline: Polygon, sheet: Sheet, direction: float) -> shapely.Geometry:
    """What is to be covered, turned so that strips lie along x."""
    with np.errstate(all="ignore"):
        inner = outline.buffer(-sheet.edge_gap_m, join_style="mitre", mitre_limit=2.0)
    return rotate(inner, -direction, origin=(0, 0))


def start_lines(floor: shapely.Geometry, sheet: Sheet) -> list[float]:
    """Lower edges of a strip that are tried: at walls, in the middle, and along the longest edges."""
    _, low, _, high = floor.bounds
    width, pitch = sheet.width_m, sheet.pitch_m
    levels: dict[float, float] = {}
    for part in polygons(floor):
        for ring in (part.exterior, *part.interiors):
            points = np.asarray(ring.coords)
            for one, other in itertools.pairwise(points):
                if abs(one[1] - other[1]) < 0.001:
                    level = round(float(one[1]), 3)
                    levels[level] = levels.get(level, 0.0) + abs(float(one[0] - other[0]))
    middle = (low + high) / 2
    wanted = [low, high - width, middle, middle - width / 2, low + sheet.smallest_piece_m - width]
    wanted.append(high - sheet.smallest_piece_m)
    for level in sorted(levels, key=lambda one: -levels[one]):
        wanted += [level, level - width]
    found: list[float] = []
    for start in wanted:
        first = low - (low - start) % pitch
        if all(abs(first - other) > 0.002 for other in found):
            found.append(first)
    return found[:MOST_STARTS]


def make_strips(floor: shapely.Geometry, sheet: Sheet, start: float) -> tuple[list[Part], float]:
    """Strips from a start line on, clipped to the floor; and the length of the seams between them."""
    left, low, right, high = floor.bounds
    gap = sheet.seam_gap_m
    first = start - math.ceil((start - low) / sheet.pitch_m - 1e-9) * sheet.pitch_m
    parts: list[Part] = []
    seam, strip, y = 0.0, 0, first
    while y < high - NEAR_M:
        clipped = shapely.clip_by_rect(floor, left - 1, y, right + 1, y + sheet.width_m)
        shapes = [one for one in polygons(clipped) if not _is_thin(one, gap)]
        for shape in shapes:
            whole, slit = _slit(shape, gap)
            seam += slit
            parts.append(Part(strip, whole))
        strip += bool(shapes)
        between = shapely.clip_by_rect(floor, left - 1, y + sheet.width_m, right + 1, y + sheet.pitch_m)
        seam += float(between.area) / gap
        y += sheet.pitch_m
    return parts, seam


def polygons(shape: shapely.Geometry) -> list[Polygon]:
    return [part for part in shapely.get_parts(shape) if isinstance(part, Polygon) and part.area > 1e-9]


def _is_thin(shape: Polygon, gap: float) -> bool:
    """Whether a shape is nowhere wider than half a seam: then it is left open with the seam beside it."""
    return min(size_of(shape)) < gap / 2 or (shape.area < 0.05 and shape.buffer(-gap / 4).is_empty)


def size_of(shape: Polygon) -> tuple[float, float]:
    """Length along and width across. [m]"""
    x0, y0, x1, y1 = shape.bounds
    return x1 - x0, y1 - y0


def _slit(shape: Polygon, gap: float) -> tuple[Polygon, float]:
    """A shape whose holes are opened by slits to its edge, and the length of these."""
    slit = 0.0
    while shape.interiors:
        hole = Polygon(shape.interiors[0])
        at = hole.representative_point()
        _, low, _, high = shape.bounds
        for end in (high + 1, low - 1):
            cut = shapely.box(at.x - gap / 2, min(at.y, end), at.x + gap / 2, max(at.y, end))
            left = polygons(shape.difference(cut))
            if len(left) == 1:
                break
        slit += float(shape.area - left[0].area) / gap
        shape = left[0]
    return shape, slit


def divide(part: Part, lengths: Sequence[float], sheet: Sheet, trial: Trial) -> list[Polygon]:
    """The shapes of a part's pieces end to end; one shape where the part cannot be divided so."""
    if len(lengths) == 1:
        return [part.shape]
    gap = sheet.seam_gap_m
    x0, y0, x1, y1 = part.box
    shapes, left, seam = [], x0, 0.0
    for number, length in enumerate(lengths):
        right = x1 if number == len(lengths) - 1 else left + length
        inside = polygons(shapely.clip_by_rect(part.shape, left, y0 - 1, right, y1 + 1))
        if len(inside) != 1:
            return []
        shapes.append(inside[0])
        if right < x1:
            seam += float(shapely.clip_by_rect(part.shape, right, y0 - 1, right + gap, y1 + 1).area) / gap
        left = right + gap
    trial.seam += seam
    return shapes


def divide_at_steps(part: Part, sheet: Sheet, trial: Trial) -> list[Part]:
    """A part divided along its length so that the boxes round its pieces are least, joints counted."""
    length, width = size_of(part.shape)
    if length * width - part.shape.area < 0.02 or length < 2 * sheet.smallest_piece_m:
        return [part]
    x0, y0, x1, y1 = part.box
    gap = sheet.seam_gap_m
    marks = sorted({round(float(x), 4) for x in shapely.get_coordinates(part.shape)[:, 0]})
    marks = [x for x in marks if x0 + gap < x < x1 - gap]
    marks = marks[:: math.ceil(len(marks) / MOST_STEPS)] if marks else []
    ends = [x0 - gap / 2, *marks, x1 + gap / 2]
    best: list[tuple[float, int, list[Polygon]]] = [(0.0, -1, [])]
    for last in range(1, len(ends)):
        found = (math.inf, -1, [])
        for first in range(last):
            if best[first][0] == math.inf:
                continue
            left, right = ends[first] + gap / 2, ends[last] - gap / 2
            if right - left < sheet.smallest_piece_m - NEAR_M:
                continue
            shapes = polygons(shapely.clip_by_rect(part.shape, left, y0 - 1, right, y1 + 1))
            shapes = [shape for shape in shapes if not _is_thin(shape, gap)]
            cost = best[first][0] + sum(_box_cost(shape, sheet) for shape in shapes)
            if cost < found[0] - 1e-9:
                found = cost, first, shapes
        best.append(found)
    if best[-1][0] == math.inf:
        return [part]
    chosen: list[Part] = []
    last = len(ends) - 1
    while last > 0:
        _, first, shapes = best[last]
        chosen += [Part(part.strip, shape) for shape in shapes]
        if first > 0:
            at = ends[first]
            joint = shapely.clip_by_rect(part.shape, at - gap / 2, y0 - 1, at + gap / 2, y1 + 1)
            trial.seam += float(joint.area) / gap
        last = first
    return chosen[::-1]


def _box_cost(shape: Polygon, sheet: Sheet) -> float:
    """What the box round a piece is worth, a little more where it is under the smallest. [m2]"""
    length, width = size_of(shape)
    small = min(length, width) < sheet.smallest_piece_m - NEAR_M
    return length * width + PIECE_M2 + SEAM_M2 * width + SMALL_PIECE_M2 * small
