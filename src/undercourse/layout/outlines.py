"""Outlines of areas: what is wrong with one, and what follows from its shape alone."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon
from shapely.geometry.base import BaseGeometry
from shapely.validation import explain_validity

from undercourse.base.problems import Problem, Problems

SMALLEST_M = 0.1
"""An area that is smaller than this both ways is taken for a wrong unit. [m]"""

LARGEST_M = 1000.0
"""An area that is larger than this is taken for a wrong unit. [m]"""

CORNER_DEG = 30.0
"""A change of direction from here on counts as a corner; less is a bend of a curved wall. [deg]"""

SLIVER_M = 0.0005
"""Anything thinner than this is rounding in the plan, not a piece. [m]"""

Ring = Sequence[Sequence[float]]


def _ring_problems(ring: Any, where: str) -> tuple[list[tuple[float, float]], list[Problem]]:
    """Read one ring of points; return its points and what is wrong with them."""
    points: list[tuple[float, float]] = []
    if isinstance(ring, str) or not isinstance(ring, Iterable):
        return [], [Problem(where, f"{ring!r} is no list of points", "write [[x, y], …] in metres")]
    for number, point in enumerate(ring, start=1):
        try:
            pair = list(point)[:2]
            if isinstance(point, str) or any(isinstance(value, str | bool) for value in pair):
                raise TypeError
            x, y = (float(value) for value in pair)
        except (TypeError, ValueError, OverflowError):
            return [], [
                Problem(f"{where}, point {number}", f"{point!r} is no point", "write [x, y] in metres")
            ]
        if not (math.isfinite(x) and math.isfinite(y)):
            fix = "give finite coordinates"
            return [], [Problem(f"{where}, point {number}", f"[{x}, {y}] is not finite", fix)]
        spot = (round(x, 7) + 0.0, round(y, 7) + 0.0)  # below this it is noise, which upsets geometry
        if not points or spot != points[-1]:
            points.append(spot)
    if len(points) > 1 and points[0] == points[-1]:
        points.pop()
    if len(set(points)) < 3:
        found = len(set(points))
        return [], [Problem(where, f"{found} different points", "an outline needs at least 3 corners")]
    return points, []


def _shape_problems(ring: list[tuple[float, float]], where: str, smallest_m: float) -> list[Problem]:
    """List what is wrong with the shape that one ring encloses."""
    points = np.asarray(ring)
    across = np.ptp(points, axis=0)
    if across.max() > LARGEST_M or np.abs(points).max() > 1e7:
        reach = max(float(across.max()), float(np.abs(points).max()))
        fix = f"check the unit: outlines are in metres, at most {LARGEST_M:g} m across, near the origin"
        return [Problem(where, f"reaches over {reach:g} m", fix)]
    if across.max() < smallest_m:
        what = f"only {across[0]:g} m by {across[1]:g} m"
        return [Problem(where, what, "check the unit; outlines are in metres")]
    polygon = Polygon(ring)
    if not polygon.is_valid:
        reason = explain_validity(polygon)
        if "[" in reason:
            spot = reason[reason.index("[") + 1 : -1].split()
            reason = f"{reason.split('[')[0].lower()} at ({float(spot[0]):.3f}, {float(spot[1]):.3f})"
        if polygon.convex_hull.area < 1e-6:
            return [Problem(where, "encloses no area", "list the corners in order around the area")]
        fix = "list the corners in order around the area, so that no two sides cross or touch"
        return [Problem(where, f"the outline crosses or touches itself ({reason})", fix)]
    if polygon.area < 1e-6:
        return [Problem(where, "encloses no area", "list the corners in order around the area")]
    return []


def check_outline(
    outline: Polygon | Ring | Any, obstacles: Sequence[Ring] | Any = (), where: str = "outline"
) -> list[Problem]:
    """List everything that keeps an outline from being laid in; empty when nothing does.

    Parameters
    ----------
    outline : Polygon or sequence of points
        The area's edge, in metres; a polygon's holes are obstacles.
    obstacles : sequence of rings
        Columns, shafts, fixed islands, in metres.
    where : str
        What to call the outline in the problems.
    """
    return _read_outline(outline, obstacles, where)[1]


def make_outline(
    outline: Polygon | Ring | Any, obstacles: Sequence[Ring] | Any = (), where: str = "outline"
) -> Polygon:
    """Make the polygon of an area from points in metres; obstacles are cut out of it.

    Raises
    ------
    Problems
        With everything that `check_outline` lists.
    """
    polygon, problems = _read_outline(outline, obstacles, where)
    if polygon is None or problems:
        raise Problems(problems)
    return polygon


def _read_outline(outline: Any, obstacles: Any, where: str) -> tuple[Polygon | None, list[Problem]]:
    if isinstance(outline, BaseGeometry):
        if not isinstance(outline, Polygon) or outline.is_empty:
            kind = "empty" if outline.is_empty else f"a {outline.geom_type}"
            return None, [Problem(where, f"the outline is {kind}", "give one polygon an area")]
        holes: list[Any] = [list(ring.coords) for ring in outline.interiors]
        outline, obstacles = list(outline.exterior.coords), [*holes, *obstacles]
    ring, problems = _ring_problems(outline, where)
    problems = problems or _shape_problems(ring, where, SMALLEST_M)
    floor = None if problems else Polygon(ring)
    if isinstance(obstacles, str) or not isinstance(obstacles, Iterable):
        return None, [
            *problems,
            Problem(where, "the obstacles are no list", "write [[[x, y], …], …] in metres"),
        ]
    cuts = []
    for number, obstacle in enumerate(obstacles, start=1):
        place = f"{where}, obstacle {number}"
        corners, found = _ring_problems(obstacle, place)
        found = found or _shape_problems(corners, place, 0.0)
        if not found and floor is not None:
            shape = Polygon(corners)
            if not floor.intersects(shape) or floor.intersection(shape).area < 1e-9:
                found = [Problem(place, "lies outside the area", "move it inside or leave it out")]
            elif floor.difference(shape).area < 1e-6:
                found = [Problem(place, "covers the whole area", "leave out the area or the obstacle")]
            else:
                cuts.append(shape)
        problems += found
    if floor is None or problems:
        return None, problems
    left = floor.difference(shapely.union_all(cuts)) if cuts else floor
    if not isinstance(left, Polygon):
        parts = [part for part in shapely.get_parts(left) if isinstance(part, Polygon) and part.area > 1e-6]
        if len(parts) != 1:
            what = f"the obstacles cut the area into {len(parts)} parts"
            return None, [Problem(where, what, "give each part as an area of its own")]
        left = parts[0]
    return left, []


def rings(polygon: Polygon) -> list[npt.NDArray[np.float64]]:
    """The rings of a polygon, edge first (counter-clockwise), then holes (clockwise), not closed."""
    turned = shapely.geometry.polygon.orient(polygon)
    return [np.asarray(ring.coords)[:-1, :2] for ring in (turned.exterior, *turned.interiors)]


def _plain(polygon: Polygon) -> Polygon:
    """The polygon without corners that are only rounding."""
    simple = polygon.simplify(SLIVER_M)
    return simple if isinstance(simple, Polygon) and not simple.is_empty else polygon


def _turns(ring: npt.NDArray[np.float64]) -> npt.NDArray[np.float64]:
    """Change of direction at each corner of a ring, positive to the left. [rad]"""
    ahead = np.roll(ring, -1, axis=0) - ring
    angle = np.arctan2(ahead[:, 1], ahead[:, 0])
    turn = angle - np.roll(angle, 1)
    return (turn + np.pi) % (2 * np.pi) - np.pi


def count_corners(polygon: Polygon, corner_deg: float = CORNER_DEG) -> tuple[int, int]:
    """Count inside and outside corners of an area and its obstacles.

    An inside corner is one that a person standing in the area looks into (a rectangle has 4); an outside
    corner juts into the area (a square column has 4). Changes of direction below ``corner_deg`` are bends.
    """
    limit = math.radians(corner_deg)
    turns = np.concatenate([_turns(ring) for ring in rings(_plain(polygon))])
    return int(np.sum(turns >= limit)), int(np.sum(turns <= -limit))


def edge_directions(polygon: Polygon) -> list[float]:
    """Directions of an area's edges, the one with most length first. [deg, 0 to below 180]

    Edges within half a degree count as one direction; each direction is followed by no perpendicular
    unless an edge has it.
    """
    lengths: list[tuple[float, float]] = []
    for ring in rings(_plain(polygon)):
        ahead = np.roll(ring, -1, axis=0) - ring
        for dx, dy in ahead:
            lengths.append((math.degrees(math.atan2(dy, dx)) % 180.0, math.hypot(dx, dy)))
    groups: list[list[float]] = []  # longest edge's direction, total length
    for angle, length in sorted(lengths, key=lambda item: (-item[1], item[0])):
        for group in groups:
            if abs((angle - group[0] + 90.0) % 180.0 - 90.0) <= 0.5:
                group[1] += length
                break
        else:
            groups.append([angle, length])
    groups.sort(key=lambda group: (-group[1], group[0]))
    return [_snap(group[0]) for group in groups]


def _snap(angle_deg: float) -> float:
    """Angles that are square to the axes but for rounding are made square. [deg]"""
    for square in (0.0, 90.0, 180.0):
        if abs(angle_deg - square) < 1e-4:
            return square % 180.0
    return angle_deg


def inset(polygon: Polygon, gap_m: float) -> list[Polygon]:
    """The parts of an area that lie at least ``gap_m`` from its edges and obstacles.

    Necks narrower than twice the gap vanish, so that one area may fall into several parts.
    """
    with np.errstate(all="ignore"):  # sharp corners divide by nearly nothing inside the library
        inner = polygon.buffer(-gap_m, join_style="mitre", mitre_limit=2.0) if gap_m > 0 else polygon
    parts = [part for part in shapely.get_parts(inner) if isinstance(part, Polygon)]
    return [part for part in parts if part.area > SLIVER_M**2]
