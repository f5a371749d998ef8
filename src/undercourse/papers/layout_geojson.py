"""A layout as GeoJSON: areas, obstacles in them, doors, strips, pieces, seams, joints, in local meters."""

from __future__ import annotations

import json
from collections.abc import Iterable, Mapping
from typing import Any

from undercourse.papers.layout_shapes import Point, laid_shapes


def layout_geojson(
    document: Mapping[str, Any],
    rooms: Mapping[str, Mapping[str, Any]],
    *,
    moved_m: Point = (0.0, 0.0),
) -> bytes:
    """Write a layout as a FeatureCollection; the property ``kind`` tells what each feature is.

    Parameters
    ----------
    document : mapping
        A layout as ``layout --json`` gives it.
    rooms : mapping
        Name of an area to its ``outline``, ``obstacles`` and ``doors`` in meters, and ``storey``.
    moved_m : pair
        What was added to the plan's coordinates when it was read; taken off again.

    References
    ----------
    RFC 7946; its coordinates are degrees, these are local meters by agreement, as the note in the file says.
    """
    features: list[dict[str, Any]] = []

    def points(line: Iterable[Point]) -> list[list[float]]:
        return [[round(x - moved_m[0], 6) + 0.0, round(y - moved_m[1], 6) + 0.0] for x, y in line]

    def ring(corners: Iterable[Point]) -> list[list[float]]:
        found = points(corners)
        return [*found, found[0]]

    def add(kind: str, shape: str, coordinates: Any, **properties: Any) -> None:
        geometry = {"type": shape, "coordinates": coordinates}
        features.append({"type": "Feature", "properties": {**properties, "kind": kind}, "geometry": geometry})

    for area in laid_shapes(document, rooms):
        own = {"name": area.name, "area_m2": round(area.area_m2, 4)}
        own |= {"storey": area.storey} if area.storey else {}
        # RFC 7946, section 3.1.6: exterior rings run counterclockwise, interior rings clockwise.
        add("area", "Polygon", [ring(one) for one in area.rings], **own)
        for kind, lines in (
            ("door", area.doors),
            ("seam", area.seams),
            ("movement joint", area.joints),
            ("chalk line", area.chalk_lines),
            ("heating cable", area.cables),
            ("heating sensor", area.sensors),
        ):
            for line in lines:
                add(kind, "LineString", points(line), area=area.name)
        if area.control is not None:
            add("heating control", "Point", points([area.control])[0], area=area.name)
        for kind, shapes in (("strip", area.strips), ("piece", area.pieces)):
            for name, corners in shapes:
                add(kind, "Polygon", [ring(corners)], name=name, area=area.name)
    document_out = {
        "type": "FeatureCollection",
        "note": "Coordinates are local meters, not degrees.",
        "features": features,
    }
    return (json.dumps(document_out, ensure_ascii=False, indent=1) + "\n").encode("utf-8")
