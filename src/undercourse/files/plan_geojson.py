"""Polygons of a GeoJSON document, taken as local meters."""

from __future__ import annotations

import re
from collections.abc import Iterator
from typing import Any

from shapely import LinearRing

from undercourse.base.problems import Problem, Problems
from undercourse.files.plan_outlines import scaled
from undercourse.files.plan_parts import (
    UNITS_M,
    FoundArea,
    Line,
    Plan,
    PlanOptions,
    finish_plan,
    finite_points,
)

DRAWN = {"strip", "piece", "seam", "label", "door", "movement joint", "chalk line"}
"""Values of the property ``kind`` that are no areas: what a layout is drawn with."""

_NAMES = ("name", "room", "label", "title")
_STOREYS = ("storey", "story", "level", "floor")


def read_geojson(document: Any, where: str, options: PlanOptions) -> Plan:
    """Read name, storey, polygon and door openings of every polygon.

    A FeatureCollection, a Feature, or a Polygon or MultiPolygon by itself is read; a feature is named by its
    property ``name``, else by its id, else by its number. Each part of a MultiPolygon becomes an area. Lines
    whose property ``kind`` is ``door`` are openings of the area that their property ``area`` names.

    Raises
    ------
    Problems
        When there is no polygon, or the coordinates are degrees.

    References
    ----------
    RFC 7946, sections 3.1 to 3.3; its coordinates are degrees, ours are local meters by agreement.
    """
    problems: list[Problem] = []
    found: list[FoundArea] = []
    doors: list[tuple[str, Line]] = []
    skipped: dict[str, int] = {}
    factor = UNITS_M.get(options.unit, 1.0)
    for name, properties, geometry, place in _features(document, where, problems):
        kind = str(properties.get("kind", ""))
        if kind in DRAWN:
            skipped[kind] = skipped.get(kind, 0) + 1
            if kind == "door":
                doors += _door(properties, geometry, factor)
            continue
        parts = _polygons(geometry, place, problems, skipped)
        for number, rings in enumerate(parts, start=1):
            spot = place if len(parts) == 1 else f"{place}, part {number}"
            label = name if len(parts) == 1 else f"{name} part {number}"
            if not isinstance(rings, list) or not rings:
                problems.append(Problem(spot, "a polygon without rings", "give [[[x, y], …]]"))
                continue
            own = [scaled(ring, factor) for ring in rings]
            found.append(FoundArea(label, own[0], own[1:], spot, storey=_first(properties, _STOREYS)))
    if not found and not problems:
        seen = ", ".join(f"{count} {kind}" for kind, count in sorted(skipped.items())) or "nothing"
        problems.append(Problem(where, f"no polygon, only {seen}", "save each area as a Polygon in metres"))
    if not options.unit:
        problems += _degrees(document, found, where)
    if problems:
        raise Problems(problems)
    for owner, line in doors:
        for area in found:
            if area.name == owner:
                area.doors.append(line)
    return finish_plan(found, where, unit="m", told=bool(options.unit), notes=_notes(found, skipped))


def _notes(found: list[FoundArea], skipped: dict[str, int]) -> list[str]:
    notes = []
    if skipped:
        notes.append("left out: " + ", ".join(f"{count} {kind}" for kind, count in sorted(skipped.items())))
    turned = sum(
        _runs_left(ring) is not wanted
        for area in found
        for wanted, rings in ((True, [area.outline]), (False, area.obstacles))
        for ring in rings
        if _runs_left(ring) is not None
    )
    if turned:
        # RFC 7946, section 3.1.6: exterior rings are counterclockwise, interior rings clockwise.
        notes.append(f"{turned} ring{'' if turned == 1 else 's'} ran the wrong way round, now turned")
    return notes


def _runs_left(ring: Any) -> bool | None:
    """Whether a ring runs counter-clockwise; None where it is none."""
    points = finite_points(ring)
    return bool(LinearRing(points).is_ccw) if len(points) > 3 else None


