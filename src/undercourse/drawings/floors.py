"""What every plan of a floor shares: room, fixed parts, ways in, north, scale, key and sums."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, field
from typing import Any

import shapely
from shapely.geometry import Polygon as Shape
from shapely.ops import unary_union

from undercourse.base.problems import Problem, Problems
from undercourse.drawings.frame import TitleBlock, draw_scale_bar, finish_sheet
from undercourse.drawings.lettering import NORMAL, SMALL, wrap_text
from undercourse.drawings.measures import inches_text, millimetres_text
from undercourse.drawings.scene import Dimension, Point, Polygon, Polyline, RunningDimension, Scene, Text
from undercourse.drawings.sheet import (
    DASHES,
    PENS,
    SCALES,
    Fill,
    Placing,
    Sheet,
    Stroke,
    Words,
    place_scene,
    running_overrun,
    running_reach,
    scale_text,
)

JOIN_M = 0.03  # sheets this near to each other cover a floor together
CHALK_MM, TALLEST_MM, NOTE_MM = 18.0, 150.0, 40.0

Drawn = list[Polygon | Polyline | Text]
Measured = list[RunningDimension | Dimension]


@dataclass(frozen=True)
class PaperRoom:
    """What a sheet may take on paper: its width, the height of the floor in it, and the scale where it is
    held (50.0 stands for 1 : 50)."""

    width_mm: float = 170.0
    tallest_mm: float = TALLEST_MM
    scale: float | None = None


@dataclass
class FloorSheet:
    """A plan of one floor, put together before its scale is known.

    ``drawn`` gives the primitives at a scale; ``key`` the lines without a name of their own, as kind and
    words; ``sums`` head and value; ``after`` marks that need the place on paper.
    """

    room: Shape
    measured: Measured
    drawn: Callable[[float], Drawn]
    key: list[tuple[str, str]] = field(default_factory=list)
    sums: list[tuple[str, str]] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)
    after: Callable[[Sheet, Placing], None] | None = None
    crowded: bool = False
    least_scale: float = 0.0  # it is drawn no larger than this
    room_mm: PaperRoom | None = None


def finish_floor(sheet: Sheet, area: dict[str, Any], floor: FloorSheet, block: TitleBlock) -> Sheet:
    """Choose the scale, draw, and set key, sums, scale bar, notes and title block."""
    room, width_mm = floor.room, sheet.width
    scale, (left, top), beside = _fit(floor, width_mm)
    top = max(top, 24.0) if area.get("north_deg") is not None else top
    sheet.scale = scale
    scene = Scene()
    scene.add(*floor.drawn(scale), *floor.measured)
    placing = _place(sheet, scene, room, scale, (left, top))
    low_x, low_y, high_x, high_y = room.bounds
    bottom = top + (high_y - low_y) * 1000 / scale
    right = left + (high_x - low_x) * 1000 / scale
    if floor.after is not None:
        floor.after(sheet, placing)
    _draw_ways_in(sheet, area, room, placing)
    _draw_north(sheet, area, at_right=left > CHALK_MM)
    if beside:
        column = min(right + 14.0, width_mm - NOTE_MM)
        key = _draw_key(sheet, floor.key, (column, top))
        y = _draw_sums(sheet, floor.sums, (column, key), width_mm - column)
        bar = (column + 1.0, y + 9.0)
    else:
        y, half = bottom + 11.0, (len(floor.sums) + 1) // 2
        bar = (left + 1.0, _draw_key(sheet, floor.key, (left, y)) + 7.5)
        ends = [_draw_sums(sheet, floor.sums[:half], (left + 50.0, y - 2.0), 42.0)]
        ends.append(_draw_sums(sheet, floor.sums[half:], (left + 97.0, y - 2.0), width_mm - left - 97.0))
        y = max(*ends, bar[1]) - 4.0
    draw_scale_bar(sheet, bar, scale, min(44.0, width_mm - bar[0] - 6.0))
    return finish_sheet(sheet, block, max(bottom + 11.0, y + 5.0, bar[1] + 5.5), floor.notes)


def read_points(raw: Any) -> tuple[Point, ...]:
    """An outline as a tuple of points; GeoJSON's repeated last point is dropped."""
    points = tuple((float(x), float(y)) for x, y, *_ in raw or ())
    return points[:-1] if len(points) > 1 and points[0] == points[-1] else points


