"""Choosing direction and offset for every area, by what all areas together cost."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from typing import Literal

import shapely

from undercourse.layout.heads import split_narrow, split_steps
from undercourse.layout.outlines import edge_directions
from undercourse.layout.rolls import UNIT_M, Roll, fill_rolls, form_segments, make_rolls, units
from undercourse.layout.running import run_rolls
from undercourse.layout.sheets import AreaPlan, Sheet
from undercourse.layout.stock import Stock, find_neighbors
from undercourse.layout.strips import StripPlan, lay_strips, make_floor, offsets_to_try

Effort = Literal["quick", "normal", "thorough"]


MOST_PREPARED = 400
"""With more strips than this, head joints are only made where a roll ends."""


@dataclass(frozen=True)
class Trial:
    """One way of laying and cutting everything."""

    plans: tuple[StripPlan, ...]
    stock: Stock
    rolls: tuple[Roll, ...]
    cost: float
    terms: dict[str, float]


@dataclass(frozen=True)
class Limits:
    directions: int
    offsets: int
    kept: int
    bands: int
    work: int  # combinations tried, times the pieces of each


LIMITS = {
    "quick": Limits(2, 16, 2, 600, 600),
    "normal": Limits(4, 48, 4, 2500, 2500),
    "thorough": Limits(8, 160, 10, 12000, 40_000),
}


def _directions(area: AreaPlan, held: float | None, most: int) -> list[float]:
    if held is not None:
        return [held % 180.0]
    found: list[float] = []
    for angle in edge_directions(area.outline):
        for choice in (angle, (angle + 90.0) % 180.0):
            if all(abs((choice - other + 90.0) % 180.0 - 90.0) > 0.5 for other in found):
                found.append(choice)
        if len(found) >= most:
            break
    return found[:most]


def _estimate(plan: StripPlan, sheet: Sheet, joined: bool = False) -> float:
    """Cost of a strip plan by itself, with the faults that it has priced out of the way.

    ``joined`` makes the head joints that save width first.
    """
    stock = Stock(sheet, plan.strips, [[] for _ in plan.strips])
    if joined:
        split_steps(stock)
        split_narrow(stock)
    width = units(sheet.width_m)
    segments = form_segments([stock.item(key) for key in stock.parts], width)
    length = sum(segment.length for segment in segments) * UNIT_M
    cost = length * sheet.width_m * sheet.least_price_m2
    cost += (plan.seam_m + head_joint_length(stock)) * sheet.seam_cost_m + len(stock.parts) * sheet.cut_cost
    fault = sheet.width_m * sheet.longest_roll_m * sheet.least_price_m2
    too_long = plan.too_long if not sheet.head_joints_allowed else 0
    total = cost + fault * (10 * too_long + plan.too_small)
    return min(total, plan.estimate)


def area_options(area: AreaPlan, sheet: Sheet, held: float | None, limits: Limits) -> list[StripPlan]:
    """The best few strip plans of one area over directions and offsets, best first."""
    found: list[StripPlan] = []
    for angle in _directions(area, held, limits.directions):
        floor = make_floor(area.outline, sheet, angle)
        if floor is None:
            return []
        bands = max(1.0, (floor.high_m - floor.low_m) / sheet.pitch_m)
        most = max(4, min(limits.offsets, int(limits.bands / bands)))
        plans = lay_strips(floor, sheet, offsets_to_try(floor, sheet, most))
        found += [replace(plan, estimate=_estimate(plan, sheet)) for plan in plans if plan.strips]
    if not sheet.head_joints_allowed and any(not plan.too_long for plan in found):
        found = [plan for plan in found if not plan.too_long]
    found.sort(key=lambda plan: plan.estimate)
    if sheet.head_joints_allowed and found and len(found[0].strips) <= MOST_PREPARED:
        tried = found[: 3 * limits.kept]
        found = [replace(plan, estimate=_estimate(plan, sheet, joined=True)) for plan in tried]
        found.sort(key=lambda plan: plan.estimate)
    most = limits.kept * (2 if found and len(found[0].strips) <= 12 else 1)
    kept, angles = found[:most], {plan.floor.turned_deg for plan in found[:most]}
    others = [plan for plan in found[most:] if plan.floor.turned_deg not in angles]
    return [*kept, *others[:1]]


def cut_all(plans: Sequence[StripPlan], sheet: Sheet) -> Trial | None:
    """Cut the pieces of all areas from rolls; the cheapest way found, None when a strip cannot be cut."""
    strips = [strip for plan in plans for strip in plan.strips]
    owners = [number for number, plan in enumerate(plans) for _ in plan.strips]
    neighbors = find_neighbors(strips, owners)
    trials: list[Trial] = []
    can_prepare = sheet.head_joints_allowed and len(strips) <= MOST_PREPARED
    for capacity_m in sheet.roll_lengths_m:
        capacity = math.floor(capacity_m / UNIT_M + 1e-3)
        for prepare in PREPARATIONS if can_prepare else PREPARATIONS[:1]:
            for run_on in (False, True) if sheet.head_joints_allowed else (False,):
                stock = Stock(sheet, strips, neighbors)
                if prepare and not sum(step(stock) for step in prepare):
                    break  # nothing to prepare; the plain way has been tried
                rolls = _fill(stock, capacity, run_on)
                if rolls is not None:
                    trials.append(_price(plans, stock, rolls))
    return min(trials, key=lambda trial: trial.cost, default=None)


PREPARATIONS: tuple[tuple[Callable[[Stock], bool], ...], ...] = (
    (),
    (split_narrow,),
    (split_steps, split_narrow),
)


def _fill(stock: Stock, capacity: int, run_on: bool) -> list[Roll] | None:
    """Fill rolls of one length; strips run on from roll to roll where wanted, or where they must."""
    items = [stock.item(key) for key in stock.parts]
    fits = all(item.length <= capacity for item in items)
    if fits and not run_on:
        segments = form_segments(items, units(stock.sheet.width_m))
        lengths = [segment.length for segment in segments]
        return make_rolls(segments, fill_rolls(lengths, capacity), capacity)
    if not stock.sheet.head_joints_allowed:
        return None
    return run_rolls(stock, capacity, optional=run_on)


def _price(plans: Sequence[StripPlan], stock: Stock, rolls: list[Roll]) -> Trial:
    """Shorten each roll to the cheapest that holds its cuts; put the one with most left over last."""
    sheet = stock.sheet
    held: list[tuple[float, float, Roll]] = []
    for roll in rolls:
        fits = [length for length in sheet.roll_lengths_m if length / UNIT_M + 1e-3 >= roll.used]
        length = min(fits, key=lambda length: (sheet.price(length), length))
        share = sheet.price(length) * min(1.0, roll.used * UNIT_M / length)
        held.append(
            (sheet.price(length), share, Roll(math.floor(length / UNIT_M + 1e-3), roll.used, roll.segments))
        )
    held.sort(key=lambda entry: (entry[0] - entry[1], -entry[2].used))
    bought = sum(price for price, _, _ in held[:-1]) + held[-1][1]
    seams = sum(plan.seam_m for plan in plans) + head_joint_length(stock)
    terms = {
        "sheet": bought,
        "seams": seams * sheet.seam_cost_m,
        "cuts": len(stock.parts) * sheet.cut_cost,
    }
    fault = sheet.price(sheet.longest_roll_m)
    faults = fault * (len(stock.crowded) + sum(plan.too_small for plan in plans))
    return Trial(tuple(plans), stock, tuple(roll for _, _, roll in held), sum(terms.values()) + faults, terms)


def head_joint_length(stock: Stock, numbers: Sequence[int] | None = None) -> float:
    total = 0.0
    for number in range(len(stock.strips)) if numbers is None else numbers:
        shape = stock.strips[number].shape
        _, low, _, high = shape.bounds
        for joint in stock.joints[number]:
            total += float(
                shape.intersection(shapely.LineString([(joint, low - 1), (joint, high + 1)])).length
            )
    return total


def choose(options: list[list[StripPlan]], sheet: Sheet, seed: int, limits: Limits) -> Trial | None:
    """Choose one plan an area so that all together cost least: change one area at a time."""
    chosen = [0] * len(options)
    tried = {tuple(chosen)}
    best = cut_all([plans[0] for plans in options], sheet)
    order = list(range(len(options)))
    turn_by = seed % max(1, len(order))
    order = order[turn_by:] + order[:turn_by]
    pieces = max(1, sum(len(plans[0].strips) for plans in options))
    left = limits.work // pieces
    for _ in range(3):
        changed = False
        for number in order:
            for which in range(len(options[number])):
                if which == chosen[number] or left <= 0:
                    continue
                picked = [*chosen[:number], which, *chosen[number + 1 :]]
                if tuple(picked) in tried:
                    continue
                tried.add(tuple(picked))
                left -= 1
                trial = cut_all([plans[pick] for plans, pick in zip(options, picked, strict=True)], sheet)
                if trial is not None and (best is None or trial.cost < best.cost - 1e-9):
                    best, chosen, changed = trial, picked, True
        if not changed:
            break
    return best
