"""Plan of an area: strips with piece numbers, seams, the line to start from, distances to chalk."""

from __future__ import annotations

import math
from typing import Any

import shapely
from shapely.geometry import LineString
from shapely.geometry import Polygon as Shape
from shapely.ops import linemerge

from undercourse.drawings.floors import (
    Drawn,
    FloorSheet,
    Measured,
    PaperRoom,
    across_axis,
    draw_room,
    finish_floor,
    read_obstacles,
    read_points,
    read_ring,
    read_room,
    stations_between,
    touches,
    ways_in,
)
from undercourse.drawings.frame import TitleBlock, finish_sheet
from undercourse.drawings.lettering import LARGE, NORMAL, SMALL, text_width
from undercourse.drawings.measures import area_text, length_text
from undercourse.drawings.scene import Dimension, Point, Polygon, Polyline, RunningDimension, Text
from undercourse.drawings.sheet import Placing, Sheet, Words

SEAM_REACH_M = 0.03  # edges of two strips this near to each other form a seam
MANY = 8


def sheet_shapes(area: dict[str, Any], pieces: list[dict[str, Any]] | None = None) -> dict[str, Shape]:
    """What lies on the floor, by number: the pieces where they carry outlines, else the strips."""
    own = [piece for piece in pieces or () if _same_area(piece, area)]
    if own and all(len(read_points(piece.get("outline"))) >= 3 for piece in own):
        return {str(piece.get("id")): Shape(read_points(piece.get("outline"))) for piece in own}
    found = {str(s.get("id")): read_points(s.get("outline")) for s in area.get("strips") or ()}
    return {name: Shape(points) for name, points in found.items() if len(points) >= 3}


def seam_lines(area: dict[str, Any], pieces: list[dict[str, Any]] | None = None) -> list[LineString]:
    """Where sheets meet: an edge of one that runs along another, once for each pair. [m]

    Read from ``seams`` of the area if the layout gives them.
    """
    given = [LineString(read_points(line)) for line in area.get("seams") or () if len(read_points(line)) > 1]
    if given:
        return given
    shapes = list(sheet_shapes(area, pieces).values())
    lines = []
    for i, one in enumerate(shapes):
        for other in shapes[i + 1 :]:
            if one.distance(other) > SEAM_REACH_M:
                continue
            met = one.exterior.intersection(other.buffer(SEAM_REACH_M, join_style="mitre"))
            parts = [part for part in shapely.get_parts(met) if part.geom_type == "LineString"]
            merged = linemerge(parts) if len(parts) > 1 else met
            for part in shapely.get_parts(merged):
                line = _longest_run(part)
                if line is not None:
                    lines.append(line)
    return lines


def _longest_run(part: Any) -> LineString | None:
    """The straight run that a seam is, without the short returns at its ends."""
    if part.geom_type != "LineString":
        return None
    part = part.simplify(1e-4)  # corners in a straight edge do not end the seam
    runs = [LineString(pair) for pair in zip(part.coords[:-1], part.coords[1:], strict=True)]
    longest = max(runs, key=lambda run: run.length, default=None)
    return longest if longest is not None and longest.length > 2 * SEAM_REACH_M else None


def _run_direction(area: dict[str, Any], shapes: dict[str, Shape]) -> Point:
    """Direction in which the strips run: said by the layout, else the long side of the first sheet."""
    if area.get("direction_deg") is not None:
        turn = math.radians(float(area["direction_deg"]))
        return (math.cos(turn), math.sin(turn))
    for shape in shapes.values():
        ring = list(shapely.get_coordinates(shape.minimum_rotated_rectangle))
        sides = [(float(ring[k + 1][0] - ring[k][0]), float(ring[k + 1][1] - ring[k][1])) for k in range(2)]
        dx, dy = max(sides, key=lambda side: math.hypot(*side))
        length = math.hypot(dx, dy) or 1.0
        return (dx / length, dy / length)
    return (0.0, 1.0)


