"""Corners in a table: x and y, with their unit in the head, and if need be the area and the ring."""

from __future__ import annotations

import csv
import io
import re
from collections.abc import Sequence

from undercourse.base.problems import Problem, Problems
from undercourse.base.units import UNITS, find_unit, read_quantity
from undercourse.files.plan_parts import UNITS_M, FoundArea, Line, Plan, PlanOptions, Point, finish_plan

MOST_ROWS = 200_000
MOST_TOLD = 20

_HEAD = re.compile(r"^\s*([a-zäöü]+)\s*(?:[\[(_ ]\s*([a-z'\"]+)\s*[\])]?)?\s*$", re.I)
_WHAT = {
    "x": "x", "y": "y", "east": "x", "easting": "x", "north": "y", "northing": "y",
    "area": "area", "room": "area", "name": "area", "ring": "ring", "part": "ring",
    "storey": "storey", "story": "storey", "level": "storey",
}  # fmt: skip
_EDGE = ("", "0", "edge", "outline", "outer")


def read_corners(data: bytes, where: str, options: PlanOptions) -> Plan:
    """Read corners, one a row, in order around each ring.

    The head names ``x`` and ``y`` with their unit, as ``x [mm]``, and if need be ``area``, ``storey`` and
    ``ring``: empty, 0 or ``edge`` for the outline, ``door …`` for the two ends of a door opening, anything
    else for an obstacle. Cells may carry units of their own, as ``11 ft 2 in``.

    Raises
    ------
    Problems
        With every row that has no corner.
    """
    rows, separator = _rows(data, where)
    columns, unit = _read_head(rows[0], where, options)
    problems: list[Problem] = []
    rings: dict[tuple[str, str], dict[str, list[Point]]] = {}
    for number, row in enumerate(rows[1:], start=2):
        if not any(cell.strip() for cell in row):
            continue
        cells = {what: row[place].strip() if place < len(row) else "" for what, place in columns.items()}
        corner = _corner(cells, unit, separator, f"{where}:{number}", problems)
        if corner is not None:
            name = cells.get("area", "") or "area 1"
            ring = cells.get("ring", "").lower()
            own = rings.setdefault((name, cells.get("storey", "")), {})
            own.setdefault("" if ring in _EDGE else ring, []).append(corner)
        if len(problems) > MOST_TOLD:
            break
    found = []
    for (name, storey), own in rings.items():
        place = f'{where}, area "{name}"'
        edge = own.pop("", None)
        if edge is None:
            problems.append(Problem(place, "has obstacles but no outline", "leave ring empty for its edge"))
            continue
        doors: list[Line] = [(line[0], line[-1]) for ring, line in own.items() if ring.startswith("door")]
        holes = [ring for label, ring in own.items() if not label.startswith("door")]
        found.append(FoundArea(name, edge, holes, place, storey=storey, doors=doors))
    if not found and not problems:
        problems.append(Problem(where, "has a head but no corners", "write one corner a row"))
    if problems:
        raise Problems(problems)
    return finish_plan(found, where, unit=unit, told=bool(options.unit))


def _rows(data: bytes, where: str) -> tuple[list[list[str]], str]:
    try:
        text = data.decode("utf-8-sig")
    except UnicodeDecodeError as error:
        what = f"byte {error.start + 1} is not UTF-8 text"
        raise Problems([Problem(where, what, "save the table as UTF-8")]) from None
    if "\x00" in text:
        raise Problems([Problem(where, "this is a binary file", "save the corners as CSV")])
    head = text.lstrip().split("\n", 1)[0]
    separator = max(";\t,", key=head.count)
    rows: list[list[str]] = []
    try:
        for row in csv.reader(io.StringIO(text), delimiter=separator):
            if row and not row[0].lstrip().startswith("#"):
                rows.append(row)
            if len(rows) > MOST_ROWS:
                what = f"more than {MOST_ROWS:,} corners"
                raise Problems([Problem(where, what, "save fewer corners")])
    except csv.Error as error:
        raise Problems([Problem(where, f"no table ({error})", "save the corners as CSV")]) from None
    if not rows:
        raise Problems([Problem(where, "no table in it", "write a head with x and y, then corners")])
    return rows, separator


def _read_head(head: Sequence[str], where: str, options: PlanOptions) -> tuple[dict[str, int], str]:
    """Column of each thing, and the unit of bare numbers."""
    columns: dict[str, int] = {}
    units: set[str] = set()
    for place, cell in enumerate(head):
        match = _HEAD.match(cell)
        what = _WHAT.get(match[1].lower()) if match else None
        if match is None or what is None:
            continue
        columns.setdefault(what, place)
        unit = find_unit(match[2]) if match[2] else None
        if what in "xy" and unit is not None:
            units.add(unit.symbol)
    if not {"x", "y"} <= set(columns):
        shown = ", ".join(cell.strip() for cell in head[:8])
        fix = "name the columns in the first row, as: x [mm], y [mm], area, ring"
        raise Problems([Problem(f"{where}:1", f'the head "{shown}" names no x and y', fix)])
    if options.unit:
        return columns, options.unit
    known = units & set(UNITS_M)
    if len(known) != 1 or units - known:
        what = "the head does not say the unit" if not units else f"the head says {', '.join(sorted(units))}"
        fix = "write it as x [mm], y [mm], one of " + ", ".join(UNITS_M)
        fix += '; or say it: plan_unit = "mm" in the job file, or --unit mm on the command line'
        raise Problems([Problem(f"{where}:1", what, fix)])
    return columns, known.pop()


def _corner(
    cells: dict[str, str], unit: str, separator: str, where: str, problems: list[Problem]
) -> Point | None:
    found = []
    for axis in ("x", "y"):
        text = cells[axis]
        if separator != ",":
            text = re.sub(r"(?<=\d),(?=\d)", ".", text)
        try:
            found.append(read_quantity(text, "length", UNITS[unit]))
        except (ValueError, OverflowError) as error:
            problems.append(Problem(where, f"{axis}: {error}", f"write a number in {unit}"))
    return (found[0], found[1]) if len(found) == 2 else None
