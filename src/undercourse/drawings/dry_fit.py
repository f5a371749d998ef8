"""Dry-fit sheet: the pieces with their sizes as they lie, measured from two walls, and those cut to shape."""

from __future__ import annotations

import itertools
import math
from dataclasses import dataclass, replace
from typing import Any

import shapely
from shapely.geometry import Polygon as Shape
from shapely.geometry import box
from shapely.geometry.base import BaseGeometry
from shapely.ops import linemerge

from undercourse.drawings.floors import (
    TALLEST_MM,
    Drawn,
    FloorSheet,
    Measured,
    PaperRoom,
    across_axis,
    draw_room,
    finish_floor,
    page_turn,
    read_obstacles,
    read_points,
    read_room,
    stations_between,
    turn_area,
    turn_note,
    turn_points,
    two_lines,
    ways_in,
)
from undercourse.drawings.frame import TitleBlock, draw_scale_bar, finish_sheet
from undercourse.drawings.lettering import LARGE, NORMAL, SMALL, text_width
from undercourse.drawings.measures import inches_text, length_text, millimetres_text
from undercourse.drawings.plan import sheet_shapes, start_line
from undercourse.drawings.scene import Point, Polygon, Polyline, RunningDimension, Scene, Text
from undercourse.drawings.sheet import (
    SCALES,
    Sheet,
    Words,
    place_scene,
    running_overrun,
    running_reach,
)

SAME_CUT_M = 0.005  # corners nearer than this are one mark for a knife
EDGE_M = 0.1  # shorter edges of a piece are no line to measure to
SHAPED_M = 0.015  # less than this off a blank is trimmed at the wall
LEAST_MM = 30.0  # no floor is drawn lower than this to make a sheet fit its page
MOST_NAMED = 12  # with more pieces than this the floor is shown in parts too
MOST_WINDOWS = 8
NAMED_SCALE = 50.0  # at this scale or larger one sheet is enough
MOST_POINTS = 12  # a piece with more corners follows a curve and is cut in place


def draw_dry_fit(
    area: dict[str, Any],
    pieces: list[dict[str, Any]],
    block: TitleBlock | None = None,
    *,
    width_mm: float = 170.0,
    tallest_mm: float = math.inf,
) -> list[Sheet]:
    """The sheets of one area as a setter lays them out dry, distances from two walls.

    Parameters
    ----------
    area : dict
        One entry of a layout's ``areas`` with the room's ``outline``, as for ``draw_plan``.
    pieces : list of dict
        The layout's ``pieces``.
    tallest_mm : float
        What a page holds; a sheet that would be taller is drawn at a smaller scale.

    Returns
    -------
    list of Sheet
        Pieces are paths of class ``strip``, the start line one of class ``start-line``. Where the whole floor
        is too small on paper to name every piece, its parts follow at a larger scale.
    """
    own = [piece for piece in pieces if piece.get("area") in (None, area.get("name"))]
    angle = page_turn(float(area.get("direction_deg") or 0.0))
    line = start_line(area, own)
    chalk = tuple((x, y) for x, y in turn_points(line, angle)) if line else ()
    shapes = _shapes(area, own, angle)
    turned = turn_area(area, angle)
    room = read_room(turned, shapes)
    if room is None or not shapes:
        sheet = Sheet("Dry-fit sheet", _describe(area, own), width_mm)
        sheet.add(Words((0, 6), "No sheets are laid in this area.", soft=True))
        return [finish_sheet(sheet, block or TitleBlock(), 8)]
    order = {row["id"]: row["order"] for row in laying_order(area, own, shapes, room)}
    floor = _Floor(turned, room, shapes, order, chalk, turn_note(angle))
    whole = _draw_part(floor, room, "Dry-fit sheet", _describe(area, own), block, (width_mm, tallest_mm))
    unnamed = [name for name in shapes if not any(text.text.startswith(name) for text in whole.texts())]
    small = (whole.scale or 1.0) > NAMED_SCALE and (unnamed or len(shapes) > MOST_NAMED)
    windows = _windows(room, whole.scale or 1.0) if small else []
    parts = [part for window in windows if (part := room.intersection(window)).area > 0.05]
    drawn = []
    for number, part in enumerate(parts, 1):
        title = f"Dry-fit sheet, part {number} of {len(parts)}"
        least = (whole.scale or 1.0) / 2.5
        page = (width_mm, tallest_mm)
        drawn.append(_draw_part(floor, part, title, _describe(area, own), block, page, least))
    larger = all((part.scale or 1.0) < (whole.scale or 1.0) for part in drawn)
    return [whole, *drawn] if larger else [whole]


