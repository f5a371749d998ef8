"""Plan of movement joints: where each stands, why, and how long the fields between them are."""

from __future__ import annotations

from typing import Any

import shapely
from shapely.geometry import LineString, box
from shapely.geometry import Polygon as Shape

from undercourse.drawings.floors import (
    Drawn,
    FloorSheet,
    Measured,
    PaperRoom,
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
    ways_in,
)
from undercourse.drawings.frame import TitleBlock, finish_sheet
from undercourse.drawings.lettering import NORMAL, SMALL, text_width
from undercourse.drawings.measures import inches_text, length_text, quantity_text
from undercourse.drawings.scene import Polyline, RunningDimension, Text
from undercourse.drawings.sheet import Sheet, Words

# Pen, dash and name in the key, by why a joint stands there.
_KINDS = {
    "field": ("wide", "solid", "joint", "Movement joint"),
    "corner": ("wide", "solid", "joint", "Movement joint"),
    "base joint": ("wide", "chain", "base joint", "Over a joint of the base"),
    "change of material": ("wide", "dashed", "change", "Change of material"),
    "doorway": ("heavy", "solid", "doorway", "At a doorway"),
}


def draw_joint_plan(
    area: dict[str, Any],
    joints: dict[str, Any],
    block: TitleBlock | None = None,
    *,
    width_mm: float = 170.0,
    paper: PaperRoom | None = None,
) -> Sheet:
    """Plan of the movement joints of one area.

    Parameters
    ----------
    area : dict
        ``name``, ``outline``, and if known ``obstacles``, ``doors``, ``entrance``, ``north_deg``.
    joints : dict
        The area's ``movement_joints`` as ``layout --json`` gives them.
    paper : PaperRoom, optional
        The paper it is drawn for, in place of a width alone.

    Returns
    -------
    Sheet
        Joints are paths of class ``joint``, the outline one of class ``room``, all at ``scale``.
    """
    width_mm = paper.width_mm if paper is not None else width_mm
    sheet = Sheet("Movement joints", _describe(area, joints), width_mm)
    angle = page_turn(float(joints.get("direction_deg") or 0.0))
    area = turn_area(area, angle)
    room = read_room(area, {})
    if room is None:
        sheet.add(Words((0, 6), "No outline is given for this area.", soft=True))
        return finish_sheet(sheet, block or TitleBlock(), 8)
    lines = [
        (str(one["kind"]), LineString(turn_points(one["line"], angle))) for one in joints.get("joints") or ()
    ]
    lines += [("doorway", LineString(turn_points(one, angle))) for one in joints.get("doorways") or ()]
    fields = [
        (str(one["id"]), Shape(turn_points(one["outline"], angle))) for one in joints.get("fields") or ()
    ]

    def drawn(scale: float) -> Drawn:
        found = draw_room(area, room)
        for kind, line in lines:
            pen, dash, _, _ = _KINDS[kind]
            found.append(Polyline(read_points(line.coords), pen, dash, "joint"))
        if len(fields) > 1:
            fixed = shapely.union_all([Shape(ring).buffer(0) for _, ring in read_obstacles(area)])
            for name, shape in fields:
                found += _field_words(name, shape, fixed, scale)
        return found

    inner = lines[: len(lines) - len(joints.get("doorways") or ())]
    key = dict.fromkeys((_KINDS[kind][2], _KINDS[kind][3]) for kind, _ in inner)
    notes = ["A soft joint also stands at every wall and fixed part; distances run from the walls at 0."]
    floor = FloorSheet(
        room,
        _stations(area, room, [line for _, line in lines]),
        drawn,
        [*key, *([("obstacle", "Fixed")] if area.get("obstacles") else [])],
        _sums(joints),
        [*notes, *turn_note(angle)],
        None,
        len(fields) > 8,
        room_mm=paper,
    )
    return finish_floor(sheet, area, floor, block or TitleBlock())


