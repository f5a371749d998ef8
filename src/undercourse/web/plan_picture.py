"""The plan as the page draws it: all areas where they lie, in millimeters, to zoom and to drag in.

Lines keep their width on the screen; what can be dragged is drawn by the script from what the groups say.
"""

from __future__ import annotations

import json
import math
from collections.abc import Mapping, Sequence
from typing import Any

from markupsafe import Markup
from shapely import Polygon, STRtree

from undercourse.drawings.lettering import text_width
from undercourse.drawings.scaled_plan import top_run

MARGIN = 0.04
LARGEST_LABEL_MM, SMALLEST_LABEL_MM = 180.0, 25.0

APART = 0.12
"""Floors that are drawn side by side stand so far apart, as a share of the longest."""

SHARED = 0.02
"""Areas that share more of the smaller one lie on each other."""

Points = Sequence[Sequence[float]]
Moves = dict[str, tuple[float, float]]


def _mm(value: float) -> str:
    text = f"{value * 1000:.1f}"
    return text.removesuffix(".0")


def _at(point: Sequence[float]) -> str:
    return f"{_mm(point[0])} {_mm(-point[1])}"


def _path(points: Points, closed: bool = True) -> str:
    return "M" + "L".join(_at(point) for point in points) + ("Z" if closed else "")


def spread(areas: Sequence[Mapping[str, Any]]) -> Moves:
    """How far each area is moved for the drawing, by name. [m]

    Storeys lie side by side; so do areas that each have an origin of their own, as those of a job.
    """
    groups: dict[str, list[Mapping[str, Any]]] = {}
    for area in areas:
        groups.setdefault(str(area.get("storey") or ""), []).append(area)
    parts: list[list[Mapping[str, Any]]] = []
    for group in groups.values():
        parts += [[area] for area in group] if _lie_on_each_other(group) else [group]
    if len(parts) < 2:
        return {str(area["name"]): (0.0, 0.0) for area in areas}
    boxes = [_bounds(part) for part in parts]
    gap = APART * max(max(box[2] - box[0], box[3] - box[1]) for box in boxes)
    row = math.sqrt(sum((box[2] - box[0] + gap) * (box[3] - box[1] + gap) for box in boxes)) * 1.4
    moves: Moves = {}
    x = y = high = 0.0
    for part, box in zip(parts, boxes, strict=True):
        wide = box[2] - box[0]
        if x > 0 and x + wide > row:
            x, y, high = 0.0, y - high - gap, 0.0
        for area in part:
            moves[str(area["name"])] = (x - box[0], y - box[3])
        x, high = x + wide + gap, max(high, box[3] - box[1])
    return moves


def _lie_on_each_other(areas: Sequence[Mapping[str, Any]]) -> bool:
    """Whether two areas share more floor than a line drawn to the wrong side of a wall."""
    shapes = [Polygon(area["outline"]).buffer(0) for area in areas]
    one, other = STRtree(shapes).query(shapes, predicate="intersects")
    pairs = ((shapes[i], shapes[j]) for i, j in zip(one, other, strict=True) if i < j)
    return any(a.intersection(b).area > SHARED * min(a.area, b.area) for a, b in pairs)