def start_line(
    area: dict[str, Any], pieces: list[dict[str, Any]] | None = None
) -> tuple[Point, Point] | None:
    """The line to snap first: the layout's ``chalk_line``, or ``start_line``, else the first sheet's seam."""
    chalk = area.get("chalk_line")
    given = read_points([chalk["start"], chalk["end"]] if chalk else area.get("start_line"))
    if len(given) == 2:
        return (given[0], given[1])
    shapes = sheet_shapes(area, pieces)
    if not shapes:
        return None
    first = next(iter(shapes.values()))
    near = [s for s in seam_lines(area, pieces) if s.distance(first) <= SEAM_REACH_M]
    if not near:
        return None
    longest = max(near, key=lambda line: (line.length, line.bounds))
    start, end = longest.coords[0], longest.coords[-1]
    return ((start[0], start[1]), (end[0], end[1]))


def draw_plan(
    area: dict[str, Any],
    pieces: list[dict[str, Any]] | None = None,
    block: TitleBlock | None = None,
    *,
    title: str = "Plan of sheets",
    width_mm: float = 170.0,
    paper: PaperRoom | None = None,
) -> Sheet:
    """Plan of the sheets in one area.

    Parameters
    ----------
    area : dict
        One entry of a layout's ``areas``: ``name``, ``strips`` of ``id`` and ``outline`` in metres,
        ``net_area_m2``, ``seam_length_m``, ``chalk_line``, ``direction_deg``, and if known the room's
        ``outline``, ``obstacles`` (outlines, or dicts of ``name`` and ``outline``), ``seams``, ``doors``
        (lines), ``entrance`` (a point) and ``north_deg`` (clockwise from up).
    pieces : list of dict
        The layout's ``pieces``; those of this area that carry an ``outline`` are drawn
        instead of the strips.
    block : TitleBlock
        Job, area, line revision, date, hash.
    paper : PaperRoom, optional
        The paper it is drawn for, in place of a width alone.

    Returns
    -------
    Sheet
        The area's outline is a path of class ``room``, strips are of class ``strip``, all at ``scale``.
    """
    width_mm = paper.width_mm if paper is not None else width_mm
    sheet, own = Sheet(title, _describe(area), width_mm), pieces or []
    shapes = sheet_shapes(area, own)
    room = read_room(area, shapes)
    if room is None:
        sheet.add(Words((0, 6), "No outline and no strips are given for this area.", soft=True))
        return finish_sheet(sheet, block or TitleBlock(), 8)
    measured = _distances(
        room,
        shapes,
        _run_direction(area, shapes),
        [way for _, way, _ in ways_in(area, room)],
        start_line(area, own),
    )

    def drawn(scale: float) -> Drawn:
        return [
            *_room_primitives(area, own, room, shapes, scale),
            *_sheet_numbers(area, own, room, shapes, scale),
        ]

    floor = FloorSheet(
        room,
        measured,
        drawn,
        _legend(area, own),
        _sums(area, [p for p in own if _same_area(p, area)]),
        _notes(area),
        lambda page, placing: _draw_start_name(page, area, own, placing),
        len(shapes) > MANY,
        room_mm=paper,
    )
    return finish_floor(sheet, area, floor, block or TitleBlock())


def _room_primitives(
    area: dict[str, Any], pieces: list[dict[str, Any]], room: Shape, shapes: dict[str, Shape], scale: float
) -> Drawn:
    drawn: Drawn = []
    for shape in shapes.values():
        rings = tuple(read_ring(hole.coords) for hole in shape.interiors)
        drawn.append(Polygon(read_ring(shape.exterior.coords), "none", "fine", rings, name="strip"))
    line = start_line(area, pieces)
    beside = LineString(line).buffer(2 * SEAM_REACH_M) if line else Shape()
    seams = [seam for seam in seam_lines(area, pieces) if not beside.contains(seam)]
    drawn += [Polyline(read_ring(seam.coords), "medium", "dashed", "seam") for seam in seams]
    drawn += draw_room(area, room)
    if line is not None:
        (ax, ay), (bx, by) = line
        over = 5.0 * scale / 1000 / (math.hypot(bx - ax, by - ay) or 1.0)
        ends = (
            (ax - (bx - ax) * over, ay - (by - ay) * over),
            (bx + (bx - ax) * over, by + (by - ay) * over),
        )
        drawn.append(Polyline(ends, "wide", "double chain", "start-line"))
    return drawn


