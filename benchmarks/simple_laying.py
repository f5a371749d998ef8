"""Plain ways of laying sheets, to hold the program's against: ours, written for this comparison only.

Nothing of the layout package is used but its records. Strips are clipped by shapely one by one, so that most
of the time goes there. Four methods, each with what the one before it has:

``long_side``   strips along the longest edge from one wall; what is left beside a piece is thrown away, and
                so is the end of a roll that is too short for the next strip.
``offcuts``     the better of two directions and of several start lines; pieces, longest first, come from the
                offcut that they fill best.
``joints``      strips may be joined end to end: of roll ends, of offcuts, and side by side from one width.
``steps``       a strip may be divided where its width steps, so that each part is as narrow as it can be.
"""

from __future__ import annotations

from collections.abc import Callable
from typing import Any

import shapely
from shapely import Polygon
from shapely.affinity import rotate

from benchmarks.simple_cutting import (
    cut_joined,
    cut_whole,
    fullest_first,
    in_rolls,
    put,
)
from benchmarks.simple_floor import (
    NEAR_M,
    Cut,
    Part,
    Segment,
    Trial,
    divide_at_steps,
    inner_floor,
    longest_edges,
    make_strips,
    polygons,
    size_of,
    start_lines,
)
from undercourse.layout import Sheet


def long_side(outline: Polygon, sheet: Sheet) -> Trial:
    """Along the longest edge, from one wall, nothing used again."""
    direction = longest_edges(outline)[0]
    floor = inner_floor(outline, sheet, direction)
    parts, seam = make_strips(floor, sheet, floor.bounds[1])
    trial = Trial(direction, seam)
    segments = []
    for part, shape in in_rolls(parts, sheet, trial):
        length, width = size_of(shape)
        segments.append(Segment(length))
        trial.cuts.append(Cut(part, shape, width, length, segments[-1], (0.0, 0.0)))
    rest = 0.0
    for segment in segments:
        if segment.length > rest + NEAR_M:
            trial.rolls.append(0.0)
            rest = sheet.roll_lengths_m[0]
        put(segment, len(trial.rolls) - 1, trial.rolls)
        rest -= segment.length
    return trial


def offcuts(outline: Polygon, sheet: Sheet) -> Trial:
    """Best of two directions and several start lines, pieces from the offcut that they fill best."""
    return _best(outline, sheet, cut_whole)


def joints(outline: Polygon, sheet: Sheet) -> Trial:
    """The same with head joints."""
    return _best(outline, sheet, cut_joined)


def steps(outline: Polygon, sheet: Sheet) -> Trial:
    """The same with strips divided where their width steps, where that is better."""

    def divided(parts: list[Part], sheet: Sheet, trial: Trial) -> None:
        parts = [one for part in parts for one in divide_at_steps(part, sheet, trial)]
        cut_joined(parts, sheet, trial)

    return min(
        (_best(outline, sheet, divided), _best(outline, sheet, cut_joined)),
        key=lambda trial: trial.merit(sheet),
    )


METHODS: dict[str, tuple[str, Callable[[Polygon, Sheet], Trial]]] = {
    "long side": ("Long side, nothing used again", long_side),
    "offcuts": ("Best of two directions, start lines, best-fit offcuts", offcuts),
    "head joints": ("The same with head joints", joints),
    "width steps": ("The same with strips divided where their width steps", steps),
}


def _best(outline: Polygon, sheet: Sheet, cut: Callable[[list[Part], Sheet, Trial], None]) -> Trial:
    first = longest_edges(outline)[0]
    best: tuple[float, Trial] | None = None
    for direction in (first, (first + 90.0) % 180.0):
        floor = inner_floor(outline, sheet, direction)
        for start in start_lines(floor, sheet):
            parts, seam = make_strips(floor, sheet, start)
            trial = Trial(direction, seam)
            cut(parts, sheet, trial)
            fullest_first(trial)
            merit = trial.merit(sheet)
            if best is None or merit < best[0] - 1e-9:
                best = merit, trial
    assert best is not None
    return best[1]


def document(name: str, outline: Polygon, sheet: Sheet, trial: Trial) -> dict[str, Any]:
    """A trial in the form of ``layout --json``, so that the tests' validator can check it.

    No bound is claimed: those of the form are set to what always holds.
    """
    pieces = []
    for number, cut in enumerate(trial.cuts, start=1):
        shape = shapely.set_precision(rotate(cut.shape, trial.direction, origin=(0, 0)), 1e-6)
        drawn = max(polygons(shape), key=lambda one: one.area)
        pieces.append(
            {
                "id": f"p{number}",
                "area": name,
                "strip": f"s{cut.part.strip}",
                "width_m": cut.width,
                "length_m": cut.length,
                "roll": cut.segment.roll + 1,
                "at": [cut.segment.along + cut.at[0], cut.at[1]],
                "outline": [list(point) for point in drawn.exterior.coords[:-1]],
            }
        )
    strips = sorted({cut.part.strip for cut in trial.cuts})
    notes = [f"strip s{cut.part.strip}: a piece under the smallest" for cut in trial.small(sheet)]
    notes += ["head joints lie closer than the stagger"] if trial.close else []
    area = {
        "name": name,
        "net_area_m2": outline.area,
        "edge_length_m": outline.length,
        "direction_deg": trial.direction,
        "strips": [
            {
                "id": f"s{strip}",
                "pieces": [piece["id"] for piece in pieces if piece["strip"] == f"s{strip}"],
                "direction_deg": trial.direction,
                "across": False,
            }
            for strip in strips
        ],
        "seam_length_m": trial.seam,
        "notes": notes,
    }
    return {
        "areas": [area],
        "pieces": pieces,
        "offcuts": [],
        "uncovered": [],
        "net_area_m2": outline.area,
        **_totals(outline.area, sheet, trial),
    }


def _totals(net_m2: float, sheet: Sheet, trial: Trial) -> dict[str, Any]:
    """The part of the document that sums up; money by the sheet's defaults."""
    length = sheet.roll_lengths_m[0]
    consumed, price = trial.consumed(sheet), length * sheet.width_m
    terms = {
        "sheet": consumed,
        "seams": trial.seam * sheet.seam_cost_m,
        "cuts": len(trial.cuts) * sheet.cut_cost,
    }
    return {
        "rolls": len(trial.rolls),
        "roll_bound": 1,
        "roll_plan": [
            {"roll": number, "length_m": length, "used_m": used, "price": price, "on_site": False}
            for number, used in enumerate(trial.rolls, start=1)
        ],
        "consumed_area_m2": consumed,
        "waste": 1 - net_m2 / consumed,
        "objective": sum(terms.values()),
        "objective_terms": terms,
        "bounds": {
            "any_layout": 1,
            "these_strips": 1,
            "any_layout_m2": 0.0,
            "these_strips_m2": 0.0,
            "objective": 0.0,
        },
    }
