"""What is drawn of a layout in files for other programs: shapes in meters, area by area."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass
from typing import Any

from shapely import Polygon

from undercourse.drawings.plan import seam_lines
from undercourse.layout import make_outline
from undercourse.layout.outlines import rings

Point = tuple[float, float]
Line = list[Point]
Named = tuple[str, Line]


@dataclass(frozen=True)
class AreaShapes:
    """One area as laid, in meters: its rings (edge first), and what lies in them."""

    name: str
    storey: str
    polygon: Polygon
    doors: list[Line]
    strips: list[Named]
    pieces: list[Named]
    seams: list[Line]
    joints: list[Line]
    chalk_lines: list[Line]
    cables: list[Line]
    sensors: list[Line]
    control: Point | None

    @property
    def rings(self) -> list[Line]:
        """The edge counter-clockwise, then obstacles clockwise; the first corner is not repeated."""
        return [_line(ring.tolist()) for ring in rings(self.polygon)]

    @property
    def area_m2(self) -> float:
        """Net area. [m2]"""
        return float(self.polygon.area)


def laid_shapes(document: Mapping[str, Any], rooms: Mapping[str, Mapping[str, Any]]) -> Iterator[AreaShapes]:
    """The shapes of every area whose outline is known.

    Parameters
    ----------
    document : mapping
        A layout as ``layout --json`` gives it.
    rooms : mapping
        Name of an area to its ``outline``, ``obstacles``, ``doors`` in meters, and ``storey``.
    """
    for area in document["areas"]:
        room = rooms.get(area["name"])
        if room is None:
            continue
        polygon = make_outline(room["outline"], list(room.get("obstacles") or ()), area["name"])
        pieces = [piece for piece in document["pieces"] if piece["area"] == area["name"]]
        chalk = area.get("chalk_line")
        joints, cable = area.get("movement_joints") or {}, area.get("heating_cable") or {}
        circuits = list(cable.get("circuits") or ())
        yield AreaShapes(
            str(area["name"]),
            str(room.get("storey") or ""),
            polygon,
            [_line(door) for door in room.get("doors") or ()],
            [(str(strip["id"]), _line(strip["outline"])) for strip in area["strips"]],
            [(str(piece["id"]), _line(piece["outline"])) for piece in pieces if piece.get("outline")],
            [_line(list(seam.coords)) for seam in seam_lines(dict(area), pieces)],
            [_line(joint["line"]) for joint in joints.get("joints") or ()]
            + [_line(door) for door in joints.get("doorways") or ()],
            [_line([chalk["start"], chalk["end"]])] if chalk else [],
            [_line(one["path"]) for one in circuits],
            [_line(one["sensor_way"]) for one in circuits],
            _line([cable["control"]])[0] if circuits else None,
        )


def split_layouts(document: Mapping[str, Any]) -> list[dict[str, Any]]:
    """The layouts of a joined document, one a sheet, with the names of pieces and rolls of the whole."""
    parts = []
    rolls = 0
    for layout in document.get("layouts") or [document]:
        own = {area["name"] for area in layout["areas"]}
        last = rolls + int(layout["rolls"])
        parts.append(
            {
                **layout,
                "areas": [area for area in document["areas"] if area["name"] in own],
                "pieces": [piece for piece in document["pieces"] if piece["area"] in own],
                "roll_plan": [one for one in document["roll_plan"] if rolls < one["roll"] <= last],
            }
        )
        rolls = last
    return parts


def _line(points: Sequence[Any]) -> Line:
    return [(float(point[0]), float(point[1])) for point in points]
