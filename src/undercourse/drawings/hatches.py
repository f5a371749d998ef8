"""Hatches as plain line work on paper, so that no page needs a pattern, an identifier or a colour.

Kinds of material follow what drawing offices commonly use (common practice, no source); membranes differ
from one another by hatch. All lengths are millimetres on paper. Dots are scattered by a fixed arithmetic
sequence: the same outline always gets the same dots.
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass

import shapely
from shapely.affinity import rotate
from shapely.geometry import LineString, MultiLineString, Polygon

Points = tuple[tuple[float, float], ...]


@dataclass(frozen=True)
class Hatching:
    """Lines and dots that fill an outline; ``blocks`` are small filled areas."""

    lines: tuple[Points, ...] = ()
    dots: tuple[tuple[float, float, float], ...] = ()
    blocks: tuple[Points, ...] = ()


def _clip(lines: list[LineString], outline: Polygon) -> tuple[Points, ...]:
    if not lines:
        return ()
    cut = shapely.intersection(MultiLineString(lines), outline)
    parts = [g for g in shapely.get_parts(cut) if g.geom_type == "LineString" and g.length > 0.15]
    return tuple(sorted(tuple((float(x), float(y)) for x, y in part.coords) for part in parts))


def _ruled(outline: Polygon, angle_deg: float, gap: float) -> list[LineString]:
    """Parallel lines over the outline, counted from the sheet's origin so that neighbors line up."""
    turned = rotate(outline, -angle_deg, origin=(0, 0))
    low_x, low_y, high_x, high_y = turned.bounds
    rows = range(math.ceil(low_y / gap), math.floor(high_y / gap) + 1)
    flat = [LineString([(low_x - 1, row * gap), (high_x + 1, row * gap)]) for row in rows]
    return [rotate(line, angle_deg, origin=(0, 0)) for line in flat]


def _ruled_hatch(*rules: tuple[float, float]) -> Callable[[Polygon], Hatching]:
    def fill(outline: Polygon) -> Hatching:
        lines = [line for angle, gap in rules for line in _ruled(outline, angle, gap)]
        return Hatching(lines=_clip(lines, outline))

    return fill


def _scatter(outline: Polygon, spacing: float) -> list[tuple[float, float]]:
    """One point in every cell of a grid inside the outline, moved about by a linear congruential sequence."""
    low_x, low_y, high_x, high_y = outline.bounds
    columns = max(1, round((high_x - low_x) / spacing))
    rows = max(1, round((high_y - low_y) / spacing))
    step_x, step_y = (high_x - low_x) / columns, (high_y - low_y) / rows
    inner = outline.buffer(-0.3)
    points, state = [], 1
    for row in range(rows):
        for column in range(columns):
            state = (state * 1103515245 + 12345) % 2**31
            across = 0.15 + 0.7 * (state >> 16) / 2**15
            state = (state * 1103515245 + 12345) % 2**31
            down = 0.15 + 0.7 * (state >> 16) / 2**15
            points.append((low_x + (column + across) * step_x, low_y + (row + down) * step_y))
    return [p for p in points if shapely.contains_xy(inner, *p)]


def _dots(spacing: float, radius: float) -> Callable[[Polygon], Hatching]:
    def fill(outline: Polygon) -> Hatching:
        return Hatching(dots=tuple((x, y, radius) for x, y in _scatter(outline, spacing)))

    return fill


def _concrete(outline: Polygon) -> Hatching:
    """Dots for sand and small open triangles for stone."""
    points = _scatter(outline, 2.1)
    dots = tuple((x, y, 0.16) for i, (x, y) in enumerate(points) if i % 3)
    stones = []
    for i, (x, y) in enumerate(points):
        if i % 3 == 0:
            turn, size = i * 2.4, 0.75
            corners = [
                (x + size * math.cos(turn + k * 2.0944), y + size * math.sin(turn + k * 2.0944))
                for k in range(4)
            ]
            stones.append(LineString(corners))
    return Hatching(lines=_clip(stones, outline), dots=dots)


def _plies(outline: Polygon) -> Hatching:
    """Ply lines, with end grain ticks in every second ply."""
    low_x, low_y, high_x, high_y = outline.bounds
    plies = max(3, 2 * round((high_y - low_y) / 4.4) + 1)
    step = (high_y - low_y) / plies
    lines = [LineString([(low_x, low_y + k * step), (high_x, low_y + k * step)]) for k in range(1, plies)]
    for k in range(1, plies, 2):
        ticks = int((high_x - low_x) / 1.3)
        for i in range(ticks):
            x = low_x + (i + 0.5) * 1.3
            lines.append(LineString([(x, low_y + (k + 0.2) * step), (x + 0.25, low_y + (k + 0.8) * step)]))
    return Hatching(lines=_clip(lines, outline))


