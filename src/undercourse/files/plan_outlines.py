"""Plans written by hand: outlines in TOML, or the same in JSON."""

from __future__ import annotations

import json
from collections.abc import Mapping
from typing import Any

from undercourse.base.problems import Problem, Problems
from undercourse.files.plan_parts import (
    UNITS_M,
    FoundArea,
    Line,
    Plan,
    PlanOptions,
    finish_plan,
    unit_in_meters,
)
from undercourse.files.reading import parse_toml

_TOP = {"unit", "name", "note", "area", "areas"}
_AREA = {"name", "storey", "note", "outline", "obstacles", "doors"}


def parse_plan(data: bytes, where: str, kind: str) -> Any:
    """The data of a plan in TOML or JSON; every syntax fault is told as a problem."""
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        what = f"byte {error.start + 1} is not UTF-8 text"
        raise Problems([Problem(where, what, "save the file as UTF-8")]) from None
    if kind == ".toml":
        return parse_toml(text, where)
    try:
        return json.loads(text)
    except json.JSONDecodeError as error:
        fix = "write one GeoJSON document; the file may be cut off"
        what = f"not JSON ({error.msg}, column {error.colno})"
        raise Problems([Problem(f"{where}:{error.lineno}", what, fix)]) from None
    except (RecursionError, ValueError):
        what = "nested too deeply, or a number too long"
        raise Problems([Problem(where, what, "write one GeoJSON document")]) from None


def is_outlines(document: Any) -> bool:
    """Whether data are bare outlines: areas with nothing but names, outlines, obstacles and doors."""
    if not isinstance(document, Mapping) or not set(document) <= _TOP:
        return False
    areas = document.get("area", document.get("areas"))
    if not isinstance(areas, list) or not areas:
        return False
    return all(isinstance(area, Mapping) and set(area) <= _AREA and "outline" in area for area in areas)


def read_outlines(document: Mapping[str, Any], where: str, options: PlanOptions) -> Plan:
    """Read bare outlines: ``unit`` (meters where left out), and ``[[area]]`` of name, outline, obstacles.

    Raises
    ------
    Problems
        When the unit is not known.
    """
    said = options.unit or str(document.get("unit", "m"))
    try:
        factor = unit_in_meters(said)
    except Problems as error:
        raise Problems([Problem(f"{where}: unit", p.what, p.fix) for p in error.problems]) from None
    found = []
    for number, area in enumerate(document.get("area", document.get("areas", [])), start=1):
        name = str(area.get("name") or f"area {number}")
        rings = area.get("obstacles", [])
        found.append(
            FoundArea(
                name,
                scaled(area["outline"], factor),
                [scaled(ring, factor) for ring in rings] if isinstance(rings, list) else rings,
                f'{where}, area "{name}"',
                storey=str(area.get("storey", "")),
                doors=_doors(area.get("doors", []), factor),
            )
        )
    return finish_plan(found, where, unit=said if said in UNITS_M else "m", told=bool(options.unit))


def scaled(ring: Any, factor: float) -> Any:
    """A ring in meters; what is no list of numbers is left for the check to tell."""
    if factor == 1.0 or not isinstance(ring, list):
        return ring
    try:
        return [[float(x) * factor, float(y) * factor] for x, y, *_ in ring]
    except (TypeError, ValueError, OverflowError):
        return ring


def _doors(rings: Any, factor: float) -> list[Line]:
    doors = []
    for ring in rings if isinstance(rings, list) else []:
        try:
            points = [(float(x) * factor, float(y) * factor) for x, y, *_ in ring]
        except (TypeError, ValueError, OverflowError):
            continue
        if len(points) > 1:
            doors.append((points[0], points[-1]))
    return doors
