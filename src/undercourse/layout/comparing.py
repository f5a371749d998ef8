"""Material against seams: other ways to lay the same areas, of which none is worse in everything."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from undercourse.layout.choices import Effort
from undercourse.layout.outlines import edge_directions
from undercourse.layout.plan import lay_out
from undercourse.layout.results import Layout
from undercourse.layout.sheets import AreaPlan, Sheet
from undercourse.layout.watching import Progress

WEIGHTS = (1.0, 0.0, 5.0, 25.0, 125.0)
"""Seams and pieces are taken to cost so many times what they cost, in turn."""


@dataclass(frozen=True)
class Alternative:
    """One way to lay all areas; ``cost`` is at the sheet's own prices of seams and pieces.

    ``seam_weight``, ``direction_deg`` and ``head_joints`` tell how it was come by: laid with seams and pieces
    so many times as dear, with all strips held to a direction or not, with head joints or without.
    """

    consumed_area_m2: float
    seam_length_m: float
    pieces: int
    cost: float
    seam_weight: float
    direction_deg: float | None
    head_joints: bool
    small_pieces: bool  # a piece is under the smallest


def compare_layouts(
    areas: Sequence[AreaPlan],
    sheet: Sheet,
    *,
    seed: int = 0,
    effort: Effort = "normal",
    progress: Callable[[Progress], bool | None] | None = None,
) -> tuple[Alternative, ...]:
    """Lay the areas in several ways; those of which no other has both less sheet and shorter seams.

    Parameters
    ----------
    areas, sheet, seed, effort, progress
        As for `lay_out`; told to stop, no further way is begun.

    Returns
    -------
    tuple of Alternative
        From least sheet to shortest seams; ways that leave an area uncovered are left out.
    """
    found: list[Alternative] = []
    stopped = False

    def watch(state: Progress) -> bool:
        nonlocal stopped
        stopped = stopped or (progress is not None and progress(state) is False)
        return not stopped

    for other, weight, direction in _ways(areas, sheet):
        if stopped and found:
            break
        laid = lay_out(areas, other, seed=seed, direction=direction, effort=effort, progress=watch)
        if laid.rolls and not laid.uncovered:
            found.append(_alternative(laid, sheet, weight, direction))
    return tuple(_undominated(found))


def _ways(areas: Sequence[AreaPlan], sheet: Sheet) -> Iterator[tuple[Sheet, float, float | None]]:
    """Sheets with seams at other prices, then held to the two main directions, then without head joints."""
    for weight in WEIGHTS:
        yield _weighed(sheet, weight), weight, None
    if any(area.direction_deg is None for area in areas):
        largest = max(areas, key=lambda area: float(area.outline.area))
        main = edge_directions(largest.outline)[0]
        for direction in (main, (main + 90.0) % 180.0):
            yield sheet, 1.0, direction
    if sheet.head_joints_allowed:
        for weight in (1.0, 25.0):
            yield replace(_weighed(sheet, weight), head_joints_allowed=False), weight, None


def _weighed(sheet: Sheet, weight: float) -> Sheet:
    return replace(sheet, seam_cost_m=sheet.seam_cost_m * weight, cut_cost=sheet.cut_cost * weight)


def _alternative(laid: Layout, sheet: Sheet, weight: float, direction: float | None) -> Alternative:
    seams = sum(area.seam_length_m for area in laid.areas)
    cost = laid.objective_terms["sheet"] + seams * sheet.seam_cost_m + len(laid.pieces) * sheet.cut_cost
    small = any("under the smallest" in note for area in laid.areas for note in area.notes)
    joints = laid.sheet.head_joints_allowed
    return Alternative(laid.consumed_area_m2, seams, len(laid.pieces), cost, weight, direction, joints, small)


def _undominated(found: Sequence[Alternative]) -> list[Alternative]:
    """Those of which no other has less sheet and no longer seams, among those without small pieces."""
    sound = [one for one in found if not one.small_pieces] or list(found)
    kept: list[Alternative] = []
    for one in sorted(sound, key=lambda one: (round(one.consumed_area_m2, 4), one.seam_length_m, one.cost)):
        if not kept or one.seam_length_m < kept[-1].seam_length_m - 0.005:
            kept.append(one)
    return kept
