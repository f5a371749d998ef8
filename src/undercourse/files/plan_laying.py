"""Laying chosen areas of a plan: what a person holds of each area, and the layout as a document."""

from __future__ import annotations

import math
from collections.abc import Callable, Mapping, Sequence
from dataclasses import asdict, dataclass
from typing import Any

from shapely import LineString

from undercourse.base.problems import Problems
from undercourse.files.areas import rings_of
from undercourse.files.plan_parts import PlanArea
from undercourse.layout import AreaPlan, Effort, Sheet, compare_layouts, lay_out, layout_document
from undercourse.layout.watching import Progress

Line = Sequence[Sequence[float]]

SMALL_M = 800.0
"""Jobs with less strip than this are laid while the page waits. [m]"""

MOST_QUICK_M = 15_000.0
"""Jobs with more strip than this are not laid while something is dragged. [m]"""


@dataclass(frozen=True)
class Held:
    """What a person holds of one area: the strips' direction, and the start line.

    ``line_m`` counts from the area's first wall across the strips, which is the one on their right looking
    along the direction, to the left edge of a full strip. [deg, m]
    """

    direction_deg: float | None = None
    line_m: float | None = None


def across(point: Sequence[float], direction_deg: float) -> float:
    """How far a point lies to the left of the origin, looking along a direction. [m]"""
    turn = math.radians(direction_deg)
    return point[1] * math.cos(turn) - point[0] * math.sin(turn)


def first_wall(outline: Sequence[Sequence[float]], direction_deg: float) -> float:
    """Where an area begins across its strips, from the origin. [m]"""
    return min(across(point, direction_deg) for point in outline)


def strip_length(areas: Sequence[PlanArea], sheet: Sheet) -> float:
    """About how much strip the areas take: what the time of laying them goes with. [m]"""
    return sum(area.polygon.area for area in areas) / sheet.pitch_m


def lay_chosen(
    areas: Sequence[PlanArea],
    sheet: Sheet,
    held: Mapping[str, Held],
    effort: Effort = "normal",
    *,
    keep_off: Mapping[str, Sequence[Line]] | None = None,
    progress: Callable[[Progress], bool | None] | None = None,
) -> dict[str, Any]:
    """Lay areas, each held as a person holds it.

    Parameters
    ----------
    keep_off : mapping, optional
        By the name of an area: lines on its floor that seams are kept off. [m]
    progress : callable, optional
        Told how far the search is, as by ``lay_out``.

    Returns
    -------
    dict
        As ``layout --json``; every area also has ``first_wall_m``, where it begins across its strips, and
        ``line_m``, its start line from there.
    """
    plans = area_plans(areas, sheet, held, keep_off or {})
    document = layout_document(lay_out(plans, sheet, effort=effort, progress=progress))
    document["pitch_m"] = sheet.pitch_m
    outlines = {area.name: rings_of(area.polygon)[0] for area in areas}
    for area in document["areas"]:
        _add_line(area, outlines[area["name"]], held.get(area["name"], Held()), sheet)
    return document


def compare_chosen(
    areas: Sequence[PlanArea],
    sheet: Sheet,
    held: Mapping[str, Held],
    keep_off: Mapping[str, Sequence[Line]],
    progress: Callable[[Progress], bool | None] | None = None,
) -> list[dict[str, Any]]:
    """Other ways to lay the areas, sheet against seams, as ``layout --compare --json`` tells them."""
    plans = area_plans(areas, sheet, held, keep_off)
    return [asdict(one) for one in compare_layouts(plans, sheet, progress=progress)]


def area_plans(
    areas: Sequence[PlanArea],
    sheet: Sheet,
    held: Mapping[str, Held],
    keep_off: Mapping[str, Sequence[Line]],
) -> list[AreaPlan]:
    """Areas as the layout takes them, each held as a person holds it."""
    return [
        _area_plan(area, sheet, held.get(area.name, Held()), keep_off.get(area.name, ())) for area in areas
    ]


def _area_plan(area: PlanArea, sheet: Sheet, held: Held, keep_off: Sequence[Line]) -> AreaPlan:
    start = start_of(rings_of(area.polygon)[0], sheet, held)
    lines = tuple(tuple((float(x), float(y)) for x, y in line) for line in keep_off)
    return AreaPlan(area.name, area.polygon, held.direction_deg, start, keep_off=lines)


def start_of(outline: Line, sheet: Sheet, held: Held) -> float | None:
    """What is held of an area as the layout takes it: from the plan's origin to a strip's right edge. [m]"""
    if held.line_m is None or held.direction_deg is None:
        return None
    return first_wall(outline, held.direction_deg) + held.line_m - sheet.width_m


def held_from(outline: Line, sheet: Sheet, direction_deg: float, start_m: float | None) -> Held:
    """What a job holds of an area, as a person reads it: the first line inside the first wall."""
    if start_m is None:
        return Held(direction_deg % 180.0)
    angle = direction_deg % 180.0
    # Looking the other way, the right edge of a strip is its left one.
    start = -start_m - sheet.width_m if direction_deg % 360.0 >= 180.0 else start_m
    line = (start + sheet.width_m - first_wall(outline, angle)) % sheet.pitch_m
    return Held(angle, round(line, 6))


def _add_line(area: dict[str, Any], outline: Any, held: Held, sheet: Sheet) -> None:
    """Where the start line lies from the first wall: as held, else as the layout chose it."""
    angle, chalk = float(area["direction_deg"]), area.get("chalk_line")
    wall = first_wall(outline, angle)
    area["first_wall_m"] = round(wall, 6)
    line = across(chalk["start"], angle) - wall if chalk else None
    if line is not None and held.line_m is not None:
        # The layout names the longest seam; the page keeps the one that is in hand.
        line += round((held.line_m - line) / sheet.pitch_m) * sheet.pitch_m
    area["line_m"] = None if line is None else round(line, 5) + 0.0


def divide_fields(areas: Sequence[PlanArea], longest_m: float) -> dict[str, dict[str, Any]]:
    """Movement joints of areas so that no field is longer than told, by name; what fails says why."""
    from undercourse.takeoff.joint_plan import told_joint_plan  # slow to load, seldom asked for

    found: dict[str, dict[str, Any]] = {}
    for area in areas:
        try:
            doors = [LineString(door) for door in area.doors]
            found[area.name] = told_joint_plan(area.polygon, longest_m, doors)
        except Problems as error:
            notes = [f"{problem.what}; {problem.fix}" for problem in error.problems]
            found[area.name] = {"joints": [], "doorways": [], "notes": notes}
    return found
