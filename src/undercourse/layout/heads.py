"""Head joints that save sheet: where a strip steps in width, and where halves can lie side by side."""

from __future__ import annotations

import numpy as np
import numpy.typing as npt
import shapely

from undercourse.layout.rolls import UNIT_M, Item, form_segments, units
from undercourse.layout.stock import Stock, split_at, split_off

Floats = npt.NDArray[np.float64]

MOST_SPLITS = 40
"""Splits tried in one layout; more would take long and save little."""


def worth_m2(stock: Stock) -> float:
    """Sheet that a head joint across a full strip must save to pay for itself. [m2]"""
    sheet = stock.sheet
    return (sheet.seam_cost_m * sheet.width_m + sheet.cut_cost) / sheet.least_price_m2


def split_steps(stock: Stock) -> bool:
    """Part strips where they step in width, so that the narrow side takes less sheet. True when one was."""
    waiting = list(stock.parts)
    done = 0
    while waiting and done < MOST_SPLITS:
        key = waiting.pop(0)
        keys = _split_step(stock, key)
        if keys is not None:
            waiting += keys
            done += 1
    return done > 0


def _split_step(stock: Stock, key: int) -> list[int] | None:
    """Part one piece at the step that saves most sheet, if that pays."""
    number, part = stock.parts[key]
    left, low, right, high = part.box_m
    spare = (right - left) * (high - low) - float(part.shape.area)
    if spare < 2 * worth_m2(stock):
        return None
    half = stock.sheet.seam_gap_m / 2
    corners = np.unique(np.round(shapely.get_coordinates(part.shape)[:, 0], 6))
    spots = [x + side for x in corners for side in ((-half, half) if half else (0.0,))]
    near, apart = stock.near_joints(number), stock.sheet.stagger_m
    free = [x for x in spots if left < x < right and all(abs(x - other) >= apart for other in near)]
    if not free:
        return None
    areas = _areas_of_sides(part.shape, np.array(free), half)
    best = int(areas.argmin())
    if part.width_m * part.length_m - areas[best] < 2 * worth_m2(stock):
        return None
    return split_at(stock, key, float(free[best]))


def _areas_of_sides(shape: shapely.Polygon, spots: Floats, half: float) -> Floats:
    """Area of the rectangles around what lies left and right of each joint. [m2]"""
    left, low, right, high = shape.bounds
    side = np.ones_like(spots)
    sides = np.concatenate(
        [
            shapely.box((left - 1) * side, low * side, spots - half, high * side),
            shapely.box(spots + half, low * side, (right + 1) * side, high * side),
        ]
    )
    parts, owner = shapely.get_parts(shapely.intersection(shape, sides), return_index=True)
    boxes = shapely.bounds(parts)
    total = np.zeros(len(spots))
    areas = np.nan_to_num(
        (boxes[:, 2] - boxes[:, 0]) * (boxes[:, 3] - boxes[:, 1])
    )  # an empty side has no box
    np.add.at(total, owner % len(spots), areas)
    return total


def split_narrow(stock: Stock) -> bool:
    """Part narrow pieces that would waste the width beside them, so that the halves lie side by side.

    True when one was.
    """
    width = units(stock.sheet.width_m)
    tried: set[int] = set()
    changed = False
    for _ in range(MOST_SPLITS):
        items = {key: stock.item(key) for key in stock.parts}
        segments = form_segments(list(items.values()), width)
        alone = [
            items[segment.cuts[0].key]
            for segment in segments
            if len(segment.cuts) == 1 and 2 * items[segment.cuts[0].key].width <= width
        ]
        alone = [item for item in alone if item.key not in tried and _pays(stock, item)]
        if not alone:
            break
        item = max(alone, key=lambda item: (item.length, -item.key))
        tried.add(item.key)
        share = units(stock.parts[item.key][1].length_m / (width // item.width))
        changed |= split_off(stock, item.key, share) is not None
    return changed


def _pays(stock: Stock, item: Item) -> bool:
    """Whether half the piece's length of roll is worth a joint and a cut, and the halves may be so short."""
    saved = item.length * UNIT_M * stock.sheet.width_m / 2
    return saved > 2 * worth_m2(stock) and item.length * UNIT_M >= 2.2 * stock.sheet.shortest_cut_m
