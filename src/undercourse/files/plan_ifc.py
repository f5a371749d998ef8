"""Spaces of an IFC model as areas; needs the optional extra ``ifc``."""

from __future__ import annotations

import importlib.util
import json
import re
import subprocess
import sys
import tempfile
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
from shapely import Polygon

from undercourse.base.problems import Problem, Problems
from undercourse.files.plan_doors import place_doors
from undercourse.files.plan_parts import MOST_AREAS, UNITS_M, FoundArea, Plan, PlanOptions, Point, finish_plan

MOST_SECONDS = 150
"""A model that takes longer is given up. [s]"""

DEEPEST = 100
"""Parentheses deeper than this in one statement are a fault or malice."""

SILL_M = 0.4
"""A door stands on the floor that lies within this of its foot. [m]"""

READER = "ifcopenshell"


def read_ifc(data: bytes, where: str, options: PlanOptions) -> Plan:
    """Read the spaces of a model: floors with holes, storeys, names, doors in their edges, columns cut out.

    Raises
    ------
    Problems
        When the extra is not installed, the file is no model, or no space has a body.
    """
    _check_text(data, where)
    if importlib.util.find_spec(READER) is None:
        fix = (
            f'install the extra with "make ifc" or "python -m pip install {READER}", or save the plan as DXF'
        )
        raise Problems([Problem(where, f"to read IFC the package {READER} is needed", fix)])
    model = _run(data, where)
    factor = UNITS_M[options.unit] / model["unit_m"] if options.unit else 1.0
    if model["count"] > MOST_AREAS:
        what = f"{model['count']} spaces are more than {MOST_AREAS}"
        raise Problems([Problem(where, what, "save one storey or building by itself")])
    notes = []
    if model["without_body"]:
        notes.append(f"{model['without_body']} spaces without a body were left out")
    found: list[FoundArea] = []
    heights: list[float] = []
    for number, space in enumerate(model["spaces"], start=1):
        parts = space["parts"]
        for part, rings in enumerate(parts, start=1):
            name = space["name"] or f"space {number}"
            name = name if len(parts) == 1 else f"{name} part {part}"
            own = [[(x * factor, y * factor) for x, y in ring] for ring in rings]
            area = FoundArea(name, own[0], list(own[1:]), f'{where}, space "{name}"', space["storey"])
            if not space["level"]:
                area.notes.append("the floor is not level; its outline is seen from above")
            found.append(area)
            heights.append(space["z"])
    if not found:
        what = f"no space with a body ({model['count']} spaces in the model)"
        fix = "export the rooms of the model as IfcSpace with their bodies, or save the plan as DXF"
        raise Problems([Problem(where, what, fix)])
    shapes = [Polygon(area.outline) for area in found]
    _cut_columns(found, shapes, heights, model["columns"], factor)
    _give_doors(found, shapes, heights, model["doors"], factor)
    unit = min(UNITS_M, key=lambda name: abs(UNITS_M[name] - model["unit_m"]))
    return finish_plan(found, where, unit=options.unit or unit, told=bool(options.unit), notes=notes)


def _check_text(data: bytes, where: str) -> None:
    """Refuse what is no STEP text, or nested so deep that it may break the reader."""
    if not re.match(rb"\s*(/\*.*?\*/\s*)*ISO-10303-21\s*;", data[:10_000], re.S):
        fix = "save the model as IFC in the STEP form (.ifc), not as XML or packed"
        raise Problems([Problem(where, "is no IFC model in the STEP form", fix)])
    signs = np.frombuffer(data, dtype=np.uint8)
    depth = np.cumsum((signs == ord("(")).astype(np.int32) - (signs == ord(")")).astype(np.int32))
    ends = np.flatnonzero(signs == ord(";"))
    base = np.zeros(len(signs), dtype=np.int32)
    if len(ends):
        base[ends[0] :] = np.repeat(depth[ends], np.diff(np.append(ends, len(signs))))
    if int((depth - base).max(initial=0)) > DEEPEST:
        what = f"its lists are nested more than {DEEPEST} deep"
        raise Problems([Problem(where, what, "save the model again; this one is damaged")])


def _run(data: bytes, where: str) -> Any:
    """What the reader's own process makes of the model."""
    with tempfile.TemporaryDirectory() as folder:
        source, target = Path(folder) / "model.ifc", Path(folder) / "spaces.json"
        source.write_bytes(data)
        command = [sys.executable, "-m", "undercourse.files.ifc_spaces", str(source), str(target)]
        try:
            done = subprocess.run(
                command, stdin=subprocess.DEVNULL, capture_output=True, timeout=MOST_SECONDS, check=False
            )
        except subprocess.TimeoutExpired:
            what = f"the model takes longer than {MOST_SECONDS} s to read"
            raise Problems([Problem(where, what, "save one storey by itself")]) from None
        if done.returncode == 0 and target.exists():
            return json.loads(target.read_text(encoding="utf-8"))
    lines = done.stderr.decode("utf-8", errors="replace").strip().splitlines()
    reason = lines[-1][:160] if lines and done.returncode > 0 else f"the reader ended with {done.returncode}"
    raise Problems(
        [Problem(where, f"the model cannot be read ({reason})", "save it again as IFC 2x3 or IFC4")]
    )


def _cut_columns(
    found: list[FoundArea], shapes: list[Polygon], heights: list[float], columns: list[Any], factor: float
) -> None:
    """Columns that stand on a floor and that its outline does not leave out become obstacles."""
    for area, shape, height in zip(found, shapes, heights, strict=True):
        if not shape.is_valid:
            continue
        count = 0
        for column in columns:
            if not _stands(column, height):
                continue
            for ring in column["parts"]:
                corners = [(x * factor, y * factor) for x, y in ring]
                if Polygon(corners).is_valid and Polygon(corners).intersection(shape).area > 1e-3:
                    area.obstacles.append(corners)
                    count += 1
        if count:
            area.notes.append(f"{count} columns of the model count as obstacles")


def _stands(element: Mapping[str, Any], height: float) -> bool:
    low, high = element["z"]
    return bool(low <= height + SILL_M and high > height + SILL_M)


def _give_doors(
    found: list[FoundArea], shapes: list[Polygon], heights: list[float], doors: list[Any], factor: float
) -> None:
    """Openings of the doors that stand on the level of a space."""
    for door in doors:
        near = [
            number
            for number, height in enumerate(heights)
            if abs(door["z"][0] - height) <= SILL_M and shapes[number].is_valid
        ]
        points: list[Point] = [(x * factor, y * factor) for x, y in door["points"]]
        for number, lines in zip(near, place_doors([shapes[n] for n in near], [points]), strict=True):
            found[number].doors += lines
