"""Covering one stretch of a strip with pieces, so that little sheet is wasted.

A piece runs along the strip, or, where head joints are allowed and the sheet has no direction, across it:
a narrow rest of a room is then filled by pieces as wide as the roll and as long as the rest is wide.
"""

from __future__ import annotations

import itertools
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from undercourse.layout.profiles import FAR_M
from undercourse.layout.sheets import Sheet
from undercourse.layout.strips import NEAR_M, Stretch

MOST_CORNERS = 14
"""Corners of one stretch at which head joints are tried; the largest steps first."""

USED_BESIDE = 0.35
"""Share of the width beside a ripped piece that is taken to be used elsewhere; only steers the search."""

OTHER_SHARES = (1.0, 0.0, 0.7)
"""Other such shares, for covers that are compared by what is cut of them."""

CROWDED = 0.01
"""A joint that does not keep the stagger counts as this share of a fault while pieces are chosen."""


@dataclass(frozen=True, slots=True)
class Rules:
    """What covering needs to know of a sheet; costs in square metres of sheet."""

    width: float
    gap: float
    trim: float
    least_width: float
    least_length: float
    stagger: float
    joint_cost: float  # one more piece
    seam_cost: float  # a metre of seam
    fault: float  # a piece under the smallest, or joints too close
    joints: bool
    turned: bool
    beside: float  # share of the width beside a ripped piece that is taken to be used elsewhere
    careful: bool  # pieces across are laid from both ends even where one way keeps all rules


def make_rules(sheet: Sheet, careful: bool = False, beside: float = USED_BESIDE) -> Rules:
    """Read the rules off a sheet."""
    price = sheet.least_price_m2
    return Rules(
        sheet.width_m,
        sheet.seam_gap_m,
        sheet.trim_m,
        max(sheet.smallest_width_m, SCRAP_M),
        max(sheet.shortest_cut_m, SCRAP_M),
        sheet.stagger_m,
        sheet.cut_cost / price,
        sheet.seam_cost_m / price,
        sheet.width_m * sheet.longest_roll_m,
        sheet.head_joints_allowed,
        sheet.head_joints_allowed and not sheet.one_direction,
        beside,
        careful,
    )


SCRAP_M = 0.02
"""No joint leaves a piece under this, whatever the sheet allows. [m]"""

Cell = tuple[float, float, bool]
"""Where a piece starts and stops along the strip, and whether it runs across it."""

Sizes = tuple[float, float]
"""Width of floor that a piece covers, and width of sheet that it takes with trim."""

Spot = tuple[float, float]
"""Where the piece left of a head joint stops, and the piece right of it starts."""


Bar = tuple[float, float]
"""From and to x between which no head joint is to lie."""


class Cover(NamedTuple):
    """Pieces of one stretch, from left to right, and what they cost in square metres of sheet."""

    cost: float
    cells: Sequence[Cell]
    faults: int


def cover(stretch: Stretch, rules: Rules, near: Sequence[Bar] = ()) -> Cover:
    """Cover a stretch at least cost, with no head joint within the spans ``near``, if that can be."""
    left, right = stretch.left, stretch.right
    if not rules.joints or stretch.flat:
        deep, high = stretch.profile.span(left, right)
        sizes = (high - deep, stretch.trimmed(deep, high, rules.trim))
        if not rules.joints:
            cost, faults = _lane(stretch, rules, left, right, sizes)
            return Cover(cost, [(left, right, False)], faults)
        found = _cheapest(stretch, rules, left, right, sizes, near, (right - left) * sizes[0], float("inf"))
        assert found is not None
        return found
    spots = [(left, left), *_joints(stretch, rules, near), (right, right)]
    return _best_of_spots(stretch, rules, spots, near)


