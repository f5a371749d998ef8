"""Cable plan: every circuit as it lies, its ends at the control, the sensor between two runs."""

from __future__ import annotations

import itertools
import math
from typing import Any

from shapely.geometry import LineString
from shapely.geometry import Polygon as Shape

from undercourse.drawings.floors import (
    Drawn,
    FloorSheet,
    Measured,
    PaperRoom,
    control_marks,
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
from undercourse.drawings.lettering import NORMAL
from undercourse.drawings.measures import area_text, inches_text, length_text, quantity_text
from undercourse.drawings.scene import Polygon, Polyline, RunningDimension
from undercourse.drawings.sheet import DASHES, PENS, Disc, Fill, Placing, Sheet, Stroke, Words

LEAD_M = 3.0  # a lead that is longer is told in words; its way along the walls is the electrician's
MANY = 4  # with more kits than this they are told under the plan
FINE_BELOW_MM = 0.9  # runs nearer than this on paper are drawn with the finest pen


def draw_cable_plan(
    area: dict[str, Any],
    cable: dict[str, Any],
    joints: dict[str, Any] | None = None,
    block: TitleBlock | None = None,
    *,
    width_mm: float = 170.0,
    paper: PaperRoom | None = None,
) -> Sheet:
    """Plan of the heating cable of one area.

    Parameters
    ----------
    area : dict
        ``name``, ``outline``, and if known ``obstacles``, ``doors``, ``entrance``, ``north_deg``.
    cable : dict
        The area's ``heating_cable`` as ``layout --json`` gives it.
    joints : dict, optional
        Its ``movement_joints``, which no cable crosses.
    paper : PaperRoom, optional
        The paper it is drawn for, in place of a width alone.

    Returns
    -------
    Sheet
        Circuits are paths of class ``cable``, sensor tubes of class ``sensor``, leads of class ``lead``.
    """
    width_mm = paper.width_mm if paper is not None else width_mm
    sheet = Sheet("Heating cable", _describe(area, cable), width_mm)
    angle = page_turn(_direction(cable))
    area, cable, joints = turn_area(area, angle), _turned(cable, angle), _turned(joints or {}, angle)
    room = read_room(area, {})
    if room is None:
        sheet.add(Words((0, 6), "No outline is given for this area.", soft=True))
        return finish_sheet(sheet, block or TitleBlock(), 8)
    circuits = list(cable.get("circuits") or ())
    lines = [read_points(one["line"]) for one in joints.get("joints") or ()]
    bare = _unheated(area, cable, room)

    def drawn(scale: float) -> Drawn:
        found: Drawn = [Polygon(ring, "offcut", "fine", soft=True, name="unheated") for ring in bare]
        found += draw_room(area, room)
        found += [Polyline(line, "wide", "solid", "joint") for line in lines]
        sensed: set[int] = set()
        for one in circuits:
            fine = float(one["spacing_m"]) * 1000 / scale < FINE_BELOW_MM
            path = tuple((float(x), float(y)) for x, y in one["path"])
            found.append(Polyline(path, "fine" if fine else "narrow", name="cable"))
            if one["control"] not in sensed:
                sensed.add(one["control"])
                way = tuple((float(x), float(y)) for x, y in one["sensor_way"])
                found.append(Polyline(way, "narrow", "dashed", "sensor"))
        return found

    def after(page: Sheet, placing: Placing) -> None:
        _draw_ends(page, cable, circuits, placing)

    key = [("cable", "Heating cable"), ("sensor", "Sensor tube"), ("control", "Control")]
    key += [("lead", "Cold lead")] if circuits else []
    key += [("joint", "Movement joint")] if lines else []
    key += [("obstacle", "Fixed, no cable")] if area.get("obstacles") or bare else []
    floor = FloorSheet(
        room,
        _stations(area, room, circuits),
        drawn,
        key,
        _sums(cable),
        [*_notes(cable, alone=paper is not None), *turn_note(angle)],
        after,
        True,
        room_mm=paper,
    )
    return finish_floor(sheet, area, floor, block or TitleBlock())


def _direction(cable: dict[str, Any]) -> float:
    """How far the runs lie off the square, from -45 up to 45: read from the longest straight one. [deg]"""
    longest, found = 0.0, 0.0
    for one in cable.get("circuits") or ():
        for (ax, ay), (bx, by) in itertools.pairwise(one["path"]):
            length = math.hypot(bx - ax, by - ay)
            if length > longest + 1e-3:
                longest, found = length, math.degrees(math.atan2(by - ay, bx - ax))
    off = (found + 45.0) % 90.0 - 45.0
    return off if abs(off) > 0.2 else 0.0  # points are rounded to a tenth of a millimeter


def _turned(document: dict[str, Any], angle: float) -> dict[str, Any]:
    """A cable or joint document with its places turned clockwise."""
    if not angle:
        return document
    turned = dict(document)
    for key in ("zone", "doorways"):
        if key in document:
            turned[key] = [turn_points(line, angle) for line in document[key]]
    if "control" in document:
        turned["control"] = turn_points([document["control"]], angle)[0]
    for key, lines in (("circuits", ("path", "sensor_way")), ("joints", ("line",))):
        turned[key] = [
            {**one, **{name: turn_points(one[name], angle) for name in lines}}
            for one in document.get(key) or ()
        ]
    for one in turned["circuits"]:
        one["sensor"] = turn_points([one["sensor"]], angle)[0]
    return turned


def _unheated(
    area: dict[str, Any], cable: dict[str, Any], room: Shape
) -> list[tuple[tuple[float, float], ...]]:
    """Parts of the room that are tiled and not in the heated zone."""
    rings = [read_points(ring) for ring in cable.get("zone") or ()]
    if not rings:
        return []
    zone = Shape(rings[0], rings[1:])
    left = room.buffer(0).difference(zone.buffer(0.002))
    for _, fixed in read_obstacles(area):
        left = left.difference(Shape(fixed).buffer(0.002))
    parts = [part for part in getattr(left, "geoms", [left]) if isinstance(part, Shape) and part.area > 0.01]
    return [read_points(part.exterior.coords) for part in parts]


def _stations(area: dict[str, Any], room: Shape, circuits: list[dict[str, Any]]) -> Measured:
    """Where the outermost runs of every circuit lie, from the walls at 0."""
    low_x, low_y, high_x, high_y = room.bounds
    boxes = [LineString(one["path"]).bounds for one in circuits]
    across = [box[side] for box in boxes for side in (0, 2)]
    up = [box[side] for box in boxes for side in (1, 3)]
    ways = [way for _, way, _ in ways_in(area, room)]
    above, left = 9.0 if (0.0, -1.0) in ways else 4.0, 9.0 if (1.0, 0.0) in ways else 4.0
    return [
        RunningDimension((low_x, high_y), (1, 0), stations_between(low_x, high_x, across), above),
        RunningDimension((low_x, low_y), (0, 1), stations_between(low_y, high_y, up), left),
    ]


def _draw_ends(page: Sheet, cable: dict[str, Any], circuits: list[dict[str, Any]], placing: Placing) -> None:
    """Control, leads, sensors and numbers of the circuits, on top of everything."""
    control = placing((float(cable["control"][0]), float(cable["control"][1])))
    paths = [LineString(one["path"]) for one in circuits]
    sensed: set[int] = set()
    for number, one in enumerate(circuits, 1):
        for end in (one["path"][0], one["path"][-1]):
            lead = LineString([end, cable["control"]])
            # A lead that would run over cable goes round it, in or along the walls: that way is not drawn.
            if lead.length <= LEAD_M and not any(lead.crosses(path) for path in paths):
                spot = placing((float(end[0]), float(end[1])))
                page.add(Stroke((spot, control), PENS["narrow"], DASHES["chain"], name="lead"))
        if one["control"] not in sensed:
            sensed.add(one["control"])
            page.add(Disc(placing((float(one["sensor"][0]), float(one["sensor"][1]))), 0.9))
        if len(circuits) > 1:
            box = LineString(one["path"]).bounds
            x, y = placing(((box[0] + box[2]) / 2, (box[1] + box[3]) / 2))
            half = 3.0
            corners = ((x - half, y - half), (x + half, y - half), (x + half, y + half), (x - half, y + half))
            page.add(Fill(corners, "paper"), Stroke(corners, PENS["narrow"], closed=True))
            page.add(Words((x, y + NORMAL * 0.33), str(number), NORMAL, "middle", bold=True))
    page.add(*control_marks(control))


def _sums(cable: dict[str, Any]) -> list[tuple[str, str]]:
    sums = [("Heated", area_text(float(cable["heated_m2"])))]
    sums.append(("Within the margins, no cable", area_text(float(cable["unheated_m2"]))))
    circuits = list(cable.get("circuits") or ())
    if len(circuits) > 1:
        controls = int(cable.get("controls") or 1)
        words = f"{len(circuits)} kits, {float(cable['amps']):.1f} A, "
        words += f"{controls} controls" if controls > 1 else "one control"
        sums.append(("Together", words))
    for number, one in enumerate(circuits if len(circuits) <= MANY else (), 1):
        head = f"Kit {number}" if len(circuits) > 1 else "Kit"
        if int(cable.get("controls") or 0) > 1:
            head += f", on control {one['control']}"
        words = (
            f"{one['item_number']}, {length_text(float(one['length_m']))}, "
            f"{length_text(float(one['spacing_m']))} apart, {float(one['power_w']):g} W at "
            f"{float(one['voltage_v']):g} V, {float(one['amps']):.1f} A, "
            f"{quantity_text(one['power_w_m2'], 'W/m2')}"
        )
        if max(one["ends_to_control_m"]) > LEAD_M:
            words += f"; its ends lie {length_text(max(one['ends_to_control_m']))} from the control"
        sums.append((head, words))
    gaps = {
        "walls": cable["wall_gap_m"],
        "fixed parts": cable["fixture_gap_m"],
        "joints": cable["joint_gap_m"],
    }
    sums.append(("Cable keeps off", ", ".join(f"{k} {inches_text(float(v))}" for k, v in gaps.items())))
    return sums


def _many_kits(circuits: list[dict[str, Any]]) -> list[str]:
    """Kits in a paragraph under the plan, where there are too many to stand beside it."""
    words = []
    for number, one in enumerate(circuits if len(circuits) > MANY else (), 1):
        far = max(one["ends_to_control_m"])
        away = f", ends {inches_text(far)} from the control" if far > LEAD_M else ""
        words.append(
            f"{number}, on control {one['control']}: {one['item_number']}, "
            f"{inches_text(float(one['spacing_m']))} apart, {float(one['amps']):.1f} A{away}"
        )
    return [f"Kits. {'; '.join(words)}."] if words else []


def _notes(cable: dict[str, Any], alone: bool) -> list[str]:
    """What holds for all runs; where the control is only assumed; cautions where the sheet stands alone."""
    first = (
        "Bends have half the spacing as radius. Distances run from the walls at 0. A lead that is not drawn "
        "goes round the cable; each control has its sensor, with a spare tube beside it."
    )
    if not cable.get("circuits"):
        return []
    assumed = [note for note in cable.get("notes") or () if note.startswith("The control is taken")]
    kits = _many_kits(list(cable["circuits"]))
    return [*kits, first, *assumed, *(cable.get("cautions") or () if alone else ())]


def _describe(area: dict[str, Any], cable: dict[str, Any]) -> str:
    count = len(cable.get("circuits") or ())
    name = area.get("name") or "the area"
    return (
        f"Plan of {name} with {count} heating cable{'' if count == 1 else 's'}, "
        f"{area_text(float(cable['heated_m2']))} heated."
    )