@dataclass(frozen=True)
class _Floor:
    """All that the sheets of one area share, turned square to the page."""

    area: dict[str, Any]
    room: Shape
    shapes: dict[str, Shape]
    order: dict[str, int]
    chalk: tuple[Point, ...]
    notes: list[str]


def _windows(room: Shape, scale: float) -> list[Shape]:
    """Parts of a floor, in rows and columns, that fit the page at half of a scale."""
    low_x, low_y, high_x, high_y = room.bounds
    reach = 110.0 * scale / 2000  # what a page holds across at the larger scale
    columns = max(1, math.ceil((high_x - low_x) / reach))
    rows = max(1, math.ceil((high_y - low_y) / reach))
    if columns * rows < 2 or columns * rows > MOST_WINDOWS:
        return []
    wide, high = (high_x - low_x) / columns, (high_y - low_y) / rows
    return [
        box(low_x + i * wide, high_y - (j + 1) * high, low_x + (i + 1) * wide, high_y - j * high)
        for j in range(rows)
        for i in range(columns)
    ]


def _draw_part(
    floor: _Floor,
    part: BaseGeometry,
    title: str,
    words: str,
    block: TitleBlock | None,
    page_mm: tuple[float, float],
    least_scale: float = 0.0,
) -> Sheet:
    """One sheet of the whole floor, or of a part of it, on a page of a width and a height."""
    width_mm, tallest_mm = page_mm
    pieces = [one for one in shapely.get_parts(part) if isinstance(one, Shape)]
    room = pieces[0] if len(pieces) == 1 else Shape(box(*part.bounds))
    whole = part is floor.room
    shapes: dict[str, Shape] = {}
    for name, shape in floor.shapes.items():
        cut = _largest(shape.intersection(part)) if not whole else shape
        if isinstance(cut, Shape) and (whole or cut.area > 0.002):
            shapes[name] = cut

    def drawn(scale: float) -> Drawn:
        found: Drawn = []
        for shape in shapes.values():
            rings = tuple(read_points(hole.coords) for hole in shape.interiors)
            found.append(Polygon(read_points(shape.exterior.coords), "none", "narrow", rings, name="strip"))
        found += _room_lines(floor, part, pieces)
        for line in _clipped(floor.chalk, part):
            found.append(Polyline(line, "wide", "double chain", "start-line"))
        for name, shape in shapes.items():
            found += _piece_words(name, floor.order.get(name), floor.shapes[name], shape, scale)
        return found

    notes = [
        "Lay in the order of the numbers in brackets, to the start line (double chain). Distances run from "
        "the walls at 0; sizes in pieces are length by width of the blank.",
        *floor.notes,
    ]
    plan = FloorSheet(
        room,
        _stations(floor, room, shapes),
        drawn,
        [("obstacle", "Fixed, no sheet")] if floor.area.get("obstacles") else [],
        _sums(floor.area, floor.chalk, floor.room) if whole else [],
        notes if whole else floor.notes,
        None,
        len(shapes) > 4,
        least_scale,
    )
    bare = floor.area if whole else {"name": floor.area.get("name")}
    height = TALLEST_MM
    while True:
        plan = replace(plan, room_mm=PaperRoom(width_mm, height))
        sheet = finish_floor(Sheet(title, words, width_mm), bare, plan, block or TitleBlock())
        if sheet.height <= tallest_mm or height < LEAST_MM:
            return sheet
        height -= max(2.0, sheet.height - tallest_mm)


def _largest(shape: BaseGeometry) -> BaseGeometry:
    return max(shapely.get_parts(shape), key=lambda one: one.area, default=shape)


def _room_lines(floor: _Floor, part: BaseGeometry, pieces: list[Shape]) -> Drawn:
    """Fixed parts and walls; of a part of the floor only its own."""
    if part is floor.room:
        return draw_room(floor.area, floor.room)
    found: Drawn = []
    for _, outline in read_obstacles(floor.area):
        for one in shapely.get_parts(Shape(outline).intersection(box(*part.bounds))):
            if isinstance(one, Shape) and not one.is_empty:
                ring = read_points(one.exterior.coords)
                found.append(Polygon(ring, "obstacle", "medium", soft=True, name="obstacle"))
    for one in pieces:
        walls = one.exterior.intersection(floor.room.exterior.buffer(0.002))
        lines = [line for line in shapely.get_parts(walls) if line.geom_type == "LineString"]
        merged = linemerge(lines) if len(lines) > 1 else walls
        for line in shapely.get_parts(merged):
            if line.geom_type == "LineString" and not line.is_empty:
                found.append(Polyline(tuple((x, y) for x, y in line.coords), "heavy", name="room"))
    return found


