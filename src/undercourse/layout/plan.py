"""Lay out areas with one sheet: the door to this package."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import replace

from undercourse.base.problems import Problem, Problems
from undercourse.layout.choices import Effort, area_options, choose, limits_for
from undercourse.layout.outlines import make_outline
from undercourse.layout.report import make_report
from undercourse.layout.results import Layout
from undercourse.layout.sheets import AreaPlan, Sheet, check_sheet
from undercourse.layout.watching import Progress, Watch
from undercourse.layout.zones import StripPlan


def lay_out(
    areas: Sequence[AreaPlan],
    sheet: Sheet,
    *,
    seed: int = 0,
    direction: float | None = None,
    effort: Effort = "normal",
    progress: Callable[[Progress], bool | None] | None = None,
) -> Layout:
    """Lay all areas with one sheet, and cut their pieces from rolls together.

    Parameters
    ----------
    areas : sequence of AreaPlan
        Names must differ.
    sheet : Sheet
        The sheet and the rules for laying it.
    seed : int
        Two runs with the same input and seed give the same layout; ties are broken by it.
    direction : float, optional
        Direction of all strips, counter-clockwise from x, where an area does not hold its own. [deg]
    effort : {"quick", "normal", "thorough"}
        How many directions, offsets and combinations are tried.
    progress : callable, optional
        Told from time to time how far the search is; returns False to stop it. What follows is then the best
        found so far, still valid and complete; areas not yet reached are laid in the first way that serves.
        A time budget is a callable that looks at a clock.

    Returns
    -------
    Layout
        Areas that cannot be covered have no strips and are named in ``uncovered`` with the reason.

    Raises
    ------
    Problems
        When the sheet, an outline, a name or a direction is unusable.
    """
    areas = _checked(areas, sheet, direction)
    limits, watch = limits_for(effort, sheet), Watch(progress, len(areas))
    uncovered: list[Problem] = []
    options: list[list[StripPlan]] = []
    laid: list[int] = []
    for number, area in enumerate(areas):
        plans = area_options(area, sheet, limits, watch)
        watch.tell(areas_laid=number + 1)
        reason = _why_uncovered(area, sheet, plans)
        if reason is None:
            options.append(plans)
            laid.append(number)
        else:
            uncovered.append(reason)
    best = choose(options, sheet, seed, limits, watch) if options else None
    if options and best is None:
        # One area that cannot be cut must not leave the others without sheet.
        quick = limits_for("quick", sheet)
        can = [choose([plans], sheet, seed, quick, watch) is not None for plans in options]
        uncovered += [
            _why_uncut(areas[number], sheet, plans[0])
            for number, plans, cuts in zip(laid, options, can, strict=True)
            if not cuts
        ]
        options = [plans for plans, cuts in zip(options, can, strict=True) if cuts]
        laid = [number for number, cuts in zip(laid, can, strict=True) if cuts]
        best = choose(options, sheet, seed, limits, watch) if options else None
    return make_report(areas, laid, sheet, best, uncovered)


def _checked(areas: Sequence[AreaPlan], sheet: Sheet, direction: float | None) -> list[AreaPlan]:
    """The areas with sound outlines; all that is wrong with them, the sheet or a direction at once."""
    problems = check_sheet(sheet)
    if not areas:
        problems.append(Problem("areas", "no area to lay", "give at least one outline"))
    names: set[str] = set()
    found: list[AreaPlan] = []
    for area in areas:
        if area.name in names:
            problems.append(
                Problem(f'area "{area.name}"', "two areas have this name", "give each its own name")
            )
        names.add(area.name)
        try:
            outline = make_outline(area.outline, where=f'area "{area.name}", outline')
            held = area.direction_deg if area.direction_deg is not None else direction
            found.append(replace(area, outline=outline, direction_deg=held))
        except Problems as faults:
            problems += faults.problems
        problems += _held_problems(area, direction)
    if direction is not None and not math.isfinite(direction):
        problems.append(Problem("direction", f"{direction} is no finite angle", "give degrees"))
    if problems:
        raise Problems(problems)
    return found


def _held_problems(area: AreaPlan, direction: float | None) -> list[Problem]:
    """What is wrong with an area's held direction and start line, and the lines that seams are kept off."""
    where, found = f'area "{area.name}"', []
    if area.direction_deg is not None and not math.isfinite(area.direction_deg):
        found.append(Problem(f"{where}, direction", "not a finite angle", "give degrees"))
    if area.start_m is not None:
        if not math.isfinite(area.start_m):
            found.append(Problem(f"{where}, start", "not a finite length", "give metres"))
        if area.direction_deg is None and direction is None:
            fix = "give a direction with it, or leave the start line open"
            found.append(Problem(f"{where}, start", "a start line needs a direction", fix))
    for number, line in enumerate(area.keep_off, start=1):
        sound = len(line) > 1 and all(
            len(point) == 2 and math.isfinite(point[0]) and math.isfinite(point[1]) for point in line
        )
        if not sound:
            fix = "give two points or more, as finite metres"
            found.append(Problem(f"{where}, line {number} to keep off", "not a line", fix))
    return found


def _why_uncovered(area: AreaPlan, sheet: Sheet, plans: list[StripPlan]) -> Problem | None:
    where = f'area "{area.name}"'
    if not plans:
        what = f"no spot lies {sheet.edge_gap_m:g} m from all its edges and obstacles"
        return Problem(where, what, "use a sheet with a smaller edge gap, or leave this area without sheet")
    if not sheet.head_joints_allowed and plans[0].too_long:
        longest = _longest(plans[0], sheet)
        held = "" if area.direction_deg is None else " in the direction that it is held to"
        what = f"a strip would be {longest:.3f} m long{held}, the longest roll is {sheet.longest_roll_m:g} m"
        free = "" if area.direction_deg is None else "leave the direction open, "
        fix = f"{free}allow head joints, use a roll of {math.ceil(longest * 10) / 10:g} m, or divide the area"
        return Problem(where, what, fix)
    return None


def _longest(plan: StripPlan, sheet: Sheet) -> float:
    """Length of roll that the longest strip takes in one piece. [m]"""
    return max(one.right - one.left for zone in plan.zones for one in zone.stretches) + 2 * sheet.trim_m


def _why_uncut(area: AreaPlan, sheet: Sheet, plan: StripPlan) -> Problem:
    """Why no cut plan was found for the strips of an area."""
    longest = _longest(plan, sheet)
    what = (
        f"its longest strip takes {longest:.3f} m of roll, the longest is {sheet.longest_roll_m:g} m, and no"
        f" head joint keeps pieces of {sheet.shortest_cut_m:g} m and the stagger of {sheet.stagger_m:g} m"
    )
    fix = "use a longer roll, or allow smaller pieces or less stagger"
    return Problem(f'area "{area.name}"', what, fix)
