"""Polygons of a GeoJSON file, taken as local metres."""

from __future__ import annotations

import json
from collections.abc import Iterator
from typing import Any

from shapely import Polygon

from undercourse.base.problems import Problem, Problems
from undercourse.layout import check_outline, make_outline

Area = tuple[str, Polygon, tuple[str, ...]]


def read_geojson(data: bytes, where: str) -> list[Area]:
    """Read name, polygon and notes of every polygon.

    A FeatureCollection, a Feature, or a Polygon or MultiPolygon by itself is read; a feature is named by
    its property ``name``, else by its id, else by its number. Each part of a MultiPolygon becomes an area.

    References
    ----------
    RFC 7946, sections 3.1 to 3.3; its coordinates are degrees, ours are local metres by agreement.
    """
    document = _parse(data, where)
    problems: list[Problem] = []
    areas: list[Area] = []
    names: set[str] = set()
    skipped: dict[str, int] = {}
    for name, geometry, place in _features(document, where, problems):
        parts = _polygons(geometry, place, problems, skipped)
        for number, rings in enumerate(parts, start=1):
            spot = place if len(parts) == 1 else f"{place}, part {number}"
            label = name if len(parts) == 1 else f"{name} part {number}"
            if not isinstance(rings, list) or not rings:
                problems.append(Problem(spot, "a polygon without rings", "give [[[x, y], …]]"))
                continue
            found = check_outline(rings[0], rings[1:], spot)
            problems += found
            if not found:
                label = free_name(label, names)
                areas.append((label, make_outline(rings[0], rings[1:], spot), ()))
    if not areas and not problems:
        seen = ", ".join(f"{count} {kind}" for kind, count in sorted(skipped.items())) or "nothing"
        problems.append(Problem(where, f"no polygon, only {seen}", "save each area as a Polygon in metres"))
    if problems:
        raise Problems(problems)
    if skipped:
        note = "left out: " + ", ".join(f"{count} {kind}" for kind, count in sorted(skipped.items()))
        areas[0] = (areas[0][0], areas[0][1], (note,))
    return areas


def free_name(name: str, taken: set[str]) -> str:
    """The name, numbered when it is taken already; it is taken from then on."""
    label, number = name, 1
    while label in taken:
        number += 1
        label = f"{name} ({number})"
    taken.add(label)
    return label


def _parse(data: bytes, where: str) -> Any:
    try:
        return json.loads(data.decode("utf-8-sig"))
    except UnicodeDecodeError as error:
        what = f"byte {error.start + 1} is not UTF-8 text"
        raise Problems([Problem(where, what, "save the file as UTF-8")]) from None
    except json.JSONDecodeError as error:
        place = f"{where}:{error.lineno}"
        fix = "write one GeoJSON document; the file may be cut off"
        raise Problems([Problem(place, f"not JSON ({error.msg}, column {error.colno})", fix)]) from None
    except (RecursionError, ValueError):
        what = "nested too deeply, or a number too long"
        raise Problems([Problem(where, what, "write one GeoJSON document")]) from None


def _features(document: Any, where: str, problems: list[Problem]) -> Iterator[tuple[str, Any, str]]:
    """Name, geometry and place of each feature."""
    kind = document.get("type") if isinstance(document, dict) else None
    if kind == "FeatureCollection":
        features = document.get("features")
        if not isinstance(features, list):
            problems.append(Problem(where, '"features" is no list', "list the features there"))
            return
    elif kind == "Feature":
        features = [document]
    elif kind in ("Polygon", "MultiPolygon", "GeometryCollection"):
        features = [{"geometry": document}]
    else:
        what = f"its type is {kind!r}" if isinstance(document, dict) else "it is no object"
        fix = "write a FeatureCollection, a Feature or a Polygon"
        problems.append(Problem(where, f"not a GeoJSON plan: {what}", fix))
        return
    for number, feature in enumerate(features, start=1):
        place = f"{where}, feature {number}"
        if not isinstance(feature, dict):
            problems.append(Problem(place, "is no object", 'write {"type": "Feature", …}'))
            continue
        properties = feature.get("properties")
        name = properties.get("name") if isinstance(properties, dict) else None
        if not isinstance(name, str | int) or not str(name).strip():
            name = feature.get("id")
        if not isinstance(name, str | int) or not str(name).strip():
            name = f"area {number}"
        label = str(name).strip()
        yield label, feature.get("geometry"), f'{place} "{label}"'


def _polygons(geometry: Any, place: str, problems: list[Problem], skipped: dict[str, int]) -> list[Any]:
    """Ring lists of the polygons in a geometry; other kinds are counted as skipped."""
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    if kind == "GeometryCollection" and isinstance(geometry.get("geometries"), list):
        parts = [_polygons(part, place, problems, skipped) for part in geometry["geometries"][:1000]]
        return [part for group in parts for part in group]
    if kind in ("Polygon", "MultiPolygon"):
        found = geometry.get("coordinates")
        if not isinstance(found, list):
            problems.append(Problem(place, '"coordinates" is no list', "give [[[x, y], …]]"))
            return []
        return [found] if kind == "Polygon" else found
    label = kind if isinstance(kind, str) else "feature without geometry"
    skipped[label] = skipped.get(label, 0) + 1
    return []