def _clipped(line: tuple[Point, ...], part: BaseGeometry) -> list[tuple[Point, ...]]:
    if len(line) < 2:
        return []
    inside = shapely.LineString(line).intersection(part.buffer(0.01))
    return [
        tuple((float(x), float(y)) for x, y in one.coords)
        for one in shapely.get_parts(inside)
        if one.geom_type == "LineString" and not one.is_empty
    ]


def _shapes(area: dict[str, Any], own: list[dict[str, Any]], angle: float) -> dict[str, Shape]:
    return {
        name: Shape(
            turn_points(shape.exterior.coords, angle),
            [turn_points(hole.coords, angle) for hole in shape.interiors],
        )
        for name, shape in sheet_shapes(area, own).items()
    }


def dry_fit_rows(area: dict[str, Any], pieces: list[dict[str, Any]]) -> list[dict[str, Any]]:
    """The pieces of an area in laying order, with their place from two walls and how they are cut. [m]"""
    own = [piece for piece in pieces if piece.get("area") in (None, area.get("name"))]
    angle = page_turn(float(area.get("direction_deg") or 0.0))
    shapes = _shapes(area, own, angle)
    room = read_room(turn_area(area, angle), shapes)
    return laying_order(area, own, shapes, room) if room is not None else []


def laying_order(
    area: dict[str, Any], own: list[dict[str, Any]], shapes: dict[str, Shape], room: Shape
) -> list[dict[str, Any]]:
    """Strips in their order, pieces along them; places from the left and lower end of the room."""
    by_id = {str(piece.get("id")): piece for piece in own}
    names = [str(name) for strip in area.get("strips") or () for name in strip.get("pieces") or ()]
    names = [name for name in names if name in by_id] or list(by_id)
    low_x, low_y, _, _ = room.bounds
    rows = []
    for number, name in enumerate(names, 1):
        piece, shape = by_id[name], shapes.get(name)
        at = shape.bounds if shape is not None else (low_x, low_y, low_x, low_y)
        rows.append(
            {
                "order": number,
                "id": name,
                "length_m": float(piece.get("length_m") or 0.0),
                "width_m": float(piece.get("width_m") or 0.0),
                "roll": str(piece.get("roll") or ""),
                "from_left_m": max(0.0, float(at[0] - low_x)),
                "from_lower_m": max(0.0, float(at[1] - low_y)),
                "shaped": shape is not None and is_shaped(shape),
            }
        )
    return rows


def is_shaped(shape: Shape) -> bool:
    """Whether a piece is more than a rectangle cut from the roll."""
    left = box(*shape.bounds).difference(shape)
    return not left.buffer(-SHAPED_M / 2).is_empty


def _piece_words(name: str, order: int | None, whole: Shape, shape: Shape, scale: float) -> list[Text]:
    """Number, place in the order, and size, as much of it as has room in the piece."""
    spots = _spots(shape)
    low_x, low_y, high_x, high_y = whole.bounds
    wide, high = high_x - low_x, high_y - low_y
    titles = [name] if order is None else [f"{name} ({order})", name]
    size = f"{inches_text(max(wide, high))} × {inches_text(min(wide, high))}"
    metric = f"{millimetres_text(max(wide, high))} × {millimetres_text(min(wide, high))}"
    for title in titles:
        for below, letter in ((2, LARGE), (2, NORMAL), (1, NORMAL), (0, LARGE), (0, NORMAL), (0, SMALL)):
            lines = [(title, letter, True), *((one, SMALL, False) for one in (size, metric)[:below])]
            long = max(text_width(words, letter, bold=bold) for words, letter, bold in lines) + 0.8
            tall = sum(letter * 1.12 for _, letter, _ in lines)
            for turned in (False, True):
                for at in spots:
                    if _holds(shape, at, (tall, long) if turned else (long, tall), scale):
                        return _set_lines((at.x, at.y), lines, tall, turned)
    return []


def _spots(shape: Shape) -> list[shapely.Point]:
    """Where a name may stand: in the middle, in the widest place, or at quarters."""
    low_x, low_y, high_x, high_y = shape.bounds
    widest = shapely.get_point(shapely.maximum_inscribed_circle(shape, 0.01), 0)
    quarters = [
        shapely.Point(low_x + a * (high_x - low_x), low_y + b * (high_y - low_y))
        for a in (0.25, 0.5, 0.75)
        for b in (0.25, 0.5, 0.75)
    ]
    return [shape.centroid, widest, *quarters]