def _fit(floor: FloorSheet, width_mm: float) -> tuple[float, Point, bool]:
    """Scale, upper left corner of the room on the sheet, and whether the notes stand beside the plan.

    A long low room, or one of many sheets, takes the whole width, with its notes below it, if that allows a
    larger scale. A scale that is held is kept or refused.
    """
    low_x, low_y, high_x, high_y = floor.room.bounds
    paper = floor.room_mm or PaperRoom(width_mm)
    held = paper.scale
    scales = [one for one in SCALES if one >= floor.least_scale] if held is None else [held]
    found: list[tuple[float, Point, bool]] = []
    for beside in (True, False):
        for scale in scales:
            left, top = CHALK_MM, 15.0
            for item in floor.measured:
                if isinstance(item, RunningDimension):
                    reach = running_reach(item, scale) + 2.0
                    over = running_overrun(item, scale) + 2.0
                    left, top = (
                        (left, max(top, reach)) if item.along[0] else (max(left, reach), max(top, over))
                    )
            free = width_mm - left - (NOTE_MM + 9.0 if beside else 6.0)
            wide, high = (high_x - low_x) * 1000 / scale, (high_y - low_y) * 1000 / scale
            if (wide <= free and high <= paper.tallest_mm) or (held is None and scale == SCALES[-1]):
                found.append((scale, (left, top), beside))
                break
    if not found:
        size = f"{(high_x - low_x) * 1000 / scale:.0f} × {(high_y - low_y) * 1000 / scale:.0f} mm"
        room = f"{free:.0f} × {paper.tallest_mm:.0f} mm"
        what = f"at {scale_text(scale)} the floor takes {size}, and beside its distances the paper has {room}"
        raise Problems([Problem("scale", what, "choose a smaller scale or a larger paper")])
    low = (high_x - low_x) > 1.8 * (high_y - low_y)
    return found[1] if len(found) > 1 and (low or floor.crowded) and found[1][0] < found[0][0] else found[0]


def _place(sheet: Sheet, scene: Scene, room: Shape, scale: float, corner: Point) -> Placing:
    """Put the room's upper left corner, not that of what reaches beyond it, at a point of the sheet."""
    low_x, _, _, high_y = scene.bounds()
    shift_x = (room.bounds[0] - low_x) * 1000 / scale
    shift_y = (high_y - room.bounds[3]) * 1000 / scale
    return place_scene(sheet, scene, scale, corner[0] - shift_x, corner[1] - shift_y)


def read_room(area: dict[str, Any], shapes: dict[str, Shape]) -> Shape | None:
    outline = read_points(area.get("outline"))
    if len(outline) >= 3:
        return Shape(outline)
    if not shapes:
        return None
    whole = unary_union([shape.buffer(JOIN_M, join_style="mitre") for shape in shapes.values()])
    whole = whole.buffer(-JOIN_M, join_style="mitre")
    parts = [part for part in shapely.get_parts(whole) if isinstance(part, Shape)]
    return max(parts, key=lambda part: part.area)


def read_obstacles(area: dict[str, Any]) -> list[tuple[str, tuple[Point, ...]]]:
    found = []
    for raw in area.get("obstacles") or ():
        name, outline = (
            (str(raw.get("name") or ""), raw.get("outline")) if isinstance(raw, dict) else ("", raw)
        )
        points = read_points(outline)
        if len(points) >= 3:
            found.append((name, points))
    return found


def read_ring(coords: Any) -> tuple[Point, ...]:
    return read_points([(x, y) for x, y, *_ in coords])


def draw_room(area: dict[str, Any], room: Shape) -> Drawn:
    """Fixed parts with their names, and the room's outline."""
    drawn: Drawn = []
    for name, outline in read_obstacles(area):
        drawn.append(Polygon(outline, "obstacle", "medium", soft=True, name="obstacle"))
        if name:
            at = Shape(outline).representative_point()
            drawn.append(Text((at.x, at.y), name, SMALL, bold=True, shift_mm=(0, -SMALL * 0.33)))
    holes = tuple(read_ring(hole.coords) for hole in room.interiors)
    drawn.append(Polygon(read_ring(room.exterior.coords), "none", "heavy", holes, name="room"))
    return drawn


def two_lines(length_m: float) -> str:
    return f"{inches_text(length_m)}\n{millimetres_text(length_m)}"


