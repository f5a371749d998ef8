"""Lines across a region: where they run inside it, where they cut it, and which walls they lie along."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import LineString, MultiLineString, Polygon

from undercourse.layout.outlines import rings

WALL_M = 1e-5
"""A line this near to a wall runs along it. [m]"""

SHORTEST_M = 0.001
"""Shorter stretches are no joint. [m]"""

SAME_LINE_M = 0.02
"""Given lines this near to each other are one joint. [m]"""


def runs_at(region: Polygon, places: Sequence[float], axis: int) -> list[list[LineString]]:
    """For every place the stretches inside a region of the line at that x (axis 0) or y (axis 1)."""
    found: list[list[LineString]] = [[] for _ in places]
    if not found:
        return found
    left, low, right, high = region.bounds
    ends = np.array([low - 1, high + 1] if axis == 0 else [left - 1, right + 1])
    lines = np.empty((len(places), 2, 2))
    lines[:, :, axis] = np.asarray(places)[:, None]
    lines[:, :, 1 - axis] = ends
    inside = np.asarray(shapely.intersection(region, shapely.linestrings(lines)))
    walls = shapely.get_coordinates(region.boundary)[:, axis]
    along = np.abs(walls[None, :] - np.asarray(places)[:, None]).min(axis=1) < WALL_M
    if along.any():
        # What runs along a wall is no joint; the rest gets back what the wall's width took off its ends.
        inside[along] = shapely.difference(inside[along], region.boundary.buffer(WALL_M))
    parts, owner = shapely.get_parts(inside, return_index=True)
    good = (shapely.get_type_id(parts) == 1) & (shapely.length(parts) > SHORTEST_M)
    for part, place in zip(parts[good], owner[good], strict=True):
        found[place].append(longer(part, WALL_M) if along[place] else part)
    return found


def longer(line: LineString, by_m: float = 1e-4) -> LineString:
    """The line, a hair longer at both ends, so that it cuts through."""
    points = np.asarray(line.coords)
    ahead = (points[-1] - points[0]) / max(line.length, 1e-12) * by_m
    return LineString([points[0] - ahead, points[-1] + ahead])


def cut_region(region: Polygon, lines: Sequence[LineString]) -> list[Polygon]:
    """Parts of a region between lines."""
    if not lines:
        return [region]
    net = shapely.union_all([region.boundary, MultiLineString([longer(line) for line in lines])])
    faces = shapely.get_parts(shapely.polygonize(shapely.get_parts(net)))
    spots = shapely.point_on_surface(faces)
    return [
        face for face, spot in zip(faces, spots, strict=True) if face.area > 1e-6 and region.contains(spot)
    ]


def walls_square_to(region: Polygon, axis: int) -> list[float]:
    """Where walls run square to an axis, the longest first; without any, where its corners lie."""
    found: dict[float, float] = {}
    for ring in rings(region):
        ahead = np.roll(ring, -1, axis=0) - ring
        for start, step in zip(ring[:, axis], ahead, strict=True):
            if abs(step[axis]) < 1e-3 < abs(step[1 - axis]):
                place = round(float(start), 4)
                found[place] = found.get(place, 0.0) + abs(float(step[1 - axis]))
    if not found:
        return sorted({round(float(value), 4) for value in np.concatenate(rings(region))[:, axis]})
    return sorted(found, key=lambda place: (-round(found[place], 3), place))


def own_parts(floor: Polygon, line: LineString, before: Sequence[LineString]) -> list[LineString]:
    """The stretches of a given line inside the floor, less what runs along walls or along another joint."""
    inside = floor.intersection(line).difference(floor.boundary.buffer(WALL_M))
    taken = shapely.union_all([other.buffer(SAME_LINE_M) for other in before])
    found = []
    for part in shapely.get_parts(inside):
        own = [part]
        if part.intersection(taken).length > 5 * SAME_LINE_M:  # what only crosses it keeps its length
            own = list(shapely.get_parts(part.difference(taken)))
        found += [one for one in own if isinstance(one, LineString) and one.length > SHORTEST_M]
    return [longer(one, WALL_M) if len(one.coords) == 2 else one for one in found]
