"""Cutting from rolls of several lengths and prices, and from part rolls on site, at least cost.

As in `cutting`, columns for whole rolls are generated, here for every kind of roll. Where only rolls of one
length are bought, the last is charged only as far as it is used, so that its segments are variables of their
own; else every roll is paid whole. The relaxation bounds the cost of any two-stage cutting of these items;
where rolls are paid whole it rises to the next sum that their prices can make.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array

from undercourse.layout.bounds import used_length_bound
from undercourse.layout.cutting import EPS, MOST_TYPES, SIZE_OF_WORK, Floats, Types, best_roll, deal_out
from undercourse.layout.rolls import UNIT_M, Item, Roll
from undercourse.layout.sheets import Sheet

MOST_ROUNDS = 40
"""Rounds of new columns; the bound holds after each of them."""


@dataclass(frozen=True)
class RollKind:
    """Rolls that are alike: length, price of one, numbers of those on site; none for bought rolls."""

    length: int
    price: float
    on_site: tuple[int, ...] = ()


@dataclass(frozen=True)
class CostPlan:
    """Rolls found, None where none were found within the work, and the cost proven to be needed."""

    rolls: list[Roll] | None
    least: float


def kinds_of(sheet: Sheet) -> list[RollKind]:
    """All rolls that pieces may be cut from, those on site first."""
    groups: dict[tuple[int, float], list[int]] = {}
    for number, part in enumerate(sheet.part_rolls):
        groups.setdefault((whole_units(part.length_m), part.price), []).append(number)
    kinds = [RollKind(length, price, tuple(numbers)) for (length, price), numbers in groups.items()]
    return kinds + [RollKind(whole_units(length), sheet.price(length)) for length in sheet.roll_lengths_m]


def whole_units(length_m: float) -> int:
    """Length of a roll in whole units, rounded down but for rounding."""
    return math.floor(length_m / UNIT_M + 1e-3)


def pays_whole(kinds: Sequence[RollKind]) -> bool:
    """Whether every roll is paid whole: where rolls of several lengths can be bought."""
    return sum(not kind.on_site for kind in kinds) > 1


def least_cost(length: int, kinds: Sequence[RollKind], proven: float = 0.0) -> float:
    """Least price of rolls that together are so long and cost no less than is proven."""
    if pays_whole(kinds):
        return _least_whole(length, kinds, proven)
    total, left = 0.0, length
    for kind in sorted(kinds, key=lambda kind: kind.price / kind.length):
        take = min(left, kind.length * len(kind.on_site)) if kind.on_site else left
        total, left = total + take * kind.price / kind.length, left - take
    return max(total, proven)


def _least_whole(length: int, kinds: Sequence[RollKind], proven: float) -> float:
    prices = np.array([kind.price for kind in kinds])
    lengths = np.array([kind.length for kind in kinds], dtype=float)
    most = np.array([float(len(kind.on_site)) if kind.on_site else np.inf for kind in kinds])
    enough = [LinearConstraint(lengths, length - 0.5), LinearConstraint(prices, proven * (1 - EPS) - EPS)]
    answer = milp(
        prices, constraints=enough, bounds=Bounds(0, most), integrality=np.ones(len(kinds), dtype=np.int64)
    )
    return max(proven, float(answer.mip_dual_bound)) if answer.status == 0 else proven


def cut_from_kinds(
    items: Sequence[Item],
    roll_width: int,
    kinds: Sequence[RollKind],
    known: Sequence[Roll],
    nodes: int,
    paid: float = math.inf,
) -> CostPlan:
    """Cut items from rolls of several kinds at least cost.

    Parameters
    ----------
    items : sequence of Item
        None wider than ``roll_width``. [0.1 mm]
    kinds : sequence of RollKind
        One at least is bought, and long enough for every item.
    known : sequence of Roll
        A plan to beat; its rolls are the first columns.
    nodes : int
        Nodes of the search over whole columns.
    paid : float, optional
        Cost of the known plan: where that is proven to be the least, nothing more is searched.
    """
    types = Types(items, roll_width)
    length = used_length_bound(items, roll_width)
    if len(types.sizes) > MOST_TYPES or not types.kinds:
        return CostPlan(None, least_cost(length, kinds))
    problem = _Problem(types, kinds, known)
    least = problem.relax(length, paid)
    return CostPlan(None if least >= paid - EPS else problem.choose(nodes), least)


class _Problem:
    """Columns of every kind, and the segments of the one bought roll that is not paid whole."""

    def __init__(self, types: Types, kinds: Sequence[RollKind], known: Sequence[Roll]) -> None:
        self.types, self.kinds = types, kinds
        charged = [number for number, kind in enumerate(kinds) if not kind.on_site]
        self.bought = [] if pays_whole(kinds) else charged  # of which one is charged as far as it is used
        self.lengths = np.array([kind.length for kind in types.kinds], dtype=float)
        self.held = np.array([types.column([number]) for number in range(len(types.kinds))]).T
        self.most = [
            min(int(types.demand[n] // kind.types.count(n)) for n in kind.types) for kind in types.kinds
        ]
        self.columns: list[tuple[int, tuple[int, ...]]] = self._known(known)

    def _known(self, known: Sequence[Roll]) -> list[tuple[int, tuple[int, ...]]]:
        """Columns of a known plan, and one of every item by itself."""
        place = {kind.types: number for number, kind in enumerate(self.types.kinds)}
        owner = {key: number for number, keys in enumerate(self.types.keys) for key in keys}
        wanted: list[tuple[tuple[int, ...], int]] = [
            ((place[number,],), size) for number, (size, _) in enumerate(self.types.sizes)
        ]
        for roll in known:
            sets = [tuple(sorted(owner[cut.key] for cut in segment.cuts)) for segment in roll.segments]
            if all(one in place for one in sets):
                wanted.append((tuple(sorted(place[one] for one in sets)), roll.used))
        found = [
            (number, column)
            for column, used in wanted
            for number, kind in enumerate(self.kinds)
            if kind.length >= used
        ]
        return list(dict.fromkeys(found))

    def _parts(self) -> tuple[Floats, Floats, Floats]:
        """Costs, rows of demand, and rows of limits: part rolls, one roll in parts, its length."""
        rolls, segments, bought = len(self.columns), len(self.lengths), self.bought
        cost = [self.kinds[number].price for number, _ in self.columns]
        held = [self.types.column(column) for _, column in self.columns]
        blocks = [np.array(held).reshape(rolls, len(self.types.sizes)).T, *[self.held for _ in bought]]
        for number in bought:
            cost += list(self.lengths * self.kinds[number].price / self.kinds[number].length)
        width = rolls + segments * len(bought) + len(bought)
        demand = np.hstack([*blocks, np.zeros((len(self.types.sizes), len(bought)))])
        limits = []
        for number, kind in enumerate(self.kinds):
            if kind.on_site:
                row = np.zeros(width)
                row[:rolls] = [owner == number for owner, _ in self.columns]
                limits.append(row)
        for place, number in enumerate(bought):
            row = np.zeros(width)
            start = rolls + place * segments
            row[start : start + segments] = self.lengths / self.kinds[number].length
            row[width - len(bought) + place] = -1.0
            limits.append(row)
        row = np.zeros(width)
        row[width - len(bought) :] = 1.0
        limits.append(row)
        return np.array([*cost, *[0.0] * len(bought)]), demand, np.array(limits)

    def _limit(self) -> Floats:
        counts = [float(len(kind.on_site)) for kind in self.kinds if kind.on_site]
        return np.array([*counts, *[0.0] * len(self.bought), 1.0])

    def relax(self, length: int, paid: float) -> float:
        """Generate columns; the cost that is proven for items that take so much length at least."""
        least, count = least_cost(length, self.kinds), len(self.types.demand)
        for _ in range(MOST_ROUNDS):
            cost, demand, limits = self._parts()
            limit = np.concatenate([-self.types.demand, self._limit()])
            answer: Any = linprog(cost, A_ub=np.vstack([-demand, limits]), b_ub=limit, method="highs")
            if answer.status != 0:
                break
            duals = -np.asarray(answer.ineqlin.marginals)
            fresh, short = self._price(duals[:count] @ self.held, duals[count:])
            if short is not None:  # values of items made smaller until no roll is worth more than it costs
                value = float(duals[:count] @ self.types.demand) * (1.0 + short)
                proven = value - float(duals[count:] @ self._limit())
                least = max(least, least_cost(length, self.kinds, proven) if proven > least else 0.0)
            if not fresh or least >= paid - EPS:
                break
            self.columns += fresh
        return least

    def _price(self, worth: Floats, scarce: Floats) -> tuple[list[tuple[int, tuple[int, ...]]], float | None]:
        """Columns that gain at these values, and the share by which these are too high, None if unproven."""
        top = max(1.0, *(kind.price for kind in self.kinds))
        site, short, sure = iter(scarce), 0.0, True
        fresh: list[tuple[int, tuple[int, ...]]] = []
        for number, kind in enumerate(self.kinds):
            paid = kind.price + (float(next(site)) if kind.on_site else 0.0)
            value, column, known = best_roll(worth, self.lengths, self.most, kind.length)
            sure = sure and known
            if value - paid > EPS * top and column and (number, column) not in self.columns:
                fresh.append((number, column))
            short = min(short, paid / value - 1.0) if value > paid else short
        return fresh, short if sure else None

    def choose(self, nodes: int) -> list[Roll] | None:
        """Whole columns and segments of least cost, dealt out as rolls."""
        cost, demand, limits = self._parts()
        rolls, segments, bought = len(self.columns), len(self.lengths), self.bought
        matrix = np.vstack([demand, limits])
        low = np.concatenate([self.types.demand, np.full(len(limits), -np.inf)])
        high = np.concatenate([np.full(len(self.types.demand), np.inf), self._limit()])
        most = np.concatenate(
            [
                np.full(rolls, np.inf),
                *[np.array(self.most, dtype=float) for _ in bought],
                np.ones(len(bought)),
            ]
        )
        answer = milp(
            cost,
            constraints=LinearConstraint(csr_array(matrix), low, high),
            bounds=Bounds(0, most),
            integrality=np.ones(len(cost), dtype=np.int64),
            options={"node_limit": max(1, min(nodes, SIZE_OF_WORK // matrix.size)), "mip_rel_gap": 0.0},
        )
        if answer.x is None:
            return None
        number = np.round(answer.x).astype(int)
        picked = [self.columns[k] for k in range(rolls) for _ in range(number[k])]
        for place, owner in enumerate(bought):
            start = rolls + place * segments
            last = tuple(k for k in range(segments) for _ in range(number[start + k]))
            picked += [(owner, last)] if last else []
        return self._rolls(picked)

    def _rolls(self, picked: Sequence[tuple[int, tuple[int, ...]]]) -> list[Roll]:
        site = {number: list(kind.on_site) for number, kind in enumerate(self.kinds)}
        found = []
        for (number, _), segments in zip(
            picked, deal_out(self.types, [one for _, one in picked]), strict=True
        ):
            if not segments:
                continue
            on_site = site[number].pop(0) if site[number] else -1
            used = sum(segment.length for segment in segments)
            found.append(Roll(self.kinds[number].length, used, tuple(segments), on_site))
        return found
