"""Small faults of drawn outlines: mended where only one reading is possible, and listed."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from typing import Any

import shapely
from shapely import Polygon

from undercourse.base.problems import Problem
from undercourse.layout.outlines import SLIVER_M, check_outline

SAME_M = SLIVER_M
"""Corners nearer than this are one. [m]"""

HOLE_M2 = 1e-4
"""Smaller obstacles are marks of the pen, not fixed parts of a floor. [m2]"""

NARROWEST_M = 0.02
"""An outline that is nowhere wider than this is no floor. [m]"""

MOST_CORNERS = 20_000
"""An outline with more is a scan, not a drawing."""

MOST_LISTED = 3
"""So many repairs of one kind are listed one by one; the rest as a count."""

Corner = tuple[float, float]


@dataclass(frozen=True, order=True)
class Repair:
    """One thing that was mended: what, where (in the plan's metres), and how large it was."""

    what: str
    at: Corner | None = None
    size_m: float | None = None

    def __str__(self) -> str:
        text = self.what
        if self.size_m is not None and self.size_m >= 1e-5:
            text += f", {_length(self.size_m)}"
        if self.at is not None:
            text += f", at ({self.at[0]:.3f}, {self.at[1]:.3f}) m"
        return text


@dataclass
class Mended:
    """An outline after its repairs; without a polygon where problems are left."""

    polygon: Polygon | None
    repairs: list[Repair] = field(default_factory=list)
    problems: list[Problem] = field(default_factory=list)


def mend_outline(outline: Any, obstacles: Sequence[Any] = (), where: str = "outline") -> Mended:
    """Mend small faults of an outline and its obstacles, and check what is left.

    Corners given twice, spikes, rings that touch themselves, loops and slivers no wider than half a
    millimeter, and obstacles below 1 cm2 are mended. What could be read in two ways is left as a problem.

    Parameters
    ----------
    outline : sequence of points
        The area's edge. [m]
    obstacles : sequence of rings
        Columns, shafts, islands. [m]
    where : str
        What to call the outline in problems.
    """
    repairs: list[Repair] = []
    corners = _corners(outline)
    if corners is None:
        return Mended(None, [], check_outline(outline, obstacles, where))
    if len(corners) > MOST_CORNERS:
        fix = f"simplify it to at most {MOST_CORNERS} corners"
        return Mended(None, [], [Problem(where, f"{len(corners)} corners are too many", fix)])
    floor = _mend_ring(corners, repairs)
    holes: list[Any] = []
    for obstacle in obstacles if isinstance(obstacles, Iterable) else ():
        hole = _corners(obstacle)
        if hole is None:
            holes.append(obstacle)
            continue
        shape = _mend_ring(hole, repairs)
        if _is_pen_mark(shape):
            repairs.append(Repair("an obstacle below 1 cm² was left out", hole[0]))
        else:
            holes.append(_ring_of(shape, hole))
    inner = [_ring_of(Polygon(ring), []) for ring in floor.interiors] if isinstance(floor, Polygon) else []
    ring = _ring_of(floor, corners)
    problems = check_outline(ring, [*inner, *holes], where)
    cut = _cut(ring, [*inner, *holes], repairs) if not problems or _only_parts(problems) else None
    if cut is not None:
        problems = check_outline(cut, (), where)
    if not problems and (cut is None or cut.buffer(-NARROWEST_M / 2).is_empty):
        what = f"is nowhere wider than {NARROWEST_M * 1000:g} mm"
        problems = [Problem(where, what, "check the unit, or leave it out")]
    return Mended(None if problems else cut, listed(repairs), problems)


def listed(repairs: Sequence[Repair]) -> list[Repair]:
    """The repairs without needless length: of each kind the first few, and how many more."""
    kinds: dict[str, list[Repair]] = {}
    for repair in repairs:
        kinds.setdefault(repair.what, []).append(repair)
    found: list[Repair] = []
    for what, group in kinds.items():
        found += group[:MOST_LISTED]
        more = group[MOST_LISTED:]
        if more:
            sizes = [repair.size_m for repair in more if repair.size_m is not None]
            found.append(Repair(f"{len(more)} times more: {what}", None, max(sizes, default=None)))
    return found


def _length(size_m: float) -> str:
    return f"{size_m * 1000:.3g} mm" if size_m < 0.1 else f"{size_m:.3f} m"


def _corners(ring: Any) -> list[Corner] | None:
    """The corners of a ring, not closed; None where it is not one (which `check_outline` then tells)."""
    try:
        found = [(float(point[0]), float(point[1])) for point in ring]
    except (TypeError, ValueError, IndexError, KeyError, OverflowError):
        return None
    if isinstance(ring, str) or not all(math.isfinite(x) and math.isfinite(y) for x, y in found):
        return None
    if len(found) > 1 and found[0] == found[-1]:
        found.pop()
    return found if len(found) >= 3 else None


def _ring_of(shape: Polygon | None, corners: list[Corner]) -> list[Corner]:
    if shape is None:
        return corners
    return [(float(x), float(y)) for x, y, *_ in list(shape.exterior.coords)[:-1]]


def _mend_ring(corners: list[Corner], repairs: list[Repair]) -> Polygon | None:
    """One ring without doubled corners, spikes and touching; None where it is not to be mended."""
    kept = _without_spikes(_without_doubles(corners, repairs), repairs)
    if len(kept) < 3:
        return None
    shape = Polygon(kept)
    return shape if shape.is_valid else _untouched(shape, repairs)


def _without_doubles(corners: list[Corner], repairs: list[Repair]) -> list[Corner]:
    kept: list[Corner] = []
    found: list[Repair] = []
    for corner in corners:
        if kept and math.dist(corner, kept[-1]) < SAME_M:
            found.append(Repair("a corner was given twice", corner, math.dist(corner, kept[-1])))
        else:
            kept.append(corner)
    while len(kept) > 1 and math.dist(kept[0], kept[-1]) < SAME_M:
        found.append(Repair("a corner was given twice", kept[-1], math.dist(kept[0], kept[-1])))
        kept.pop()
    if len(kept) < 3:
        return corners
    repairs += found
    return kept


def _without_spikes(corners: list[Corner], repairs: list[Repair]) -> list[Corner]:
    """The ring without corners where it goes out and comes back along the same line."""
    kept, place, found, calm = list(corners), 0, [], 0
    while len(kept) > 3 and calm < len(kept):
        before, tip, after = kept[place - 1], kept[place % len(kept)], kept[(place + 1) % len(kept)]
        length = _spike(before, tip, after)
        if length is None:
            place, calm = (place + 1) % len(kept), calm + 1
            continue
        found.append(Repair("a spike was cut off", tip, length))
        kept.pop(place % len(kept))
        place = (place - 1) % len(kept)
        if math.dist(kept[place], kept[(place + 1) % len(kept)]) < SAME_M and len(kept) > 3:
            kept.pop((place + 1) % len(kept))
            place %= len(kept)
        calm = 0
    if len(kept) <= 3 and not Polygon(kept).area > HOLE_M2:
        return corners
    repairs += found
    return kept


def _spike(before: Corner, tip: Corner, after: Corner) -> float | None:
    """The length of a spike, or None where the corner is an honest one. [m]"""
    one = (before[0] - tip[0], before[1] - tip[1])
    other = (after[0] - tip[0], after[1] - tip[1])
    if math.hypot(*one) > math.hypot(*other):
        one, other = other, one
    along = one[0] * other[0] + one[1] * other[1]
    if along <= 0:
        return None
    off = abs(one[0] * other[1] - one[1] * other[0]) / math.hypot(*other)
    return math.hypot(*one) if off < SAME_M else None


def _untouched(shape: Polygon, repairs: list[Repair]) -> Polygon | None:
    """The polygon of a ring that touches itself; None where it crosses itself or falls apart.

    A ring that only touches itself encloses as much as its corners in order say (with the sign of the turn);
    one that crosses itself has loops that count against each other.
    """
    coordinates = shapely.get_coordinates(shape.exterior)
    x, y = (coordinates - coordinates[0]).T
    turned = abs(float((x[:-1] * y[1:] - x[1:] * y[:-1]).sum())) / 2
    mended = shapely.make_valid(shape)
    parts = [part for part in shapely.get_parts(mended) if isinstance(part, Polygon)]
    allowed = max(SAME_M * shape.length, 1e-9)
    if not parts or abs(sum(part.area for part in parts) - turned) > allowed:
        return None
    large = [part for part in parts if not part.buffer(-SAME_M).is_empty]
    if len(large) != 1:
        return None
    spot = shapely.get_coordinates(large[0].boundary)[0]
    for part in parts:
        if part is not large[0]:
            at = part.representative_point()
            repairs.append(Repair("a tiny loop was cut off", (at.x, at.y), math.sqrt(part.area)))
    if large[0].interiors:
        spot = shapely.get_coordinates(large[0].interiors[0])[0]
        repairs.append(Repair("an obstacle drawn as part of the outline was cut out", tuple(spot.tolist())))
    elif len(parts) == 1:
        repairs.append(Repair("the outline touched itself and was straightened", tuple(spot.tolist())))
    return large[0]


def _is_pen_mark(shape: Polygon | None) -> bool:
    return shape is not None and (shape.area < HOLE_M2 or shape.buffer(-SAME_M).is_empty)


def _only_parts(problems: list[Problem]) -> bool:
    return all("cut the area into" in problem.what for problem in problems)


def _cut(ring: list[Corner], holes: list[Any], repairs: list[Repair]) -> Polygon | None:
    """The floor that the obstacles leave, slivers left out; None where several parts are left."""
    floor = Polygon(ring)
    left = floor.difference(shapely.union_all([Polygon(hole) for hole in holes])) if holes else floor
    parts = [part for part in shapely.get_parts(left) if isinstance(part, Polygon)]
    large = [part for part in parts if not part.buffer(-SAME_M).is_empty]
    if len(large) != 1:
        return None
    for part in parts:
        if part is not large[0] and part.area > 1e-9:
            at = part.representative_point()
            repairs.append(Repair("a sliver beside an obstacle was left out", (at.x, at.y)))
    return large[0]
