"""Lower bounds: fewer rolls than these no plan can use."""

from __future__ import annotations

import math
from collections.abc import Sequence

import numpy as np
import numpy.typing as npt

from undercourse.layout.rolls import Item

MOST_SIZES = 16
"""Least sizes tried in one bound."""

MOST_FOR_SUMS = 400
"""With more items than this a roll is taken to be filled to its end."""

Floats = npt.NDArray[np.float64]


def _threshold(sizes: Floats, whole: int, least: int) -> Floats:
    """Sizes above whole - least count as a whole, sizes below least as nothing."""
    return np.where(sizes > whole - least, 1.0, np.where(sizes >= least, sizes / whole, 0.0))


def _steps(sizes: Floats, whole: int, number: int) -> Floats:
    """Sizes count in whole parts of ``number`` plus one; exact multiples stay what they are."""
    product = (number + 1) * sizes
    return np.where(product % whole == 0, sizes / whole, (product // whole) / number)


def _scales(sizes: Floats, whole: int, most: int = 16) -> Floats:
    """Values of the dual feasible functions worth trying, one row a function, for whole-number sizes."""
    least = np.unique(np.where(2 * sizes <= whole, sizes, whole - sizes + 1))
    least = least[(least > 0) & (2 * least <= whole)]
    least = np.append(least[:: max(1, math.ceil(len(least) / most))], whole // 2)
    rows = [sizes / whole]
    rows += [_threshold(sizes, whole, int(size)) for size in least if size > 0]
    rows += [_steps(sizes, whole, number) for number in range(1, 8)]
    return np.array(rows)


def _count(items: Sequence[Item]) -> tuple[Floats, Floats, Floats]:
    """Different widths, different lengths, and how many items there are of each pair."""
    widths, row = np.unique([item.width for item in items], return_inverse=True)
    lengths, column = np.unique([item.length for item in items], return_inverse=True)
    counts = np.zeros((len(widths), len(lengths)))
    np.add.at(counts, (row, column), 1.0)
    return widths, lengths, counts


def roll_count_bound(items: Sequence[Item], roll_width: int, roll_length: int) -> int:
    """Rolls that any way of cutting these items needs at least.

    Items keep their direction. The cuts need not be guillotine cuts, so that the bound holds for ours.

    Parameters
    ----------
    items : sequence of Item
        Width at most ``roll_width``, length at most ``roll_length``. [0.1 mm]

    Notes
    -----
    For dual feasible functions f and g the sum of f(width) g(length) over the items of one roll is at most
    1, so that the total, rounded up, bounds the number of rolls.

    References
    ----------
    "A general framework for bounds for higher-dimensional orthogonal packing
    problems", Mathematical Methods of Operations Research 60 (2004), sections 3 and 4 (from memory).
    """
    if not items:
        return 0
    widths, lengths, counts = _count(items)
    totals = _scales(widths, roll_width) @ counts @ _scales(lengths, roll_length).T
    return max(1, math.ceil(float(totals.max()) - 1e-9))


def used_length_bound(items: Sequence[Item], roll_width: int) -> int:
    """Length of roll, all rolls together, that cutting these items in two stages uses at least. [0.1 mm]

    Notes
    -----
    Cross cuts make segments, rips make lanes of one item each, so that a segment is as long as its longest
    item. For every length, the segments at least so long are no fewer than what the widths of the items at
    least so long need; summed over lengths, longest first, that bounds the total. Widths are bounded as in
    bin packing: items over half the width lie apart, and what smaller ones exceed the room beside them needs
    more.

    References
    ----------
    "Lower bounds and reduction procedures for the bin packing problem", Discrete Applied Mathematics 28
    (1990), bound L2 (from memory).
    """
    if not items:
        return 0
    narrowest = min(item.width for item in items)
    # An item that leaves no room for the narrowest is a segment by itself.
    total = sum(item.length for item in items if roll_width - item.width < narrowest)
    ripped = sorted((item.length, item.width) for item in items if roll_width - item.width >= narrowest)
    ripped.reverse()
    small = sorted({width for _, width in ripped if 2 * width <= roll_width})
    least_sizes = [0, *small[:: max(1, math.ceil(len(small) / MOST_SIZES))]]
    # For each least size: items above half the width, their room for others, widths of the others.
    wide, room, rest = ([0] * len(least_sizes) for _ in range(3))
    for place, (length, width) in enumerate(ripped):
        for which, least in enumerate(least_sizes):
            if 2 * width > roll_width:
                wide[which] += 1
                room[which] += roll_width - width if width <= roll_width - least else 0
            elif width >= least:
                rest[which] += width
        need = max(
            wide[which] + max(0, -(-(rest[which] - room[which]) // roll_width))
            for which in range(len(least_sizes))
        )
        shorter = ripped[place + 1][0] if place + 1 < len(ripped) else 0
        total += need * (length - shorter)
    return total


def fullest_bound(items: Sequence[Item], roll_length: int) -> int:
    """Most of a roll that segments as long as these items can take up. [0.1 mm]"""
    if sum(item.length for item in items) <= roll_length or len(items) > MOST_FOR_SUMS:
        return roll_length
    sums, mask = 1, (1 << (roll_length + 1)) - 1
    for item in items:
        sums = (sums | sums << item.length) & mask
    return sums.bit_length() - 1


def bound_length(items: Sequence[Item], roll_width: int, roll_length: int) -> tuple[int, int]:
    """Length that rolls of one length need at least, whole but the last, and the rolls. [0.1 mm, count]"""
    if not items:
        return 0, 0
    used = used_length_bound(items, roll_width)
    if used <= roll_length:
        return used, 1
    filled = fullest_bound(items, roll_length)
    rolls = max(-(-used // filled), roll_count_bound(items, roll_width, roll_length))
    return max(used, (rolls - 1) * roll_length + max(0, used - (rolls - 1) * filled)), rolls


def least_sheet_area(
    covered_m2: float,
    seam_gap_m: float,
    smallest_piece_m: float,
    width_m: float,
    least_width_m: float | None = None,
) -> float:
    """Area of sheet that any layout needs for an area, whatever its strips. [m2]

    Parameters
    ----------
    covered_m2 : float
        Area within the edge gaps. [m2]
    seam_gap_m : float
        Gap between pieces, negative for a lap. [m]
    smallest_piece_m : float
        No piece is shorter than this. [m]
    least_width_m : float, optional
        No piece is narrower than this, where that differs. [m]

    Notes
    -----
    A piece of w by l with half a gap around it covers at most (w + g)(l + g), so that gaps stretch a
    sheet at most by (1 + g / b)(1 + g / s) with b the least width and s the least length. Pieces under 20 mm
    are not considered.
    """
    if seam_gap_m <= 0:
        return covered_m2
    shortest = max(smallest_piece_m, 0.02)
    narrowest = shortest if least_width_m is None else max(least_width_m, 0.02)
    return covered_m2 / (
        (1 + seam_gap_m / min(width_m, shortest)) * (1 + seam_gap_m / min(width_m, narrowest))
    )