def stations_between(
    low: float,
    high: float,
    places: Sequence[float],
    zero: float | None = None,
    first: float | None = None,
) -> tuple[tuple[float, str], ...]:
    """Running stations from one wall to the other; places beside another or beside a wall are left out.

    ``zero`` is the wall that values count from where the drawing begins further in. ``first`` is the start
    line: of the two edges of a seam all stations take the one that it takes.
    """
    start = low if zero is None else zero
    stations = [(0.0, "0" if low - start < JOIN_M else two_lines(low - start))]
    groups: list[list[float]] = []
    for place in sorted(places):
        if place - low > JOIN_M and high - place > JOIN_M:
            if groups and place - groups[-1][0] <= JOIN_M:
                groups[-1].append(place)
            else:
                groups.append([place])
    beside = [group for group in groups if first is not None and group[0] - 1e-4 <= first <= group[-1] + 1e-4]
    upper = any(first is not None and first - group[0] > group[-1] - first for group in beside)
    for group in groups:
        place = group[-1] if upper else group[0]
        stations.append((place - low, two_lines(place - start)))
    return (*stations, (high - low, two_lines(high - start)))


def across_axis(line: Sequence[Point] | None, axis: int) -> float | None:
    """Where a line square to an axis (0 for x, 1 for y) crosses it; None for any other line."""
    if not line or len(line) != 2 or abs(line[0][axis] - line[1][axis]) > JOIN_M:
        return None
    return (line[0][axis] + line[1][axis]) / 2


