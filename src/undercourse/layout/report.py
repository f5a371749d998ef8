"""From the chosen trial to what people read: names, places on the floor, lengths, bounds."""

from __future__ import annotations

import math
from collections.abc import Sequence

from undercourse.base.problems import Problem
from undercourse.layout.bounds import bound_length, least_sheet_area, used_length_bound
from undercourse.layout.buying import Trial
from undercourse.layout.kinds import kinds_of, least_cost
from undercourse.layout.laid import AreaReport, bare_area
from undercourse.layout.results import AreaLayout, Layout, Offcut, Piece, RollUse
from undercourse.layout.rolls import UNIT_M, Item, Roll, units
from undercourse.layout.sheets import AreaPlan, Sheet
from undercourse.layout.stock import Stock


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
    keys: dict[int, list[int]] = {}
    for key, part in best.stock.parts.items() if best else ():
        keys.setdefault(part.stretch, []).append(key)
    first = 0
    for number, area in enumerate(areas):
        if best is None or number not in laid:
            reports.append(bare_area(area))
            continue
        plan = best.plans[laid.index(number)]
        report = AreaReport(number + 1, area, best.stock, keys, places)
        reports.append(report.make(plan, first))
        pieces += report.pieces
        first += sum(len(zone.stretches) for zone in plan.zones)
    items = [best.stock.item(key) for key in best.stock.parts] if best else []
    covered = sum(report.covered_area_m2 for report in reports if report.strips)
    rolls = tuple(_roll_use(roll, sheet) for roll in (best.rolls if best else ()))
    bounds = _bounds(items, covered, sheet, best.least if best else 0)
    return Layout(
        sheet,
        tuple(reports),
        tuple(sorted(pieces, key=lambda piece: (piece.roll, piece.at_m))),
        rolls,
        tuple(uncovered),
        *bounds,
        offcuts=tuple(
            offcut
            for roll_number, roll in enumerate(best.rolls if best else (), start=1)
            for offcut in _offcuts(roll_number, roll, best.stock if best else None)
        ),
        objective=sum(best.terms.values()) if best else 0.0,
        objective_terms=best.terms if best else {},
        least_objective=_least_objective(best, bounds[3], sheet) if best else 0.0,
    )


def _roll_use(roll: Roll, sheet: Sheet) -> RollUse:
    if roll.on_site >= 0:
        part = sheet.part_rolls[roll.on_site]
        return RollUse(part.length_m, roll.used * UNIT_M, part.price, on_site=True)
    length = min(sheet.roll_lengths_m, key=lambda length: abs(length / UNIT_M - roll.length))
    return RollUse(length, roll.used * UNIT_M, sheet.price(length))


def _offcuts(number: int, roll: Roll, stock: Stock | None) -> list[Offcut]:
    """What is left beside and after the pieces of a roll, where it could be a piece."""
    if stock is None:
        return []
    width, least = units(stock.sheet.width_m), units(stock.sheet.least_offcut_m)
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


def _bounds(items: list[Item], covered_m2: float, sheet: Sheet, proven: int) -> tuple[int, int, float, float]:
    """Bounds on rolls and on sheet used: for any layout, and for these pieces."""
    if not items:
        return 0, 0, 0.0, 0.0
    width, longest = units(sheet.width_m), max(kind.length for kind in kinds_of(sheet))
    least = least_sheet_area(
        covered_m2, sheet.seam_gap_m, sheet.smallest_piece_m, sheet.width_m, sheet.smallest_width_m
    )
    any_layout = max(1, math.ceil(least / (sheet.width_m * longest * UNIT_M) - 1e-6))
    used, these = bound_length(items, width, longest)
    if not sheet.choice_of_rolls:
        used = max(used, proven)
        these = max(these, -(-used // longest))
    else:
        used = used_length_bound(items, width)  # shorter rolls may be bought for what is left
    return any_layout, max(any_layout, these), least, max(least, used * UNIT_M * sheet.width_m)


def _least_objective(best: Trial, sheet_m2: float, sheet: Sheet) -> float:
    """Cost that these strips have at least, however they are cut and whatever rolls are bought."""
    kinds = kinds_of(sheet)
    length = math.floor(sheet_m2 / sheet.width_m / UNIT_M)
    rest = sum(cost for name, cost in best.terms.items() if name != "sheet")
    if sheet.choice_of_rolls:
        return rest + min(best.terms["sheet"], max(best.least_cost, least_cost(length, kinds)))
    return rest + min(best.terms["sheet"], sheet_m2 * sheet.least_price_m2)
