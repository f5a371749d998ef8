"""Lay out areas with one sheet: the door to this package."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from undercourse.base.problems import Problem, Problems
from undercourse.layout.choices import LIMITS, Effort, area_options, choose
from undercourse.layout.outlines import check_outline, make_outline
from undercourse.layout.report import make_report
from undercourse.layout.results import Layout
from undercourse.layout.sheets import AreaPlan, Sheet, check_sheet
from undercourse.layout.strips import StripPlan


def lay_out(
    areas: Sequence[AreaPlan],
    sheet: Sheet,
    *,
    seed: int = 0,
    direction: float | None = None,
    effort: Effort = "normal",
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

    Returns
    -------
    Layout
        Areas that cannot be covered have no strips and are named in ``uncovered`` with the reason.

    Raises
    ------
    Problems
        When the sheet, an outline, a name or a direction is unusable.
    """
    _check(areas, sheet, direction)
    areas = [replace(area, outline=make_outline(area.outline)) for area in areas]
    limits = LIMITS[effort]
    uncovered: list[Problem] = []
    options: list[list[StripPlan]] = []
    laid: list[int] = []
    for number, area in enumerate(areas):
        held = area.direction_deg if area.direction_deg is not None else direction
        plans = area_options(area, sheet, held, limits)
        reason = _why_uncovered(area, sheet, plans)
        if reason is None:
            options.append(plans)
            laid.append(number)
        else:
            uncovered.append(reason)
    best = choose(options, sheet, seed, limits) if options else None
    if options and best is None:
        what = "a strip longer than the rolls cannot be cut by the rules for small pieces and head joints"
        fix = "use a longer roll, or allow smaller pieces or less stagger"
        uncovered += [Problem(f'area "{areas[number].name}"', what, fix) for number in laid]
    return make_report(areas, laid, sheet, best, uncovered)


def _check(areas: Sequence[AreaPlan], sheet: Sheet, direction: float | None) -> None:
    problems = check_sheet(sheet)
    if not areas:
        problems.append(Problem("areas", "no area to lay", "give at least one outline"))
    names: set[str] = set()
    for area in areas:
        if area.name in names:
            problems.append(
                Problem(f'area "{area.name}"', "two areas have this name", "give each its own name")
            )
        names.add(area.name)
        problems += check_outline(area.outline, where=f'area "{area.name}", outline')
        if area.direction_deg is not None and not math.isfinite(area.direction_deg):
            problems.append(Problem(f'area "{area.name}", direction', "not a finite angle", "give degrees"))
    if direction is not None and not math.isfinite(direction):
        problems.append(Problem("direction", f"{direction} is no finite angle", "give degrees"))
    if problems:
        raise Problems(problems)


def _why_uncovered(area: AreaPlan, sheet: Sheet, plans: list[StripPlan]) -> Problem | None:
    where = f'area "{area.name}"'
    if not plans:
        what = f"no spot lies {sheet.edge_gap_m:g} m from all its edges and obstacles"
        return Problem(where, what, "use a sheet with a smaller edge gap, or leave this area without sheet")
    if not sheet.head_joints_allowed and plans[0].too_long:
        longest = max(strip.length_m for strip in plans[0].strips) + 2 * sheet.trim_m
        what = f"a strip would be {longest:.3f} m long, the longest roll is {sheet.longest_roll_m:g} m"
        return Problem(where, what, "allow head joints, use a longer roll, or divide the area")
    return None
