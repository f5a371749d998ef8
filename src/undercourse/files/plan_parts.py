"""What readers of plans share: outlines as found, areas as mended, and the step from one to the other."""

from __future__ import annotations

import math
import statistics
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from fnmatch import fnmatchcase
from typing import Any

import numpy as np
import shapely
from shapely import Polygon, STRtree

from undercourse.base.problems import Problem, Problems
from undercourse.layout.outlines import LARGEST_M
from undercourse.layout.repairs import Repair, mend_outline

UNITS_M = {"mm": 0.001, "cm": 0.01, "m": 1.0, "in": 0.0254, "ft": 0.3048}
"""Units that a person may tell for a plan. [m]"""

UNIT_NAMES = {"mm": "millimeters", "cm": "centimeters", "m": "meters", "in": "inches", "ft": "feet"}

ROOM_M = (0.8, 300.0)
"""The middle one of a plan's areas is between these across; else its unit is asked for. [m]"""

MOST_AREAS = 2000
"""Plans with more outlines are refused."""

MOST_OVERLAPS = 8
"""More pairs of areas that overlap are told by their number."""

OVERLAP_M = 0.01
"""Areas that overlap by less were drawn to the wrong side of a line; that is told, not refused. [m]"""

Point = tuple[float, float]
Line = tuple[Point, Point]


@dataclass(frozen=True)
class PlanOptions:
    """What a person says about a plan: layers of its outlines (names or patterns) and its unit."""

    layers: tuple[str, ...] = ()
    unit: str = ""


@dataclass
class FoundArea:
    """One outline as a plan holds it, in meters, not yet looked at."""

    name: str
    outline: Any
    obstacles: list[Any]
    where: str
    storey: str = ""
    doors: list[Line] = field(default_factory=list)
    repairs: list[Repair] = field(default_factory=list)
    notes: list[str] = field(default_factory=list)


@dataclass(frozen=True)
class PlanArea:
    """One area of a plan, in meters: its floor with obstacles cut out, door openings, what was mended."""

    name: str
    polygon: Polygon
    storey: str = ""
    doors: tuple[Line, ...] = ()
    repairs: tuple[Repair, ...] = ()
    notes: tuple[str, ...] = ()


@dataclass(frozen=True)
class Plan:
    """All that a plan file holds. Lay only what `choose_areas` gives out: it refuses faulty areas.

    ``faults`` are (name of area, problem); ``overlaps`` are (one area, another, shared floor [m2]);
    ``moved_m`` was added to the file's coordinates.
    """

    where: str
    unit: str
    areas: tuple[PlanArea, ...]
    faults: tuple[tuple[str, Problem], ...] = ()
    overlaps: tuple[tuple[str, str, float], ...] = ()
    notes: tuple[str, ...] = ()
    moved_m: Point = (0.0, 0.0)


def unit_in_meters(unit: str) -> float:
    """The factor of a unit that a person told; raises Problems with those that are known."""
    if unit not in UNITS_M:
        what = f'"{unit}" is no unit of a plan'
        raise Problems([Problem("unit", what, f"use one of {', '.join(UNITS_M)}")])
    return UNITS_M[unit]


def free_name(name: str, taken: set[str], storey: str = "") -> str:
    """The name, told apart by storey or number when it is taken; it is taken from then on."""
    label, number = name, 1
    if label in taken and storey:
        label = name = f"{name}, {storey}"
    while label in taken:
        number += 1
        label = f"{name} ({number})"
    taken.add(label)
    return label


def how_to_tell(unit: str) -> str:
    """How a person tells the unit of a plan."""
    return f'plan_unit = "{unit}" in the job file, or --unit {unit} on the command line'


def size_in(size: float, unit_m: float) -> str:
    """A length of the drawing in meters, as people write it."""
    meters = size * unit_m
    if meters < 0.1:
        return f"{meters * 1000:.3g} mm"
    return f"{meters:.2f} m" if meters < 1000 else f"{meters / 1000:.3g} km"


def likely_units(size: float) -> list[str]:
    """Units in which a size of the drawing would be a room, the likeliest first."""
    fit = {name: factor for name, factor in UNITS_M.items() if 0.8 <= size * factor <= 100.0}
    return sorted(fit, key=lambda name: abs(math.log(size * fit[name] / 4.0)))