def _holds(shape: Shape, at: shapely.Point, size_mm: tuple[float, float], scale: float) -> bool:
    across, up = size_mm[0] * scale / 2000, size_mm[1] * scale / 2000
    return bool(shape.contains(box(at.x - across, at.y - up, at.x + across, at.y + up)))


def _set_lines(at: Point, lines: list[tuple[str, float, bool]], tall: float, turned: bool) -> list[Text]:
    found, down = [], tall / 2
    for words, letter, bold in lines:
        down -= letter * 0.86
        shift = (-down, 0.0) if turned else (0.0, down)
        found.append(Text(at, words, letter, "middle", bold, not bold, 90.0 if turned else 0.0, shift))
        down -= letter * 0.26
    return found


def _stations(floor: _Floor, room: Shape, shapes: dict[str, Shape]) -> Measured:
    low_x, low_y, high_x, high_y = room.bounds
    left_wall, lower_wall = floor.room.bounds[:2]
    across, up = _edges(list(shapes.values()))
    ways = [way for _, way, _ in ways_in(floor.area, floor.room)]
    above, left = 9.0 if (0.0, -1.0) in ways else 4.0, 9.0 if (1.0, 0.0) in ways else 4.0
    return [
        RunningDimension(
            (low_x, high_y),
            (1, 0),
            stations_between(low_x, high_x, across, left_wall, across_axis(floor.chalk, 0)),
            above,
        ),
        RunningDimension(
            (low_x, low_y),
            (0, 1),
            stations_between(low_y, high_y, up, lower_wall, across_axis(floor.chalk, 1)),
            left,
        ),
    ]


def _edges(shapes: list[Shape]) -> tuple[list[float], list[float]]:
    """Where edges of pieces lie that face another piece, across and up the page."""
    across: list[float] = []
    up: list[float] = []
    for number, shape in enumerate(shapes):
        near = [other for k, other in enumerate(shapes) if k != number and other.distance(shape) < 0.03]
        points = list(shape.exterior.coords)
        for (ax, ay), (bx, by) in itertools.pairwise(points):
            edge = shapely.LineString([(ax, ay), (bx, by)])
            if edge.length < EDGE_M or not any(_faces(edge, other) for other in near):
                continue
            if abs(ax - bx) < 0.002:
                across.append(ax)
            elif abs(ay - by) < 0.002:
                up.append(ay)
    return across, up


def _faces(edge: shapely.LineString, other: Shape) -> bool:
    shared = edge.intersection(other.buffer(0.03, join_style="mitre"))
    return bool(shared.length > EDGE_M)


def _sums(area: dict[str, Any], chalk: tuple[Point, ...], room: Shape) -> list[tuple[str, str]]:
    sums = []
    if len(chalk) == 2:
        (ax, ay), (bx, by) = chalk
        low_x, low_y, high_x, high_y = room.bounds
        if abs(ax - bx) <= abs(ay - by):
            sums.append(("Start line from the left", length_text((ax + bx) / 2 - low_x)))
            sums.append(("and from the right", length_text(high_x - (ax + bx) / 2)))
        else:
            sums.append(("Start line from below", length_text((ay + by) / 2 - low_y)))
            sums.append(("and from above", length_text(high_y - (ay + by) / 2)))
    for side in ("left", "right"):
        pair = [float(value) for value in (area.get("chalk_line") or {}).get(f"{side}_m") or ()]
        if pair and max(pair) - min(pair) >= 0.0005:
            words = f"{length_text(pair[0])} at its start, {length_text(pair[-1])} at its end"
            sums.append((f"To the wall on its {side}", words))
    for head, key in (("Seams", "seam_length_m"), ("Edges", "edge_length_m")):
        if area.get(key) is not None:
            sums.append((head, length_text(float(area[key]))))
    inside, outside = area.get("inside_corners"), area.get("outside_corners")
    if inside is not None and outside is not None:
        sums.append(("Corners", f"{inside} inside, {outside} outside"))
    return sums


