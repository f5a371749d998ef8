"""Spaces, doors and columns of an IFC model, written as JSON; a process of its own, run by `plan_ifc`.

The library that reads IFC is large and native: a damaged model may end or stall it. So it never runs in the
process that serves people. ``python -m undercourse.files.ifc_spaces IN.ifc OUT.json``
"""

from __future__ import annotations

import contextlib
import json
import sys
from pathlib import Path
from typing import Any

import numpy as np
import numpy.typing as npt
import shapely
from shapely import Polygon

MOST_SPACES = 2000
MOST_PARTS = 5000
MOST_SECONDS = 120
MOST_BYTES = 6_000_000_000

LEVEL_M = 0.05
"""Faces that look down and lie no higher than this above the lowest point are the floor. [m]"""

CHORD_M = 0.001

Floats = npt.NDArray[np.float64]


def main(source: str, target: str) -> None:
    """Read a model and write what a plan needs of it."""
    _limit()
    import ifcopenshell
    import ifcopenshell.geom
    import ifcopenshell.util.unit

    model = ifcopenshell.open(source)
    settings = ifcopenshell.geom.settings()
    settings.set("use-world-coords", True)
    with contextlib.suppress(Exception):  # named otherwise in other versions
        settings.set("mesher-linear-deflection", CHORD_M)
    found: dict[str, Any] = {"spaces": [], "doors": [], "columns": [], "without_body": 0, "count": 0}
    found["unit_m"] = float(ifcopenshell.util.unit.calculate_unit_scale(model))
    spaces = model.by_type("IfcSpace")
    found["count"] = len(spaces)
    for space in spaces[: MOST_SPACES + 1]:
        mesh = _mesh(ifcopenshell.geom, settings, space)
        floor = None if mesh is None else _floor(*mesh)
        if mesh is None or floor is None:
            found["without_body"] += 1
            continue
        shapes, level = floor
        found["spaces"].append(
            {
                "name": _name(space),
                "storey": _storey(space),
                "z": float(mesh[0][:, 2].min()),
                "level": level,
                "parts": [[_ring(ring) for ring in (one.exterior, *one.interiors)] for one in shapes],
            }
        )
    if found["spaces"]:
        for kind, key in (("IfcDoor", "doors"), ("IfcColumn", "columns")):
            for element in model.by_type(kind)[:MOST_PARTS]:
                mesh = _mesh(ifcopenshell.geom, settings, element)
                if mesh is not None:
                    found[key].append(_footprint(*mesh))
    Path(target).write_text(json.dumps(found), encoding="utf-8")


def _limit() -> None:
    """Bound time and memory where the system can."""
    try:
        import resource
    except ImportError:
        return
    for what, most in ((resource.RLIMIT_CPU, MOST_SECONDS), (resource.RLIMIT_AS, MOST_BYTES)):
        with contextlib.suppress(OSError, ValueError):
            resource.setrlimit(what, (most, most))


def _mesh(geom: Any, settings: Any, element: Any) -> tuple[Floats, npt.NDArray[np.int64]] | None:
    """Points [m] and triangles of an element's body; None where it has none."""
    if element.Representation is None:
        return None
    try:
        shape = geom.create_shape(settings, element)
    except Exception:  # an element without a body, or with one that cannot be built
        return None
    points = np.asarray(shape.geometry.verts, dtype=np.float64).reshape(-1, 3)
    faces = np.asarray(shape.geometry.faces, dtype=np.int64).reshape(-1, 3)
    return (points, faces) if len(points) and len(faces) else None


def _floor(points: Floats, faces: npt.NDArray[np.int64]) -> tuple[list[Polygon], bool] | None:
    """The floor of a space seen from above, and whether it is level."""
    corners = points[faces]
    normals = np.cross(corners[:, 1] - corners[:, 0], corners[:, 2] - corners[:, 0])
    size = np.linalg.norm(normals, axis=1)
    down = (size > 0) & (normals[:, 2] < -0.5 * size)
    level = down & (corners[:, :, 2].max(axis=1) <= points[:, 2].min() + LEVEL_M)
    lowest, every = (_united(corners[chosen][:, :, :2]) for chosen in (level, down))
    is_level = sum(one.area for one in lowest) > 0.5 * sum(one.area for one in every)
    shapes = lowest if is_level else every
    return (shapes, is_level) if shapes else None


def _united(triangles: Floats) -> list[Polygon]:
    """Triangles seen from above as polygons."""
    drawn = [Polygon(corners) for corners in triangles]
    whole = shapely.union_all([shape for shape in drawn if shape.is_valid and shape.area > 1e-9])
    parts = [part for part in shapely.get_parts(whole) if isinstance(part, Polygon) and part.area > 1e-4]
    plain = [part.simplify(1e-5) for part in parts]
    return [part for part in plain if isinstance(part, Polygon) and not part.is_empty]


def _footprint(points: Floats, faces: npt.NDArray[np.int64]) -> dict[str, Any]:
    """What an element covers seen from above, its corners, and how high it reaches."""
    shapes = _united(points[faces][:, :, :2])
    hull = shapely.MultiPoint(points[:, :2]).convex_hull
    return {
        "z": [float(points[:, 2].min()), float(points[:, 2].max())],
        "points": shapely.get_coordinates(hull).round(6).tolist(),
        "parts": [_ring(shape.exterior) for shape in shapes],
    }


def _ring(ring: Any) -> list[list[float]]:
    found: list[list[float]] = shapely.get_coordinates(ring).round(6).tolist()
    return found[:-1]


def _name(space: Any) -> str:
    """Number and name of a space, as far as it has them."""
    words = [str(word).strip() for word in (space.Name, space.LongName) if word and str(word).strip()]
    return " ".join(dict.fromkeys(words))


def _storey(space: Any) -> str:
    """The storey above a space in the model's tree."""
    above, steps = space, 0
    while above is not None and steps < 20:
        if above.is_a("IfcBuildingStorey"):
            return str(above.Name or above.LongName or "").strip()
        relations = list(getattr(above, "Decomposes", None) or ()) + list(
            getattr(above, "ContainedInStructure", None) or ()
        )
        nexts = [
            getattr(one, "RelatingObject", None) or getattr(one, "RelatingStructure", None)
            for one in relations
        ]
        above, steps = (nexts[0] if nexts else None), steps + 1
    return ""


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2])