def touches(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def ways_in(area: dict[str, Any], room: Shape) -> list[tuple[Point, Point, str]]:
    """Where people come in: the place, the way in (y upwards, away from the nearest side), and its name."""
    spots = [(read_points([area["entrance"]])[0], "Entrance")] if area.get("entrance") else []
    doors = [read_points(door) for door in area.get("doors") or ()]
    if not spots:
        middles = [((d[0][0] + d[-1][0]) / 2, (d[0][1] + d[-1][1]) / 2) for d in doors if len(d) > 1]
        spots = [(middle, "Door") for middle in middles]
    low_x, low_y, high_x, high_y = room.bounds
    ways = []
    for (x, y), name in spots:
        sides = [(abs(x - low_x), (1.0, 0.0)), (abs(high_x - x), (-1.0, 0.0))]
        sides += [(abs(y - low_y), (0.0, 1.0)), (abs(high_y - y), (0.0, -1.0))]
        ways.append(((x, y), min(sides, key=lambda side: side[0])[1], name))
    return ways


def _draw_ways_in(sheet: Sheet, area: dict[str, Any], room: Shape, placing: Placing) -> None:
    """Door openings in the wall, and a triangle with its name outside the wall where people come in."""
    for door in (read_points(raw) for raw in area.get("doors") or ()):
        if len(door) < 2:
            continue
        (ax, ay), (bx, by) = placing(door[0]), placing(door[-1])
        length = math.hypot(bx - ax, by - ay) or 1.0
        ux, uy = -(by - ay) / length * 0.8, (bx - ax) / length * 0.8
        opening = ((ax + ux, ay + uy), (bx + ux, by + uy), (bx - ux, by - uy), (ax - ux, ay - uy))
        sheet.add(Fill(opening, "paper", name="door"), Stroke(((ax, ay), (bx, by)), PENS["fine"]))
        for x, y in ((ax, ay), (bx, by)):
            sheet.add(Stroke(((x + ux * 1.4, y + uy * 1.4), (x - ux * 1.4, y - uy * 1.4)), PENS["medium"]))
    for at, way, name in ways_in(area, room):
        x, y = placing(at)
        dx, dy = way[0], -way[1]
        tip, base = (x - dx * 1.3, y - dy * 1.3), (x - dx * 3.7, y - dy * 3.7)
        sheet.add(
            Fill((tip, (base[0] + dy * 1.5, base[1] + dx * 1.5), (base[0] - dy * 1.5, base[1] - dx * 1.5)))
        )
        if dx:
            # Read from the right: the base line of turned words is their right edge.
            sheet.add(Words((x - dx * 5.5 + 0.9, y), name, SMALL, "middle", turn_deg=90.0))
        else:
            sheet.add(Words((x, y - dy * 5.5 + 0.9), name, SMALL, "middle"))


def _draw_north(sheet: Sheet, area: dict[str, Any], *, at_right: bool) -> None:
    """A north arrow in an upper corner, where the plan knows north."""
    if area.get("north_deg") is None:
        return
    turn = math.radians(float(area["north_deg"]))
    cx, cy, size = (sheet.width - 9.0 if at_right else 9.0), 14.0, 6.5
    toward = (math.sin(turn), -math.cos(turn))
    tip = (cx + toward[0] * size, cy + toward[1] * size)
    tail = (cx - toward[0] * size, cy - toward[1] * size)
    side = (toward[1] * 1.9, -toward[0] * 1.9)
    sheet.add(Stroke((tail, tip), PENS["narrow"]))
    sheet.add(Fill((tip, (cx + side[0], cy + side[1]), (cx, cy))))
    sheet.add(Stroke((tip, (cx - side[0], cy - side[1]), (cx, cy)), PENS["narrow"], closed=True))
    name = (tip[0] + toward[0] * 2.4, tip[1] + toward[1] * 2.4 + 1)
    sheet.add(Words(name, "N", NORMAL, "middle", bold=True))


# Lines of the key, as pen and dash; the rest are drawn by hand.
KEY_LINES = {
    "seam": ("medium", "dashed"),
    "joint": ("wide", "solid"),
    "base joint": ("wide", "chain"),
    "change": ("wide", "dashed"),
    "doorway": ("heavy", "solid"),
    "cable": ("medium", "solid"),
    "sensor": ("narrow", "dashed"),
    "lead": ("narrow", "chain"),
}


def _draw_sample(sheet: Sheet, kind: str, at: Point) -> None:
    x, y = at
    if kind in KEY_LINES:
        pen, dash = KEY_LINES[kind]
        sheet.add(Stroke(((x, y), (x + 10.5, y)), PENS[pen], DASHES[dash]))
    elif kind == "control":
        sheet.add(*control_marks((x + 5.2, y)))
    else:
        for step in range(4):
            left = x + step * 2.6
            sheet.add(Stroke(((left, y + 1.1), (left + 2.2, y - 1.1)), PENS["fine"], soft=True))


def control_marks(at: Point) -> tuple[Fill, Stroke, Stroke]:
    """A small square with a stroke through it: the heating control on its wall."""
    x, y = at
    corners = ((x - 1.2, y - 1.2), (x + 1.2, y - 1.2), (x + 1.2, y + 1.2), (x - 1.2, y + 1.2))
    return (
        Fill(corners, "paper"),
        Stroke(corners, PENS["medium"], closed=True, name="control"),
        Stroke(((x - 1.2, y + 1.2), (x + 1.2, y - 1.2)), PENS["narrow"]),
    )


def _draw_key(sheet: Sheet, samples: list[tuple[str, str]], at: Point) -> float:
    x, y = at
    for kind, words in samples:
        y += 2.0
        _draw_sample(sheet, kind, (x, y - 0.9))
        sheet.add(Words((x + 13, y), words, SMALL))
        y += SMALL * 1.1
    return y


def _draw_sums(sheet: Sheet, sums: list[tuple[str, str]], at: Point, room: float) -> float:
    x, y = at[0], at[1] + 2.0
    for head, value in sums:
        y += 1.2
        sheet.add(Words((x, y), head, SMALL, soft=True))
        for line in wrap_text(value, room, SMALL):
            y += SMALL * 1.25
            sheet.add(Words((x, y), line, SMALL))
        y += SMALL * 1.25
    return y


def page_turn(direction_deg: float) -> float:
    """By how much a plan is turned so that a direction lies square to the page; 0 where it does. [deg]"""
    off = direction_deg % 90.0
    return 0.0 if min(off, 90.0 - off) < 0.01 else direction_deg


def turn_points(raw: Any, angle_deg: float) -> list[list[float]]:
    """Points turned clockwise about the origin."""
    angle = math.radians(angle_deg)
    c, s = math.cos(angle), math.sin(angle)
    return [[x * c + y * s, y * c - x * s] for x, y, *_ in raw or ()]


def turn_area(area: dict[str, Any], angle_deg: float) -> dict[str, Any]:
    """The area with its room turned clockwise; strips and lines are left to the caller."""
    if not angle_deg:
        return area
    turned = {**area, "outline": turn_points(area.get("outline"), angle_deg)}
    obstacles: list[Any] = []
    for raw in area.get("obstacles") or ():
        if isinstance(raw, dict):
            obstacles.append({**raw, "outline": turn_points(raw.get("outline"), angle_deg)})
        else:
            obstacles.append(turn_points(raw, angle_deg))
    turned["obstacles"] = obstacles
    turned["doors"] = [turn_points(door, angle_deg) for door in area.get("doors") or ()]
    if area.get("entrance"):
        turned["entrance"] = turn_points([area["entrance"]], angle_deg)[0]
    if area.get("north_deg") is not None:
        turned["north_deg"] = float(area["north_deg"]) + angle_deg
    return turned


def turn_note(angle_deg: float) -> list[str]:
    """Says that a plan is drawn turned."""
    return [f"Drawn turned by {angle_deg:.1f}°, so that lines lie square to the page."] if angle_deg else []