def _sheet_numbers(
    area: dict[str, Any], pieces: list[dict[str, Any]], room: Shape, shapes: dict[str, Shape], scale: float
) -> list[Text | Polyline]:
    """Piece numbers in the sheets, turned where a sheet is too narrow, at its end where it is too thin."""
    drawn: list[Text | Polyline] = []
    fixed = shapely.union_all([Shape(outline).buffer(0) for _, outline in read_obstacles(area)])
    for name, shape in shapes.items():
        own = [str(p.get("id")) for p in pieces if str(p.get("strip")) == name and _same_area(p, area)]
        words = name if name in {str(p.get("id")) for p in pieces} else ", ".join(own) or name
        low_x, low_y, high_x, high_y = shape.bounds
        width_mm, height_mm = (high_x - low_x) * 1000 / scale, (high_y - low_y) * 1000 / scale
        if min(width_mm, height_mm) < SMALL:
            spot = shape.representative_point()
            drawn += _outside_name(words, (spot.x, spot.y), room, scale)
            continue
        turned = width_mm < height_mm and text_width(words, LARGE, bold=True) > width_mm - 2
        longest, across = (height_mm, width_mm) if turned else (width_mm, height_mm)
        fits = (s for s in (LARGE, NORMAL) if text_width(words, s, bold=True) <= longest - 2 and s <= across)
        size = next(fits, SMALL)
        wide = text_width(words, size, bold=True) + 1.0
        at = _clear_spot(shape.difference(fixed), (size, wide) if turned else (wide, size), scale)
        low = size * 0.33
        shift = (low, 0.0) if turned else (0.0, -low)
        drawn.append(Text((at.x, at.y), words, size, "middle", True, False, 90.0 if turned else 0.0, shift))
    return drawn


def _clear_spot(shape: Any, size_mm: tuple[float, float], scale: float) -> shapely.Point:
    """Where words have room: in the middle, else in the widest free place."""
    across, up = size_mm[0] * scale / 2000, size_mm[1] * scale / 2000
    part = max(shapely.get_parts(shape), key=lambda one: one.area, default=shape)
    at = shape.centroid
    if part.area < 1e-6 or shape.contains(shapely.box(at.x - across, at.y - up, at.x + across, at.y + up)):
        return shapely.Point(at)
    return shapely.Point(shapely.get_coordinates(shapely.maximum_inscribed_circle(part, 0.01))[0])


def _outside_name(words: str, at: Point, room: Shape, scale: float) -> list[Text | Polyline]:
    """The number of a sheet too thin to hold it: outside the nearest side of the room, with a pointer."""
    low_x, low_y, high_x, high_y = room.bounds
    sides = [(at[0] - low_x, (-1, 0), (low_x, at[1])), (high_x - at[0], (1, 0), (high_x, at[1]))]
    sides += [(at[1] - low_y, (0, -1), (at[0], low_y)), (high_y - at[1], (0, 1), (at[0], high_y))]
    _, (dx, dy), wall = min(sides, key=lambda side: side[0])
    millimetre = scale / 1000
    outer = (wall[0] + dx * 2.5 * millimetre, wall[1] + dy * 2.5 * millimetre)
    shift = (dx * 3.2, dy * 3.2 - SMALL * (0.33 if dx else 0.75 if dy < 0 else 0.0))
    anchor = "middle" if dy else ("start" if dx > 0 else "end")
    pointer = Polyline((at, outer), "fine", name="pointer")
    return [pointer, Text(wall, words, SMALL, anchor, True, shift_mm=shift)]


def _same_area(piece: dict[str, Any], area: dict[str, Any]) -> bool:
    return piece.get("area") in (None, area.get("name"))


def _distances(
    room: Shape,
    shapes: dict[str, Shape],
    run: Point,
    ways_in: list[Point],
    line: tuple[Point, Point] | None = None,
) -> Measured:
    """Running distances from one wall to every seam across the strips, and the length along them.

    Strips that run askew to the sheet get the room's two overall lengths; their chalk line is told in words.
    """
    low_x, low_y, high_x, high_y = room.bounds
    upright = abs(run[1]) >= abs(run[0])
    along_y = Dimension((low_x, low_y), (low_x, high_y), length_text(high_y - low_y), 9.0)
    along_x = Dimension((low_x, high_y), (high_x, high_y), length_text(high_x - low_x), 9.0)
    if min(abs(run[0]), abs(run[1])) > 0.01:
        return [along_y, along_x]
    low, high = (low_x, high_x) if upright else (low_y, high_y)
    edges: set[float] = set()
    for shape in shapes.values():
        edges.update(shape.bounds[::2] if upright else shape.bounds[1::2])
    # Both edges of one seam are one line to chalk; edges at the walls are no line at all.
    stations = stations_between(low, high, sorted(edges), first=across_axis(line, 0 if upright else 1))
    if upright:
        offset = 9.0 if (0.0, -1.0) in ways_in else 4.0  # a door's name takes the first lane
        return [RunningDimension((low_x, high_y), (1, 0), stations, offset), along_y]
    offset = 9.0 if (1.0, 0.0) in ways_in else 4.0
    return [RunningDimension((low_x, low_y), (0, 1), stations, offset), along_x]