def draw_shaped_pieces(
    area: dict[str, Any],
    pieces: list[dict[str, Any]],
    block: TitleBlock | None = None,
    *,
    width_mm: float = 170.0,
    tallest_mm: float = 220.0,
) -> list[Sheet]:
    """Pieces that are more than a rectangle, each from its blank, distances from the blank's corner."""
    own = [piece for piece in pieces if piece.get("area") in (None, area.get("name"))]
    angle = page_turn(float(area.get("direction_deg") or 0.0))
    shapes = {name: shape for name, shape in _shapes(area, own, angle).items() if is_shaped(shape)}
    sheets: list[Sheet] = []
    if not shapes:
        return sheets
    longest = max(max(_size(shape)) for shape in shapes.values())
    scale = next((s for s in SCALES if s >= 20 and longest * 1000 / s <= 72), SCALES[-1])
    sheet, x, y, row = _new_sheet(area, width_mm), 0.0, 0.0, 0.0
    for name, shape in shapes.items():
        scene, reach = _piece_scene(name, shape, scale)
        wide, high = (value * 1000 / scale for value in _size(shape))
        over = max(
            running_overrun(item, scale)
            for item in scene.primitives
            if isinstance(item, RunningDimension) and not item.along[0]
        )
        needs = (reach[0] + max(wide, 26.0) + 6.0, max(reach[1], over + 2.0) + high + 10.0)
        if x and x + needs[0] > width_mm:
            x, y, row = 0.0, y + row, 0.0
        if y + needs[1] > tallest_mm - 40.0 and (x or y):
            sheets.append(_close(sheet, scale, y + row, block))
            sheet, x, y, row = _new_sheet(area, width_mm), 0.0, 0.0, 0.0
        sheet.add(Words((x, y + 4.0), f"Piece {name}", NORMAL, bold=True))
        place_scene(sheet, scene, scale, x + reach[0], y + 5.0 + max(reach[1], over))
        x, row = x + needs[0], max(row, needs[1] + 5.0)
    sheets.append(_close(sheet, scale, y + row, block))
    return sheets


def _size(shape: Shape) -> tuple[float, float]:
    low_x, low_y, high_x, high_y = shape.bounds
    return high_x - low_x, high_y - low_y


def _new_sheet(area: dict[str, Any], width_mm: float) -> Sheet:
    name = area.get("name") or "the area"
    return Sheet(
        "Pieces cut to shape", f"Pieces of {name} that are cut to shape, each on its blank.", width_mm
    )


def _close(sheet: Sheet, scale: float, below: float, block: TitleBlock | None) -> Sheet:
    sheet.scale = scale
    draw_scale_bar(sheet, (2.0, below + 5.0), scale)
    notes = [
        "Seen from above as they lie. Distances run from the corner of the blank at 0; hatched is cut off. "
        "Check against the floor before cutting; a curve is cut in place."
    ]
    return finish_sheet(sheet, block or TitleBlock(), below + 10.5, notes)


def _piece_scene(name: str, shape: Shape, scale: float) -> tuple[Scene, Point]:
    """One piece on its blank, and how far its distances stand out to the left and above. [mm]"""
    low_x, low_y, high_x, high_y = shape.bounds
    scene = Scene()
    for part in shapely.get_parts(box(*shape.bounds).difference(shape)):
        if isinstance(part, Shape) and part.area > 1e-5:
            ring = tuple((float(x), float(y)) for x, y in part.exterior.coords[:-1])
            scene.add(Polygon(ring, "offcut", "fine", soft=True, name="offcut"))
    rings = tuple(read_points(hole.coords) for hole in shape.interiors)
    scene.add(Polygon(read_points(shape.exterior.coords), "none", "medium", rings, name="piece"))
    points = [*shape.exterior.coords[:-1], *(p for hole in shape.interiors for p in hole.coords[:-1])]
    curved = len(points) > MOST_POINTS
    xs = [] if curved else [x for x, _ in points]
    ys = [] if curved else [y for _, y in points]
    across = RunningDimension((low_x, high_y), (1, 0), _fine(low_x, high_x, xs), 2.6)
    up = RunningDimension((low_x, low_y), (0, 1), _fine(low_y, high_y, ys), 2.6)
    scene.add(across, up)
    if curved:
        at = shape.representative_point()
        scene.add(Text((at.x, at.y), "curve: cut in place", SMALL, soft=True))
    return scene, (running_reach(up, scale) + 1.0, running_reach(across, scale) + 1.0)


def _fine(low: float, high: float, places: list[float]) -> tuple[tuple[float, str], ...]:
    stations = [(0.0, "0")]
    for place in sorted(places):
        if place - low - stations[-1][0] > SAME_CUT_M and high - place > SAME_CUT_M:
            stations.append((place - low, two_lines(place - low)))
    return (*stations, (high - low, two_lines(high - low)))


def _describe(area: dict[str, Any], own: list[dict[str, Any]]) -> str:
    name = area.get("name") or "the area"
    count = len(own)
    return f"Dry-fit sheet of {name}: {count} piece{'' if count == 1 else 's'} in laying order with sizes."