def ask_unit(where: str, said: str, name: str, size: float, unit_m: float) -> Problem:
    """The question for a unit in which areas are far too small or too large.

    Parameters
    ----------
    said : str
        Who says the unit, as "the header says inches".
    name, size, unit_m : str, float, float
        An outline, how far it reaches in units of the file, and the unit in meters.
    """
    what = f'{said}, so "{name}" would be {size_in(size, unit_m)} across'
    units = likely_units(size)
    told = " or ".join(f"{size_in(size, UNITS_M[unit])} in {UNIT_NAMES[unit]}" for unit in units[:3])
    fix = f"check the unit and say it: {how_to_tell(units[0] if units else 'mm')}"
    return Problem(where, what, fix + (f" (it would be {told})" if told else ""))


def check_count(count: int, where: str) -> None:
    """Refuse plans with more areas than anyone lays in one go."""
    if count > MOST_AREAS:
        fix = "save only the rooms to be laid, or name their layer"
        raise Problems([Problem(where, f"{count} outlines are more than {MOST_AREAS}", fix)])


def finish_plan(
    found: Sequence[FoundArea],
    where: str,
    *,
    unit: str,
    told: bool,
    notes: Iterable[str] = (),
    faults: Iterable[tuple[str, Problem]] = (),
) -> Plan:
    """Move outlines to the origin, mend them, check them, and tell which overlap.

    Parameters
    ----------
    unit : str
        Unit of the file, for questions.
    told : bool
        The unit is sure, so it is not asked for again.
    faults : pairs of name and problem
        Outlines that the reader could not make out.

    Raises
    ------
    Problems
        When there are too many outlines, or all are of a size that no floor has.
    """
    said = list(notes)
    check_count(len(found), where)
    reaches = [(_reach(area.outline), area.name) for area in found]
    sizes = sorted((size, name) for size, name in reaches if size > 0)
    if sizes and not told:
        size, name = sizes[len(sizes) // 2]
        if not ROOM_M[0] <= statistics.median(size for size, _ in sizes) <= ROOM_M[1]:
            factor = UNITS_M[unit]
            raise Problems([ask_unit(where, f"its unit is {UNIT_NAMES[unit]}", name, size / factor, factor)])
    moved = _move_home(found, said)
    areas: list[PlanArea] = []
    wrong = list(faults)
    names = {name for name, _ in wrong}
    for area in found:
        label = free_name(area.name, names, area.storey)
        mended = mend_outline(area.outline, area.obstacles, area.where)
        wrong += [(label, problem) for problem in mended.problems]
        if mended.polygon is not None:
            repairs = (*area.repairs, *mended.repairs)
            areas.append(
                PlanArea(label, mended.polygon, area.storey, tuple(area.doors), repairs, tuple(area.notes))
            )
    overlaps = _overlaps(areas, said)
    return Plan(where, unit, tuple(areas), tuple(wrong), tuple(overlaps), tuple(said), moved)


def finite_points(ring: Any) -> list[Point]:
    """The finite points of a ring; what is none is left to the check."""
    found = []
    for point in ring if isinstance(ring, list | tuple) else ():
        try:
            x, y = float(point[0]), float(point[1])
        except (TypeError, ValueError, IndexError, KeyError, OverflowError):
            return []
        if not (math.isfinite(x) and math.isfinite(y)):
            return []
        found.append((x, y))
    return found


def _reach(ring: Any) -> float:
    points = np.array(finite_points(ring) or [(0.0, 0.0)])
    return float(np.ptp(points, axis=0).max())


def _move_home(found: Sequence[FoundArea], said: list[str]) -> Point:
    """Move far-off coordinates to the origin by whole meters; return what was added. [m]"""
    points = [point for area in found for point in finite_points(area.outline)]
    if not points or max(max(abs(x), abs(y)) for x, y in points) <= LARGEST_M:
        return (0.0, 0.0)
    dx = -float(math.floor(min(x for x, _ in points)))
    dy = -float(math.floor(min(y for _, y in points)))

    def moved(ring: Any) -> Any:
        own = finite_points(ring)
        return [(x + dx, y + dy) for x, y in own] if own else ring

    for area in found:
        area.outline = moved(area.outline)
        area.obstacles = [moved(ring) for ring in area.obstacles]
        area.doors = [((a + dx, b + dy), (c + dx, d + dy)) for (a, b), (c, d) in area.doors]
        area.repairs = [
            Repair(one.what, one.at and (one.at[0] + dx, one.at[1] + dy), one.size_m) for one in area.repairs
        ]
    said.append(f"the plan lies far from its origin and was moved by ({dx:.0f}, {dy:.0f}) m")
    return (dx, dy)


def _overlaps(areas: Sequence[PlanArea], said: list[str]) -> list[tuple[str, str, float]]:
    """Pairs of areas on one storey that share floor; what is thinner than a wall's line is only told."""
    if len(areas) < 2:
        return []
    shapes = [area.polygon for area in areas]
    low = np.array([shape.bounds[:2] for shape in shapes])
    one, other = STRtree(shapes).query(shapes, predicate="intersects")
    pairs = [
        (int(i), int(j))
        for i, j in zip(one, other, strict=True)
        if i < j and areas[i].storey == areas[j].storey
    ]
    found: list[tuple[str, str, float]] = []
    told: list[str] = []
    for i, j in pairs:
        shared = shapely.intersection(shapes[i], shapes[j])
        if shared.area < 1e-4:
            continue
        one_name, other_name = areas[i].name, areas[j].name
        if shared.buffer(-OVERLAP_M / 2).is_empty:
            told.append(f'"{one_name}" and "{other_name}" overlap by less than {OVERLAP_M * 1000:g} mm')
        else:
            found.append((one_name, other_name, float(shared.area)))
    if found and np.abs(low).max() < 1e-6:
        said.append("every outline has an origin of its own; they are laid as floors apart, not as one plan")
        return []
    said += told
    return found


def choose_areas(plan: Plan, names: Sequence[str] = (), storey: str = "") -> list[PlanArea]:
    """The areas to lay: all, or those named (exactly, or by a pattern such as ``A1*``) and on the storey.

    Raises
    ------
    Problems
        With every fault and overlap of what is chosen, and names that no area has.
    """
    problems = [] if names or storey else [problem for _, problem in plan.faults]
    every = [area.name for area in plan.areas] + [name for name, _ in plan.faults]
    if storey:
        known = sorted({area.storey for area in plan.areas if area.storey})
        if not any(area.storey.casefold() == storey.casefold() for area in plan.areas):
            fix = f"use one of {', '.join(known)}" if known else "the plan names no storeys; leave it out"
            raise Problems([Problem(plan.where, f'no area is on a storey named "{storey}"', fix)])
    chosen: set[str] = set() if names else set(every)
    for name in names:
        match = _named(name, every)
        if not match:
            told = ", ".join(sorted(dict.fromkeys(every))[:12]) + (" …" if len(every) > 12 else "")
            problems.append(Problem(plan.where, f'no area is named "{name}"', f"the plan has {told}"))
        chosen |= set(match)
        problems += [problem for label, problem in plan.faults if label in match]
    areas = [
        area
        for area in plan.areas
        if area.name in chosen and (not storey or area.storey.casefold() == storey.casefold())
    ]
    kept = {area.name for area in areas}
    overlaps = [(one, other, m2) for one, other, m2 in plan.overlaps if one in kept and other in kept]
    for one, other, shared in sorted(overlaps, key=lambda pair: -pair[2])[:MOST_OVERLAPS]:
        size = f"{shared:.2f} m²" if shared >= 0.005 else f"{shared * 1e4:.2g} cm²"
        what = f'"{one}" and "{other}" overlap over {size}; that floor would be laid twice'
        fix = "draw each floor once, or choose one of the two by its name"
        problems.append(Problem(plan.where, what, fix))
    if len(overlaps) > MOST_OVERLAPS:
        what = f"{len(overlaps) - MOST_OVERLAPS} more pairs of areas overlap"
        problems.append(Problem(plan.where, what, "draw each floor once, or name its layer"))
    if problems or not areas:
        raise Problems(problems or [Problem(plan.where, "no area is left to lay", "choose others")])
    return areas


def _named(wanted: str, names: Sequence[str]) -> list[str]:
    if wanted in names:
        return [wanted]
    folded = wanted.strip().casefold()
    same = [name for name in names if name.casefold() == folded]
    return same or [name for name in names if fnmatchcase(name.casefold(), folded)]
