"""From the chosen trial to what people read: names, places on the floor, lengths, bounds."""

from __future__ import annotations

import math
from collections.abc import Sequence

import shapely
from shapely import Polygon

from undercourse.base.problems import Problem
from undercourse.layout.bounds import least_sheet_area, roll_count_bound, used_length_bound
from undercourse.layout.choices import Trial, head_joint_length
from undercourse.layout.marks import chalk_line
from undercourse.layout.outlines import count_corners
from undercourse.layout.results import AreaLayout, LaidStrip, Layout, Offcut, Piece, RollUse
from undercourse.layout.rolls import UNIT_M, Cut, Item, Roll, units
from undercourse.layout.sheets import AreaPlan, Sheet
from undercourse.layout.stock import Stock
from undercourse.layout.strips import NEAR_M, Part, StripPlan, open_holes, turn

LEAST_SLIT_M = 0.001
"""A slit is drawn no thinner than this, so that it stays a shape. [m]"""

Place = tuple[int, Cut]


def make_report(
    areas: Sequence[AreaPlan],
    laid: list[int],
    sheet: Sheet,
    best: Trial | None,
    uncovered: list[Problem],
) -> Layout:
    places = {
        cut.key: (number, cut)
        for number, roll in enumerate(best.rolls if best else (), start=1)
        for cut in roll.cuts()
    }
    reports: list[AreaLayout] = []
    pieces: list[Piece] = []
    first = 0
    for number, area in enumerate(areas):
        if best is None or number not in laid:
            reports.append(_bare(area))
            continue
        plan = best.plans[laid.index(number)]
        span = range(first, first + len(plan.strips))
        first = span.stop
        report, cut = _area_report(number + 1, area, plan, best.stock, span, places)
        reports.append(report)
        pieces += cut
    items = [best.stock.item(key) for key in best.stock.parts] if best else []
    covered = sum(report.covered_area_m2 for report in reports if report.strips)
    rolls = tuple(
        RollUse(length, roll.used * UNIT_M, sheet.price(length))
        for roll in (best.rolls if best else ())
        for length in [min(sheet.roll_lengths_m, key=lambda length: abs(length / UNIT_M - roll.length))]
    )
    return Layout(
        sheet,
        tuple(reports),
        tuple(sorted(pieces, key=lambda piece: (piece.roll, piece.at_m))),
        rolls,
        tuple(uncovered),
        *_bounds(items, covered, sheet),
        offcuts=tuple(
            offcut
            for roll_number, roll in enumerate(best.rolls if best else (), start=1)
            for offcut in _offcuts(roll_number, roll, best.stock if best else None)
        ),
        objective=sum(best.terms.values()) if best else 0.0,
        objective_terms=best.terms if best else {},
    )


def _offcuts(number: int, roll: Roll, stock: Stock | None) -> list[Offcut]:
    """What is left beside and after the pieces of a roll, where it could be a piece."""
    if stock is None:
        return []
    width, least = units(stock.sheet.width_m), units(max(stock.sheet.smallest_piece_m, 0.1))
    left: list[tuple[int, int, int, int]] = [(roll.used, 0, roll.length - roll.used, width)]
    start = 0
    for segment in roll.segments:
        lanes: dict[int, tuple[int, int]] = {}  # across: widest item, end of the last item
        for cut in segment.cuts:
            item = stock.item(cut.key)
            wide, end = lanes.get(cut.across, (0, 0))
            lanes[cut.across] = (max(wide, item.width), max(end, cut.along + item.length))
        used = max(across + wide for across, (wide, _) in lanes.items())
        left.append((start, used, segment.length, width - used))
        left += [(start + end, at, segment.length - end, wide) for at, (wide, end) in sorted(lanes.items())]
        start += segment.length
    return [
        Offcut(number, wide * UNIT_M, long * UNIT_M, (along * UNIT_M, across * UNIT_M))
        for along, across, long, wide in left
        if min(long, wide) >= least
    ]