def _bounds(areas: Sequence[Mapping[str, Any]]) -> tuple[float, float, float, float]:
    xs, ys = zip(*(point for area in areas for point in area["outline"]), strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def moved_by(points: Points, move: tuple[float, float]) -> list[list[float]]:
    """Points moved for the drawing. [m]"""
    return [[point[0] + move[0], point[1] + move[1]] for point in points]


def moved_area(area: Mapping[str, Any], move: tuple[float, float]) -> dict[str, Any]:
    """An area of a plan moved for the drawing."""
    found = {**area, "outline": moved_by(area["outline"], move)}
    for key in ("obstacles", "doors"):
        found[key] = [moved_by(line, move) for line in area[key]]
    return found


def view_box(areas: Sequence[Mapping[str, Any]], moves: Moves) -> str:
    """The box that holds areas, with a margin, as an SVG's viewBox. [mm]"""
    points = [point for area in areas for point in moved_by(area["outline"], moves[area["name"]])]
    if not points:
        return "0 0 1000 1000"
    xs, ys = [p[0] for p in points], [-p[1] for p in points]
    wide, high = max(xs) - min(xs), max(ys) - min(ys)
    edge = MARGIN * max(wide, high)
    corners = (min(xs) - edge, min(ys) - edge, wide + 2 * edge, high + 2 * edge)
    return " ".join(_mm(value) for value in corners)


def draw_floor(
    areas: Sequence[Mapping[str, Any]],
    layout: Mapping[str, Any] | None,
    held: Mapping[str, Any],
    at: str,
    moves: Moves,
) -> Markup:
    """Areas with pieces, labels and start lines, as groups of an SVG.

    Parameters
    ----------
    areas : sequence of mapping
        The chosen areas of the plan, with ``name``, ``outline``, ``obstacles`` and ``doors``. [m]
    layout : mapping, optional
        What was laid in them.
    held : mapping
        What a person holds, by name of area.
    at : str
        The area in hand.
    moves : mapping
        How far each area is moved for the drawing, as ``spread`` gives it.
    """
    laid = {area["name"]: area for area in (layout or {}).get("areas", ())}
    pieces: dict[str, list[Mapping[str, Any]]] = {}
    for piece in (layout or {}).get("pieces", ()):
        pieces.setdefault(piece["area"], []).append(piece)
    drawn = []
    for area in areas:
        name = area["name"]
        move = moves[name]
        own = [{**piece, "outline": moved_by(piece["outline"], move)} for piece in pieces.get(name, ())]
        done = laid.get(name)
        if done is not None and done.get("chalk_line"):
            chalk = moved_by([done["chalk_line"]["start"], done["chalk_line"]["end"]], move)
            done = {**done, "chalk_line": {"start": chalk[0], "end": chalk[1]}}
        drawn.append(_area(moved_area(area, move), done, own, name in held, name == at))
    return Markup("").join([*drawn, *_storeys(areas, moves)])


def _storeys(areas: Sequence[Mapping[str, Any]], moves: Moves) -> list[Markup]:
    """The names of storeys above their floors, where there are several."""
    spots: dict[str, tuple[float, float]] = {}
    for area in areas:
        storey = str(area.get("storey") or "")
        left, _, _, top = _bounds([moved_area(area, moves[area["name"]])])
        found = spots.get(storey, (left, top))
        spots[storey] = (min(found[0], left), max(found[1], top))
    if len(spots) < 2:
        return []
    text = Markup('<text class="storey" x="{}" y="{}">{}</text>')
    return [text.format(_mm(x), _mm(-y), storey[:40]) for storey, (x, y) in spots.items() if storey]


def _area(
    area: Mapping[str, Any],
    laid: Mapping[str, Any] | None,
    pieces: Sequence[Mapping[str, Any]],
    held: bool,
    in_hand: bool,
) -> Markup:
    name = str(area["name"])
    kind = "area" + (" in-hand" if in_hand else "") + (" held" if held else "")
    outline = json.dumps([[round(x, 4), round(y, 4)] for x, y in area["outline"]], separators=(",", ":"))
    said = {"data-name": name, "data-outline": outline}
    if laid is not None and laid["strips"]:
        said["data-direction"] = f"{laid['direction_deg']:.4f}"
        if laid["line_m"] is not None:
            said["data-line"] = f"{laid['line_m']:.5f}"
    attributes = Markup(" ").join(Markup('{}="{}"').format(key, value) for key, value in said.items())
    room = _path(area["outline"]) + "".join(_path(hole) for hole in area["obstacles"])
    marks = [Markup('<path class="room" d="{}"/>').format(room)]
    marks += [Markup('<path class="fixed" d="{}"/>').format(_path(hole)) for hole in area["obstacles"]]
    if pieces:
        edges = "".join(_path(piece["outline"]) for piece in pieces)
        marks.append(Markup('<path class="pieces" d="{}"/>').format(edges))
    # The edge is drawn last, so that pieces never cover a wall.
    marks.append(Markup('<path class="walls" d="{}"/>').format(room))
    marks += [Markup('<path class="door" d="{}"/>').format(_path(door, False)) for door in area["doors"]]
    chalk = laid.get("chalk_line") if laid is not None else None
    if chalk and not in_hand:
        line = _path([chalk["start"], chalk["end"]], False)
        marks.append(Markup('<path class="start" d="{}"/>').format(line))
    marks += [_label(piece) for piece in pieces]
    marks.append(_name(area, laid))
    return Markup('<g class="{}" {}>{}</g>').format(kind, attributes, Markup("").join(marks))


def _label(piece: Mapping[str, Any]) -> Markup:
    """A piece's number where it has room, along the piece where it is too narrow."""
    shape = Polygon(piece["outline"])
    inside = shape.is_valid and not shape.contains(shape.centroid)
    spot = shape.representative_point() if inside else shape.centroid
    low_x, low_y, high_x, high_y = shape.bounds
    wide, high = (high_x - low_x) * 1000, (high_y - low_y) * 1000
    words = str(piece["id"])
    turned = wide < high and text_width(words, LARGEST_LABEL_MM) > 0.8 * wide
    along, over = (high, wide) if turned else (wide, high)
    fit = min(0.7 * over, 0.8 * along / max(text_width(words, 1.0), 0.1))
    size = min(LARGEST_LABEL_MM, fit)
    if size < SMALLEST_LABEL_MM:
        return Markup("")
    x, y = spot.x * 1000, -spot.y * 1000
    turn = Markup(' transform="rotate(-90 {:.0f} {:.0f})"').format(x, y) if turned else Markup("")
    place = Markup('x="{:.0f}" y="{:.0f}" dy="0.35em" font-size="{:.0f}" data-fit="{:.0f}"')
    return Markup('<text class="piece" {}{}>{}</text>').format(place.format(x, y, size, fit), turn, words)


def _name(area: Mapping[str, Any], laid: Mapping[str, Any] | None) -> Markup:
    """The area's name below the left end of its top, in the page's own size where it has room."""
    left, right, top = top_run(area["outline"])
    why = Markup(' <tspan class="bare">(not laid)</tspan>') if laid is not None and not laid["strips"] else ""
    return Markup('<text class="name" x="{}" y="{}" data-room="{}">{}{}</text>').format(
        _mm(left), _mm(-top), _mm(right - left), str(area["name"])[:40], why
    )


def draw_marks(marks: Mapping[str, Mapping[str, Any]], moves: Moves) -> Markup:
    """Movement joints and heating cable of areas, each in a group that can be switched off."""
    joints: list[str] = []
    doorways: list[str] = []
    cables: list[str] = []
    for name, one in marks.items():
        if name not in moves:
            continue
        found, move = one.get("joints") or {}, moves[name]
        joints += [_path(moved_by(joint["line"], move), False) for joint in found.get("joints", ())]
        doorways += [_path(moved_by(line, move), False) for line in found.get("doorways", ())]
        cables += [_path(moved_by(line, move), False) for line in cable_lines(one.get("cable") or {})]
    groups = []
    if joints or doorways:
        lines = Markup('<path class="joint" d="{}"/><path class="doorway" d="{}"/>').format(
            "".join(joints), "".join(doorways)
        )
        groups.append(Markup('<g class="joints">{}</g>').format(lines))
    if cables:
        groups.append(Markup('<g class="cable"><path d="{}"/></g>').format("".join(cables)))
    return Markup("").join(groups)


def cable_lines(cable: Mapping[str, Any]) -> list[Points]:
    """Runs of the heating cable of an area. [m]"""
    return [run["path"] for run in cable.get("circuits", ()) if len(run.get("path") or ()) > 1]
