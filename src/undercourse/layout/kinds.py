"""Cutting from rolls of several lengths and prices, and from part rolls on site, at least cost.

As in `cutting`, columns for whole rolls are generated, here for every kind of roll; every roll is paid whole.
The relaxation bounds the cost of any two-stage cutting of these items, and rises to the next sum that prices
of whole rolls can make.
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

MOST_ROUNDS = 60


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


def least_cost(length: int, kinds: Sequence[RollKind], proven: float = 0.0) -> float:
    """Least price of whole rolls that together are so long and cost no less than is proven."""
    prices = np.array([kind.price for kind in kinds])
    lengths = np.array([kind.length for kind in kinds], dtype=float)
    most = np.array([float(len(kind.on_site)) if kind.on_site else np.inf for kind in kinds])
    enough = [LinearConstraint(lengths, length - 0.5), LinearConstraint(prices, proven * (1 - EPS) - EPS)]
    answer = milp(
        prices, constraints=enough, bounds=Bounds(0, most), integrality=np.ones(len(kinds), dtype=np.int64)
    )
    return max(proven, float(answer.mip_dual_bound)) if answer.status == 0 else proven


def cut_from_kinds(
    items: Sequence[Item], roll_width: int, kinds: Sequence[RollKind], known: Sequence[Roll], nodes: int
) -> CostPlan:
    """Cut items from rolls of several kinds, each paid whole, at least cost.

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
    """
    types = Types(items, roll_width)
    length = used_length_bound(items, roll_width)
    if len(types.sizes) > MOST_TYPES or not types.kinds:
        return CostPlan(None, least_cost(length, kinds))
    problem = _Problem(types, kinds, known)
    least = least_cost(length, kinds, problem.relax())
    return CostPlan(problem.choose(nodes), least)


class _Problem:
    """Columns of every kind of roll, and which of them to cut."""

    def __init__(self, types: Types, kinds: Sequence[RollKind], known: Sequence[Roll]) -> None:
        self.types, self.kinds = types, kinds
        self.lengths = np.array([kind.length for kind in types.kinds], dtype=float)
        self.held = np.array([types.column([number]) for number in range(len(types.kinds))]).T
        self.most = [
            min(int(types.demand[n] // kind.types.count(n)) for n in kind.types) for kind in types.kinds
        ]
        self.counts = np.array([float(len(kind.on_site)) for kind in kinds if kind.on_site])
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
        """Costs of the columns, rows of what they hold, and rows that count the part rolls they use."""
        cost = np.array([self.kinds[number].price for number, _ in self.columns])
        demand = np.array([self.types.column(column) for _, column in self.columns]).T
        site = [number for number, kind in enumerate(self.kinds) if kind.on_site]
        used = [[float(owner == number) for owner, _ in self.columns] for number in site]
        return cost, demand, np.array(used).reshape(len(site), len(self.columns))

    def relax(self) -> float:
        """Generate columns; the cost that is proven."""
        proven, top = 0.0, max(1.0, *(kind.price for kind in self.kinds))
        count = len(self.types.demand)
        for _ in range(MOST_ROUNDS):
            cost, demand, site = self._parts()
            limit = np.concatenate([-self.types.demand, self.counts])
            answer: Any = linprog(cost, A_ub=np.vstack([-demand, site]), b_ub=limit, method="highs")
            if answer.status != 0:
                return proven
            duals = -np.asarray(answer.ineqlin.marginals)
            worth, scarce = duals[:count] @ self.held, iter(duals[count:])
            fresh, short, sure = [], 0.0, True
            for number, kind in enumerate(self.kinds):
                paid = kind.price + (float(next(scarce)) if kind.on_site else 0.0)
                value, column, known = best_roll(worth, self.lengths, self.most, kind.length)
                sure = sure and known
                gains = value - paid > EPS * top and column and (number, column) not in self.columns
                fresh += [(number, column)] if gains else []
                short = min(short, paid / value - 1.0) if value > paid else short
            if sure:  # the values of items made smaller until no roll is worth more than it costs
                value = float(duals[:count] @ self.types.demand) * (1.0 + short)
                proven = max(proven, value - float(duals[count:] @ self.counts))
            if not fresh:
                break
            self.columns += fresh
        return proven

    def choose(self, nodes: int) -> list[Roll] | None:
        """Whole columns of least cost, dealt out as rolls."""
        cost, demand, site = self._parts()
        matrix = np.vstack([demand, site])
        low = np.concatenate([self.types.demand, np.zeros(len(site))])
        high = np.concatenate([np.full(len(demand), np.inf), self.counts])
        answer = milp(
            cost,
            constraints=LinearConstraint(csr_array(matrix), low, high),
            bounds=Bounds(0, np.inf),
            integrality=np.ones(len(cost), dtype=np.int64),
            options={"node_limit": max(1, min(nodes, SIZE_OF_WORK // matrix.size)), "mip_rel_gap": 0.0},
        )
        if answer.x is None:
            return None
        number = np.round(answer.x).astype(int)
        return self._rolls([one for k, one in enumerate(self.columns) for _ in range(number[k])])

    def _rolls(self, picked: Sequence[tuple[int, tuple[int, ...]]]) -> list[Roll]:
        site = {number: list(kind.on_site) for number, kind in enumerate(self.kinds)}
        found = []
        dealt = deal_out(self.types, [column for _, column in picked])
        for (number, _), segments in zip(picked, dealt, strict=True):
            if segments:
                on_site = site[number].pop(0) if site[number] else -1
                used = sum(segment.length for segment in segments)
                found.append(Roll(self.kinds[number].length, used, tuple(segments), on_site))
        return found
