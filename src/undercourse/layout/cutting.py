"""Cutting from equal rolls as well as can be proven: columns for rolls are generated, then chosen whole.

The last roll counts only as far as it is used, so that its segments are variables of their own:
least length of those, where every item is cut and no more than the given number of other rolls is used up.

References
----------
"A linear programming approach to the cutting stock problem", Operations Research 9 (1961) and part II, 11
(1963): columns by knapsack, two stages (from memory). "A Note on Bounding a Class of Linear Programming
Problems, Including Cutting Stock Problems", Operations Research 38 (1990): bound before the end (from
memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

import numpy as np
import numpy.typing as npt
from scipy.optimize import Bounds, LinearConstraint, linprog, milp
from scipy.sparse import csr_array

from undercourse.layout.rolls import Cut, Item, Roll, Segment

Floats = npt.NDArray[np.float64]

MOST_TYPES = 150
MOST_SEGMENTS = 400
MOST_ROUNDS = 80
MOST_GOOD = 1500
"""Columns beside those of the relaxation that the search over whole columns may use."""

MOST_STEPS = 40_000
"""Steps of one search for a column; without a proof after these, there is no bound."""

SIZE_OF_WORK = 20_000_000
"""Nodes of the search over whole columns, times rows and columns, are kept below this."""

EPS = 1e-7


@dataclass(frozen=True)
class CutPlan:
    """Rolls found, None where none were found within the work, and length proven to be needed. [0.1 mm]"""

    rolls: list[Roll] | None
    least: int


@dataclass(frozen=True)
class SegmentKind:
    """A segment that can be cut: items of which types side by side, and its length."""

    types: tuple[int, ...]
    length: int


class Types:
    """Items that are alike, once each, with how many there are; and all segments that they can make."""

    def __init__(self, items: Sequence[Item], roll_width: int) -> None:
        groups: dict[tuple[int, int], list[int]] = {}
        for item in items:
            groups.setdefault((item.length, item.width), []).append(item.key)
        self.sizes = sorted(groups, reverse=True)
        self.keys = [groups[size] for size in self.sizes]
        self.demand = np.array([len(keys) for keys in self.keys], dtype=float)
        self.kinds = self._segments(roll_width)

    def _segments(self, roll_width: int) -> list[SegmentKind]:
        """Every set of items that lie side by side, longest first in each; not more than are in demand."""
        narrowest = min(width for _, width in self.sizes)
        found = [SegmentKind((number,), length) for number, (length, _) in enumerate(self.sizes)]
        beside = [number for number, (_, width) in enumerate(self.sizes) if roll_width - width >= narrowest]
        most = roll_width // narrowest
        open_sets: list[tuple[tuple[int, ...], int]] = [
            ((number,), roll_width - self.sizes[number][1]) for number in beside
        ]
        for _ in range(1, most):
            grown = []
            for types, room in open_sets:
                for number in beside:
                    width = self.sizes[number][1]
                    if number < types[-1] or width > room or types.count(number) >= self.demand[number]:
                        continue
                    grown.append(((*types, number), room - width))
                if len(found) + len(grown) > MOST_SEGMENTS:
                    return []
            found += [SegmentKind(types, self.sizes[types[0]][0]) for types, _ in grown]
            open_sets = grown
        return found

    def column(self, kinds: Sequence[int]) -> Floats:
        """How many of each type a list of segments holds."""
        held = np.zeros(len(self.sizes))
        for kind in kinds:
            for number in self.kinds[kind].types:
                held[number] += 1
        return held


def cut_exactly(
    items: Sequence[Item], roll_width: int, capacity: int, known: Sequence[Roll], least: int, nodes: int
) -> CutPlan:
    """Cut items from rolls of one length, so that whole rolls but the last and what is used of it are least.

    Parameters
    ----------
    items : sequence of Item
        None wider than ``roll_width`` or longer than ``capacity``. [0.1 mm]
    known : sequence of Roll
        A plan to beat; its rolls are the first columns.
    least : int
        Length proven to be needed so far, as `used_length_bound` gives it. [0.1 mm]
    nodes : int
        Nodes of the last search over whole columns.
    """
    types = Types(items, roll_width)
    if len(types.sizes) > MOST_TYPES or not types.kinds:
        return CutPlan(None, least)
    count = len(known)
    for rolls in range(max(1, -(-least // capacity)), count + 1):
        problem = _Problem(types, capacity, rolls - 1, known)
        bound = problem.relax()
        if bound > capacity + 1e-3:
            least = max(least, rolls * capacity)  # not even in parts do they fit: one more roll is needed
            continue
        least = max(least, (rolls - 1) * capacity + math.ceil(bound - 1e-3))
        chosen = problem.choose(nodes)
        if chosen is not None:
            return CutPlan(_rolls(types, chosen, capacity), least)
    return CutPlan(None, least)


class _Problem:
    """Least length of the last roll's segments when ``full`` other rolls may be used."""

    def __init__(self, types: Types, capacity: int, full: int, known: Sequence[Roll]) -> None:
        self.types, self.capacity, self.full = types, capacity, full
        place = {kind.types: number for number, kind in enumerate(types.kinds)}
        owner = {key: number for number, keys in enumerate(types.keys) for key in keys}
        self.columns: list[tuple[int, ...]] = []
        for roll in known:
            sets = [tuple(sorted(owner[cut.key] for cut in segment.cuts)) for segment in roll.segments]
            if all(one in place for one in sets):
                self.columns.append(tuple(sorted(place[one] for one in sets)))
        kinds = types.kinds
        self.lengths = np.array([kind.length for kind in kinds], dtype=float)
        self.held = np.array([types.column([number]) for number in range(len(kinds))]).T
        self.most = [min(int(types.demand[n] // kind.types.count(n)) for n in kind.types) for kind in kinds]

    def _matrix(self) -> Floats:
        rolls = np.array([self.types.column(column) for column in self.columns]).reshape(
            len(self.columns), len(self.types.sizes)
        )
        return np.hstack([rolls.T, self.held])

    def relax(self) -> float:
        """Generate columns; the least length of the last roll that is proven."""
        proven = 0.0
        if self.full == 0:
            self.columns = []
        for _ in range(MOST_ROUNDS):
            rolls = len(self.columns)
            cost = np.concatenate([np.zeros(rolls), self.lengths])
            matrix = np.vstack(
                [-self._matrix(), np.concatenate([np.ones(rolls), np.zeros(len(self.lengths))])]
            )
            limit = np.append(-self.types.demand, float(self.full))
            answer: Any = linprog(cost, A_ub=matrix, b_ub=limit, method="highs")
            if answer.status != 0:
                return proven
            duals = -np.asarray(answer.ineqlin.marginals)
            if self.full == 0:
                return max(proven, float(answer.fun))
            worth = duals[:-1] @ self.held
            value, column, sure = best_roll(worth, self.lengths, self.most, self.capacity)
            gain = value - duals[-1]
            if sure:
                proven = max(proven, float(answer.fun) - self.full * max(0.0, gain))
            if gain <= EPS * self.capacity or not column or column in self.columns:
                floor = float(duals[-1]) - EPS * self.capacity
                known = set(self.columns)
                self.columns += [
                    one
                    for one in good_rolls(worth, self.lengths, self.most, self.capacity, floor)
                    if one not in known
                ]
                break
            self.columns.append(column)
        return proven

    def choose(self, nodes: int) -> tuple[list[tuple[int, ...]], list[int]] | None:
        """Whole columns and segments of least length; the columns chosen, and the last roll's segments."""
        rolls, kinds = len(self.columns), len(self.lengths)
        matrix = np.vstack(
            [
                self._matrix(),
                np.concatenate([np.ones(rolls), np.zeros(kinds)]),
                np.concatenate([np.zeros(rolls), self.lengths / self.capacity]),
            ]
        )
        low = np.concatenate([self.types.demand, [0.0, 0.0]])
        high = np.concatenate([np.full(len(self.types.demand), np.inf), [float(self.full), 1.0]])
        most = np.concatenate([np.full(rolls, float(self.full)), np.array(self.most, dtype=float)])
        answer = milp(
            np.concatenate([np.zeros(rolls), self.lengths]),
            constraints=LinearConstraint(csr_array(matrix), low, high),
            bounds=Bounds(0, most),
            integrality=np.ones(rolls + kinds, dtype=np.int64),
            options={"node_limit": max(1, min(nodes, SIZE_OF_WORK // matrix.size)), "mip_rel_gap": 0.0},
        )
        if answer.x is None:
            return None
        number = np.round(answer.x).astype(int)
        chosen = [self.columns[k] for k in range(rolls) for _ in range(number[k])]
        return chosen, [k for k in range(kinds) for _ in range(number[rolls + k])]


def best_roll(
    worth: Floats, lengths: Floats, most: Sequence[int], capacity: int
) -> tuple[float, tuple[int, ...], bool]:
    """The segments worth most that fit on one roll, by branch and bound; and whether that is proven."""
    order = [int(k) for k in np.argsort(-worth / lengths, kind="stable") if worth[k] > EPS]
    value = [float(worth[k]) for k in order]
    size = [int(lengths[k]) for k in order]
    count = len(order)
    shortest = [0] * (count + 1)
    shortest[count] = capacity + 1
    for place in range(count - 1, -1, -1):
        shortest[place] = min(size[place], shortest[place + 1])
    best, chosen = 0.0, tuple[int, ...]()
    steps = 0
    stack: list[tuple[int, int, float, tuple[int, ...]]] = [(0, capacity, 0.0, ())]
    while stack:
        place, room, got, taken = stack.pop()
        steps += 1
        if steps > MOST_STEPS:
            return best, tuple(sorted(chosen)), False
        if got > best + EPS:
            best, chosen = got, taken
        while place < count and size[place] > room:
            place += 1
        if place == count or room < shortest[place]:
            continue
        if got + value[place] / size[place] * room <= best + EPS:
            continue
        limit = min(most[order[place]], room // size[place])
        for number in range(limit + 1):  # most of it first: it is on top of the stack
            stack.append(
                (
                    place + 1,
                    room - number * size[place],
                    got + number * value[place],
                    taken + (order[place],) * number,
                )
            )
    return best, tuple(sorted(chosen)), True


def good_rolls(
    worth: Floats, lengths: Floats, most: Sequence[int], capacity: int, floor: float
) -> list[tuple[int, ...]]:
    """Rolls whose segments are worth at least ``floor``, up to `MOST_GOOD`."""
    order = [int(k) for k in np.argsort(-worth / lengths, kind="stable") if worth[k] > EPS]
    value = [float(worth[k]) for k in order]
    size = [int(lengths[k]) for k in order]
    found: list[tuple[int, ...]] = []
    steps = 0
    stack: list[tuple[int, int, float, tuple[int, ...]]] = [(0, capacity, 0.0, ())]
    while stack and len(found) < MOST_GOOD and steps < MOST_STEPS:
        place, room, got, taken = stack.pop()
        steps += 1
        if got >= floor:
            found.append(tuple(sorted(taken)))
            continue
        while place < len(order) and size[place] > room:
            place += 1
        if place == len(order) or got + value[place] / size[place] * room < floor:
            continue
        limit = min(most[order[place]], room // size[place])
        for number in range(limit + 1):
            left = room - number * size[place]
            stack.append((place + 1, left, got + number * value[place], taken + (order[place],) * number))
    return found


def deal_out(types: Types, chosen: Sequence[Sequence[int]]) -> list[list[Segment]]:
    """Deal the items out to the chosen columns; what is covered twice is left out."""
    waiting = [list(keys) for keys in types.keys]
    found = []
    for kinds in chosen:
        segments = []
        for kind in kinds:
            cuts, across, length = [], 0, 0
            for number in types.kinds[kind].types:
                if waiting[number]:
                    cuts.append(Cut(waiting[number].pop(0), 0, across))
                    across += types.sizes[number][1]
                    length = max(length, types.sizes[number][0])
            if cuts:
                segments.append(Segment(length, tuple(cuts)))
        found.append(sorted(segments, key=lambda segment: -segment.length))
    return found


def _rolls(types: Types, chosen: tuple[list[tuple[int, ...]], list[int]], capacity: int) -> list[Roll]:
    dealt = deal_out(types, [*chosen[0], tuple(chosen[1])])
    rolls = [Roll(capacity, sum(segment.length for segment in one), tuple(one)) for one in dealt if one]
    return sorted(rolls, key=lambda roll: -roll.used)
