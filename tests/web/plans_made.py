"""Plans for the tests of the plan page, drawn here with known sizes."""

from __future__ import annotations

import io
import json

ROOMS = {"Kitchen": (0.0, 0.0, 4.0, 3.0), "Hall": (5.0, 0.0, 7.0, 6.0), "Bath": (0.0, 4.0, 2.5, 6.2)}
"""Rectangles as left, low, right, high. [m]"""


def corners(name: str) -> list[tuple[float, float]]:
    """The corners of a room, counterclockwise. [m]"""
    left, low, right, high = ROOMS[name]
    return [(left, low), (right, low), (right, high), (left, high)]


def area_m2(name: str) -> float:
    """Width times depth."""
    left, low, right, high = ROOMS[name]
    return (right - left) * (high - low)


def dxf(insunits: int = 4, factor: float = 1000.0) -> bytes:
    """The rooms as closed polylines with their names; ``factor`` units of the drawing are a meter."""
    import ezdxf

    drawing = ezdxf.new("R2010")  # type: ignore[attr-defined]
    drawing.header["$INSUNITS"] = insunits
    space = drawing.modelspace()
    for name in ROOMS:
        points = [(x * factor, y * factor) for x, y in corners(name)]
        space.add_lwpolyline(points, close=True, dxfattribs={"layer": "ROOMS"})
        x, y = points[0]
        words = space.add_text(name, height=0.2 * factor, dxfattribs={"layer": "ROOMS"})
        words.set_placement((x + 0.5 * factor, y + 0.5 * factor))
    out = io.StringIO()
    drawing.write(out)
    return out.getvalue().encode()


def outlines(storeys: bool = False, gap_m: float = 0.0) -> bytes:
    """The rooms as outlines in JSON; with a storey each, or with a corner doubled ``gap_m`` away."""
    rows = []
    for number, name in enumerate(ROOMS):
        ring = [list(point) for point in corners(name)]
        if gap_m:
            ring.insert(1, [ring[0][0] + gap_m, ring[0][1]])
        rows.append({"name": name, "outline": ring, **({"storey": f"Level {number}"} if storeys else {})})
    return json.dumps({"unit": "m", "areas": rows}).encode()
