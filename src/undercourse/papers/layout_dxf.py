"""A layout as a DXF drawing: named layers, true units."""

from __future__ import annotations

import io
import re
from collections.abc import Mapping, Sequence
from typing import Any

import shapely
from shapely import Polygon

from undercourse.papers.layout_shapes import Line, Point, laid_shapes

UNITS: dict[str, tuple[int, float, int]] = {
    "mm": (4, 0.001, 1),
    "cm": (5, 0.01, 1),
    "m": (6, 1.0, 1),
    "in": (1, 0.0254, 0),
    "ft": (2, 0.3048, 0),
}
"""Code of $INSUNITS, meters, and code of $MEASUREMENT for each unit."""

LAYERS = {
    "AREAS": 7, "AREAS-NAMES": 7, "OBSTACLES": 8, "DOORS": 3, "STRIPS": 8, "PIECES": 5, "PIECES-LABELS": 5,
    "SEAMS": 4, "MOVEMENT-JOINTS": 1, "CHALK-LINES": 6,
    "HEATING-CABLE": 30, "HEATING-SENSOR": 40, "HEATING-CONTROL": 30,
}  # fmt: skip
"""Layers of the drawing with their color number."""

NAME_M, LABEL_M = 0.2, 0.1
"""Height of names of areas and of pieces, where they fit. [m]"""

_STAMPS = re.compile(
    r"(\$TD\w+\n *40\n)[^\n]*|(\$(?:FINGERPRINT|VERSION)GUID\n *2\n)[^\n]*|(@ )\d{4}-[^\n]*", re.M
)


def layout_dxf(
    document: Mapping[str, Any],
    rooms: Mapping[str, Mapping[str, Any]],
    *,
    unit: str = "mm",
    moved_m: Point = (0.0, 0.0),
) -> bytes:
    """Draw a layout; the same layout gives the same bytes.

    Parameters
    ----------
    document : mapping
        A layout as ``layout --json`` gives it.
    rooms : mapping
        Name of an area to its ``outline``, ``obstacles`` and ``doors`` in meters.
    unit : {"mm", "cm", "m", "in", "ft"}
        Unit of the drawing.
    moved_m : pair
        What was added to the plan's coordinates when it was read; taken off again, so that the drawing lies
        over the plan.
    """
    import ezdxf

    code, unit_m, measurement = UNITS[unit]
    drawing = ezdxf.new("R2010")  # type: ignore[attr-defined]
    drawing.header["$INSUNITS"] = code
    drawing.header["$MEASUREMENT"] = measurement
    for name, color in LAYERS.items():
        drawing.layers.add(name, color=color)
    space = drawing.modelspace()

    def place(points: Sequence[Point]) -> list[Point]:
        return [((x - moved_m[0]) / unit_m, (y - moved_m[1]) / unit_m) for x, y in points]

    def draw(layer: str, points: Line, closed: bool = False) -> None:
        space.add_lwpolyline(place(points), close=closed, dxfattribs={"layer": layer})

    def write(layer: str, text: str, shape: Polygon, most_m: float) -> None:
        spot = _middle(shape)
        fits = min(most_m, float(shape.area) ** 0.5 / 8)
        words = space.add_text(_escaped(text), height=fits / unit_m, dxfattribs={"layer": layer})
        words.set_placement(place([spot])[0], align=ezdxf.enums.TextEntityAlignment.MIDDLE_CENTER)

    for area in laid_shapes(document, rooms):
        edge, *holes = area.rings
        draw("AREAS", edge, closed=True)
        write("AREAS-NAMES", area.name, area.polygon, NAME_M)
        for hole in holes:
            draw("OBSTACLES", hole, closed=True)
        for layer, shapes in (("STRIPS", area.strips), ("PIECES", area.pieces)):
            for name, corners in shapes:
                draw(layer, corners, closed=True)
                if layer == "PIECES":
                    write("PIECES-LABELS", name, Polygon(corners), LABEL_M)
        for layer, lines in (
            ("DOORS", area.doors),
            ("SEAMS", area.seams),
            ("MOVEMENT-JOINTS", area.joints),
            ("CHALK-LINES", area.chalk_lines),
            ("HEATING-CABLE", area.cables),
            ("HEATING-SENSOR", area.sensors),
        ):
            for line in lines:
                draw(layer, line)
        if area.control is not None:
            space.add_point(place([area.control])[0], dxfattribs={"layer": "HEATING-CONTROL"})
    for kind in sorted(drawing.entitydb.dxf_types_in_use()):  # else written in an order of chance
        drawing.classes.add_class(kind)
    out = io.StringIO()
    drawing.write(out)
    return _STAMPS.sub(_fixed, out.getvalue()).encode("utf-8", errors="replace")


def _fixed(match: re.Match[str]) -> str:
    """Stamps of time and chance in the file, made the same each time."""
    if match[1]:
        return f"{match[1]}2451545.0"
    return f"{match[2]}{{00000000-0000-0000-0000-000000000000}}" if match[2] else f"{match[3]}fixed"


def _middle(shape: Polygon) -> Point:
    """A place well inside a shape, for its name."""
    spot = shapely.maximum_inscribed_circle(shape, tolerance=0.05) if shape.is_valid else None
    point = (
        shapely.get_point(spot, 0) if spot is not None and not spot.is_empty else shape.representative_point()
    )
    return (float(point.x), float(point.y))


def _escaped(text: str) -> str:
    """A name as text of a drawing: one line, with its own signs for what the format reads as codes."""
    plain = "".join(char for char in " ".join(text.split()) if char.isprintable())
    return plain.replace("^", "^ ").replace("%%", "%%%%%%")