def _bounds(items: list[Item], covered_m2: float, sheet: Sheet) -> tuple[int, int, float, float]:
    """Bounds on rolls and on sheet used: for any layout, and for these pieces."""
    if not items:
        return 0, 0, 0.0, 0.0
    width, longest = units(sheet.width_m), math.floor(sheet.longest_roll_m / UNIT_M + 1e-3)
    least = least_sheet_area(covered_m2, sheet.seam_gap_m, sheet.smallest_piece_m, sheet.width_m)
    any_layout = max(1, math.ceil(least / (sheet.width_m * sheet.longest_roll_m) - 1e-6))
    these = max(any_layout, roll_count_bound(items, width, longest))
    used = used_length_bound(items, width) * UNIT_M * sheet.width_m
    least_before_last = (these - 1) * min(sheet.roll_lengths_m) * sheet.width_m
    return (
        any_layout,
        these,
        least,
        max(least, used, least_before_last if len(sheet.roll_lengths_m) == 1 else 0),
    )


def _bare(area: AreaPlan) -> AreaLayout:
    inside, outside = count_corners(area.outline)
    size = float(area.outline.area)
    return AreaLayout(
        area.name, size, 0.0, 0.0, (), 0.0, 0.0, float(area.outline.length), inside, outside, None
    )


def _drawn(shape: Polygon) -> Polygon:
    """The shape with coordinates in whole micrometres, still valid."""
    rounded = shapely.set_precision(shape, 1e-6)
    parts = [part for part in shapely.get_parts(rounded) if isinstance(part, Polygon)]
    return max(parts, key=lambda part: part.area, default=shape)


def _letters(number: int) -> str:
    """a, b, … z, aa, ab … for 0, 1, …"""
    text = ""
    number += 1
    while number:
        number, digit = divmod(number - 1, 26)
        text = chr(ord("a") + digit) + text
    return text


def _area_report(
    number: int,
    area: AreaPlan,
    plan: StripPlan,
    stock: Stock,
    span: range,
    places: dict[int, Place],
) -> tuple[AreaLayout, list[Piece]]:
    sheet, angle = stock.sheet, plan.floor.turned_deg
    by_strip: dict[int, list[tuple[Part, int]]] = {index: [] for index in span}
    for key, (index, part) in stock.parts.items():
        if index in by_strip:
            by_strip[index].append((part, key))
    slit = max(LEAST_SLIT_M, sheet.seam_gap_m)
    strips: list[LaidStrip] = []
    pieces: list[Piece] = []
    slit_length = 0.0
    for order, index in enumerate(span, start=1):
        name = f"{number}.{order}"
        parts = sorted(by_strip[index], key=lambda entry: entry[0].box_m)
        made = []
        for which, (part, key) in enumerate(parts):
            shape, cut_open = open_holes(part.shape, slit)
            slit_length += cut_open
            label = name if len(parts) == 1 else name + _letters(which)
            made.append(_piece(label, area.name, name, part, _drawn(turn(shape, angle)), places[key]))
        whole, _ = open_holes(stock.strips[index].shape, slit)
        outline = _drawn(turn(whole, angle))
        strips.append(LaidStrip(name, outline, tuple(piece.id for piece in made)))
        pieces += made
    head = head_joint_length(stock, span)
    bare = _bare(area)
    report = AreaLayout(
        area.name,
        bare.net_area_m2,
        float(plan.floor.shape.area),
        angle,
        tuple(strips),
        plan.seam_m + head + slit_length,
        head,
        bare.edge_length_m,
        bare.inside_corners,
        bare.outside_corners,
        chalk_line(area.outline, plan, sheet),
        tuple(_notes(plan, stock, span, strips, sheet)),
    )
    return report, pieces


def _piece(label: str, area: str, strip: str, part: Part, shape: Polygon, place: Place) -> Piece:
    roll, cut = place
    at = (round(cut.along * UNIT_M, 4), round(cut.across * UNIT_M, 4))
    return Piece(label, area, strip, part.width_m, part.length_m, roll, at, shape)


def _notes(plan: StripPlan, stock: Stock, span: range, strips: list[LaidStrip], sheet: Sheet) -> list[str]:
    notes = []
    small = [
        strips[index - span.start].id
        for index in span
        if any(
            min(part.box_m[2] - part.box_m[0], part.box_m[3] - part.box_m[1])
            < sheet.smallest_piece_m - NEAR_M
            for owner, part in stock.parts.values()
            if owner == index
        )
    ]
    if small:
        notes.append(
            f"strips {', '.join(small)} hold a piece under the smallest ({sheet.smallest_piece_m:g} m)"
        )
    crowded = sorted({strips[index - span.start].id for index in stock.crowded if index in span})
    if crowded:
        notes.append(f"head joints of strips {', '.join(crowded)} lie closer than {sheet.stagger_m:g} m")
    return notes
