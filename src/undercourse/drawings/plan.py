"""Plan of an area: strips with piece numbers, seams, the line to start from, distances to chalk."""

from __future__ import annotations

import math
from typing import Any

import shapely
from shapely.geometry import LineString
from shapely.geometry import Polygon as Shape
from shapely.ops import linemerge, unary_union

from undercourse.drawings.frame import TitleBlock, draw_scale_bar, finish_sheet
from undercourse.drawings.lettering import LARGE, NORMAL, SMALL, text_width, wrap_text
from undercourse.drawings.measures import area_text, inches_text, length_text, millimetres_text
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
)

SEAM_REACH_M = 0.03  # edges of two strips this near to each other form a seam
CHALK_MM, TALLEST_MM, NOTE_MM, MANY = 18.0, 150.0, 40.0, 8


def _points(raw: Any) -> tuple[Point, ...]:
    """An outline as a tuple of points; GeoJSON's repeated last point is dropped."""
    points = tuple((float(x), float(y)) for x, y, *_ in raw or ())
    return points[:-1] if len(points) > 1 and points[0] == points[-1] else points


def sheet_shapes(area: dict[str, Any], pieces: list[dict[str, Any]] | None = None) -> dict[str, Shape]:
    """What lies on the floor, by number: the pieces where they carry outlines, else the strips."""
    own = [piece for piece in pieces or () if _same_area(piece, area)]
    if own and all(len(_points(piece.get("outline"))) >= 3 for piece in own):
        return {str(piece.get("id")): Shape(_points(piece.get("outline"))) for piece in own}
    found = {str(s.get("id")): _points(s.get("outline")) for s in area.get("strips") or ()}
    return {name: Shape(points) for name, points in found.items() if len(points) >= 3}


def seam_lines(area: dict[str, Any], pieces: list[dict[str, Any]] | None = None) -> list[LineString]:
    """Where sheets meet: an edge of one that runs along another, once for each pair. [m]

    Read from ``seams`` of the area if the layout gives them.
    """
    given = [LineString(_points(line)) for line in area.get("seams") or () if len(_points(line)) > 1]
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
    given = _points([chalk["start"], chalk["end"]] if chalk else area.get("start_line"))
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

    Returns
    -------
    Sheet
        The area's outline is a path of class ``room``, strips are of class ``strip``, all at ``scale``.
    """
    sheet, own = Sheet(title, _describe(area), width_mm), pieces or []
    shapes = sheet_shapes(area, own)
    room = _room(area, shapes)
    if room is None:
        sheet.add(Words((0, 6), "No outline and no strips are given for this area.", soft=True))
        return finish_sheet(sheet, block or TitleBlock(), 8)
    measured = _distances(
        room, shapes, _run_direction(area, shapes), [way for _, way, _ in _ways_in(area, room)]
    )
    scale, (left, top), beside = _fit(room, measured, width_mm, len(shapes) > MANY)
    top = max(top, 24.0) if area.get("north_deg") is not None else top
    sheet.scale = scale
    scene = Scene()
    scene.add(*_room_primitives(area, own, room, shapes, scale))
    scene.add(*_sheet_numbers(area, own, room, shapes, scale), *measured)
    placing = _place(sheet, scene, room, scale, (left, top))
    low_x, low_y, high_x, high_y = room.bounds
    bottom = top + (high_y - low_y) * 1000 / scale
    right = left + (high_x - low_x) * 1000 / scale
    _draw_start_name(sheet, area, own, placing)
    _draw_ways_in(sheet, area, room, placing)
    _draw_north(sheet, area, at_right=left > CHALK_MM)
    legend = _legend(area, own)
    sums = _sums(area, [p for p in own if _same_area(p, area)])
    if beside:
        column = min(right + 14.0, width_mm - NOTE_MM)
        y = _draw_sums(sheet, sums, (column, _draw_legend(sheet, legend, (column, top))), width_mm - column)
        bar = (column + 1.0, y + 9.0)
    else:
        y, half = bottom + 11.0, (len(sums) + 1) // 2
        bar = (left + 1.0, _draw_legend(sheet, legend, (left, y)) + 7.5)
        ends = [_draw_sums(sheet, sums[:half], (left + 50.0, y - 2.0), 42.0)]
        ends.append(_draw_sums(sheet, sums[half:], (left + 97.0, y - 2.0), width_mm - left - 97.0))
        y = max(*ends, bar[1]) - 4.0
    draw_scale_bar(sheet, bar, scale, min(44.0, width_mm - bar[0] - 6.0))
    return finish_sheet(sheet, block or TitleBlock(), max(bottom + 11.0, y + 5.0, bar[1] + 5.5), _notes(area))


def _fit(
    room: Shape, measured: list[RunningDimension | Dimension], width_mm: float, crowded: bool
) -> tuple[float, Point, bool]:
    """Scale, upper left corner of the room on the sheet, and whether the notes stand beside the plan.

    A long low room, or one of many sheets, takes the whole width, with its notes below it, if that allows a
    larger scale.
    """
    low_x, low_y, high_x, high_y = room.bounds
    found: list[tuple[float, Point, bool]] = []
    for beside in (True, False):
        for scale in SCALES:
            left, top = CHALK_MM, 15.0
            for item in measured:
                if isinstance(item, RunningDimension):
                    reach = running_reach(item, scale) + 2.0
                    over = running_overrun(item, scale) + 2.0
                    left, top = (
                        (left, max(top, reach)) if item.along[0] else (max(left, reach), max(top, over))
                    )
            free = width_mm - left - (NOTE_MM + 9.0 if beside else 6.0)
            fits = (high_x - low_x) * 1000 / scale <= free and (high_y - low_y) * 1000 / scale <= TALLEST_MM
            if fits or scale == SCALES[-1]:
                found.append((scale, (left, top), beside))
                break
    low = (high_x - low_x) > 1.8 * (high_y - low_y)
    return found[1] if (low or crowded) and found[1][0] < found[0][0] else found[0]


def _place(sheet: Sheet, scene: Scene, room: Shape, scale: float, corner: Point) -> Placing:
    """Put the room's upper left corner, not that of what reaches beyond it, at a point of the sheet."""
    low_x, _, _, high_y = scene.bounds()
    shift_x = (room.bounds[0] - low_x) * 1000 / scale
    shift_y = (high_y - room.bounds[3]) * 1000 / scale
    return place_scene(sheet, scene, scale, corner[0] - shift_x, corner[1] - shift_y)


