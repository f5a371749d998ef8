"""Cutting all pieces from rolls that are bought or lie on site, and what that costs."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from undercourse.layout.bounds import bound_length, used_length_bound
from undercourse.layout.covers import CROWDED
from undercourse.layout.cutting import cut_exactly
from undercourse.layout.kinds import cut_from_kinds, kinds_of, least_cost, whole_units
from undercourse.layout.rolls import (
    UNIT_M,
    Item,
    Roll,
    fill_rolls,
    form_segments,
    make_rolls,
    take_fullest,
    units,
)
from undercourse.layout.running import run_rolls
from undercourse.layout.sheets import Sheet
from undercourse.layout.stock import Stock, joint_length, make_stock
from undercourse.layout.zones import StripPlan

MOST_REFINED = 200
"""With more pieces than this no search for a provably best cutting is made."""

WORTH_REFINING = 0.01
"""Share of the sheet from which on such a search is made where head joints are allowed."""

MANY_NODES = 10_000
"""With so many nodes allowed for it, it is made in any case."""


LEFT_OVER = 0.01
"""Share of its price that the rest of a last roll is worth where every roll is paid whole: it breaks ties."""


@dataclass(frozen=True)
class Trial:
    """One way of laying and cutting everything."""

    plans: tuple[StripPlan, ...]
    stock: Stock
    rolls: tuple[Roll, ...]  # those on site first, the one with most left over last
    cost: float
    terms: dict[str, float]
    least: int = 0  # length of roll proven to be needed for these pieces, where a search proved one [0.1 mm]
    least_cost: float = 0.0  # cost of sheet proven to be needed, where a search proved one


def cut_all(plans: Sequence[StripPlan], sheet: Sheet) -> Trial | None:
    """Cut the pieces of all areas from rolls; the cheapest way found, None when a strip cannot be cut."""
    zones = [zone for plan in plans for zone in plan.zones]
    laid = [stretch for zone in zones for stretch in zone.stretches]
    owners = [number for number, zone in enumerate(zones) for _ in zone.stretches]
    covers = [cells for zone in zones for cells in zone.covers]
    trials: list[Trial] = []
    for capacity_m in sheet.roll_lengths_m:
        capacity = whole_units(capacity_m)
        for site in _sites(sheet, capacity_m):
            for run_on in (False, True) if sheet.head_joints_allowed else (False,):
                stock = make_stock(sheet, laid, owners, covers)
                rolls = _fill(stock, capacity, site, run_on)
                if rolls is not None:
                    trials.append(_price(plans, stock, rolls))
                if rolls is not None and len(rolls) == 1:
                    break
    return min(trials, key=lambda trial: trial.cost, default=None)


def _sites(sheet: Sheet, bought_m: float) -> list[list[Roll]]:
    """Part rolls to begin with: all that are worth it, only those that are paid, none."""
    worth = _worth_using(sheet, bought_m)
    paid = [roll for roll in worth if sheet.part_rolls[roll.on_site].price == 0]
    return [*([worth] if worth else []), *([paid] if paid and paid != worth else []), []]


def _worth_using(sheet: Sheet, bought_m: float) -> list[Roll]:
    """Part rolls on site that cost less than as much of a bought roll, cheapest first, then longest."""
    rate = sheet.price(bought_m) / bought_m
    order = sorted(
        range(len(sheet.part_rolls)),
        key=lambda number: (
            sheet.part_rolls[number].price / sheet.part_rolls[number].length_m,
            -sheet.part_rolls[number].length_m,
        ),
    )
    return [
        Roll(whole_units(sheet.part_rolls[number].length_m), 0, (), number)
        for number in order
        if sheet.part_rolls[number].price < rate * sheet.part_rolls[number].length_m
    ]


def _fill(stock: Stock, capacity: int, site: Sequence[Roll], run_on: bool) -> list[Roll] | None:
    """Fill rolls of one length after those on site; strips run on where wanted, or where they must."""
    items = [stock.item(key) for key in stock.parts]
    fits = all(item.length <= capacity for item in items)
    if fits and not run_on:
        segments = form_segments(items, units(stock.sheet.width_m))
        rolls = []
        for part in site:
            taken, segments = take_fullest(segments, part.length)
            used = sum(segment.length for segment in taken)
            rolls += [replace(part, used=used, segments=tuple(taken))] if taken else []
        lengths = [segment.length for segment in segments]
        return rolls + make_rolls(segments, fill_rolls(lengths, capacity), capacity) if lengths else rolls
    if not stock.sheet.head_joints_allowed:
        return None
    return run_rolls(stock, capacity, optional=run_on, site=site)


def refine(trial: Trial, nodes: int) -> Trial:
    """Cut the chosen pieces again where rolls may yet be cut better; the better of the two."""
    sheet, stock = trial.stock.sheet, trial.stock
    if nodes == 0 or len(stock.parts) > MOST_REFINED:
        return trial
    items = [stock.item(key) for key in stock.parts]
    if sheet.choice_of_rolls:
        return _refine_kinds(trial, items, nodes)
    capacity = whole_units(sheet.longest_roll_m)
    consumed = (len(trial.rolls) - 1) * capacity + trial.rolls[-1].used
    least, _ = bound_length(items, units(sheet.width_m), capacity)
    if consumed <= least:
        return trial
    # Head joints fill rolls to their ends; only what lies side by side on one roll may be worth a search.
    little = len(trial.rolls) > 1 or consumed - least <= WORTH_REFINING * consumed
    if sheet.head_joints_allowed and nodes < MANY_NODES and little:
        return trial
    found = cut_exactly(items, units(sheet.width_m), capacity, trial.rolls, least, nodes)
    better = trial if found.rolls is None else _price(trial.plans, stock, found.rolls)
    return replace(better if better.cost < trial.cost - 1e-9 else trial, least=found.least)


def _refine_kinds(trial: Trial, items: Sequence[Item], nodes: int) -> Trial:
    sheet = trial.stock.sheet
    kinds, width = kinds_of(sheet), units(sheet.width_m)
    least = least_cost(used_length_bound(items, width), kinds)
    paid = trial.terms["sheet"]
    longest = max(kind.length for kind in kinds if not kind.on_site)
    little = sheet.head_joints_allowed and nodes < MANY_NODES and paid - least <= WORTH_REFINING * paid
    if little or paid <= least + 1e-6 or max(item.length for item in items) > longest:
        return replace(trial, least_cost=least)
    found = cut_from_kinds(items, width, kinds, trial.rolls, nodes, paid)
    better = trial if found.rolls is None else _price(trial.plans, trial.stock, found.rolls)
    return replace(better if better.cost < trial.cost - 1e-9 else trial, least_cost=max(least, found.least))


def _price(plans: Sequence[StripPlan], stock: Stock, rolls: Sequence[Roll]) -> Trial:
    """Shorten each bought roll to the cheapest that holds its cuts; the one with most left over is last."""
    sheet = stock.sheet
    site, bought = _move_to_site([_shortened(roll, sheet) for roll in rolls], sheet)
    site.sort(key=lambda roll: (roll.length - roll.used, roll.on_site))
    bought.sort(key=lambda roll: (roll.length - roll.used, -roll.used))
    paid = sum(sheet.part_rolls[roll.on_site].price for roll in site)
    paid += sum(sheet.price(_length_m(roll, sheet)) for roll in bought)
    left = (bought or site)[-1]
    unused = sheet.price(_length_m(left, sheet)) * (1.0 - left.used / left.length) if bought else 0.0
    if not sheet.paid_whole:
        paid -= unused
    seams = sum(plan.seam_m for plan in plans) + head_joint_length(stock)
    terms = {
        "sheet": paid,
        "seams": seams * sheet.seam_cost_m,
        "cuts": len(stock.parts) * sheet.cut_cost,
    }
    faults = sum(plan.faults for plan in plans) + CROWDED * len(stock.crowded)
    cost = sum(terms.values()) + faults * sheet.price(sheet.longest_roll_m)
    if sheet.paid_whole:
        cost -= LEFT_OVER * unused
    return Trial(tuple(plans), stock, (*site, *bought), cost, terms)


def _length_m(roll: Roll, sheet: Sheet) -> float:
    return min(sheet.roll_lengths_m, key=lambda length: abs(length / UNIT_M - roll.length))


def _shortened(roll: Roll, sheet: Sheet) -> Roll:
    if roll.on_site >= 0:
        return roll
    fits = [length for length in sheet.roll_lengths_m if whole_units(length) >= roll.used]
    length = min(fits, key=lambda length: (sheet.price(length), length))
    return replace(roll, length=whole_units(length))


def _move_to_site(rolls: Sequence[Roll], sheet: Sheet) -> tuple[list[Roll], list[Roll]]:
    """Move what is cut from bought rolls to part rolls still unused, where that costs less."""
    site = [roll for roll in rolls if roll.on_site >= 0]
    bought = [roll for roll in rolls if roll.on_site < 0]
    taken = {roll.on_site for roll in site}
    free = sorted((part.length_m, n) for n, part in enumerate(sheet.part_rolls) if n not in taken)
    for length_m, number in free:
        length = whole_units(length_m)
        fits = [roll for roll in bought if roll.used <= length]
        best = max(fits, key=lambda roll: (sheet.price(_length_m(roll, sheet)), roll.used), default=None)
        if best is None:
            continue
        last = len(bought) == 1 and not sheet.paid_whole
        saved = sheet.price(_length_m(best, sheet)) * (best.used / best.length if last else 1.0)
        if sheet.part_rolls[number].price < saved:
            bought.remove(best)
            site.append(replace(best, length=length, on_site=number))
    return site, bought


def head_joint_length(stock: Stock, numbers: Sequence[int] | None = None) -> float:
    """Length of the head joints of some stretches, or of all. [m]"""
    wanted = range(len(stock.stretches)) if numbers is None else numbers
    return sum(sum(joint_length(stock, number, stock.joints[number])) for number in wanted)