def _best_of_spots(stretch: Stretch, rules: Rules, spots: list[Spot], near: Sequence[Bar]) -> Cover:
    """Choose among head joints, from the left: what is best up to one joint does not change what follows."""
    profile, trim, seam_cost = stretch.profile, rules.trim, rules.seam_cost
    # Lowest and highest y, and area, between neighboring spots.
    spans = [profile.measure(a[1], b[0]) for a, b in itertools.pairwise(spots)]
    best: list[tuple[float, int, Cover | None]] = [(0.0, 0, None)]
    for stop in range(1, len(spots)):
        least = float("inf")
        found: tuple[float, int, Cover | None] = (least, 0, None)
        b = spots[stop][0]
        deep, high, area = FAR_M, -FAR_M, 0.0
        for start in range(stop - 1, -1, -1):
            a, spent = spots[start][1], best[start][0]
            below, above, between = spans[start]
            area += between
            if start:
                before = spans[start - 1]
                spent += seam_cost * min(above - below, before[1] - before[0])
            deep = below if below < deep else deep
            high = above if above > high else high
            if spent + area >= least or b - a < NEAR_M:
                continue
            tall = high - deep
            sizes = (tall, stretch.trimmed(deep, high, trim) if trim else tall)
            way = _cheapest(stretch, rules, a, b, sizes, near, area, least - spent)
            if way is not None:
                least = spent + way.cost
                found = (least, start, way)
        best.append(found)
    ways: list[Cover] = []
    at = len(spots) - 1
    while at:
        _, start, chosen = best[at]
        if chosen is None:
            break
        ways.append(chosen)
        at = start
    cells = [cell for way in reversed(ways) for cell in way.cells]
    return Cover(best[-1][0], cells, sum(way.faults for way in ways))


def _joints(stretch: Stretch, rules: Rules, near: Sequence[Bar]) -> list[Spot]:
    """Head joints that corners ask for, and those where a taper reaches the smallest piece."""
    gap, least, profile = rules.gap, rules.least_length, stretch.profile
    xs, top, low = profile.xs, profile.top, profile.low
    wanted: list[tuple[float, float, float]] = []  # x, heights left and right of it
    for number in range(len(top)):
        before = top[number][0] - low[number][0]
        after = top[number][1] - low[number][1]
        if number:
            wanted.append((xs[number], top[number - 1][1] - low[number - 1][1], before))
        if (before - least) * (after - least) < 0:
            x = xs[number] + (xs[number + 1] - xs[number]) * (least - before) / (after - before)
            wanted.append((x, before, after))
    if len(wanted) > MOST_CORNERS:
        order = sorted(range(len(wanted)), key=lambda number: -abs(wanted[number][1] - wanted[number][2]))
        wanted = [wanted[number] for number in sorted(order[:MOST_CORNERS])]
    found: list[Spot] = []
    first, last = stretch.left + least - NEAR_M, stretch.right - least + NEAR_M
    for x, before, after in wanted:
        # The higher side ends at the corner itself, or its wall would widen the lower piece.
        joint = (x, x + gap) if before > after else (x - gap, x)
        if joint[0] < first or joint[1] > last or (found and joint[0] < found[-1][1] + NEAR_M):
            continue
        if not (near and is_barred((joint[0] + joint[1]) / 2, near)):
            found.append(joint)
    return found


def _share(size: float, rules: Rules) -> float:
    """Width of roll that a ripped piece is charged with."""
    beside = rules.width - size
    if beside < rules.least_width or beside <= 0:
        return rules.width
    return size + beside * (1 - rules.beside)


def _lane(stretch: Stretch, rules: Rules, a: float, b: float, sizes: Sizes) -> tuple[float, int]:
    """Cost and faults of one piece along the strip."""
    length = b - a + (rules.trim * stretch.ends(a, b) if rules.trim else 0.0)
    cost = length * _share(sizes[1], rules) + rules.joint_cost
    if sizes[0] < rules.least_width - NEAR_M or b - a < rules.least_length - NEAR_M:
        return cost + rules.fault, 1
    return cost, 0


def _cheapest(
    stretch: Stretch,
    rules: Rules,
    a: float,
    b: float,
    sizes: Sizes,
    near: Sequence[Bar],
    area: float,
    most: float,
) -> Cover | None:
    """The cheapest of one piece, equal pieces that lie side by side on the roll, and pieces across.

    None where all cost ``most`` or more; ``area`` of the floor between the ends is the least any can cost.
    """
    best: Cover | None = None
    cost, faults = _lane(stretch, rules, a, b, sizes)
    height = sizes[1]
    if cost < most:
        best, most = Cover(cost, [(a, b, False)], faults), cost
    if height <= rules.width / 2 + NEAR_M and sizes[0] >= rules.least_width - NEAR_M:
        found = _halves(stretch, rules, a, b, height, near)
        if found is not None and found.cost < most:
            best, most = found, found.cost
    if (
        rules.turned
        and rules.least_length - NEAR_M < sizes[0]
        and height < rules.width * 0.98
        and area + rules.joint_cost * (b - a) / rules.width < most
    ):
        best = _across(stretch, rules, a, b, near, most) or best
    return best