def _legend(area: dict[str, Any], pieces: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """The lines that have no room for a name of their own."""
    samples = [("seam", "Seam")] if seam_lines(area, pieces) else []
    return samples + ([("obstacle", "Fixed, no sheet")] if read_obstacles(area) else [])


def _sums(area: dict[str, Any], own: list[dict[str, Any]]) -> list[tuple[str, str]]:
    sums = []
    if area.get("net_area_m2") is not None:
        sums.append(("Net area", area_text(float(area["net_area_m2"]))))
    if area.get("seam_length_m") is not None:
        sums.append(("Seams", length_text(float(area["seam_length_m"]))))
    if own:
        sums.append(("Pieces", str(len(own))))
    chalk = area.get("chalk_line")
    if chalk:
        for side in ("left", "right"):
            pair = [float(value) for value in chalk.get(f"{side}_m") or ()]
            if pair:
                ends = [length_text(value) for value in pair]
                same = max(pair) - min(pair) < 0.0005
                words = ends[0] if same else f"{ends[0]} at its start, {ends[-1]} at its end"
                sums.append((f"Start line to the wall on its {side}", words))
    return sums


def _draw_start_name(
    sheet: Sheet, area: dict[str, Any], pieces: list[dict[str, Any]], placing: Placing
) -> None:
    """The start line's name along the line, near its lower (or left) end."""
    line = start_line(area, pieces)
    if line is None:
        return
    ends = sorted((placing(point) for point in line), key=lambda p: (-round(p[1], 1), p[0]))
    taken = [words.box() for words in sheet.texts()]
    choices = [
        _along(ends[first], ends[1 - first], along, side)
        for along in (2.5, 14.0, 28.0)
        for first in (0, 1)
        for side in (1.0, -1.0)
    ]
    free = (words for words in choices if not any(touches(words.box(), box) for box in taken))
    sheet.add(next(free, choices[0]))


def _along(start: Point, end: Point, along: float, side: float) -> Words:
    """The start line's name along a line, ``along`` millimetres from one end, above (1) or below it (-1)."""
    (ax, ay), (bx, by) = start, end
    dx, dy = bx - ax, by - ay
    length = math.hypot(dx, dy) or 1.0
    turn = math.degrees(math.atan2(-dy, dx))
    flip = turn > 90.01 or turn <= -89.99
    reading = turn - 180 * math.copysign(1, turn) if flip else turn
    up = (-math.sin(math.radians(reading)), -math.cos(math.radians(reading)))
    off = 0.9 if side > 0 else -0.9 - SMALL * 0.7
    at = (ax + dx / length * along + up[0] * off, ay + dy / length * along + up[1] * off)
    return Words(at, "Start line", SMALL, "end" if flip else "start", bold=True, turn_deg=reading)


def _notes(area: dict[str, Any]) -> list[str]:
    notes = [
        "Distances run from the wall at 0; measure all of them from that wall. Check the room before cutting."
    ]
    if not area.get("outline"):
        notes.append("The outline is that of the sheets: no outline of the room was given.")
    return notes


def _describe(area: dict[str, Any]) -> str:
    count = len(area.get("strips") or ())
    words = [
        f"Plan of {area.get('name') or 'the area'} with {count} strip{'' if count == 1 else 's'} of membrane"
    ]
    if area.get("net_area_m2") is not None:
        words.append(f"net area {area_text(float(area['net_area_m2']))}")
    if area.get("seam_length_m") is not None:
        words.append(f"seams {length_text(float(area['seam_length_m']))}")
    if read_obstacles(area):
        words.append(f"{len(read_obstacles(area))} fixed obstacle(s) left free")
    return ", ".join(words) + "."