def _grain(outline: Polygon) -> Hatching:
    """Long grain of sawn wood: broken lines of uneven length."""
    low_x, low_y, high_x, high_y = outline.bounds
    lines = []
    for row in range(1, int((high_y - low_y) / 1.5) + 1):
        y, x = low_y + row * 1.5, low_x - (row * 7.3 % 11)
        while x < high_x:
            length = 9 + (row * 5 + x) % 13
            sag = [(x + length * t / 6, y + 0.18 * math.sin(t * math.pi / 6)) for t in range(7)]
            lines.append(LineString(sag))
            x += length + 2.2
    return Hatching(lines=_clip(lines, outline))


def _studs(outline: Polygon) -> Hatching:
    """Cavities of an uncoupling sheet: one square wave from top to bottom."""
    low_x, low_y, high_x, high_y = outline.bounds
    inset = min(0.35, (high_y - low_y) * 0.2)
    bottom, top = low_y + inset, high_y - inset
    wave: list[tuple[float, float]] = []
    x = low_x + 0.6
    while x < high_x:
        wave += [(x, bottom), (x + 0.35, top), (x + 1.65, top), (x + 2.0, bottom)]
        x += 3.2
    return Hatching(lines=_clip([LineString(wave)], outline)) if len(wave) > 1 else Hatching()


def _band(outline: Polygon) -> Hatching:
    """The common sign of a membrane: filled and open lengths in turn."""
    low_x, low_y, high_x, high_y = outline.bounds
    inset = (high_y - low_y) * 0.22
    blocks = []
    x = low_x + 1
    while x + 3 < high_x:
        blocks.append(
            ((x, low_y + inset), (x + 3, low_y + inset), (x + 3, high_y - inset), (x, high_y - inset))
        )
        x += 5
    return Hatching(blocks=tuple(blocks))


def _rings(outline: Polygon) -> Hatching:
    """Round grains of a sound mat: one row of rings for every 1.6 mm of height."""
    low_x, low_y, high_x, high_y = outline.bounds
    rows = max(1, int((high_y - low_y) / 1.6))
    step = (high_y - low_y) / rows
    radius = min(0.6, step * 0.36)
    rings = []
    for row in range(rows):
        y = low_y + (row + 0.5) * step
        x = low_x + 0.9 + 0.9 * (row % 2)
        while x < high_x - radius:
            circle = [
                (x + radius * math.cos(k * math.pi / 5), y + radius * math.sin(k * math.pi / 5))
                for k in range(11)
            ]
            rings.append(LineString(circle))
            x += 1.8
    return Hatching(lines=_clip(rings, outline))


def _cables(outline: Polygon) -> Hatching:
    """Studs of a heat sheet with cables lying between them."""
    low_x, low_y, high_x, high_y = outline.bounds
    radius = min(0.8, (high_y - low_y) * 0.22)
    middle = (low_y + high_y) / 2
    count = int((high_x - low_x - 3.8 - radius) / 6.4) + 1
    dots = tuple((low_x + 3.2 + 6.4 * k, middle, radius) for k in range(max(count, 0)))
    return Hatching(lines=_studs(outline).lines, dots=dots)


def _zigzag(outline: Polygon) -> Hatching:
    """Insulation: one zigzag from top to bottom."""
    low_x, low_y, high_x, high_y = outline.bounds
    step = max(1.2, (high_y - low_y) * 0.35)
    points = []
    for k in range(int((high_x - low_x) / step) + 1):
        points.append((low_x + k * step, high_y - 0.3 if k % 2 else low_y + 0.3))
    return Hatching(lines=_clip([LineString(points)], outline)) if len(points) > 1 else Hatching()


def _no_hatch(outline: Polygon) -> Hatching:
    return Hatching()


HATCHES: dict[str, Callable[[Polygon], Hatching]] = {
    "none": _no_hatch,
    "tile": _ruled_hatch((45, 1.9)),
    "mortar": _dots(1.1, 0.15),
    "leveler": _dots(1.9, 0.26),
    "gypsum": _ruled_hatch((30, 2.6), (-30, 2.6)),
    "concrete": _concrete,
    "plies": _plies,
    "grain": _grain,
    "studs": _studs,
    "band": _band,
    "rings": _rings,
    "cables": _cables,
    "cross": _ruled_hatch((45, 1.5), (-45, 1.5)),
    "upright": _ruled_hatch((90, 1.1)),
    "steep": _ruled_hatch((65, 1.2)),
    "zigzag": _zigzag,
    "obstacle": _ruled_hatch((45, 2.2)),
    "offcut": _ruled_hatch((-45, 2.6)),
}


def hatch_outline(name: str, outline: Points, holes: tuple[Points, ...] = ()) -> Hatching:
    """Line work of a named hatch within an outline on paper. [mm]"""
    polygon = Polygon(outline, holes)
    if polygon.area <= 0 or not polygon.is_valid:
        return Hatching()
    return HATCHES[name](polygon)