def is_barred(joint: float, near: Sequence[Bar]) -> bool:
    """Whether a joint lies within one of the spans."""
    return any(start + NEAR_M < joint < stop - NEAR_M for start, stop in near)


def _halves(
    stretch: Stretch, rules: Rules, a: float, b: float, height: float, near: Sequence[Bar]
) -> Cover | None:
    """Equal pieces end to end, as many as lie side by side on the roll, none under the smallest."""
    gap = rules.gap
    count = int((rules.width + NEAR_M) / height)
    while count > 1 and (b - a - (count - 1) * gap) / count < rules.least_length:
        count -= 1
    if count < 2:
        return None
    length = (b - a - (count - 1) * gap) / count
    cells = [(a + k * (length + gap), a + k * (length + gap) + length, False) for k in range(count)]
    if near and any(is_barred(cell[0] - gap / 2, near) for cell in cells[1:]):
        return None
    if not stretch.flat:
        for start, stop, _ in cells:
            deep, high = stretch.profile.span(start, stop)
            if high - deep < rules.least_width - NEAR_M:
                return None
    cost = (length + rules.trim) * rules.width + count * rules.joint_cost
    return Cover(cost + (count - 1) * rules.seam_cost * height, cells, 0)


def _across(
    stretch: Stretch, rules: Rules, a: float, b: float, near: Sequence[Bar], most: float
) -> Cover | None:
    """Pieces that run across the strip, laid from either end; None where all cost ``most`` or more."""
    best: Cover | None = None
    for first in (rules.width, rules.width / 2):
        for mirrored in (False, True):
            way, crowded = _chain(stretch, rules, a, b, first, mirrored, near, most)
            if way is not None:
                best, most = way, way.cost
            if not crowded and (stretch.flat or not rules.careful):
                return best
        if not near:
            break
    return best


def _widths(rules: Rules, length: float, first: float) -> list[float]:
    """Widths of pieces side by side that fill a length, the first as given, none under the smallest."""
    width, gap, least = rules.width, rules.gap, rules.least_width
    if length <= first + NEAR_M:
        return [length]
    found = [first]
    rest = length - first - gap
    while rest > width + NEAR_M:
        found.append(width)
        rest -= width + gap
    if rest <= -gap + NEAR_M:
        return found  # the last one ends at the wall
    give = min(least - rest, found[-1] - least)
    if give > 0:
        found[-1] -= give
        rest += give
    return [*found, rest]


def _chain(
    stretch: Stretch,
    rules: Rules,
    a: float,
    b: float,
    first: float,
    mirrored: bool,
    near: Sequence[Bar],
    most: float,
) -> tuple[Cover | None, bool]:
    """Pieces across the strip from one end; the last may run along it if that takes less sheet.

    None once they cost ``most``; also tells whether a joint does not keep the stagger.
    """
    trim, gap, roll = rules.trim, rules.gap, rules.width
    if trim:
        at_wall = b > stretch.right - NEAR_M if mirrored else a < stretch.left + NEAR_M
        first = min(first, roll - trim) if at_wall else first
    cost, faults, crowded = 0.0, 0, False
    cells: list[Cell] = []
    x = b if mirrored else a
    widths = _widths(rules, b - a, first)
    for number, width in enumerate(widths):
        start, stop = (x - width, x) if mirrored else (x, x + width)
        if number == len(widths) - 1:
            start, stop = (a, stop) if mirrored else (start, b)
        deep, high = stretch.profile.span(start, stop)
        tall, wide = high - deep, stop - start
        small = wide < rules.least_width - NEAR_M or tall < rules.least_length - NEAR_M
        thin = tall < rules.least_width - NEAR_M or wide < rules.least_length - NEAR_M
        if trim:
            tall = stretch.trimmed(deep, high, trim)
            width = min(wide + trim * stretch.ends(start, stop), roll)
        charge, turned = tall * _share(width, rules), True
        if width < roll - NEAR_M and tall <= roll:
            along = width * _share(tall, rules)
            if (thin, along) < (small, charge):
                charge, turned, small = along, False, thin
        cost += charge + rules.joint_cost
        if small:
            cost += rules.fault
            faults += 1
        if number:
            cost += rules.seam_cost * tall
            if near and is_barred(stop + gap / 2 if mirrored else start - gap / 2, near):
                cost += CROWDED * rules.fault
                crowded = True
        if cost >= most:
            return None, crowded
        cells.append((start, stop, turned))
        x = start - gap if mirrored else stop + gap
    if mirrored:
        cells.reverse()
    return Cover(cost, cells, faults), crowded