def _room(area: dict[str, Any], shapes: dict[str, Shape]) -> Shape | None:
    outline = _points(area.get("outline"))
    if len(outline) >= 3:
        return Shape(outline)
    if not shapes:
        return None
    whole = unary_union([shape.buffer(SEAM_REACH_M, join_style="mitre") for shape in shapes.values()])
    whole = whole.buffer(-SEAM_REACH_M, join_style="mitre")
    parts = [part for part in shapely.get_parts(whole) if isinstance(part, Shape)]
    return max(parts, key=lambda part: part.area)


def _obstacles(area: dict[str, Any]) -> list[tuple[str, tuple[Point, ...]]]:
    found = []
    for raw in area.get("obstacles") or ():
        name, outline = (
            (str(raw.get("name") or ""), raw.get("outline")) if isinstance(raw, dict) else ("", raw)
        )
        points = _points(outline)
        if len(points) >= 3:
            found.append((name, points))
    return found


def _ring(coords: Any) -> tuple[Point, ...]:
    return _points([(x, y) for x, y, *_ in coords])


def _room_primitives(
    area: dict[str, Any], pieces: list[dict[str, Any]], room: Shape, shapes: dict[str, Shape], scale: float
) -> list[Polygon | Polyline | Text]:
    drawn: list[Polygon | Polyline | Text] = []
    for shape in shapes.values():
        rings = tuple(_ring(hole.coords) for hole in shape.interiors)
        drawn.append(Polygon(_ring(shape.exterior.coords), "none", "fine", rings, name="strip"))
    line = start_line(area, pieces)
    beside = LineString(line).buffer(2 * SEAM_REACH_M) if line else Shape()
    seams = [seam for seam in seam_lines(area, pieces) if not beside.contains(seam)]
    drawn += [Polyline(_ring(seam.coords), "medium", "dashed", "seam") for seam in seams]
    for name, outline in _obstacles(area):
        drawn.append(Polygon(outline, "obstacle", "medium", soft=True, name="obstacle"))
        if name:
            at = Shape(outline).representative_point()
            drawn.append(Text((at.x, at.y), name, SMALL, bold=True, shift_mm=(0, -SMALL * 0.33)))
    holes = tuple(_ring(hole.coords) for hole in room.interiors)
    drawn.append(Polygon(_ring(room.exterior.coords), "none", "heavy", holes, name="room"))
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
    for name, shape in shapes.items():
        own = [str(p.get("id")) for p in pieces if str(p.get("strip")) == name and _same_area(p, area)]
        words = name if name in {str(p.get("id")) for p in pieces} else ", ".join(own) or name
        at = shape.centroid if shape.contains(shape.centroid) else shape.representative_point()
        low_x, low_y, high_x, high_y = shape.bounds
        width_mm, height_mm = (high_x - low_x) * 1000 / scale, (high_y - low_y) * 1000 / scale
        if min(width_mm, height_mm) < SMALL:
            drawn += _outside_name(words, (at.x, at.y), room, scale)
            continue
        turned = width_mm < height_mm and text_width(words, LARGE, bold=True) > width_mm - 2
        longest, across = (height_mm, width_mm) if turned else (width_mm, height_mm)
        fits = (s for s in (LARGE, NORMAL) if text_width(words, s, bold=True) <= longest - 2 and s <= across)
        size = next(fits, SMALL)
        low = size * 0.33
        shift = (low, 0.0) if turned else (0.0, -low)
        drawn.append(Text((at.x, at.y), words, size, "middle", True, False, 90.0 if turned else 0.0, shift))
    return drawn


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
    room: Shape, shapes: dict[str, Shape], run: Point, ways_in: list[Point]
) -> list[RunningDimension | Dimension]:
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
    stations = [(0.0, "0")]
    for edge in sorted(edges):
        # Both edges of one seam are one line to chalk; edges at the walls are no line at all.
        if edge - low - stations[-1][0] > SEAM_REACH_M and high - edge > SEAM_REACH_M:
            stations.append((edge - low, _two_lines(edge - low)))
    stations.append((high - low, _two_lines(high - low)))
    if upright:
        offset = 9.0 if (0.0, -1.0) in ways_in else 4.0  # a door's name takes the first lane
        return [RunningDimension((low_x, high_y), (1, 0), tuple(stations), offset), along_y]
    offset = 9.0 if (1.0, 0.0) in ways_in else 4.0
    return [RunningDimension((low_x, low_y), (0, 1), tuple(stations), offset), along_x]