def _features(
    document: Any, where: str, problems: list[Problem]
) -> Iterator[tuple[str, dict[str, Any], Any, str]]:
    """Name, properties, geometry and place of each feature."""
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
        fix = "write a FeatureCollection, a Feature or a Polygon, or areas with outlines"
        problems.append(Problem(where, f"not a GeoJSON plan: {what}", fix))
        return
    for number, feature in enumerate(features, start=1):
        place = f"{where}, feature {number}"
        if not isinstance(feature, dict):
            problems.append(Problem(place, "is no object", 'write {"type": "Feature", …}'))
            continue
        properties = feature.get("properties")
        properties = properties if isinstance(properties, dict) else {}
        label = _first(properties, _NAMES)
        if not label and isinstance(feature.get("id"), str | int):
            label = str(feature["id"]).strip()
        label = label or f"area {number}"
        yield label, properties, feature.get("geometry"), f'{place} "{label}"'


def _first(properties: dict[str, Any], names: tuple[str, ...]) -> str:
    """The first of some properties that is a word or a number, whatever its case."""
    folded = {str(key).lower(): value for key, value in properties.items()}
    for name in names:
        value = folded.get(name)
        if isinstance(value, str | int | float) and not isinstance(value, bool) and str(value).strip():
            return str(value).strip()
    return ""


def _door(properties: dict[str, Any], geometry: Any, factor: float) -> list[tuple[str, Line]]:
    try:
        points = [(float(x) * factor, float(y) * factor) for x, y, *_ in geometry["coordinates"]]
    except (TypeError, ValueError, KeyError, OverflowError):
        return []
    return [(str(properties.get("area", "")), (points[0], points[-1]))] if len(points) > 1 else []


def _polygons(geometry: Any, place: str, problems: list[Problem], skipped: dict[str, int]) -> list[Any]:
    """Ring lists of the polygons in a geometry; other kinds are counted as skipped."""
    kind = geometry.get("type") if isinstance(geometry, dict) else None
    if kind == "GeometryCollection" and isinstance(geometry.get("geometries"), list):
        found: list[Any] = []
        for part in geometry["geometries"]:
            if isinstance(part, dict) and part.get("type") == "GeometryCollection":
                # RFC 7946, section 3.1.8: collections in collections should be avoided.
                skipped["collection in a collection"] = skipped.get("collection in a collection", 0) + 1
            else:
                found += _polygons(part, place, problems, skipped)
        return found
    if kind in ("Polygon", "MultiPolygon"):
        rings = geometry.get("coordinates")
        if not isinstance(rings, list):
            problems.append(Problem(place, '"coordinates" is no list', "give [[[x, y], …]]"))
            return []
        return [rings] if kind == "Polygon" else rings
    label = kind if isinstance(kind, str) else "feature without geometry"
    skipped[label] = skipped.get(label, 0) + 1
    return []


def _degrees(document: Any, found: list[FoundArea], where: str) -> list[Problem]:
    """Refuse degrees: said by the document, or plain from rooms of a few millionths beside an address."""
    fix = "project the outlines to a metric grid (or local meters) and save them again"
    crs = document.get("crs") if isinstance(document, dict) else None
    if crs is not None and re.search(r"CRS:?:?84|EPSG:+(4326|4979|4258|4269)\b", str(crs)[:500], re.I):
        return [Problem(where, "its coordinates are degrees, as its crs says", fix)]
    points = [point for area in found for point in finite_points(area.outline)]
    if not points:
        return []
    xs, ys = zip(*points, strict=True)
    on_earth = max(map(abs, xs)) <= 180 and max(map(abs, ys)) <= 90
    spread = max(max(xs) - min(xs), max(ys) - min(ys))
    away = max(abs(xs[0]), abs(ys[0])) > 1
    if on_earth and away and spread < 0.05:
        what = f"its coordinates look like degrees: near ({xs[0]:.5f}, {ys[0]:.5f}), only {spread:.2g} across"
        return [Problem(where, what, fix)]
    return []
