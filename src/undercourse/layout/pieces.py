"""Shapes of strips and pieces on the floor, in the plan's own coordinates."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

from undercourse.layout.stock import Part
from undercourse.layout.strips import Stretch, turn, turn_points

Floats = npt.NDArray[np.float64]
Points = Sequence[tuple[float, float]]


def place_shapes(shapes: Sequence[Points | Polygon], angle_deg: float) -> list[Polygon]:
    """Turn shapes from the strips' frame back, with coordinates in whole micrometres, still valid."""
    made: list[Any] = [None] * len(shapes)
    plain = [number for number, shape in enumerate(shapes) if not isinstance(shape, Polygon)]
    if plain:
        rings = [list(shapes[number]) for number in plain]  # type: ignore[arg-type]
        owner = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
        points = turn_points(np.array([point for ring in rings for point in ring]), angle_deg)
        polygons: Any = shapely.polygons(shapely.linearrings(np.round(points, 6), indices=owner))
        sound: Any = shapely.is_valid(polygons)
        for number, polygon, valid in zip(plain, polygons, sound, strict=True):
            made[number] = polygon if valid else _drawn(polygon)
    for number, shape in enumerate(shapes):
        if isinstance(shape, Polygon):
            made[number] = _drawn(turn(shape, angle_deg))
    return made


def _drawn(shape: Polygon) -> Polygon:
    """The shape with coordinates in whole micrometres, still valid."""
    rounded: Any = shapely.set_precision(shapely.make_valid(shape) if not shape.is_valid else shape, 1e-6)
    parts = [part for part in shapely.get_parts(rounded) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: float(part.area), default=shape)


def part_shape(part: Part, stretch: Stretch) -> Points | Polygon:
    """A piece in the strips' frame."""
    return stretch.profile.outline(part.left, part.right) if part.shape is None else part.shape


def strip_shape(parts: Sequence[Part], stretch: Stretch) -> Points | Polygon:
    """The strip that pieces make end to end, with the gaps between them."""
    left, right = min(part.left for part in parts), max(part.right for part in parts)
    if stretch.shape is None:
        return stretch.profile.outline(left, right)
    if len(parts) == 1 and parts[0].shape is not None:
        return parts[0].shape
    box = shapely.box(left, stretch.low - 1, right, stretch.high + 1)
    cut = shapely.get_parts(stretch.shape.intersection(box))
    return max((one for one in cut if isinstance(one, Polygon)), key=lambda one: float(one.area))


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
                # A slit along a wall may lie outside by part of its width.
                length = min(length, float(shape.area - largest.area) / slit_m)
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
            if not runs:  # the hole meets the edge in this corner
                x, y = float(corner[0]), float(corner[1])
                made.append((shapely.box(x - slit_m, y - slit_m, x + slit_m, y + slit_m), 0.0))
            else:
                run = min(runs, key=lambda run: float(run.distance(shapely.Point(corner))))
                points = np.asarray(run.coords)
                start, end = points[:, axis].min() - 2 * slit_m, points[:, axis].max() + 2 * slit_m
                side = corner[1 - axis]
                low, high = (side - slit_m / 2, start), (side + slit_m / 2, end)
                cut = shapely.box(*low, *high) if axis == 1 else shapely.box(*low[::-1], *high[::-1])
                made.append((cut, float(run.length)))
    return made