def _two_lines(length_m: float) -> str:
    return f"{inches_text(length_m)}\n{millimetres_text(length_m)}"


def _legend(area: dict[str, Any], pieces: list[dict[str, Any]]) -> list[tuple[str, str]]:
    """The lines that have no room for a name of their own."""
    samples = [("seam", "Seam")] if seam_lines(area, pieces) else []
    return samples + ([("obstacle", "Fixed, no sheet")] if _obstacles(area) else [])


def _draw_legend(sheet: Sheet, samples: list[tuple[str, str]], at: Point) -> float:
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


def _sums(area: dict[str, Any], own: list[dict[str, Any]]) -> list[tuple[str, str]]:
    sums = []
    if area.get("net_area_m2") is not None:
        sums.append(("Net area", area_text(float(area["net_area_m2"]))))
    seams = [area.get("seam_length_m"), area.get("head_joint_length_m")]
    if seams[0] is not None:
        sums.append(("Seams", length_text(sum(float(s) for s in seams if s is not None))))
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


def _draw_sample(sheet: Sheet, kind: str, at: Point) -> None:
    x, y = at
    if kind == "seam":
        sheet.add(Stroke(((x, y), (x + 10.5, y)), PENS["medium"], DASHES["dashed"]))
        return
    for step in range(4):
        left = x + step * 2.6
        sheet.add(Stroke(((left, y + 1.1), (left + 2.2, y - 1.1)), PENS["fine"], soft=True))


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
    free = (words for words in choices if not any(_touches(words.box(), box) for box in taken))
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


def _touches(one: tuple[float, float, float, float], other: tuple[float, float, float, float]) -> bool:
    return one[0] < other[2] and other[0] < one[2] and one[1] < other[3] and other[1] < one[3]


def _ways_in(area: dict[str, Any], room: Shape) -> list[tuple[Point, Point, str]]:
    """Where people come in: the place, the way in (y upwards, away from the nearest side), and its name."""
    spots = [(_points([area["entrance"]])[0], "Entrance")] if area.get("entrance") else []
    doors = [_points(door) for door in area.get("doors") or ()]
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
    for door in (_points(raw) for raw in area.get("doors") or ()):
        if len(door) < 2:
            continue
        (ax, ay), (bx, by) = placing(door[0]), placing(door[-1])
        length = math.hypot(bx - ax, by - ay) or 1.0
        ux, uy = -(by - ay) / length * 0.8, (bx - ax) / length * 0.8
        opening = ((ax + ux, ay + uy), (bx + ux, by + uy), (bx - ux, by - uy), (ax - ux, ay - uy))
        sheet.add(Fill(opening, "paper", name="door"), Stroke(((ax, ay), (bx, by)), PENS["fine"]))
        for x, y in ((ax, ay), (bx, by)):
            sheet.add(Stroke(((x + ux * 1.4, y + uy * 1.4), (x - ux * 1.4, y - uy * 1.4)), PENS["medium"]))
    for at, way, name in _ways_in(area, room):
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
    if _obstacles(area):
        words.append(f"{len(_obstacles(area))} fixed obstacle(s) left free")
    return ", ".join(words) + "."
