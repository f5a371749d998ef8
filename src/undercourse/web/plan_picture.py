"""The plan as the page draws it: all areas where they lie, in millimeters, to zoom and to drag in.

Lines keep their width on the screen; what can be pressed is drawn by the page's script from what the groups say.
"""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

from markupsafe import Markup, escape
from shapely import Polygon

from undercourse.drawings.lettering import text_width

MARGIN = 0.04
LARGEST_LABEL_MM, SMALLEST_LABEL_MM = 180.0, 25.0

Points = Sequence[Sequence[float]]


def _mm(value: float) -> str:
    text = f"{value * 1000:.1f}"
    return text.removesuffix(".0")


def _at(point: Sequence[float]) -> str:
    return f"{_mm(point[0])} {_mm(-point[1])}"


def _path(points: Points, closed: bool = True) -> str:
    return "M" + "L".join(_at(point) for point in points) + ("Z" if closed else "")


def view_box(areas: Iterable[Mapping[str, Any]]) -> str:
    """The box that holds areas, with a margin, as an SVG's viewBox. [mm]"""
    points = [point for area in areas for point in area["outline"]]
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
    """
    laid = {area["name"]: area for area in (layout or {}).get("areas", ())}
    pieces: dict[str, list[Mapping[str, Any]]] = {}
    for piece in (layout or {}).get("pieces", ()):
        pieces.setdefault(piece["area"], []).append(piece)
    drawn = [
        _area(area, laid.get(area["name"]), pieces.get(area["name"], []), area["name"] in held, area["name"] == at)
        for area in areas
    ]
    return Markup("").join(drawn)


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
    size = min(LARGEST_LABEL_MM, 0.7 * over, 0.8 * along / max(text_width(words, 1.0), 0.1))
    if size < SMALLEST_LABEL_MM:
        return Markup("")
    x, y = spot.x * 1000, -spot.y * 1000
    turn = Markup(' transform="rotate(-90 {:.0f} {:.0f})"').format(x, y) if turned else Markup("")
    return Markup('<text class="piece" x="{:.0f}" y="{:.0f}" dy="0.35em" font-size="{:.0f}"{}>{}</text>').format(
        x, y, size, turn, words
    )


def _name(area: Mapping[str, Any], laid: Mapping[str, Any] | None) -> Markup:
    """The area's name in its upper left corner, in the page's own size."""
    shape = Polygon(area["outline"])
    low_x, _, _, high_y = shape.bounds
    why = Markup(' <tspan class="bare">not laid</tspan>') if laid is not None and not laid["strips"] else Markup("")
    return Markup('<text class="name" x="{}" y="{}" dy="-0.4em">{}{}</text>').format(
        _mm(low_x), _mm(-high_y), escape(str(area["name"])[:40]), why
    )


def draw_marks(marks: Mapping[str, Mapping[str, Any]]) -> Markup:
    """Movement joints and heating cable of areas, each in a group that can be switched off."""
    joints: list[str] = []
    doorways: list[str] = []
    cables: list[str] = []
    for one in marks.values():
        found = one.get("joints") or {}
        joints += [_path(joint["line"], False) for joint in found.get("joints", ())]
        doorways += [_path(line, False) for line in found.get("doorways", ())]
        cables += [_path(points, False) for points in cable_lines(one.get("cable") or {})]
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