def _field_words(name: str, shape: Shape, fixed: Any, scale: float) -> list[Text]:
    """The field's name and, where there is room, its two lengths; clear of fixed parts."""
    at = shape.centroid
    low_x, low_y, high_x, high_y = shape.bounds
    sizes = f"{inches_text(high_x - low_x)} × {inches_text(high_y - low_y)}"

    clear = max(shapely.get_parts(shape.difference(fixed)), key=lambda part: part.area, default=shape)

    def holds(wide_mm: float, high_mm: float) -> bool:
        across, up = wide_mm * scale / 2000, high_mm * scale / 2000
        return bool(clear.contains(box(at.x - across, at.y - up, at.x + across, at.y + up)))

    both = holds(text_width(sizes, SMALL) + 1, 9.0)
    if not both and clear.area > 1e-6:
        at = shapely.Point(shapely.get_coordinates(shapely.maximum_inscribed_circle(clear, 0.01))[0])
        both = holds(text_width(sizes, SMALL) + 1, 9.0)
    if not both and not holds(text_width(name, SMALL, bold=True), SMALL):
        return []
    letter = NORMAL if both or holds(text_width(name, NORMAL, bold=True) + 1, NORMAL) else SMALL
    shift = 0.6 if both else -letter * 0.33
    found = [Text((at.x, at.y), name, letter, "middle", True, shift_mm=(0, shift))]
    if both:
        found.append(Text((at.x, at.y), sizes, SMALL, "middle", soft=True, shift_mm=(0, -3.2)))
    return found


def _stations(area: dict[str, Any], room: Shape, lines: list[LineString]) -> Measured:
    """Running distances of joints across and up the page, from the walls at 0."""
    low_x, low_y, high_x, high_y = room.bounds
    across = [line.coords[0][0] for line in lines if abs(line.coords[0][0] - line.coords[-1][0]) < 0.002]
    up = [line.coords[0][1] for line in lines if abs(line.coords[0][1] - line.coords[-1][1]) < 0.002]
    ways = [way for _, way, _ in ways_in(area, room)]
    above, left = 9.0 if (0.0, -1.0) in ways else 4.0, 9.0 if (1.0, 0.0) in ways else 4.0
    return [
        RunningDimension((low_x, high_y), (1, 0), stations_between(low_x, high_x, across), above),
        RunningDimension((low_x, low_y), (0, 1), stations_between(low_y, high_y, up), left),
    ]


def _sums(joints: dict[str, Any]) -> list[tuple[str, str]]:
    sums = []
    if joints.get("longest_field_m") is not None:
        sums.append(("No field longer than", length_text(float(joints["longest_field_m"]))))
    sums.append(("Width and depth of sealant", _width_and_depth(joints)))
    if joints.get("joints"):
        sums.append(("Joints in the field", length_text(float(joints["joint_length_m"]))))
    if joints.get("doorway_length_m"):
        sums.append(("At doorways", length_text(float(joints["doorway_length_m"]))))
    sums.append(("At walls and fixed parts", length_text(float(joints["edge_length_m"]))))
    sums.append(("Sealant, no allowance", sealant_text(float(joints["sealant_l"]))))
    sums.append(("Backing rod", f"{inches_text(float(joints['rod_diameter_m']))}, "
                 f"{length_text(float(joints['rod_m']))}"))  # fmt: skip
    return sums


def sealant_text(volume_l: float) -> str:
    """A volume as sealant is sold: fluid ounces below a gallon."""
    if volume_l < 3.785:
        return f"{volume_l / 0.0295735:.0f} fl oz ({volume_l:.2f} l)"
    return quantity_text(volume_l, "l")


def _width_and_depth(joints: dict[str, Any]) -> str:
    wide, deep = float(joints["width_m"]), float(joints["sealant_depth_m"])
    return f"{length_text(wide)} × {length_text(deep)}"


def _describe(area: dict[str, Any], joints: dict[str, Any]) -> str:
    count = len(joints.get("joints") or ())
    name = area.get("name") or "the area"
    words = f"Plan of {name} with {count} movement joint{'' if count == 1 else 's'}"
    if joints.get("joint_length_m"):
        words += f", {length_text(float(joints['joint_length_m']))} in all"
    fields = len(joints.get("fields") or ())
    return f"{words}, in {fields} field{'' if fields == 1 else 's'}."
