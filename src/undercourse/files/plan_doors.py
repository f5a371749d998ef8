"""Door openings: where a door's symbol lies against the edge of an area."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import NamedTuple

import numpy as np
import numpy.typing as npt
import shapely
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components
from shapely import MultiPoint, Polygon, STRtree
from shapely.geometry.polygon import orient

from undercourse.files.plan_parts import Line, Point

WALL_M = 0.5
"""A door is no farther than this from the edge of the area that it opens into: a thick wall. [m]"""

THROUGH_M = 0.6
"""Edges of the two areas that a door joins are no farther apart than this. [m]"""

WIDTH_M = (0.4, 8.0)
"""Openings narrower or wider than this are no doors. [m]"""

TOGETHER_M = 0.12
"""Lines of one door are no farther apart than this. [m]"""

Floats = npt.NDArray[np.float64]


class _Edge(NamedTuple):
    owner: int
    start: Floats
    along: Floats
    length: float


def group_doors(lines: Sequence[Sequence[Point]]) -> list[list[Point]]:
    """Loose lines of doors by door: those that nearly touch belong together."""
    shapes = [shapely.LineString(line) for line in lines if len(line) > 1]
    if not shapes:
        return []
    one, other = STRtree(shapes).query(shapes, predicate="dwithin", distance=TOGETHER_M)
    links = coo_matrix((np.ones(len(one)), (one, other)), shape=(len(shapes), len(shapes)))
    number, group = connected_components(links, directed=False)
    found: list[list[Point]] = [[] for _ in range(number)]
    for shape, place in zip(shapes, group, strict=True):
        found[int(place)] += [(float(x), float(y)) for x, y in shape.coords]
    return found


def place_doors(areas: Sequence[Polygon], doors: Sequence[Sequence[Point]]) -> list[list[Line]]:
    """The openings in the edge of each area, in meters.

    The edge nearest to a door's symbol, along which the symbol lies, has the opening; so has the edge that
    faces it on the other side of the wall.
    """
    found: list[list[Line]] = [[] for _ in areas]
    edges = [edge for owner, area in enumerate(areas) for edge in _edges(owner, area)]
    if not edges or not doors:
        return found
    tree = STRtree(
        [shapely.LineString([edge.start, edge.start + edge.along * edge.length]) for edge in edges]
    )
    for door in doors:
        points = np.asarray(door, dtype=float)
        hull = MultiPoint(points).convex_hull
        near = tree.query(hull, predicate="dwithin", distance=THROUGH_M + WALL_M)
        fits = []
        for number in sorted(near.tolist()):
            span = _span(edges[number], points)
            if span is not None:
                fits.append((float(shapely.distance(tree.geometries[number], hull)), number, span))
        fits = sorted(fit for fit in fits if fit[0] <= WALL_M)
        if not fits:
            continue
        _, first, span = fits[0]
        _add(found[edges[first].owner], _line(edges[first], span))
        for number in sorted(near.tolist(), key=lambda k: (_apart(edges[first], edges[k]), k)):
            facing = edges[number]
            other = _span(facing, np.array(_line(edges[first], span)))
            if facing.owner != edges[first].owner and _faces(edges[first], facing) and other is not None:
                _add(found[facing.owner], _line(facing, other))
                break
    return found


def _add(doors: list[Line], door: Line) -> None:
    """Add an opening, unless it is one that is there, seen from its other side."""
    if not any(math.dist(_middle(door), _middle(one)) < WIDTH_M[0] / 2 for one in doors):
        doors.append(door)


def _middle(door: Line) -> Point:
    return ((door[0][0] + door[1][0]) / 2, (door[0][1] + door[1][1]) / 2)


def _edges(owner: int, area: Polygon) -> list[_Edge]:
    corners = np.asarray(orient(area).exterior.coords)[:, :2]
    ahead = np.diff(corners, axis=0)
    lengths = np.hypot(*ahead.T)
    return [
        _Edge(owner, corner, step / length, float(length))
        for corner, step, length in zip(corners[:-1], ahead, lengths, strict=True)
        if length >= WIDTH_M[0]
    ]


def _span(edge: _Edge, points: Floats) -> tuple[float, float] | None:
    """Where points lie along an edge, if nine tenths of their reach do and it is as wide as a door. [m]"""
    along = (points - edge.start) @ edge.along
    low, high = max(0.0, float(along.min())), min(edge.length, float(along.max()))
    reach = float(np.ptp(along))
    if high - low < 0.9 * reach or not WIDTH_M[0] <= high - low <= WIDTH_M[1]:
        return None
    return low, high


def _line(edge: _Edge, span: tuple[float, float]) -> Line:
    (a, b), (c, d) = ((edge.start + edge.along * place).round(6).tolist() for place in span)
    return (a, b), (c, d)


def _apart(one: _Edge, other: _Edge) -> float:
    """How far the start of an edge lies from the line of another. [m]"""
    step = other.start - one.start
    return abs(float(one.along[0] * step[1] - one.along[1] * step[0]))


def _faces(one: _Edge, other: _Edge) -> bool:
    """Whether an edge runs against another, on the far side of the wall. [areas run counter-clockwise]"""
    return float(one.along @ other.along) < -0.996 and _apart(one, other) <= THROUGH_M
